from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._told import coarse, fine, middling, roughness, tiny, whole


@pytest.mark.parametrize(("size", "units", "told"), [
    (4.0, "mm", ("4 mm", "4 mm", "4 mm")), (38.04, "mm", ("38 mm", "38 mm", "38.04 mm")),
    (4.0, "in", ("0.157 in", "0.16 in", "0.1575 in")), (38.1, "in", ("1.5 in", "1.5 in", "1.5 in")),
    (0.029, "mm", ("0 mm", "0 mm", "0.029 mm")), (0.029, "in", ("0.001 in", "0 in", "0.0011 in")),
])
def test_lengths_are_told_as_finely_as_they_are_worth(size: float, units: str, told: tuple[str, str, str]) -> None:
    assert (coarse(size, units), whole(size, units), fine(size, units)) == told


def test_what_a_caliper_reads() -> None:
    assert (middling(0.029, "mm"), middling(0.029, "in")) == ("0.03 mm", "0.0011 in")


def test_what_no_instrument_reads_has_two_figures() -> None:
    rows = np.array([1e-6, 8.4e-6, 1e-5])
    assert (tiny(rows, "mm"), tiny(rows, "in"), tiny(2.54e-5, "in")) == ("8.4 um", "0.00033 in", "0.001 in")
    assert (roughness(1.6e-6, "mm"), roughness(1.6e-6, "in")) == ("1.6 um", "63 uin")
