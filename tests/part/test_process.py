"""The worker's crash, hang or absence is a message; what is kept is written whole."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from firstoff.errors import FileError, MissingPackage, ModelError
from firstoff.part import process
from tests.part import models

CAP = models.PARTS / "cap.step"


def test_a_hang_is_a_message() -> None:
    with pytest.raises(ModelError, match=r"did not finish in 0\.01 s") as caught:
        process.ask(CAP, {}, None, seconds=0.01)
    assert caught.value.where == str(CAP)


def test_a_missing_kernel_names_its_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(process, "KERNEL", "no_such_kernel")
    with pytest.raises(MissingPackage) as caught:
        process.ask(CAP, {}, None)
    assert "cadquery-ocp-novtk" in caught.value.right


@pytest.mark.parametrize(("code", "words", "says"), [
    (-11, b"", "crashed on this model (signal 11)"),
    (1, b"Traceback\nStandard_Failure: odd\n", "Standard_Failure: odd"),
    (1, b"", "no reason given"),
])
def test_last_words(code: int, words: bytes, says: str, tmp_path: Path) -> None:
    with pytest.raises(ModelError) as caught:
        process.answered(code, words, tmp_path / "none.json", CAP)
    assert says in caught.value.what


def test_a_worker_that_dies_is_a_message(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/bin/false")
    with pytest.raises(ModelError, match="no reason given"):
        process.ask(CAP, {}, None)


def test_it_tells_how_far_the_worker_is() -> None:
    told: list[tuple[str, float]] = []
    process.ask(CAP, {}, None, heard=lambda what, share: told.append((what, share)))
    shares = [share for _, share in told]
    assert told[0] == (process.BEGINS, 0.0)
    assert shares == sorted(shares) and shares[-1] < 1.0


def test_a_worker_ends_when_nobody_wants_to_wait() -> None:
    workers: list[subprocess.Popen[bytes]] = []
    begin = subprocess.Popen

    class Begun(begin):  # type: ignore[misc,valid-type]
        def __init__(self, *said: object, **more: object) -> None:
            super().__init__(*said, **more)
            workers.append(self)

    def enough(_what: str, _share: float) -> None:
        raise KeyboardInterrupt

    with pytest.MonkeyPatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr(subprocess, "Popen", Begun)
        process.ask(CAP, {}, None, heard=enough)
    assert [worker.returncode for worker in workers] == [-9]


def test_errors_come_back_as_their_kind(tmp_path: Path) -> None:
    path = tmp_path / "odd.step"
    path.write_text("ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=;;(;\nENDSEC;\nEND-ISO-10303-21;\n")
    with pytest.raises((FileError, ModelError)) as caught:
        process.ask(path, {}, tmp_path / "cache")
    assert caught.value.where == str(path)
    assert not (tmp_path / "cache").exists(), "a refusal is not kept"


def test_keep_writes_whole_or_not_at_all(tmp_path: Path) -> None:
    process.keep(tmp_path / "deep" / "a.json", "one")
    process.keep(tmp_path / "deep" / "a.json", "two")
    assert [(file.name, file.read_text()) for file in (tmp_path / "deep").iterdir()] == [("a.json", "two")]
    blocked = tmp_path / "file"
    blocked.write_text("")
    process.keep(blocked / "a.json", "three")
    assert blocked.read_text() == ""


def test_the_version_is_of_this_rooms_sources() -> None:
    assert process.version() == process.version()
    assert len(process.version()) == 16


def test_a_crash_is_told_with_the_fault_of_the_text(tmp_path: Path) -> None:
    path = tmp_path / "cap.step"
    path.write_text(CAP.read_text().replace("CLOSED_SHELL('',(", "CLOSED_SHELL('',(#999999,"))
    with pytest.raises(ModelError) as caught:
        process.answered(-11, b"", tmp_path / "none.json", path)
    assert "crashed on this model (signal 11): #" in caught.value.what
    assert "refers to #999999, which is not there" in caught.value.what
    assert ", line " in caught.value.where


def test_an_answer_that_is_not_whole_or_too_large_is_told(tmp_path: Path) -> None:
    (tmp_path / "half.json").write_text('{"faces": [1, 2')
    with pytest.raises(ModelError, match="not whole"):
        process.answered(0, b"", tmp_path / "half.json", CAP)
    with pytest.raises(ModelError, match="more memory"):
        process.answered(1, b"Traceback\nMemoryError: std::bad_alloc\n", tmp_path / "none.json", CAP)
