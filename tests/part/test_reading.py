"""Reading by way of the worker: the same as in this process, kept by contents, and only our own errors."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.errors import FileError, FirstoffError, ModelError
from firstoff.part import process, reading
from tests.part import models

WHOLE = (models.PARTS / "cap.step").read_text()
END = "END-ISO-10303-21;\n"


@pytest.mark.parametrize("name", models.NAMES)
def test_the_worker_tells_what_this_process_would(name: str) -> None:
    assert reading.read(models.PARTS / f"{name}.step") == models.example(name)


def test_a_known_file_is_not_asked_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache = tmp_path / "cache"
    first = reading.read(models.PARTS / "cap.step", cache)
    assert len(list(cache.iterdir())) == 1, "nothing half-written is left beside it"

    def never(*arguments: object) -> dict[str, object]:
        raise AssertionError("the worker was started")

    monkeypatch.setattr(process, "_run", never)
    other = tmp_path / "renamed.stp"
    other.write_text(WHOLE)
    again = reading.read(other, cache)
    assert again.faces == first.faces
    assert (again.name, again.file) == ("renamed", "renamed.stp")


def test_a_broken_answer_in_the_cache_is_made_again(tmp_path: Path) -> None:
    first = reading.read(models.PARTS / "cap.step", tmp_path)
    (kept,) = tmp_path.iterdir()
    kept.write_text(kept.read_text()[:100])
    assert reading.read(models.PARTS / "cap.step", tmp_path) == first


def test_reading_never_imports_the_kernel() -> None:
    code = ("import sys; from pathlib import Path; from firstoff.part import drawing, reading, report\n"
            f"reading.read(Path({str(models.PARTS / 'cap.step')!r}))\n"
            "print(sorted(m for m in sys.modules if m.split('.')[0] in ('OCP', 'numpy', 'scipy')))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                          cwd=models.ROOT / "src")
    assert done.stdout.strip() == "[]"


def test_an_open_shell_is_told_with_its_face(tmp_path: Path) -> None:
    """One face taken out of the list of the shell."""
    start = WHOLE.index("CLOSED_SHELL('',(") + len("CLOSED_SHELL('',(")
    path = tmp_path / "open.step"
    path.write_text(WHOLE[:start] + WHOLE[WHOLE.index(",", start) + 1:])
    with pytest.raises(ModelError, match=r"shell of its solid is open: \d+ edges") as caught:
        reading.read(path)
    assert str(path) in caught.value.where
    assert "closed solid" in caught.value.right


def test_a_file_without_solid_is_refused_with_its_path(tmp_path: Path) -> None:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.gp import gp_Pnt

    path = models.write(BRepBuilderAPI_MakeEdge(gp_Pnt(0, 0, 0), gp_Pnt(1, 0, 0)).Edge(), tmp_path / "wire.step")
    with pytest.raises(ModelError, match="no solid") as caught:
        reading.read(path)
    assert caught.value.where == str(path)


def test_a_file_that_is_no_step_never_starts_the_worker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(process, "KERNEL", "no_such_kernel")
    path = tmp_path / "x.step"
    path.write_text("hello")
    with pytest.raises(FileError):
        reading.read(path)


def lines(text: str) -> list[str]:
    """The lines of the data section."""
    return text[text.index("DATA;"): text.index("ENDSEC;", text.index("DATA;"))].split("\n")


@settings(max_examples=3)
@given(st.floats(min_value=0.05, max_value=0.98))
def test_data_cut_off_but_ended_gives_our_error_or_a_part(
    tmp_path_factory: pytest.TempPathFactory, share: float
) -> None:
    path = tmp_path_factory.getbasetemp() / "ended.step"
    path.write_text(WHOLE[: int(len(WHOLE) * share)] + "\nENDSEC;\n" + END)
    with pytest.raises(FirstoffError) as caught:
        reading.read(path)
    assert caught.value.what and caught.value.where


@settings(max_examples=3)
@given(st.integers(min_value=0, max_value=1000), st.sampled_from(["#1", "", "(", "$", "1.E400", "-0."]))
def test_a_spoiled_line_gives_our_error_or_a_part(
    tmp_path_factory: pytest.TempPathFactory, line: int, put: str
) -> None:
    data = lines(WHOLE)
    spoiled = data[1 + line % (len(data) - 2)]
    path = tmp_path_factory.getbasetemp() / "spoiled.step"
    path.write_text(WHOLE.replace(spoiled, spoiled[: len(spoiled) // 2] + put + spoiled[len(spoiled) // 2 + 3:], 1))
    try:
        part = reading.read(path)
    except FirstoffError as error:
        assert error.what and error.where
    else:
        assert sorted(n for f in part.features for n in f.faces) == list(range(len(part.faces)))
