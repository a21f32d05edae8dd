"""Loops and expressions by rows: the same moves to the last bit as block by block, whatever stands between them."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.program.plain import SMALLEST
from firstoff.program.reading import Reading
from firstoff.program.rows import KEPT, prepared
from firstoff.program.tape import Place, Tape
from firstoff.program.words import block_of

from .made import read_text
from .test_plain import HEAD, agree

WORDS = (
    "G1 X#1 Y[#2*2] F[300+#1]", "X[#1+#2]", "Y-#1", "G0 Z5", "G1 Z[-0.1*#1]", "G2 X[#1+1] I0.5 J0 F200", "X5 Y6",
    "G3 X#1 Y#2 I[#1/2] J0", "#3=[#1+#2]", "#3=#3", "#4=#99", "G1 X#4", "G1 X#98", "X[1/#2]", "F0", "F[#1-3]", "G91",
    "G90", "", "(a note)", "(open", "/X1", "N7 X2", "#[#1]=4", "X1 X2", "G[#1] X1", "M8", "S1200", "G2 X1 R3",
    "G4 P1", "I3 X2", "G41 D1", "G40", "X99999", "Q", "GOTO 7", "IF [#1 GT 2] GOTO 7", "#1=[#1+1]", "#2=1.5", "G20",
    "F")


def looped(random: Random) -> str:
    """A program of loops and a subprogram, its lines from a list of what is plain and what is odd."""
    def some(most: int) -> list[str]:
        return [random.choice(WORDS[:5] if random.random() < 0.6 else WORDS) for _ in range(random.randint(0, most))]

    lines = ["#1=1", "#2=2", *some(3)]
    for number in (1, 2):
        count, turns = f"#5{number}", random.randint(0, 30)
        lines += [f"{count}=0", f"WHILE [{count} LT {turns}] DO{number}", *some(6), f"{count}=[{count}+1]"]
        if random.random() < 0.3:
            lines += [f"G1 X{k} Y{k % 3}" for k in range(random.randint(1, 2 * SMALLEST))]
        lines += [f"END{number}", *some(3)]
    lines += ["N7 G0 Z9", f"M98 P100 L{random.randint(0, 9)}", "M30", "O100", *some(9), "M99"]
    return HEAD + "\n".join(lines) + "\n"


@settings(max_examples=100, deadline=None)
@given(st.randoms(use_true_random=False))
def test_loops_by_rows_and_block_by_block(random: Random) -> None:
    agree(looped(random))


def test_a_cone_in_turns_is_laid_down_as_it_is_written() -> None:
    text = HEAD + ("#1=0\nWHILE [#1 LT 40] DO1\n#2=0\nWHILE [#2 LT 360] DO2\n"
                   "G1 X[20.*COS[#2]+0.01*#1] Y[20.*SIN[#2]] Z[-0.01*#1] F[400+#1]\n#2=[#2+5]\nEND2\n"
                   "#1=[#1+1]\nEND1\nM30\n")
    moves = agree(text)
    assert len(moves) == 40 * 72 + 1
    assert moves.end[-1].tolist() == pytest.approx([20.0 * 0.9961947 + 0.39, -20.0 * 0.0871557, -0.39])
    assert moves.feed[-1] == pytest.approx(439.0 / 60.0) and set(moves.line[1:].tolist()) == {8}


def test_long_plain_stretches_in_a_loop_are_left_to_their_reader() -> None:
    body = "\n".join(f"X{k} Y{k % 7}" for k in range(300))
    text = HEAD + f"G1\n#1=0\nWHILE [#1 LT 5] DO1\nZ[-#1]\n{body}\n#1=[#1+1]\nEND1\nM30\n"
    reading = Reading(Tape(text.encode()))
    rows = 0
    for _ in reading.chunks():
        assert reading.rows is not None
        rows = max(rows, len(reading.rows.lines))
    assert rows < 3 * SMALLEST
    agree(text)


def test_a_variable_that_nobody_set_is_told_where_it_stands() -> None:
    _, reading = read_text(HEAD + "#1=0\nWHILE [#1 LT 40] DO1\nG1 X#1\n#1=[#1+1]\nEND1\nG1 X1 Y#77\nM30\n")
    assert [(one.line, "#77" in one.what) for one in reading.told] == [(9, True)]


def test_what_can_be_a_row() -> None:
    for text, good in (("G1 X#1 Y2", True), ("#1=2 #3=4", True), ("WHILE [#1 LT 2] DO1", True), ("(note)", True),
                       ("N5", True), ("#1=2 X3", False), ("X1 X2", False), ("M8", False), ("#[#1]=2", False),
                       ("O100", False), ("X[", False), ("/X1", False), ("(open", False), ("G2 X1 R5", False)):
        assert (prepared(block_of(text, 1), Place(9, 2)) is not None) == good, text


def test_no_more_lines_are_kept_than_a_loop_has() -> None:
    body = "\n".join(f"X[#1+{k}]" for k in range(KEPT + 50))
    text = HEAD + f"G1\n#1=0\nWHILE [#1 LT 2] DO1\n{body}\n#1=[#1+1]\nEND1\nM30\n"
    moves, reading = read_text(text)
    assert len(moves) == 2 * (KEPT + 50) + 1
    assert reading.rows is not None and len(reading.rows.lines) <= KEPT
