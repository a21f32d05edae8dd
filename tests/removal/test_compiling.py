"""Compiled kernels are kept in a folder that is named by all their sources."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from firstoff.removal import compiling


def folder(path: Path, **files: str) -> Path:
    """A folder of kernels."""
    path.mkdir()
    for name, text in files.items():
        (path / f"{name}.py").write_text(text, encoding="utf-8")
    return path


def test_any_letter_of_any_kernel_changes_the_name(tmp_path: Path) -> None:
    one = folder(tmp_path / "one", _a="x = 1", _b="y = 1", other="z = 1")
    same = folder(tmp_path / "same", _a="x = 1", _b="y = 1", other="z = 2")
    inlined = folder(tmp_path / "inlined", _a="x = 1", _b="y = 2", other="z = 1")
    moved = folder(tmp_path / "moved", _a="x = 1y", _b=" = 1", other="z = 1")
    assert compiling.digest(one) == compiling.digest(same)
    assert len({compiling.digest(one), compiling.digest(inlined), compiling.digest(moved)}) == 3


def test_every_kernel_file_is_in_the_name() -> None:
    """A kernel in a file that the name leaves out would give stale answers."""
    for file in compiling.SOURCES.glob("*.py"):
        text = file.read_text(encoding="utf-8")
        kernels = "@entry" in text or "@kernel" in text or "@inner" in text or "njit" in text
        assert not kernels or file.name.startswith("_") or file.name == "compiling.py", file.name


def test_the_folder_is_named_before_the_compiler_is_loaded(tmp_path: Path) -> None:
    code = ("import firstoff.removal.compiling as c, os, sys; print('numba' in sys.modules); c.prepare(); "
            "import numba; place = numba.config.CACHE_DIR; print(place == os.environ['NUMBA_CACHE_DIR'], "
            "place.endswith(c.digest()), place.startswith(sys.argv[1]))")
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True,
                          env=environment)
    assert done.stdout.split() == ["False", "True", "True", "True"]


def test_without_a_named_folder_it_is_the_user_s_own() -> None:
    assert compiling.kept_in().name == f"kernels-{compiling.digest()}"
    assert compiling.kept_in().parent.name == "firstoff"


def test_whether_the_first_cut_waits_for_the_compiler(tmp_path: Path) -> None:
    """Once kernels were compiled and kept it does not."""
    code = ("import firstoff.removal.compiling as c, os, pathlib; print(c.kept()); "
            "place = pathlib.Path(os.environ['NUMBA_CACHE_DIR']) / 'a'; place.mkdir(parents=True); "
            "(place / '_drive.drive-264.py311.nbi').touch(); print(c.kept())")
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment)
    assert done.stdout.split() == ["False", "True"]


def test_folders_of_other_versions_are_cleared_but_for_the_last_used(tmp_path: Path) -> None:
    old = [tmp_path / f"kernels-{k:016x}" for k in range(6)]
    for k, path in enumerate(old):
        path.mkdir()
        (path / "a.nbi").touch()
        os.utime(path, (1000.0 + k, 1000.0 + k))
    others = [tmp_path / "kernels-of-mine", tmp_path / "notes"]
    for path in others:
        path.mkdir()
    compiling.clear(tmp_path, 2)
    assert sorted(tmp_path.iterdir()) == sorted([*old[4:], *others])


def test_a_folder_in_use_counts_as_used_and_a_new_one_makes_room(tmp_path: Path) -> None:
    old = [tmp_path / f"kernels-{k:016x}" for k in range(compiling.FOLDERS + 3)]
    for path in old:
        path.mkdir()
        os.utime(path, (1000.0, 1000.0))
    code = "import firstoff.removal.compiling as c, os; c.prepare(); print(os.environ['NUMBA_CACHE_DIR'])"
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    command = [sys.executable, "-c", code]
    own = Path(subprocess.run(command, capture_output=True, text=True, check=True, env=environment).stdout.strip())
    assert len(list(tmp_path.iterdir())) == compiling.FOLDERS - 1 and not own.exists()
    own.mkdir()
    os.utime(own, (1000.0, 1000.0))
    subprocess.run(command, capture_output=True, check=True, env=environment)
    assert own.stat().st_mtime > 1000.0
