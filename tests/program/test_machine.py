"""Moves of G0 to G3: where they lead, how fast, about which centre; and what cannot be said of them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.removal.moves import Doubt, Kind, lengths, moves_of, swept

from .made import START, after_start, ends, kinds, read_text, told_after_start, told_of


def test_lines_and_rapids_stay_in_force() -> None:
    moves = after_start("G1 X1 Y2 Z3\nX4\nG0 Y5\nZ6")
    assert kinds(moves) == "LLRR" and ends(moves) == [(1, 2, 3), (4, 2, 3), (4, 5, 3), (4, 5, 6)]
    assert [move.feed for move in moves] == [10.0, 10.0, 0.0, 0.0]
    assert {move.doubt for move in moves} == {Doubt(0)} and [move.line for move in moves] == [5, 6, 7, 8]
    assert moves[0].spindle == pytest.approx(1000 * 2 * math.pi / 60)


def test_steps_add_up() -> None:
    assert ends(after_start("G91 G1 X1 Y2\nX1\nG90 X0 Y0\n")) == [(1, 2, 0), (2, 2, 0), (0, 0, 0)]


def test_inches_are_millimetres() -> None:
    for code in ("G20", "G70"):
        move = after_start(f"{code} G1 X1 F60")[0]
        assert move.end == (25.4, 0.0, 0.0) and move.feed == pytest.approx(25.4)
    assert after_start("G20 F10\nG71 G1 X1 F60")[0].end == (1.0, 0.0, 0.0)


@pytest.mark.parametrize(("plane", "first", "second", "letters"), [
    ("G17", 0, 1, "XYIJ"), ("G18", 2, 0, "ZXKI"), ("G19", 1, 2, "YZJK")])
@pytest.mark.parametrize("code", ["G2", "G3"])
def test_quarters_of_a_circle_in_each_plane(plane: str, first: int, second: int, letters: str, code: str) -> None:
    """From (0, 0) about (5, 0) to (5, 5) or (5, −5), by centre, by absolute centre and by radius."""
    one, two, i, j = tuple(letters)
    far = 5 if code == "G2" else -5
    texts = [f"{plane} {code} {one}5 {two}{far} {i}5 {j}0", f"{plane} G90.1 {code} {one}5 {two}{far} {i}5 {j}0",
             f"{plane} {code} {one}5 {two}{far} R5"]
    for text in texts:
        move = after_start(text)[0]
        assert move.kind == (Kind.CLOCKWISE if code == "G2" else Kind.COUNTER) and move.doubt == 0
        assert move.centre[first] == pytest.approx(5.0) and move.centre[second] == pytest.approx(0.0, abs=1e-9)
        assert swept(moves_of([move]))[0] == pytest.approx(math.copysign(math.pi / 2, -far))


def test_a_whole_circle_and_a_helix() -> None:
    whole, helix = after_start("G2 I5\nG3 X0 Y0 Z-2 I5")
    assert lengths(moves_of([whole]))[0] == pytest.approx(10 * math.pi)
    assert lengths(moves_of([helix]))[0] == pytest.approx(math.hypot(10 * math.pi, 2.0))
    assert helix.end == (0.0, 0.0, -2.0)


def test_a_negative_radius_is_the_longer_way() -> None:
    short, long = (moves_of(after_start(f"G3 X5 Y5 R{radius}")) for radius in ("5", "-5"))
    assert swept(short)[0] == pytest.approx(math.pi / 2) and swept(long)[0] == pytest.approx(1.5 * math.pi)


@pytest.mark.parametrize(("text", "piece"), [
    ("G2 X10 I2", "does not close"), ("G2 X10 R2", "does not reach"), ("G2 X10", "neither R nor I J"),
    ("G2 X10 I5 R5", "both R and a centre"), ("G2 X0 Y0 R5", "one point"), ("G90.1 G2 X10 I5", "both words"),
    ("G2 X10 I#7", "can't be said"), ("G18 G2 X10", "neither R nor K I"), ("G2 X1E1", "E1"),
])
def test_an_arc_that_is_none_is_told_and_its_way_in_doubt(text: str, piece: str) -> None:
    told = told_after_start(text)
    assert any(line == 1 and piece in what for line, what in told), told
    move, after = after_start(text + "\nG1 X20")
    assert move.doubt & (Doubt.PATH | Doubt.UNREAD) and not after.doubt & Doubt.PATH


def test_the_first_move_begins_nowhere_and_each_axis_is_known_once_it_was_told() -> None:
    moves, _ = read_text("G21 G0 Z5\nX1\nY2\nX3\nM2")
    assert [bool(d & int(Doubt.START)) for d in moves.doubt] == [True, True, True, False]
    assert [bool(d & int(Doubt.Y)) for d in moves.doubt] == [True, True, False, False]
    assert not moves.doubt[2] & int(Doubt.END) and not moves.doubt[0] & int(Doubt.Z)


def test_steps_from_nowhere_lead_nowhere() -> None:
    moves, _ = read_text("G21 G91 G0 X5 Y5 Z5\nX5\nM2")
    assert all(moves.doubt & int(Doubt.END))


def test_what_nobody_knows_spreads_to_its_axis_until_it_is_told_again() -> None:
    lost, found = after_start("G1 X#9 Y1\nX2")
    assert lost.doubt & Doubt.X and not lost.doubt & Doubt.Y
    assert found.doubt & Doubt.START and not found.doubt & Doubt.END


def test_lengths_without_unit_stand_as_written_and_are_in_doubt() -> None:
    moves, reading = read_text("G0 X1 Y1 Z1\nX2\nM2")
    assert reading.unit is None and all(moves.doubt & int(Doubt.UNIT)) and moves.end[1].tolist() == [2.0, 1.0, 1.0]
    moves, _ = read_text("G0 X1 Y1 Z1\nM2", "in")
    assert moves.end[0].tolist() == [25.4] * 3 and not moves.doubt[0] & int(Doubt.UNIT)
    assert any("has no unit" in what for _, what in told_of("G0 X1 Y1 Z1\nG21\nX2\nM2", None))


def test_no_feed_is_told_once_and_again_after_a_bad_one() -> None:
    text = "G21 G0 X0 Y0 Z0\nG1 X1\nX2\nF60 X3\nF0 X4\nM2"
    assert [line for line, what in told_of(text) if "no F says" in what] == [2, 5]
    moves, _ = read_text(text)
    assert [bool(d & int(Doubt.FEED)) for d in moves.doubt[1:]] == [True, True, False, True]


def test_feed_by_time_and_by_turn() -> None:
    by_time, by_turn = after_start("G93 G1 X30 F2\nG95 S600 G1 X0 F0.5")
    assert by_time.feed == pytest.approx(30.0 * 2.0 / 60.0) and by_turn.feed == pytest.approx(0.5 * 10.0)
    assert after_start("G93 G3 X0 Y0 I5 F1")[0].feed == pytest.approx(10.0 * math.pi / 60.0)
    without = after_start("G93 G1 X30 F2\nX0\nG95 M5 F1 X1")
    assert [bool(move.doubt & Doubt.FEED) for move in without] == [False, True, True]


@pytest.mark.parametrize(("text", "piece"), [
    ("G80 X5", "after G80 no G0, G1, G2 or G3"), ("G1 X1e308", "E308: E has no meaning"), ("G1 X2000000", "farther"),
    ("G1 I5", "no straight move"), ("G1 X1 P3", "P3 has no use"), ("G53 G2 X1 I1", "G53 wants"),
    ("G1 X[5", "not closed"), ("G38.2 Z-5", "stops where it touches"),
])
def test_what_is_wrong_is_told_with_its_line(text: str, piece: str) -> None:
    assert any(line == 1 and piece in what for line, what in told_after_start(text)), told_after_start(text)


def test_after_a_word_that_is_not_understood_all_is_in_doubt() -> None:
    before, doubtful, after = after_start("G1 X1\nG5 X2\nX3")
    assert not before.doubt and doubtful.doubt & Doubt.UNREAD and after.doubt & Doubt.UNREAD


def test_a_printers_word_leaves_the_next_move_alone() -> None:
    odd, even = after_start("G1 X1 E5\nX2")
    assert odd.doubt & Doubt.UNREAD and not even.doubt


def test_machine_axes_lead_to_where_nobody_knows() -> None:
    away, back = after_start("G53 G0 Z0\nG0 X1 Y1 Z5")
    assert away.zero == 0 and away.doubt & Doubt.Z and not away.doubt & Doubt.X
    assert back.zero == 1 and back.doubt & Doubt.START and not back.doubt & Doubt.END


@given(st.lists(st.tuples(st.sampled_from("XYZ"), st.integers(-500, 500)), min_size=1, max_size=20))
def test_steps_and_places_tell_the_same_path(steps: list[tuple[str, int]]) -> None:
    at = dict.fromkeys("XYZ", 0)
    absolute = []
    for axis, step in steps:
        at[axis] += step
        absolute.append(f"{axis}{at[axis] / 10}")
    by_place = after_start("G1\n" + "\n".join(absolute))
    by_step = after_start("G91 G1\n" + "\n".join(f"{axis}{step / 10}" for axis, step in steps))
    assert ends(by_place) == ends(by_step)


def test_lower_case_and_no_blanks_read_alike() -> None:
    assert after_start("g1x1y2z-.5f300") == after_start("G1 X1 Y2 Z-.5 F300")
    assert START.isupper()
