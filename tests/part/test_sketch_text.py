"""Lines told again are read as the same sketch; two wordings of one solid are one in the canonical form."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from firstoff.part import sketch_text
from firstoff.part.sketch import Cut, Hole, Place, Pocket, Sketch, Slot
from tests.part import sketches


def bare(drawn: Sketch) -> tuple[object, ...]:
    """Everything that is meant, without where it was written, nor from where places without limits are told."""
    flats = [replace(flat, line=0) for flat in drawn.flats]
    return drawn.block, tuple(plain(replace(cut, line=0)) for cut in drawn.cuts), flats


def plain(cut: Cut) -> Cut:
    """The cut with the sides that its limits are told from, and no others."""
    if isinstance(cut, Hole | Pocket):
        return replace(cut, places=tuple(limited(place) for place in cut.places))
    return replace(cut, middle=limited(cut.middle)) if isinstance(cut, Slot) else cut


def limited(place: Place) -> Place:
    """A place with sides only where there are limits."""
    first, second = (side if allowed else "" for side, allowed in zip(place.sides, place.limits, strict=True))
    return replace(place, u=round(place.u, 9), v=round(place.v, 9), sides=(first, second))


def again(drawn: Sketch) -> Sketch:
    """The sketch read from its own lines."""
    return sketches.told("\n".join(["", *sketch_text.lines_of(drawn), ""]), drawn.unit)


@settings(max_examples=50, deadline=None)
@given(sketches.lines())
def test_lines_told_again_mean_the_same(lines: str) -> None:
    drawn = sketches.told(lines)
    assert sketch_text.canonical(again(drawn)) == sketch_text.canonical(drawn)


@pytest.mark.parametrize("lines", [sketches.SOLE, sketches.MANY])
def test_limits_and_datums_are_told_again(lines: str) -> None:
    drawn = sketches.told(lines)
    assert bare(again(drawn)) == bare(drawn)


def canonical(*lines: str) -> tuple[object, ...]:
    """The canonical form of lines in a block."""
    return sketch_text.canonical(sketches.told("\n".join(["", "block 110 x 34 x 24", *lines, ""])))


@pytest.mark.parametrize(("one", "other"), [
    ("hole 4 through at 10, 7", "hole 4 through at 10, 7 on bottom"),
    ("hole 4 through at 10, 7", "hole 4 through at 100, 27 from right back"),
    ("slot 6 wide deep 4 along x at y 17", "pocket 110 x 6 deep 4 at 55, 17"),
    ("slot 6 wide deep 4 from x 20 to 50 at y 17", "pocket 30 x 6 deep 4 corner 3 at 35, 17"),
    ("slot 6 wide deep 4 corner 1 along x at y 17", "slot 6 wide deep 4 along x at y 17"),
    ("step 10 wide deep 5 along left", "step 5 wide deep 10 along top on left"),
    ("step 10 wide deep 5 along left", "pocket 20 x 40 deep 5 at 0, 17"),
    ("ramp 45 deg from x 108 down to right", "chamfer 2 on right top edge"),
    ("chamfer 2 x 30 on top front", "chamfer 1.1547005 x 60 on front top"),
])
def test_two_wordings_of_one_solid(one: str, other: str) -> None:
    assert canonical(one) == canonical(other)


@pytest.mark.parametrize(("one", "other"), [
    ("hole 4 through at 10, 7", "hole 4 through at 10, 7.001"),
    ("hole 4 through at 10, 7", "hole 4 H7 through at 10, 7"),
    ("hole 4 deep 9 at 10, 7", "hole 4 deep 9 flat at 10, 7"),
    ("hole 4 deep 9 at 10, 7", "hole 4 deep 9 at 10, 7 on bottom"),
    ("pocket 20 x 10 deep 5 at 40, 17", "pocket 10 x 20 deep 5 at 40, 17"),
    ("pocket 20 x 10 deep 5 at 40, 17", "pocket 20 x 10 deep 5 corner 1 at 40, 17"),
    ("chamfer 2 x 30 on top front", "chamfer 2 x 30 on front top"),
    ("fillet 2 on top front", "chamfer 2 on top front"),
])
def test_two_solids_are_two(one: str, other: str) -> None:
    assert canonical(one) != canonical(other)


def test_order_and_lines_do_not_matter() -> None:
    one = canonical("hole 4 through at 10, 7; 10, 27", "step 10 wide deep 5 along left")
    assert one == canonical("step 10 wide deep 5 along left", "hole 4 through at 10, 27", "hole 4 through at 10, 7")
