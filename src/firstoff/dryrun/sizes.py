"""All sizes of a job together: how far each will be out, which errors make it so, and what would cure most."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks._chance import discrepancy
from ..checks._makers import Broken, Made, maker
from ..checks._sizes import Sized, Spreads, sized, spreads
from ..checks._surfaces import Line, Surfaces
from ..checks.base import Case
from ..checks.si import millimetres
from ..checks.size import Expected, bounds, chance_by_row, expected, too_coarse
from ..errors import NameUnknown
from ..job.faces import dot, locate
from ..stack.chain import worst_case

#: in a worst case every error lies at this many standard deviations, all the same way
WORST: Final = 2.0
THIN: Final = 8               #: each so many rows are looked at for what would help
CURES: Final = 3              #: errors named whose end would help most
WORTH: Final = 0.8            #: a cure is told if the chance falls to this share of what it was, or lower


@dataclass(frozen=True)
class Cure:
    """What would become of a size if one error did not come."""

    text: str
    p_after: float


@dataclass(frozen=True)
class Size:
    """A limit as it will come out. Lengths in mm, against the nominal.

    Fields:
        case: the limit with its job and route.
        came: what it is made of; None where it cannot be followed.
        mean: expected deviation at its worst corner [mm].
        sd: its standard deviation, what is believed and what is new each time together [mm].
        p_out: chance that it is out anywhere [1]; None where it cannot be told.
        worst: how far out with every error at two standard deviations the same way [mm].
        shares: share of each kind of error in its variance, the largest first [1].
        cures: what would help most.
        because: why it cannot be told; empty where it can.
    """

    case: Case
    came: Expected | None
    mean: float
    sd: float
    p_out: float | None
    worst: float
    shares: Mapping[str, float]
    cures: tuple[Cure, ...]
    because: str = ""
    p_unmeasured: float | None = None      # chance if it were not measured before the last cut, where it is [1]

    @property
    def name(self) -> str:
        """Of the limit."""
        return self.case.name

    @property
    def too_coarse(self) -> bool:
        """Whether its instrument cannot confirm it."""
        limit = self.case.limit
        assert limit is not None
        return too_coarse(limit, self.case.shop.instruments.get(limit.instrument or ""))


def sizes_of(cases: Iterable[Case], belief: Belief, *, cures: bool = True) -> tuple[Size, ...]:
    """Every limit of a job as it will come out.

    Args:
        cases: of a walk; those that are no limits are passed over.
        belief: what is believed.
        cures: whether to look for what would help, too.
    """
    return tuple(size_of(case, belief, cures=cures) for case in cases if case.limit is not None)


def size_of(case: Case, belief: Belief, *, cures: bool = True) -> Size:
    """One limit as it will come out."""
    limit = case.limit
    assert limit is not None
    try:
        came = expected(case, belief)
    except (Broken, NameUnknown) as reason:
        return Size(case, None, 0.0, 0.0, None, 0.0, {}, (), str(reason))
    low, high = bounds(limit)
    p = float(chance_by_row(came, belief, low, high).mean())
    believed = lasting_shares(came.found)
    at = came.spreads.worst
    offset = came.spreads.offset[:, at]
    own = came.spreads.variance[:, at].mean() * float((discrepancy(belief, "size") ** 2).mean())
    sd = float(np.sqrt(own + offset.var()))
    unmeasured = _chance(case, belief, sized(case, limit, belief, stop=False)) if came.found.measured else None
    return Size(case, came, millimetres(float(offset.mean())), millimetres(sd), p,
                millimetres(_worst(came)), _shares(came.spreads, believed),
                tuple(_cures(case, belief, p)) if cures else (), p_unmeasured=unmeasured)


def lasting_shares(found: Sized) -> dict[str, float]:
    """Variance that each lasting error brings, since it is not known: by what a person calls it [m2]."""
    out: dict[str, float] = {}
    for name in found.names():
        source = found.sources[name]
        if source.lasting:
            out[source.label] = out.get(source.label, 0.0) + found.middle[name] ** 2 * float(source.rows().var())
    return out


def _shares(made: Spreads, believed: Mapping[str, float]) -> dict[str, float]:
    """Of the size that is likeliest to be far off."""
    scatter = float(np.median(made.variance[:, made.worst]))
    total = scatter + sum(believed.values())
    if total <= 0.0:
        return {}
    each = {label: share * scatter / total for label, share in made.shares(made.worst).items()}
    for label, variance in believed.items():
        each[label] = each.get(label, 0.0) + variance / total
    return dict(sorted(each.items(), key=lambda item: -item[1]))


def _worst(came: Expected) -> float:
    """Every error at its worst the same way [m]."""
    names = came.found.names()
    half = [WORST * float(np.median(np.abs(_wide(came.found, name)))) for name in names]
    lines = [came.found.middle, *came.found.corners]
    table = np.array([[line.get(name, 0.0) for name in names] for line in lines]).reshape(len(lines), len(names))
    return float(worst_case(table, half).max()) if names else 0.0


def _wide(found: Sized, name: str) -> Rows:
    source = found.sources[name]
    rows = source.rows()
    return np.atleast_1d(np.sqrt((rows**2).mean())) if source.lasting else rows


def _cures(case: Case, belief: Belief, p: float) -> list[Cure]:
    """What helps most: an error that does not come, or both faces cut in one setting."""
    belief = belief.thinned(range(0, belief.rows, THIN))
    came = expected(case, belief)
    kinds = dict.fromkeys(came.found.sources[name].label for name in came.found.names())
    found = [Cure(f"without {label}", _without(case, belief, came, label)) for label in kinds]
    if together := _together(case, belief):
        found.append(together)
    worth = [cure for cure in found if cure.p_after < WORTH * p]
    return sorted(worth, key=lambda cure: cure.p_after)[:CURES]


def _without(case: Case, belief: Belief, came: Expected, label: str) -> float:
    """The chance if no error of this kind came."""
    found = came.found

    def left(line: Line) -> Line:
        return {name: size for name, size in line.items() if found.sources[name].label != label}

    less = replace(found, middle=left(found.middle), corners=tuple(left(line) for line in found.corners))
    return _chance(case, belief, less)


def _chance(case: Case, belief: Belief, found: Sized) -> float:
    limit = case.limit
    assert limit is not None
    made = spreads(found, belief, (found.middle, *found.corners))
    low, high = bounds(limit)
    aimed = (low + high) / 2.0 if found.measured else 0.0
    made = replace(made, offset=aimed + made.offset)
    sd = np.sqrt(made.variance[:, 0]) * discrepancy(belief, "size")
    return float(chance_by_row(Expected(made.offset[:, 0], sd, made, found), belief, low, high).mean())


def _together(case: Case, belief: Belief) -> Cure | None:
    """Both faces cut in the later one's setting with its cutter, where a tool gets at both from there."""
    limit = case.limit
    assert limit is not None
    if limit.kind != "distance":
        return None
    places = [locate(name, case.job, case.parts, limit.part) for name in limit.between]
    made = [maker(case, place.part, place.faces[0]) for place in places]
    if made[0] is None or made[1] is None or made[0].setting_name == made[1].setting_name:
        return None
    early, late = sorted((made[0], made[1]), key=lambda item: item.op.number)
    if not _reached(case, early, late):
        return None
    moved = replace(early, setting_name=late.setting_name, setting=late.setting,
                    op=early.op.model_copy(update={"tool": late.op.tool, "setting": late.op.setting}))
    found = sized(case, limit, belief, Surfaces(case, belief), instead={early.op_name: moved})
    return Cure(f"both faces cut in setting {late.setting_name} with one cutter", _chance(case, belief, found))


def _reached(case: Case, early: Made, late: Made) -> bool:
    """Whether a tool gets at the early face from above in the late one's setting, and nothing rests on it there."""
    feature = next((f for f in case.parts[early.part].features if early.face.number in f.faces), None)
    return feature is not None and any(dot(way, late.setting.up) > 1.0 - 1e-6 for way in feature.access)
