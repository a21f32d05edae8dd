from __future__ import annotations

from typing import Any

import pytest

from firstoff.checks.base import Case
from firstoff.checks.wall_gives import CHECK, free_height, thin_walls
from firstoff.part.shapes import Feature
from tests.checks.builders import block, case, chance, found, job, operation, rises, setting


def milled(wall: float, depth: float = 18.0, leaves: str = "0 mm", limits: dict[str, Any] | None = None,
           **holding: Any) -> Case:
    pocket = Feature("pocket-1", "pocket", (5,), size={"wall": wall, "depth": depth, "length": 40.0})
    op = operation(features=["pocket-1"], role="pocket_finish", leaves=leaves)
    place = setting(holding={"stick_up": "18 mm", "grip_height": "2 mm", **holding})
    return case(op=op, part=block(pocket), place=place, of_job=job(limits=limits or {}))


def test_a_sheet_of_a_wall_bad_on_purpose() -> None:
    finding = found(CHECK, milled(0.5))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "0.5 mm thick" in finding.because and "18 mm free" in finding.because


def test_a_wall_that_is_barely_thin_just_good() -> None:
    assert chance(CHECK, milled(3.4)) <= 0.01


def test_thinner_is_worse() -> None:
    rises(CHECK, [milled(wall) for wall in (3.4, 2.0, 1.2, 0.8, 0.5)])


def test_only_what_is_finished_thin_and_free() -> None:
    assert CHECK.applies(milled(1.0)) and not CHECK.applies(milled(1.0, leaves="0.3 mm"))
    assert not CHECK.applies(milled(5.0)) and not CHECK.applies(milled(1.0, stick_up="3 mm"))
    assert thin_walls(milled(1.0))[0].id == "pocket-1"


def test_jaws_back_it_up_below_their_top() -> None:
    deep = milled(1.0, stick_up="8 mm")
    assert free_height(deep, deep.features[0]) == pytest.approx(8.0)
    free = milled(1.0, device="carrier", grip=[], grip_height="0 mm", tightness="")
    assert free_height(free, free.features[0]) == pytest.approx(18.0)


def test_a_limit_on_the_wall_counts() -> None:
    tight = {"top": {"kind": "flatness", "part": "block", "between": ["+Z"], "tolerance": "+0.01 mm / 0 mm"}}
    strict = found(CHECK, milled(2.0, limits=tight))
    assert strict.capacity is not None and strict.capacity.median == pytest.approx(10.0)
