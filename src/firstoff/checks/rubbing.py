"""The edge rubs instead of cutting: the largest chip against the least one that its rounded edge takes off."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Belief, Rows
from ..cutting.edge import lead_angle
from ..cutting.rubbing import minimum_chip, working_teeth
from ..medians import median
from ..removal.windows import Windows
from ..shop.models import Material
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, lasting, spread, weighed
from ._forces import eccentricity, is_milling, profile_of, tool_edge
from ._knobs import FEED_UP, SPEED_DOWN
from ._told import tiny
from .base import LAPSE, Case, Check, Finding, Observation
from .si import metres, micrometres, value

NAME = "rubbing"
#: Share of the time in the cut that is only touching; judged.
TOUCHES: Final = 0.05


def _tool_edge(case: Case, belief: Belief) -> tuple[Rows, float]:
    """Rounding of the edge by row [m]: the tool's own figure, else that of its material."""
    return lasting(belief, *tool_edge(case, belief))


def largest_chips(case: Case) -> tuple[float, float]:
    """Largest chip of the thinnest windows, and their feed per tooth [m]; thinner where the edge leans, as a ball's.

    It is thickest at the top of a cut, where the edge leans least. Where a cutter only touches, as at the rim of what
    it cuts, a chip is as thin as nothing: of the time in the cut the thinnest twentieth is left out.
    """
    windows = case.windows
    assert windows is not None
    cuts = _cuts(windows)
    entry, leave = windows.entry[cuts], windows.exit[cuts]
    across = (entry <= np.pi / 2) & (leave >= np.pi / 2)
    sine = np.where(across, 1.0, np.maximum(np.abs(np.sin(entry)), np.abs(np.sin(leave))))
    lead = lead_angle(profile_of(case), metres(windows.depth[cuts]))
    chip = windows.feed_per_tooth[cuts] * sine * np.sin(lead)
    order = np.argsort(chip, kind="stable")
    spent = np.cumsum(windows.seconds[cuts][order])
    thin = int(order[min(int(np.searchsorted(spent, TOUCHES * spent[-1])), len(order) - 1)])
    return metres(float(chip[thin])), metres(float(windows.feed_per_tooth[cuts][thin]))


def _applies(case: Case) -> bool:
    if not is_milling(case):
        return False
    return case.windows is not None and bool(_cuts(case.windows).any())


def _cuts(windows: Windows) -> NDArray[np.bool_]:
    """Windows with a chip: a rapid through the work, or a cut whose feed nobody knows, is told by another check."""
    fed = windows.feed_per_tooth > 0.0
    return np.asarray(fed & (windows.depth > 0.0) & (windows.exit > windows.entry))


def _evaluate(case: Case, belief: Belief) -> Finding:
    chip, _ = largest_chips(case)
    edge, own = _tool_edge(case, belief)
    ratio = value(belief, "shop", "rubbing_ratio")
    least = minimum_chip(edge, ratio) * discrepancy(belief, "rubbing")
    scatter = spread(own, OPERATION_SCATTER["chip"])
    because = (f"the chip is at most {tell(chip_mm(chip), 'length', case.job.units, 4)} thick; "
               f"this edge takes off nothing below about {tiny(least, case.job.units)}{_then(case)}"
               f"{_unequal(case, belief, chip, least)}")
    return weighed(NAME, case, "finish", micrometres(least), micrometres(np.full(belief.rows, chip)), scatter,
                   unit="um", because=because,
                   settle_by="a cut in scrap at this feed: chips that curl, or dust and a squeal")


def _loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row of dust from a metal that has chips of its own; None for all else."""
    if seen.kind != "form" or seen.word != "dust" or not _curls(case.material):
        return None
    rubs = _evaluate(case, belief).p_rows
    assert rubs is not None
    return np.asarray(np.log(LAPSE + (1.0 - 2.0 * LAPSE) * rubs))


def _curls(material: Material) -> bool:
    """Whether chips of a metal hold together: of brass and cast iron they crumble at any feed."""
    return material.group in ("P", "M") or material.welds_to_tool


def _unequal(case: Case, belief: Belief, chip: float, least: Rows) -> str:
    """What runout does to the teeth; told only, for a tool that gives evens out much of it."""
    teeth = case.tool.flutes
    if not belief.words or teeth < 2:
        return ""
    offset = eccentricity(case, belief)
    work = working_teeth(chip, teeth, offset, least)
    at_work = round(median(work))
    if not 0 < at_work < teeth:
        return ""
    often = round(10.0 * float(np.mean(work <= at_work)))
    half = "one tooth does" if at_work == 1 else f"{at_work} teeth do"
    rest = "the other hardly cuts" if teeth - at_work == 1 else f"the other {teeth - at_work} hardly cut"
    times = "nearly all" if often == 10 else f"{often} of 10"
    out = tiny(2.0 * offset, case.job.units)
    return (f"; as it runs out by about {out} in its collet {half} the work and {rest}, in {times} "
            f"clampings: clean the collet, seat it again, or feed more than it runs out")


def _then(case: Case) -> str:
    """What such rubbing does in this material."""
    if case.material.welds_to_tool and case.material.group == "N":
        return ": there the metal smears, and welds to the edge"
    return ": there the face hardens and glazes" if case.material.group == "M" else ""


def chip_mm(chip: float) -> float:
    """A chip back in mm, for people."""
    return chip / metres(1.0)


CHECK = Check(
    NAME, "edge rubs instead of cutting", "finish", "operation", _applies, _evaluate,
    knobs=(FEED_UP, SPEED_DOWN), word="squealed", loglik=_loglik,
)
