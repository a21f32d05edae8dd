"""The dry run of a whole job: every check, every rule, the sums, and what to do instead."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from pydantic_core import from_json

from ..belief import Belief
from ..checks._forces import is_milling
from ..checks._pushed import pushed
from ..checks.base import Case, Check, Finding, Remedy
from ..checks.push_off import FEW
from ..checks.si import millimetres, seconds
from ..job.edits import apply_edits
from ..job.models import Job
from ..job.route import BY_HAND, Operation, Route
from ..part.shapes import Part
from ..shop.models import Shop
from .choosing import thinned
from .cost import expected_loss, tool_money, wages
from .findings import Findings, Kept, write_atomically
from .keys import said, touches
from .programs import getting_ready
from .quick import Quick
from .rechecked import size_remedies
from .registry import NOT_BUILT, all_checks, all_rules
from .remedies import Others, remedies_for
from .result import Checked, Mended, OperationTime, Result, RuleFound, RuleVerdict, Verdict
from .stretches import hardest_line, too_hard
from .tables import keep_tables, take_tables
from .times import handling_minutes
from .together import kept_once
from .totals import by_operation, chance_part_lost, chance_spoiled, first_to_go, verdict
from .walk import walk

PROGRAMS: Final = "programs"                #: folder of the cache for programs that were run
TOGETHER: Final = "together"                #: folder of the cache for the sizes of a part together
Progress = Callable[[str, float], None]     #: told what is under way and the share done
_Made = tuple[Job, Shop, Route, dict[str, Part], Path | None]     #: what is checked, and the folder of the cache


def _quiet(_what: str, _share: float) -> None:
    """Nobody is listening."""


@dataclass(frozen=True)
class _Entry:
    case: Case
    check: Check
    kept: Kept


def dry_run(
    job: Job, shop: Shop, route: Route, parts: dict[str, Part], belief: Belief, *,
    cache: Path | None = None, instead: bool = True, progress: Progress = _quiet, figures_note: str = "",
) -> Result:
    """Check a route.

    Args:
        job: what is wanted.
        shop: what stands in the shop.
        route: what is planned.
        parts: digest of each part.
        belief: book figures and own figures.
        cache: folder for what was found before.
        instead: whether to look for what to do instead.
        progress: told what is under way.
        figures_note: says whose figures these are.

    Returns:
        Every check with its verdict, the rules, and the sums.
    """
    take_tables(cache)
    if under_way := getting_ready(route):
        progress(under_way, 0.0)
    with closing(Findings(belief, cache)) as store:
        return _dry_run((job, shop, route, parts, cache), store, instead, progress, figures_note)


def _dry_run(made: _Made, store: Findings, instead: bool, progress: Progress, figures_note: str) -> Result:
    job, shop, route, parts, cache = made
    belief = store.belief
    cases = walk(job, shop, route, parts, cache / PROGRAMS if cache else None)
    entries = _all_findings(cases, store, progress)
    findings = [e.kept.finding for e in entries]
    checked = _with_remedies(entries, cases, store, cache, instead, progress)
    first = first_to_go(findings, belief.rows)
    if instead:                            # a draft leaves the tidying to the check of what is inked
        store.prune()
    operations = _times(cases, by_operation(findings, belief.rows))
    minutes = sum(t.running + t.handling for t in operations.values())
    worn = sum(tool_money(case, belief) for case in cases)
    money = wages(minutes, shop) + worn + expected_loss([(e.kept.finding, e.case) for e in entries])
    mended = _mended(checked, made, store)
    rules = _rules(cases)
    keep_tables(cache)      # when all that asks what holds bear and lack has asked
    return Result(
        job=job, shop=shop, route=route, parts=parts, cases=cases, checks=checked, rules=rules,
        operations=operations, not_counted=_not_counted(route, cases, entries),
        p_spoil=_spoiled([(e.kept.finding, e.case) for e in entries], store, cache),
        p_part_lost=chance_part_lost(findings, belief.rows),
        first_to_go=None if first is None else checked[first],
        mended=mended,
        seconds=seconds(minutes), money=money, rows=belief.rows, seed=belief.seed,
        figures=belief.digest, figures_note=figures_note, pushed=_pushed(cases, belief),
    )


def _spoiled(found: Sequence[tuple[Finding, Case]], store: Findings, cache: Path | None) -> float:
    """The chance that anything is spoiled; the sizes of a part together, errors that they share counted once."""
    together = kept_once(found, store, cache / TOGETHER if cache else None)
    return chance_spoiled([finding for finding, _ in found], store.belief.rows, together)


def _pushed(cases: Sequence[Case], belief: Belief) -> dict[str, NDArray[np.float64]]:
    """How far each window of a program is pushed off a wall that it finishes [mm]."""
    few = belief.some(FEW)
    return {case.name: np.asarray(millimetres(pushed(case, few))) for case in cases
            if case.run is not None and case.windows is not None and case.op.leaves == 0.0 and is_milling(case)}


def _all_findings(cases: Sequence[Case], store: Findings, progress: Progress) -> list[_Entry]:
    checks = {c.name: c for c in all_checks()}
    entries = []
    store.expect(cases)
    for index, case in enumerate(cases):
        progress(f"checking {case.name}", index / len(cases))
        entries += [_Entry(case, checks[kept.finding.check], kept) for kept in store.of(case)]
    return entries


def _with_remedies(
    entries: list[_Entry], cases: tuple[Case, ...], store: Findings, cache: Path | None, instead: bool,
    progress: Progress,
) -> tuple[Checked, ...]:
    search = _Search(entries, store, thinned(store.belief), cache, cases)
    out = []
    for index, entry in enumerate(entries):
        said = verdict(entry.kept, entry.case.shop)
        remedies: tuple[Remedy, ...] = ()
        if instead and _wants_another_way(said, entry):
            progress(f"looking for another way: {entry.case.name}", index / len(entries))
            remedies = search.remedies(entry)
        out.append(_checked(entry, said, remedies))
    return tuple(out)


def _wants_another_way(said: Verdict, entry: _Entry) -> bool:
    """Not for what is good, nor for a finish or size that is close: another way costs the person more."""
    finding = entry.kept.finding
    by_route = finding.subject == "limit" and finding.check == "size"
    if not (entry.check.knobs or by_route) or finding.p_rows is None or said == "good":
        return False
    return said != "close" or finding.at_risk in ("part", "tool")


@dataclass(frozen=True)
class _Search:
    """Looks for remedies, and remembers them by the key of the case and the figures it stands on."""

    entries: list[_Entry]
    store: Findings
    thin: Quick
    cache: Path | None
    cases: tuple[Case, ...]

    def remedies(self, entry: _Entry) -> tuple[Remedy, ...]:
        """What was found before, or is found now."""
        file = self.cache / "instead" / self._key(entry) if self.cache else None
        known = _read_remedies(file, entry.case.route)
        if known is not None:
            return known
        if entry.case.limit is not None:
            found = size_remedies(entry.case, entry.kept.finding.p_fail or 0.0, self.cases, self.store)
        else:
            own = [e.kept.finding for e in self.entries if e.case is entry.case]
            found = remedies_for(entry.check, entry.case, own, self.store, self.thin,
                                 (*self._beside(entry.case), *self._limits_of(entry.case)))
        if file is not None:
            file.parent.mkdir(parents=True, exist_ok=True)
            table = {"edited": _edited(found, entry.case.route), "remedies": [vars(r) for r in found]}
            write_atomically(file, json.dumps(table).encode())
        return found

    def _limits_of(self, case: Case) -> Others:
        """The limits that the operation may move: those that its part counts in."""
        if case.operation is None or case.op.leaves > 0.0:
            return ()
        found: dict[str, tuple[Case, frozenset[str]]] = {}
        for e in self.entries:
            if e.case.limit is not None and touches(e.case, case.part_name or ""):
                _, known = found.get(e.case.name, (e.case, frozenset[str]()))
                found[e.case.name] = e.case, known | {name for name, _ in e.kept.finding.reads}
        return tuple(found.values())

    def _beside(self, case: Case) -> Others:
        """What else is done in its setting, and the setting itself: how it is held is changed for them all."""
        return tuple((other, frozenset()) for other in self.cases
                     if case.setting_name is not None and other is not case
                     and other.setting_name == case.setting_name and other.subject in ("operation", "setting"))

    @cached_property
    def belief_digest(self) -> str:
        """Of all that is believed."""
        return self.store.belief.digest

    def _key(self, entry: _Entry) -> str:
        hasher = hashlib.blake2b(digest_size=16)
        shop = entry.case.shop
        if entry.case.limit is not None:
            # what else would be found then counts too; but not the numbers of cuts that neither make its faces
            # nor are changed themselves: what they do, they do with the change as without
            hasher.update(f"{self.belief_digest}|{entry.kept.finding.reads!r}".encode())
        hasher.update(f"{self.store.key_of(entry.case)}|{entry.check.name}".encode())
        hasher.update(f"{shop.good}|{shop.close}|{shop.rates!r}|{entry.case.job.part_value!r}".encode())
        hasher.update(said(shop.tools).encode())
        if any(knob.path.startswith("holding.") for knob in entry.check.knobs):
            beside = [self.store.key_of(other) for other, _ in self._beside(entry.case)]
            hasher.update(f"{beside!r}{said(shop.devices)}".encode())
        for e in self.entries:
            if e.case is entry.case:
                hasher.update(f"{e.check.name}|{e.kept.digest}|{e.kept.finding.p_fail}".encode())
        return hasher.hexdigest()


def _checked(entry: _Entry, said: Verdict, remedies: tuple[Remedy, ...]) -> Checked:
    case = entry.case
    number = case.operation.number if case.operation else None
    return Checked(
        _with_line(entry, said), entry.check.title, case.part_name or "", case.setting_name or "", case.name, number,
        said, remedies, entry.kept.asked,
    )


def _with_line(entry: _Entry, said: Verdict) -> Finding:
    """The finding; where a program cuts too hard, with the line of it that does."""
    finding, case = entry.kept.finding, entry.case
    line = hardest_line(case) if said != "good" and case.run is not None and too_hard(entry.check) else 0
    if not line or case.run is None:
        return finding
    return replace(finding, because=f"{finding.because}; hardest in line {line} of {case.run.file}")


def _edited(remedies: Sequence[Remedy], route: Route) -> dict[str, str]:
    """What stands in the route of each operation that one of these changes touches."""
    names = {path.split(".")[1] for remedy in remedies for path, _ in remedy.edits if path.startswith("operations.")}
    return {name: said(route.operations[name]) for name in sorted(names) if name in route.operations}


def _read_remedies(file: Path | None, route: Route) -> tuple[Remedy, ...] | None:
    """What was found before, where no operation that it would change has changed since."""
    if file is None or not file.is_file():
        return None
    try:
        table = from_json(file.read_bytes())
        found = tuple(Remedy(**{**row, "edits": tuple((a, b) for a, b in row["edits"])}) for row in table["remedies"])
        return found if table["edited"] == _edited(found, route) else None
    except (ValueError, TypeError, KeyError):
        return None


def _rules(cases: Sequence[Case]) -> tuple[RuleFound, ...]:
    """Every rule about persons, once for each operation or setting that it applies to."""
    out = []
    for case in cases:
        for rule in all_rules():
            if rule.applies(case):
                word: RuleVerdict = "do" if rule.met(case) else "don't start"
                setting = case.setting_name or ""
                out.append(RuleFound(rule.name, case.name, setting, word, rule.because(case)))
    return tuple(out)


def _times(cases: Sequence[Case], chances: Mapping[str, float]) -> dict[str, OperationTime]:
    out: dict[str, OperationTime] = {}
    before: Operation | None = None
    for case in cases:
        if case.operation is None:
            continue
        running = case.windows.minutes if case.windows else 0.0
        spoil = chances.get(case.name, 0.0)
        out[case.name] = OperationTime(case.name, running, handling_minutes(case, before), spoil)
        before = case.operation
    return out


def _mended(checked: Sequence[Checked], made: _Made, store: Findings) -> Mended | None:
    """The job with the first change of every failing check, checked in full."""
    edits = _first_edits(checked)
    if not edits:
        return None
    job, shop, route, parts, cache = made
    cases = walk(job, shop, apply_edits(route, edits.items()), parts, cache / PROGRAMS if cache else None)
    store.expect(cases)
    found = [(kept.finding, case) for case in cases for kept in store.of(case, told=False)]
    findings = [finding for finding, _ in found]
    rows = store.belief.rows
    first = first_to_go(findings, rows)
    lost = chance_part_lost(findings, rows)
    doubts = [f for f in findings if f.at_risk == "part" and f.settle_by and (f.p_fail or 0.0) > shop.good]
    doubts.sort(key=lambda f: -(f.p_fail or 0.0))
    return Mended(
        changes=len({c.operation for c in checked if c.instead}), p_spoil=_spoiled(found, store, cache),
        p_part_lost=lost, first_to_go=None if first is None else findings[first],
        settle_by=f"{doubts[0].name}: {doubts[0].settle_by}" if doubts and lost > job.budget else "",
    )


def _first_edits(checked: Sequence[Checked]) -> dict[str, str]:
    """The first change of each; a way to make a size only where it contradicts none of them.

    What puts in or takes out a whole operation comes last.
    """
    changes = [(c.finding.subject == "limit", c.instead[0].edits) for c in checked if c.instead]
    edits = {path: value for of_size, first in changes if not of_size for path, value in first}
    for first in (first for of_size, first in changes if of_size):
        if all(edits.get(path, value) == value for path, value in first):
            edits.update(first)
    return dict(sorted(edits.items(), key=lambda edit: edit[0].count(".") < 2))


def _not_counted(route: Route, cases: Sequence[Case], entries: Sequence[_Entry]) -> tuple[str, ...]:
    """What the sums leave out, so that they are 'at least'."""
    no_speed = [
        f"{case.name}: no speed is written for it, so nothing of its cut is known"
        f"{'' if case.machine.spindle else f': write the spindle of {case.setting.machine} into the shop'}"
        for case in cases if _lacks_speed(case)]
    no_way = [f"{n.part} {n.feature}: no way found, because {n.because}" for n in route.no_way]
    unknown = dict.fromkeys(
        f"{e.case.name}: {e.check.title}: {e.kept.finding.because}" for e in entries if e.kept.finding.p_rows is None
    )
    return (*no_way, *no_speed, *unknown, *(f"not built yet: {what}" for what in NOT_BUILT))


def _lacks_speed(case: Case) -> bool:
    """Whether a machine should turn its tool and nobody wrote how fast."""
    return (case.operation is not None and bool(case.op.tool) and not case.op.cut.spindle_speed and case.run is None
            and case.machine_kind != "hand" and case.op.role not in BY_HAND)
