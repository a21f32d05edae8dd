from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._glued import PULLED, creeps, foot_of, loaded, on_glue, peels, warmth
from firstoff.checks._glued import glued as held_by_glue
from firstoff.checks._past import past_of
from firstoff.checks.base import Case, Past
from firstoff.checks.holding import CHECK
from firstoff.checks.holding import drilled as drill_loads
from firstoff.dryrun.findings import Findings
from firstoff.part.shapes import Face, Feature
from tests.checks.builders import (
    HEIGHT,
    LENGTH,
    ROWS,
    WIDTH,
    belief,
    block,
    case,
    column,
    columns,
    found,
    operation,
    setting,
)


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
    this, brittle = glued(), {"glue_peel": 100.0}
    thin = replace(this, parts={"block": replace(this.part, volume=this.part.volume * 0.4 / HEIGHT)})
    lift = np.full(ROWS, 20.0)
    flat, stiff = (peels(where, known_glue(**brittle), lift, foot_of(where)) for where in (thin, this))
    # D of 0.4 mm of steel, 1.23 N m: sqrt(2 x 100 x 1.23)/0.465 = 33.7 N
    assert float(np.median(flat)) == pytest.approx(20.0 / 33.7, rel=0.03)
    assert float(np.median(stiff)) == pytest.approx(float(np.median(flat)) * (0.4 / HEIGHT) ** 1.5, rel=0.01)
    warm = peels(thin, known_glue(**brittle), lift, foot_of(thin), 0.25)
    assert np.allclose(warm, 2.0 * flat), "a quarter of its energy is half of what it bears"
    weak = known_glue(glue_peel=1.0)
    finding, other = CHECK.evaluate(thin, weak), CHECK.evaluate(this, weak)
    assert finding.capacity is not None and other.capacity is not None
    assert finding.capacity.median < other.capacity.median
    assert "bend, and peel off its glue from an edge" in finding.because and "peel" not in other.because


def test_of_glue_of_which_no_peel_is_known_nothing_peels() -> None:
    assert (peels(glued(), belief(), np.full(ROWS, 20.0), foot_of(glued())) == 0.0).all()


def drilled(x: float, y: float) -> Case:
    """A hole drilled through the glued block."""
    rim = Face(6, 0, "cylinder", 1.0, (x, y, HEIGHT / 2.0), (1.0, 0.0, 0.0), (x - 2.0, y - 2.0, 0.0),
               (x + 2.0, y + 2.0, HEIGHT))
    hole = Feature("hole-1", "hole", (6,), through=True, axis=(0.0, 0.0, 1.0), axis_point=(x, y, HEIGHT),
                   size={"diameter": 4.0, "depth": HEIGHT})
    op = operation(features=["hole-1"], role="drill", tool="drill4",
                   cut={"feed_per_tooth": "0.04 mm", "direction": None, "depth_of_cut": None, "width_of_cut": None})
    holding = {"device": "carrier", "grip": [], "grip_height": "0 mm", "tightness": ""}
    return case(op=op, part=block(hole, faces=(rim,)), place=setting(holding=holding))


def test_a_drill_presses_a_glued_part_down_and_does_not_shear_it_off() -> None:
    """In the middle only its torque asks anything of the glue: 60 x 40 mm turned about their middle."""
    this, about = drilled(LENGTH / 2.0, WIDTH / 2.0), belief()
    down, pulls, _ = drill_loads(this, about)
    found_ = held_by_glue(this, about, down)
    assert not isinstance(found_, str) and "twist off" in found_.how
    torque = np.linalg.norm(down.arm[0]) * down.push
    diagonal, strength = np.hypot(0.06, 0.04), about.value("device:carrier", "glue_strength") * np.minimum(
        about.value("device:carrier", "glue_share"), 1.0)
    assert down.push / found_.bears == pytest.approx(6.0 * torque / (0.06 * 0.04 * diagonal) / strength)
    out = held_by_glue(this, about, pulls)
    assert not isinstance(out, str) and np.median(out.bears / pulls.push) < np.median(found_.bears / down.push)


def test_a_drill_at_a_corner_lifts_the_other_one() -> None:
    """Beyond the kern of the foot its thrust pries the far edge up."""
    bears = []
    for x, y in ((30.0, 20.0), (35.0, 20.0), (56.0, 36.0)):
        down = drill_loads(drilled(x, y), belief())[0]
        found_ = held_by_glue(drilled(x, y), belief(), down)
        assert not isinstance(found_, str)
        bears.append(float(np.median(found_.bears)))
    assert bears[0] == pytest.approx(bears[1], rel=0.01) and bears[2] < 0.5 * bears[0]


def test_the_foot_of_a_disc_is_its_square() -> None:
    whole = block()
    disc = replace(whole.faces[4], area=np.pi / 4.0 * 1600.0, low=(10.0, 0.0, 0.0), high=(50.0, 40.0, 0.0))
    faces = (*whole.faces[:4], disc, whole.faces[5])
    foot = foot_of(replace(glued(), parts={"block": replace(whole, faces=faces)}))
    assert (foot.long, foot.short) == pytest.approx((0.04, 0.04)) and foot.filled == pytest.approx(np.pi / 4.0)
    assert foot.middle == pytest.approx([0.03, 0.02, 0.0])
    # pi d3/32 of a disc, d3/6 of a square: what is filled, twice
    assert foot.filled**2 == pytest.approx(6.0 * np.pi / 32.0, rel=0.05)
