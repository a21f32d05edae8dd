from __future__ import annotations

import pytest

from firstoff.checks._told import coarse, fine, middling, whole


@pytest.mark.parametrize(("size", "units", "told"), [
    (4.0, "mm", ("4 mm", "4 mm", "4 mm")), (38.04, "mm", ("38 mm", "38 mm", "38.04 mm")),
    (4.0, "in", ("0.157 in", "0.16 in", "0.1575 in")), (38.1, "in", ("1.5 in", "1.5 in", "1.5 in")),
    (0.029, "mm", ("0 mm", "0 mm", "0.029 mm")), (0.029, "in", ("0.001 in", "0 in", "0.0011 in")),
])
def test_lengths_are_told_as_finely_as_they_are_worth(size: float, units: str, told: tuple[str, str, str]) -> None:
    assert (coarse(size, units), whole(size, units), fine(size, units)) == told


def test_what_a_caliper_reads() -> None:
    assert (middling(0.029, "mm"), middling(0.029, "in")) == ("0.03 mm", "0.0011 in")
