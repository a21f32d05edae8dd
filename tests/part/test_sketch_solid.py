"""Solids by their volumes in closed form; what a line leaves nothing of is told with that line."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from firstoff.errors import ModelError
from firstoff.part import build, sketch_solid
from tests.part import models, sketches

BLOCK = 110 * 34 * 24


def taken(*lines: str) -> float:
    """The volume that lines take out of the block [mm3]."""
    return BLOCK - sketches.made(sketches.told("\n".join(["", "block 110 x 34 x 24", *lines, ""]))).volume


#: how far the centroid of what a quarter round leaves of its square lies from the outer sides, in its radius [1]
SPANDREL = (10 - 3 * math.pi) / (12 - 3 * math.pi)


def cone(radius: float, height: float) -> float:
    """Volume of a cone [mm3]."""
    return math.pi * radius**2 * height / 3


@pytest.mark.parametrize(("line", "volume"), [
    ("hole 4 through at 10, 7; 10, 27", 2 * math.pi * 4 * 24),
    ("hole 4 through at 10, 7 on front", math.pi * 4 * 34),
    ("hole 4 through at 10, 7 on right", math.pi * 4 * 110),
    ("hole 4 deep 9 at 10, 7", math.pi * 4 * 9 + cone(2, models.cone_height(4, 118))),
    ("hole 4 deep 9 flat at 10, 7 on left", math.pi * 4 * 9),
    ("hole M4 deep 9 at 10, 7", math.pi * 1.65**2 * 11.8 + cone(1.65, models.cone_height(3.3, 118))),
    ("hole 4.5 through countersunk 9.6 x 90 at 10, 7 on bottom",
     math.pi * 2.25**2 * 24 + cone(4.8, 4.8) - cone(2.25, 2.25) - math.pi * 2.25**2 * 2.55),
    ("hole 4 through counterbored 8 x 3 at 10, 7", math.pi * (4 * 24 + 12 * 3)),
    ("pocket 20 x 10 deep 5 at 40, 17", 1000.0),
    ("pocket 20 x 10 through corner 2 at 40, 17", (200 - (4 - math.pi) * 4) * 24),
    ("pocket 20 x 10 deep 5 corner 2 at 0, 17", 500.0 - (4 - math.pi) / 2 * 4 * 5),
    ("slot 6 wide deep 4 from x 20 to 50 at y 17", (24 * 6 + math.pi * 9) * 4),
    ("slot 6 wide deep 4 from x 0 to 50 at y 17", (47 * 6 + math.pi * 4.5) * 4),
    ("slot 6 wide deep 4 along z at x 17 on back", 6 * 4 * 24),
    ("step 10 wide deep 5 along left on bottom", 10 * 5 * 34),
    ("step 10 wide deep 5 along top on right", 10 * 5 * 34),
    ("ramp 22 deg from x 60 down to right", 50**2 * math.tan(math.radians(22)) / 2 * 34),
    ("chamfer 2 x 30 on top front edge", 2 * 2 * math.tan(math.radians(30)) / 2 * 110),
    ("chamfer 2 on all top edges", 110 * 34 * 2 - sum((110 - 2 * t) * (34 - 2 * t) for t in (
        1 - math.sqrt(1 / 3), 1 + math.sqrt(1 / 3)))),
    ("groove 20 x 3 deep 2 at 40, 17; 70, 17 on bottom", 2 * math.pi * (100 - 49) * 2),
    ("boss 20 high 6 at 40, 17; 80, 17", (110 * 34 - 2 * math.pi * 100) * 6),
    ("boss 20 high 6 at 40, 12 on back", (110 * 24 - math.pi * 100) * 6),
    ("pocket 20 x 14 deep 6 corner 4 floor 2 at 40, 17",
     (280 - (4 - math.pi) * 16) * 6 - (4 - math.pi) * (36 + 2 * math.pi * (4 - 2 * SPANDREL))),
    ("fillet 3 on left front edge", (9 - math.pi * 9 / 4) * 24),
])
def test_volumes(line: str, volume: float) -> None:
    """All chamfers of the top: what is left is an integral of a square function, exact with two points of Gauss.

    A floor radius leaves the spandrel of a quarter round: its area times the way of its centroid (Pappus).
    """
    assert taken(line) == pytest.approx(volume, rel=1e-6)


def test_cuts_add_up() -> None:
    lines = ("hole 4 through at 10, 7", "pocket 20 x 10 deep 5 at 40, 17", "fillet 3 on left front edge")
    assert taken(*lines) == pytest.approx(sum(taken(line) for line in lines))


def test_at_once_and_line_by_line_make_the_same_solid(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = sketches.told(sketches.MANY)
    at_once = sketches.made(drawn)
    monkeypatch.setattr(sketch_solid, "_at_once", lambda *_: None)
    one_by_one = sketches.made(drawn)
    assert one_by_one.volume == pytest.approx(at_once.volume, rel=1e-9)
    assert len(one_by_one.faces) == len(at_once.faces)


def test_a_hole_that_a_later_pocket_takes_away_is_no_mistake() -> None:
    pocket = "pocket 20 x 10 deep 5 at 40, 17"
    assert taken("hole 4 deep 2 flat at 40, 17", pocket) == pytest.approx(taken(pocket))


def test_edges_all_round_leave_one_solid() -> None:
    part = sketches.made(sketches.told("\nblock 30 x 20 x 10\nfillet 2 on all edges\n"))
    assert part.solids == 1
    assert len(part.faces) == 6 + 12
    assert [feature for feature in part.features if feature.kind == "not_understood"] == []


def test_an_edge_that_is_gone_is_passed_over_among_several() -> None:
    """A step takes the top edge of the left; the chamfer of all top edges is of the three that are left."""
    step, top = "step 10 wide deep 5 along left", "chamfer 1 on all top edges"
    assert taken(step, top) < taken(step) + taken(top)
    assert taken(step, top) == pytest.approx(taken(step, "chamfer 1 on top right, top front, top back"))
    with pytest.raises(ModelError, match="takes nothing"):
        taken(step, "chamfer 1 on top left")


@pytest.mark.parametrize(("lines", "line", "says"), [
    (("hole 8 through at 10, 7", "hole 5 through at 10, 7"), 5, "takes nothing"),
    (("pocket 20 x 34 deep 20 at 40, 17", "pocket 20 x 40 deep 20 at 40, 17 on bottom"), 5, "leaves 2 pieces"),
    (("step 60 wide deep 5 along left", "step 60 wide deep 5 along right"), 5, "takes the last of a side"),
])
def test_a_line_that_leaves_no_part_is_told(lines: tuple[str, ...], line: int, says: str) -> None:
    with pytest.raises(ModelError, match=says) as caught:
        sketch_solid.solid(sketches.told("\n".join(["", "block 110 x 34 x 24", *lines, ""])))
    assert caught.value.where == f"part.toml, line {line}"


def test_an_inch_sketch_is_an_inch_model(tmp_path: Path) -> None:
    part = build.digest(sketch_solid.write(sketches.told("\nblock 4 x 2 x 1\n", "in"), tmp_path))
    assert part.unit == "in"
    assert part.high == pytest.approx((101.6, 50.8, 25.4))
