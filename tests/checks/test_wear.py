from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from firstoff.checks._knobs import HARDER_TOOL
from firstoff.checks._life import BOOK_ARC, book_speed, used
from firstoff.checks._past import past_of
from firstoff.checks.base import Case
from firstoff.checks.wear import CHECK, _because, applies, own_use, wears_out
from firstoff.part.shapes import Feature
from firstoff.shop.models import CuttingSpeeds
from tests.checks.builders import belief, block, case, chance, found, job, knobs_say, operation, rises, shop, tool


def drilled(speed: int = 1400, material: str = "hss") -> Case:
    """Holes with a drill of 4 mm."""
    hole = Feature("hole-1", "hole", (6,), size={"diameter": 4.0, "depth": 12.0})
    op = operation(features=["hole-1"], role="drill", tool="drill4", cut={
        "spindle_speed": f"{speed} rpm", "feed_per_tooth": "0.03 mm", "depth_of_cut": "12 mm"})
    kit = shop(drill4=tool(name="drill 4 mm", kind="drill", material=material, diameter="4 mm", flutes=2,
                           flute_length="43 mm", overall_length="75 mm", point_angle="118 deg"))
    made = case(op=op, part=block(hole), in_shop=kit)
    assert made.windows is not None
    bored = np.pi / 4.0 * 4.0**2 * 12.0                          # [mm3]
    return replace(made, windows=replace(made.windows, volume=np.full(3, bored / 3.0)))


def after(minutes: float, this: Case | None = None, **op: Any) -> Case:
    """A case whose tool has cut so long already, at its own speed."""
    now = this or case(op=operation(**op))
    before = replace(past_of(now), edge_time=minutes * 60.0 * BOOK_ARC, fresh=False)
    return replace(now, before=(before,))


def test_long_work_bad_on_purpose() -> None:
    now = case(op=operation(cut={"spindle_speed": "20000 rpm"}))
    assert now.windows is not None
    long = replace(now, windows=replace(now.windows, volume=400.0 * now.windows.volume))
    finding = found(CHECK, after(20.0, long))
    assert finding.p_fail is not None and finding.p_fail > 0.2
    assert "% of the life" in finding.because and "before it" in finding.because and finding.unit == "lives"
    shares = re.findall(r"([\d.]+) %", finding.because)
    assert shares and all(len(share.strip("0.")) == 1 for share in shares), "no finer than it is felt"


def test_an_edge_that_is_gone_at_once_is_told_by_how_long_it_lasts() -> None:
    """Not by a hundred lives, nor by a flank that is worn wider than the cutter."""
    now = case(op=operation(cut={"spindle_speed": "20000 rpm"}))
    assert now.windows is not None
    long = replace(now, windows=replace(now.windows, volume=4000.0 * now.windows.volume))
    finding = found(CHECK, long)
    lasts = re.fullmatch(r"of the (\S+) min in this cut end mill 6 mm lasts about (\S+) (s|min)", finding.because)
    assert lasts is not None and finding.demand is not None
    each = {"s": 1.0 / 60.0, "min": 1.0}[lasts[3]]
    assert float(lasts[1]) / (float(lasts[2]) * each) == pytest.approx(finding.demand.median, rel=0.1)


def test_a_cutter_of_what_bears_more_speed_is_told_and_not_the_other_way() -> None:
    kit = shop(soft=tool(name="end mill 6 mm, steel", material="hss"), thick=tool(diameter="8 mm"))
    assert HARDER_TOOL in CHECK.knobs
    soft, hard = (case(op=operation(tool=name), in_shop=kit) for name in ("soft", "em6"))
    assert HARDER_TOOL.values(soft) == [hard.op.tool] and HARDER_TOOL.values(hard) == []


def test_a_new_edge_just_good() -> None:
    assert chance(CHECK, case()) <= 0.01


def test_life_used_is_the_book_s_at_the_book_s_speed() -> None:
    turns = 2.5 * 1.3 * 60.0 / (np.pi * 0.006)                     # at the speed that lasts the book's life
    this = case(op=operation(cut={"spindle_speed": f"{turns} rpm"}))
    whole = replace(past_of(this), edge_time=45.0 * 60.0 * BOOK_ARC)
    assert float(np.median(used([whole], None, belief()))) == pytest.approx(1.0, rel=0.1)


def test_cuts_of_one_kind_add_up() -> None:
    one = past_of(case())
    both = used([one, replace(one, speed=2.0 * one.speed)], None, belief())
    apart = used([one], None, belief()) + used([replace(one, speed=2.0 * one.speed)], None, belief())
    assert np.allclose(both, apart)
    assert np.allclose(used([], None, belief()), 0.0)
    assert np.allclose(own_use(case(), belief()), used([one], None, belief()))


def test_chance_rises_with_speed() -> None:
    cases = [case(op=operation(cut={"spindle_speed": f"{rpm} rpm"})) for rpm in (6000, 20000, 60000)]
    rises(CHECK, cases)


def test_scale_wears_faster_and_coating_and_flood_less() -> None:
    one = past_of(case())
    share = float(np.median(used([replace(one, notched=True)], None, belief()) / used([one], None, belief())))
    assert share == pytest.approx(3.0, rel=0.05)
    plain, coated = (float(np.median(book_speed(one, c, belief()))) for c in (None, "tin"))
    assert coated / plain == pytest.approx(1.3, rel=0.05)
    flooded = float(np.median(book_speed(replace(one, coolant="flood"), None, belief())))
    assert flooded / plain == pytest.approx(1.25, rel=0.05)


def test_chances_along_a_life_make_the_whole() -> None:
    steps = np.array([0.0, 0.5, 0.9, 1.3, 2.5])
    alive = np.prod([1.0 - wears_out(np.array([a]), np.array([b])) for a, b in pairwise(steps)])
    assert alive == pytest.approx(float(1.0 - wears_out(np.array([0.0]), np.array([2.5]))[0]))
    assert wears_out(np.array([1e9]), np.array([2e9]))[0] == 1.0              # blunt for long: blunt now


def test_a_fresh_tool_starts_again() -> None:
    worn = after(4000.0)
    renewed = replace(worn, operation=worn.op.model_copy(update={"fresh": True}))
    assert chance(CHECK, renewed) < chance(CHECK, worn)
    since = replace(worn, before=(*worn.before, replace(worn.before[0], edge_time=1.0, fresh=True)))
    assert chance(CHECK, since) < chance(CHECK, worn)


def test_other_tools_do_not_count() -> None:
    worn = after(4000.0)
    other = replace(worn, before=tuple(replace(past, tool="em10") for past in worn.before))
    assert chance(CHECK, other) == pytest.approx(chance(CHECK, case()))


def test_no_life_known_no_check() -> None:
    assert not applies(case(in_shop=shop(em6=tool(material="carbon_steel"))))
    assert found(CHECK, case(of_job=job(material="pom"))).p_rows is None


def test_what_to_turn() -> None:
    said = knobs_say(CHECK, case())
    assert said["fresh"] == ["a new end mill 6 mm before it"] and said["cut.spindle_speed"]


def test_a_drill_wears_by_its_time_in_the_metal() -> None:
    """So many holes at a high speed wear it out; one at a usual speed does not; peck and way back cost nothing."""
    fast, usual = drilled(speed=4000), drilled(speed=1400)
    assert applies(usual) and chance(CHECK, usual) <= 0.01
    past = past_of(usual)
    feed = 0.03 * 2 * 1400.0 / 60.0                               # [mm/s]
    assert past.edge_time == pytest.approx(BOOK_ARC * 12.0 / feed) and past.wears and not past.mills
    assert fast.windows is not None
    finding = found(CHECK, replace(fast, windows=replace(fast.windows, volume=60.0 * fast.windows.volume)))
    assert finding.p_fail is not None and finding.p_fail > 0.2 and "3 min in the cut" in finding.because


def test_a_drill_without_a_speed_in_the_books_is_not_judged() -> None:
    assert not applies(drilled(material="carbon_steel"))


def test_no_comma_before_nothing() -> None:
    """A hardly used edge has no land to tell: then the sentence ends after what was used before."""
    this, by = case(), belief()
    told = _because(this, by, np.full(by.rows, 0.004), np.full(by.rows, 0.0043))
    assert re.search(r"\d % before it$", told) and ",." not in told and not told.endswith(",")


def test_a_bad_edge_is_told_where_it_wears_much_faster_than_the_usual_one() -> None:
    this, known = case(), belief()
    rows = known.rows
    few = np.where(np.arange(rows) < 0.08 * rows, 0.3, 0.001)
    assert "about 0.1 % of the life of " in _because(this, known, np.zeros(rows), few)
    assert ", in one case of twenty 30 %" in _because(this, known, np.zeros(rows), few)
    assert ", in one case of twenty all of it" in _because(this, known, np.zeros(rows), 10.0 * few)
    worn = np.where(few > 0.1, 2.0, 0.1)
    assert re.search(r"of it, and its flank is worn", _because(this, known, np.zeros(rows), worn))
    assert "one case of twenty" not in _because(this, known, np.zeros(rows), np.full(rows, 0.3))
    assert "one case of twenty" not in _because(this, known, np.zeros(rows), few / 10.0)


def test_a_metal_without_a_cutting_speed_is_not_told_to_last() -> None:
    """`cut` in a metal of one's own said nothing of wear, as if it did not wear."""
    kit = shop()
    bare = kit.materials["steel"].model_copy(update={"cutting_speed": CuttingSpeeds()})
    finding = found(CHECK, case(in_shop=kit.model_copy(update={"materials": {**kit.materials, "steel": bare}})))
    assert finding.p_rows is None and "cutting_speed" in finding.settle_by
