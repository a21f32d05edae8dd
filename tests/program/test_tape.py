"""Programs as they lie on the disk: lines, subprograms, labels, ends of loops; what is no text."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import FileError
from firstoff.program import tape as tape_room
from firstoff.program.tape import Place, Tape, open_tape

TEXT = b"%\nO1 (main)\nN10 G0\nN20 G1\nEND1\nM30\n( a ) O0200\nN10 G2\nWHILE[1]DO1\nEND 1\nM99\n"


def lines(tape: Tape) -> list[str]:
    place, found = Place(0, 1), []
    while place.offset < len(tape):
        text, place = tape.line_at(place)
        found.append(text)
    return found


def test_lines_come_one_after_the_other() -> None:
    assert lines(Tape(TEXT)) == TEXT.decode().splitlines()
    assert lines(Tape(b"G0\r\nG1")) == ["G0\r", "G1"]


def test_programs_and_labels_are_found_with_their_lines() -> None:
    tape = Tape(TEXT)
    assert [(number, place.line) for number, place in tape.programs] == [(1, 2), (200, 7)]
    main, sub = tape.subprogram(1)[0], tape.subprogram(200)[0]
    assert tape.line_at(sub)[0] == "( a ) O0200"
    assert [place.line for place in tape.labelled(10, main)] == [3]
    assert [place.line for place in tape.labelled(10, sub)] == [8]
    assert tape.labelled(99, sub) == [] and tape.subprogram(7) == ()


def test_the_end_of_a_loop_is_looked_for_in_its_own_program() -> None:
    tape = Tape(TEXT)
    after = tape.after_end(1, tape.labelled(10, tape.subprogram(200)[0])[0])
    assert after is not None and (after.line, tape.line_at(after)[0]) == (11, "M99")
    assert tape.after_end(2, Place(0, 1)) is None
    assert Tape(b"END12\n").after_end(1, Place(0, 1)) is None


def test_lines_are_counted_over_large_gaps() -> None:
    tape = Tape(b"G0\n" * 800_000 + b"O5\nM99\n")
    assert tape.subprogram(5)[0] == Place(2_400_000, 800_001)


def test_what_was_let_go_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "long.nc"
    path.write_bytes(b"G0 X1\n" * 600_000)
    tape = open_tape(path)
    before = tape.data[:60]
    tape.passed(3_000_000)
    tape.passed(3_000_001)
    assert tape.data[:60] == before and tape.line_at(Place(0, 1))[0] == "G0 X1"


@pytest.mark.parametrize(("data", "first"), [
    (b"\xef\xbb\xbfG0 X1\r\nM2\r\n", "G0 X1"), ("G0 X1\nM2\n".encode("utf-16"), "G0 X1"), (b"G0 X1\rM2\r", "G0 X1"),
    (b"G0 X1\nM2", "G0 X1"), ("(Ø) G0\n".encode("latin-1"), "(Ø) G0"),
])
def test_files_as_editors_save_them(tmp_path: Path, data: bytes, first: str) -> None:
    path = tmp_path / "a.nc"
    path.write_bytes(data)
    found = lines(open_tape(path))
    assert found[0].rstrip("\r") == first and len(found) in (1, 2)


@pytest.mark.parametrize(("data", "what"), [(b"", "is empty"), (bytes(range(256)) * 20, "no text"),
                                           (b"\x7fELF\x02\x01\x01" + bytes(500), "no text")])
def test_what_is_no_program_is_said(tmp_path: Path, data: bytes, what: str) -> None:
    path = tmp_path / "a.nc"
    path.write_bytes(data)
    with pytest.raises(FileError, match=what):
        open_tape(path)


def test_a_file_that_is_not_there_or_is_a_folder(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        open_tape(tmp_path / "none.nc")
    with pytest.raises(FileError, match="cannot be read"):
        open_tape(tmp_path)


@pytest.mark.parametrize("large", [10, 1 << 25])
def test_a_program_that_is_posted_anew_while_it_is_read(
    large: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was opened is read to its end, mapped or held: a file under a map that gets shorter ends the process."""
    monkeypatch.setattr(tape_room, "LARGE", large)
    path = tmp_path / "a.nc"
    path.write_text("G0 X1\n" * 50_000)
    tape = open_tape(path)
    path.write_text("G0\n")
    assert len(lines(tape)) == 50_000 and lines(tape)[-1] == "G0 X1"


def test_what_has_no_end_is_no_program(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tape_room, "LARGE", 1 << 16)
    if not Path("/dev/zero").exists():
        pytest.skip("no device that never ends")
    with pytest.raises(FileError, match="no file on a disk"):
        open_tape(Path("/dev/zero"))
