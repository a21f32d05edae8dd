"""What is committed works on any computer: no path of one machine, no address of a registry, one licence."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.house import reading

#: Folders of one machine, and hosts of package registries; put together so that this file is clean itself.
FOLDERS = ("wo" + "rk", "tm" + "p", "ro" + "ot", "ho" + "me")
PATHS = re.compile(rf"(?<![\w.~<}}/-])/({'|'.join(FOLDERS)})(/|\b)")
HOSTS = re.compile("|".join(["pypi" + r"\.org", "python" + "hosted", "npm" + r"js\.", "golang" + r"\.org"]))
TEXT_LIMIT = 5_000_000


def committed() -> list[Path]:
    """Files of the project as git sees them; without git, all that is not hidden or built."""
    git = shutil.which("git")
    if git and (reading.ROOT / ".git").exists():
        asked = [git, "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
        done = subprocess.run(asked, cwd=reading.ROOT, capture_output=True, text=True, check=True)
        return [reading.ROOT / name for name in done.stdout.split("\0") if name]
    folders = ("src", "tests", "docs", "benchmarks", "scripts", "tools")
    return [path for folder in folders for path in (reading.ROOT / folder).rglob("*")]


def texts() -> list[tuple[str, str]]:
    """Name and contents of every committed file that is text."""
    found = []
    for path in committed():
        if path.is_file() and path.stat().st_size < TEXT_LIMIT:
            raw = path.read_bytes()
            if b"\0" not in raw:
                found.append((path.relative_to(reading.ROOT).as_posix(), raw.decode("utf-8", "replace")))
    return found


def offending(text: str) -> list[str]:
    """Lines of a text that hold a path of one machine or the host of a registry."""
    return [line.strip()[:120] for line in text.splitlines() if PATHS.search(line) or HOSTS.search(line)]


def test_no_path_of_one_machine_and_no_registry() -> None:
    wrong = {name: lines for name, text in texts() if (lines := offending(text))}
    assert wrong == {}


@pytest.mark.parametrize("line", [
    "open('/wo" + "rk/main/x')", "see /tm" + "p/out.pdf", "FILE_NAME('/ro" + "ot/a.step')",
    "pip -i https://pypi" + ".org/simple",
])
def test_an_offending_line_is_seen(line: str) -> None:
    assert offending(line) == [line]


@pytest.mark.parametrize("line", [
    "work/hour", "hold/work", "tmp_path / 'x'", "../root/x", "{base}/work", "#!/bin/sh",
])
def test_a_clean_line_passes(line: str) -> None:
    assert offending(line) == []


def test_the_licence_is_whole() -> None:
    text = (reading.ROOT / "LICENSE").read_text(encoding="utf-8")
    assert "GNU GENERAL PUBLIC LICENSE" in text
    assert "Version 3" in text
    assert len(text.splitlines()) > 600


def test_the_version_stands_in_the_changelog() -> None:
    from firstoff import __version__

    assert f"## {__version__}" in (reading.ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
