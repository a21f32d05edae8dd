"""Whole programs: the real ones, bad ones, and any bytes at all: never a hang, never a crash."""

from __future__ import annotations

from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import InputError
from firstoff.program import flow
from firstoff.program.plain import LARGEST_STRETCH
from firstoff.program.reading import read
from firstoff.removal.moves import Doubt, Kind, Moves, joined

from .made import read_text, real, real_programs, told_of


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Endless is found out sooner."""
    monkeypatch.setattr(flow, "MOST_AGAIN", 3000)


OWN = (b"%\nO1 (plate)\nG21 G17 G90 G40 G49 G80\nT1 M6\nG43 H1 S2000 M3\nG0 X0 Y0 Z5\n#1=0\nWHILE [#1 LT 3] DO1\n"
       b"G1 Z[-1*#1] F100\nG2 X10 Y10 R10 F200\nG3 X0 Y0 I-10 J0\n#1=[#1+1]\nEND1\nG98 G83 X5 Y5 Z-4 R1 Q1.5 F80\n"
       b"G80\nM98 P200 L2\nG68 X0 Y0 R30\nG0 X1 Y1\nG69\nG91 G28 Z0\nM30\n%\nO200\nG90 G1 X3 F100\nM99\n")
LOOPS = (b"G21 G90 G17\nG0 X0 Y0 Z5\nF300\n#1=0\nWHILE [#1 LT 30] DO1\nG1 X[2*#1] Y[SIN[#1]*3] F[200+#1]\n"
         b"G2 X[2*#1+1] I0.5 J0\n#1=[#1+1]\nEND1\nM98 P100 L5\nIF [#1 GT 3] GOTO 9\nG1 X5\nN9 G0 Z5\nM30\nO100\n"
         b"G1 X[#1/2] Y#1\nG91 G1 X1\nG90\nM99\n")
CONTOUR = (b"G21 G17 G90 G94\nS1000 M3\nG0 X0 Y0 Z0\nF600\nG41 D1\nG1 X10 Y10\nX10 Y30\nX30 Y30\nG2 X20 Y20 R10\n"
           b"G1 Z-1\nG3 I5\nX40 Y10 J-3 I2\nG40\nG1 X0 Y0\nG42 D2\nG68 X1 Y2 R30\nG2 X10 Y10 R9\nG1 X30\nG0 X50 Y4\n"
           b"G91 X3\nG90\nG81 X1 Y1 Z-3 R1\nG40 G0 X5 Y5 G80\nM2\n")
ANY = """G0 G1 G2 G3 G17 G18 G19 G20 G21 G28 G40 G41 G42 G43 G49 G52 G54 G55 G61 G64 G68 G69 G73 G80 G81 G83 G90 G91
G90.1 G91.1 G92 G92.1 G93 G94 G95 G98 G99 M0 M3 M5 M6 M8 M98 M99 M30 X Y Z I J K R F S T H D P Q L N O A E #
[ ] = / ( ) ; % IF WHILE GOTO DO END 1 2 -3.5 .5 0 1000 1e308 99999999999 #1 #2=3 [1/0] SQRT[-1]"""
WORDS = st.sampled_from(ANY.split())
LINES = st.lists(st.lists(WORDS, max_size=8).map(" ".join), max_size=25).map("\n".join)


def sane(moves: Moves) -> None:
    """Nothing in them is no number, and what is one is in reach."""
    for name in ("start", "end", "centre", "feed", "spindle", "wait"):
        assert np.isfinite(getattr(moves, name)).all(), name
    assert (moves.feed >= 0.0).all() and (moves.wait >= 0.0).all()
    assert np.isin(moves.kind, [int(kind) for kind in Kind]).all()


@pytest.mark.parametrize("path", real_programs(), ids=lambda path: path.name)
def test_real_programs_are_understood_whole(path: Path) -> None:
    reading = read(path)
    moves = joined(list(reading.chunks()))
    sane(moves)
    assert reading.told == () and not (moves.doubt & int(Doubt.UNREAD | Doubt.PATH | Doubt.FEED)).any()


def test_a_real_panel_has_the_extents_that_its_lines_say() -> None:
    reading = read(real("front_panel.gcode"))
    moves = joined(list(reading.chunks()))
    cut = moves.take(moves.kind != Kind.RAPID)
    assert reading.unit == "in"
    assert cut.end[:, 2].min() == pytest.approx(-0.758 * 25.4)
    assert set(moves.tool.tolist()) == {2, 3}


@pytest.mark.parametrize(("text", "piece"), [
    ("G28\nG1 X10 Y10 E0.4 F1200\nM104 S200\nG1 X20 E0.8\n", "E0.4: E has no meaning"),
    ("G21\nM4 S500\nG1 X10 F1000\nM5\nM2\n", "where"),
    ("G21 G18 G96 S200 M3\nG71 U1 R1\nG0 X50 Z2\nG1 Z-20 F0.2\nM30\n", "G96 is not understood"),
    ("G21 G0 X0 Y0 Z50 A0 C0\nG1 X5 A30 C10 F500\nM30\n", "A30: a rotary axis"),
])
def test_programs_of_other_machines_are_told_by_line_and_word(text: str, piece: str) -> None:
    told = told_of(text)
    assert piece == "where" or any(piece in what for _, what in told), told


@given(LINES)
def test_any_words_are_read_or_told(text: str) -> None:
    moves, reading = read_text(text)
    sane(moves)
    assert all(0 <= one.line <= text.count("\n") + 1 and one.what.isprintable() for one in reading.told)


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_told(data: bytes) -> None:
    moves, _ = read_text(data.decode("latin-1"))
    sane(moves)


def mutated(data: bytes, random: Random) -> bytes:
    """A file with some bytes changed, doubled or lost."""
    out = bytearray(data)
    for _ in range(random.randint(1, 8)):
        at = random.randrange(len(out))
        match random.randrange(4):
            case 0:
                out[at] = random.randrange(256)
            case 1:
                del out[at: at + random.randint(1, 20)]
            case 2:
                out[at:at] = out[random.randrange(len(out)):][:random.randint(1, 40)]
            case _:
                out[at] = random.choice(b"GXYZIJRM#[]0123456789.-\n")
        if not out:
            return b"G0"
    return bytes(out)


@pytest.mark.parametrize("seed", range(60))
def test_changed_bytes_never_hang_or_crash(seed: int, tmp_path: Path) -> None:
    """Both readers agree on whatever comes out."""
    random = Random(seed)
    whole = [OWN, CONTOUR, LOOPS, *(path.read_bytes()[:20_000] for path in real_programs())]
    path = tmp_path / "a.nc"
    path.write_bytes(mutated(random.choice(whole), random))
    try:
        fast, slow = read(path, cutter=6.0), read(path, cutter=6.0, fast=False)
    except InputError:
        return
    moves, careful = joined(list(fast.chunks())), joined(list(slow.chunks()))
    sane(moves)
    assert fast.told == slow.told
    assert moves.end.tolist() == careful.end.tolist() and moves.doubt.tolist() == careful.doubt.tolist()


def test_memory_does_not_grow_with_the_program(tmp_path: Path) -> None:
    """Ten times the blocks in chunks that are no larger."""
    sizes = []
    for many in (20_000, 200_000):
        path = tmp_path / f"{many}.nc"
        path.write_text("G21 F600 S1 M3\nG0 X0 Y0 Z0\n" + "G1 X1 Y2\nX2 Z-1\n" * many + "M2\n")
        sizes.append(max(len(chunk) for chunk in read(path).chunks()))
    assert max(sizes) <= LARGEST_STRETCH


def test_the_own_program_is_understood_whole() -> None:
    moves, reading = read_text(OWN.decode())
    assert reading.told == () and len(moves) == 29
    sane(moves)


def test_blocks_that_can_be_left_out_are_read_and_told_once() -> None:
    told = told_of("G21 G0 X0 Y0 Z0\n/G0 X1\n/G0 X2\nM2")
    assert [line for line, what in told if "left out" in what] == [2]
