from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._past import chips, past_of, time_in_cut
from tests.checks.builders import case, job, operation, windows


def test_what_a_milling_cut_leaves_to_those_after_it() -> None:
    past = past_of(case())
    assert past.mills and past.tool == "em6" and past.tool_material == "carbide" and past.material == "steel"
    assert past.speed == pytest.approx(0.006 * np.pi * 100.0)
    assert past.depth == pytest.approx(1e-3) and past.volume == pytest.approx(1.0 * 3.0 * 60.0 * 1e-9)
    assert past.chip == pytest.approx(0.02e-3 * 1.0 / (np.pi / 2.0))          # half the diameter: a quarter turn
    seconds = 60.0 / (0.02 * 3 * 100.0)
    assert past.edge_time == pytest.approx(seconds * np.pi / 2.0)


def test_the_way_back_is_not_in_the_cut() -> None:
    slow = case(cut=windows())
    assert float(time_in_cut(slow).sum()) == pytest.approx(60.0 / 6.0)
    assert np.allclose(chips(slow), 0.02 * 2.0 / np.pi)


def test_a_drill_only_takes_time() -> None:
    past = past_of(case(op=operation(tool="drill4", role="drill"), cut=windows()))
    assert not past.mills and past.seconds == pytest.approx(6.0)


def test_scale_notches() -> None:
    raw = job(stock={"size": ["62 mm", "42 mm", "22 mm"], "condition": "hot_rolled"})
    assert past_of(case(of_job=raw)).notched and not past_of(case()).notched


def test_the_last_answer_is_kept_for_its_own_case_alone() -> None:
    first, second = case(), case(op=operation(cut={"spindle_speed": "3000 rpm"}))
    assert past_of(first) is past_of(first)
    assert past_of(second).speed == pytest.approx(past_of(first).speed / 2.0)
