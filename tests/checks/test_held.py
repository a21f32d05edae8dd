from __future__ import annotations

import pytest

from firstoff.checks.held import RULE
from tests.checks.builders import case, operation, setting


@pytest.mark.parametrize("lacking", [{"device": "hand"}, {"grip": []}, {"grip_height": "0 mm"}, {"tightness": ""}])
def test_loose_work_is_not_met(lacking: dict[str, object]) -> None:
    this = case(place=setting(holding=lacking))
    assert RULE.applies(this) and not RULE.met(this)
    assert "clamp it" in RULE.because(this)


def test_held_in_the_vise_is_met() -> None:
    assert RULE.applies(case()) and RULE.met(case())
    assert "vise" in RULE.because(case())


def test_loose_work_not_met_and_clamped_met_say_different_things() -> None:
    assert RULE.because(case()) != RULE.because(case(place=setting(holding={"device": "hand"})))


def test_filing_needs_no_clamp_of_the_mill() -> None:
    assert not RULE.applies(case(op=operation(role="file")))
