"""What is answered cannot be changed afterwards, and its numbers are those of the case that was checked."""

from __future__ import annotations

from dataclasses import FrozenInstanceError

import pytest

from tests.route.test_quick_cut import answered


def test_its_numbers_are_those_that_were_checked() -> None:
    answer = answered(depth=1.0, width=3.0)
    assert answer.cut is answer.case.op.cut and answer.cut.depth_of_cut == 1.0
    assert all(c.finding.name == answer.case.name for c in answer.checked)
    with pytest.raises(FrozenInstanceError):
        answer.p_spoil = 0.0      # type: ignore[misc]
