from __future__ import annotations

from firstoff.checks.base import Case
from firstoff.checks.tapping import CHECK
from firstoff.part.shapes import Feature
from tests.checks.builders import belief, block, case, chance, found, operation, rises


def tapped(hole: float = 4.2, number: int = 1, thread: str = "tap5") -> Case:
    holes = [Feature(f"hole-{i}", "hole", (6 + i,), size={"diameter": hole, "depth": 12.0}) for i in range(number)]
    op = operation(features=[h.id for h in holes], role="tap", tool=thread)
    return case(op=op, part=block(*holes))


def test_hole_too_small_bad_on_purpose() -> None:
    finding = found(CHECK, tapped(3.4), belief(material_steel__tapping_force=6000e6))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert finding.unit == "N m" and "M5 in a 3.4 mm hole" in finding.because


def test_tap_drill_of_the_table_just_good() -> None:
    assert chance(CHECK, tapped(4.2)) <= 0.01


def test_chance_rises_as_the_hole_shrinks() -> None:
    rises(CHECK, [tapped(hole) for hole in (4.3, 4.0, 3.6, 3.2)])


def test_more_holes_are_more_chances() -> None:
    rises(CHECK, [tapped(3.7, 1), tapped(3.7, 4)])


def test_no_thread_left_cannot_be_told() -> None:
    assert found(CHECK, tapped(5.5)).p_rows is None
