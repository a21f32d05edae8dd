from __future__ import annotations

from firstoff.checks.base import Case
from firstoff.checks.reach import CHECK, depth_of, reaches
from firstoff.part.shapes import Feature
from tests.checks.builders import HEIGHT, block, case, chance, found, knobs_say, operation, rises, setting, shop, tool


def wall(stickout: float, stick_up: float = 0.0) -> Case:
    """Milling a whole side of the block."""
    return case(op=operation(features=["stock-4"], stickout=f"{stickout} mm"),
                place=setting(holding={"stick_up": f"{stick_up} mm"}))


def test_short_tool_at_a_high_wall_bad_on_purpose() -> None:
    finding = found(CHECK, wall(15.0))
    assert finding.p_fail == 1.0 and finding.unit == "mm" and "6 mm short" in finding.because


def test_long_enough_just_good() -> None:
    assert chance(CHECK, wall(HEIGHT + 1.0)) == 0.0


def test_chance_rises_as_it_gets_shorter() -> None:
    rises(CHECK, [wall(25.0), wall(19.0), wall(10.0)])


def test_only_what_stands_above_the_jaws_is_cut() -> None:
    assert depth_of(wall(15.0, stick_up=8.0)) == 8.0 and chance(CHECK, wall(15.0, stick_up=8.0)) == 0.0


def test_a_thick_shank_ends_the_reach() -> None:
    kit = shop(em3=tool(diameter="3 mm", shank="6 mm", flute_length="9 mm"))
    assert reaches(case(op=operation(tool="em3", stickout="30 mm"), in_shop=kit)) == 9.0


def test_a_hole_deeper_than_the_flutes_bad_on_purpose() -> None:
    deep = Feature("hole-1", "hole", (6,), size={"diameter": 4.0, "depth": 60.0})
    op = operation(features=["hole-1"], role="drill", tool="drill4", stickout="70 mm")
    assert chance(CHECK, case(op=op, part=block(deep))) == 1.0


def test_what_to_turn() -> None:
    said = knobs_say(CHECK, wall(15.0))
    assert said["stickout"] == ["22 mm out of the collet, not 15 mm", "24 mm out of the collet, not 15 mm"]
