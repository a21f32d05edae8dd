from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks.base import Observation
from firstoff.checks.rubbing import CHECK, largest_chips
from tests.checks.builders import belief, case, chance, found, job, knobs_say, operation, rises, shop, tool, windows


def test_timid_feed_bad_on_purpose() -> None:
    finding = found(CHECK, case(op=operation(cut={"feed_per_tooth": "0.001 mm"})))
    assert finding.p_fail is not None and finding.p_fail > 0.8
    assert finding.unit == "um" and "0.001 mm" in finding.because


def test_bold_feed_just_good() -> None:
    assert chance(CHECK, case(op=operation(cut={"feed_per_tooth": "0.01 mm"}))) <= 0.01


def test_chance_rises_as_the_feed_falls() -> None:
    rises(CHECK, [case(op=operation(cut={"feed_per_tooth": f"{f} mm"})) for f in (0.008, 0.003, 0.001)])


def test_a_narrow_cut_thins_the_chip() -> None:
    chip, feed = largest_chips(case(op=operation(cut={"feed_per_tooth": "0.02 mm", "width_of_cut": "0.3 mm"})))
    part = 0.3 / 6.0
    assert feed == pytest.approx(2e-5)
    assert chip == pytest.approx(2e-5 * 2.0 * (part * (1.0 - part)) ** 0.5)
    wide, _ = largest_chips(case(op=operation(cut={"feed_per_tooth": "0.02 mm", "width_of_cut": "4 mm"})))
    assert wide == pytest.approx(2e-5)


def test_a_leaning_edge_thins_the_chip() -> None:
    """A ball 0.1 mm deep by the sine of its lead there, 15 degrees; a chamfer's edge leans by half its angle."""
    ball = tool(name="ball nose", kind="ball", corner_radius="3 mm", flute_length="10 mm")
    for cutter, sine in (("ball6", np.sqrt(0.1 * 5.9) / 3.0), ("chamfer6", np.sqrt(0.5))):
        cut = windows(0.1, 3.0, 0.02, direction="slot")
        this = case(op=operation(tool=cutter), cut=cut, in_shop=shop(ball6=ball))
        assert largest_chips(this)[0] == pytest.approx(2e-5 * sine)


def test_a_rapid_through_the_work_is_no_chip() -> None:
    """It has no feed per tooth; that it goes through the work is told by another check."""
    this = case(op=operation(cut={"feed_per_tooth": "0.02 mm"}))
    assert this.windows is not None
    feed = this.windows.feed_per_tooth.copy()
    feed[0] = 0.0
    assert largest_chips(replace(this, windows=replace(this.windows, feed_per_tooth=feed))) == largest_chips(this)


def test_a_blunt_edge_is_worse() -> None:
    slow = case(op=operation(cut={"feed_per_tooth": "0.004 mm"}))
    assert chance(CHECK, slow, belief(tool_material_carbide__edge_radius=0.02)) > chance(CHECK, slow)


def test_more_feed_is_what_to_turn() -> None:
    said = knobs_say(CHECK, case(op=operation(cut={"feed_per_tooth": "0.002 mm"})))
    assert said["cut.feed_per_tooth"][-1] == "0.006 mm a tooth, not 0.002 mm (feed 108 mm/min)"


def test_dust_speaks_for_an_edge_that_rubs_where_a_metal_has_chips() -> None:
    assert CHECK.loglik is not None
    dust, curls = Observation("form", word="dust"), Observation("form", word="curls")
    timid, bold = (case(op=operation(cut={"feed_per_tooth": f"{feed} mm"})) for feed in (0.0012, 0.02))
    little, much = (np.asarray(CHECK.loglik(this, belief(), dust)) for this in (bold, timid))
    assert np.median(much) > np.median(little) + 1.0 and much.max() <= np.log(0.95) + 1e-12
    assert np.corrcoef(much, belief().value("tool_material:carbide", "edge_radius"))[0, 1] > 0.4
    assert CHECK.loglik(timid, belief(), curls) is None
    plain = shop()
    crumbles = plain.materials["steel"].model_copy(update={"group": "K", "welds_to_tool": False})
    other = replace(timid, shop=plain.model_copy(update={"materials": {"steel": crumbles}}))
    assert CHECK.loglik(other, belief(), dust) is None, "cast iron makes dust at any feed"


def test_runout_above_the_chip_leaves_the_work_to_one_tooth() -> None:
    """Of a cutter with three teeth 10 um off its axis one takes all at 4 um a tooth, two at 10; at 60 all cut."""
    out = {"collet_er6__runout": 0.01}
    said = [found(CHECK, case(op=operation(cut={"feed_per_tooth": f"{feed} mm"})), belief(**out)).because
            for feed in (0.004, 0.01, 0.06)]
    assert "by about 20 um in its collet one tooth does the work and the other 2 hardly cut, in" in said[0]
    assert "2 teeth do the work and the other hardly cuts" in said[1] and "runs out" not in said[2]


def test_a_true_cutter_is_told_nothing_of_runout() -> None:
    true = belief(collet_er6__runout=1e-6)
    assert "runs out" not in found(CHECK, case(op=operation(cut={"feed_per_tooth": "0.01 mm"})), true).because


def test_an_inch_shop_reads_inches() -> None:
    this = case(op=operation(cut={"feed_per_tooth": "0.004 mm"}), of_job=job(units="in"))
    said = found(CHECK, this, belief(collet_er6__runout=0.01)).because
    assert " in thick" in said and " um" not in said and " mm" not in said
    assert "runs out by about 0.00079 in" in said


@pytest.mark.parametrize(("thin", "counts"), [(1, False), (4, True)])
def test_a_touch_at_the_rim_does_not_count(thin: int, counts: bool) -> None:
    """Of forty windows that take as long one is a fortieth of the time, four a tenth."""
    cut = windows(1.0, 3.0, 0.03, number=40)
    cut.feed_per_tooth[:thin] = 0.001
    chip, feed = largest_chips(case(cut=cut))
    assert (feed == pytest.approx(1e-6)) is counts and chip == pytest.approx(feed)
