"""Simple tests of a clamped part: a pull with a luggage scale, an indicator on it while it is tightened."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..holding.load_test import held_loglik, slipped_loglik
from ..normal import normal_cdf
from ._chance import OPERATION_SCATTER, discrepancy, known, spread
from ._gives_way import Cutting
from ._patches import span
from ._surfaces import TAPPED
from .base import Case, Observation
from .si import metres

#: a luggage scale read as it is pulled, not quite level; one standard deviation of the log, judged
SCALE: Final = 0.07
#: a part that is up by more than this lets a finger move its parallel [mm]; judged
FELT: Final = 0.005
#: Share of the lift by the jaw that the part's edge at the moving jaw goes up: as in the sizes (_surfaces).
EDGE: Final = 0.5


def pulled(case: Case, belief: Belief) -> Cutting:
    """A pull of 1 N at the top of the part, along the jaws or across the table as one stands before it."""
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    axes = np.stack([across, np.cross(up, across), up])
    middle = np.array([sum(span(case, axes[0])) / 2.0, sum(span(case, axes[1])) / 2.0, span(case, up)[1]])
    point = metres(middle @ axes)
    ones = np.ones(belief.rows)
    return Cutting(ones, across[None], up, np.zeros(belief.rows), point[None], np.zeros((1, 3)))


def pull_loglik(bears: Rows, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row that the part held a pull, or moved just at it.

    Args:
        bears: pull that it bears, by row [N].
        belief: what is believed.
        seen: the pull.
    """
    if seen.value <= 0.0:
        return None
    bears = np.maximum(bears / np.maximum(discrepancy(belief, "holding"), 1e-9), 1e-9)
    scatter = spread(OPERATION_SCATTER["holding"], SCALE)
    law = slipped_loglik if seen.word == "moved" else held_loglik
    return law(bears, seen.value, scatter)


def lift_loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row of what an indicator on the part read while the vise was tightened.

    In place of a reading a word may say whether a parallel could still be moved: loose, or tight.
    """
    entity = f"device:{case.setting.holding.device}"
    if not belief.has(entity, "jaw_lift"):
        return None
    left = EDGE * (TAPPED if case.setting.holding.tapped else 1.0) * known(belief, entity, "jaw_lift", 0.0)
    if seen.word:
        loose = 2.0 * normal_cdf(-metres(FELT) / np.maximum(left, 1e-12))
        return np.asarray(np.log(np.clip(loose if seen.word == "loose" else 1.0 - loose, 1e-12, 1.0)))
    wide = np.hypot(left, metres(seen.sd))
    return np.asarray(-0.5 * (metres(seen.value) / wide) ** 2 - np.log(wide * math.sqrt(2.0 * math.pi)))
