from __future__ import annotations

from firstoff.checks.grabbing import RULE
from tests.checks.test_breakthrough import drilled


def test_brass_by_hand_not_met() -> None:
    this = drilled(grabs=True, held="hand")
    assert RULE.applies(this) and not RULE.met(this)
    assert "never by hand" in RULE.because(this)


def test_sheet_by_hand_not_met() -> None:
    this = drilled("drill10", 1.0, held="hand")
    assert RULE.applies(this) and not RULE.met(this)
    assert "sheet" in RULE.because(this)


def test_brass_in_a_vise_met() -> None:
    this = drilled(grabs=True)
    assert RULE.applies(this) and RULE.met(this)
    assert RULE.because(this).endswith("it is clamped")


def test_thick_steel_is_no_matter_of_this_rule() -> None:
    assert not RULE.applies(drilled())
