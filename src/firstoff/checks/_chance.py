"""Chances by row from demand and capacity, and the scatter that no column of a belief carries."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from ..belief import SCATTER, Belief, LogNormal, Normal, Rows
from ..medians import median
from ..normal import normal_cdf
from .base import AtRisk, Case, Finding, Spread
from .si import metres, value

#: What is new at every operation, one standard deviation of the logarithm; judged: no published figure
#: tells the same cut, made again with the same tool and bar, apart from another tool or bar.
OPERATION_SCATTER: Final[Mapping[str, float]] = {
    "force": 0.10,        # wear and build-up on the edge
    "strength": 0.12,     # brittle cutting material: a Weibull modulus of about 10
    "stability": 0.15,    # engagement and damping change along a path
    "chip": 0.20,         # the edge is not equally sharp all along
    "holding": 0.20,      # chips, oil and burrs between jaw and part
    "thread": 0.15,       # depth of engagement and friction in a thread
}


def known(belief: Belief, entity: str, parameter: str, otherwise: float) -> Rows:
    """A believed parameter by row, or a certain number where nothing is believed of it."""
    if belief.has(entity, parameter):
        return value(belief, entity, parameter)
    return np.full(belief.rows, otherwise)


def discrepancy(belief: Belief, kind: str) -> Rows:
    """How far this kind of physics is out, by row; 1 where nothing is believed of it [1]."""
    return known(belief, f"discrepancy:{kind}", "factor", 1.0)


def lasting(belief: Belief, entity: str, parameter: str) -> tuple[Rows, float]:
    """A parameter by row without what is new each time, and the spread of what is.

    Returns:
        The rows, and one standard deviation of the scatter: of the logarithm for a LogNormal, in the
        column's SI unit for a Normal; 0 where the whole column lasts.
    """
    rows = value(belief, entity, parameter)
    if (entity, parameter) not in belief.columns:
        return rows, 0.0
    column = belief.column(entity, parameter)
    law = column.transform
    if column.level not in SCATTER or not isinstance(law, LogNormal | Normal):
        return rows, 0.0
    here = belief.z(column.key)
    if isinstance(law, LogNormal):
        spread = float(np.log(law.factor))
        return np.asarray(rows / np.exp(spread * here)), spread
    unit = metres(1.0) if column.unit == "mm" else 1.0
    return np.asarray(rows - law.sd * unit * here), law.sd * unit


def over(demand: Rows, capacity: Rows, scatter: float) -> Rows:
    """Chance by row that demand exceeds capacity, their ratio lognormal with this scatter.

    Args:
        demand: by row, 0 or greater.
        capacity: by row, 0 or greater, same unit.
        scatter: standard deviation of the logarithm of their ratio [1]; 0 for none.

    Returns:
        Chance [1], shape (N,).
    """
    demand, capacity = np.broadcast_arrays(np.asarray(demand, float), np.asarray(capacity, float))
    if scatter <= 0.0:
        return np.asarray(demand > capacity, dtype=np.float64)
    both = (demand > 0.0) & (capacity > 0.0)
    if np.count_nonzero(both) == both.size:
        return normal_cdf(np.log(demand / capacity) / scatter)
    chance = np.where(demand > 0.0, 1.0, 0.0)
    chance[both] = normal_cdf(np.log(demand[both] / capacity[both]) / scatter)
    return chance


def spread(*parts: float) -> float:
    """Independent scatters together."""
    return float(np.sqrt(sum(part * part for part in parts)))


def weighed(
    name: str, case: Case, at_risk: AtRisk, demand: Rows, capacity: Rows, scatter: float, *,
    unit: str, because: str, settle_by: str = "",
) -> Finding:
    """A finding of a demand against a capacity, both by row in a unit that people use."""
    return Finding(name, case.subject, case.name, at_risk, over(demand, capacity, scatter),
                   Spread.of(demand), Spread.of(capacity), unit, because, settle_by)


def decided(
    name: str, case: Case, belief: Belief, at_risk: AtRisk, demand: float, capacity: float, *,
    unit: str, because: str,
) -> Finding:
    """A finding that does not depend on any belief: it fits or it does not."""
    fails = np.full(belief.rows, 1.0 if demand > capacity else 0.0)
    return Finding(name, case.subject, case.name, at_risk, fails, Spread.of(demand), Spread.of(capacity),
                   unit, because)


def figure(number: float) -> str:
    """A number with two figures that count, or whole: "0.35", "1.2", "43", "310"."""
    size = abs(float(number))
    if size == 0.0:
        return "0"
    if size >= 100.0:
        return f"{float(f'{number:.2g}'):.0f}"
    return f"{float(f'{number:.2g}'):g}"


def middle(rows: Rows) -> str:
    """The median of rows, for a sentence."""
    return figure(median(rows))
