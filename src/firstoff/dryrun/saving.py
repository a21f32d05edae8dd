"""It measures wrong, now what: every way to save the part, with its minutes, money and chance."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief
from ..checks._chance import known
from ..checks._lapped import BORE_LAPPED_SD, LAPPED_SD
from ..checks._makers import Broken, Made, maker
from ..checks.base import Case
from ..checks.si import hours, metres, minutes
from ..checks.size import bounds
from ..errors import NameUnknown
from ..job.faces import locate
from ..stack.chance import chance_out
from ..units import tell
from .conforming import Reading
from .nominal import LAP
from .otherwise import LEAST_LAP, MOST_LAP, lies_on_a_plate
from .sizes import Size
from .times import MEASURE_MINUTES, handling_minutes, part_minutes

#: minutes to fit a shim, and how true one is [mm]; to plug or bush a hole and make it again; judged
SHIM_MINUTES: Final = 10.0
SHIM_SD: Final = 0.005
BUSH_MINUTES: Final = 45.0
#: what a jobbing shop takes to spark a tap out, in the shop's money; judged
SPARKED: Final = 40.0
#: a plugged hole is spotted again, by hand or by the machine: chance that it comes right; judged
BUSH_CHANCE: Final = 0.8
#: what is less than this cannot be taken off in a pass that still cuts [mm]; judged
LEAST_PASS: Final = 0.01
#: what sawing a part off and cleaning both ends takes of the stock [mm]; judged
KERF: Final = 5.0
#: the least that a split lap takes out of a hole, the most that a hand reamer does [mm], how true it comes out when
#: it is tried between strokes [mm], and minutes to set it and turn it through a few times; judged
LEAST_OPENED: Final = 0.002
MOST_REAMED: Final = 0.3
REAMED_BY_HAND_SD: Final = 0.012
REAM_MINUTES: Final = 10.0
#: a shim thinner than this is not to be had [mm]
LEAST_SHIM: Final = 0.02


@dataclass(frozen=True)
class Way:
    """One way to go on with a size that measured wrong.

    Fields:
        text: what to do.
        minutes: it takes [min].
        money: it costs beside the time, in the shop's money.
        chance: that the size is right after it [1].
    """

    text: str
    minutes: float
    money: float
    chance: float


class _Known(NamedTuple):
    """What a way is told from: cases of the walk, what is believed, and how far sizes were read off [mm]."""

    cases: Sequence[Case]
    belief: Belief
    read: Mapping[str, float]


def ways(
    reading: Reading, size: Size, cases: Sequence[Case], belief: Belief, others: Mapping[str, float] | None = None,
) -> tuple[Way, ...]:
    """Ways to go on with a size that is not proved right, the cheapest for its chance first.

    Args:
        reading: what was measured.
        size: the limit as it was expected.
        cases: of the walk, for the minutes of its operations.
        belief: what is believed.
        others: how far other sizes were read off, or are expected to be after what was read [mm]: a pass that puts
            one of them out is not told; one that is not named is taken to be in the middle of its limits.
    """
    case = size.case
    base = _Known(cases, belief, others or {})
    found = [_as_is(reading, case), *_another_pass(reading, size, base), *_lapped(reading, size),
             *_partner(reading, size, base), *_shim(reading, case), *_opened(reading, case),
             *_bush(reading, case),
             *_flipped(size, cases), _remake(size, cases)]
    return tuple(sorted(found, key=lambda way: _dear(way, case, cases)))


def still_rough(size: Size, deviation: float) -> bool:
    """Whether a reading is of what stands before the last cut: off by about what is left for it.

    Args:
        size: the limit as it was expected.
        deviation: from the nominal, as it was read [mm].
    """
    before = size.came.found.measured if size.came is not None else ""
    left = size.case.route.operations[before].leaves if before in size.case.route.operations else 0.0
    return left > 0.0 and abs(abs(deviation) - left) < left / 2.0


def _dear(way: Way, case: Case, cases: Sequence[Case]) -> float:
    """What a way costs, with what is lost when it fails: the part made anew."""
    again = part_minutes(case.part_name or "", cases)
    return hours(way.minutes + (1.0 - way.chance) * again) * case.shop.rates.hour + way.money


def _inside(reading: Reading, case: Case, shift: float, sd: float) -> float:
    limit = case.limit
    assert limit is not None
    low, high = bounds(limit)
    wide = float(np.hypot(metres(reading.u), sd))
    return 1.0 - float(chance_out(metres(reading.deviation + shift), wide, low, high))


def _as_is(reading: Reading, case: Case) -> Way:
    return Way("use it as it is", 0.0, 0.0, _inside(reading, case, 0.0, 0.0))


def _ends(case: Case) -> Iterator[tuple[Made, float]]:
    """What makes each face of a limit, and how the limit grows with material on that face."""
    limit = case.limit
    assert limit is not None
    for one, other, gain in limit.links:
        for name, sign in ((one, 1.0), (other, -1.0)):
            place = locate(name, case.job, case.parts, limit.part)
            made = maker(case, place.part, place.faces[0])
            if made is not None and not made.is_hole and made.op.tool is not None:
                yield made, sign * gain * _outwards(case, limit.part, one, other, made)


def _cuts(case: Case) -> Iterator[tuple[Made, float, int]]:
    """Each cut that makes faces of a limit, how the limit grows with material left by it, and on how many faces."""
    each: dict[str, list[tuple[Made, float]]] = {}
    for made, growth in _ends(case):
        each.setdefault(made.op_name, []).append((made, growth))
    for ends in each.values():
        growth = sum(growth for _, growth in ends)
        if growth:
            yield ends[0][0], growth, len(ends)


def _outwards(case: Case, part: str | None, one: str, other: str, made: Made) -> float:
    """Whether the face looks along the distance from the other to the one, or against it."""
    first, second = (locate(name, case.job, case.parts, part) for name in (one, other))
    faces = [case.parts[p.part].faces[p.faces[0]] for p in (first, second)]
    way = np.array(faces[0].centroid) - np.array(faces[1].centroid)
    flat = next((np.array(f.normal) for f in faces if f.kind == "plane"), way)
    way = flat if float(flat @ way) >= 0.0 else -flat
    return float(np.sign(way @ np.array(made.face.normal)))


def _another_pass(reading: Reading, size: Size, base: _Known) -> Iterator[Way]:
    """Material is left on a face of this part: take it off, still clamped or clamped again."""
    case, limit = size.case, size.case.limit
    assert limit is not None
    too_much = reading.deviation - sum(limit.tolerance) / 2.0
    for made, growth, faces in _cuts(case):
        off = too_much / growth
        if off < LEAST_PASS or made.part != case.part_name:
            continue
        yield from _passes(reading, size, base, made, (off, growth, faces))


def _passes(
    reading: Reading, size: Size, base: _Known, made: Made, cut: tuple[float, float, int]
) -> Iterator[Way]:
    case, (off, growth, faces), belief = size.case, cut, base.belief
    this = next((c for c in base.cases if c.subject == "operation" and c.name == made.op_name), None)
    if this is None or _put_out(size, base, made, off):
        return
    running = (this.windows.minutes if this.windows else 0.0) + MEASURE_MINUTES
    machine = f"machine:{made.setting.machine}"
    repeat = float(np.median(known(belief, machine, "positioning", 0.0)))
    touch = float(np.median(known(belief, machine, "touch_off", 0.0)))
    seat = float(np.median(known(belief, f"device:{made.setting.holding.device}", "seating", 0.0)))
    told = tell(off, "length", case.job.units)
    still, again = abs(growth) * repeat, abs(growth) * float(np.sqrt(repeat**2 + touch**2 + seat**2))
    if size.came is not None and made.op_name == size.came.found.late:
        deeper = f"{told} deeper" if faces == 1 else f"{told} more off each face"
        yield Way(f"if it is still clamped: {made.op_name} once more, {deeper}", running, 0.0,
                  _inside(reading, case, -off * growth, still))
    what = (f"touch the face of {made.op_name}, take {told} off" if faces == 1 else
            f"find the middle between both faces, take {told} off each")
    yield Way(f"clamp it again in {made.setting_name}, {what}", running
              + handling_minutes(this, None), 0.0, _inside(reading, case, -off * growth, again))


def _put_out(size: Size, base: _Known, made: Made, off: float) -> bool:
    """Whether so much less on a face puts out another size, as it was read or in the middle of its limits."""
    for other in base.cases:
        limit = other.limit
        if limit is None or other.name == size.name or not limit.links:
            continue
        try:
            growth = sum(grows for end, grows in _ends(other)
                         if (end.part, end.face.number) == (made.part, made.face.number))
        except (Broken, NameUnknown):
            continue
        low, high = limit.tolerance
        then = base.read.get(other.name, (low + high) / 2.0) - growth * off
        if growth and not low <= then <= high:
            return True
    return False


def _lapped(reading: Reading, size: Size) -> Iterator[Way]:
    """So little too much that a hand takes it off on a plate."""
    case, limit = size.case, size.case.limit
    assert limit is not None
    too_much = reading.deviation - sum(limit.tolerance) / 2.0
    if limit.kind != "distance" or not LEAST_LAP <= too_much <= MOST_LAP:
        return
    faces = [made for made, growth in _ends(case) if growth > 0.0 and made.face.kind == "plane"
             and lies_on_a_plate(case.parts[made.part], made.face)]
    if faces and len(limit.between) == 2:
        told = tell(too_much, "length", case.job.units)
        right = _inside(reading, case, -too_much, metres(LAPPED_SD))
        yield Way(f"lap {told} off it by hand, where it is thick more, until it reads right all over",
                  minutes(LAP * too_much) + MEASURE_MINUTES, 0.0, right)


def _partner(reading: Reading, size: Size, base: _Known) -> Iterator[Way]:
    """The other part of a chain takes up what is missing or too much."""
    case, limit = size.case, size.case.limit
    assert limit is not None
    if limit.kind != "chain":
        return
    too_much = reading.deviation - sum(limit.tolerance) / 2.0
    for made, growth, faces in _cuts(case):
        if made.part == case.part_name:
            continue
        off = too_much / growth
        if off >= LEAST_PASS:
            for way in _passes(reading, size, base, made, (off, growth, faces)):
                yield Way(f"change the {made.part} instead: {way.text}", way.minutes, way.money, way.chance)


def _shim(reading: Reading, case: Case) -> Iterator[Way]:
    """What is missing in a chain of parts is laid between them."""
    limit = case.limit
    assert limit is not None
    missing = sum(limit.tolerance) / 2.0 - reading.deviation
    if limit.kind == "chain" and abs(missing) >= LEAST_SHIM:
        steep = max((abs(gain) for _, _, gain in limit.links), default=1.0)
        thick = abs(missing) / steep
        if thick >= LEAST_SHIM:
            told = tell(thick, "length", case.job.units)
            yield Way(f"a shim of {told} where the parts meet, on the side that opens the size up" if missing > 0.0
                      else f"a shim of {told} where the parts meet, on the side that closes the size",
                      SHIM_MINUTES, 0.0, _inside(reading, case, missing, steep * metres(SHIM_SD)))


def _opened(reading: Reading, case: Case) -> Iterator[Way]:
    """A hole that came out too small is lapped or reamed out."""
    limit = case.limit
    assert limit is not None
    missing = sum(limit.tolerance) / 2.0 - reading.deviation
    if limit.kind not in ("size", "clearance") or reading.deviation >= sum(limit.tolerance) / 2.0:
        return
    told = tell(missing, "length", case.job.units)
    if LEAST_OPENED <= missing <= MOST_LAP:
        grit = ", and wash it well: grit beds itself in this metal" if case.material.group == "N" else ""
        yield Way(f"lap it out by {told} with a split lap and fine paste, trying as you go what goes in{grit}",
                  minutes(LAP * missing) + MEASURE_MINUTES, 0.0,
                  _inside(reading, case, missing, metres(BORE_LAPPED_SD)))
    if LEAST_LAP <= missing <= MOST_REAMED:
        yield Way(f"open it by {told} with an adjustable hand reamer, a little at a time",
                  REAM_MINUTES + MEASURE_MINUTES, 0.0, _inside(reading, case, missing, metres(REAMED_BY_HAND_SD)))


def _bush(reading: Reading, case: Case) -> Iterator[Way]:
    """A hole in the wrong place or too large is plugged or bushed, and made again."""
    limit = case.limit
    assert limit is not None
    if limit.kind in ("size", "clearance") and reading.deviation < sum(limit.tolerance) / 2.0:
        return
    places = [locate(name, case.job, case.parts, limit.part) for name in limit.between]
    makers = [maker(case, place.part, place.faces[0]) for place in places]
    if any(made is not None and made.is_hole for made in makers):
        yield Way("plug or bush the hole and make it again", BUSH_MINUTES, 0.0, BUSH_CHANCE)


def _flipped(size: Size, cases: Sequence[Case]) -> Iterator[Way]:
    """The piece of stock is so long that the part can be made anew from its other end."""
    case = size.case
    part = case.job.parts.get(case.part_name or "")
    if part is None:
        return
    box = zip(part.stock.size, case.part.low, case.part.high, strict=True)
    if any(long >= 2.0 * (high - low) + KERF for long, low, high in box):
        yield Way("flip the stock: it is long enough to make the part anew from its other end",
                  part_minutes(case.part_name or "", cases), 0.0, 1.0 - (size.p_out or 0.0))


def _remake(size: Size, cases: Sequence[Case]) -> Way:
    case = size.case
    part = case.part_name or ""
    stock = case.job.parts[part].stock.price if part in case.job.parts else 0.0
    return Way(f"make the {part} anew", part_minutes(part, cases), stock, 1.0 - (size.p_out or 0.0))


def ways_after_break(case: Case, cases: Sequence[Case]) -> tuple[Way, ...]:
    """Ways to go on when a tap or drill has broken in its hole, the cheapest for its chance first; none for others.

    Minutes and chances are judged; what a person does with a punch or acid has its cautions in the words.

    Args:
        case: the operation in which it broke.
        cases: of the walk, for the minutes of its part.
    """
    if case.operation is None or case.op.role not in ("tap", "drill") or case.op.tool is None:
        return ()
    what, part = ("tap" if case.op.role == "tap" else "drill"), case.part_name or ""
    brittle, soft = case.tool.material == "carbide", case.material.group == "N"
    found = [Way(f"if some of it stands out: oil, pliers, and turn the {what} back", 10.0, 0.0, 0.3),
             Way(f"shatter the {what} with a punch, goggles on, and pick the pieces out", 30.0, 0.0,
                 0.6 if brittle else 0.4)]
    if soft and not brittle:
        found.append(Way(f"simmer it in a solution of alum, which eats the steel of the {what} and leaves this "
                         "metal: hours, with air, no lid", 20.0, 5.0, 0.8))
    if all(feature.through for feature in case.features) and case.features:
        found.append(Way(f"drive the {what} out from the other side with a pin", 15.0, 0.0, 0.5))
    found.append(Way(f"have the {what} sparked out", 20.0, SPARKED, 0.95))
    found.append(Way("mill the place out, plug it, and make the hole again", BUSH_MINUTES, 0.0, BUSH_CHANCE / 2.0))
    stock = case.job.parts[part].stock.price if part in case.job.parts else 0.0
    found.append(Way(f"make the {part} anew", part_minutes(part, cases), stock, 0.95))
    return tuple(sorted(found, key=lambda way: _dear(way, case, cases)))
