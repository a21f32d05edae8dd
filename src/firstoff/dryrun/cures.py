"""What would make a size come right more often: an error that does not come, or another way to make it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks._chance import discrepancy
from ..checks._makers import Broken
from ..checks._sizes import Sized, spreads
from ..checks._surfaces import Line
from ..checks.base import Case
from ..checks.size import Expected, bounds, chance_by_row, expected
from ..errors import NameUnknown
from ..job.edits import apply_edits
from ..job.route import Route
from ..shop.models import Shop
from .assembled import across_parts
from .lapping import by_lapping
from .otherwise import in_its_part, limit_of
from .quick import Quick
from .times import handling

FEW: Final = 256              #: rows that are looked at for what would help
CURES: Final = 3              #: errors named whose end would help most; changes told that help most
WORTH: Final = 0.8            #: a cure is told if the chance falls to this share of what it was, or lower


@dataclass(frozen=True)
class Cure:
    """What would become of a size if it were made otherwise.

    Fields:
        text: what would be otherwise.
        p_after: chance that it is out then [1].
        saves: minutes that this saves, less what it takes, at the price of the part made anew [min]; None where it
            is no change that anybody can make.
        edits: of `route.toml`, that make the change.
        minutes: that it takes more at the machine and the bench [min]; None before it was checked in full.
        breaks: what is no good then that was not before; empty for nothing.
    """

    text: str
    p_after: float
    saves: float | None = None
    edits: tuple[tuple[str, str], ...] = ()
    minutes: float | None = None
    breaks: str = ""


def cures_of(case: Case, belief: Belief, p: float, remake: float) -> tuple[Cure, ...]:
    """What helps most: an error that does not come, or another way to make its faces.

    Args:
        case: of the limit.
        belief: what is believed.
        p: chance that it is out as planned [1].
        remake: minutes that the part costs when it is lost [min].
    """
    few = _few(belief)
    came = expected(case, few.belief)
    kinds = dict.fromkeys(came.found.sources[name].label for name in came.found.names())
    as_is = float(chance_by_row(came, few.belief, *bounds(limit_of(case))).mean())
    share = p / as_is if as_is > 0.0 else 1.0         # few rows say by how much it falls, all rows from what
    found = (Cure(f"without {label}", min(1.0, share * _without(case, few.belief, came, label))) for label in kinds)
    return tuple(sorted((*_best(found, p), *changes_of(case, belief, p, remake)), key=lambda cure: cure.p_after))


def changes_of(case: Case, belief: Belief, p: float, remake: float) -> tuple[Cure, ...]:
    """Other ways to make its faces that pay, the best first.

    Args:
        case: of the limit.
        belief: what is believed.
        p: chance that it is out as planned [1].
        remake: minutes that the part costs when it is lost [min].
    """
    few = _few(belief)
    changes = _otherwise(case, few, expected(case, few.belief), remake, p)
    return _best((cure for cure in changes if (cure.saves or 0.0) > 0.0 or remake == 0.0), p)


def _best(cures: Iterable[Cure], p: float) -> tuple[Cure, ...]:
    """The few that lower the chance most, of those that lower it enough to be told."""
    return tuple(sorted((cure for cure in cures if cure.p_after < WORTH * p), key=lambda cure: cure.p_after)[:CURES])


def chance_of(case: Case, belief: Belief, found: Sized) -> float:
    """The chance that a limit is out when it is made of these errors."""
    limit = case.limit
    assert limit is not None
    made = spreads(found, belief, (found.middle, *found.corners))
    low, high = bounds(limit)
    aimed = (low + high) / 2.0 if found.aimed else 0.0
    made = replace(made, offset=aimed + made.offset)
    sd = np.sqrt(made.variance[:, 0]) * discrepancy(belief, "size")
    return float(chance_by_row(Expected(made.offset[:, 0], sd, made, found), belief, low, high).mean())


def _without(case: Case, belief: Belief, came: Expected, label: str) -> float:
    """The chance if no error of this kind came."""
    found = came.found

    def left(line: Line) -> Line:
        return {name: size for name, size in line.items() if found.sources[name].label != label}

    less = replace(found, middle=left(found.middle), corners=tuple(left(line) for line in found.corners))
    return chance_of(case, belief, less)


def _few(belief: Belief) -> Quick:
    """The belief on few rows; the last is kept, since all limits ask."""
    if not _last or _last[0][0] is not belief:
        _last[:] = [(belief, Quick(belief.some(FEW)))]
    return _last[0][1]


_last: list[tuple[Belief, Quick]] = []


def _otherwise(case: Case, thin: Quick, came: Expected, remake: float, p: float) -> Iterator[Cure]:
    """Other ways to make it, each edited into the route and looked at there."""
    for way in (*in_its_part(case, came, thin), *across_parts(case, came), *by_lapping(case, came)):
        then = replace(case, route=apply_edits(case.route, way.edits))
        try:
            found = expected(then, thin.belief)
        except (Broken, NameUnknown):
            continue        # made like that it could not be followed any more
        after = float(chance_by_row(found, thin.belief, *bounds(limit_of(case))).mean())
        saves = (p - after) * remake - minutes_more(case.route, then.route, case.shop)
        yield Cure(way.text, after, saves, way.edits)


def minutes_more(before: Route, after: Route, shop: Shop) -> float:
    """What a changed route takes more, running left out [min]: set-ups, tool changes, sizes to measure."""
    return _handling(after, shop) - _handling(before, shop)


def _handling(route: Route, shop: Shop) -> float:
    total, before = 0.0, None
    for _, op in route.in_order():
        total += handling(op, before, shop.machines[route.settings[op.setting].machine])
        before = op
    return total
