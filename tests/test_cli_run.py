"""A command is run: what is wrong is one message on standard error, and a code."""

from __future__ import annotations

import gc
import io

import pytest

from firstoff.cli_run import run, speak
from firstoff.errors import InputError


def failing(error: BaseException) -> None:
    raise error


@pytest.fixture(autouse=True)
def no_hooks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("atexit.register", lambda _hook: None)


@pytest.mark.parametrize(("error", "code", "said"), [
    (InputError("it is nothing", where="--depth", right="something"), 2, "--depth: it is nothing (something)\n"),
    (FileNotFoundError(2, "No such file", "a.toml"), 2, "a.toml: No such file\n"),
    (OSError(28, "full"), 2, "the disk: full\n"),
    (KeyboardInterrupt(), 130, ""),
])
def test_what_is_wrong_is_told_after_room_was_made(
    error: BaseException, code: int, said: str, capsys: pytest.CaptureFixture[str],
) -> None:
    made: list[str] = []
    with pytest.raises(SystemExit) as end:
        run(lambda: failing(error), lambda: made.append("room"))
    assert (end.value.code, capsys.readouterr().err, made) == (code, said, ["room"])


def test_what_goes_well_says_nothing_by_itself(capsys: pytest.CaptureFixture[str]) -> None:
    done: list[bool] = []
    run(lambda: done.append(gc.isenabled()))
    assert done and capsys.readouterr() == ("", "")


def test_a_fault_of_our_own_is_not_hidden() -> None:
    with pytest.raises(ZeroDivisionError):
        run(lambda: 1 / 0)


@pytest.mark.parametrize(("encoding", "written"), [
    ("ascii", "Ø 8\n".encode()), ("utf-8", "Ø 8\n".encode()), ("latin-1", b"\xd8 8\n"), ("cp1251", b"? 8\n"),
])
def test_no_letter_ends_it(encoding: str, written: bytes) -> None:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding, newline="\n")
    speak(stream, ["Ø 8"])
    stream.flush()
    assert raw.getvalue() == written
    speak(other := io.StringIO(), ["Ø", "8"])
    assert other.getvalue() == "Ø\n8\n"
