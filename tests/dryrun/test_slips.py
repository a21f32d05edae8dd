from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks.size import expected
from firstoff.dryrun.slips import WARMER, lost_steps, stepped, warm
from tests.dryrun import stacked


def by_name() -> dict[str, dict[str, float]]:
    lines, cases = {}, [case for case in stacked.cases() if case.limit is not None]
    found = {case.name: expected(case, stacked.belief()).found.middle for case in cases}
    names = lost_steps(cases[0], found.values())
    for name, line in found.items():
        lines[name] = stepped(cases[0], line, names)
    return lines


def test_a_loss_moves_what_is_cut_after_it_along_its_axis() -> None:
    lines = by_name()
    # stock-1 and stock-2 are the ends of the length, cut in this order in the first setting
    (length,) = [size for name, size in lines["length"].items() if name == "steps:first:x:side-2"]
    assert abs(length) == pytest.approx(1.0)
    assert not any(":x:" in name for name in lines["width"])
    assert not any(":y:" in name for name in lines["length"])
    # lost before both ends are cut it moves both, and the length stays
    assert "steps:first:x:side-1" not in lines["length"]


def test_every_cut_but_the_first_of_a_setting_may_stand_aside() -> None:
    cases = [case for case in stacked.cases() if case.limit is not None]
    names = lost_steps(cases[0], [expected(case, stacked.belief()).found.middle for case in cases])
    assert "steps:first:x:side-1" not in names and "steps:first:y:side-3" in names
    assert not any(name.startswith("steps:second") for name in names), "one cut alone: that is an error of zero"
    assert all(float(source.rows(stacked.belief()).max()) > 0.0 for source in names.values())


def test_warm_reads_more_by_length_and_expansion() -> None:
    case = next(case for case in stacked.cases() if case.name == "length")
    ((name, size, source),) = warm(case, stacked.belief(), stacked.SIZES["length"][2])
    assert name == "warm:block" and size == pytest.approx(0.06)
    assert float(np.median(source.rows(stacked.belief()))) == pytest.approx(WARMER * 12e-6, rel=0.02)
    assert list(warm(case, stacked.belief(), None)) == []
