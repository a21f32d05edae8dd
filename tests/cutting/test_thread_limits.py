"""Limits of threads: the tables of the standards."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.thread import COARSE
from firstoff.cutting.thread_limits import metric_limits, unified_limits
from firstoff.errors import OutOfRange
from tests.published import agrees

INCH = 0.0254


@pytest.mark.parametrize("name", list(COARSE))
def test_formulas_give_the_table_of_coarse_threads(name: str) -> None:
    table = COARSE[name]
    ours = metric_limits(table.nominal, table.pitch, 1e-3, table.tap_drill)
    assert np.array(ours) == pytest.approx(np.array(table), abs=1.2e-5)


@pytest.mark.parametrize(("name", "nominal", "turns", "limits"), [
    ("1/4-20 UNC", 0.25, 20, (0.2408, 0.2127, 0.2224, 0.2074)),
    ("10-32 UNF", 0.19, 32, (0.1831, 0.1658, 0.1736, 0.1641)),
])
def test_unified_threads_of_the_table(name: str, nominal: float, turns: int, limits: tuple[float, ...]) -> None:
    ours = unified_limits(nominal * INCH, INCH / turns, INCH, 0.8 * nominal * INCH)
    got = (ours.least_major, ours.least_pitch, ours.most_pitch, ours.most_minor)
    what = ("least major diameter, 2A", "least pitch diameter, 2A", "most pitch diameter, 2B",
            "most minor diameter, 2B")
    for text, wanted, found in zip(what, limits, got, strict=True):
        agrees("threads", f"{name}, {text} (recalled)", "asmeb1", wanted, found / INCH, "in", within=4e-4,
               absolute=True)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="millimetre is 0"):
        metric_limits(0.005, 0.0008, 0.0, 0.0042)
    with pytest.raises(OutOfRange, match="pitch is"):
        unified_limits(0.005, 0.004, INCH, 0.004)
    with pytest.raises(OutOfRange, match="tap drill is -1"):
        metric_limits(0.005, 0.0008, 1e-3, -1.0)
