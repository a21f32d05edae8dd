from __future__ import annotations

from typing import Any

import pytest

from firstoff.checks._surfaces import TAPPED
from firstoff.checks.base import Case
from firstoff.checks.chips import CHECK, LEFT, allowed
from tests.checks.builders import case, chance, found, job, operation, setting


def laid(tapped: bool, tolerance: str = "", **holding: Any) -> Case:
    wide = {"height": {"kind": "distance", "part": "block", "between": ["-Z", "+Z"], "tolerance": tolerance}}
    return case("setting", "first", ops={"op": operation()}, place=setting(holding={"tapped": tapped, **holding}),
                of_job=job(limits=wide if tolerance else {}))


def test_not_tapped_under_a_tight_size_bad_on_purpose() -> None:
    finding = found(CHECK, laid(False, "±0.005 mm"))
    assert finding.p_fail is not None and finding.p_fail == pytest.approx(LEFT, rel=0.01)
    assert finding.p_fail > 0.01 and "not tapped down" in finding.because


def test_tapped_down_just_good() -> None:
    finding = found(CHECK, laid(True, "±0.005 mm"))
    assert finding.p_fail is not None and finding.p_fail == pytest.approx(LEFT * TAPPED, rel=0.01)
    assert finding.p_fail <= 0.01 and "finger" in finding.settle_by


def test_a_wide_size_minds_no_chip() -> None:
    assert chance(CHECK, laid(False, "±0.5 mm")) == pytest.approx(chance(CHECK, laid(False)), rel=1e-9)
    assert chance(CHECK, laid(False)) < chance(CHECK, laid(False, "±0.01 mm"))


def test_what_may_be_out() -> None:
    assert allowed(laid(True, "±0.02 mm")) == pytest.approx(0.02)


def test_only_where_something_is_cut_on_a_mill() -> None:
    assert CHECK.applies(laid(True))
    assert not CHECK.applies(case("setting", "first", ops={"op": operation()}, place=setting(machine="press")))
    assert not CHECK.applies(case("setting", "first", ops={"op": operation(tool=None)}))
