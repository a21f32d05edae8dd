"""The dry run as a whole: sums, rules, what is not counted; the same again, and nothing computed twice."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief, Column, Level, LogNormal
from firstoff.checks import held
from firstoff.checks.base import Remedy
from firstoff.dryrun import run as room
from firstoff.dryrun.cost import expected_loss
from firstoff.dryrun.findings import Findings
from firstoff.dryrun.registry import NOT_BUILT, all_checks, all_rules
from firstoff.dryrun.result import Result
from firstoff.dryrun.run import dry_run
from firstoff.dryrun.walk import walk
from firstoff.job.edits import apply_edits
from firstoff.job.route import Route
from firstoff.shop.models import Shop
from tests.checks import builders
from tests.dryrun import small, stacked
from tests.dryrun.small import DRILL, FACE, POCKET, SINK

CALM = tuple((f"operations.{name}.cut.{key}", text) for name in (FACE, POCKET)
             for key, text in (("depth_of_cut", "0.5 mm"), ("width_of_cut", "2 mm")))


@cache
def believed() -> Belief:
    """A stiff mill whose spindle is weak; few rows."""
    return small.belief(machine_mill__power=120.0, machine_mill__stiffness_x=6e7,
                        machine_mill__stiffness_y=6e7).thinned(np.arange(0, 256, 8))


def run(belief: Belief | None = None, shop: Shop | None = None, route: Route | None = None, **more: Any) -> Result:
    return dry_run(small.job(), shop or small.shop(), route or small.route(), small.parts(), belief or believed(),
                   **more)


@cache
def checked() -> Result:
    return run()


def verdicts(result: Result) -> list[tuple[Any, ...]]:
    return [(c.operation, c.finding.check, c.finding.p_fail, c.verdict, c.finding.because) for c in result.checks]


class Counted:
    """Stands in for the store of findings, and keeps the last one to be asked."""

    def __init__(self) -> None:
        self.stores: list[Findings] = []

    def __call__(self, belief: Belief, folder: Path | None = None) -> Findings:
        self.stores.append(Findings(belief, folder))
        return self.stores[-1]


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What a first run leaves behind."""
    folder = tmp_path_factory.mktemp("memory")
    run(cache=folder)
    return folder


@pytest.fixture
def warm(once: Path, tmp_path: Path) -> Path:
    """A copy of it, to be changed."""
    return Path(shutil.copytree(once, tmp_path / "memory"))


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counted:
    stands_in = Counted()
    monkeypatch.setattr(room, "Findings", stands_in)
    return stands_in


def test_the_sum_is_at_least_the_likeliest_and_at_most_all_together() -> None:
    result = checked()
    chances = [c.finding.p_fail or 0.0 for c in result.checks]
    assert max(chances) - 1e-9 <= result.p_spoil <= min(1.0, sum(chances)) + 1e-9
    parts = [c.finding.p_fail or 0.0 for c in result.checks if c.finding.at_risk == "part"]
    assert max(parts) - 1e-9 <= result.p_part_lost <= result.p_spoil


def test_the_sum_is_over_rows_not_over_means() -> None:
    """Π of (1 − p) row by row; only sizes that share their sources are counted once, here there is but one."""
    result = run(route=small.route(CALM), instead=False)
    rows = [f.p_rows for f in (c.finding for c in result.checks) if f.p_rows is not None]
    assert result.p_spoil == pytest.approx(float(np.mean(1.0 - np.prod(1.0 - np.array(rows), axis=0))), abs=1e-9)


def test_every_check_that_applies_is_there_once() -> None:
    result = checked()
    pairs = [(c.operation, c.finding.check) for c in result.checks]
    assert len(set(pairs)) == len(pairs)
    cases = walk(small.job(), small.shop(), small.route(), small.parts())
    assert set(pairs) == {(case.name, check.name) for case in cases for check in all_checks()
                          if check.subject == case.subject and check.applies(case)}


def test_first_to_go_is_the_one_whose_removal_helps_most() -> None:
    result = run(route=small.route(CALM), instead=False)
    assert result.first_to_go is not None
    survives = {(c.operation, c.finding.check): 1.0 - c.finding.p_rows for c in result.checks
                if c.finding.p_rows is not None}
    without = {key: float(np.mean(1.0 - np.prod([s for other, s in survives.items() if other != key], axis=0)))
               for key in survives}
    first = (result.first_to_go.operation, result.first_to_go.finding.check)
    assert without[first] <= min(without.values()) + 5e-5


def test_places_and_numbers_of_what_was_checked() -> None:
    by_name = {c.operation: c for c in checked().checks}
    assert (by_name[FACE].part, by_name[FACE].setting, by_name[FACE].number) == ("block", "block-1", 10)
    assert (by_name["height"].part, by_name["height"].number) == ("block", None)
    titles = {c.name: c.title for c in all_checks()}
    assert all(c.title == titles[c.finding.check] for c in checked().checks)


def test_what_is_not_counted_is_listed() -> None:
    listed = checked().not_counted
    assert listed[0] == "block stock-1: no way found, because nothing in the shop reaches it"
    assert not any(line.startswith("flat: ") for line in listed), "a flatness is computed"
    assert all(f"not built yet: {what}" in listed for what in NOT_BUILT)
    assert not any(line.startswith(FACE) for line in listed)


def test_a_drill_without_a_speed_is_not_counted_and_said_so() -> None:
    route = small.route(CALM)
    op = route.operations[DRILL]
    bare = op.model_copy(update={"cut": op.cut.model_copy(update={"spindle_speed": None})})
    result = run(route=route.model_copy(update={"operations": {**route.operations, DRILL: bare}}), instead=False)
    assert f"{DRILL}: no speed is written for it, so nothing of its cut is known" in result.not_counted


def test_what_cannot_be_computed_is_listed_with_its_reason_and_its_verdict() -> None:
    """Nothing is believed of the forces of this material: no number, no error."""
    columns = [c for c in builders.columns() if c.key != ("material:steel", "drilling_force")]
    result = run(Belief.of(columns, 64), route=small.route(CALM), instead=False)
    drilled = next(c for c in result.checks if (c.operation, c.finding.check) == (DRILL, "drilling"))
    assert drilled.verdict == "can't say" and drilled.finding.p_fail is None
    assert f"{DRILL}: {drilled.title}: {drilled.finding.because}" in result.not_counted


def test_rules_become_do_or_dont_start() -> None:
    result = checked()
    assert {r.rule for r in result.rules} <= {r.name for r in all_rules()}
    assert all(r.verdict == "do" for r in result.rules) and result.rules
    by_hand = (("settings.lid-1.holding.device", "hand"), ("settings.lid-1.holding.tightness", ""))
    loose = run(route=small.route((*by_hand, *CALM)), instead=False)
    said = {(r.operation, r.verdict) for r in loose.rules if r.rule == "work is clamped"}
    assert said == {(FACE, "do"), (POCKET, "do"), (DRILL, "do"), (SINK, "don't start")}
    (broken,) = [r for r in loose.rules if r.operation == SINK and r.rule == "work is clamped"]
    assert broken.setting == "lid-1" and "by hand" in broken.because


def test_a_rule_is_no_chance() -> None:
    """Work held by hand is not weighed against the scrap: the sum does not move by the rule."""
    rated = small.shop(em6=builders.tool(rated_speed="3000 rpm"))
    one, other = run(shop=rated, instead=False), run(instead=False)
    assert any(r.verdict == "don't start" for r in one.rules)
    assert one.p_spoil == other.p_spoil


def test_same_seed_same_verdicts() -> None:
    again = run()
    assert verdicts(again) == verdicts(checked())
    assert again.p_spoil == checked().p_spoil and again.money == checked().money


def test_another_seed_gives_other_rows_but_the_same_story() -> None:
    base = small.belief(machine_mill__stiffness_x=6e7, machine_mill__stiffness_y=6e7)
    one, other = (run(b, route=small.route(CALM), instead=False) for b in (base, replace(base, seed=99)))
    for a, b in zip(one.checks, other.checks, strict=True):
        if a.finding.p_fail is not None and b.finding.p_fail is not None:
            assert a.finding.p_fail == pytest.approx(b.finding.p_fail, abs=0.15)
    assert (one.seed, other.seed) == (20, 99)


def test_a_new_tool_changes_no_verdict() -> None:
    richer = small.shop(em3=builders.tool(name="end mill 3 mm", diameter="3 mm"),
                        drill9=builders.tool(name="drill 9 mm", kind="drill", diameter="9 mm"))
    assert verdicts(run(shop=richer, instead=False)) == verdicts(run(instead=False))


def test_a_new_column_changes_nothing() -> None:
    more = believed().extend([Column("machine:new", "power", "W", Level.MACHINE, LogNormal(500.0, 2.0)),
                              Column("collet:new", "runout", "mm", Level.MACHINE, LogNormal(0.01, 2.0))])
    result = run(more, instead=False)
    assert verdicts(result) == verdicts(run(instead=False))
    assert result.p_spoil == checked().p_spoil
    assert result.figures != checked().figures, "but the figures have another name"


def test_without_instead_nothing_else_is_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: Any) -> Any:
        raise AssertionError("no other way was asked for")

    assert any(c.instead for c in checked().checks)
    monkeypatch.setattr(room, "remedies_for", never)
    fast = run(instead=False)
    assert all(c.instead == () for c in fast.checks) and fast.mended is None
    assert verdicts(fast) == verdicts(checked())


def test_nothing_is_offered_for_what_is_good() -> None:
    for c in checked().checks:
        assert not c.instead or c.verdict != "good"


def test_the_second_run_computes_nothing(warm: Path, counted: Counted, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: Any) -> Any:
        raise AssertionError("it was found before")

    monkeypatch.setattr(room, "remedies_for", never)
    second = run(cache=warm)
    assert counted.stores[0].computed == 0
    assert verdicts(second) == verdicts(checked())
    assert [c.instead for c in second.checks] == [c.instead for c in checked().checks]
    assert second.p_spoil == checked().p_spoil and second.money == checked().money


@pytest.mark.parametrize(("edit", "looks"), [
    ((f"operations.{DRILL}.cut.feed_per_tooth", "0.041 mm"), (DRILL, "height")),
    ((f"operations.{SINK}.removes", "2.2 mm"), (SINK, "screws", "lid-1")),
])
def test_one_changed_number_computes_its_operation_and_what_looks_at_it(
    edit: tuple[str, str], looks: tuple[str, ...], warm: Path, counted: Counted
) -> None:
    """Of a drill's feed: its own checks, and a limit that did not say what it reads. Of how deep the lid is sunk: the
    screws that sit in it, and its setting.
    """
    run(route=small.route((edit,)), cache=warm, instead=False)
    looked = sum(c.finding.name in looks for c in checked().checks)
    assert counted.stores[0].computed == looked and 0 < looked < len(checked().checks)


def test_what_the_rules_found_to_hold_is_kept_for_the_next_run(warm: Path) -> None:
    kept = json.loads((warm / "holds.json").read_text(encoding="utf-8"))
    assert kept["missing"] and set(kept["missing"]) <= set(held.told)


def test_a_damaged_memory_of_remedies_is_only_a_missing_one(warm: Path) -> None:
    texts = (b"", b"7", b"[[1]]", b'{"edited": {}, "remedies": [{"text": "x"}]}', b"\xe9\xff")
    files = sorted((warm / "instead").iterdir())
    assert files
    for index, file in enumerate(files):
        file.write_bytes(texts[index % len(texts)])
    assert [c.instead for c in run(cache=warm).checks] == [c.instead for c in checked().checks]


@pytest.mark.parametrize("text", [b"", b"7", b"[[1]]", b'[{"text": "x"}]', b"\xe9\xff",
                                  b'{"edited": {}, "remedies": [{"edits": 3}]}', b'{"remedies": []}'])
def test_what_is_no_remedy_is_not_read_as_one(text: bytes, tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(text)
    for file in (tmp_path / "a", tmp_path / "gone", None):
        assert room._read_remedies(file, small.route()) is None


def test_a_remedy_is_looked_for_again_when_the_operation_that_it_changes_has_changed(tmp_path: Path) -> None:
    route, file = small.route(), tmp_path / "a"
    found = (Remedy("shallower", ((f"operations.{SINK}.cut.depth_of_cut", "1 mm"),), 0.1, 2.0),)
    file.write_text(json.dumps({"edited": room._edited(found, route), "remedies": [vars(r) for r in found]}))
    assert room._read_remedies(file, route) == found
    same, other = (small.route(((f"operations.{name}.cut.feed_per_tooth", "0.02 mm"),)) for name in (FACE, SINK))
    assert room._read_remedies(file, same) == found and room._read_remedies(file, other) is None


def test_what_a_part_is_worth_is_asked_anew(warm: Path) -> None:
    """Remedies are kept by all that their worth stands on."""
    kept = {file.name for file in (warm / "instead").iterdir()}
    dry_run(small.job(part_value={"block": 1e6}), small.shop(), small.route(), small.parts(), believed(), cache=warm)
    assert {file.name for file in (warm / "instead").iterdir()} > kept


def test_times_and_money_add_up() -> None:
    result = checked()
    assert list(result.operations) == [FACE, POCKET, DRILL, SINK]
    minutes = sum(t.running + t.handling for t in result.operations.values())
    assert result.seconds == pytest.approx(60.0 * minutes)
    by_name = {case.name: case for case in result.cases}
    losses = expected_loss([(c.finding, by_name[c.operation]) for c in result.checks])
    assert result.money == pytest.approx(minutes / 60.0 * small.shop().rates.hour + losses)
    assert result.operations[FACE].handling == pytest.approx(14.0)


def test_the_chance_of_an_operation_is_that_of_its_checks() -> None:
    result = checked()
    for name, time in result.operations.items():
        rows = [c.finding.p_rows for c in result.checks if c.operation == name and c.finding.p_rows is not None]
        whole = float(np.mean(1.0 - np.prod(1.0 - np.array(rows), axis=0))) if rows else 0.0
        assert time.p_spoil == pytest.approx(whole, abs=1e-9)


def test_mended_is_the_route_with_the_first_change_of_each() -> None:
    result = checked()
    assert result.mended is not None
    edits = {path: value for c in result.checks if c.instead for path, value in c.instead[0].edits}
    again = run(route=apply_edits(small.route(), edits.items()), instead=False)
    assert result.mended.p_spoil == again.p_spoil and result.mended.p_part_lost == again.p_part_lost
    assert result.mended.p_spoil <= result.p_spoil


def test_a_size_that_is_no_good_is_told_a_change_that_can_be_ticked() -> None:
    """And what it comes to is what the edited route comes to, checked anew."""
    def run_on(route: Route) -> Result:
        return dry_run(stacked.job("±0.02 mm"), stacked.SHOP, route, {"block": builders.block()}, stacked.belief(),
                       instead=route is stacked_route)

    stacked_route = stacked.route()
    before = run_on(stacked_route)
    height = next(c for c in before.checks if c.operation == "height" and c.finding.check == "size")
    assert height.verdict != "good" and height.instead and before.mended is not None
    first = height.instead[0]
    after = next(c for c in run_on(apply_edits(stacked_route, first.edits)).checks
                 if c.operation == "height" and c.finding.check == "size")
    assert after.finding.p_fail == pytest.approx(first.p_after) and first.p_after < (height.finding.p_fail or 0.0)


def test_progress_is_told_of_every_case_and_never_goes_back_within_a_step() -> None:
    told: list[tuple[str, float]] = []
    run(instead=False, progress=lambda what, share: told.append((what, share)))
    assert [what for what, _ in told][:2] == [f"checking {FACE}", f"checking {POCKET}"]
    shares = [share for _, share in told]
    assert shares == sorted(shares) and shares[0] == 0.0 and shares[-1] < 1.0


def test_whose_figures_they_are_is_said() -> None:
    result = run(instead=False, figures_note="own figures of today")
    assert (result.figures_note, result.rows, result.seed) == ("own figures of today", 32, 20)
    assert result.figures == believed().digest
