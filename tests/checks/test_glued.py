from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief, LogNormal
from firstoff.checks._glued import PULLED, _Load, creeps, foot_of, loaded, on_glue, peels, warmth
from firstoff.checks._glued import glued as held_by_glue
from firstoff.checks._past import past_of
from firstoff.checks.base import Case, Past
from firstoff.checks.holding import CHECK
from firstoff.checks.holding import drilled as drill_loads
from firstoff.dryrun.findings import Findings
from firstoff.part.shapes import Face, Feature
from firstoff.shop.library import library
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

GLUED = {"device": "carrier", "grip": [], "grip_height": "0 mm", "tightness": ""}


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


def disc(across: float, high: float, **op: Any) -> Case:
    """A disc glued by its flat, cut from end to end over its top."""
    whole, r = block(), across / 2.0
    low, high_ = (30.0 - r, 20.0 - r, 0.0), (30.0 + r, 20.0 + r, high)
    flat = replace(whole.faces[4], area=np.pi * r * r, low=low, high=(*high_[:2], 0.0))
    part = replace(whole, faces=(*whole.faces[:4], flat, whole.faces[5]), volume=np.pi * r * r * high, low=low,
                   high=high_)
    this = case(op=operation(**op), part=part, place=setting(holding=GLUED))
    assert this.windows is not None
    over = np.array([[30.0 + step * r, 20.0, high] for step in (-1.0, 0.0, 1.0)])
    return replace(this, windows=replace(this.windows, point=over))


def test_a_disc_is_pried_off_alike_every_way() -> None:
    foot = foot_of(disc(40.0, 5.0))
    assert (foot.long, foot.short) == pytest.approx((0.04, 0.04)) and foot.is_round
    assert foot.middle == pytest.approx([0.03, 0.02, 0.0]) and not foot_of(glued()).is_round
    strength = np.full(4, 1e6)
    ways = [_Load(*(np.full(4, float(x)) for x in (0.0, 0.0, over, across, 0.0, 0.0)))
            for over, across in ((1.0, 0.0), (0.0, 1.0), (0.6, 0.8))]
    uses = [load.use(foot, strength * foot.filled, strength * foot.filled) for load in ways]
    # 1 N m on a disc of 40: 32/(pi 0.04^3) = 0.159 N/mm2
    assert np.allclose(uses, 32.0 / (np.pi * 0.04**3) / 1e6, rtol=1e-3)


def by_the_book() -> Belief:
    """The carrier's glue, and how far the statics are out, as wide as the library has them."""
    glue = library().models["devices"]["carrier"]
    names = ("glue_strength", "glue_share", "glue_pull", "glue_peel", "glue_half", "glue_conductivity", "glue_line")
    own = [column("device:carrier", name, figure.value, figure.factor, "mm" if name == "glue_line" else "")
           for name in names for figure in (getattr(glue, name),)]
    known = {(c.entity, c.parameter) for c in own}
    return Belief.of([*(c for c in columns() if (c.entity, c.parameter) not in known), *own], rows=512)


def test_a_small_disc_is_strong_enough_and_a_large_cutter_takes_it_off() -> None:
    """16 mm across, of a metal half as hard to cut as the tiny shop's steel: a light cut, and a heavy one."""
    book = by_the_book()
    soft = [replace(c, transform=LogNormal(0.5 * c.transform.median, c.transform.factor))
            if c.entity == "material:steel" and c.parameter in ("tangential", "radial", "axial") and isinstance(
                c.transform, LogNormal) else c for c in book.columns.values()]
    brass = Belief.of(soft, rows=512)
    light = disc(16.0, 5.0, cut={"depth_of_cut": "0.3 mm", "width_of_cut": "1 mm"})
    heavy = disc(16.0, 5.0, tool="em10", cut={"depth_of_cut": "3 mm", "width_of_cut": "10 mm",
                                              "feed_per_tooth": "0.05 mm"})
    assert (CHECK.evaluate(light, brass).p_fail or 0.0) < 0.02
    assert (CHECK.evaluate(heavy, brass).p_fail or 0.0) > 0.5
