"""The text of a program, read where it lies on the disk: lines by their place, subprograms and labels by number."""

from __future__ import annotations

import mmap
import os
import re
import shutil
import stat
import tempfile
from bisect import bisect_right
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import BinaryIO, Final, NamedTuple

from firstoff.errors import FileError

_PROGRAM: Final = re.compile(rb"(?mi)^[ \t]*(?:\([^()\n]*\)[ \t]*)*(?:N[ \t]*\d+[ \t]*)?O[ \t]*(\d{1,12})")
_LABEL: Final = re.compile(rb"(?mi)^[ \t/]*N[ \t]*(\d{1,12})(?!\d)")
_END: Final = rb"(?mi)^[ \t/]*(?:N[ \t]*\d+[ \t]*)?END[ \t]*%d(?!\d)"
_COUNTED: Final = 1 << 20
LARGE: Final = 1 << 20           #: bytes of a program that are held in memory; a longer one is mapped
_BINARY_SHARE: Final = 0.05      #: of the first bytes that no text has
_TEXT: Final = bytes({9, 10, 11, 12, 13, 26, *range(32, 127), *range(128, 256)})
_MARKS: Final = ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"), (b"\xef\xbb\xbf", "utf-8"))


class Place(NamedTuple):
    """Where a line begins: bytes from the start, and its number."""

    offset: int
    line: int


class Tape:
    """Lines of a program by their place."""

    def __init__(self, data: bytes | mmap.mmap) -> None:
        self.data = data
        self._labels: dict[int, dict[int, list[Place]]] = {}
        self._let_go = 0

    def __len__(self) -> int:
        """Bytes."""
        return len(self.data)

    def line_at(self, place: Place) -> tuple[str, Place]:
        """The text of the line at a place, and where the next begins."""
        end = self.data.find(b"\n", place.offset)
        after = len(self.data) if end < 0 else end + 1
        raw = self.data[place.offset: after]
        return raw.decode("latin-1").rstrip("\n"), Place(after, place.line + 1)

    def passed(self, offset: int) -> None:
        """What lies before an offset need not stay in memory; it comes back from the disk where it is wanted."""
        whole = offset - offset % mmap.ALLOCATIONGRANULARITY
        if isinstance(self.data, mmap.mmap) and hasattr(mmap, "MADV_DONTNEED") and whole > self._let_go + _COUNTED:
            self.data.madvise(mmap.MADV_DONTNEED, 0, whole)
            self._let_go = whole

    def counted(self, begin: Place, offset: int) -> Place:
        """The place at an offset, its line counted from a place before it."""
        line = begin.line
        for at in range(begin.offset, offset, _COUNTED):
            line += self.data[at: min(at + _COUNTED, offset)].count(b"\n")
        return Place(offset, line)

    def _found(self, pattern: re.Pattern[bytes], begin: Place, end: int) -> Iterator[tuple[int, Place]]:
        for found in pattern.finditer(self.data, begin.offset, end):
            begin = self.counted(begin, found.start())
            yield int(found[1]), begin

    @cached_property
    def programs(self) -> tuple[tuple[int, Place], ...]:
        """Every O number with its place, in order."""
        return tuple(self._found(_PROGRAM, Place(0, 1), len(self.data)))

    @cached_property
    def _by_number(self) -> dict[int, tuple[Place, ...]]:
        found: dict[int, tuple[Place, ...]] = {}
        for number, place in self.programs:
            found[number] = (*found.get(number, ()), place)
        return found

    @cached_property
    def _begins(self) -> list[int]:
        return [place.offset for _, place in self.programs]

    def subprogram(self, number: int) -> tuple[Place, ...]:
        """Where O with this number stands; several, if it stands several times."""
        return self._by_number.get(number, ())

    def _scope(self, place: Place) -> tuple[Place, int]:
        """Where the program around a place begins and ends."""
        starts = self._begins
        at = bisect_right(starts, place.offset)
        begin = self.programs[at - 1][1] if at else Place(0, 1)
        return begin, starts[at] if at < len(starts) else len(self.data)

    def labelled(self, number: int, place: Place) -> list[Place]:
        """Where N with this number stands in the program around a place."""
        begin, end = self._scope(place)
        if begin.offset not in self._labels:
            there: dict[int, list[Place]] = {}
            for label, found in self._found(_LABEL, begin, end):
                there.setdefault(label, []).append(found)
            self._labels[begin.offset] = there
        return self._labels[begin.offset].get(number, [])

    def after_end(self, number: int, place: Place) -> Place | None:
        """Behind the END of a loop that begins at a place; None if there is none in this program."""
        _, stop = self._scope(place)
        found = re.compile(_END % number).search(self.data, place.offset, stop)
        if found is None:
            return None
        return self.line_at(self.counted(place, found.start()))[1]


def open_tape(path: Path) -> Tape:
    """The program in a file.

    Raises:
        FileError: if it is missing, empty or no text.
    """
    try:
        with path.open("rb") as file:
            data = _held(file)
    except FileNotFoundError:
        raise FileError("there is no such file", where=str(path), right="check the name") from None
    except (OSError, ValueError) as error:
        raise FileError(f"cannot be read: {getattr(error, 'strerror', None) or error}", where=str(path)) from None
    return Tape(_as_text(data, path))


def _held(file: BinaryIO) -> bytes | mmap.mmap:
    """All of a file: a short one in memory, a longer one mapped from a copy of our own.

    Whoever posts the program anew while it is read makes the file shorter under a map of itself, and the system then
    ends the process without a word.
    """
    head = file.read(LARGE + 1)
    if not head:
        raise FileError("is empty", where=file.name, right="a program in G and M words, as text")
    if len(head) <= LARGE:
        return head
    if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
        raise FileError(f"is no file on a disk, and longer than {LARGE >> 20} MiB", where=file.name)
    with tempfile.TemporaryFile() as copy:
        copy.write(head)
        shutil.copyfileobj(file, copy)
        copy.flush()
        return mmap.mmap(copy.fileno(), 0, access=mmap.ACCESS_READ)


def _as_text(data: bytes | mmap.mmap, path: Path) -> bytes | mmap.mmap:
    """The file as it lies there, or as plain text where it was saved otherwise."""
    head = data[:65536]
    for mark, coding in _MARKS:
        if head.startswith(mark):
            return data[:].decode(coding, "replace").encode("latin-1", "replace").lstrip(b"?").replace(b"\r\n", b"\n")
    if len(head.translate(None, _TEXT)) > _BINARY_SHARE * len(head):
        raise FileError("is no text: it holds bytes that no program has", where=str(path),
                        right="a program in G and M words, as text")
    if b"\n" not in head and b"\r" in head:
        return data[:].replace(b"\r", b"\n")
    return data
