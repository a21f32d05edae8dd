"""How far limits by mean directional factors are off those by discretization, for the book's light mill: most of the
spread that the shop's figures give the physics of chatter."""

from __future__ import annotations

from functools import cache
from math import log

import numpy as np
import pytest
from numpy.typing import NDArray

from firstoff.belief import Belief
from firstoff.checks import chatter
from firstoff.checks._forces import bites, sharp_coefficients
from firstoff.checks._tip import Tip, flank, tip
from firstoff.cutting.chatter import Mode, depth_limit, directional_factors
from firstoff.cutting.process_damping import FlankDamping, mean_flank_damping
from firstoff.cutting.stability import Regeneration, can_follow, stability_limit
from firstoff.job.route import Cut
from firstoff.route.lone import Block, lone_case
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop

Rows = NDArray[np.float64]
TURN, ROWS, MACHINE, DEEPEST = 2.0 * np.pi, 64, "light_gantry", 6e-3
CUTS = tuple((material, tool, rpm, feed, width, direction)
             for material, tool, rpm, feed in (("al_6082", "end_mill_6_2f", 12000.0, 0.03),
                                               ("s275_cold_drawn", "end_mill_6_3f", 5000.0, 0.02))
             for width in (0.5, 3.0) for direction in ("climb", "conventional"))


@cache
def apart() -> Rows:
    """Logarithm of the limit by discretization over that by mean factors, (cuts, rows); nan where neither is near."""
    shop = load_shop(None)
    book = Belief.of(columns_of(shop), rows=ROWS)
    found = np.full((len(CUTS), ROWS), np.nan)
    for i, (material, tool, rpm, feed, width, direction) in enumerate(CUTS):
        cut = Cut().model_copy(update={
            "spindle_speed": rpm * TURN / 60.0, "feed_per_tooth": feed, "depth_of_cut": 0.25, "width_of_cut": width,
            "direction": direction})
        case = lone_case(shop, MACHINE, tool, material, "collet_6", Block(0.25, width), cut)
        load, law = bites(case, book)[0], sharp_coefficients(case, book)
        here = tip(case, book, load.heading)
        low = Tip(here.along[:-1], here.square[:-1])          # the cutter's own bending is too fast to be followed
        arc = load.engagement
        lag = 2.0 * float(np.tan(arc.helix)) / arc.diameter
        whole = Regeneration(law.tangential, law.radial, arc.teeth, arc.entry, arc.exit, lag,
                             2.0 * flank(case, book) / arc.diameter)
        at = np.flatnonzero(can_follow(whole, *low, rpm * TURN / 60.0, DEEPEST))
        rubs = FlankDamping(*(np.asarray(part)[at] for part in mean_flank_damping(
            flank(case, book), arc.diameter, arc.teeth, arc.entry, arc.exit)))
        along, square = [[Mode(*(np.asarray(x)[at] for x in mode)) for mode in some] for some in low]
        tangential, radial = np.asarray(law.tangential)[at], np.asarray(law.radial)[at]
        factors = directional_factors(radial / tangential, arc.entry, arc.exit)
        by_factors = np.full(at.size, 1e-3)
        for _ in range(12):                                   # the flanks rub at the limit itself
            limit = depth_limit(tangential, arc.teeth, factors, along, square, rpm * TURN / 60.0, rubs, by_factors)
            by_factors = np.sqrt(by_factors * np.minimum(limit, 2.0 * DEEPEST))
        exact = stability_limit(
            whole._replace(tangential=tangential, radial=radial, flank=np.asarray(whole.flank)[at]), along, square,
            rpm * TURN / 60.0, by_factors / 8.0, np.minimum(8.0 * by_factors, 5.0 * DEEPEST))
        near = np.isfinite(exact) & (by_factors < DEEPEST)
        found[i, at[near]] = np.log(exact[near] / by_factors[near])
    return found


def believed(name: str) -> float:
    """Logarithm of how far the shop's figures have limits of chatter out: in cuts of one kind, or in all."""
    figure = getattr(load_shop(None).discrepancies["chatter"], name)
    return log(figure.factor)


def test_mean_factors_are_off_by_most_of_what_the_shop_s_figures_say_of_a_kind_of_cuts() -> None:
    """The rest of it is runout, and a force that is no line."""
    off = apart()
    assert np.isfinite(off).mean() > 0.75
    assert abs(np.nanmean(off)) < 0.1, "neither too deep nor too shallow"
    assert 0.5 * believed("like") < np.nanstd(off) < believed("like")


def test_what_all_cuts_of_a_mill_share_of_it_is_no_more_than_the_figures_say_of_all_cuts() -> None:
    off = apart() - np.nanmean(apart(), axis=1, keepdims=True)
    within = np.nanstd(off - np.nanmean(off, axis=0)) ** 2 * len(CUTS) / (len(CUTS) - 1)
    shared = max(0.0, float(np.nanvar(off)) - within)
    assert shared < 0.5 * float(np.nanvar(off)) and shared < believed("factor") ** 2


def test_wider_arcs_followed_too_would_be_told_the_same_chances(monkeypatch: pytest.MonkeyPatch) -> None:
    """Discretization is asked where the arc is brief; asked of all arcs it changes what is said by little."""
    shop = load_shop(None)
    book, changes = Belief.of(columns_of(shop), rows=2048).wordless(), []
    for material, tool, rpm, feed, deep in (("al_6082", "end_mill_6_2f", 7000.0, 0.03, 0.2),
                                            ("s275_cold_drawn", "end_mill_6_3f", 6000.0, 0.02, 0.1)):
        for width in (1.5, 3.0):
            cut = Cut().model_copy(update={
                "spindle_speed": rpm * TURN / 60.0, "feed_per_tooth": feed, "depth_of_cut": deep,
                "width_of_cut": width, "direction": "climb"})
            case = lone_case(shop, MACHINE, tool, material, "collet_6", Block(deep, width), cut)
            chances = []
            for share in (0.0, 1.1):
                monkeypatch.setattr(chatter, "_BRIEF", share)
                monkeypatch.setattr(chatter, "_recent", {})
                rows = chatter.CHECK.evaluate(case, book).p_rows
                assert rows is not None
                chances.append(rows)
            assert np.any(chances[0] != chances[1]), "nothing was followed"
            changes.append(chances[1].mean() - chances[0].mean())
            assert chances[0].mean() > 0.03, "there is nothing to tell"
    assert np.max(np.abs(changes)) < 0.02
