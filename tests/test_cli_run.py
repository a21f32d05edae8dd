"""A command is run: what is wrong is one message on standard error, and a code."""

from __future__ import annotations

import ctypes
import gc
import io
import sys
from collections.abc import Callable

import pytest

from firstoff import cli_run
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


class Library:
    """A C library that notes what it was told; its heap grows by what `mallopt` said."""

    def __init__(self, first: int, page: int) -> None:
        self.told: list[tuple[str, int, int]] = []
        self.first, self.page, self.pad = first, page, 0
        self.malloc, self.sbrk = Function(lambda _size: first), Function(lambda _more: first + 8 * page + self.pad)

    def mallopt(self, setting: int, size: int) -> int:
        self.pad = size if setting == -2 else self.pad
        return 1

    def madvise(self, start: ctypes.c_void_p, size: ctypes.c_size_t, _advice: int) -> int:
        self.told.append(("madvise", start.value or 0, size.value))
        return -1

    def free(self, first: ctypes.c_void_p) -> None:
        self.told.append(("free", first.value or 0, 0))


class Function:
    """One of its functions, to which a type can be given."""

    restype: object = None

    def __init__(self, does: Callable[[object], int]) -> None:
        self.does = does

    def __call__(self, what: object) -> int:
        return self.does(what)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems are not told")
def test_the_heap_lies_in_whole_large_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    library = Library(5 * cli_run.PAGE + 4096, cli_run.PAGE)
    monkeypatch.setattr("ctypes.CDLL", lambda _name: library)
    run(lambda: None)
    (_, start, size), freed = library.told
    assert start == 6 * cli_run.PAGE and size % cli_run.PAGE == 0
    assert start + size <= library.sbrk(0) < start + size + cli_run.PAGE
    assert freed == ("free", library.first, 0)
