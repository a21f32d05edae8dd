"""The cutter's middle stays as far from the contour as its radius: outside, inside, on lines and arcs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.program.beside import Leg, meetings, moved
from firstoff.program.reading import Reading
from firstoff.program.tape import Tape
from firstoff.removal.moves import Doubt, Kind, Move, Moves, joined, lengths, moves_of, swept

from .made import START, kinds

SQUARE = "G1 X10 Y10\nX10 Y30\nX30 Y30\nX30 Y10\nX10 Y10\n"


def beside(text: str, cutter: float | None = 4.0) -> tuple[list[Move], Reading]:
    reading = Reading(Tape((START + text + "\nM2\n").encode()), cutter=cutter)
    moves = joined(list(reading.chunks()))
    return list(moves)[1:], reading


def points(moves: list[Move], each: int = 60) -> np.ndarray:
    """Points along moves, seen from above."""
    arrays: Moves = moves_of(moves)
    found, angle = [], swept(arrays)
    for k, move in enumerate(moves):
        share = np.linspace(0.0, 1.0, each)[:, None]
        start, end, centre = (np.array(place[:2]) for place in (move.start, move.end, move.centre))
        if angle[k] == 0.0:
            found.append(start + share * (end - start))
        else:
            turn = math.atan2(*(start - centre)[::-1]) + angle[k] * share
            found.append(centre + np.linalg.norm(start - centre) * np.hstack((np.cos(turn), np.sin(turn))))
    return np.vstack(found)


def apart(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    distances: np.ndarray = np.sqrt(((one[:, None, :] - other[None, :, :]) ** 2).sum(axis=2))
    return np.asarray(distances.min(axis=1))


def test_outside_a_square_the_path_is_longer_by_a_circle() -> None:
    moves, reading = beside("G41 D1\n" + SQUARE + "G40\nG1 X0 Y0")
    contour = [move for move in moves if not move.doubt]
    assert reading.told == () and kinds(contour) == "LCLCLCL"
    assert lengths(moves_of(contour)).sum() == pytest.approx(4 * 20 + 3 * math.pi)
    assert moves[0].doubt & Doubt.PATH and moves[-1].doubt & Doubt.PATH and moves[-1].end == (0.0, 0.0, 0.0)


def test_inside_a_square_each_side_is_shorter() -> None:
    moves, reading = beside("G42 D1\n" + SQUARE + "G40\nG1 X0 Y0")
    contour = [move for move in moves if not move.doubt]
    assert reading.told == () and kinds(contour) == "LLLL"
    assert [round(length, 9) for length in lengths(moves_of(contour))] == [18.0, 16.0, 16.0, 18.0]


@pytest.mark.parametrize(("code", "radius"), [("G41", 8.0), ("G42", 12.0)])
def test_a_whole_circle_grows_or_shrinks(code: str, radius: float) -> None:
    moves, reading = beside(f"{code} D1\nG1 X10 Y0\nG3 X10 Y0 I-10 J0\nG40\nG1 X0 Y0")
    arc = next(move for move in moves if move.kind == Kind.COUNTER)
    assert reading.told == () and lengths(moves_of([arc]))[0] == pytest.approx(2 * math.pi * radius)


@pytest.mark.parametrize("code", ["G41", "G42"])
def test_the_middle_is_never_nearer_than_the_radius_and_on_its_legs_just_as_far(code: str) -> None:
    """A contour with outer and inner corners of lines and arcs, and a plunge on the way."""
    text = "\n".join(["G1 X10 Y20", "X10 Y40", "X25 Y30", "Z-1", "X40 Y40", "G2 X50 Y30 R10", "G3 X60 Y20 R10",
                      "G1 X60 Y5", "X40 Y10", "G2 X25 Y10 I-7.5 J0", "G1 X10 Y10", "Y20"])
    moves, reading = beside(f"{code} D1\n{text}\nG40\nG1 X0 Y0")
    plain, _ = beside(text)
    contour = points(plain[1:], 400)
    found = points([move for move in moves if not move.doubt])
    assert reading.told == ()
    assert apart(found, contour).min() > 2.0 - 1e-3
    assert np.quantile(apart(found, contour), 0.99) < 2.0 + 0.02
    assert min(move.end[2] for move in moves) == -1.0


@given(st.floats(0.2, 2.9), st.booleans(), st.booleans())
def test_corners_of_any_angle(turn: float, left: bool, to_left: bool) -> None:
    signed = turn if to_left else -turn
    end = (50 + 50 * math.cos(signed), 50 * math.sin(signed))
    code = "G41" if left else "G42"
    text = f"G1 X0.0001 Y0\nX50 Y0\nX{end[0]:.6f} Y{end[1]:.6f}"
    moves, reading = beside(f"{code} D1\n{text}\nG40\nG1 X99 Y99")
    contour = [move for move in moves if not move.doubt]
    if left == to_left:
        cut = 2.0 * math.tan(turn / 2)
        assert kinds(contour) == "LL" and lengths(moves_of(contour)) == pytest.approx([50 - cut] * 2, abs=1e-3)
    else:
        assert len(contour) == 3 and lengths(moves_of(contour))[1] == pytest.approx(2.0 * turn, abs=1e-3)
    assert reading.told == ()


@pytest.mark.parametrize(("text", "piece"), [
    ("G42 D1\nG1 X10 Y10\nX10 Y11\nX30 Y11\nX30 Y10.5\nX10 Y10\nG40\nG1 X0", "cutter"),
    ("G41 D1\nG1 X10 Y0\nG3 X10 Y2 I0 J1\nG1 X0\nG40\nX1", "cutter"),
    ("G41 D1\nG42 D1\nG1 X1 Y1", "G40 has to stand between"), ("G18 G41 D1\nG1 X5", "out of the XY plane"),
    ("G41 D1\nG1 X5 Y5\nX9\nG40\nG2 X5 Y5 R9", "then an arc"),
    ("G41 D1\nG2 X5 Y5 R5\nG1 X9", "goes to a contour by a line"),
    ("G41 D1\nG81 X1 Z-1 R1", "a cycle beside"), ("G41 D1\nG1 X5\nG2 X5 I0.001\nG1 X9", "radius of 0"),
    ("G41 D1\nG1 X5\nG18 G2 X9 K2 I2\nG1 X20", "out of the XY plane beside"),
])
def test_what_does_not_fit_is_told(text: str, piece: str) -> None:
    moves, reading = beside(text)
    assert any(piece in one.what for one in reading.told), reading.told
    assert any(move.doubt for move in moves)


def test_without_a_diameter_the_contour_is_in_doubt() -> None:
    moves, reading = beside("G41 D1\n" + SQUARE + "G40\nG1 X0 Y0", None)
    assert "--cutter" in reading.told[0].what
    assert [bool(move.doubt & Doubt.PATH) for move in moves] == [True] * 5 + [False]


def test_a_program_that_ends_beside_a_contour_loses_nothing() -> None:
    moves, _ = beside("G41 D1\n" + SQUARE)
    assert moves[-1].end[:2] == pytest.approx((10.0, 8.0))


@given(st.floats(-50, 50), st.floats(-50, 50), st.floats(0, 6.2), st.floats(1, 30))
def test_legs_meet_where_both_are(x: float, y: float, angle: float, radius: float) -> None:
    line = Leg((x, y), (x + 60 * math.cos(angle), y + 60 * math.sin(angle)))
    whole = Leg((radius, 0.0), (radius, 0.0), (0.0, 0.0))
    for point in meetings(line, whole):
        assert math.hypot(*point) == pytest.approx(radius, abs=1e-6) and line.holds(point)
    other = Leg((5.0 + radius, 0.0), (5.0 + radius, 0.0), (5.0, 0.0), clockwise=True)
    for point in meetings(whole, other):
        assert math.hypot(*point) == pytest.approx(radius) == pytest.approx(math.dist(point, (5.0, 0.0)))
    assert moved((0.0, 0.0), (1.0, 0.0), 2.0) == (0.0, 2.0)
