from __future__ import annotations

import pytest

from firstoff.checks.held import RULE
from tests.checks.builders import case, operation, setting
from tests.checks.test_contacts_left import along_the_fixed_jaw, drill_after


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


@pytest.mark.parametrize(("holding", "said"), [
    ({"grip": ["-Y", "+Z"]}, "the moving jaw does not touch +Z"),
    ({"device": "clamps", "grip": [], "grip_height": "0 mm", "clamps": [["200 mm", "30 mm"]]}, "it would lift"),
])
def test_what_does_not_touch_clamps_nothing_and_is_not_met(holding: dict[str, object], said: str) -> None:
    this = case(place=setting(holding=holding))
    assert not RULE.met(this) and said in RULE.because(this)
    assert RULE.because(this).endswith("clamp it before the spindle turns")


def test_what_a_program_before_it_has_milled_away_is_not_met() -> None:
    gone, left = (drill_after(along_the_fixed_jaw(-1.0, number)) for number in (11, 7))
    assert RULE.met(left) and not RULE.met(gone)
    assert "the fixed jaw does not touch -Y" in RULE.because(gone)
