"""Cycles are the moves that they stand for."""

from __future__ import annotations

import pytest

from firstoff.program.cycles import CLEAR
from firstoff.removal.moves import Doubt

from .made import after_start, ends, kinds, told_after_start


def heights(text: str) -> list[float]:
    return [round(move.end[2], 6) for move in after_start(text)]


def test_g81_goes_over_down_in_and_out() -> None:
    moves = after_start("G0 Z10\nG98 G81 X5 Y6 Z-3 R2\nX7\nG80")
    assert kinds(moves) == "RRRLRRRLR"
    assert ends(moves)[1:5] == [(5, 6, 10), (5, 6, 2), (5, 6, -3), (5, 6, 10)]
    assert ends(moves)[5:] == [(7, 6, 10), (7, 6, 2), (7, 6, -3), (7, 6, 10)]


def test_g99_stays_down_at_r_and_a_low_start_goes_up_to_r_first() -> None:
    assert heights("G0 Z10\nG99 G81 X5 Z-3 R2\nX6") == [10, 10, 2, -3, 2, 2, -3, 2]
    assert heights("G0 Z1\nG81 X5 Z-3 R2") == [1, 2, 2, -3, 2]


def test_dwells_and_pecks() -> None:
    moves = after_start("G0 Z5\nG82 X1 Z-3 R1 P0.5")
    assert kinds(moves) == "RRRLSR" and moves[4].wait == 0.5
    assert heights("G0 Z5\nG83 X1 Z-5 R1 Q2") == pytest.approx(
        [5, 5, 1, -1, 1, -1 + CLEAR, -3, 1, -3 + CLEAR, -5, 5])
    assert heights("G0 Z5\nG73 X1 Z-5 R1 Q2") == pytest.approx(
        [5, 5, 1, -1, -1 + CLEAR, -3, -3 + CLEAR, -5, 5])


def test_taps_and_reamers_feed_out() -> None:
    assert kinds(after_start("G0 Z5\nG85 X1 Z-3 R1")) == "RRRLLR"
    assert kinds(after_start("G0 Z5\nG89 X1 Z-3 R1 P1")) == "RRRLSLR"
    tap = after_start("G0 Z5\nG84 X1 Z-3 R1")
    assert [move.spindle > 0 for move in tap] == [True, True, True, True, False, False]
    bored = after_start("G0 Z5\nG86 X1 Z-3 R1 P1\nG80 G1 X0")
    assert [move.spindle > 0 for move in bored][-3:] == [True, False, True]


def test_g87_goes_in_aside_and_feeds_up_from_below() -> None:
    """Step by step as NISTIR 6556 has it: aside, at rest down, under the axis, up and down at the feed, out as in."""
    moves = after_start("G0 Z5\nG87 X10 Y0 Z-8 R1 I2 J1 K-5")
    assert kinds(moves) == "RRRRRRLLRRR"
    assert ends(moves)[2:] == [(10, 0, 1), (12, 1, 1), (12, 1, -8), (10, 0, -8), (10, 0, -5), (10, 0, -8),
                               (12, 1, -8), (12, 1, 5), (10, 0, 5)]
    assert [move.spindle > 0 for move in moves][3:] == [True, False, False, True, True, False, False, False]
    after = after_start("G0 Z5\nG87 X10 Y0 Z-8 R1 I2 J1 K-5\nG80 G1 X0")
    assert after[-1].spindle > 0.0
    steps = after_start("G0 Z5\nG91 G87 X10 Z-9 R-4 I2 J1 K3")
    assert (10, 0, -5) in ends(steps) and (12, 1, -8) in ends(steps)


def test_steps_and_repeats() -> None:
    moves = after_start("G0 Z5\nG91 G81 X2 Z-3 R-4 L3")
    assert [end for end in ends(moves) if end[2] == -2] == [(2, 0, -2), (4, 0, -2), (6, 0, -2)]
    assert kinds(after_start("G0 Z5\nG81 X1 Z-3 R1 L2")) == "RRRLRRRLR"
    assert kinds(after_start("G0 Z5\nG81 X1 Z-3 R1 L0")) == "R"


def test_another_plane_drills_along_its_axis() -> None:
    assert ends(after_start("G18 G0 Y5\nG81 X1 Z2 Y-3 R1"))[2:4] == [(1, 1, 2), (1, -3, 2)]


def test_a_hand_draws_the_tool_out_of_g88() -> None:
    moves = after_start("G0 Z5\nG88 X1 Z-3 R1 P1\nG0 Z5")
    assert kinds(moves) == "RRRLSSR" and moves[-1].doubt & Doubt.START


@pytest.mark.parametrize(("text", "piece"), [
    ("G81 X1 Z-3", "wants R"), ("G81 X1 R2", "wants Z"), ("G83 X1 Z-3 R2", "wants Q"), ("G82 X1 Z-3 R2", "wants P"),
    ("G83 X1 Z-3 R2 Q0", "Q above 0"), ("G83 X1 Z-3 R2 Q0.0001", "pecks"), ("G81 X1 Z3 R2", "above its R"),
    ("G81 X1 Z-3 R2 L1.5", "no number of holes"), ("G87 X1 Z-3 R2 I1 J1 K1", "not counted"),
    ("G87 X1 Z-3 R2 I1 J1", "wants K"), ("G87 X1 Z-3 R2 I1 J1 K-4", "below its bottom"),
    ("G18 G87 X1 Y-3 R2 I1 J1 K1", "XY plane alone"),
    ("G82 X1 Z-3 R2 P-1", "no time"), ("G81 X1 Z#5 R2", "wants Z"),
])
def test_a_cycle_that_lacks_something_is_told(text: str, piece: str) -> None:
    assert any(piece in what for _, what in told_after_start(text)), told_after_start(text)


def test_words_stay_in_force_until_the_cycle_ends() -> None:
    assert heights("G0 Z5\nG83 R1 Z-1 Q5 X1\nZ-2 X2\nG81 X3 R2 Z-4").count(-2) == 1
    assert any("wants R" in what for _, what in told_after_start("G81 X1 Z-3 R1\nG80\nG81 X2"))
