"""The cut chatters: depth of cut against the depth at which machine or cutter begins to sing, at that speed.

By rows from the zero-order limit, all modes at the tip and the flanks' damping in it. Where the arc is brief and a
tooth comes about as often as something swings, the cut itself is followed (discretization): there it may flip.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from ..belief import Belief, Rows, low_median_high
from ..cutting.better_speeds import better_speeds
from ..cutting.chatter import Mode, chatter_frequency, depth_limit
from ..cutting.force import Coefficients
from ..cutting.process_damping import FlankDamping
from ..cutting.singing import off_the_teeth
from ..cutting.stability import Regeneration, can_follow, sings
from ..job.route import STRAIGHT_DOWN
from ..medians import median, point_of
from ..normal import normal_quantile
from ..shop.columns import columns_of
from ..shop.rounding import round_speed
from ..units import tell, tell_rounded
from ._chance import OPERATION_SCATTER, over
from ._discrepancy import Arc, discrepancy_of
from ._forces import Bite, bites, is_milling, machine_entity, material_entity, speed
from ._knobs import DEPTH, SPEED_DOWN, SPEED_UP, STICKOUT, WIDTH, bearable
from ._singing import arcs, factors, flanks_of, law_of, limit_of, limits_together, middle_law, sung
from ._tip import Tip, flank, middle_tip, tip
from .base import Case, Check, Finding, Knob, Spread, cannot
from .scale import beneath
from .si import metres, millimetres

NAME = "chatter"
Index = npt.NDArray[np.intp]

#: Engagements whose use in the median row is at least this share of the worst are computed by rows.
_NEAR: Final = 0.5
_FEW_KINDS: Final = 2        #: of which the milder is not looked for in the median
_CLOSE_BY: Final = 0.9       #: of the worst, in any of some rows: such an engagement is computed in all
_BOOK_ROWS: Final = 33       #: odd, so that the median row is there
#: A tooth that cuts for less than this share of the time to the next leaves room to flip. Above it limits of
#: discretization lie as often above those of zero order as below them: chances change by less than 0.02, and how far
#: a row's limit is out is in the discrepancy (tests/measured/test_mean_factors.py computes both).
_BRIEF: Final = 0.25
#: Depth over the zero-order limit, between which a flip may change the verdict of a row: of rows below it, followed
#: all the same, 1 in 500 sings.
_OPEN: Final = (0.2, 3.0)
#: Depth over that limit above which the scatter between operations decides; below it 1 row in 200 sings.
_DOUBTFUL: Final = 0.6
_HEARD: Final = 2.0 * np.pi * 1.0e4    #: [rad/s] a tone above 10 kHz few hear, and none beside a spindle
_TOLD: Final = 0.1           #: of the tone of the teeth: nearer to a multiple of it a phone cannot tell the two apart
_APART: Final = 0.05         #: speeds nearer than this share are one speed to who sets them
_EACH: Final = 2             #: of those rows one in so many is followed
#: Teeth for each swing of a mode between which the first three flip lobes lie, with room on both sides.
_FLIPS: Final = (0.33, 2.6)
#: Strata of the scatter between one operation and the next, where a cut is followed.
_STRATA: Final = (1 / 4, 3 / 4)
_SECANTS, _TINY, _STEEPEST = 2, 1e-6, 0.8    #: to the depth at which flanks rub as at that depth
#: Modes of the machine; those of the tool, in its seat and its own bending.
_LOW, _OWN = slice(0, -2), slice(-2, None)
#: Swings of a machine's mode while one tooth cuts, above which a row keeps its limit: one in five, most of the time.
_SWINGS: Final = 10.0
_QUICK_ROWS: Final = 128     #: enough to weigh one cut against another, by the zero-order limit; never for a verdict


def _middle_limit(case: Case, belief: Belief, load: Bite, modes: slice = slice(None)) -> float:
    """Limit of this engagement for the median of each figure [m], perhaps with some of the modes alone."""
    here = middle_tip(case, belief, load.heading)
    law = middle_law(case, belief, load)
    flanks = FlankDamping(*(np.array([median(rows)]) for rows in flanks_of(case, belief, load)))
    return float(limit_of(case, law, Tip(here.along[modes], here.square[modes]), flanks, load)[0])


def _worst_kinds(case: Case, belief: Belief, found: tuple[Bite, ...]) -> list[Bite]:
    """The engagements that sing first in the median row, the worst first: of each arc the deepest, and its like."""
    deepest: dict[tuple[float, ...], Bite] = {}
    for load in found:
        arc = (round(load.engagement.entry, 2), round(load.engagement.exit, 2),
               *(round(abs(part), 2) for part in load.heading[:2]))
        if arc not in deepest or load.depth > deepest[arc].depth:
            deepest[arc] = load
    kinds = list(deepest.values())
    if len(kinds) == 1 or (len(kinds) <= _FEW_KINDS and not belief.words):
        return kinds          # as soon computed by rows as in the median; which is the worst is a matter of words
    uses = [load.engagement.depth_of_cut / _middle_limit(case, belief, load) for load in kinds]
    order = sorted(zip(uses, kinds, strict=True), key=lambda pair: -pair[0])
    return [load for use, load in order if use >= _NEAR * order[0][0]]


def _that_matter(case: Case, belief: Belief, kinds: list[Bite]) -> list[Bite]:
    """Of several engagements those that come near to singing first in any of some rows, or may flip in one."""
    if len(kinds) == 1 or belief.rows <= _QUICK_ROWS:
        return kinds
    some = belief.some(_QUICK_ROWS)
    found = _ratios(case, some, kinds, [_stands_on(case, some, load) for load in kinds])
    top = np.max(found, axis=0)
    return [load for load, ratio in zip(kinds, found, strict=True)
            if np.any(ratio >= _CLOSE_BY * top) or _may_flip(case, tip(case, some, load.heading), load, ratio).size]


class _StandsOn(NamedTuple):
    """What the limit of an engagement stands on besides itself, by row: law, tip, how far the physics is out."""

    law: Coefficients
    here: Tip
    off: Rows


def _stands_on(case: Case, belief: Belief, load: Bite) -> _StandsOn:
    return _StandsOn(law_of(case, belief, load), tip(case, belief, load.heading), _off(case, belief, load))


def _ratios(case: Case, belief: Belief, loads: Sequence[Bite], by: Sequence[_StandsOn]) -> list[Rows]:
    """Depth of some engagements over their limits, by row."""
    rubs = [flanks_of(case, belief, load) for load in loads]
    if len(loads) > 1 and belief.rows <= _QUICK_ROWS:
        limits = limits_together(case, [on.law for on in by], [on.here for on in by], rubs, loads)
    else:
        limits = [limit_of(case, on.law, on.here, flanks, load)
                  for load, on, flanks in zip(loads, by, rubs, strict=True)]
    return [np.asarray(load.engagement.depth_of_cut / limit * on.off)
            for load, on, limit in zip(loads, by, limits, strict=True)]


def depth_over_limit(case: Case, belief: Belief) -> Rows:
    """Depth of a cut over the depth at which it begins to sing by the zero-order limit, the worst of it, by row.

    Args:
        case: an operation that mills.
        belief: what is believed.

    Raises:
        OutOfRange: if the tool cuts nothing, or the physics is asked outside of its range.
        NotBelieved: if nothing is known of machine, tool or material.
    """
    kinds = _that_matter(case, belief, _worst_kinds(case, belief, bites(case, belief)))
    by = [_stands_on(case, belief, load) for load in kinds]
    keys = [_key(case, belief, load, on) for load, on in zip(kinds, by, strict=True)]
    known = [_recent[key][0][1] for key in keys if key in _recent]       # weighed of late
    return np.asarray(np.max(known if len(known) == len(keys) else _ratios(case, belief, kinds, by), axis=0))


def _weighed(case: Case, belief: Belief, loads: Sequence[Bite]) -> list[tuple[Rows, Rows]]:
    """Chance by row that each engagement sings, and its depth over the depth limit; the last ones are kept."""
    by = [_stands_on(case, belief, load) for load in loads]
    keys = [_key(case, belief, load, on) for load, on in zip(loads, by, strict=True)]
    new = {key: (load, on) for key, load, on in zip(keys, loads, by, strict=True) if key not in _recent}
    found = {key: _recent[key][0] for key in keys if key in _recent}
    if new:
        ratios = _ratios(case, belief, *zip(*new.values(), strict=True))
        for (key, (load, on)), ratio in zip(new.items(), ratios, strict=True):
            while len(_recent) >= _KEPT:
                _recent.pop(next(iter(_recent)))
            found[key] = _found(case, belief, load, on, ratio)
            _recent[key] = found[key], on.here
    return [found[key] for key in keys]


def _key(case: Case, belief: Belief, load: Bite, on: _StandsOn) -> tuple[object, ...]:
    hasher = hashlib.blake2b(digest_size=16)
    for rows in (on.law.tangential, on.law.radial, flank(case, belief), on.off):
        hasher.update(np.ascontiguousarray(rows).tobytes())
    return case.tool.flutes, speed(case), load.engagement, *arcs(load), id(on.here), hasher.digest()


#: operations of a part are often alike; the key holds all they depend on: the tip by its name, which stands with it
_recent: dict[tuple[object, ...], tuple[tuple[Rows, Rows], Tip]] = {}
_KEPT: Final = 64


def _off(case: Case, belief: Belief, load: Bite) -> Rows:
    """How far the physics is out in this engagement, by row [1]."""
    cut = load.engagement
    return discrepancy_of(case, belief, "chatter", Arc(cut.entry, cut.exit, cut.depth_of_cut))


def _found(case: Case, belief: Belief, load: Bite, on: _StandsOn, ratio: Rows) -> tuple[Rows, Rows]:
    """Where it may flip the machine's modes are followed; the tool's own, far above all teeth, keep their limit."""
    chance = sung(ratio)
    at = _may_flip(case, on.here, load, ratio)
    if at.size and belief.rows > _QUICK_ROWS:
        _flipped(case, belief, load, on, at, ratio, chance)
    return chance, ratio


def _flipped(
    case: Case, belief: Belief, load: Bite, on: _StandsOn, at: Index, ratio: Rows, chance: Rows
) -> None:
    """The chances of rows that may flip put right: of those that hardly do some are followed, and stand for all."""
    law, here, deep = on.law, on.here, load.engagement.depth_of_cut * on.off
    at = at[_slow_enough(case, belief, load, law, here, at, deep)]
    hardly = at[ratio[at] < _DOUBTFUL]
    some = np.concatenate([hardly[::_EACH], at[ratio[at] >= _DOUBTFUL]])
    if not some.size:
        return
    cut, low = _regeneration(load, law, flank(case, belief), some), _rows_of(here, _LOW, some)
    rubs, own = _flanks_at(case, belief, load, at), _rows_of(here, _OWN, at)
    rest = limit_of(case, _law_at(law, at), own, rubs, load)
    chance[at] = over(deep[at], rest, OPERATION_SCATTER["stability"])  # the tool itself
    loud = _followed(case, cut, low, deep[some], ratio[some])
    first = len(hardly[::_EACH])
    chance[some[first:]] = np.maximum(chance[some[first:]], loud[first:])
    if first:
        chance[hardly] = np.maximum(chance[hardly], loud[:first].mean())


def _slow_enough(
    case: Case, belief: Belief, load: Bite, law: Coefficients, here: Tip, at: Index, deep: Rows
) -> npt.NDArray[np.bool_]:
    """Of some rows those whose low modes swing slowly enough to be followed; the others keep their limit."""
    cut = _regeneration(load, law, flank(case, belief), at)
    deepest = float(deep[at].max()) * float(np.exp(OPERATION_SCATTER["stability"])) if at.size else 0.0
    return can_follow(cut, *_rows_of(here, _LOW, at), speed(case), deepest, _SWINGS)


def _law_at(law: Coefficients, at: Index) -> Coefficients:
    return Coefficients(*(np.asarray(rows)[at] for rows in law))


def _flanks_at(case: Case, belief: Belief, load: Bite, at: Index) -> FlankDamping:
    return FlankDamping(*(np.asarray(rows)[at] for rows in flanks_of(case, belief, load)))


def _rows_of(here: Tip, modes: slice, at: Index) -> Tip:
    """Some of the modes, in some rows."""
    return Tip(*(tuple(Mode(*(np.asarray(item)[at] for item in mode)) for mode in some[modes]) for some in here))


def _may_flip(case: Case, here: Tip, load: Bite, ratio: Rows) -> Index:
    """Rows that are open and in which teeth come about as often as the machine swings, if the arc is brief."""
    cut = load.engagement
    if not _is_brief(load):
        return np.zeros(0, dtype=np.intp)
    swings = np.stack([np.asarray(mode.natural) for some in here for mode in some[_LOW]])
    teeth = cut.teeth * speed(case) / swings
    near = np.any((teeth > _FLIPS[0]) & (teeth < _FLIPS[1]), axis=0)
    return np.flatnonzero(near & (ratio > _OPEN[0]) & (ratio < _OPEN[1]))


def _is_brief(load: Bite) -> bool:
    """Whether a tooth cuts for so small a share of the time to the next that the cut may flip."""
    cut = load.engagement
    lag = 2.0 * np.tan(cut.helix) / cut.diameter * cut.depth_of_cut
    parts = arcs(load)
    twice = sum(part.share for part in parts) > 1.0 + 1e-6    # a turn: no single brief arc, what is followed
    widest = max((part.exit - part.entry for part in parts), default=0.0)
    return not twice and bool(widest + lag <= _BRIEF * 2.0 * np.pi / cut.teeth)


def is_brief(case: Case, belief: Belief) -> bool:
    """Whether a tooth cuts so briefly that a cut may flip, which a few rows do not see.

    Args:
        case: an operation that mills.
        belief: what is believed.
    """
    return any(_is_brief(load) for load in bites(case, belief))


def _regeneration(load: Bite, law: Coefficients, rubs: Rows, at: Index) -> Regeneration:
    """The cut as discretization takes it, in some rows."""
    cut = load.engagement
    return Regeneration(np.asarray(law.tangential)[at], np.asarray(law.radial)[at], cut.teeth, cut.entry, cut.exit,
                        2.0 * float(np.tan(cut.helix)) / cut.diameter, 2.0 * rubs[at] / cut.diameter)


def _followed(case: Case, cut: Regeneration, here: Tip, depth: Rows, ratio: Rows) -> Rows:
    """Chance by row that a cut sings, followed at depths spread as operations are where that may decide."""
    doubtful = np.flatnonzero(ratio >= _DOUBTFUL)
    strata = np.exp(OPERATION_SCATTER["stability"] * normal_quantile(np.array(_STRATA)))
    each = np.concatenate([np.flatnonzero(ratio < _DOUBTFUL), np.repeat(doubtful, len(strata))])
    spread = np.ones(len(each))
    spread[len(ratio) - len(doubtful):] = np.tile(strata, len(doubtful))
    rows = cut._replace(**{name: np.asarray(getattr(cut, name))[each] for name in ("tangential", "radial", "flank")})
    loud = sings(rows, *_rows_of(here, slice(None), each), speed(case), depth[each] * spread)
    return np.asarray(np.bincount(each, loud, len(ratio)) / np.bincount(each, minlength=len(ratio)))


def _evaluate(case: Case, belief: Belief) -> Finding:
    if case.op.down > STRAIGHT_DOWN:
        return cannot(NAME, case, "finish", "how a cutter sings that goes straight down on its end is not known here")
    found = bites(case, belief)
    kinds = _that_matter(case, belief, _worst_kinds(case, belief, found))
    chance, ratio = (np.max(parts, axis=0) for parts in zip(*_weighed(case, belief, kinds), strict=True))
    depth = max(load.depth for load in found)
    limit = _limit(case, depth, ratio)
    limit = _rubbing_at_its_own(case, belief, kinds[0], limit) if belief.words else limit
    tried = _to_try(case, belief, limit) if belief.words and float(chance.mean()) > case.shop.close else ""
    because = (f"the cut is {tell(depth, 'length', case.job.units)} deep; at {tell(speed(case), 'rotation')} it "
               f"begins to sing at about {_anywhere(case, limit)} as stiffness and damping are believed"
               f": {_singer(case, belief, kinds[0])} first{_tone(case, belief, kinds[0])}"
               f"{f'; {tried}' if tried else ''}") if belief.words else ""
    return Finding(NAME, case.subject, case.name, "finish", chance, Spread.of(np.full(belief.rows, depth)),
                   Spread.of(limit), "mm", because,
                   "the ten-minute test cut in scrap: deeper and deeper until it sings; "
                   "or tap the cutter with a phone recording beside it", to_try=tried)


def begins_at(case: Case, belief: Belief) -> Rows:
    """Depth at which an operation begins to sing, by row [mm], as a person is told.

    Args:
        case: an operation that mills, and not straight down.
        belief: what is believed.

    Raises:
        OutOfRange: if the tool cuts nothing, or the physics is asked outside of its range.
        NotBelieved: if nothing is known of machine, tool or material.
    """
    found = bites(case, belief)
    kinds = _that_matter(case, belief, _worst_kinds(case, belief, found))
    ratio = np.max([ratio for _, ratio in _weighed(case, belief, kinds)], axis=0)
    return _rubbing_at_its_own(case, belief, kinds[0], _limit(case, max(load.depth for load in found), ratio))


def _limit(case: Case, depth: float, ratio: Rows) -> Rows:
    """Depth at which it begins to sing with flanks that rub as at that of the cut [mm]; one that never sings is told
    as one as deep as the tool is long."""
    return np.asarray(depth / np.maximum(ratio, depth / case.tool.overall_length))


def _rubbing_at_its_own(case: Case, belief: Belief, load: Bite, limit: Rows) -> Rows:
    """The same with flanks that rub as at that depth itself: of many rows on some, the others follow by a line."""
    some = belief.some(_QUICK_ROWS)
    law, here, rubs = law_of(case, some, load), tip(case, some, load.heading), flanks_of(case, some, load)
    off, longest, parts = _off(case, some, load), case.tool.overall_length, factors(law, load)

    def at_damping_of(deep: Rows) -> Rows:
        found = depth_limit(law.tangential, case.tool.flutes, parts, *here, speed(case), rubs, metres(deep))
        return np.asarray(np.log(np.minimum(millimetres(found) / off, longest)))

    start = np.full(some.rows, np.log(load.depth))
    first = at_damping_of(np.exp(start))
    # a limit grows with the depth at which flanks rub nearly by a power of it: secants to where the two are one
    own, before, limits = 0.5 * (start + first), start, first
    for _ in range(_SECANTS):
        now, way = at_damping_of(np.exp(own)), own - before
        power = np.divide(now - limits, way, out=np.zeros_like(way), where=np.abs(way) > _TINY)
        power = np.clip(power, 0.0, _STEEPEST)
        before, limits = own, now
        own = np.minimum((now - power * own) / (1.0 - power), np.log(longest))
    if some.rows == belief.rows:
        return np.asarray(np.exp(own))
    apart = first - first.mean()
    slope = float(apart @ (own - first) / max(apart @ apart, _TINY))
    more = (own - first).mean() + slope * (np.log(limit) - first.mean())
    return np.asarray(np.minimum(limit * np.exp(more), longest))


def _anywhere(case: Case, limit: Rows) -> str:
    low, middle, high = (_deep(case, edge) for edge in low_median_high(limit))
    return f"{middle}, anywhere from {low} to {high}"


def _deep(case: Case, depth: float) -> str:
    """A depth [mm] as it is known, for a sentence."""
    return tell_rounded(depth, "length", case.job.units)


def _tone(case: Case, belief: Belief, load: Bite) -> str:
    """At which frequency a microphone would hear it, for the median of each figure."""
    here = middle_tip(case, belief, load.heading)
    law = middle_law(case, belief, load)
    flanks = FlankDamping(*(np.array([median(rows)]) for rows in flanks_of(case, belief, load)))
    mean = factors(law, load)
    heard = float(chatter_frequency(law.tangential, case.tool.flutes, mean, *here, speed(case), flanks,
                                    load.engagement.depth_of_cut)[0])
    if not 0.0 < heard < _HEARD:
        return ""
    teeth = tell_rounded(case.tool.flutes * speed(case), "frequency")
    apart = off_the_teeth(heard, speed(case), case.tool.flutes) > _TOLD
    beside = f"its teeth hum at {teeth} and its multiples" if apart else f"hard to tell from its teeth, at {teeth}"
    return f", with a tone of about {tell_rounded(heard, 'frequency')} ({beside})"


def _singer(case: Case, belief: Belief, load: Bite) -> str:
    """What gives way: the machine, or the cutter in its collet."""
    of_tool = slice(-2, None)
    machine, rest = (_middle_limit(case, belief, load, which) for which in (slice(0, -2), of_tool))
    return "the machine" if machine <= rest else "the cutter in its collet"


def _to_try(case: Case, belief: Belief, limit: Rows) -> str:
    """Speeds that are quieter, computed on some of the rows, else a depth."""
    quick = belief.some(_QUICK_ROWS)
    now = _chance_at(case, quick, speed(case))
    found = [(_chance_at(case, quick, other), other) for other in _quieter(case, belief)]
    better = [tell(other, "rotation") for chance, other in sorted(found)[:2] if chance < 0.75 * now]
    share = min(point_of(limit, case.shop.close), _SHALLOWER * (case.op.cut.depth_of_cut or math.inf))
    shallow = (f"{_deep(case, share)} deep" if share >= _THIN
               else f"under {_deep(case, _THIN)} deep, or another cutter")
    if share < _THIN and (case.op.cut.depth_of_cut or _THIN) < 1.01 * _THIN:
        shallow = "a shorter or another cutter: it is thin already"
    if share < beneath(case):
        shallow = "half as wide, or pickle the scale off: a shallower pass would run in it"
    return f"try {', then '.join(better)}, else {shallow}" if better else f"no other speed helps; try {shallow}"


#: of the depth of a cut: a try that is no shallower helps nothing
_SHALLOWER: Final = 0.9
#: no depth below it is worth a try [mm]
_THIN: Final = 0.05


def _quieter(case: Case, belief: Belief) -> list[float]:
    """Speeds that the spindle has and the edge bears, and that are not the present one."""
    spindle, now = case.machine.spindle, speed(case)
    if spindle is not None and spindle.steps:
        return [step for step in spindle.steps if step != now and step <= bearable(case)]
    return _to_set(case, belief)


def _to_set(case: Case, belief: Belief) -> list[float]:
    """The quietest speeds as a person sets them, clearly apart from the present one and each other."""
    told = [speed(case)]
    for quiet, _ in quiet_speeds(case, belief):
        other = round_speed(quiet, case.machine.spindle)
        if all(abs(other / one - 1.0) > _APART for one in told):
            told.append(other)
    return told[1:4]


def _chance_at(case: Case, belief: Belief, spindle_speed: float) -> float:
    """Chance that the operation sings at another speed."""
    cut = case.op.cut.model_copy(update={"spindle_speed": spindle_speed})
    other = replace(case, operation=case.op.model_copy(update={"cut": cut}))
    kinds = _worst_kinds(other, belief, bites(other, belief))
    return max(float(chance.mean()) for chance, _ in _weighed(other, belief, kinds))


def _candidates(case: Case) -> list[object]:
    """Speeds at which the book's machine bears most, then shares of the present one; steps of a belt as they are.

    Only candidates: what is told afterwards was computed with what is believed.
    """
    shares = [value for pair in zip(SPEED_DOWN.values(case), SPEED_UP.values(case), strict=False) for value in pair]
    spindle = case.machine.spindle
    if spindle is None or spindle.steps:
        return [*SPEED_DOWN.values(case), *SPEED_UP.values(case)]
    book = Belief.of(columns_of(case.shop), rows=_BOOK_ROWS)
    machine = machine_entity(case)
    asked = ((material_entity(case), "tangential"), (machine, "stiffness_x"), (machine, "mode_frequency"))
    if not all(book.has(*key) for key in asked):
        return shares
    return [*_to_set(case, book), *shares]


def quiet_speeds(case: Case, belief: Belief) -> list[tuple[float, float]]:
    """Speeds within the range of spindle and cutter at which the median machine bears the deepest cut.

    Returns:
        (speed [rad/s], depth limit [mm]), best first.
    """
    spindle = case.machine.spindle
    if spindle is None or spindle.slowest >= bearable(case):
        return []
    load = max(bites(case, belief), key=lambda item: item.depth)
    law = law_of(case, belief, load)
    mean = factors(law, load)
    best = better_speeds(law.tangential, case.tool.flutes, mean, *tip(case, belief, load.heading), spindle.slowest,
                         bearable(case), flanks_of(case, belief, load), load.engagement.depth_of_cut)
    deep = millimetres(best.depth_limit)
    return [(float(n), float(d)) for n, d in zip(best.spindle_speed, deep, strict=True)]


SPEED = Knob("cut.spindle_speed", _candidates, SPEED_DOWN.say)

CHECK = Check(
    NAME, "cut chatters", "finish", "operation", is_milling, _evaluate,
    knobs=(SPEED, DEPTH, WIDTH, STICKOUT), word="sang",
)
