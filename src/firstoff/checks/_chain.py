"""Where the errors of a distance come from: which setting and operation makes each face, and what lies between.

One dimension, along the distance. Errors are independent normal ones, told as variances by row; what is the
same all day (push-off, error of travel) is an offset by row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..job.faces import Place, dot, locate, resolve
from ..job.models import Limit
from ..job.route import Operation, Setting
from ..part.shapes import Face, Vector
from ._chance import known
from ._push import left_on, operation_case
from .base import Case
from .si import metres, value

#: One standard deviation of a cutter's radius against what was reckoned with [mm]: makers' tolerance of the
#: diameter of some 0.03 mm, taken off by a trial cut at best; judged.
RADIUS_SD: Final = 0.006
#: of the height of parallels, and of chips that one has not seen under the work [mm]; judged
PARALLELS_SD: Final = 0.004
#: how far a drill led by its spot has gone aside where it comes in [mm]; judged
WANDER_SD: Final = 0.03
_ALONG: Final = 0.9          #: cosine from which a face counts as looking along a direction
_HOPS: Final = 4             #: settings that a chain may lead through


class Broken(Exception):
    """The chain cannot be followed; the text says where."""


@dataclass
class Chain:
    """A sum of errors by row."""

    rows: int
    offset: Rows = field(init=False)
    variance: Rows = field(init=False)
    parts: list[tuple[str, float]] = field(default_factory=list)      # name -> median sd [m], to tell the largest
    gain: float = 1.0                                                  # of what is added from now on
    measured: str = ""                                                 # the operation after which it is measured

    def __post_init__(self) -> None:
        self.offset, self.variance = np.zeros(self.rows), np.zeros(self.rows)

    def add(self, name: str, sd: Rows | float) -> None:
        """One more independent error."""
        wide = abs(self.gain) * np.broadcast_to(np.asarray(sd, dtype=np.float64), (self.rows,))
        self.variance = self.variance + wide**2
        self.parts.append((name, float(np.median(wide))))

    def move(self, rows: Rows) -> None:
        """One more offset that is the same all day."""
        self.offset = self.offset + self.gain * rows

    @property
    def largest(self) -> str:
        """What adds most."""
        return max(self.parts, key=lambda item: item[1])[0] if self.parts else "nothing"


@dataclass(frozen=True)
class Made:
    """A face, and the operation and setting that make it."""

    part: str
    face: Face
    op_name: str
    op: Operation
    setting_name: str
    setting: Setting

    @property
    def is_hole(self) -> bool:
        """Whether it is where a hole stands, which its spot decides."""
        return self.op.role in ("spot", "drill", "ream")


def maker(case: Case, part: str, number: int) -> Made | None:
    """The last operation that finishes a face; None where none does.

    A file goes over what a machine has made (corners, burrs) and counts only where no machine does; where a
    hole stands was settled when it was spotted, a wall cut from both sides by its first half.
    """
    made = cuts_of(case, part, number)
    done = [m for m in made if m.op.leaves == 0.0 and m.op.role != "spot"]
    if done and done[-1].is_hole:
        return made[0]
    by_machine = [m for m in done if m.op.role != "file"]
    if by_machine and by_machine[-1].op.height > 0.0:       # half a wall is cut to meet the first half
        return by_machine[0]
    return by_machine[-1] if by_machine else done[-1] if done else None


def cuts_of(case: Case, part: str, number: int) -> list[Made]:
    """All operations on the feature of a face, in order."""
    features = {f.id for f in case.parts[part].features if number in f.faces}
    out = []
    for name, op in case.route.in_order():
        setting = case.route.settings.get(op.setting)
        if setting is None or part != setting.workpiece.split("+")[0] or op.role == "measure":
            continue
        if features & set(op.features):
            out.append(Made(part, case.parts[part].faces[number], name, op, op.setting, setting))
    return out


def chain_of(case: Case, limit: Limit, belief: Belief) -> Chain:
    """All errors of a limit between faces, in metres at the limit for each metre of the links times their gain.

    Raises:
        Broken: if a face is made by no operation, or no datum leads from one to the other.
        NameUnknown: if a face does not exist.
    """
    chain = Chain(belief.rows)
    job, parts, part = case.job, case.parts, limit.part
    links = [_Link(locate(one, job, parts, part), locate(other, job, parts, part), gain)
             for one, other, gain in limit.links]
    late = _latest(case, links)
    before = measured_before(case, limit, links, late) if late else None
    for link in links:
        chain.gain = link.gain if limit.gains else 1.0
        if late is None or before is None:
            _along(case, belief, chain, link)
        elif link.has(late.part, late.face.number):
            _corrected(case, belief, chain, limit, (late, before, link))
    chain.gain = 1.0
    return chain


@dataclass(frozen=True)
class _Link:
    """One distance of a limit: from the other face to the one."""

    one: Place
    other: Place
    gain: float

    @property
    def ends(self) -> tuple[tuple[str, int], tuple[str, int]]:
        """Part and number of both faces."""
        return (self.one.part, self.one.faces[0]), (self.other.part, self.other.faces[0])

    def has(self, part: str, number: int) -> bool:
        """Whether it ends at a face."""
        return (part, number) in self.ends


def _makers(case: Case, links: Sequence[_Link]) -> list[Made]:
    found = (maker(case, *end) for link in links for end in link.ends)
    return [made for made in found if made is not None]


def _latest(case: Case, links: Sequence[_Link]) -> Made | None:
    """What makes the last of all faces, and so can put right what the others are out by."""
    return max(_makers(case, links), key=lambda made: made.op.number, default=None)


def measured_before(case: Case, limit: Limit, links: Sequence[_Link], late: Made) -> Made | None:
    """The cut before the last one, where the limit is measured between them so that the last is set by it.

    All other faces must be finished when it is measured.
    """
    names = {name for name, item in case.job.limits.items() if item is limit or item == limit}
    others = [m.op.number for m in _makers(case, links) if m.op_name != late.op_name]
    cuts = [m for m in cuts_of(case, late.part, late.face.number) if m.op.number < late.op.number]
    seen = [op.number for _, op in case.route.in_order() if names & set(op.measure)
            and max(others, default=0) <= op.number < late.op.number]
    rough = [m for m in cuts if seen and m.op.number <= max(seen) and m.op.leaves > 0.0]
    return rough[-1] if rough else None


def _along(case: Case, belief: Belief, chain: Chain, link: _Link) -> None:
    """The errors of one distance when nothing is measured before its last cut."""
    (part, one), (other_part, other) = link.ends
    if part != other_part:
        for place in link.ends:
            _to_datum(case, belief, chain, _needs(case, *place))
        return
    first, second = case.parts[part].faces[one], case.parts[part].faces[other]
    along = _unit(_apart(second, first), first.normal)
    _between(_Walk(case, belief, chain, part, along), _End(first, 1.0), _End(second, -1.0), 0)


def _corrected(case: Case, belief: Belief, chain: Chain, limit: Limit, by: tuple[Made, Made, _Link]) -> None:
    """Measured, and the last cut set by it: the instrument, the last cut's own repeat, and what differs
    between it and the cut before remain."""
    late, before, link = by
    entity, machine = f"instrument:{limit.instrument}", f"machine:{late.setting.machine}"
    if not belief.has(entity, "uncertainty"):
        raise Broken("no instrument is named for what is measured before the last cut")
    if not belief.has(machine, "positioning"):
        raise Broken(f"{late.op_name} is done by hand, to what is measured")
    chain.measured = before.op_name
    sides = [number for owner, number in link.ends if owner == late.part and
             (made := maker(case, owner, number)) is not None and made.op_name == late.op_name]
    chain.add("the repeat of the axes", np.sqrt(len(sides)) * known(belief, machine, "positioning", 0.0))
    _new_start(belief, chain, late, before)
    outwards = len(sides) * _outwards(case, link, late) if link.one.part == link.other.part else 1.0
    chain.move((_pushed(case, belief, late) - _pushed(case, belief, before)) * outwards)
    gain, chain.gain = chain.gain, 1.0 if limit.gains else chain.gain
    chain.add(f"the {case.shop.instruments[limit.instrument or ''].name}", value(belief, entity, "uncertainty"))
    chain.gain = gain


def _outwards(case: Case, link: _Link, late: Made) -> float:
    """+1 where material left on the face makes the distance larger, -1 where smaller."""
    (part, one), (_, other) = link.ends
    first, second = case.parts[part].faces[one], case.parts[part].faces[other]
    way = _apart(second, first) if late.face.number == one else _apart(first, second)
    return dot(late.face.normal, _unit(way, late.face.normal))


def _pushed(case: Case, belief: Belief, made: Made) -> Rows:
    """What a cut leaves on, where that is computed [m]."""
    if made.op.tool is None or made.is_hole:
        return np.zeros(belief.rows)
    pushed = left_on(operation_case(case, made.op_name), belief, "wall" if is_wall(made) else "floor")
    return np.zeros(belief.rows) if pushed is None else pushed


def _new_start(belief: Belief, chain: Chain, late: Made, before: Made) -> None:
    """What a new clamping or another tool adds after the measuring."""
    machine = f"machine:{late.setting.machine}"
    touch = known(belief, machine, "touch_off", 0.0)
    if late.setting_name != before.setting_name:
        chain.add("touching the face again", touch)
        if not is_wall(late):
            chain.add("how the part sits", known(belief, f"device:{late.setting.holding.device}", "seating", 0.0))
    elif late.op.tool != before.op.tool:
        chain.add("the change of cutter", np.sqrt(2.0) * (metres(RADIUS_SD) if is_wall(late) else touch))


@dataclass(frozen=True)
class _Walk:
    """What stays the same on the way along one distance."""

    case: Case
    belief: Belief
    chain: Chain
    part: str
    along: Vector                # from the second face to the first


@dataclass(frozen=True)
class _End:
    """One end of the distance: +1 for the far end, -1 for the near one."""

    face: Face
    sign: float


def _needs(case: Case, part: str, number: int) -> Made:
    made = maker(case, part, number)
    if made is None:
        raise Broken(f"no operation of the route finishes face {number} of {part}")
    return made


def _between(walk: _Walk, first: _End, second: _End, hop: int) -> None:
    """Add the errors of the distance from the second to the first face."""
    case, chain, part = walk.case, walk.chain, walk.part
    numbers = f"face {first.face.number} and face {second.face.number} of {part}"
    if hop > _HOPS:
        raise Broken(f"the settings lead in a circle between {numbers}")
    one, two = maker(case, part, first.face.number), maker(case, part, second.face.number)
    if one is None and two is None:
        raise Broken(f"no operation of the route finishes {numbers}")
    swap = one is None or (two is not None and two.op.number > one.op.number)
    (late, end), (early, other) = ((two, second), (one, first)) if swap else ((one, first), (two, second))
    assert late is not None
    _cut(case, walk.belief, chain, late, end.sign * dot(end.face.normal, walk.along))
    if early is not None and early.setting_name == late.setting_name:
        _cut(case, walk.belief, chain, early, other.sign * dot(other.face.normal, walk.along))
        _travel(walk, late, end, other.face)
        _together(walk.belief, chain, late, early)
        return
    datum = _datum(case, late, other.face)
    _radius(chain, late)
    _travel(walk, late, end, datum)
    _clamped(walk.belief, chain, late)
    if datum.number != other.face.number:
        _between(walk, _End(datum, end.sign), other, hop + 1)


def _to_datum(case: Case, belief: Belief, chain: Chain, made: Made) -> None:
    """Errors of a face against what its setting stands on; of a chain across parts."""
    _cut(case, belief, chain, made, 1.0)
    _radius(chain, made)
    _clamped(belief, chain, made)


def _cut(case: Case, belief: Belief, chain: Chain, made: Made, outwards: float) -> None:
    """Where the edge really was: repeat of the axis, lost motion, push-off along the distance."""
    machine = f"machine:{made.setting.machine}"
    if made.op.role in ("file", "saw") or not belief.has(machine, "positioning"):
        raise Broken(f"{made.op_name} is done by hand, to what is measured")
    chain.add("the repeat of the axes", known(belief, machine, "positioning", 0.0))
    if is_wall(made):
        chain.add("lost motion", known(belief, machine, "lost_motion", 0.0) / 2.0)
    if made.is_hole:
        chain.add("where the drill went", metres(WANDER_SD))
    chain.move(_pushed(case, belief, made) * outwards)


def _radius(chain: Chain, made: Made) -> None:
    """The radius of the cutter, where nothing else was made with it that shares its error."""
    if is_wall(made) and not made.is_hole:
        chain.add("the radius of the cutter", metres(RADIUS_SD))


def is_wall(made: Made) -> bool:
    """Whether a face stands upright in its setting, and so is made by the side of the cutter."""
    return made.is_hole or abs(dot(made.face.normal, made.setting.up)) < 1.0 - _ALONG


def _travel(walk: _Walk, late: Made, end: _End, to: Face) -> None:
    """Error of travel over the distance."""
    machine = f"machine:{late.setting.machine}"
    if walk.belief.has(machine, "axis_scale"):
        length = metres(end.sign * dot(walk.along, _apart(to, end.face)))
        walk.chain.move(value(walk.belief, machine, "axis_scale") * length)


def _together(belief: Belief, chain: Chain, late: Made, early: Made) -> None:
    """Two faces of one setting: one zero for both; in height each tool has its own length."""
    if late.op.tool == early.op.tool:
        if is_wall(late) and dot(late.face.normal, early.face.normal) < 0.0:
            chain.add("the radius of the cutter, on both sides", 2.0 * metres(RADIUS_SD))
    elif is_wall(late):
        _radius(chain, late)
        _radius(chain, early)
    else:
        touch = known(belief, f"machine:{late.setting.machine}", "touch_off", 0.0)
        chain.add("the lengths of the two tools", np.sqrt(2.0) * touch)


def _clamped(belief: Belief, chain: Chain, made: Made) -> None:
    """How the part sits and where zero was found."""
    machine, device = f"machine:{made.setting.machine}", f"device:{made.setting.holding.device}"
    chain.add("how the part sits", known(belief, device, "seating", 0.0))
    chain.add("setting zero", known(belief, machine, "touch_off", 0.0))
    if is_wall(made):
        return
    chain.add("parallels", metres(PARALLELS_SD) if made.setting.holding.parallels > 0.0 else 0.0)
    chain.add("lift by the jaw", known(belief, device, "jaw_lift", 0.0) / 2.0)


def _datum(case: Case, late: Made, other: Face) -> Face:
    """The face that the late one is placed by, in the direction of the distance."""
    part, names = case.parts[late.part], case.job.parts[late.part].names
    zero = late.setting.zero
    for name in (*late.setting.datums, zero.x, zero.y, zero.z):
        for number in resolve(name, part, names):
            if number == other.number:
                return other
    for name in late.setting.datums:
        face = part.faces[resolve(name, part, names)[0]]
        if abs(dot(face.normal, late.face.normal)) > _ALONG and face.number != late.face.number:
            return face
    raise Broken(f"in setting {late.setting_name} nothing places {late.part} along this distance")


def _apart(one: Face, two: Face) -> Vector:
    x, y, z = (b - a for a, b in zip(one.centroid, two.centroid, strict=True))
    return x, y, z


def _unit(way: Vector, otherwise: Vector) -> Vector:
    """The direction of a distance: square to the face where that says it, else from middle to middle."""
    side = dot(way, otherwise)
    if side == 0.0:
        return otherwise
    sign = 1.0 if side > 0.0 else -1.0
    return sign * otherwise[0], sign * otherwise[1], sign * otherwise[2]
