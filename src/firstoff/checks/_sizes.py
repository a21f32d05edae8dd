"""From surfaces to limits: what each source of error does to a size, at its middle and at its corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..job.faces import Place, dot, locate, outermost
from ..job.models import Limit
from ..medians import medians
from ..part.shapes import Face, Vector
from ..units import tell
from ._forms import Moves, along, plus
from ._locators import Array
from ._makers import Broken, Made, cuts_of, maker
from ._surfaces import Line, Source, Surfaces, surfaces_of
from .base import Case
from .si import metres

#: what is smaller than this beside the largest has cancelled, but for rounding
CANCELS: Final = 1.0 / 2**30
#: what a chain of plain distances may be off in the models, beside its tolerance [mm]
OPEN: Final = 0.01


@dataclass(frozen=True)
class Sized:
    """A limit as a sum of errors.

    Fields:
        middle: what each source does to it at the middle of its faces [1, or m for an angle].
        corners: the same at each corner where it must hold, for limits between flat faces.
        sources: what the names mean.
        measured: the operation after which it is measured, so that the last cut is set by it; empty for none.
        late: the operation that ends it.
        lapped: whether that is lapping until it reads right.
    """

    middle: Line
    corners: tuple[Line, ...]
    sources: dict[str, Source]
    measured: str
    late: str
    lapped: bool = False

    @property
    def aimed(self) -> bool:
        """Whether it is made for the middle of its limits, since it is measured before it is done."""
        return bool(self.measured) or self.lapped

    def reads(self) -> tuple[tuple[str, str], ...]:
        """The operations whose cuts it stands on, each with a digest of it."""
        return tuple(sorted({found for name in self.names() if (found := self.sources[name].reads) is not None}))

    def names(self) -> tuple[str, ...]:
        """The sources that move it, those that cancel left out."""
        lines = (self.middle, *self.corners)
        least = CANCELS * max((abs(size) for line in lines for size in line.values()), default=0.0)
        return tuple(name for name in self.middle if any(abs(line.get(name, 0.0)) > least for line in lines))


@dataclass(frozen=True)
class Spreads:
    """The sources of a limit by row: K sizes, S scatters.

    Fields:
        offset: what is the same all day [m], shape (N, K).
        lines: what one unit of each scatter does [1], shape (K, S).
        sd: of each scatter by row [m], shape (S, N).
        labels: of each scatter, what a person calls it.
    """

    offset: Rows
    lines: Array
    sd: Array
    labels: tuple[str, ...]
    names: tuple[str, ...]

    @property
    def variance(self) -> Rows:
        """Of each size by row [m2], shape (N, K)."""
        return np.asarray((self.lines**2 @ self.sd**2).T)

    @property
    def worst(self) -> int:
        """Which of the sizes is likeliest to be far off: its number."""
        return int(np.argmax(medians(self.variance + self.offset**2, 0)))

    def largest(self, size: int | None = None) -> str:
        """What adds most to one of the sizes, the worst if none is named."""
        shares = self.shares(self.worst if size is None else size)
        return max(shares, key=lambda label: shares[label]) if shares else "nothing"

    def shares(self, size: int = 0) -> dict[str, float]:
        """Share of each kind of source in the variance of a size, the largest first [1]."""
        each = self.lines[size] ** 2 * medians(self.sd**2, 1)
        total = float(each.sum())
        out: dict[str, float] = {}
        for label, part in zip(self.labels, each, strict=True):
            if part > 0.0 and total > 0.0:
                out[label] = out.get(label, 0.0) + float(part) / total
        return dict(sorted(out.items(), key=lambda item: -item[1]))


@dataclass(frozen=True)
class Link:
    """One distance of a limit: from the other face to the one."""

    part: str
    one: Face
    other: Face
    gain: float

    @property
    def way(self) -> Array:
        """Direction of the distance: square to a flat face, else from hole to hole."""
        flat = self.one if self.one.kind == "plane" else self.other if self.other.kind == "plane" else None
        apart = _apart(self.other, self.one)
        if flat is not None:
            normal = np.array(flat.normal)
            return -normal if float(normal @ np.array(apart)) < 0.0 else normal
        size = float(np.linalg.norm(apart))
        if size == 0.0:
            raise Broken(f"face {self.one.number} and face {self.other.number} of {self.part} lie in one place")
        return np.array(apart) / size


def sized(
    case: Case, limit: Limit, belief: Belief, surfaces: Surfaces | None = None, *,
    instead: dict[str, Made] | None = None, stop: bool = True,
) -> Sized:
    """What each source of error does to a limit.

    Args:
        case: a case of the job.
        limit: the limit.
        belief: what is believed.
        surfaces: of the same job, where some are known already.
        instead: by operation, another way in which its face would be made.
        stop: whether it is measured before its last cut, where the route says so.

    Raises:
        Broken: if a face is made by no operation, or nothing places it.
        NameUnknown: if a face does not exist.
    """
    where = surfaces or surfaces_of(case, belief)
    links = links_of(case, limit)
    makers = {(link.part, face.number): needs(case, link.part, face.number)
              for link in links for face in (link.one, link.other)}
    makers = {key: (instead or {}).get(made.op_name, made) for key, made in makers.items()}
    late = max(makers.values(), key=lambda made: made.op.number)
    if stop and names_of(case, limit) & set(late.op.suits):
        return _to_suit(where, limit, links, makers, late)
    lapped = late.op.role == "lap" and bool(names_of(case, limit) & set(late.op.measure))
    if lapped and limit.kind == "chain":
        return _lapped_to(where, limit, links, late)
    before = measured_before(case, limit, list(makers.values()), late) if stop and not lapped else None
    lines = [total_of(where, links, makers, corner) for corner in (None, *_corners(links))]
    if before is None:
        middle, *corners = where.named(lines)
        return Sized(middle, tuple(corners), where.sources, "", late.op_name, lapped)
    rough = makers | {(late.part, late.face.number): before}
    read = read_by(where, limit)
    then = total_of(where, links, rough, None)      # the last cut is set by one reading, taken at the middle
    middle, *corners = where.named(plus((line, 1.0), (then, -1.0), (read, 1.0)) for line in lines)
    return Sized(middle, tuple(corners), where.sources, before.op_name, late.op_name)


def deep(case: Case, limit: Limit, belief: Belief) -> Sized:
    """What each source of error does to a depth: from the outermost face over a floor, down to the floor.

    Raises:
        Broken: if the floor is no flat face, nothing lies over it, or no operation makes them.
        NameUnknown: if it does not exist.
    """
    part, floor = face_of(case, limit.between[0], limit.part)
    over = outermost(case.parts[part], floor.normal) if floor.kind == "plane" else ()
    if not over or over[0].number == floor.number:
        raise Broken(f"nothing lies over {limit.between[0]}: write the depth as a distance between two faces")
    between = (f"face {over[0].number}", f"face {floor.number}")
    return sized(case, limit.model_copy(update={"kind": "distance", "between": between, "part": part}), belief)


def spreads(found: Sized, belief: Belief, lines: Sequence[Line]) -> Spreads:
    """The sources of a limit by row."""
    names = found.names()
    lasting = [n for n in names if found.sources[n].lasting]
    scatter = [n for n in names if not found.sources[n].lasting]
    offset = np.zeros((belief.rows, len(lines)))
    for name in lasting:
        offset += np.outer(found.sources[name].rows(belief), [line.get(name, 0.0) for line in lines])
    sd = np.array([found.sources[n].rows(belief) for n in scatter]).reshape(len(scatter), belief.rows)
    table = np.array([[line.get(n, 0.0) for n in scatter] for line in lines]).reshape(len(lines), len(scatter))
    return Spreads(offset, table, sd, tuple(found.sources[n].label for n in scatter), tuple(scatter))


def links_of(case: Case, limit: Limit) -> list[Link]:
    """The distances that a limit adds up.

    Raises:
        Broken: if one of them goes across two parts, has an end that is neither flat nor round, or they do not close.
        NameUnknown: if a face does not exist.
    """
    out = []
    for one, other, gain in limit.links:
        first, second = (locate(name, case.job, case.parts, limit.part) for name in (one, other))
        if first.part != second.part:
            raise Broken(f"{one} and {other} lie on two parts: write a chain of distances, each within one part")
        for name, place in ((one, first), (other, second)):
            face = _face(case, place)
            if face.kind != "plane" and face.axis is None:
                raise Broken(f"{name} is neither flat nor round: nothing tells where on it one measures")
        factor = gain if limit.gains or limit.kind == "chain" else 1.0
        out.append(Link(first.part, _face(case, first), _face(case, second), factor))
    _closes(case, limit, out)
    return out


def _closes(case: Case, limit: Limit, links: list[Link]) -> None:
    """Plain distances must come to the size that the job names; a chain with other gains only tells changes.

    Raises:
        Broken: if it does not.
    """
    if limit.size is None or any(abs(link.gain) != 1.0 for link in links):
        return
    total = sum(link.gain * abs(float(link.way @ np.array(_apart(link.other, link.one)))) for link in links)
    low, high = limit.tolerance
    if abs(total - limit.size) > high - low + OPEN:
        come, want = (tell(size, "length", case.job.units) for size in (total, limit.size))
        if len(links) == 1:
            raise Broken(f"the model has {come} there, and the job wants {want}")
        raise Broken(f"the chain does not close: its links come to {come} in the models, and the job wants {want}")


def _face(case: Case, place: Place) -> Face:
    return case.parts[place.part].faces[place.faces[0]]


def face_of(case: Case, name: str, part: str | None) -> tuple[str, Face]:
    """The part and the face that a limit names.

    Raises:
        NameUnknown: if it does not exist.
    """
    place = locate(name, case.job, case.parts, part)
    return place.part, _face(case, place)


def needs(case: Case, part: str, number: int) -> Made:
    """The operation that makes a face.

    Raises:
        Broken: if none does.
    """
    made = maker(case, part, number)
    if made is None:
        raise Broken(f"no operation of the route finishes face {number} of {part}")
    return made


def measured_before(case: Case, limit: Limit, makers: list[Made], late: Made) -> Made | None:
    """The cut before the last one, where the limit is measured between them so that the last is set by it.

    All other faces must be finished when it is measured.
    """
    names = names_of(case, limit)
    others = [m.op.number for m in makers if m.op_name != late.op_name]
    cuts = [m for m in cuts_of(case, late.part, late.face.number) if m.op.number < late.op.number]
    seen = [op.number for _, op in case.route.in_order() if names & set(op.measure)
            and max(others, default=0) <= op.number < late.op.number]
    rough = [m for m in cuts if seen and m.op.number <= max(seen) and m.op.leaves > 0.0]
    return rough[-1] if rough else None


def names_of(case: Case, limit: Limit) -> set[str]:
    """Under which a limit stands in the job."""
    return {name for name, item in case.job.limits.items()
            if item is limit or item == limit or (name == case.name and item.kind in ("depth", "clearance"))}


def _to_suit(
    where: Surfaces, limit: Limit, links: list[Link], makers: dict[tuple[str, int], Made], late: Made
) -> Sized:
    """Its last cut set by what was measured of the other parts: of theirs the readings alone are left to err.

    Raises:
        Broken: if another part is not finished by then, or nothing measures it.
    """
    own = [link for link in links if link.part == late.part]
    line, last = total_of(where, own, makers, None), None
    for link in links:
        if link.part == late.part:
            continue
        ends = [makers[link.part, face.number] for face in (link.one, link.other)]
        last = max([*ends, *([last] if last else [])], key=lambda made: made.op.number)
        if last.op.number >= late.op.number:
            raise Broken(f"{last.op_name} comes after {late.op_name}, which is to suit what it makes")
        key = where.reading(_measures(where.case, limit, link), f"{link.part}:{link.one.number}:{link.other.number}")
        line = plus((line, 1.0), (where.moves({key: link.gain}), 1.0))
    if last is None:
        raise Broken(f"{late.op_name} suits no other part")
    return Sized(where.named((line,))[0], (), where.sources, last.op_name, late.op_name)


def _lapped_to(where: Surfaces, limit: Limit, links: list[Link], late: Made) -> Sized:
    """A chain of which a face is lapped with the parts together until it reads right: the reading and the lap err."""
    line, true = read_by(where, limit), where.lapped_true(late)
    for link in links:
        for face, sign in ((link.one, 1.0), (link.other, -1.0)):
            if (link.part, face.number) == (late.part, late.face.number):
                line = plus((line, 1.0), (along(true, _middle(link), link.way), sign * link.gain))
    return Sized(where.named((line,))[0], (), where.sources, "", late.op_name, lapped=True)


def _measures(case: Case, limit: Limit, link: Link) -> str:
    """The instrument for one link of a chain: that of the distance between its faces, else the chain's own.

    Raises:
        Broken: if none is named.
    """
    for item in case.job.limits.values():
        if item.kind == "distance" and item.instrument is not None:
            places = [locate(name, case.job, case.parts, item.part) for name in item.between]
            if {(p.part, p.faces[0]) for p in places} == {(link.part, f.number) for f in (link.one, link.other)}:
                return item.instrument
    if limit.instrument is None:
        raise Broken(f"no instrument is named for what is measured of the {link.part}")
    return limit.instrument


def total_of(where: Surfaces, links: list[Link], makers: dict[tuple[str, int], Made], corner: int | None) -> Moves:
    """A limit as a sum over its links, at the middle of the faces or at one of their corners."""
    out = where.moves({})
    for link in links:
        way = link.way
        point = _middle(link) if corner is None else _corner_points(link)[corner]
        for face, sign in ((link.one, 1.0), (link.other, -1.0)):
            form = where.made(makers[link.part, face.number])
            out = plus((out, 1.0), (along(form, point, way), sign * link.gain))
    return out


def read_by(where: Surfaces, limit: Limit) -> Moves:
    """What a reading adds."""
    if limit.instrument is None or not where.belief.has(f"instrument:{limit.instrument}", "uncertainty"):
        raise Broken("no instrument is named for what is measured before the last cut")
    return where.moves({where.reading(limit.instrument): 1.0})


def _smaller(link: Link) -> Face:
    """The face over which both can be measured against each other."""
    return min((link.one, link.other), key=lambda face: face.area)


def _middle(link: Link) -> Array:
    return np.asarray(metres(np.array(_smaller(link).centroid)))


def _corners(links: list[Link]) -> tuple[int, ...]:
    """A plain distance between two flat faces must hold at their corners; a chain or a hole at its middle."""
    flat = len(links) == 1 and links[0].one.kind == "plane" and links[0].other.kind == "plane"
    return (0, 1, 2, 3) if flat else ()


def _corner_points(link: Link) -> list[Array]:
    """The corners of the smaller face, in its plane."""
    face, way = _smaller(link), link.way
    low, high = metres(np.array(face.low)), metres(np.array(face.high))
    flat = int(np.argmax(np.abs(way)))
    one, two = (k for k in range(3) if k != flat)
    points = []
    for a in (low, high):
        for b in (low, high):
            point = (low + high) / 2.0
            point[one], point[two] = a[one], b[two]
            points.append(point)
    return points


def _apart(one: Face, two: Face) -> Vector:
    x, y, z = (b - a for a, b in zip(axis_place(one), axis_place(two), strict=True))
    return x, y, z


def axis_place(face: Face) -> Vector:
    """The middle of a flat face, or a point on the axis of a round one abreast of its middle."""
    if face.axis_point is None or face.axis is None:
        return face.centroid
    far = dot(face.axis, (face.centroid[0] - face.axis_point[0], face.centroid[1] - face.axis_point[1],
                          face.centroid[2] - face.axis_point[2]))
    x, y, z = (p + far * a for p, a in zip(face.axis_point, face.axis, strict=True))
    return x, y, z

