"""It measures wrong: which errors explain the readings, what they make of the other sizes, and what to key in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Belief, Rows
from ..checks._chance import discrepancy
from ..checks._locators import Array
from ..checks._makers import Broken
from ..checks._surfaces import Line, Source
from ..checks._tails import drawn_in
from ..checks.base import Case
from ..checks.si import metres, millimetres
from ..checks.size import Expected, bounds, chance_by_row, expected
from ..errors import NameUnknown, RecordError
from ..job.gauges import gauges
from ..job.measured import Measured
from ..job.nominal import nominal_size
from ..stack.causes import BEYOND, FAR, Explained, explain, forecast, left_over, told_apart
from ..stack.causes import Forecast as ByRow
from ..stack.chance import chance_out
from ..stack.update import row_weights
from ..units import tell
from .conforming import SAID, Reading, reading_of
from .slips import LOOK, STEPS, WARM, lost_steps, stepped, warm

#: a cause is told as the one only if it is at least this likely
SURE: Final = 0.6
#: Causes cannot be told apart if none is as likely as not, whatever the habits of the shop: less than SURE, since no
#: shop has just one of those habits. Measured: tests/measured/test_causes_in_a_job.py.
OPEN: Final = 0.5
#: a further reading tells two causes apart if they lie so many of its standard deviations apart
TELLS: Final = 1.0
#: each so many rows are forecast
THIN: Final = 8
#: causes below this chance are not told
FEW: Final = 0.03
#: a cause that brings no reading so many of its expected standard deviations off does not show in them
SHOWS: Final = 1.0
#: a reading that no cause brings within so many of its standard uncertainties contradicts the others
CONTRADICTS: Final = 4.0
#: what a person keys in, sets or leaves under a part, and what an axis loses, may be off by any; judged
SLIPS: Final = ("radius:", "touch:", "seat:", "parallels:", "lift:", f"{STEPS}:")
#: what else errs, a machine and its cutters by themselves, grows to so many times its usual spread; judged
GROWS: Final = 7.0
#: cosine from which two errors do the same to all readings [1]
ONE_WAY: Final = 0.999
#: an error moves a size that it moves by so much of itself or more [1]
MOVES: Final = 1e-6
#: what is too little for anybody to key in [mm]; judged
LEAST: Final = 0.005
#: where all is as usual, an error is put right that has this share of what was read, or more; judged
OWN_SHARE: Final = 0.25


@dataclass(frozen=True)
class Cause:
    """One cause that may explain the readings."""

    text: str
    chance: float
    value: float | None              # [mm], where it is one number that can be keyed in
    key: str = ""


@dataclass(frozen=True)
class Forecast:
    """A size that was not measured, after what was."""

    limit: str
    mean: float                      # deviation from the nominal [mm]
    sd: float                        # [mm]
    p_out: float
    p_before: float


@dataclass(frozen=True)
class Correction:
    """What to key in, and what becomes of the sizes that are still to be made."""

    text: str
    value: float                     # [mm]
    after: Mapping[str, float]       # limit still to be made that it moves -> chance of being out
    leaves: Mapping[str, float] = field(default_factory=dict)     # measured limit -> how far it is off then [mm]


@dataclass(frozen=True)
class Explanation:
    """What the measurements say."""

    readings: tuple[Reading, ...]
    causes: tuple[Cause, ...]
    told_apart: bool                 # False where no cause is likely, whatever the habits of the shop
    ask: str                         # what to measure next, where none is sure
    forecasts: tuple[Forecast, ...]
    corrections: tuple[Correction, ...]
    contradicts: str = ""            # readings that cannot be true together, and which to take again
    sure: bool = True                # whether the likeliest cause is likely enough to act on
    besides: str = ""                # what the likeliest cause leaves unexplained: more than one thing is off

    def off(self) -> dict[str, float]:
        """How far each size is off [mm]: as it was read, else as it is expected to be after what was read."""
        return {**{f.limit: f.mean for f in self.forecasts}, **{r.limit: r.deviation for r in self.readings}}


@dataclass(frozen=True)
class _Joint:
    """All sizes of a job that can be followed, over one list of sources."""

    cases: tuple[Case, ...]
    came: tuple[Expected, ...]
    names: tuple[str, ...]
    sources: Mapping[str, Source]
    mean: Array                      # of each source [m]
    covariance: Array                # [m2]
    rows: Rows                       # by source: its value where it lasts, else its standard deviation [m]
    lasting: NDArray[np.bool_]
    groups: tuple[tuple[str, str], ...]
    group_of: Array
    asleep: NDArray[np.bool_]        # nought unless its cause is at work
    warmed: tuple[Line, ...]         # what reading each size warm adds
    made_of: tuple[tuple[Line, ...], ...]     # each size at its middle and its corners, steps lost counted in

    def lines(self, which: Iterable[Line]) -> Array:
        """Sums of errors as rows of a table over the sources."""
        return np.array([[line.get(name, 0.0) for name in self.names] for line in which]).reshape(-1, len(self.names))

    def of(self, k: int) -> tuple[Line, ...]:
        """A size at its middle and its corners."""
        return self.made_of[k]

    def read(self, where: Iterable[int]) -> Array:
        """Readings of sizes, each at its middle."""
        return self.lines({**self.of(k)[0], **self.warmed[k]} for k in where)

    def places(self, k: int) -> slice:
        """Where a size and its corners stand among all that are asked for."""
        start = sum(len(self.of(j)) for j in range(k))
        return slice(start, start + len(self.of(k)))

    def aimed(self, k: int) -> float:
        """What a last cut was set for [m]."""
        limit = self.cases[k].limit
        assert limit is not None
        return sum(bounds(limit)) / 2.0 if self.came[k].found.aimed else 0.0


def explained(cases: Iterable[Case], belief: Belief, measured: Sequence[Measured]) -> Explanation:
    """What measurements say of a job.

    Args:
        cases: of a walk.
        belief: what is believed.
        measured: the readings.

    Raises:
        RecordError: if a reading is far from what its limit wants, or of a limit that cannot be followed.
    """
    cases = tuple(cases)
    joint = _joint([case for case in cases if case.limit is not None], belief)
    at = {case.name: k for k, case in enumerate(joint.cases)}
    for item in measured:
        if item.limit not in at:
            raise RecordError(f"{item.limit} cannot be followed: {_why(cases, item.limit, belief)}", where=item.limit)
    readings = tuple(reading_of(joint.cases[at[item.limit]], item) for item in measured)
    where = [at[item.limit] for item in measured]
    found = _explain(joint, where, readings)
    causes, against = _causes(joint, found, where), _contradicts(joint, found, where, readings)
    sure = (causes[0].chance >= SURE if causes else True) and not against
    apart = (sure or found.surest >= OPEN) and not against
    open_ = [k for k in range(len(joint.cases)) if joint.cases[k].name not in {r.limit for r in readings}]
    return Explanation(
        readings, causes, apart, "" if sure or against else _ask(joint, found, open_),
        tuple(_forecasts(joint, found, where, readings, open_, belief)),
        tuple(_corrections(joint, found, _to_correct(joint, found, causes, where, readings), where, readings))
        if sure else (),
        against, sure, "" if against else _besides(joint, found, where, readings))


def _why(cases: Iterable[Case], limit: str, belief: Belief) -> str:
    """Why a limit cannot be followed to what makes it."""
    case = next((case for case in cases if case.name == limit and case.limit is not None), None)
    try:
        if case is not None:
            expected(case, belief)
    except (Broken, NameUnknown) as reason:
        return str(reason)
    return "it is no limit of the job"


def _joint(cases: list[Case], belief: Belief) -> _Joint:
    kept, came = [], []
    for case in cases:
        try:
            came.append(expected(case, belief))
        except (Broken, NameUnknown):
            continue
        kept.append(case)
    sources: dict[str, Source] = {}
    for one in came:
        sources |= {name: one.found.sources[name] for name in one.found.names()}
    if kept:
        sources |= lost_steps(kept[0], [line for one in came for line in (one.found.middle, *one.found.corners)])
    warmed = []
    for case in kept:
        grown = list(warm(case, belief, _nominal(case)))
        sources |= {name: source for name, _, source in grown}
        warmed.append({name: size for name, size, _ in grown})
    names = tuple(sources)
    wide = discrepancy(belief, "size")
    rows = np.array([np.broadcast_to(sources[name].rows(belief), belief.rows) * _wider(name, sources[name], wide)
                     for name in names]).reshape(len(names), belief.rows)
    lasting = np.array([sources[name].lasting for name in names], dtype=np.bool_)
    calm = np.array([drawn_in(row) for row in rows]).reshape(rows.shape)      # a few rows far out are no usual spread
    mean = np.where(lasting, calm.mean(axis=1), 0.0)
    together = np.atleast_2d(np.cov(calm)) if len(names) > 1 else np.atleast_2d(calm.var(axis=1))
    covariance = np.where(np.outer(lasting, lasting), together, 0.0)
    covariance[~lasting, ~lasting] = (rows[~lasting] ** 2).mean(axis=1)
    kinds = [(sources[name].label, sources[name].where) for name in names]
    groups = tuple(dict.fromkeys(kinds))
    return _Joint(tuple(kept), tuple(came), names, sources, mean, covariance, rows, lasting, groups,
                  np.array([groups.index(kind) for kind in kinds], dtype=int),
                  np.array([name.startswith(f"{STEPS}:") for name in names], dtype=np.bool_), tuple(warmed),
                  tuple(_made_of(case, one, names) for case, one in zip(kept, came, strict=True)))


def _made_of(case: Case, came: Expected, names: Sequence[str]) -> tuple[Line, ...]:
    steps = [name for name in names if name.startswith(f"{STEPS}:")]
    return tuple({**line, **stepped(case, line, steps)} for line in (came.found.middle, *came.found.corners))


def _wider(name: str, source: Source, wide: Rows) -> Rows | float:
    """What the physics of sizes may get wrong widens their scatters, but not slips, which are judged as they are."""
    return 1.0 if source.lasting or name.startswith((f"{STEPS}:", f"{WARM}:")) else wide


def _nominal(case: Case) -> float | None:
    try:
        return nominal_size(case.name, case.job, case.parts)
    except RecordError:
        return None


def _explain(joint: _Joint, at: list[int], readings: Sequence[Reading]) -> Explained:
    """Only what could show in these readings, were it far off, is a cause of them."""
    deviation = [metres(r.deviation) - joint.aimed(k) for r, k in zip(readings, at, strict=True)]
    sizes = joint.lines(line for k in range(len(joint.came)) for line in joint.of(k))
    return explain(deviation, joint.read(at), joint.mean, joint.covariance, [metres(r.u) for r in readings],
                   joint.group_of, sizes, joint.asleep, _shows(joint, at, readings), _farthest(joint))


def _farthest(joint: _Joint) -> Array:
    """How many times its usual spread each cause may be off by."""
    slips = np.array([name.startswith(SLIPS) for name in joint.names], dtype=np.bool_)
    return np.array([np.inf if slips[joint.group_of == g].any() else GROWS for g in range(len(joint.groups))])


def _shows(joint: _Joint, at: list[int], readings: Sequence[Reading]) -> NDArray[np.bool_]:
    """Whether each cause, were it far off, could show in these readings."""
    lines, sd = joint.read(at), np.sqrt(np.diag(joint.covariance))
    usual = np.where(joint.asleep, 0.0, sd)
    wide = np.hypot([metres(r.u) for r in readings], np.sqrt((lines * usual) ** 2 @ np.ones(len(sd))))
    shows = np.any(np.abs(lines) * sd * FAR > SHOWS * wide[:, None], axis=0)
    return np.array([np.any(shows[joint.group_of == g]) for g in range(len(joint.groups))], dtype=np.bool_)


def _contradicts(joint: _Joint, found: Explained, at: list[int], readings: Sequence[Reading]) -> str:
    """Readings that no single cause brings together, in words; empty where one does."""
    off = [metres(r.deviation) - joint.aimed(k) for r, k in zip(readings, at, strict=True)]
    left = np.abs(off - found.source @ joint.read(at).T) / [metres(r.u) for r in readings]
    best = int(np.argmin(left.max(axis=1)))
    worst = int(np.argmax(left[best]))
    if left[best, worst] <= CONTRADICTS:
        return ""
    name = readings[worst].limit
    twice = [r for r in readings if r.limit == name]
    told = f"{name} was read {len(twice)} times and not alike" if len(twice) > 1 else (
        f"no one cause explains {name} and the others together")
    return f"{told}: wipe part and instrument, and measure {name} again"


def _besides(joint: _Joint, found: Explained, at: list[int], readings: Sequence[Reading]) -> str:
    """The readings that the likeliest cause leaves further off than is usual, in words; empty for none."""
    best = int(np.argmax(found.chance))
    mine = joint.group_of == best
    plain = ~(mine | joint.asleep)
    off = [metres(r.deviation) - joint.aimed(k) for r, k in zip(readings, at, strict=True)]
    left = np.abs(left_over(off, joint.read(at), np.where(mine, found.source[best], joint.mean),
                            np.where(np.outer(plain, plain), joint.covariance, 0.0), [metres(r.u) for r in readings]))
    far = [readings[k].limit for k in np.argsort(-left) if left[k] > BEYOND]
    if not far:
        return ""
    return (f"that leaves {' and '.join(dict.fromkeys(far[:2]))} further off than is usual: more than one thing is "
            "off, or a rare one; look for what made each by itself")


def _causes(joint: _Joint, found: Explained, at: list[int]) -> tuple[Cause, ...]:
    """The likeliest first; one kind of error in several places that no reading here tells apart is one cause."""
    alike = [_alike(joint, g, at) for g in range(len(joint.groups))]
    out, told = [], set()
    for g in (int(g) for g in np.argsort(found.chance)[::-1]):
        if g == len(joint.groups):
            out.append(Cause("nothing out of the usual", float(found.chance[g]), None))
            continue
        if g in told:
            continue
        same = [other for other in alike[g] if found.chance[other] >= FEW and other not in told] or [g]
        told.update(same)
        chance = float(sum(found.chance[other] for other in same))
        members = np.flatnonzero(joint.group_of == g)
        likeliest = int(members[np.argmax(np.abs(found.source[g, members]))])
        name = joint.names[likeliest]
        alone = len(members) == 1 and not name.startswith(("scale:", "squareness:", "tram:", "tilt:", f"{WARM}:"))
        value = millimetres(float(found.source[g, likeliest])) if alone or joint.asleep[likeliest] else None
        text = _worded(joint, joint.groups[g][0], [joint.groups[other][1] for other in same], value)
        out.append(Cause(text, chance, value, name))
    return tuple(cause for cause in sorted(out, key=lambda cause: -cause.chance) if cause.chance >= FEW)


def _alike(joint: _Joint, g: int, at: list[int]) -> list[int]:
    """Causes of the same kind, each a single error, that do the same to all readings, up to a factor; itself too."""
    lines = joint.read(at)
    def only(other: int) -> Array | None:
        members = np.flatnonzero(joint.group_of == other)
        return lines[:, members[0]] if len(members) == 1 and not joint.asleep[members[0]] else None

    mine, label = only(g), joint.groups[g][0]
    if mine is None or not mine.any():
        return [g]
    rest = {other: only(other) for other, (kind, _) in enumerate(joint.groups) if kind == label}
    return [other for other, its in rest.items() if its is not None and its.any()
            and abs(float(mine @ its)) > ONE_WAY * float(np.linalg.norm(mine) * np.linalg.norm(its))]


def _worded(joint: _Joint, label: str, places: Sequence[str], value: float | None) -> str:
    """A cause in words, with how far it would be off."""
    case = joint.cases[0]
    each = [f" in {where}" if where in case.route.settings else f" of {where}" if where else "" for where in places]
    place = " or".join(dict.fromkeys(each))
    if value is None or abs(value) < LEAST:
        return f"{label}{place}"
    far = tell(value if len(each) == 1 else abs(value), "length", case.job.units)
    return f"{label}{place}, off by {far}{' either way' if len(each) > 1 else ''}"


def _ask(joint: _Joint, found: Explained, open_: list[int]) -> str:
    """The size whose reading would tell the two likeliest causes apart best."""
    first, second = np.argsort(found.chance)[::-1][:2]
    for label, _ in (joint.groups[g] for g in (first, second) if g < len(joint.groups)):
        if any(joint.sources[name].label == label and name.startswith("reading:") for name in joint.names):
            return f"read a known size with {label}, or measure again with another instrument"
    kinds = [joint.names[int(np.argmax(joint.group_of == g))].partition(":")[0] for g in (first, second)
             if g < len(joint.groups)]
    itself = next((LOOK[kind] for kind in kinds if kind in LOOK), "")
    able = [k for k in open_ if _u(joint.cases[k]) > 0.0]
    if not able:
        return itself or "one more size that shares some of these causes and not the others: add it as a limit"
    u = [metres(_u(joint.cases[k])) for k in able]
    at = [joint.places(k).start for k in able]
    apart = told_apart(found.size[first, at], found.size[second, at], found.size_sd[first, at], u)
    best = int(np.argmax(apart))
    if apart[best] < TELLS:
        return itself or "no other size of the job would"
    return f"measure {joint.cases[able[best]].name}"


def _u(case: Case) -> float:
    """Standard uncertainty of a reading of a limit [mm], by its instrument or the finest that gets there; else 0."""
    limit = case.limit
    assert limit is not None
    instrument = case.shop.instruments.get(limit.instrument or "")
    if instrument is not None:
        return instrument.uncertainty.value
    suited = gauges(limit, case.job, case.parts)
    return min((one.uncertainty.value for one in case.shop.instruments.values() if one.kind in suited), default=0.0)


def _forecasts(
    joint: _Joint, found: Explained, at: list[int], readings: Sequence[Reading], open_: list[int], belief: Belief
) -> Iterator[Forecast]:
    """Sizes that were not measured, by rows and over all causes that are likely at all."""
    if not open_:
        return
    likely = [g for g in range(len(found.chance)) if found.chance[g] >= FEW]
    weights = np.array([found.chance[g] for g in likely]) / sum(found.chance[g] for g in likely)
    each = [_under(joint, g, at, readings) for g in likely]
    for k in open_:
        limit = joint.cases[k].limit
        assert limit is not None
        low, high = bounds(limit)
        here = joint.places(k)
        p = sum(w * (share @ chance_out(rows.mean[:, here], rows.sd[:, here], low, high))
                for w, (share, rows) in zip(weights, each, strict=True))
        worst = here.start + int(np.argmax(p))
        mean = sum(w * float(share @ rows.mean[:, worst]) for w, (share, rows) in zip(weights, each, strict=True))
        square = sum(w * float(share @ (rows.sd[:, worst] ** 2 + (rows.mean[:, worst] - mean) ** 2))
                     for w, (share, rows) in zip(weights, each, strict=True))
        before = float(chance_by_row(joint.came[k], belief, low, high).mean())
        yield Forecast(joint.cases[k].name, millimetres(mean), millimetres(float(np.sqrt(square))), float(np.max(p)),
                       before)


def _under(joint: _Joint, cause: int, at: list[int], readings: Sequence[Reading]) -> tuple[Rows, ByRow]:
    """Weights of the rows and their sizes, with one cause far off."""
    thin = np.where((joint.asleep & (joint.group_of != cause))[:, None], 0.0, joint.rows[:, ::THIN])
    far = np.where(joint.group_of == cause, FAR, 1.0)[:, None]
    lasting = np.where(joint.lasting[:, None], joint.mean[:, None] + far * (thin - joint.mean[:, None]), 0.0)
    sd = np.where(joint.lasting[:, None], 0.0, far * thin).T
    lines = joint.read(at)
    sizes = joint.lines(line for k in range(len(joint.came)) for line in joint.of(k))
    aimed = np.array([joint.aimed(k) for k in range(len(joint.came)) for _ in joint.of(k)])
    read = np.array([metres(r.deviation) - joint.aimed(k) for r, k in zip(readings, at, strict=True)])
    rows = forecast(read - (lines @ lasting).T, lines, sd, [metres(r.u) for r in readings], sizes,
                    aimed + (sizes @ lasting).T)
    return row_weights(rows.log_likelihood), rows


def _to_correct(
    joint: _Joint, found: Explained, causes: Sequence[Cause], at: list[int], readings: Sequence[Reading]
) -> Cause | None:
    """The likeliest cause; where all is as usual and a size is out for all that, the error that has most of it."""
    if not causes or causes[0].key or all(r.decision == SAID[1] for r in readings):
        return causes[0] if causes else None
    off = np.abs(joint.read(at) * found.source[-1]).sum(axis=0)
    for s in np.argsort(off)[::-1]:
        value = millimetres(float(found.source[-1, s]))
        if off[s] < OWN_SHARE * off.sum():
            break
        if abs(value) >= LEAST and _keyed_in(joint, joint.names[s], value):
            return Cause(causes[0].text, causes[0].chance, value, joint.names[s])
    return None


def _corrections(
    joint: _Joint, found: Explained, cause: Cause | None, at: list[int], readings: Sequence[Reading]
) -> Iterable[Correction]:
    """What to key in against a cause, what the sizes still to come are then, and the measured ones when cut again."""
    if cause is not None and cause.key.startswith(f"{WARM}:"):
        yield Correction(f"let the {cause.key.partition(':')[2]} get as cold as the shop, and measure it again "
                         "before anything is keyed in; or say by how much it was warmer: warmer = \"8 K\"", 0.0, {})
        return
    if cause is None or not cause.key or cause.value is None:
        return
    text = _keyed_in(joint, cause.key, cause.value)
    if not text:
        return
    s = joint.names.index(cause.key)
    g = int(joint.group_of[s]) if int(np.argmax(found.chance)) < len(joint.groups) else len(joint.groups)
    share, rows = _under(joint, g, at, readings)
    after = {}
    for k in range(len(joint.cases)):
        moved = joint.lines(joint.of(k))[:, s]
        if k in at or float(np.abs(moved).max()) < MOVES:
            continue
        limit, here = joint.cases[k].limit, joint.places(k)
        assert limit is not None
        then = rows.mean[:, here] - moved * found.source[g, s]
        after[joint.cases[k].name] = float((share @ chance_out(then, rows.sd[:, here], *bounds(limit))).max())
    by = joint.read(at)[:, s]
    leaves = {r.limit: r.deviation - float(line) * cause.value for r, line in zip(readings, by, strict=True)
              if abs(float(line)) >= MOVES}
    yield Correction(text, cause.value, after, leaves)


def _keyed_in(joint: _Joint, key: str, value: float) -> str:
    """What a person does about an error of the machine or the setting; empty where nothing can be keyed in."""
    case = joint.cases[0]
    kind, _, rest = key.partition(":")
    told = tell(abs(value), "length", case.job.units)
    if kind == "radius":
        more = "larger" if value > 0.0 else "smaller"
        tool = case.shop.tools.get(rest)
        return f"key in the radius of the {tool.name if tool else rest} {told} {more}"
    if kind == "touch":
        setting, axis = rest.split(":")[:2]
        return f"shift zero of {setting} by {told} towards {'-' if value > 0.0 else '+'}{axis.upper()}"
    if kind == STEPS:
        setting, axis, first = rest.split(":")
        return (f"find zero of {setting} again in {axis.upper()}: the table lost about {told} before {first}; slower "
                "rapids, a freer slide")
    if kind == "lost":
        return "come to the size from the same side each time, or take up the lost motion before the cut"
    if kind == "pushed" and value > 0.0:                 # what was pushed off is still there
        return "run the last pass once more at the same setting: it takes off what was pushed off"
    return ""
