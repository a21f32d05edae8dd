from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._glued import PULLED, creeps, loaded, on_glue, peels, warmth
from firstoff.checks._past import past_of
from firstoff.checks.base import Case, Past
from firstoff.checks.holding import CHECK
from firstoff.dryrun.findings import Findings
from tests.checks.builders import ROWS, belief, case, column, columns, found, setting


def glued(before: float = 0.0, cooling: float = 0.0, volumes: float = 1.0) -> Case:
    """A cut on a carrier, after one in the same setting that takes so many times as much off [1], and cooling [s]."""
    holding = {"device": "carrier", "grip": [], "grip_height": "0 mm", "tightness": ""}
    this = case(place=setting(holding=holding))
    windows = this.windows
    assert windows is not None
    this = replace(this, windows=replace(windows, volume=windows.volume * volumes, seconds=windows.seconds * volumes))
    if before <= 0.0:
        return this
    past = past_of(this)
    earlier = replace(past, seconds=past.seconds * before, volume=past.volume * before, cooling=cooling,
                      operation="a")
    return replace(this, before=(earlier,))


def known_glue(**figures: float) -> Belief:
    own = (column("device:carrier", name, median, 1.05) for name, median in figures.items())
    return Belief.of([*columns(), *own], rows=ROWS)


def test_a_part_that_is_warm_from_the_cut_before_bears_less() -> None:
    about = known_glue(glue_half=30.0)
    rises = []
    for this in (glued(), glued(300.0, 3600.0), glued(300.0)):
        rows = warmth(this, about, "device:carrier")
        assert rows is not None
        rises.append(float(np.median(rows)))
    assert rises[0] < rises[1] < rises[2], "cooling for an hour takes most of it away"
    bears = []
    for this in (glued(), glued(300.0)):
        capacity = CHECK.evaluate(this, about).capacity
        assert capacity is not None
        bears.append(capacity.median)
    assert bears[1] < bears[0]
    assert "degrees warmer than the shop" in CHECK.evaluate(glued(300.0), about).because


def test_the_hottest_moment_counts() -> None:
    """After a hot cut a light one only cools: the joint is warmest when it begins."""
    about = known_glue(glue_half=30.0)
    heavy, after = (warmth(this, about, "device:carrier") for this in (glued(volumes=300.0), glued(300.0)))
    assert heavy is not None and after is not None
    assert 0.5 * np.median(heavy) < np.median(after) < np.median(heavy)


def test_tape_creeps_while_it_is_cut_on() -> None:
    tape = known_glue(creep=0.2)
    short, long = glued(), glued(volumes=100.0)
    assert loaded(long) == pytest.approx(100.0 * loaded(short))
    assert np.median(creeps(long, tape, "device:carrier")) == pytest.approx((loaded(long) / PULLED) ** -0.2, rel=0.02)
    assert creeps(short, belief(), "device:carrier") == pytest.approx(1.0)
    finding = found(CHECK, long, tape)
    assert "crept to" in finding.because and "crept" not in found(CHECK, long).because
    first, second = found(CHECK, short, tape).capacity, finding.capacity
    assert first is not None and second is not None and second.median < first.median


def test_what_was_done_before_is_in_the_key_on_a_carrier_only() -> None:
    """A kept finding is used again only where the same was made before it."""
    def key(this: Case) -> str:
        return next(key for check, key in Findings(belief())._keyed(this) if check.name == CHECK.name)

    assert on_glue(glued()) and not on_glue(case())
    assert key(glued()) != key(glued(300.0)) and key(glued(300.0)) == key(glued(300.0))
    in_vise = case()
    other: Past = replace(past_of(in_vise), tool="another", setting="first")
    assert key(in_vise) == key(replace(in_vise, before=(other,)))


def test_a_thin_part_peels_off_and_says_so() -> None:
    from tests.checks.builders import HEIGHT

    soft = {"glue_line": 0.1e-3, "glue_young": 2e6}
    this = glued()
    thin = replace(this, parts={"block": replace(this.part, volume=this.part.volume * 0.5 / HEIGHT)})
    lift = np.full(ROWS, 20.0)
    flat, stiff = (peels(where, known_glue(**soft), lift, 2400.0) for where in (thin, this))
    # D of half a mm of steel is 2.4 N m on 2e10 N/m3: 3.3 mm far; 20 mm thick it does not bend
    assert float(np.median(flat)) == pytest.approx(0.465 * 20.0 / (2.4 / 2e10) ** 0.5, rel=0.03)
    assert float(np.median(stiff)) < 0.2 * float(np.median(flat))
    tape = known_glue(**soft, glue_pull=0.5)
    weak = replace(tape, columns={**tape.columns, ("device:carrier", "glue_strength"): column(
        "device:carrier", "glue_strength", 4e5, 1.05)})
    finding, other = CHECK.evaluate(thin, weak), CHECK.evaluate(this, weak)
    assert finding.capacity is not None and other.capacity is not None
    assert finding.capacity.median < other.capacity.median
    assert "bend, and peel off its glue from an edge" in finding.because and "peel" not in other.because


def test_of_glue_that_nobody_knows_the_give_of_nothing_peels() -> None:
    assert (peels(glued(), belief(), np.full(ROWS, 20.0), 2400.0) == 0.0).all()
