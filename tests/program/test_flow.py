"""Which block comes next: subprograms, loops, labels; endless ones end, and say where."""

from __future__ import annotations

import pytest

from firstoff.program import flow
from firstoff.program.expressions import Variables
from firstoff.program.flow import steering
from firstoff.removal.moves import Kind

from .made import after_start, ends, read_text, real, told_after_start, told_of


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Endless is found out sooner."""
    monkeypatch.setattr(flow, "MOST_AGAIN", 3000)


HEAD = "G21 S100 M3 F60\nG0 X0 Y0 Z0\n"


def xs(text: str) -> list[float]:
    moves, _ = read_text(HEAD + text)
    return [round(x, 6) for x in moves.end[1:, 0].tolist()]


def test_subprograms_run_as_often_as_they_are_called() -> None:
    assert xs("M98 P100 L3\nG1 X0\nM30\nO100\nG91 G1 X2\nG90\nM99\n") == [2, 4, 6, 0]
    assert xs("M98 P100\nM30\nO100\nM98 P200 L2\nG1 X9\nM99\nO200\nG91 G1 X1\nG90\nM99") == [1, 2, 9]
    assert xs("M98 P100 L0\nG1 X1\nM30\nO100\nG1 X5\nM99") == [1]


def test_a_block_that_calls_moves_first() -> None:
    assert xs("G1 X7 M98 P100\nM30\nO100\nG1 X5\nM99") == [7, 5]


def test_loops_and_conditions() -> None:
    assert xs("#1=1\nWHILE[#1 LE 3]DO1\nG1 X#1\n#1=[#1+1]\nEND1\nG1 X0\nM2") == [1, 2, 3, 0]
    assert xs("#1=5\nWHILE [#1 LT 3] DO1\nG1 X#1\nEND1\nG1 X0\nM2") == [0]
    assert xs("#1=0\nN5 #1=[#1+1]\nG1 X#1\nIF[#1LT3]GOTO5\nM2") == [1, 2, 3]
    assert xs("GOTO 20\nG1 X1\nN20 G1 X2\nM2") == [2]
    nested = "#1=0\nWHILE[#1LT2]DO1\n#2=0\nWHILE[#2LT2]DO2\nG1X[#1*10+#2]\n#2=[#2+1]\nEND2\n#1=[#1+1]\nEND1\nM2"
    assert xs(nested) == [0, 1, 10, 11]


def test_a_circle_of_holes_by_its_angles() -> None:
    text = ("#1=0\nN1 #2=[10*COS[#1*90]] #3=[10*SIN[#1*90]]\nG1 X#2 Y#3\n#1=[#1+1]\nIF [#1 LT 4] GOTO 1")
    assert ends(after_start(text)) == [(10, 0, 0), (0, 10, 0), (-10, 0, 0), (0, -10, 0)]


@pytest.mark.parametrize(("text", "piece"), [
    ("N1 GOTO 1", "endless"), ("WHILE[1]DO1\nEND1", "endless"), ("M98 P7\nM30\nO7\nM98 P7\nM99", "within each other"),
    ("M98 P7 L999999\nM30\nO7\nM98 P8 L999999\nM99\nO8\nM99", "endless"), ("GOTO 99", "there is no N99"),
    ("GOTO 5\nN5\nN5", "several blocks N5"), ("END1", "no WHILE"), ("WHILE[0]DO1", "there is no END1"),
    ("IF[#9]GOTO1", "never set"), ("IF 1 GOTO 1", "brackets"), ("IF[1]X5", "GOTO"), ("WHILE[1]", "DO"),
    ("DO1", "no IF or WHILE"), ("THEN1", "no IF or WHILE"), ("IF[1/0]GOTO1", "divides by zero"),
    ("M99", "nothing to go back to"), ("G1 X1\nO55\nG1 X2", "O55 begins before"), ("M98", "wants P"),
    ("M98 P77", "there is no O77"), ("M98 P7 L-1\nM30\nO7\nM99", "no number of times"),
    ("M98 P7 L#9\nM30\nO7\nM99", "no number of times"),
    ("M98 P7\nM30\nO7\nM99\nO7\nM99", "there are several"), ("M98 P7\nM30\nO7\nG1X1\nO8\nM99", "before M99"),
    ("N1 G1 X1\nGOTO1", "endless"),
])
def test_what_cannot_be_followed_ends_and_says_why(text: str, piece: str) -> None:
    assert any(piece in what for _, what in told_after_start(text)), told_after_start(text)


def test_the_name_of_the_main_program_is_no_other_program() -> None:
    assert told_of("%\n(plate)\nO0001\nG21 G0 X0 Y0 Z0\nM30\n%\n") == []


def test_a_program_without_end_is_asked_about() -> None:
    assert told_of("G21 G0 X0 Y0 Z0\n") == [(1, "the program ends without M2 or M30: is the file whole?")]


def test_real_subprograms_and_turning() -> None:
    """The same drawing once written out and once by subprograms, its second half in another order."""
    nested, _ = read_text(real("subprograms_nested.iso").read_text(), "mm")
    plain, _ = read_text(real("rotation_g68.iso").read_text(), "mm")
    assert len(nested) == len(plain) and nested.end[:106] == pytest.approx(plain.end[:106])
    cuts = [moves.end[moves.kind != Kind.RAPID].round(3) + 0.0 for moves in (nested, plain)]
    places = [sorted(map(tuple, cut.tolist())) for cut in cuts]
    assert places[0] == places[1]
    _, reading = read_text(real("subprograms_repeats.iso").read_text())
    assert reading.told == ()


def test_what_steers_is_taken_apart_once_and_steers_by_the_variables_as_they_are() -> None:
    assert steering("G1X1") is None and steering("N5GOTO3") is steering("N5GOTO3")
    found = steering("WHILE[#1LT3]DO#2")
    assert found is not None and found.condition is not None and not found.why
    variables = Variables()
    variables[2] = 7.0
    for number, true in ((1.0, 1.0), (5.0, 0.0)):
        variables[1] = number
        assert (found.condition(variables), found.number(variables)) == (true, 7.0)
    bad = steering("IF[1]DO2")
    assert bad is not None and "GOTO" in bad.why
