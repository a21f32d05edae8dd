"""How blunt a tool stands in the spindle when an operation begins: by what it has cut before in this job.

Nobody feels a tool that has cut for a minute more than another. What it has used of its life is felt in steps, each
a quarter more than the last, and none less than a twentieth of a life: far finer than it is known, and a change of
one cut leaves the checks of most others as they are.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp, log, log10
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.force import Coefficients
from ..cutting.wear import wear_since_run_in, worn
from ..kept import kept, one_of
from ..shop.columns import columns_of
from ..shop.models import Shop
from ._life import used
from .base import Case, Past
from .si import metres, value

#: Drag on the land over the pressure on it, where the work shears along it: the shear strength of a ductile metal.
STICKING: Final = 3.0**-0.5
#: Land at which nobody cuts on any more [mm]: the force law of a blunt edge holds up to it (waldorf1999, sikdar2002).
CHANGED: Final = 0.5
#: Steps to ten times as much (ISO 3, R 10): half a step is an eighth of a life that is known within half of itself.
STEPS: Final = 10
#: The same for speed, chip and depth of all that was cut: they only tell how the spread of a life grows with them.
KINDS: Final = 20
#: The least step, as a share of a book life: what an edge uses while it is run in (`cutting.wear`). A land grows with
#: the share, so that half of it tells less of a force than half a step does of an edge that has cut for longer.
FELT: Final = 0.05
#: Tools as they stand in the spindle, of which one stands for all that are felt alike.
FELT_KEPT: Final = 1024


def since_fresh(case: Case) -> list[Past]:
    """What was cut before with the tool as it stands in the spindle."""
    with_it = [past for past in case.before if past.tool == case.op.tool]
    if case.op.fresh:
        return []
    last = max((i for i, past in enumerate(with_it) if past.fresh), default=0)
    return with_it[last:]


def _stands_on(case: Case) -> tuple[object, ...]:
    return (case.shop, case.shop.tools.get(case.op.tool or ""), *since_fresh(case))


@kept(1024, by=_stands_on)
def felt(case: Case) -> tuple[Past, ...]:
    """The same as it is felt: cuts of one kind as one that uses as much of a life by the book, in steps.

    Cut by cut where the shop's books have no life for one of them.
    """
    cuts = [past for past in since_fresh(case) if past.wears]
    if not cuts:
        return ()
    book, coating = _book(case.shop), case.tool.coating
    if not all(_lives(book, cut) for cut in cuts):
        return one_of(_felt, tuple(cuts), FELT_KEPT)
    kinds: dict[tuple[object, ...], list[Past]] = {}
    for cut in cuts:
        kinds.setdefault((cut.material, cut.coolant, cut.notched, cut.law, cut.mills), []).append(cut)
    worn_by = tuple(one for alike in kinds.values() if (one := _as_one(alike, coating, book)))
    return one_of(_felt, worn_by, FELT_KEPT)


_felt: dict[tuple[Past, ...], tuple[Past, ...]] = {}


def _as_one(alike: list[Past], coating: str | None, book: Belief) -> Past | None:
    """One cut for several of a kind: at their mean speed, chip and depth, for as long as uses the same share."""
    shares = [_share(cut, coating, book) for cut in alike]
    share = _as_felt(sum(shares))
    if share == 0.0:
        return None
    first = alike[0]
    chip, deep = ((_mean([cut.chip for cut in alike], shares), _mean([cut.deep for cut in alike], shares))
                  if first.mills else (0.0, 0.0))
    one = Past("", first.tool, first.tool_material, first.material, first.coolant, first.notched, False, 0.0, 0.0,
               volume=1.0 if first.mills else 0.0, edge_time=1.0, chip=chip, deep=deep, law=first.law,
               speed=_mean([cut.speed for cut in alike], shares))
    return replace(one, edge_time=share / _share(one, coating, book))


def _as_felt(share: float) -> float:
    """What is used of a life, in even shares as long as a step to the next would be smaller than these."""
    shares = FELT * round(share / FELT)
    return shares if shares * (10.0 ** (1.0 / STEPS) - 1.0) < FELT else on_a_step(share, STEPS)


def _mean(values: list[float], weights: list[float]) -> float:
    """The geometric mean, on a step."""
    total = sum(weights)
    return on_a_step(exp(sum(w * log(v) for v, w in zip(values, weights, strict=True)) / total), KINDS)


def on_a_step(number: float, steps: int) -> float:
    """The nearest of so many even steps to ten times as much (ISO 3); 0 stays 0."""
    return float(10.0 ** (round(log10(number) * steps) / steps)) if number > 0.0 else 0.0


def _share(cut: Past, coating: str | None, book: Belief) -> float:
    """Share of a life that a cut uses by the book; kept, since every later cut with the tool asks."""
    key = cut.blunts, coating
    if key not in _shares:
        _shares[key] = float(used([cut], coating, book)[0])
    return _shares[key]


_shares: dict[tuple[tuple[object, ...], str | None], float] = {}


def _lives(book: Belief, cut: Past) -> bool:
    """Whether the books tell how long a tool lasts in such a cut."""
    key = cut.tool_material, cut.law, cut.material
    if key not in _told:
        _told[key] = _tells(book, cut)
    return _told[key]


_told: dict[tuple[str, str, str], bool] = {}


def _tells(book: Belief, cut: Past) -> bool:
    made_of = f"tool_material:{cut.tool_material}"
    own = [("shop", f"{cut.law}_{name}") for name in ("speed", "life", "exponent")]
    milling = [(made_of, "taylor_exponent"), (made_of, "book_margin"), ("shop", "book_life"), ("shop", "book_feed"),
               ("shop", "book_depth")]
    wanted = own if cut.law else milling
    return all(book.has(*name) for name in (
        (f"material:{cut.material}", f"cutting_speed:{cut.tool_material}"), *wanted))


def _book(shop: Shop) -> Belief:
    """The book figures of a shop, each at its median."""
    if not _books or _books[0][0] is not shop:
        _books[:] = [(shop, Belief.of(columns_of(shop), rows=1))]
        _shares.clear()
        _told.clear()
    return _books[0][1]


_books: list[tuple[Shop, Belief]] = []


def blunted(sharp: Coefficients, case: Case, belief: Belief) -> Coefficients:
    """The force law of the tool as it stands in the spindle: what it has cut before in this job has worn its flank.

    As it is where nothing was cut before, or the strength of the work is not known.
    """
    entity = f"material:{case.material_name}"
    land = flank_land(case, belief) if belief.has(entity, "yield_strength") else None
    return sharp if land is None else worn(sharp, land, value(belief, entity, "yield_strength"), STICKING)


def flank_land(case: Case, belief: Belief) -> Rows | None:
    """Land on the flank of the tool as it stands in the spindle, beyond a run-in edge's, by row [m].

    None where it has cut nothing before in this job that is felt. No wider than `CHANGED`: nobody cuts on with such
    an edge, and that it wears out so soon is counted where it does, by the check of wear.
    """
    if not case.before or case.op.tool is None:
        return None
    earlier = used(felt(case), case.tool.coating, belief)
    if not np.any(earlier > 0.0):
        return None
    return np.minimum(wear_since_run_in(earlier, value(belief, "shop", "end_wear")), metres(CHANGED))
