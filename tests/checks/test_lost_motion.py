from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.checks.base import Case
from firstoff.checks.lost_motion import CHECK, other_way, thickest
from firstoff.cutting.force import Engagement
from tests.checks.builders import belief, case, chance, found, knobs_say, operation, setting

PLAY = {"machine_mill__lost_motion": 0.1, "machine_mill__slide_drag": 15.0}


def deep(direction: str, feed: float = 0.03) -> Case:
    return case(op=operation(cut={"depth_of_cut": "4 mm", "width_of_cut": "2 mm", "feed_per_tooth": f"{feed} mm",
                                  "direction": direction}))


def test_climb_with_much_play_bad_on_purpose() -> None:
    finding = found(CHECK, deep("climb"), belief(**PLAY))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "pulls the table" in finding.because and "the other way it never pulls the table" in finding.because
    assert "a tooth may take 0.128 mm, not 0.028 mm" in finding.because


def test_conventional_with_the_same_play_just_good() -> None:
    finding = found(CHECK, deep("conventional"), belief(**PLAY))
    assert finding.p_fail is not None and finding.p_fail <= 0.01
    assert "keeps the play of the screw closed" in finding.because


def test_climb_without_play_is_good() -> None:
    assert chance(CHECK, deep("climb"), belief(machine_mill__lost_motion=0.003)) <= 0.01


def test_stiff_slides_hold_a_light_cut() -> None:
    assert chance(CHECK, deep("climb"), belief(**{**PLAY, "machine_mill__slide_drag": 2000.0})) <= 0.01


def test_a_thinner_chip_is_worse() -> None:
    loose = belief(machine_mill__lost_motion=0.03, machine_mill__slide_drag=1.0)
    p = [chance(CHECK, deep("climb", feed), loose) for feed in (0.08, 0.03, 0.01)]
    assert p[0] < p[1] < p[2]


def test_the_other_way_is_what_to_do_instead() -> None:
    assert knobs_say(CHECK, deep("climb"))["cut.direction"] == ["conventional milling, not climb"]


def test_other_way_is_the_mirror() -> None:
    climb = Engagement(0.006, 3, 0.5, 0.002, 2.0, 3.141592653589793)
    assert other_way(climb).entry == pytest.approx(0.0)
    assert other_way(other_way(climb)) == pytest.approx(climb)
    assert thickest(climb, 1.0) == pytest.approx(thickest(other_way(climb), 1.0))
    assert thickest(climb._replace(entry=1.0), 1.0) == 1.0


def test_what_it_is_for() -> None:
    assert not CHECK.applies(case(place=setting(machine="press")))
    assert not CHECK.applies(replace(case(), windows=None))


def test_on_a_way_down_the_end_holds_and_the_side_pulls() -> None:
    level, ramp, plunge = (deep("climb") for _ in range(3))
    for this, way in ((ramp, (0.998, 0.0, -0.0523)), (plunge, (0.0, 0.0, -1.0))):
        assert this.windows is not None
        this.windows.direction[:] = way
    loose = belief(**PLAY)
    p = [chance(CHECK, this, loose) for this in (level, ramp, plunge)]
    assert p[1] == pytest.approx(p[0], rel=0.02) and p[0] > 0.9 and p[2] == 0.0
