"""The way of a limit through the settings: which surface was made from which, where, and what each step adds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks._locators import locators
from ..checks._makers import Made, last_before, maker
from ..checks._tails import typical_sd
from ..checks.base import Case
from ..errors import NameUnknown
from ..job.faces import DIRECTIONS, dot, locate, outermost, resolve
from ..job.models import PartWanted
from ..part.shapes import Face, Part
from .sizes import Size

#: cosine from which a face places another along its direction
_ALONG: Final = 0.7
_MOST: Final = 12              #: steps, should settings lead in a circle

#: a surface: part, and number of the face
Surface = tuple[str, int]


@dataclass(frozen=True)
class Hop:
    """One step: in a setting, an operation makes a surface from the surface that places it.

    A surface that was touched as it came, raw or roughed, and then cut is placed by itself.
    """

    setting: str
    made: Surface
    datum: Surface
    operation: str = ""


@dataclass(frozen=True)
class Way:
    """The way of one limit.

    Fields:
        limit: its name.
        ends: the surfaces that it is measured between.
        surfaces: all surfaces on the way, ends first.
        names: what a person calls each.
        settings: in order.
        hops: the steps.
        shares: share of each setting in the variance [1]; what belongs to none stands under an empty name.
        own: of that, what each step adds by itself, how the part sits in the setting left out [1].
    """

    limit: str
    ends: tuple[Surface, ...]
    surfaces: tuple[Surface, ...]
    names: tuple[str, ...]
    settings: tuple[str, ...]
    hops: tuple[Hop, ...]
    shares: dict[str, float]
    own: dict[Hop, float] = field(default_factory=dict)


def way_of(size: Size, belief: Belief) -> Way | None:
    """The way of a limit; None where it cannot be followed.

    Args:
        size: the limit as it will come out.
        belief: what is believed.
    """
    if size.came is None:
        return None
    case, limit = size.case, size.case.limit
    assert limit is not None
    ends: dict[Surface, None] = {}
    for name in limit.between:
        place = locate(name, case.job, case.parts, limit.part)
        ends[place.part, place.faces[0]] = None
    hops = dict.fromkeys(hop for part, number in ends for hop in _trail(case, part, number))
    surfaces = tuple(dict.fromkeys((*ends, *(end for hop in hops for end in (hop.made, hop.datum)))))
    order = list(case.route.settings)
    settings = sorted(dict.fromkeys(hop.setting for hop in hops), key=order.index)
    own = shares_by_step(size, belief, tuple(hops))
    return Way(case.name, tuple(ends), surfaces, tuple(surface_name(case, *at) for at in surfaces), tuple(settings),
               tuple(hops), shares_by_setting(size, belief), own)


def _trail(case: Case, part: str, number: int) -> Iterator[Hop]:
    made = maker(case, part, number)
    for _ in range(_MOST):
        if made is None:
            return
        own = (part, made.face.number)
        datum = _datum(case, made)
        yield Hop(made.setting_name, own, own if datum is None else (part, datum.number), made.op_name)
        if datum is None:
            return
        first = min(op.number for _, op in case.route.of_setting(made.setting_name))
        made = last_before(case, part, datum.number, first)


def _datum(case: Case, made: Made) -> Face | None:
    """The face that places another along its own direction: the one that was touched, else a locating one."""
    part, names, zero = case.parts[made.part], case.job.parts[made.part].names, made.setting.zero
    touched = []
    for name in (zero.x, zero.y, zero.z):
        try:
            touched.append(part.faces[resolve(name, part, names)[0]])
        except NameUnknown:
            continue
    located = [point.face for point in locators(made.setting, part, names) if point.face is not None]
    way = made.face.normal if made.face.axis is None else part_axis(part, made.face)
    placing = (face for face in (*touched, *located) if face.number != made.face.number)
    return next((face for face in placing if abs(dot(face.normal, way)) > _ALONG), None)


def part_axis(part: Part, hole: Face) -> tuple[float, float, float]:
    """The direction across a hole in which the part is longest: where its place matters most."""
    assert hole.axis is not None
    reach = [high - low for low, high in zip(part.low, part.high, strict=True)]
    across = max((k for k in range(3) if abs(hole.axis[k]) < 1.0 - _ALONG), key=lambda k: reach[k], default=0)
    x, y, z = (1.0 if k == across else 0.0 for k in range(3))
    return x, y, z


def surface_name(case: Case, part: str, number: int) -> str:
    """What a person calls a face: by the direction it looks, an own name, its feature, or its number."""
    digest, wanted = case.parts[part], case.job.parts[part]
    several = len(case.parts) > 1
    return f"{part} {_name(digest, wanted, number)}" if several else _name(digest, wanted, number)


def _name(part: Part, wanted: PartWanted, number: int) -> str:
    if own := _own_name(part, wanted, number):
        return own
    for side, way in DIRECTIONS.items():
        if any(face.number == number for face in outermost(part, way)):
            return side
    feature = next((f.id for f in part.features if number in f.faces), "")
    return feature or f"face {number}"


def _own_name(part: Part, wanted: PartWanted, number: int) -> str:
    """The person's name for a face, the one that means the fewest others; empty where there is none."""
    found = []
    for own in wanted.names:
        try:
            faces = resolve(own, part, wanted.names)
        except NameUnknown:
            continue
        if number in faces:
            found.append((len(faces), own))
    return min(found)[1] if found else ""


def shares_by_setting(size: Size, belief: Belief) -> dict[str, float]:
    """Share of each setting in the variance of a limit at its worst corner [1]."""
    route = size.case.route
    out: dict[str, float] = {}
    for name, share in _shares(size, belief).items():
        place = size.came.found.sources[name].where if size.came else ""
        operation = route.operations.get(place)
        where = operation.setting if operation else place if place in route.settings else ""
        out[where] = out.get(where, 0.0) + share
    return out


def shares_by_step(size: Size, belief: Belief, hops: Sequence[Hop]) -> dict[Hop, float]:
    """What each step adds by itself [1]: errors of its operation, and those of its setting about its surface."""
    out = dict.fromkeys(hops, 0.0)
    for name, share in _shares(size, belief).items():
        where = size.came.found.sources[name].where if size.came else ""
        faces = [word for word in name.split(":")[2:] if word.isdigit()]
        mine = [hop for hop in hops if str(hop.made[1]) in faces and where in (hop.setting, hop.operation)]
        mine = mine or [hop for hop in hops if where == hop.operation]
        for hop in mine:
            out[hop] += share / len(mine)
    return out


def _shares(size: Size, belief: Belief) -> dict[str, float]:
    """Share of each error in the variance of a limit at its worst corner [1]."""
    if size.came is None:
        return {}
    found = size.came.found
    lines = (found.middle, *found.corners)
    line = lines[min(size.came.spreads.worst, len(lines) - 1)]
    out = {}
    for name in found.names():
        source = found.sources[name]
        rows = source.rows(belief)
        variance = typical_sd(rows) ** 2 if source.lasting else float(np.median(rows**2))
        out[name] = variance * line.get(name, 0.0) ** 2
    total = sum(out.values())
    return {name: variance / total for name, variance in out.items()} if total > 0.0 else {}
