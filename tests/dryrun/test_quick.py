"""Candidates are looked at on few rows, and each once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.belief import Belief
from firstoff.checks.base import Case, Check, Finding
from firstoff.dryrun import quick as room
from firstoff.dryrun.choosing import with_operation
from firstoff.dryrun.findings import found_by
from firstoff.dryrun.looking import checks_of
from firstoff.dryrun.quick import Quick, found_now
from firstoff.job.edits import apply_edits
from tests.dryrun import small


def test_a_candidate_is_looked_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[Case] = []

    def find(check: Check, case: Case, belief: Belief) -> Finding:
        if case not in looked:
            looked.append(case)
        ran.append(check.name)
        return found_by(check, case, belief)

    ran: list[str] = []
    monkeypatch.setattr(room, "found_by", find)
    quick, case = Quick(small.belief()), small.cases(small.route())[small.FACE]
    cut = case.op.cut.model_copy(update={"depth_of_cut": 0.3})
    shallow = with_operation(case, case.op.model_copy(update={"cut": cut}))
    fingers = apply_edits(case.route, [("settings.block-1.holding.tightness", "fingers")])
    others = replace(case, operation=shallow.operation), replace(case, route=fingers)
    for this in (case, shallow, case, shallow, *others, *others):
        quick.of(this)
    assert looked == [case, shallow, *others], "other windows, or another holding, make another candidate"
    assert len(ran) == sum(len(checks_of(this)) for this in looked), "and no check of it runs twice"


def test_what_is_found_now_is_what_each_check_finds() -> None:
    case, belief = small.cases(small.route())[small.FACE], small.belief()
    found = {finding.check: finding.p_fail for finding in found_now(case, belief)}
    assert found == {check.name: found_by(check, case, belief).p_fail for check in checks_of(case)}
