"""Each verb: what its words mean; datums and faces; and what is wrong, with line and word."""

from __future__ import annotations

import pytest

from firstoff.part import sketch_lines
from firstoff.part.sketch import Cut, Hole, Pocket, Round, Size, Sketch, SketchError, Slope, Slot, Step
from tests.part import sketches

BLOCK = "block 110 x 34 x 24"


def cut(line: str, *before: str) -> Cut:
    """The cut of one line in the block."""
    return sketches.told("\n".join(["", BLOCK, *before, line, ""])).cuts[-1]


def places(line: str, *before: str) -> list[tuple[float, float]]:
    """Where a hole's line puts it."""
    found = cut(line, *before)
    assert isinstance(found, Hole)
    return [(place.u, place.v) for place in found.places]


@pytest.mark.parametrize(("where", "at"), [
    ("at 10, 7", (10, 7)), ("at 10, 7 from left front", (10, 7)), ("at 10, 7 from right", (100, 7)),
    ("at 10, 7 from right back", (100, 27)), ("at 10, 7 from back", (10, 27)), ("at 10, -7 from centre", (65, 10)),
    ("at 10, 7 from centre front", (65, 7)), ("at 10, 7 from rear", (10, 27)), ("at 10, 7 on the bottom", (10, 7)),
    ("at 10, 7 on front", (10, 7)), ("at 10, 7 from top on front", (10, 17)), ("at 10, 7 on left", (10, 7)),
    ("at 10, 7 from top back on right", (24, 17)), ("from right at 10, 7", (100, 7)),
])
def test_a_place_is_measured_from_its_datum(where: str, at: tuple[float, float]) -> None:
    assert places(f"hole 2 through {where}") == [at]


def test_several_places_and_own_datums() -> None:
    assert places("holes 2 through at 10,7; 10,27 and 101,7") == [(10, 7), (10, 27), (101, 7)]
    assert places("hole 2 through at 5, -3 from A", "datum A at 55, 17") == [(60, 14)]
    assert places("hole 2 through at 5, 2 from A on front", "datum A at 55, 17, 12") == [(60, 14)]


def test_a_tapped_hole_is_drilled_deeper() -> None:
    hole = cut("hole M4 deep 9 at 10, 7")
    assert isinstance(hole, Hole)
    assert (hole.thread, hole.diameter.value, hole.thread_depth) == ("M4", 3.3, Size(9.0))
    assert hole.depth == Size(11.8), "four pitches of 0.7 mm"
    more = cut("hole M4 x 9 deep drilled 12 at 10, 7")
    assert isinstance(more, Hole)
    assert (more.depth, more.thread_depth) == (Size(12.0), Size(9.0))
    fine = cut("hole M5x0.5 through at 10, 7")
    assert isinstance(fine, Hole)
    assert (fine.diameter.value, fine.depth, fine.thread) == (4.5, None, "M5x0.5")


def test_a_plain_hole() -> None:
    hole = cut("hole 4 H7 9 deep point 90 counterbored 8 x 3 at 10, 7 ±0.1")
    assert isinstance(hole, Hole)
    assert (hole.diameter, hole.depth, hole.point, hole.counterbore) == (Size(4, fit="H7"), Size(9), 90.0, (8.0, 3.0))
    assert hole.places[0].limits == (None, (-0.1, 0.1))
    assert hole.places[0].sides == ("left", "front")
    flat = cut("hole 4.5 deep 9 flat countersunk 9.6 at 10, 7")
    assert isinstance(flat, Hole)
    assert (flat.point, flat.countersink) == (180.0, (9.6, 90.0))


def test_the_words_of_a_line_come_in_any_order() -> None:
    one = cut("hole 4 deep 9 at 10, 7 on bottom from right")
    assert one == cut("hole 4 on bottom from right at 10, 7 9 deep")


def test_recesses() -> None:
    pocket = cut("pocket 26.4 ±0.1 x 13.4 deep 5 +0.1/-0 R2 at 84.2, 17")
    assert isinstance(pocket, Pocket)
    assert (pocket.sizes, pocket.corner) == ((Size(26.4, -0.1, 0.1), Size(13.4)), Size(2))
    assert pocket.depth == Size(5, 0.0, 0.1)
    for line in ("slot 6 wide deep 4 from x 10 to 50 at y 17", "slot 6 wide 4 deep from 10, 17 to 50, 17",
                 "slot deep 4 6 wide at y 17 from x 50 to x 10",
                 "slot 6 wide deep 4 along x from x 10 to 50 at y 17"):
        slot = cut(line)
        assert isinstance(slot, Slot)
        assert (slot.along, slot.ends, slot.middle.u, slot.width) == (0, (10, 50), 17, Size(6))
        assert slot.corner == Size(3), "as round as the cutter that fits"
    whole = cut("slot 6 wide deep 4 along y at x 10 from right corner 0")
    assert isinstance(whole, Slot)
    assert (whole.along, whole.ends, whole.middle.u, whole.corner) == (1, (0, 34), 100, Size(0))
    step = cut("step 10 ±0.1 wide deep 5 along left on bottom")
    assert isinstance(step, Step)
    assert (step.face, step.side, step.width, step.depth) == ("bottom", "left", Size(10, -0.1, 0.1), Size(5))


def test_slopes_and_roundings() -> None:
    ramp = cut("ramp 22 deg from x 60 down to right")
    assert isinstance(ramp, Slope)
    assert (ramp.edges, ramp.width, ramp.angle) == ((("top", "right"),), Size(50), 22)
    steep = cut("chamfer 1 x 60 on top front edge")
    assert isinstance(steep, Slope)
    assert steep.edges == (("front", "top"),), "told from the face that it is nearer to"
    assert (steep.width.value, steep.angle) == pytest.approx((3**0.5, 30))
    every = cut("chamfer 1 on all top edges")
    assert isinstance(every, Slope)
    assert {other for _, other in every.edges} == {"left", "right", "front", "back"}
    fillet = cut("fillet R3 on left front, right front edge")
    assert isinstance(fillet, Round)
    assert (fillet.edges, fillet.radius) == ((("left", "front"), ("right", "front")), Size(3))
    all_round = cut("fillet 3 on all edges")
    assert isinstance(all_round, Round)
    assert len(all_round.edges) == 12


@pytest.mark.parametrize(("line", "at", "says", "right"), [
    ("block 10 x 10 x 10", "block", "a block already, on line 3", "one block"),
    ("drill 4 through at 10, 7", "drill", "'drill' is not known", "hole"),
    ("4 hole", "4", "is a number where what is to be made", "hole"),
    ("hole 4 at 10, 7", "", "how deep", "through"),
    ("hole 4 through", "", "where it is", "at 10, 7"),
    ("hole four through at 10, 7", "four", "where the diameter should come", "a number in mm"),
    ("hole 4 through deep 3 at 10, 7", "through", "deep and through", "say 'through'"),
    ("hole 4 through through at 10, 7", "through", "said twice", "once"),
    ("hole 4 through at 10", "10", "two numbers", "at 10, 7"),
    ("hole 4,5 through at 10, 7", "4,5", "comma", "4.5"),
    ("hole 4 through at 10, 7 on side", "side", "not known where a face", "top"),
    ("hole 4 through at 10, 7 from top", "top", "nothing on top is measured from top", "left"),
    ("hole 4 thruogh at 10, 7", "thruogh", "not known", "did you mean 'through'?"),
    ("hole 4 through wide at 10, 7", "wide", "not known", "one of"),
    ("hole M7 through at 10, 7", "M7", "coarse pitch of M7", "M7x1"),
    ("hole M4x9 deep 9 at 10, 7", "M4x9", "pitch of 9", "M4x0.5"),
    ("hole M4 deep 9 drilled 8 at 10, 7", "drilled", "less deep than it is tapped", "11.8"),
    ("hole 4 deep 9 drilled 10 at 10, 7", "drilled", "tapped holes", "hole M4"),
    ("hole 4 deep 9 point 20 at 10, 7", "20", "drill point", "30 and 180"),
    ("hole 4 deep 9 counterbored 8 at 10, 7", "at", "how deep the counterbore", "counterbored 8 x 4"),
    ("hole 0 through at 10, 7", "0", "nothing", "above 0"),
    ("hole -4 through at 10, 7", "-4", "negative", "above 0"),
    ("pocket 20 deep 5 at 40, 17", "deep", "'x' and the width", "pocket 26.4 x 13.4"),
    ("pocket 20 x 10 at 40, 17", "", "how deep the pocket", "deep 5"),
    ("slot deep 4 along x at y 17", "", "how wide", "6 wide"),
    ("slot 6 wide deep 4 at y 17", "", "which way the slot runs", "along x"),
    ("slot 6 wide deep 4 along z at y 17", "z", "z does not run along top", "along x"),
    ("slot 6 wide deep 4 along x", "", "where its middle", "at y 17"),
    ("slot 6 wide deep 4 along x at x 17", "x", "the way that the slot runs", "at y"),
    ("slot 6 wide deep 4 from 10, 17 to 50, 18", "to", "neither along", "share one number"),
    ("slot 6 wide deep 4 from x 10 at y 17", "at", "'to' and the other end", "from x 10 to 50"),
    ("step 10 wide along left", "", "a width and a depth", "step 10 wide deep 5"),
    ("step 10 wide deep 5", "", "along which side", "along left"),
    ("step 10 wide deep 5 along top", "top", "no side of top", "left"),
    ("ramp 22 from x 60 down to front", "front", "cannot fall to front", "from y"),
    ("ramp 95 from x 60 down to right", "95", "is no angle", "0 and 90"),
    ("ramp 22 from x 160 down to right", "x", "outside the block", "110"),
    ("chamfer 1 x 45 on top bottom edge", "bottom", "meet in no edge", "left"),
    ("chamfer 1 x 45 on top front, front top", "front top", "said twice", "once"),
    ("chamfer 1 x 3 on top front", "3", "is no angle", "5 and 85"),
    ("fillet 1 on top", "top", "the edge's other face", "one of"),
    ("flat 0.02", "0.02", "which face", "on bottom"),
    ("datum left at 10, 7", "left", "no name", "datum A"),
    ("flat 0.02 on bottom top", "top", "too much", "one cut"),
])
def test_a_wrong_line_is_told_with_its_word(line: str, at: str, says: str, right: str) -> None:
    with pytest.raises(SketchError) as caught:
        cut(line)
    error = caught.value
    assert error.where == f"part.toml, line 4, at {at or line.split()[0]!r}"
    assert says in error.what
    assert right in error.right
    assert error.so_far is not None
    assert error.so_far.texts == ((3, BLOCK),)


def test_nothing_stands_before_the_block() -> None:
    with pytest.raises(SketchError, match="no block stands before it") as caught:
        sketches.told("\nhole 4 through at 10, 7\n")
    assert caught.value.where == "part.toml, line 3, at 'hole'"
    with pytest.raises(SketchError, match="too large a number"):
        sketch_lines.add(Sketch(), "block 1000000 x 1 x 1", 1)
