"""The edge wears out before the operation is done: what the job has used of its life so far.

Shares of life of all earlier operations with the same tool add up. A tool that is blunt is taken out where it
shows: the chance is that of wearing out in this operation, having lasted until it. Each row has one life of the
tool; lives scatter about it from edge to edge.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.wear import flank_wear
from ..medians import median, point_of
from ..normal import normal_cdf
from ..units import tell
from ._blunt import felt
from ._chance import figure
from ._knobs import FRESH, HARDER_TOOL, SPEED_DOWN
from ._life import BOOK_ARC, used
from ._past import past_of, time_in_cut
from .base import Case, Check, Finding, Spread, cannot
from .si import millimetres, minutes, value

NAME = "wear"
#: One standard deviation of the logarithm of life between edges of one lot in one bar; judged.
EDGE_SCATTER: Final = 0.3
_OVER: Final = 2.0           #: lives used: from there on a width of its flank is that of no edge any more
_FAR, _FELT = 5.0, 0.05      #: times the median, and share of a life, from which a bad case is told too


def own_use(case: Case, belief: Belief) -> Rows:
    """Share of its tool's life that one operation uses, by row [1]."""
    return used([past_of(case)], case.tool.coating, belief)


def wears_out(before: Rows, after: Rows) -> Rows:
    """Chance by row that an edge wears out now, having lasted so far: lives scatter about 1."""
    lasted, lasts = _lasting(before), _lasting(after)
    return np.asarray(1.0 - np.divide(lasts, lasted, out=np.zeros_like(lasts), where=lasted > 0.0))


def _lasting(used: Rows) -> Rows:
    """Chance by row that the edge is still good when so much of a usual life is used."""
    share = np.full(used.shape, 1.0)
    some = used > 0.0
    share[some] = normal_cdf(-np.log(used[some]) / EDGE_SCATTER)
    return share


def applies(case: Case) -> bool:
    """Whether a life of the tool may be known: a cutter, drill, tap or reamer of a steel that has a cutting speed."""
    figures = case.material.cutting_speed
    given = {"hss": figures.hss, "carbide": figures.carbide}
    return (case.operation is not None and case.op.tool is not None and past_of(case).wears
            and (given.get(case.tool.material) is not None or not any(given.values())))


def _evaluate(case: Case, belief: Belief) -> Finding:
    if not any((case.material.cutting_speed.hss, case.material.cutting_speed.carbide)):
        return cannot(NAME, case, "tool", f"no cutting speed of {case.material.name} is known",
                      "write cutting_speed under the material, from a book")
    earlier = used(felt(case), case.tool.coating, belief)
    after = earlier + own_use(case, belief)
    return Finding(NAME, "operation", case.name, "tool", wears_out(earlier, after), Spread.of(after), Spread.of(1.0),
                   "lives", _because(case, belief, earlier, after),
                   "look at the edge under a glass after it: a bright land along the flank, and how wide")


def _because(case: Case, belief: Belief, earlier: Rows, after: Rows) -> str:
    land = flank_wear(after, value(belief, "shop", "end_wear"))
    widest = median(millimetres(land))
    past = past_of(case)
    inside = float(time_in_cut(case).sum()) if past.mills else past.edge_time / BOOK_ARC
    tool, spent = case.tool.name, figure(minutes(inside))
    before = f", {_percent(earlier)} % before it" if median(earlier) > 0.001 else ""
    notched = "; scale notches the edge" if past.notched else ""
    if median(after) > _OVER and median(earlier) < 1.0:
        lasts = _long(inside * (1.0 - median(earlier)) / median(after - earlier))
        return f"of the {spent} min in this cut {tool} lasts {lasts}{before}{notched}"
    worn = f" and its flank is worn about {tell(widest, 'length', case.job.units, 2)} wide" if widest >= 0.01 else ""
    worn = worn if median(after) <= _OVER else ""
    worst = _at_worst(after)
    return (f"after {spent} min in the cut the job has used about {_percent(after)} % of the life of {tool}"
            f"{worst}{before}{',' if (before or worst) and worn else ''}{worn}{notched}")


def _at_worst(share: Rows) -> str:
    """How much of it in one case of twenty, where that is much more: lives are known within factors."""
    usual, most = max(median(share), 0.001), point_of(share, 0.95)
    if most < _FAR * usual or most < _FELT:
        return ""
    much = "all of it" if most >= 1.0 else f"{float(f'{100.0 * most:.1g}'):g} %"
    return f", in one case of twenty {much}"


def _long(seconds: float) -> str:
    """How long an edge lasts, for a sentence."""
    return f"about {figure(seconds)} s" if seconds < 60.0 else f"about {figure(minutes(seconds))} min"


def _percent(share: Rows) -> str:
    """The median share in percent, for a sentence: one figure, for what went before is felt in steps no finer."""
    return f"{float(f'{max(100.0 * median(share), 0.1):.1g}'):g}"


CHECK = Check(NAME, "edge wears out", "tool", "operation", applies, _evaluate,
              knobs=(FRESH, SPEED_DOWN, HARDER_TOOL), feels_wear=True)
