from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import pytest

from firstoff.checks.base import Case
from firstoff.checks.chamfer_fouls import CHECK, walls_at_ends, worst_end
from firstoff.part.shapes import Edge, Face, Feature
from tests.checks.builders import block, case, chance, found, knobs_say, operation, rises, shop, tool


def chamfered(concave: bool, diameter: float = 6.0, above: float = 0.0) -> Case:
    """A 1 mm chamfer along x on the upper edge, and a wall square to its end that stands `above` higher."""
    slope = Face(6, 0, "plane", 40.0, (30.0, 0.5, 19.5), (0.0, -0.7, 0.7), (0.0, 0.0, 19.0), (60.0, 1.0, 20.0))
    top = (60.0, 40.0, 20.0 + above)
    wall = Face(7, 0, "plane", 40.0, (60.0, 20.0, 20.0), (-1.0, 0.0, 0.0), (60.0, 0.0, 0.0), top)
    feature = Feature("chamfer-1", "chamfer", (6,), size={"angle": 45.0, "width": 1.0})
    edge = Edge((6, 7), "concave" if concave else "convex", "line", 1.4, ())
    part = replace(block(feature, faces=(slope, wall)), edges=(edge,))
    kit = shop(chamfer=tool(name="chamfer cutter", kind="chamfer", point_angle="90 deg", diameter=f"{diameter} mm"),
               **{f"file{size}": tool(name=f"file {size} mm", kind="file", diameter=f"{size} mm") for size in (9, 3)})
    return case(op=operation(features=["chamfer-1"], role="chamfer", tool="chamfer"), part=part, in_shop=kit)


def test_cutter_against_a_wall_bad_on_purpose() -> None:
    finding = found(CHECK, chamfered(True, above=5.0))
    assert finding.p_fail == 1.0 and finding.unit == "mm"
    assert "leaves about 3 mm" in finding.because and "file the end" in finding.because


def test_open_ends_just_good() -> None:
    assert chance(CHECK, chamfered(False, above=5.0)) == 0.0
    assert walls_at_ends(chamfered(False), chamfered(False).part.feature("chamfer-1")) == []


def test_what_remains_grows_with_the_wall() -> None:
    rises(CHECK, [chamfered(False), chamfered(True), chamfered(True, 10.0, 20.0)])
    assert worst_end(chamfered(True))[0] == pytest.approx(1.0 * tan(radians(45.0)))
    assert worst_end(chamfered(True, 10.0, 20.0))[0] == pytest.approx(5.0)


def test_a_smaller_cutter_or_the_finest_file_is_what_to_turn() -> None:
    this = chamfered(True, 10.0, 20.0)
    assert knobs_say(CHECK, this) == {
        "tool": ["chamfer cutter 6 mm, not chamfer cutter"], "role": ["file it by hand: file 3 mm"]}
    also = CHECK.knobs[1].also
    assert also is not None and also(this, "file") == (("tool", "file3"),)
