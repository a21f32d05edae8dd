"""The next best test: which of the nine, or which trial in scrap, would lower the expected cost of a job most.

Value of information before the data: in each row of the belief the test would read something; the cost of each
operation is fitted to what is read, the best way to go on is chosen by the fit, and paid for as the row really
is. Half of the rows fit and the other half pay, so that a test which tells nothing is worth nothing.
"""

from __future__ import annotations

import hashlib
import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Belief, Rows
from ..checks._tip import tip
from ..checks.base import LAPSE, Case
from ..checks.si import metres, value
from ..dryrun.cost import loss, wages
from ..dryrun.result import Checked, Result
from ..errors import RecordError
from ..normal import normal_cdf, normal_quantile
from ..route.asked_cut import MILLS
from ..shop.models import Shop
from ..units import tell
from . import noise
from .mill_tests import TESTS, MillTest
from .ringing import PHONE_HEARS, SINGS_BELOW
from .scrap_cut import TestCut, program
from .trial import Tried, depth_to_try, tried_depths

Matrix = NDArray[np.float64]

#: A careful person may go gently instead: the operation takes its time once more and so many minutes, and this
#: share of the chance is left; judged.
GENTLY: Final = 0.3
GENTLY_MINUTES: Final = 3.0
#: minutes that a check which can't say costs: trying, listening, stopping to look; judged
DOUBT: Final = 5.0
#: minutes of a trial in scrap: set up, cut, look; judged
TRIAL: Final = 10.0
#: share of rows on either side that makes a check unsayable, as the verdicts have it
SPLIT: Final = 0.2
PULL: Final = 100.0             #: [N]
_EDGE: Final = 1e-9             #: chances are kept this far from 0 and 1
_RIDGE: Final = 1e-3
#: checks that a test cut is made for, and kinds of trials at another depth; checks that a watt meter speaks to
SINGS: Final = "chatter"
#: cutters whose flank is upright: another would pass beside the edge of the scrap, or cut less wide than is said
STRAIGHT: Final = MILLS - {"ball", "chamfer"}
_DEPTH: Final = "depth"
WATTS: Final = ("power",)
#: operations that are looked at for another depth of cut
LONGEST: Final = 6
#: with every trial that is told
CAUTION: Final = ("A trial is a cut like any other: scrap clamped against a stop, guard closed, eyes protected, no "
                  "gloves, a hand on feed hold; the machine's manual comes first.")
#: candidates that a person is told
MOST: Final = 5


@dataclass(frozen=True)
class Candidate:
    """Something that can be tested before the job.

    Fields:
        name: in a few words.
        how: what to do.
        minutes: that it takes.
        reads: what it would read by row, noise included; one column a reading.
        case: the operation of a trial in scrap; None for one of the nine.
        kind: of its kind only the best is told: when it is done, the others are worth less.
        cut: that a program can make for it; None where it is no test cut.
    """

    name: str
    how: str
    minutes: float
    reads: Matrix
    case: Case | None = None
    kind: str = ""
    cut: TestCut | None = None


@dataclass(frozen=True)
class Worth:
    """What a test is worth before a job.

    Fields:
        candidate: what is done.
        saves: minutes that it saves in the mean.
        settles: how many checks that can't say now would say in the mean.
    """

    candidate: Candidate
    saves: float
    settles: float

    @property
    def gain(self) -> float:
        """Minutes saved less minutes taken."""
        return self.saves - self.candidate.minutes


@dataclass(frozen=True)
class _Work:
    """One operation, limit or joint: what may go wrong with it costs so much by row, and ways round it.

    Fields:
        costs: by row [min], shape (N,).
        ways: other ways: what they cost by row [min], shape (N,), and minutes that they take more.
    """

    costs: Rows
    ways: tuple[tuple[Rows, float], ...]


def next_tests(result: Result, belief: Belief) -> list[Worth]:
    """Every candidate for this job, the one that gains most first.

    Args:
        result: of a check of the job.
        belief: that it was checked with.
    """
    tried = _tried(result, belief)
    works, doubts = _works(result, tried), _doubts(result)
    every = (*candidates(result, belief), *_depth_trials(tried))
    found = [_worth(replace(candidate, cut=scrap_cut(result, candidate)), works, doubts, result.shop)
             for candidate in every]
    return sorted(found, key=lambda worth: (-worth.gain, worth.candidate.name))


def _works(result: Result, tried: dict[str, Tried]) -> list[_Work]:
    """What each operation costs by row, in minutes of the person."""
    cases = {(case.subject, case.name): case for case in result.cases}
    minute = wages(1.0, result.shop)
    by_name: dict[str, list[Checked]] = defaultdict(list)
    for checked in result.checks:
        if checked.finding.p_rows is not None:
            by_name[checked.operation].append(checked)
    out = []
    for name, several in by_name.items():
        costs = np.zeros(result.rows)
        for checked in several:
            finding = checked.finding
            assert finding.p_rows is not None
            costs += finding.p_rows * loss(finding, cases[finding.subject, finding.name])
        costs = costs / minute if minute > 0.0 else costs
        ways = [(share * costs, more) for share, more in _ways(name, several, result)]
        out.append(_Work(costs, (*ways, *_depth_ways(costs, tried.get(name)))))
    return out


def _ways(name: str, several: Sequence[Checked], result: Result) -> Iterator[tuple[float, float]]:
    """Ways to go on, as the share of the cost that is left and minutes more: the changes that a check found, and to
    go gently where the operation is a cut.
    """
    whole = 1.0 - math.prod(1.0 - (c.finding.p_fail or 0.0) for c in several)
    for remedy in (remedy for c in several for remedy in c.instead):
        yield min(1.0, remedy.p_after / max(whole, _EDGE)), max(0.0, remedy.minutes)
    time = result.operations.get(name)
    if time is not None and time.running > 0.0:
        yield GENTLY, time.running + GENTLY_MINUTES


def _depth_ways(costs: Rows, tried: Tried | None) -> Iterator[tuple[Rows, float]]:
    """Ways to go on with another depth of cut; what else may go wrong stays as it is."""
    if tried is None:
        return
    depths, now = tried.depths, tried.now
    rest = np.maximum(costs - depths.costs[now], 0.0)
    for index in range(len(tried.cases)):
        if index != now:
            yield rest + depths.costs[index], float(depths.minutes[index] - depths.minutes[now])


def _tried(result: Result, belief: Belief) -> dict[str, Tried]:
    """The operations that run longest at other depths of cut: there a deeper one saves most."""
    mills = [case for case in result.cases if case.subject == "operation" and case.name in result.operations
             and case.op.tool is not None and case.tool.kind in MILLS]
    mills.sort(key=lambda case: -result.operations[case.name].running)
    mute = belief.wordless()
    found = ((case.name, tried_depths(case, mute)) for case in mills[:LONGEST])
    return {name: tried for name, tried in found if tried is not None}


def _depth_trials(tried: dict[str, Tried]) -> Iterator[Candidate]:
    """One cut in scrap at the depth where a word about it tells most."""
    job = [item.depths for item in tried.values()]
    for name, item in tried.items():
        at = depth_to_try(item.depths, job)
        if at is None:
            continue
        case, fails = item.cases[at], item.depths.fails[at]
        said = normal_cdf(_noise(f"depth|{name}", len(fails))) < LAPSE + (1.0 - 2.0 * LAPSE) * fails
        deep, now = (tell(each.op.cut.depth_of_cut or 0.0, "length", case.job.units)
                     for each in (case, item.cases[item.now]))
        gains = item.depths.minutes[item.now] - item.depths.minutes[at]
        why = f": where that goes well it runs {gains:.0f} min less" if gains > 0.5 else ""
        yield Candidate(f"a cut in scrap as {case.op.number} {name}, {deep} deep",
                        f"the route has {now}{why}; {_told(case, deep)}", TRIAL,
                        said.astype(np.float64)[:, None], case, f"{_DEPTH}|{case.op.tool}|{case.material_name}")


def _told(case: Case, deep: str) -> str:
    """How a trial in scrap is recorded: a line to type."""
    return (f"say how it went, ok or sang, squealed, slowed, broke: firstoff log JOB {case.op.number} ok "
            f"--depth \"{deep}\" --scrap")


def _doubts(result: Result) -> list[Rows]:
    """Chances by row of what can't be said now."""
    return [c.finding.p_rows for c in result.checks if c.verdict == "can't say" and c.finding.p_rows is not None]


def _worth(candidate: Candidate, works: Sequence[_Work], doubts: Sequence[Rows], shop: Shop) -> Worth:
    fit = _Fit(candidate.reads)
    rows, columns = candidate.reads.shape
    nothing = _Fit(np.column_stack([_noise(f"nothing|{i}", rows) for i in range(columns)]))
    saved = sum(_saved(work, fit) for work in works)
    settled = sum(max(0.0, _settled(each, fit, shop) - _settled(each, nothing, shop)) for each in doubts)
    return Worth(candidate, saved + DOUBT * settled, settled)


class _Fit:
    """Fits a cost to what is read: a second-degree surface, by one half of the rows for the other."""

    def __init__(self, reads: Matrix) -> None:
        white = (reads - reads.mean(axis=0)) / np.maximum(reads.std(axis=0), 1e-300)
        white = np.clip(white, -4.0, 4.0)
        pairs = [white[:, i] * white[:, j] for i in range(white.shape[1]) for j in range(i + 1)]
        self.features = np.column_stack([np.ones(len(white)), white, *pairs])
        half = np.arange(len(white)) % 2 == 0
        self.halves = tuple((use, ~use, self._weights(use)) for use in (half, ~half))

    def _weights(self, use: NDArray[np.bool_]) -> Matrix:
        """What turns costs of these rows into the terms of the surface."""
        x = self.features[use]
        grown = x.T @ x + _RIDGE * len(x) * np.diag([0.0] + [1.0] * (x.shape[1] - 1))
        return np.asarray(np.linalg.solve(grown, x.T))

    def __call__(self, rows: Rows | Matrix) -> Rows | Matrix:
        """What is expected by row after reading, shape (N,), or (N, K) of several at once."""
        out = np.empty_like(rows)
        for use, rest, weights in self.halves:
            out[rest] = self.features[rest] @ (weights @ rows[use])
        return out


def _saved(work: _Work, fit: _Fit) -> float:
    """Minutes saved by choosing after reading instead of before, each row paying its own cost."""
    if not work.ways:
        return 0.0
    costs = np.column_stack([work.costs, *(rows for rows, _ in work.ways)])
    more = np.array([0.0, *(minutes for _, minutes in work.ways)])
    now = float(np.min(costs.mean(axis=0) + more))
    believed = np.clip(fit(costs), costs.min(axis=0), costs.max(axis=0)) + more
    chosen = np.argmin(believed, axis=1)
    paid = costs[np.arange(len(costs)), chosen] + more[chosen]
    return max(0.0, now - float(paid.mean()))


def _settled(chances: Rows, fit: _Fit, shop: Shop) -> float:
    """Share of the rows in which this check could be said after reading."""
    good = fit((chances <= shop.good).astype(np.float64))
    bad = fit((chances > shop.close).astype(np.float64))
    return float(np.mean((good < SPLIT) | (bad < SPLIT)))


def candidates(result: Result, belief: Belief) -> Iterator[Candidate]:
    """All that can be tested before this job."""
    mills = dict.fromkeys(case.machine_name for case in result.cases
                          if case.operation is not None and case.machine_kind == "mill")
    for name in mills:
        for test in TESTS:
            yield from _of_the_nine(test, name, result, belief)
    yield from _trials(result, belief)


def _of_the_nine(test: MillTest, machine: str, result: Result, belief: Belief) -> Iterator[Candidate]:
    reads = _READS.get(test.name)
    if reads is None:
        return
    for told, columns in reads(f"machine:{machine}", result, belief):
        if columns:
            noisy = np.column_stack([rows + sd * _noise(f"{test.name}|{told}|{i}", len(rows))
                                     for i, (rows, sd) in enumerate(columns)])
            name = f"test {test.number} of the card: {test.title}{f', {told}' if told else ''}"
            yield Candidate(name, f"it tells {test.narrows}: firstoff mill-test", test.minutes, noisy, kind=test.name)


Columns = list[tuple[Rows, Rows | float]]


def _pull(entity: str, result: Result, belief: Belief) -> Iterator[tuple[str, Columns]]:
    u = _indicator(result.shop)
    for axis in "xyz":
        stiff = value(belief, entity, f"stiffness_{axis}")
        sd = np.hypot(u * stiff / PULL, math.hypot(noise.FORCE_READ, noise.NOT_A_SPRING))
        play: Columns = [(value(belief, entity, "lost_motion"), u * math.sqrt(2.0))] if axis != "z" else []
        yield f"along {axis.upper()}", [(np.log(stiff), sd), *play]


def _runout(_entity: str, result: Result, belief: Belief) -> Iterator[tuple[str, Columns]]:
    used = dict.fromkeys(case.op.collet for case in result.cases if case.operation is not None and case.op.collet)
    for name in used:
        if name in result.shop.collets and belief.has(f"collet:{name}", "runout"):
            rows = value(belief, f"collet:{name}", "runout")
            sd = np.hypot(_indicator(result.shop) / math.sqrt(2.0), noise.RUNOUT_VARIES * rows)
            yield result.shop.collets[name].name, [(rows, sd)]


def _one(parameter: str, sd: float, *, ratio: bool) -> Callable[[str, Result, Belief], Iterator[tuple[str, Columns]]]:
    """A test that reads one figure: its logarithm where it is a positive one."""
    def reads(entity: str, _result: Result, belief: Belief) -> Iterator[tuple[str, Columns]]:
        if belief.has(entity, parameter):
            rows = value(belief, entity, parameter)
            yield "", [(np.log(rows) if ratio else rows, sd)]
    return reads


def _tap(entity: str, result: Result, belief: Belief) -> Iterator[tuple[str, Columns]]:
    """The loudest ring of each cutter that mills."""
    seen: set[str] = set()
    for case in result.cases:
        if case.operation is None or case.windows is None or f"machine:{case.machine_name}" != entity:
            continue
        key = case.op.tool or ""
        if key in seen or not any(c.finding.check == "chatter" and c.operation == case.name for c in result.checks):
            continue
        seen.add(key)
        modes = tip(case, belief, (1.0, 0.0, 0.0)).along
        natural = np.stack([np.broadcast_to(mode.natural, belief.rows) for mode in modes])
        damping = np.stack([np.broadcast_to(mode.damping, belief.rows) for mode in modes])
        able = (natural > PHONE_HEARS) & (natural < SINGS_BELOW)
        height = np.stack([np.asarray(mode.natural) ** 2 / (mode.stiffness * mode.damping) for mode in modes])
        loud = np.argmax(np.where(able, height, 1e-6 * height), axis=0)
        at = np.arange(belief.rows)
        yield case.tool.name, [(np.log(natural[loud, at]), noise.MODE_FREQUENCY),
                               (np.log(damping[loud, at]), noise.MODE_DAMPING)]


def _indicator(shop: Shop) -> float:
    """Uncertainty of the finest indicator of the shop [m]; of a common one where it has none."""
    found = [metres(item.uncertainty.value) for item in shop.instruments.values() if item.kind == "indicator"]
    return min(found, default=metres(0.006))


_SQUARE_SD: Final = metres(0.006) * math.sqrt(2.0) / (2.0 * metres(45.0))
_READS: Final[dict[str, Callable[[str, Result, Belief], Iterator[tuple[str, Columns]]]]] = {
    "pull": _pull, "runout": _runout, "tap": _tap,
    "circle": _one("tram", noise.TABLE / metres(150.0), ratio=False),
    "touch_off": _one("touch_off", 1.0 / math.sqrt(2.0 * 9.0), ratio=True),
    "thrust": _one("axis_thrust", math.hypot(noise.SCALE, noise.STALL / math.sqrt(3.0)), ratio=True),
    "square": _one("squareness", _SQUARE_SD, ratio=False),
    "returns": _one("positioning", 1.0 / math.sqrt(2.0 * 9.0), ratio=True),
}


def _trials(result: Result, belief: Belief) -> Iterator[Candidate]:
    """The trial that a check itself asks for, once for each kind of it: in the operation where it costs most."""
    cases = {(case.subject, case.name): case for case in result.cases}
    worst: dict[tuple[str, str], tuple[float, Checked]] = {}
    for checked in result.checks:
        finding = checked.finding
        if finding.p_rows is None or not finding.settle_by or finding.p_rows.std() < 1e-6:
            continue
        case = cases[finding.subject, finding.name]
        weight = (finding.p_fail or 0.0) * loss(finding, case)
        key = (finding.check, case.op.tool or "" if case.operation is not None else "")
        if key not in worst or weight > worst[key][0]:
            worst[key] = weight, checked
    for _, checked in worst.values():
        finding = checked.finding
        assert finding.p_rows is not None
        case = cases[finding.subject, finding.name]
        seen = normal_quantile(np.clip(finding.p_rows, _EDGE, 1.0 - _EDGE))
        reads = (seen + _noise(f"{finding.check}|{finding.name}", belief.rows))[:, None]
        where = f"{checked.number} {checked.operation}" if checked.number is not None else checked.operation
        how = finding.settle_by + _written_down(finding.check, case)
        yield Candidate(f"{checked.title}: a trial for {where}", how, TRIAL, reads, case, finding.check)


def _written_down(check: str, case: Case) -> str:
    """How what a trial shows is recorded, where it is a cut that may be made in scrap, or a size."""
    if case.subject == "limit":
        return f': firstoff log JOB {case.name} --size "SIZE {case.job.units}"'
    if case.operation is None:
        return ""
    if check == SINGS and case.op.cut.depth_of_cut:
        return (". Say how deep it sang, and the same with ok for the depth before: firstoff log JOB "
                f'{case.op.number} sang --depth "DEPTH {case.job.units}" --scrap')
    if check in WATTS:
        return (f': firstoff log JOB {case.op.number} --watts "310 W" --idle "190 W", as the meter has them, with '
                '--depth and --scrap where it was such a cut')
    return ""


def _noise(name: str, rows: int) -> Rows:
    """Noise that is the same each time for this test."""
    seed = int.from_bytes(hashlib.blake2b(name.encode(), digest_size=8).digest(), "big")
    return np.random.default_rng(seed).standard_normal(rows)


def scrap_cut(result: Result, candidate: Candidate) -> TestCut | None:
    """The test cut that finds where an operation begins to sing; None where the candidate is no such trial."""
    case = candidate.case
    if case is None or case.operation is None or not candidate.kind.startswith((SINGS, _DEPTH)):
        return None
    found = [c.finding for c in result.checks if c.finding.check == "chatter" and c.operation == case.name]
    cut, tool = case.op.cut, case.tool
    if not found or tool.kind not in STRAIGHT or found[0].capacity is None:
        return None
    if not cut.spindle_speed or not cut.feed_per_tooth:
        return None
    depth = cut.depth_of_cut or case.op.removes
    limit = found[0].capacity
    width = tool.diameter if cut.direction == "slot" else min(cut.width_of_cut or case.op.removes, tool.diameter)
    return TestCut(
        tool.name, case.material.name, tool.diameter, tool.flute_length, width, cut.direction == "climb",
        cut.spindle_speed, cut.feed_per_tooth * tool.flutes * cut.spindle_speed / (2.0 * math.pi),
        gentle=max(0.05, min(limit.low, depth) / 2.0), deepest=max(1.2 * depth, limit.high),
        travel=(case.machine.travel or (100.0, 100.0, 100.0))[0], operation=case.op.number)


def cut_text(result: Result, found: Sequence[Worth]) -> str:
    """The NC program of the test cut that is worth most.

    Raises:
        RecordError: if no test cut would tell anything about this job.
    """
    for worth in found:
        cut = scrap_cut(result, worth.candidate)
        if cut is not None:
            return program(cut)
    raise RecordError("no test cut would tell anything about this job", right="the tests that are listed without it")


def next_lines(found: Sequence[Worth]) -> Iterator[str]:
    """What would help this job most, for a person."""
    best = {w.candidate.kind: w for w in reversed(found) if w.gain > 0.0}
    worth = [w for w in found if best.get(w.candidate.kind) is w][:MOST]
    if not worth:
        yield "No test is worth its minutes before this job: what is known will do."
        return
    yield "What would help this job most, before the first cut:"
    written = next((w for w in found if w.candidate.cut is not None), None)
    for number, w in enumerate(worth, 1):
        many = round(w.settles)
        says = f"; about {many} check{'s' if many > 1 else ''} that can't say now would then say" if many else ""
        how = w.candidate.how[:1].upper() + w.candidate.how[1:]
        yield (f"{number}. {w.candidate.name}: takes {w.candidate.minutes:.0f} min, saves about {w.saves:.0f} min "
               f"in the mean{says}. {how}.{' --program FILE writes this cut.' if w is written else ''}")
    if any(w.candidate.case is not None and w.candidate.case.operation is not None for w in worth):
        yield CAUTION
    if written is not None and written not in worth and written.candidate.case is not None:
        case = written.candidate.case
        yield f"--program FILE writes a test cut for {case.op.number} {case.name}."


def next_json(found: Sequence[Worth]) -> list[dict[str, object]]:
    """Every candidate, as `mill-test JOB --json` prints it."""
    return [{"test": w.candidate.name, "how": w.candidate.how, "minutes": w.candidate.minutes, "saves_min": w.saves,
             "settles": w.settles, "operation": None if w.candidate.case is None else w.candidate.case.name}
            for w in found]
