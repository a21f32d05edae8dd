"""What sets: spindle, tools, offsets, zeros, turning; and what becomes of the place where the tip is."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.removal.moves import Doubt, Kind

from .made import after_start, ends, kinds, read_text, told_after_start, told_of


def test_a_tool_comes_when_it_is_changed_and_the_place_is_lost() -> None:
    moves = after_start("T5\nG1 X1\nM6\nG0 X0 Y0 Z5\nT7 M6\nG0 X0 Y0 Z5")
    assert [move.tool for move in moves] == [0, 5, 5, 7, 7] and kinds(moves) == "LSRSR"
    assert moves[2].doubt & Doubt.START


def test_a_change_to_no_tool_is_told() -> None:
    assert any("M6 without T" in what for _, what in told_after_start("M6"))
    assert after_start("M6\nG0 X0")[1].doubt & Doubt.TOOL
    assert any("whole number" in what for _, what in told_after_start("T1.5 M6"))


def test_the_spindle_both_ways_off_and_without_speed() -> None:
    moves = after_start("S60 M3 G1 X1\nM4 X2\nM5 X3\nM3 S0 X4")
    assert [round(move.spindle / (2 * math.pi), 9) for move in moves] == [1.0, -1.0, 0.0, 0.0]
    without, reading = read_text("G21 M3 G0 X0 Y0 Z0\nM2")
    assert without.doubt[0] & int(Doubt.SPINDLE) and "M3 without S" in reading.told[0].what


def test_stands_wait_as_long_as_they_say() -> None:
    moves = after_start("G4 P2.5\nM0\nM1\nM60")
    assert kinds(moves) == "SSSS" and [move.wait for move in moves] == [2.5, 0.0, 0.0, 0.0]
    for text in ("G4", "G4 P-1", "G4 P1000000"):
        assert kinds(after_start(text)) == "" and told_after_start(text)


def test_lengths_of_tools_lose_z_and_other_tools_are_asked_for() -> None:
    moves = after_start("G43 H1\nG0 X1\nZ5\nG43 H1\nX2\nG49\nX3")
    assert [bool(move.doubt & Doubt.Z) for move in moves] == [True, False, False, True]
    assert any("H3 with tool 2" in what for _, what in told_after_start("T2 M6\nG43 H3"))
    assert any("wants H" in what for _, what in told_after_start("G43"))


def test_g92_makes_another_zero_here() -> None:
    assert ends(after_start("G1 X10\nG92 X0\nX5\nG92.1\nX5")) == [(10, 0, 0), (15, 0, 0), (5, 0, 0)]
    assert ends(after_start("G1 X10\nG92 X0\nG92.2\nX1\nG92.3\nX1")) == [(10, 0, 0), (1, 0, 0), (11, 0, 0)]


def test_g92_at_the_start_is_known_from_there_on_and_told() -> None:
    text = "G21 G92 X0 Y0 Z0\nG0 X1 Y1 Z1\nG92.1\nX2\nM2"
    moves, _ = read_text(text)
    assert moves.doubt[0] == 0 and moves.doubt[1] & int(Doubt.END)
    assert any("put there by hand" in what for _, what in told_of(text))


def test_g52_shifts_and_comes_back() -> None:
    moves = after_start("G52 X10 Y5\nG1 X1 Y1\nG52 X0 Y0\nX1 Y1")
    assert ends(moves) == [(11, 6, 0), (1, 1, 0)]


def test_zeros_that_g10_did_not_set_are_somewhere_else() -> None:
    same, other = after_start("G54 G1 X1\nG55 X1")
    assert not same.doubt and other.doubt & Doubt.START and other.zero == 2 and same.zero == 1
    moves = after_start("G10 L2 P1 X0 Y0 Z0\nG10 L2 P2 X10 Y0 Z0\nG0 X0 Y0 Z0\nX20\nG55 X1")
    assert moves[-1].start == (10.0, 0.0, 0.0) and not moves[-1].doubt
    assert [after_start(f"{code} G0 X0")[0].zero for code in ("G59", "G59.1", "G59.3")] == [6, 7, 9]
    assert any("G10 L2" in what for _, what in told_after_start("G10 L20 P1 X0"))


def test_home_goes_through_the_place_that_is_written() -> None:
    through, home, back = after_start("G28 X1 Y2 Z3\nG0 X0 Y0 Z0")
    assert through.end == (1.0, 2.0, 3.0) and not through.doubt and through.kind == Kind.RAPID
    assert home.zero == 0 and home.doubt & Doubt.END and back.doubt & Doubt.START
    assert kinds(after_start("G30")) == "R" and ends(after_start("G1 Z5\nG91 G28 Z0"))[1] == (0, 0, 5)


def test_g68_turns_about_its_place() -> None:
    moves = after_start("G68 X10 Y0 R90\nG1 X15 Y0\nG68 X10 Y0 R180\nX15 Y0\nG69\nX15 Y0")
    assert ends(moves) == [(10, 5, 0), (5, 0, 0), (15, 0, 0)]


@given(st.floats(-360, 360).map(lambda x: round(x, 3)), st.integers(-50, 50), st.integers(-50, 50))
def test_a_turned_circle_is_a_circle_about_the_turned_centre(angle: float, x: int, y: int) -> None:
    line, arc = after_start(f"G68 X{x} Y{y} R{angle}\nG1 X30 Y5\nG2 I-5 J2")
    assert arc.doubt == 0 and arc.start == arc.end
    turn = math.radians(angle)
    wanted = (x + math.cos(turn) * (25 - x) - math.sin(turn) * (7 - y),
              y + math.sin(turn) * (25 - x) + math.cos(turn) * (7 - y))
    assert arc.centre[:2] == pytest.approx(wanted, abs=1e-9) and line.doubt == 0


def test_turning_that_is_not_told_whole_is_in_doubt() -> None:
    assert any("G68 wants X Y R" in what for _, what in told_after_start("G68 R90"))
    assert after_start("G68 R90\nG1 X1 Y1")[0].doubt & Doubt.UNREAD
    half, whole = after_start("G68 X0 Y0 R90\nG1 X1\nX1 Y1")
    assert half.doubt & Doubt.END and not whole.doubt & Doubt.END
    assert any("only one of X and Y" in what for _, what in told_after_start("G68 X0 Y0 R90\nG1 X1"))


def test_g70_and_g71_of_a_lathe_are_no_units() -> None:
    for text in ("G70 P10 Q20", "G71 U1 R1", "G71 P10 Q20 U1 W1"):
        assert after_start(text + "\nG1 X1 F60")[0].end == (1.0, 0.0, 0.0)
        assert after_start(text + "\nG1 X1")[0].doubt & Doubt.UNREAD
        assert any("is no unit" in what for _, what in told_after_start(text))


def test_a_unit_that_changes_is_told() -> None:
    assert told_after_start("G20 G1 X1 F9\nG20\nG21") == [
        (1, "G20: from here on lengths are inches, before mm"),
        (3, "G21: from here on lengths are mm, before inches")]


def test_exact_stops_are_marked() -> None:
    assert [move.exact for move in after_start("G1 X1\nG61 X2\nG61.1 X3\nG64 X4")] == [False, True, True, False]


@pytest.mark.parametrize(("text", "piece"), [
    ("G4 P500", "milliseconds"), ("F-5", "F-5 is no feed"),
    ("S-5", "S-5 is no speed"), ("G92", "wants X Y or Z"), ("G43 H1.5", "whole number"),
])
def test_what_is_wrong_is_told(text: str, piece: str) -> None:
    assert any(piece in what for _, what in told_after_start(text)), told_after_start(text)


def test_nothing_is_read_after_the_end() -> None:
    moves, reading = read_text("G21 G0 X0 Y0 Z0\nM30\nG0 X5\n")
    assert len(moves) == 1 and reading.told == ()
