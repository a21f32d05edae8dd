"""A change of the route told only as it comes out when every check that it touches ran again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.checks.base import Case
from firstoff.dryrun.cures import Cure
from firstoff.dryrun.findings import Findings
from firstoff.dryrun.rechecked import cures_in_full, in_full, rechecked, size_remedies
from firstoff.dryrun.sizes import size_of
from firstoff.dryrun.walk import walk
from firstoff.job.edits import apply_edits
from tests.dryrun import stacked

CASES = stacked.cases(stacked.job("±0.02 mm"))
HOUR = 60.0


def limit(name: str = "height") -> Case:
    return next(case for case in CASES if case.name == name)


def store(folder: Path | None = None) -> Findings:
    return Findings(stacked.belief(), folder)


def chance(case: Case) -> float:
    return next(kept.finding.p_fail or 0.0 for kept in store().of(case) if kept.finding.check == "size")


def lap() -> Cure:
    size = size_of(limit(), stacked.belief(), remake=HOUR)
    return next(cure for cure in size.cures if "for the lap" in cure.text)


def test_the_chance_after_is_that_of_the_edited_route_on_all_rows() -> None:
    edits = lap().edits
    again = rechecked(limit(), edits, CASES, store())
    then = walk(limit().job, limit().shop, apply_edits(limit().route, edits), limit().parts)
    assert again is not None and again.p_after == pytest.approx(chance(next(c for c in then if c.name == "height")))
    assert again.minutes > 5.0, "to lap takes its time"


def test_only_what_changed_runs_again() -> None:
    """The sides are cut before it and the same as ever."""
    findings = store()
    rechecked(limit(), lap().edits, CASES, findings)
    sides = [case for case in CASES if case.name.startswith("side-")]
    before = findings.computed
    for case in sides:
        findings.of(case)
    assert findings.computed - before >= len(sides), "none of them was looked at"


def test_what_is_no_good_then_is_named() -> None:
    """A last cut far too deep: the size comes out as well as ever, and the tool does not stand it."""
    edits = (("operations.under.cut.depth_of_cut", "15 mm"), ("operations.under.removes", "15 mm"))
    again = rechecked(limit(), edits, CASES, store())
    assert again is not None and again.breaks.startswith("under: ") and again.losses > 0.0


def test_a_change_that_cannot_be_is_not_told() -> None:
    assert rechecked(limit(), (("operations.nothing.number", "3"),), CASES, store()) is None
    assert rechecked(limit(), (("operations.under", ""),), CASES, store()) is None, "then nothing makes the bottom"
    assert rechecked(limit(), (("operations.under.tool", "no such tool"),), CASES, store()) is None


def test_cures_are_told_as_they_come_out_and_not_where_they_cost_more_than_they_save() -> None:
    p, looked = chance(limit()), (Cure("without luck", 0.01), lap())
    full = cures_in_full(looked, limit(), p, HOUR, CASES, store())
    told = {cure.text: cure for cure in full}
    assert told["without luck"] == looked[0] and [c.p_after for c in full] == sorted(c.p_after for c in full)
    cure = told[looked[1].text]
    again = rechecked(limit(), cure.edits, CASES, store())
    assert again is not None and cure.minutes == pytest.approx(again.minutes) and cure.saves is not None
    rate = limit().shop.rates.hour / 60.0
    assert cure.saves == pytest.approx((p - again.p_after) * HOUR - again.minutes - again.losses / rate)
    cheap = cures_in_full(looked, limit(), p, 1.0, CASES, store())
    assert [cure.text for cure in cheap] == ["without luck"], "a part of a minute is made again sooner"


def test_sizes_and_checks_are_told_the_same(tmp_path: Path) -> None:
    size = size_of(limit(), stacked.belief(), remake=HOUR)
    heard: list[str] = []
    full = in_full(replace(size, cures=(lap(),)), CASES, store(tmp_path), lambda what, _share: heard.append(what))
    remedies = size_remedies(limit(), size.p_out or 0.0, CASES, store(tmp_path))
    assert heard == ["checking what would help height"]
    for cure in full.cures:
        assert any((r.text, r.edits, r.p_after) == (cure.text, cure.edits, cure.p_after) for r in remedies)
    assert all(r.edits and r.p_after < (size.p_out or 0.0) for r in remedies)
    untold = replace(size, p_out=None)
    assert in_full(untold, CASES, store(), lambda _what, _share: None) is untold
