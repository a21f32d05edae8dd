from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._life import BOOK_ARC
from firstoff.checks._past import chips, past_of, time_in_cut
from firstoff.part.shapes import Feature
from tests.checks.builders import block, case, job, operation, shop, tool, windows


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


def test_a_chip_is_thinner_over_a_leaning_edge() -> None:
    """By as much as its edge is longer: of a ball its arc, acos(1 - a/R) R; a cone's too."""
    ball = tool(name="ball nose", kind="ball", corner_radius="3 mm", flute_length="10 mm")
    flat = 0.02 * 2.0 / np.pi
    for cutter, share in (("ball6", 0.1 / (3.0 * np.arccos(1.0 - 0.1 / 3.0))), ("chamfer6", np.sqrt(0.5))):
        this = case(op=operation(tool=cutter), cut=windows(0.1, 6.0, direction="slot"), in_shop=shop(ball6=ball))
        assert chips(this) == pytest.approx(flat * share, rel=2e-3)


def test_a_drill_only_takes_time() -> None:
    past = past_of(case(op=operation(tool="drill4", role="drill"), cut=windows()))
    assert not past.mills and past.seconds == pytest.approx(6.0)


def test_a_tap_goes_in_and_out_and_a_reamer_through() -> None:
    """M5 in two holes 10 mm deep by hand: 12.5 turns each, twice; a reamer at 0.3 mm a turn."""
    holes = [Feature(f"hole-{i}", "hole", (), size={"diameter": 4.2, "depth": 10.0}) for i in (1, 2)]
    names = [hole.id for hole in holes]
    tapping = {key: item for key, item in operation(features=names, role="tap", tool="tap5").items() if key != "cut"}
    by_hand = past_of(case(op=tapping, part=block(*holes)))
    assert by_hand.law == "tap" and by_hand.wears and not by_hand.mills
    assert by_hand.edge_time / BOOK_ARC == pytest.approx(2 * 2 * 10.0 / 0.8 * 2.0)          # half a turn a second
    assert by_hand.speed == pytest.approx(np.pi * 0.005 * 0.5)
    turned = operation(features=names, role="ream", tool="reamer4",
                       cut={"spindle_speed": "600 rpm", "feed_per_tooth": "0.05 mm"})
    reamer = tool(name="reamer 4 mm", kind="reamer", material="hss", diameter="4 mm", flutes=6)
    reamed = past_of(case(op=turned, part=block(*holes), in_shop=shop(reamer4=reamer)))
    assert reamed.law == "ream" and reamed.edge_time / BOOK_ARC == pytest.approx(20.0 / 0.3 / 10.0)
    assert reamed.speed == pytest.approx(np.pi * 0.004 * 10.0)


def test_scale_notches() -> None:
    raw = job(stock={"size": ["62 mm", "42 mm", "22 mm"], "condition": "hot_rolled"})
    assert past_of(case(of_job=raw)).notched and not past_of(case()).notched


def test_the_last_answer_is_kept_for_its_own_case_alone() -> None:
    first, second = case(), case(op=operation(cut={"spindle_speed": "3000 rpm"}))
    assert past_of(first) is past_of(first)
    assert past_of(second).speed == pytest.approx(past_of(first).speed / 2.0)
