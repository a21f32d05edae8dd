"""A hole or thread without a job: drills that the machine takes, what tap and thread bear, what can go wrong.

By book figures alone, in closed form, so that the answer is there before the person has found the drill.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import radians
from typing import Final, Literal

import numpy as np

from ..checks._chance import OPERATION_SCATTER, spread
from ..checks._drills import (
    BY_ARM,
    BY_HAND,
    POINT,
    PUSH,
    Drill,
    book_load,
    hand_fed,
    load_of,
    log_sd,
    over,
    twist_off,
)
from ..checks._threads import Thread, fraction_of
from ..checks.breakthrough import EASES, PLAY_FACTOR, bitten, play_of
from ..checks.head_below import BOX_SD, HEAD_SD, TRIAL_SD
from ..checks.si import metres, micrometres, millimetres, square_metres
from ..checks.stripping import breaks_at, full_strength_length, strips_at, weak_strength
from ..checks.tapping import BENT, CORE, HOLE_SCATTER, SHEAR, factor_of
from ..checks.wander import ALLOWED, beyond, book_stiffness, walks
from ..cutting.chisel import CHISEL, chisel_press
from ..cutting.force import specific_force
from ..cutting.hole import drill_chip
from ..cutting.strength import breaking_torque
from ..cutting.tap import tap_torque, turned_and_bent
from ..cutting.thread import COUNTERSUNK, thread_height_share
from ..errors import InputError, OutOfRange
from ..shop.library import load_shop
from ..shop.models import Figure, Machine, Material, Shop
from ..stack.fits import limits_of
from ..units import tell, tell_rounded
from .asked_hole import Hole, Meant
from .cuts import coolant, speed_on, usual_speed
from .drills import (
    DrillStep,
    drill_for_reamer,
    drill_step,
    feed_of,
    known,
    reamer_takes,
)
from .held_drills import HOPELESS, Beyond, held_row, too_thin
from .pecks import chips, pecks_of
from .tools import TOO_FAST

#: Drills that a set has [mm]: by halves, for pilots where the shop's own are not listed.
SET: Final = tuple(0.5 * i for i in range(4, 27))
INCH_SET: Final = tuple(round(25.4 * i / 32.0, 3) for i in range(2, 17))
SPOTS: Final = {"mm": (3.0, 6.0), "in": (3.175, 6.35)}    #: [mm] usual spot drills, for small holes and for others
SINK: Final = (0.0, 0.2)       #: [mm] how far a head should lie below the surface where nobody says
LONGEST: Final = 2.5           #: diameters of full thread: deeper a hand tap jams in its chips; judged
WIDER: Final = 0.1             #: [mm] a drill that makes tapping easier
TAP_LEAD: Final = 2.0          #: pitches of a blind hole below the full thread: the lead of a plug tap
REAM_SPEED: Final = 1.0 / 3.0  #: of a drill's speed, as in cuts
SINK_SPEED: Final = 0.5
REAM_FEED: Final = 2.5         #: times a drill's feed, as in cuts

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


@dataclass(frozen=True)
class Risk:
    """What can go wrong: how likely (None: not a matter of chance here), and what to do instead."""

    what: str
    p: float | None
    instead: str = ""


@dataclass(frozen=True)
class Tapped:
    """A thread: torque of its tap and what breaks it [N m], how likely by how it is turned; its length [mm]."""

    thread: Thread
    drill: float
    share: float                                 # height of thread over H1 [1]
    torque: float
    breaks: float
    p_breaks: dict[str, float]
    full_length: float | None                    # from which a screw of class 8.8 breaks first
    p_strips: float | None = None                # at the length that was asked, by a screw at full strength


@dataclass(frozen=True)
class Sunk:
    """A countersink for a head [mm]: diameter at the surface, how deep the cone goes, how far heads spread."""

    diameter: float
    depth: float
    below: tuple[float, float]
    spread_tried: float                          # two standard deviations, stop set by a screw that was tried
    spread_by_size: float                        # the same, set by the standard's size


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

    @property
    def bench(self) -> Bench:
        """Machine and material themselves."""
        return Bench(self.shop, self.shop.machines[self.machine.key], self.shop.materials[self.material.key])


@dataclass(frozen=True)
class Bench:
    """Where it is drilled, and what."""

    shop: Shop
    machine: Machine
    material: Material

    @property
    def kind(self) -> str:
        """mill, drill_press or hand."""
        return self.shop.classes[self.machine.like].kind

    def said(self, length: float) -> str:
        """A length as people in this shop tell it: to a thousandth of an inch, or of a mm."""
        return tell(length, "length", self.shop.units, 3)

    def size(self, diameter: float) -> str:
        """A diameter as it stands on the drill: a fraction where it is one."""
        if self.shop.units != "in":
            return tell(diameter, "length", "mm")
        fraction = fraction_of(diameter / 25.4)
        return f"{fraction} in" if fraction else tell(diameter, "length", "in", 4)

    @property
    def sizes(self) -> tuple[float, ...]:
        """Drills that there are: the shop's own, else a set's [mm]; nobody with inches has the library's by mm."""
        own = tuple(sorted(t.diameter for t in self.shop.tools.values() if t.kind == "drill"))
        if self.shop.units == "in":
            return INCH_SET if set(own) <= _library_drills() else own
        return own if self.shop.file and own else SET


@cache
def _library_drills() -> frozenset[float]:
    """Sizes of the drills that a shop has which names none [mm]."""
    return frozenset(t.diameter for t in load_shop(None).tools.values() if t.kind == "drill")


def quick_hole(
    shop: Shop, hole: Hole, machine: Meant, material: Meant, depth: float | None, through: bool
) -> HoleAnswer:
    """What to do for a hole.

    Args:
        shop: with book figures.
        hole: what is asked for.
        machine: where.
        material: of what.
        depth: of the hole, or of full thread [mm]; None where nobody says.
        through: whether the drill comes out.

    Raises:
        InputError: if the machine does not turn a drill, or nothing is known of drilling the material.
    """
    bench = Bench(shop, shop.machines[machine.key], shop.materials[material.key])
    if bench.machine.spindle is None:
        raise InputError(f"nothing is known of a spindle of the {bench.machine.name}", where="--machine",
                         right="write its speeds and power under it, or name another machine")
    if not known(bench.material):
        raise InputError(f"no figure for drilling {bench.material.name}", where="--material",
                         right="drilling_force under the material, from a book")
    drilled = _drilled_size(hole, bench)
    deep = _drill_depth(hole, depth, through)
    row, beyond = held_row(shop, bench.machine, material.key, drilled, bench.sizes)
    tapped = _tapped(hole, bench, depth) if hole.kind == "thread" else None
    wide = (Step("widen", drilled),) if beyond else ()
    steps = (_spot(bench, drilled), *_drills(bench, row, deep), *wide, *_after(hole, bench))
    return HoleAnswer(
        hole, shop, machine, material, depth, through, steps,
        tuple(_risks(bench, row, deep, depth, through, tapped)), tapped, _sunk(hole), _limits(hole),
        tuple(_remarks(bench, hole, row)), beyond=beyond)


def _drilled_size(hole: Hole, bench: Bench) -> float:
    """The drill that the hole is drilled with last [mm]."""
    if hole.kind == "thread":
        assert hole.thread is not None
        return hole.thread.tap_drill
    if hole.kind == "ream":
        own = bench.sizes if bench.shop.file else tuple(0.1 * i for i in range(5, 200))
        return round(drill_for_reamer(hole.diameter, bench.material, own), 3)
    return hole.diameter


def _drill_depth(hole: Hole, depth: float | None, through: bool) -> float | None:
    """How deep the drill goes at its full width [mm]."""
    if depth is None or through or hole.kind != "thread":
        return depth
    assert hole.thread is not None
    return depth + TAP_LEAD * hole.thread.pitch


def _spot(bench: Bench, drilled: float) -> Step:
    own = tuple(sorted(t.diameter for t in bench.shop.tools.values() if t.kind == "spot_drill"))
    sizes = own if bench.shop.file and bench.shop.units == "mm" and own else SPOTS[bench.shop.units]
    size = next((wide for wide in sizes if wide >= drilled), sizes[-1])
    wanted = usual_speed(bench.material, "hss") / (size / 2.0)
    assert bench.machine.spindle is not None
    note = "on a centre punch mark" if bench.kind == "drill_press" else ""
    return Step("spot", size, speed_on(bench.machine.spindle, wanted), note=note)


def _drills(bench: Bench, row: Sequence[DrillStep], deep: float | None) -> Iterator[Step]:
    for step in row:
        pecks = pecks_of(bench.material, step.diameter, deep) if deep is not None else None
        yield Step("drill", step.diameter, step.turn, step.feed, pecks, step)


def _after(hole: Hole, bench: Bench) -> Iterator[Step]:
    """What comes after the drill."""
    spindle = bench.machine.spindle
    assert spindle is not None
    usual = usual_speed(bench.material, "hss") / (hole.diameter / 2.0)
    if hole.kind == "ream":
        feed = REAM_FEED * drill_step(bench.shop, bench.machine, bench.material, Drill(hole.diameter)).feed
        yield Step("ream", hole.diameter, speed_on(spindle, REAM_SPEED * usual), feed,
                   note="never turn it backwards, draw it out turning on")
    if hole.kind == "countersink":
        sunk = _sunk(hole)
        assert sunk is not None
        slow = SINK_SPEED * usual * hole.diameter / sunk.diameter
        yield Step("countersink", sunk.diameter, speed_on(spindle, slow),
                   note="try a screw of the same box in the first hole, then set the stop")
    if hole.kind == "thread":
        yield Step("tap", hole.diameter, note="by hand, square, guided by a centre in the still spindle; back half a "
                                              "turn when it tightens")


# --- threads ---------------------------------------------------------------------------------------


def _tapped(hole: Hole, bench: Bench, length: float | None) -> Tapped:
    thread, material = hole.thread, bench.material
    assert thread is not None
    share = float(thread_height_share(thread.sizes.nominal, thread.sizes.pitch, metres(thread.tap_drill)))
    torque, asked_sd = _tap_torque(thread, material, bench.shop)
    steel = bench.shop.tool_materials["hss"].rupture_strength
    breaks = float(breaking_torque(SHEAR * steel.value, CORE * thread.sizes.nominal))
    sd = spread(asked_sd, log_sd(steel), HOLE_SCATTER, OPERATION_SCATTER["strength"])
    chances = {how: over(float(turned_and_bent(torque, bent * torque)), breaks, sd) for how, bent in BENT.items()}
    weak = weak_strength(material, bench.shop)
    full = full_strength_length(thread, thread.tap_drill, weak) if weak else None
    return Tapped(thread, thread.tap_drill, share, torque, breaks, chances, full,
                  _p_strips(thread, bench, length) if length and weak else None)


def _tap_torque(thread: Thread, material: Material, shop: Shop) -> tuple[float, float]:
    """Torque of a hand tap with oil [N m], and its log spread; of a mixture the mean and the spread between them."""
    found = [(_tap_figures(kind, shop), share) for kind, share in _kinds(material, shop)]
    sizes = thread.sizes
    logs = [(math.log(float(tap_torque(force.value, factor, sizes.nominal, metres(thread.tap_drill)))), sd, share)
            for (force, factor, sd), share in found]
    mean = sum(share * one for one, _, share in logs)
    between = math.sqrt(sum(share * (one - mean) ** 2 for one, _, share in logs))
    return math.exp(mean), spread(between, math.sqrt(sum(share * sd * sd for _, sd, share in logs)))


def _tap_figures(material: Material, shop: Shop) -> tuple[Figure, float, float]:
    force = material.tapping_force
    if force is None:
        raise InputError(f"no figure for tapping {material.name}", where="--material",
                         right="tapping_force under the material, from a book")
    off = shop.discrepancies.get("tapping")
    own = [force, *([material.batch] if material.batch else []), *([off.factor] if off else [])]
    return force, factor_of(material), spread(*(log_sd(figure) for figure in own))


def _kinds(material: Material, shop: Shop) -> list[tuple[Material, float]]:
    """A material, or all that it may be with how often."""
    if not material.one_of:
        return [(material, 1.0)]
    whole = sum(material.one_of.values())
    return [(shop.materials[name], share / whole) for name, share in material.one_of.items()]


def _p_strips(thread: Thread, bench: Bench, length: float) -> float:
    """Chance that this length of full thread strips before a screw of class 8.8 breaks."""
    chances = []
    for kind, share in _kinds(bench.material, bench.shop):
        if kind.tensile_strength is not None:
            load = float(strips_at(thread, thread.tap_drill, length, kind.tensile_strength.value))
            sd = spread(log_sd(kind.tensile_strength), OPERATION_SCATTER["thread"])
            chances.append(share * over(breaks_at(thread), load, sd))
    return sum(chances)


# --- reamed and sunk -------------------------------------------------------------------------------


def _limits(hole: Hole) -> tuple[float, float] | None:
    if hole.kind != "ream":
        return None
    least, most = limits_of(f"H{hole.fit}", metres(hole.diameter))
    return float(micrometres(np.asarray(least))), float(micrometres(np.asarray(most)))


def _sunk(hole: Hole) -> Sunk | None:
    if hole.kind != "countersink" or hole.thread is None:
        return None
    head = millimetres(COUNTERSUNK[hole.thread.name].sharp_diameter)
    below = sum(SINK) / 2.0
    wide = head + 2.0 * below                                         # 90 degrees
    return Sunk(round(wide, 2), round((wide - hole.diameter) / 2.0, 2), SINK, 2.0 * math.hypot(HEAD_SD, TRIAL_SD),
                2.0 * spread(HEAD_SD, BOX_SD, TRIAL_SD))


# --- what can go wrong -----------------------------------------------------------------------------


def _risks(
    bench: Bench, row: Sequence[DrillStep], deep: float | None, length: float | None, through: bool,
    tapped: Tapped | None,
) -> Iterator[Risk]:
    last = row[-1]
    for step in row:
        if step.load.first is not None:
            yield Risk(f"Ø{bench.size(step.diameter)}: {_too_much(bench, step)}", step.load.p,
                       _lighter(bench, step, row))
    alone = _in_one_go(bench, last)
    if len(row) > 1 and alone.load.first is not None:
        size = bench.size(last.diameter)
        yield Risk(f"Ø{size} in one go instead, at its usual feed: {_too_much(bench, alone)}", alone.load.p)
    yield Risk(f"without a spot Ø{bench.size(row[0].diameter)} comes more than {bench.said(ALLOWED)} off its place",
               _p_wanders(bench, row[0], deep), "spot first; a short drill")
    if through:
        yield Risk(f"Ø{bench.size(last.diameter)} grabs and breaks as it comes out", _p_grabs(bench, last, length),
                   "clamp it on wood, ease off as it comes through" + (
                       "; flatten the lips of the drill with a stone" if bench.material.grabs else ""))
    if tapped is not None:
        yield from _thread_risks(tapped, bench, length)


def _in_one_go(bench: Bench, last: DrillStep) -> DrillStep:
    """The last drill without a pilot, fed as a drill likes to be fed."""
    drill, feed = Drill(last.diameter), feed_of(bench.material, last.diameter)
    turn = drill_step(bench.shop, bench.machine, bench.material, drill).turn
    load = book_load(bench.shop, bench.machine, bench.material, drill, feed, turn)
    return DrillStep(last.diameter, 0.0, turn, feed, load)


def _too_much(bench: Bench, step: DrillStep) -> str:
    first = step.load.first
    assert first is not None
    quantity = "force" if first.name in (BY_HAND, PUSH) else "torque"
    asked, bears = (tell_rounded(number, quantity, bench.shop.units) for number in (first.asked, first.bears))
    return f"{asked} is asked, about {bears} would {first.name}"


def _lighter(bench: Bench, step: DrillStep, row: Sequence[DrillStep]) -> str:
    if step.load.p <= 0.05:
        return ""
    if len(row) == 3 or step.load.p > HOPELESS:
        return "another machine with more torque"
    spindle, lean = bench.machine.spindle, "lean" if hand_fed(bench.shop, bench.machine) else "feed"
    slower = f", a slower {'step' if spindle and spindle.steps else 'spindle'}"
    return f"{lean} lighter, a sharp drill{slower if spindle and step.turn > spindle.slowest * 1.01 else ''}"


def _p_wanders(bench: Bench, first: DrillStep, deep: float | None) -> float:
    """Chance that an unguided drill bites further off than most work allows."""
    press = chisel_press(_lips(bench, first.feed), metres(first.diameter), metres(first.feed), CHISEL,
                         square_metres(1.0))
    own = bench.machine.stiffness or bench.shop.classes[bench.machine.like].stiffness
    young = bench.shop.tool_materials["hss"].young.value
    stiffness = book_stiffness(young, first.diameter, own.x.value if own else None)
    return float(beyond(ALLOWED, walks(press, stiffness, guided=False), deep or 0.0))


def _lips(bench: Bench, feed: float) -> float:
    """Specific force of the lips [N/m2]; of a mixture the mean."""
    kinds = _kinds(bench.material, bench.shop)
    forces = [(kind.drilling_force.value, kind.drilling_exponent, share) for kind, share in kinds
              if kind.drilling_force is not None]
    if not forces:
        raise OutOfRange(f"no figure for drilling {bench.material.name}", right="drilling_force under the material")
    chip = drill_chip(metres(feed), POINT)
    return sum(share * float(specific_force(k11, m, chip, metres(1.0))) for k11, m, share in forces)


def _p_grabs(bench: Bench, last: DrillStep, thick: float | None) -> float:
    """Chance that the last drill is twisted off as it comes out."""
    own = bench.machine.stiffness or bench.shop.classes[bench.machine.like].stiffness
    if own is None:
        return 0.0
    play, arm = play_of(bench.material, bench.kind), hand_fed(bench.shop, bench.machine)
    feed = millimetres(float(bitten(last.feed, last.load.thrust * (EASES if arm else 1.0), own.z.value, play,
                                    last.diameter, radians(118.0), thick or math.inf)))
    kinds = [kind for kind, _ in _kinds(bench.material, bench.shop) if kind.drilling_force is not None]
    torque = max(float(load_of(kind.drilling_force, kind, Drill(last.diameter), feed, CHISEL * last.diameter).torque)
                 for kind in kinds if kind.drilling_force is not None)
    strength = bench.shop.tool_materials["hss"].rupture_strength
    sd = spread(last.load.log_sd, log_sd(strength), OPERATION_SCATTER["force"], OPERATION_SCATTER["strength"], BY_ARM,
                math.log(PLAY_FACTOR) if play else 0.0)
    return over(torque, twist_off(strength.value, last.diameter), sd)


def _thread_risks(tapped: Tapped, bench: Bench, length: float | None) -> Iterator[Risk]:
    p, good = tapped.p_breaks["hand"], bench.shop.good
    wet = "" if coolant(bench.material, "tap") == "dry" else "oil, "
    yield Risk(f"the {tapped.thread.name} tap breaks, turned by hand", p,
               f"{wet}back often, a sharp tap; {_wider(tapped, bench)}" if p > good else "")
    if tapped.p_strips is not None and length is not None:
        yield Risk(f"{bench.said(length)} of full thread strip before a screw of class 8.8 breaks", tapped.p_strips,
                   _held_better(tapped, bench) if tapped.p_strips > good else "")


def _held_better(tapped: Tapped, bench: Bench) -> str:
    """What holds where the thread strips first."""
    if tapped.full_length is None:
        return ""
    if tapped.full_length > LONGEST * tapped.thread.nominal:
        return "an insert of steel wire, a nut behind it, or less pull"
    return f"{bench.said(round(tapped.full_length, 1))} of full thread"


def _wider(tapped: Tapped, bench: Bench) -> str:
    """What the next drill would save."""
    sizes, drill = tapped.thread.sizes, tapped.drill + WIDER
    torque, _ = _tap_torque(replace(tapped.thread, sizes=sizes._replace(tap_drill=metres(drill))), bench.material,
                            bench.shop)
    share = float(thread_height_share(sizes.nominal, sizes.pitch, metres(drill)))
    saved = 1.0 - torque / tapped.torque
    return (f"a drill {bench.said(WIDER)} wider saves {100.0 * saved:.0f} % of the torque and leaves "
            f"{100.0 * share:.0f} % of the thread")


def _remarks(bench: Bench, hole: Hole, row: Sequence[DrillStep]) -> Iterator[str]:
    """What is worth saying that is no chance."""
    last, usual = row[-1], usual_speed(bench.material, "hss")
    fast = last.turn * last.diameter / 2.0 / usual
    if fast > TOO_FAST:
        size = bench.size(last.diameter)
        lean = "lean on it" if hand_fed(bench.shop, bench.machine) else "feed it"
        yield (f"the slowest speed is {fast:.1f} times what Ø{size} likes here: oil, and {lean} so that it cuts and "
               f"never rubs")
    if chips(bench.material) == "long":
        yield "long chips: draw out before they wind up, spindle stopped to clear them"
    if hole.kind == "ream":
        least, most = reamer_takes(hole.diameter, bench.material)
        yield f"the reamer should find {bench.said(least)} to {bench.said(most)} on the diameter"
    thin = too_thin(bench.shop, bench.machine, row[0].diameter)
    if thin is not None:
        yield f"what grips closes to {bench.size(thin)}: Ø{bench.size(row[0].diameter)} goes into a pin chuck in it"
    missing = [step.diameter for step in row if bench.shop.file and step.diameter not in bench.sizes]
    if missing:
        yield f"not among the drills of your shop: {', '.join(f'Ø{bench.size(size)}' for size in missing)}"
