from __future__ import annotations

from dataclasses import replace

from firstoff.checks.base import Case
from firstoff.checks.small_part import RULE
from tests.checks.builders import block, case, operation, setting


def drilled(length: float) -> Case:
    part = replace(block(), high=(length, 40.0, 20.0))
    return case(op=operation(role="drill", tool="drill4"), part=part,
                place=setting(machine="press", holding={"device": "hand", "tightness": "fingers"}))


def test_short_part_not_met() -> None:
    assert RULE.applies(drilled(60.0)) and not RULE.met(drilled(60.0))
    assert "vise or clamp" in RULE.because(drilled(60.0))


def test_long_part_met() -> None:
    assert RULE.met(drilled(120.0)) and "120 mm" in RULE.because(drilled(120.0))


def test_does_not_ask_of_a_vise() -> None:
    assert not RULE.applies(case())
