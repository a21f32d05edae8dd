"""Times and speeds: closed forms, the axes' limits, corners, looking ahead; the same in chunks as at once."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.program.timing import Limits, Timed, corner_speed, directions, looked_ahead, time_of, timed, trapezoid
from firstoff.removal.moves import AXES, Doubt, Kind, Move, Moves, joined, lengths, moves_of

LIMITS = Limits((50.0, 50.0, 20.0), (30.0, 30.0, 15.0), (200.0, 200.0, 100.0), 0.02)
AT_ONCE = replace(LIMITS, acceleration=None)


def path(points: list[tuple[float, float, float]], feed: float = 20.0, kind: Kind = Kind.LINE) -> Moves:
    return moves_of([Move(k, kind, a, b, b, 17, feed, 1.0, 1) for k, (a, b) in enumerate(pairwise(points))])


def total(moves: Moves, limits: Limits = LIMITS) -> float:
    return float(time_of(moves, limits).seconds.sum())


def test_one_long_move_speeds_up_goes_evenly_and_slows_down() -> None:
    moves = path([(0, 0, 0), (100, 0, 0)])
    assert total(moves) == pytest.approx(100 / 20 + 20 / 200)
    found = time_of(moves, LIMITS)
    assert (found.entry[0], found.top[0], found.exit[0]) == (0.0, 20.0, 0.0)
    assert found.feed[0] < 20.0


def test_one_short_move_never_reaches_its_feed() -> None:
    moves = path([(0, 0, 0), (1, 0, 0)])
    assert total(moves) == pytest.approx(2 * math.sqrt(1 / 200)) and time_of(moves, LIMITS).top[0] == pytest.approx(
        math.sqrt(200))


@pytest.mark.parametrize(("end", "feed", "kind", "seconds"), [
    ((100, 0, 0), 20.0, Kind.LINE, 5.0), ((100, 0, 0), 99.0, Kind.LINE, 100 / 30),
    ((0, 0, 100), 99.0, Kind.LINE, 100 / 15),
    ((60, 0, 80), 99.0, Kind.LINE, 80 / 15), ((100, 0, 0), 0.0, Kind.RAPID, 2.0), ((60, 0, 80), 0.0, Kind.RAPID, 4.0),
])
def test_each_axis_has_its_limit(end: tuple[float, float, float], feed: float, kind: Kind, seconds: float) -> None:
    assert total(path([(0, 0, 0), end], feed, kind), AT_ONCE) == pytest.approx(seconds)


def test_the_override_slows_feeds_alone() -> None:
    half = replace(AT_ONCE, override=0.5)
    assert total(path([(0, 0, 0), (100, 0, 0)]), half) == pytest.approx(10.0)
    assert total(path([(0, 0, 0), (100, 0, 0)], 0.0, Kind.RAPID), half) == pytest.approx(2.0)


def test_straight_on_nothing_is_lost_and_back_it_stops() -> None:
    whole = total(path([(0, 0, 0), (100, 0, 0)]))
    assert total(path([(0, 0, 0), (30, 0, 0), (30.5, 0, 0), (100, 0, 0)])) == pytest.approx(whole)
    assert total(path([(0, 0, 0), (50, 0, 0), (0, 0, 0)])) == pytest.approx(2 * total(path([(0, 0, 0), (50, 0, 0)])))


def test_a_square_corner_is_taken_on_the_circle_that_touches_both_legs() -> None:
    """For a right angle the circle leaves the corner by r(√2 − 1); with equal axes a acts along a diagonal."""
    found = time_of(path([(0, 0, 0), (50, 0, 0), (50, 50, 0)]), LIMITS)
    radius = LIMITS.corner / (math.sqrt(2) - 1)
    assert found.exit[0] == found.entry[1] == pytest.approx(math.sqrt(200 * math.sqrt(2) * radius))


def test_many_short_chords_run_as_fast_as_their_circle() -> None:
    """Half of a leg is what the corner may use up, so chords of a circle give back its radius."""
    n, radius = 720, 5.0
    angle = 2 * math.pi / n
    half = radius * math.tan(angle / 2)
    speed = corner_speed(np.array([math.cos(angle)]), np.array([half]), np.array([200.0]), 1.0)
    assert speed[0] == pytest.approx(math.sqrt(200 * radius))


@given(st.floats(0.01, 3.1), st.floats(0.01, 10.0), st.floats(1.0, 1e3), st.floats(0.001, 0.1))
def test_the_circle_of_a_corner_touches_both_legs_within_what_is_allowed(
    turn: float, half: float, acceleration: float, corner: float
) -> None:
    speed = corner_speed(np.array([math.cos(turn)]), np.array([half]), np.array([acceleration]), corner)[0]
    radius = speed * speed / acceleration
    leaves = radius * (1 / math.cos(turn / 2) - 1)
    uses = radius * math.tan(turn / 2)
    assert leaves <= corner * (1 + 1e-6) and uses <= half * (1 + 1e-6)
    assert leaves == pytest.approx(corner, rel=1e-5) or uses == pytest.approx(half, rel=1e-5)


def test_an_arc_is_no_faster_than_its_radius_allows() -> None:
    arc = moves_of([Move(1, Kind.COUNTER, (5, 0, 0), (5, 0, 0), (0, 0, 0), 17, 99.0, 1.0, 1)])
    whole = time_of(arc, replace(LIMITS, acceleration=(50.0, 50.0, 50.0)))
    assert whole.top[0] == pytest.approx(math.sqrt(50 * 5)) and whole.length[0] == pytest.approx(10 * math.pi)
    assert time_of(arc, AT_ONCE).top[0] == 30.0


@pytest.mark.parametrize("plane", sorted(AXES))
@given(st.floats(-3, 3), st.floats(0.1, 6.0), st.booleans(), st.floats(-3, 3))
def test_an_arc_sets_out_and_arrives_along_its_tangent(
    plane: int, begin: float, turn: float, back: bool, rise: float
) -> None:
    first, second, across = AXES[plane]
    signed = -turn if back else turn

    def place(share: float) -> tuple[float, float, float]:
        point = [0.0, 0.0, 0.0]
        point[first], point[second] = 4 * math.cos(begin + signed * share), 4 * math.sin(begin + signed * share)
        point[across] = rise * share
        return point[0], point[1], point[2]

    kind = Kind.CLOCKWISE if back else Kind.COUNTER
    moves = moves_of([Move(1, kind, place(0), place(1), (0, 0, 0), plane, 1.0, 0, 0)])
    out, arrive = directions(moves, lengths(moves))
    for way, share in ((out[0], 1e-6), (arrive[0], 1 - 1e-6)):
        near = np.array(place(share)), np.array(place(0.0 if share < 0.5 else 1.0))
        chord = near[0] - near[1] if share < 0.5 else near[1] - near[0]
        assert way == pytest.approx(chord / np.linalg.norm(chord), abs=1e-4)


def by_loop(node: np.ndarray, length: np.ndarray, acceleration: np.ndarray) -> np.ndarray:
    speed = node.copy()
    for k in range(len(length) - 1, -1, -1):
        speed[k] = min(speed[k], math.sqrt(speed[k + 1] ** 2 + 2 * acceleration[k] * length[k]))
    for k in range(len(length)):
        speed[k + 1] = min(speed[k + 1], math.sqrt(speed[k] ** 2 + 2 * acceleration[k] * length[k]))
    return speed


@given(st.lists(st.tuples(st.floats(0, 50), st.floats(0.01, 30), st.floats(10, 500)), min_size=1, max_size=40))
def test_looking_ahead_by_running_minima_is_looking_ahead_by_loops(rows: list[tuple[float, float, float]]) -> None:
    node, length, acceleration = (np.array(column) for column in zip(*rows, strict=True))
    node = np.append(node, 0.0)
    assert looked_ahead(node, length, acceleration) == pytest.approx(by_loop(node, length, acceleration), abs=1e-5)


@given(st.floats(0, 30), st.floats(0, 30), st.floats(1, 60), st.floats(0.01, 50), st.floats(10, 500))
def test_a_trapezoid_goes_as_far_as_it_should(
    entry: float, leave: float, highest: float, length: float, acceleration: float
) -> None:
    """Speed × time over its three parts is the length; where neither end is above the limit."""
    length = max(length, abs(entry**2 - leave**2) / (2 * acceleration))
    highest = max(highest, entry, leave)
    top, seconds = (float(value[0]) for value in trapezoid(*(np.array([value]) for value in
                                                             (length, entry, leave, highest, acceleration))))
    up, down = (top - entry) / acceleration, (top - leave) / acceleration
    even = seconds - up - down
    assert even >= -1e-9 and top <= highest + 1e-9
    assert (entry + top) / 2 * up + top * even + (leave + top) / 2 * down == pytest.approx(length, rel=1e-6, abs=1e-6)


def test_stands_wait_and_changes_take_what_a_change_takes() -> None:
    stand = Move(2, Kind.STAND, (50, 0, 0), (50, 0, 0), (50, 0, 0), 17, 0.0, 0.0, 1, wait=3.0)
    first, last = path([(0, 0, 0), (50, 0, 0)]), path([(50, 0, 0), (100, 0, 0)])
    moves = joined([first, moves_of([stand, replace(stand, wait=0.0)]), last])
    found = time_of(moves, replace(LIMITS, tool_change=60.0))
    assert found.seconds[1:3].tolist() == [3.0, 60.0] and found.exit[0] == found.entry[3] == 0.0
    assert found.seconds[0] == pytest.approx(total(first))


def test_exact_stops_stop() -> None:
    moves = path([(0, 0, 0), (50, 0, 0), (100, 0, 0)])
    stopped = replace(moves, exact=np.array([True, False]))
    assert time_of(stopped, LIMITS).exit[0] == 0.0 < time_of(moves, LIMITS).exit[0]


def test_what_cannot_be_said_takes_no_time_and_is_marked() -> None:
    moves = path([(0, 0, 0), (50, 0, 0), (100, 0, 0), (150, 0, 0)])
    for doubt in (Doubt.FEED, Doubt.END, Doubt.START, Doubt.UNIT):
        doubtful = replace(moves, doubt=np.array([0, doubt, 0], dtype=np.uint16))
        found = time_of(doubtful, LIMITS)
        assert found.timed.tolist() == [True, False, True] and found.seconds[1] == 0.0
        assert found.exit[0] == found.entry[2] == 0.0


def test_moves_of_no_length_turn_no_corner() -> None:
    moves = path([(0, 0, 0), (50, 0, 0), (50, 0, 0), (100, 0, 0)])
    assert total(moves) == pytest.approx(total(path([(0, 0, 0), (100, 0, 0)])))


@pytest.mark.parametrize("limits", [LIMITS, AT_ONCE])
@pytest.mark.parametrize("size", [1, 7, 100])
def test_chunks_take_as_long_as_the_whole(limits: Limits, size: int) -> None:
    rng = np.random.default_rng(5)
    points = np.cumsum(rng.normal(scale=rng.choice([0.1, 3.0], size=(400, 1)), size=(400, 3)), axis=0)
    moves = path([(p[0], p[1], p[2]) for p in points.tolist()])
    chunks = [moves.take(slice(k, k + size)) for k in range(0, len(moves), size)]
    found = list(timed(chunks, limits))
    assert sum(len(part) for part, _ in found) == len(moves)
    seconds = np.concatenate([times.seconds for _, times in found])
    assert seconds == pytest.approx(time_of(moves, limits).seconds, rel=1e-6)
    assert isinstance(found[0][1], Timed) and np.array_equal(joined([part for part, _ in found]).end, moves.end)


def test_nothing_takes_no_time() -> None:
    assert list(timed([], LIMITS)) == [] and total(moves_of([])) == 0.0


@pytest.mark.parametrize("wrong", [{"rapid": (0.0, 1.0, 1.0)}, {"override": 0.0}, {"acceleration": (1.0, -1.0, 1.0)},
                                   {"corner": -1.0}, {"feed": (math.nan, 1.0, 1.0)}])
def test_a_machine_that_never_moves_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(OutOfRange, match="above 0"):
        replace(LIMITS, **wrong)  # type: ignore[arg-type]
