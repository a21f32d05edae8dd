"""What cannot be made in the block is told before anything is built."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.part.sketch import SketchError
from tests.part import sketches

BLOCK = "block 110 x 34 x 24"


@pytest.mark.parametrize(("line", "at", "says"), [
    ("hole 4 through at 120, 7", "at", "outside the block"),
    ("hole 4 through at 10, -7", "at", "outside the block"),
    ("hole 4 through at 10, 34", "at", "outside the block"),
    ("hole 4 through at 1.9, 7", "at", "breaks out of the side"),
    ("hole 4 through countersunk 16 at 10, 7", "at", "breaks out of the side"),
    ("hole 4 deep 24 at 10, 7", "deep", "only 24 mm"),
    ("hole 4 deep 23 at 10, 7", "deep", "point, 1.2 mm long, comes out"),
    ("hole M4 deep 22 at 10, 7", "deep", "only 24 mm"),
    ("hole 4 through countersunk 4 at 10, 7", "countersunk", "not wider than the hole"),
    ("hole 4 deep 2 countersunk 9.6 at 10, 7", "countersunk", "2.8 mm deep"),
    ("hole 4 through counterbored 3 x 4 at 10, 7", "counterbored", "not wider"),
    ("hole 4 deep 4 counterbored 8 x 4 at 10, 7", "counterbored", "as deep as the hole"),
    ("hole 4 through countersunk 9 counterbored 8 x 4 at 10, 7", "counterbored", "countersunk and counterbored"),
    ("pocket 20 x 10 deep 24 at 40, 17", "deep", "only 24 mm"),
    ("pocket 20 x 10 deep 5 at 120, 17", "at", "outside the block"),
    ("pocket 20 x 10 deep 5 corner 5.1 at 40, 17", "corner", "more than half the width"),
    ("pocket 120 x 40 deep 5 at 55, 17", "at", "takes the whole face"),
    ("slot 6 wide deep 24 along x at y 17", "deep", "only 24 mm"),
    ("slot 6 wide deep 4 along x at y 40", "at", "outside the block"),
    ("slot 6 wide deep 4 along x at y 2", "at", "breaks out of the side"),
    ("slot 6 wide deep 4 from x 120 to 130 at y 17", "from", "outside the block"),
    ("slot 6 wide through along x at y 17", "through", "cuts the block in two"),
    ("slot 6 wide deep 4 from x 20 to 25 at y 17", "to", "shorter than its rounded ends"),
    ("slot 6 wide deep 4 corner 4 along x at y 17", "corner", "more than half the width"),
    ("step 110 wide deep 5 along left", "wide", "takes the whole face"),
    ("step 10 wide deep 24 along left", "deep", "only 24 mm"),
    ("ramp 22 deg from x 10 down to right", "ramp", "takes the whole of right: it falls 40.4 mm"),
    ("chamfer 24 on top right", "chamfer", "takes the whole of right"),
    ("chamfer 95 x 20 on front left", "chamfer", "takes the whole of left"),
    ("groove 20 x 3 deep 24 at 40, 17", "deep", "only 24 mm"),
    ("groove 20 x 10 deep 2 at 40, 17", "groove", "no core left"),
    ("groove 20 x 3 deep 2 at 5, 17", "at", "breaks out of the side"),
    ("boss 20 high 24 at 40, 17", "high", "only 24 mm"),
    ("boss 20 high 4 at 40, 8", "at", "breaks out of the side"),
    ("pocket 20 x 10 deep 5 corner 1 floor 2 at 40, 17", "floor", "more than the corners' 1 mm"),
    ("pocket 20 x 10 deep 2 floor 2 at 40, 17", "floor", "no floor and wall"),
    ("pocket 20 x 10 through floor 2 at 40, 17", "floor", "no floor and wall"),
    ("fillet 24 on top right", "fillet", "larger than the block's 24 mm"),
])
def test_what_cannot_be_made(line: str, at: str, says: str) -> None:
    with pytest.raises(SketchError, match=says) as caught:
        sketches.told(f"\n{BLOCK}\n{line}\n")
    assert caught.value.where == f"part.toml, line 4, at {at!r}"
    assert caught.value.right


def test_bosses_of_one_face_stand_on_one_line() -> None:
    with pytest.raises(SketchError, match="on line 4") as caught:
        sketches.told(f"\n{BLOCK}\nboss 20 high 4 at 40, 17\nboss 10 high 4 at 80, 17\n")
    assert caught.value.where == "part.toml, line 5, at 'boss'"
    assert len(sketches.told(f"\n{BLOCK}\nboss 20 high 4 at 40, 17\nboss 10 high 4 at 80, 17 on bottom\n").cuts) == 2


@pytest.mark.parametrize("line", [
    "groove 20 x 9.9 deep 23.9 at 40, 17", "boss 20 high 23.9 at 40, 17", "pocket 20 x 10 deep 5 floor 4.9 at 40, 17",
    "hole 4 through at 2.1, 7", "hole 4 deep 22.7 at 10, 7", "hole 4 deep 23.9 flat at 10, 7",
    "pocket 20 x 10 deep 23.9 corner 5 at 40, 17", "pocket 20 x 10 deep 5 at 119, 17",
    "slot 6 wide deep 4 from x 20 to 26 at y 17", "slot 6 wide through from x 20 to 130 at y 17",
    "step 109 wide deep 23 along left", "ramp 22 deg from x 60 down to right", "fillet 23 on top right",
])
def test_what_just_can_be_made(line: str) -> None:
    assert len(sketches.told(f"\n{BLOCK}\n{line}\n").cuts) == 1


@given(st.floats(-50, 150), st.floats(-50, 150), st.floats(0.5, 20))
def test_a_hole_is_inside_or_told(x: float, y: float, wide: float) -> None:
    """A round hole is wholly inside the rectangle, or its line is refused."""
    x, y, wide = round(x, 4), round(y, 4), round(wide, 4)
    inside = min(x, 110 - x, y, 34 - y) > wide / 2 + 1e-6
    try:
        sketches.told(f"\n{BLOCK}\nhole {wide} through at {x}, {y}\n")
    except SketchError:
        assert not inside
    else:
        assert inside
