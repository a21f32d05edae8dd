"""A hole or thread without a job: drills that the machine takes, what tap and thread bear, what can go wrong.

By book figures alone, in closed form, so that the answer is there before the person has found the drill.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

import numpy as np

from ..checks._chance import spread
from ..checks._drills import POINT, Drill, book_load, hand_fed
from ..checks._threads import Thread, thread_named
from ..checks.head_below import BOX_SD, HEAD_SD, TRIAL_SD
from ..checks.si import metres, micrometres, millimetres
from ..cutting.breakthrough import point_length
from ..cutting.thread import COUNTERSUNK
from ..errors import InputError
from ..shop.models import Shop
from ..stack.fits import limits_of
from ..units import tell
from .asked_hole import BOLDEST, Hole, Own
from .cuts import speed_on, usual_speed
from .drills import DrillStep, drill_for_reamer, drill_step, feed_of, follows, known
from .held_drills import Beyond, held_row, holds
from .hole_bench import Bench
from .hole_risks import drill_remarks, drill_risks, p_walks, slope_risk
from .meant import Meant
from .pecks import pecks_of
from .risk import Risk
from .tapped import Tapped, tapped_of, thread_risks, with_drill
from .tools import TOO_FAST

SINK: Final = (0.0, 0.2)       #: [mm] how far a head should lie below the surface where nobody says
REAM_LEAD: Final = 0.3         #: diameters of a blind hole below what is reamed: the lead of a machine reamer; judged
TAP_LEAD: Final = 2.0          #: pitches of a blind hole below the full thread: the lead of a bottoming tap
REAM_SPEED: Final = 1.0 / 3.0  #: of a drill's speed, as in cuts
SINK_SPEED: Final = 0.5
REAM_FEED: Final = 2.5         #: times a drill's feed, as in cuts
SPOT_FEED: Final = 0.5         #: the same of a spot drill and of a countersink
SPOT_WIDE: Final = 1.1         #: a spot over the first drill, so that its lips do not begin on a corner; judged
SPOT_MOST: Final = 0.9         #: of the spot drill's own diameter
BEYOND: Final = 0.5            #: [mm] that the lips go on where a drill comes out; judged

What = Literal["spot", "drill", "widen", "ream", "countersink", "tap"]


@dataclass(frozen=True)
class Step:
    """One tool of the row, with what is set at the machine: mm, rad/s; None where it does not apply."""

    what: What
    diameter: float
    turn: float | None = None
    feed: float | None = None                    # a turn
    pecks: tuple[float, float] | None = None
    drilled: DrillStep | None = None
    note: str = ""
    deep: float | None = None                    # at its full width, where that is not what was asked
    wide: float | None = None                    # at the surface: of a spot
    tip: float | None = None                     # of a drill, how far below the face it goes


@dataclass(frozen=True)
class Sunk:
    """A countersink for a head [mm]: diameter at the surface, how deep the cone goes, how far heads spread."""

    diameter: float
    depth: float
    below: tuple[float, float]
    spread_tried: float                          # two standard deviations, stop set by a screw that was tried
    spread_by_size: float                        # the same, set by the standard's size
    left: float | None = None                    # of the hole below the cone; negative where it goes through


@dataclass(frozen=True)
class HoleAnswer:
    """All that is said of a hole."""

    hole: Hole
    shop: Shop
    machine: Meant
    material: Meant
    depth: float | None
    through: bool
    steps: tuple[Step, ...]
    risks: tuple[Risk, ...]
    tapped: Tapped | None = None
    sunk: Sunk | None = None
    limits: tuple[float, float] | None = None    # of a reamed hole: over its size, least and most [um]
    remarks: tuple[str, ...] = ()
    figures_note: str = "book figures only"
    beyond: Beyond | None = None                 # a last drill that the machine does not hold or drive
    own: Own = field(default_factory=Own)        # numbers that the person gave

    @property
    def bench(self) -> Bench:
        """Machine and material themselves."""
        return Bench(self.shop, self.shop.machines[self.machine.key], self.shop.materials[self.material.key])


def quick_hole(
    shop: Shop, hole: Hole, machine: Meant, material: Meant, depth: float | None, through: bool,
    own: Own | None = None,
) -> HoleAnswer:
    """What to do for a hole.

    Args:
        shop: with book figures.
        hole: what is asked for.
        machine: where.
        material: of what.
        depth: of the hole, or of full thread [mm]; None where nobody says.
        through: whether the drill comes out.
        own: the person's own numbers, which are checked and not changed.

    Raises:
        InputError: if the machine does not turn a drill, nothing is known of drilling the material, or own numbers
            are none that the machine has.
    """
    bench, own = Bench(shop, shop.machines[machine.key], shop.materials[material.key]), own or Own()
    if bench.machine.spindle is None:
        raise InputError(f"nothing is known of a spindle of the {bench.machine.name}", where="--machine",
                         right="write its speeds and power under it, or name another machine")
    if not known(bench.material):
        raise InputError(f"no figure for drilling {bench.material.name}", where="--material",
                         right="drilling_force under the material, from a book")
    own.on(bench.machine.spindle)
    drilled = own.drilled(hole) or _drilled_size(hole, bench)
    deep = _drill_depth(hole, depth, through)
    row, beyond = _row(bench, material.key, drilled, deep, own)
    thread = with_drill(hole.thread, drilled) if hole.kind == "thread" and hole.thread else None
    tapped, sunk = tapped_of(thread, bench, depth) if thread else None, _sunk(hole, depth)
    thick = (depth or math.inf) if through else 0.0
    risks = (*slope_risk(bench, row[0], own.slope), *drill_risks(bench, row, deep, thick),
             *_not_held(bench, row, own), *_sinks_through(sunk, bench, depth),
             *(thread_risks(tapped, bench, depth, through) if tapped else ()))
    steps = (*_spot(bench, row[0], drilled, deep), *_drills(bench, row, depth, deep, through),
             *((Step("widen", drilled),) if beyond else ()),
             *_after(hole, bench, blind=depth is not None and not through))
    remarks = *drill_remarks(bench, hole, row, drilled), *_too_fast(bench, steps)
    steps = tuple(_by_hand(bench, step) if _how_fast(bench, step) > TOO_FAST else step for step in steps)
    return HoleAnswer(hole, shop, machine, material, depth, through, steps, risks, tapped, sunk, _limits(hole),
                      remarks, beyond=beyond, own=own)


def _drilled_size(hole: Hole, bench: Bench) -> float:
    """The drill that the hole is drilled with last [mm]."""
    if hole.kind == "thread":
        assert hole.thread is not None
        return hole.thread.tap_drill
    if hole.kind == "ream":
        return round(drill_for_reamer(hole.diameter, bench.material, bench.before_reaming), 3)
    return hole.diameter


def _drill_depth(hole: Hole, depth: float | None, through: bool) -> float | None:
    """How deep the drill goes at its full width [mm]."""
    if depth is None or through or hole.kind not in ("thread", "ream"):
        return depth
    if hole.kind == "ream":
        return depth + REAM_LEAD * hole.diameter
    assert hole.thread is not None
    return depth + TAP_LEAD * hole.thread.pitch


def _row(
    bench: Bench, material_key: str, drilled: float, deep: float | None, own: Own,
) -> tuple[tuple[DrillStep, ...], Beyond | None]:
    """The drills in order: the person's own, else those that the machine takes and whose flutes go so deep."""
    shop, machine, material = bench.shop, bench.machine, bench.material
    beyond = None
    if own.drills:
        sizes = own.drills if abs(own.drills[-1] - drilled) < 1e-6 else (*own.drills, drilled)
        row = tuple(drill_step(shop, machine, material, Drill(size), before)
                    for before, size in zip((0.0, *sizes), sizes, strict=False))
    else:
        able = [size for size in bench.sizes if deep is None or bench.reach(size) >= deep]
        row, beyond = held_row(shop, machine, material_key, drilled, able)
    last = row[-1]
    if not own.cuts:
        return row, beyond
    turn = own.turn or last.turn
    most = 2.0 * math.pi * follows(shop, machine) / turn
    feed = own.a_turn(turn) or min(feed_of(material, last.diameter), most)
    if feed > most * 1.0001:
        asked, fastest = (tell(a_turn * turn / (2.0 * math.pi), "table_feed", shop.units) for a_turn in (feed, most))
        raise InputError(f"{asked} is more than the {machine.name} follows", where="--feed",
                         right=f"up to {fastest}, half of its rapid speed")
    if feed > BOLDEST * last.diameter:
        raise InputError(f"{bench.fine(feed)} a turn", where="--feed",
                         right=f"no drill of Ø{bench.size(last.diameter)} takes more than "
                               f"{bench.fine(BOLDEST * last.diameter)}")
    load = book_load(shop, machine, material, Drill(last.diameter), feed, turn, last.pilot)
    return (*row[:-1], DrillStep(last.diameter, last.pilot, turn, feed, load)), beyond


def _spot(bench: Bench, first: DrillStep, drilled: float, deep: float | None) -> Iterator[Step]:
    """A spot where the first drill would walk without one."""
    if p_walks(bench, first, deep, guided=False) <= bench.shop.good:
        return
    size = bench.spot(drilled)
    wanted = usual_speed(bench.material, "hss") / (size / 2.0)
    assert bench.machine.spindle is not None
    note = "on a centre punch mark" if bench.kind == "drill_press" else ""
    wide = min(SPOT_WIDE * first.diameter, SPOT_MOST * size)
    yield Step("spot", size, speed_on(bench.machine.spindle, wanted), SPOT_FEED * feed_of(bench.material, size),
               note=note, wide=math.ceil(10.0 * wide) / 10.0)


def _drills(
    bench: Bench, row: Sequence[DrillStep], depth: float | None, deep: float | None, through: bool,
) -> Iterator[Step]:
    """The drills with how far they go: an arm feels where one comes out, a feed by machine is told."""
    told = deep if deep != depth else None
    for step in row:
        point = millimetres(float(point_length(metres(step.diameter), POINT)))
        tip = None if deep is None else deep + point + (BEYOND if through else 0.0)
        pecks = pecks_of(bench.material, step.diameter, deep) if deep is not None else None
        yield Step("drill", step.diameter, step.turn, step.feed, pecks, step, deep=told,
                   tip=None if through and hand_fed(bench.shop, bench.machine) else tip)


def _after(hole: Hole, bench: Bench, *, blind: bool) -> Iterator[Step]:
    """What comes after the drill."""
    spindle = bench.machine.spindle
    assert spindle is not None
    usual = usual_speed(bench.material, "hss") / (hole.diameter / 2.0)
    if hole.kind == "ream":
        feed = REAM_FEED * drill_step(bench.shop, bench.machine, bench.material, Drill(hole.diameter)).feed
        yield Step("ream", hole.diameter, speed_on(spindle, REAM_SPEED * usual), feed,
                   note="never turn it backwards, draw it out turning on")
    if hole.kind == "countersink":
        sunk = _sunk(hole, None)
        assert sunk is not None
        slow = SINK_SPEED * usual * hole.diameter / sunk.diameter
        yield Step("countersink", sunk.diameter, speed_on(spindle, slow),
                   SPOT_FEED * feed_of(bench.material, sunk.diameter),
                   note="try a screw of the same box in the first hole, then set the stop")
    if hole.kind == "thread":
        last = "; the last of the set a bottoming tap, with no more than two threads of lead" if blind else ""
        yield Step("tap", hole.diameter, note="by hand, square, guided by a centre in the still spindle; back half a "
                                              f"turn when it tightens{last}")


def _too_fast(bench: Bench, steps: Sequence[Step]) -> Iterator[str]:
    """That a reamer or a countersink turns much faster than it likes at the slowest speed that there is."""
    arm = hand_fed(bench.shop, bench.machine)
    sink = ("press firmly, in short bites, or turn the spindle by hand" if arm
            else "sink it on a slower machine, or by hand")
    instead = {"ream": "ream it by hand, square, led by a centre in the still spindle",
               "countersink": f"it chatters: {sink}"}
    for step in steps:
        fast = _how_fast(bench, step)
        if fast > TOO_FAST:
            what = f"{'a reamer' if step.what == 'ream' else 'a cone'} of Ø{bench.size(step.diameter)}"
            yield f"the slowest speed is {fast:.1f} times what {what} likes here: {instead[step.what]}"


def _how_fast(bench: Bench, step: Step) -> float:
    """Times the speed that a reamer or a cone likes; 0 of other steps."""
    share = {"ream": REAM_SPEED, "countersink": SINK_SPEED}.get(step.what)
    if share is None or step.turn is None:
        return 0.0
    return step.turn * step.diameter / 2.0 / (share * usual_speed(bench.material, "hss"))


def _by_hand(bench: Bench, step: Step) -> Step:
    """The step without a speed that nobody should key in; a cone may be pressed firmly by an arm."""
    if step.what == "countersink" and hand_fed(bench.shop, bench.machine):
        return step
    note = "by hand, square, led by a centre in the still spindle; " if step.what == "ream" else "by hand; "
    return replace(step, turn=None, feed=None, note=note + step.note)


# --- reamed and sunk -------------------------------------------------------------------------------


def _limits(hole: Hole) -> tuple[float, float] | None:
    if hole.kind != "ream":
        return None
    least, most = limits_of(f"H{hole.fit}", metres(hole.diameter))
    return float(micrometres(np.asarray(least))), float(micrometres(np.asarray(most)))


def _sunk(hole: Hole, depth: float | None) -> Sunk | None:
    if hole.kind != "countersink" or hole.thread is None:
        return None
    wide, cone = _cone(hole.thread)
    return Sunk(wide, cone, SINK, 2.0 * math.hypot(HEAD_SD, TRIAL_SD),
                2.0 * spread(HEAD_SD, BOX_SD, TRIAL_SD), None if depth is None else round(depth - cone, 3))


def _cone(screw: Thread) -> tuple[float, float]:
    """How wide and how deep the cone is for the head of a screw [mm]; 90 degrees."""
    assert screw.clearance is not None
    wide = millimetres(COUNTERSUNK[screw.name].sharp_diameter) + sum(SINK)
    return round(wide, 2), round((wide - screw.clearance[1]) / 2.0, 2)


def _sinks_through(sunk: Sunk | None, bench: Bench, depth: float | None) -> Iterator[Risk]:
    """That a cone is deeper than the metal, so that the head bears on what lies below it."""
    if sunk is None or sunk.left is None or depth is None or sunk.left > 0.0:
        return
    opens = sunk.diameter - 2.0 * depth
    fits = [name for name in COUNTERSUNK if _cone(thread_named(name))[1] < depth]
    smaller = f", or a smaller screw: {fits[-1]}" if fits else ""
    yield Risk(f"the cone is {bench.said(sunk.depth)} deep and goes through {bench.said(depth)}: the hole opens to "
               f"Ø{bench.said(opens)} and the head stands on a sharp edge, or on what lies below", None,
               f"thicker metal, the piece below sunk with it{smaller}")


def _not_held(bench: Bench, row: Sequence[DrillStep], own: Own) -> Iterator[Risk]:
    """That nothing on the machine grips a drill of the person's own."""
    for step in row if own.drills else ():
        if not holds(bench.shop, bench.machine, step.diameter):
            yield Risk(f"nothing on the {bench.machine.name} opens to Ø{bench.size(step.diameter)}", None,
                       "a drill with a thinner shank")
