"""What can go wrong with the drills of a lone hole, how likely, and what to do instead; what else is worth saying."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from math import radians
from typing import Final

from ..checks._chance import OPERATION_SCATTER, spread
from ..checks._drills import (
    BY_ARM,
    BY_HAND,
    FLAT,
    POINT,
    PUSH,
    STALL,
    TWIST,
    Drill,
    book_load,
    hand_fed,
    load_of,
    log_sd,
    over,
    twist_off,
)
from ..checks.breakthrough import EASES, PLAY_FACTOR, bitten, play_of
from ..checks.si import metres, millimetres, square_metres
from ..checks.wander import ALLOWED, beyond, book_stiffness, walks
from ..cutting.breakthrough import point_length
from ..cutting.chisel import CHISEL, chisel_press
from ..cutting.force import specific_force
from ..cutting.hole import drill_chip
from ..cutting.wander import sideways, slope_side_force, uneven_lips_force
from ..dryrun.result import odds
from ..errors import OutOfRange
from ..units import tell, tell_rounded
from .asked_hole import Hole
from .cuts import coolant, speed_on, usual_speed
from .drills import (
    FEEDS,
    OVER_SIZE,
    WORTH,
    DrillStep,
    drill_step,
    feed_of,
    in_order,
    reamer_takes,
    worst,
)
from .held_drills import elsewhere, too_thin
from .hole_bench import Bench
from .pecks import chips
from .risk import Risk, undecided
from .tools import TOO_FAST

TRIAL: Final = "drill one in a scrap of the same bar, as deep"
FINE: Final = 0.01             #: [mm] to which a reamer's allowance is looked at
SLOWER: Final = 0.7            #: of a speed, where there are no steps
#: What helps where neither feed nor speed does.
MORE: Final = {STALL: "a machine with more torque", TWIST: "out for the chips more often",
               BY_HAND: "a machine that feeds by power", PUSH: "a machine that pushes harder"}
RUBS: Final = FEEDS[-1]        #: of the usual feed: below it a drill rubs


def drill_risks(bench: Bench, row: Sequence[DrillStep], deep: float | None, thick: float | None) -> Iterator[Risk]:
    """What the drills of a row are likely to do.

    Args:
        bench: where, and of what.
        row: the drills in order, one at least.
        deep: how far the last goes in at its full width [mm]; None where nobody says.
        thick: what it comes out of at the far side [mm]; 0 where it does not, infinite where nobody says how thick.
    """
    last = row[-1]
    for step in row:
        if step.load.first is not None:
            yield Risk(f"Ø{bench.size(step.diameter)}: {_too_much(bench, step)}", step.load.p,
                       _lighter(bench, step, row), settle=_settle(step))
    if len(row) > 1:
        alone = _in_one_go(bench, last)
        if alone.load.first is not None:
            size = bench.size(last.diameter)
            yield Risk(f"Ø{size} in one go instead, at its usual feed: {_too_much(bench, alone)}", alone.load.p,
                       otherwise=True)
    yield _walks(bench, row[0], deep)
    if deep is not None:
        yield from _too_short(bench, row, deep)
    if thick:
        yield from _comes_out(bench, last, thick)


def _comes_out(bench: Bench, last: DrillStep, thick: float) -> Iterator[Risk]:
    size = bench.size(last.diameter)
    yield Risk(f"Ø{size} grabs and breaks as it comes out", _p_grabs(bench, last, thick),
               "clamp it on wood, ease off as it comes through" + (
                   "; flatten the lips of the drill with a stone" if bench.material.grabs else ""))
    point = millimetres(float(point_length(metres(last.diameter), POINT)))
    if thick < point:
        long = tell_rounded(point, "length", bench.shop.units)
        yield Risk(f"the sheet is thinner than the point of Ø{size} is long ({long}): it comes out before its rim is "
                   "led, the hole gets three corners and the sheet climbs up the drill", None,
                   "between two boards, clamped down, drilled through all three; or a step drill")


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


def _settle(step: DrillStep) -> str:
    """What would tell whether a drill goes, where what lasts decides it."""
    first = step.load.first
    return TRIAL if first is not None and undecided(first.good, first.bad) else ""


def _lighter(bench: Bench, step: DrillStep, row: Sequence[DrillStep]) -> str:
    """What brings a drill down that is likely to fail, by what can be set, else what would."""
    first = step.load.first
    if step.load.p <= bench.shop.close or first is None:
        return ""
    if len(row) == 1 and (pilot := _pilot_first(bench, step)):
        return pilot
    easier = _easier(bench, step)
    if easier:
        return f"{easier}; a sharp drill"
    other = MORE[first.name]
    if first.name in (STALL, PUSH):
        other = next(elsewhere(bench.shop, bench.machine, bench.material, step.diameter), other)
    return f"a sharp drill, or {other}"


def _easier(bench: Bench, step: DrillStep) -> str:
    """A lighter feed, a slower speed or both that bring a drill well down, as they are set; "" where none does."""
    light = min(step.feed, RUBS * feed_of(bench.material, step.diameter))
    turns, drill = [step.turn, *_slower(bench, step)], Drill(step.diameter)
    tried = [(turn, feed, book_load(bench.shop, bench.machine, bench.material, drill, feed, turn, step.pilot).p)
             for turn in turns for feed in {light, step.feed}]
    turn, feed, p = min(tried, key=lambda item: item[2])
    if p > WORTH * step.load.p:
        return ""
    words = [f"at {tell(turn, 'rotation')}"] if turn < step.turn else []
    if feed < step.feed:
        units, way = bench.shop.units, 12.7 if bench.shop.units == "in" else 10.0
        words.append(f"lighter, {tell(way, 'length', units)} in about {way / (feed * turn) * 2.0 * math.pi:.0f} s"
                     if hand_fed(bench.shop, bench.machine) else f"fed {bench.fine(feed)} a turn")
    return f"{', '.join(words)}: {odds(p)}"


def _slower(bench: Bench, step: DrillStep) -> Iterator[float]:
    """The next slower speed of the spindle [rad/s], and the fastest that the drill likes where that is slower."""
    spindle, likes = bench.machine.spindle, usual_speed(bench.material, "hss") / (step.diameter / 2.0)
    if spindle is None:
        return
    for wanted in (0.99 * step.turn if spindle.steps else SLOWER * step.turn, likes):
        turn = speed_on(spindle, wanted)
        if turn < 0.99 * step.turn:
            yield turn


def _pilot_first(bench: Bench, step: DrillStep) -> str:
    """What a pilot would bring a drill that somebody wants to take in one go."""
    planned = in_order(bench.shop, bench.machine, bench.material, Drill(step.diameter), bench.sizes, bench.shop.close)
    if len(planned) == 1 or worst(planned) >= step.load.p:
        return ""
    before = ", then ".join(f"Ø{bench.size(one.diameter)}" for one in planned[:-1])
    return f"{before} first: {odds(worst(planned))}"


def p_walks(bench: Bench, first: DrillStep, deep: float | None, guided: bool) -> float:
    """Chance that a drill makes its hole further off its place than most work allows [1].

    Args:
        bench: where, and of what.
        first: the first drill.
        deep: how far it goes in [mm]; None where nobody says.
        guided: whether its point drops into a spot.
    """
    press, stiffness = _press_and_give(bench, first)
    return float(beyond(ALLOWED, walks(press, stiffness, guided=guided), deep or 0.0))


def _press_and_give(bench: Bench, first: DrillStep) -> tuple[float, float]:
    """Press of the chisel edge at the first touch [N], and stiffness of the point sideways [N/m]."""
    press = chisel_press(_lips(bench, first.feed), metres(first.diameter), metres(first.feed), CHISEL,
                         square_metres(1.0))
    own = bench.machine.stiffness or bench.shop.classes[bench.machine.like].stiffness
    young = bench.shop.tool_materials["hss"].young.value
    return float(press), book_stiffness(young, first.diameter, own.x.value if own else None)


def _walks(bench: Bench, first: DrillStep, deep: float | None) -> Risk:
    """That it bites off its place without a spot; from a spot, too, where it is deep enough to run off."""
    alone, led = (p_walks(bench, first, deep, guided) for guided in (False, True))
    what = f"without a spot Ø{bench.size(first.diameter)} comes more than {bench.said(ALLOWED)} off its place"
    if alone <= bench.shop.good:
        return Risk(what, alone, otherwise=True)
    if led > bench.shop.close:
        return Risk(what, alone, f"from a spot: {odds(led)}, for it runs off so deep; from both sides, or bored",
                    otherwise=True)
    return Risk(what, alone, f"from a spot: {odds(led)}; a short drill", otherwise=True)


def slope_risk(bench: Bench, first: DrillStep, slope: float) -> Iterator[Risk]:
    """That the first drill skids down a face that is off square [rad]."""
    if slope <= FLAT:
        return
    said, size, point = tell(slope, "angle"), bench.size(first.diameter), POINT
    lips, diameter, feed = _lips(bench, first.feed), metres(first.diameter), metres(first.feed)
    flat = f"mill or file a flat first, as wide as Ø{size}, then spot it"
    if slope >= (math.pi - point) / 2.0:
        yield Risk(f"on a face {said} off square a lip of Ø{size} touches before its point does: it skids and breaks",
                   1.0, flat)
        return
    press, stiffness = _press_and_give(bench, first)
    pushed = slope_side_force(press, slope) + uneven_lips_force(lips, diameter, feed, slope, point)
    skids = sideways(pushed, stiffness)
    p = float(beyond(ALLOWED, walks(press, stiffness, guided=False), 0.0, skids))
    far = tell_rounded(millimetres(float(skids)), "length", bench.shop.units)
    yield Risk(f"on a face {said} off square Ø{size} skids about {far} down it, more than {bench.said(ALLOWED)} off "
               "its place", p, flat if p > bench.shop.good else "")


def _too_short(bench: Bench, row: Sequence[DrillStep], deep: float) -> Iterator[Risk]:
    """That a drill as it is sold does not go so deep with its chips out of the hole."""
    for step in row:
        reach = bench.reach(step.diameter)
        if reach < deep:
            size, usual = bench.size(step.diameter), tell_rounded(reach, "length", bench.shop.units)
            yield Risk(f"the flutes of Ø{size} are about {usual} long: below that its chips jam", None,
                       "a long drill after the usual one, out for the chips often; or from both sides")


def _lips(bench: Bench, feed: float) -> float:
    """Specific force of the lips [N/m2]; of a mixture the mean."""
    forces = [(kind.drilling_force.value, kind.drilling_exponent, share) for kind, share in bench.kinds()
              if kind.drilling_force is not None]
    if not forces:
        raise OutOfRange(f"no figure for drilling {bench.material.name}", right="drilling_force under the material")
    chip = drill_chip(metres(feed), POINT)
    return sum(share * float(specific_force(k11, m, chip, metres(1.0))) for k11, m, share in forces)


def _p_grabs(bench: Bench, last: DrillStep, thick: float) -> float:
    """Chance that the last drill is twisted off as it comes out."""
    own = bench.machine.stiffness or bench.shop.classes[bench.machine.like].stiffness
    if own is None:
        return 0.0
    play, arm = play_of(bench.material, bench.kind), hand_fed(bench.shop, bench.machine)
    feed = millimetres(float(bitten(last.feed, last.load.thrust * (EASES if arm else 1.0), own.z.value, play,
                                    last.diameter, radians(118.0), thick)))
    torque = max(float(load_of(kind.drilling_force, kind, Drill(last.diameter), feed, CHISEL * last.diameter).torque)
                 for kind, _ in bench.kinds() if kind.drilling_force is not None)
    strength = bench.shop.tool_materials["hss"].rupture_strength
    sd = spread(last.load.log_sd, log_sd(strength), OPERATION_SCATTER["force"], OPERATION_SCATTER["strength"], BY_ARM,
                math.log(PLAY_FACTOR) if play else 0.0)
    return over(torque, twist_off(strength.value, last.diameter), sd)


# --- what is worth saying that is no chance -----------------------------------------------------------


def drill_remarks(bench: Bench, hole: Hole, row: Sequence[DrillStep], drilled: float) -> Iterator[str]:
    """Speed, chips, what a reamer should find, what grips a thin drill, what is not in the drawer.

    Args:
        bench: where, and of what.
        hole: that is asked for.
        row: the drills in order.
        drilled: how wide the hole is before it is tapped or reamed [mm].
    """
    yield from _too_fast(bench, row[-1])
    if chips(bench.material) == "long":
        yield "long chips: draw out before they wind up, spindle stopped to clear them"
    if hole.kind == "ream":
        least, most = reamer_takes(hole.diameter, bench.material)
        left = hole.diameter - drilled - OVER_SIZE
        amiss = ("" if least - FINE <= left <= most + FINE else f"; Ø{bench.size(drilled)} leaves it about "
                 f"{bench.said(max(left, 0.0))}: " + ("it rubs and widens nothing" if left < least else
                                                      "it chatters and comes out wide"))
        yield f"the reamer should find {bench.said(least)} to {bench.said(most)} on the diameter{amiss}"
    thin = too_thin(bench.shop, bench.machine, row[0].diameter)
    if thin is not None:
        yield f"what grips closes to {bench.size(thin)}: Ø{bench.size(row[0].diameter)} goes into a pin chuck in it"
    missing = [step.diameter for step in row if bench.shop.file and step.diameter not in bench.has]
    if missing:
        yield f"not among the drills of your shop: {', '.join(f'Ø{bench.size(size)}' for size in missing)}"


def _fast(bench: Bench, step: DrillStep) -> float:
    """How many times as fast a drill turns as it likes."""
    return step.turn * step.diameter / 2.0 / usual_speed(bench.material, "hss")


def _too_fast(bench: Bench, last: DrillStep) -> Iterator[str]:
    """A drill that turns much faster than it likes, or is fed so thin that it rubs."""
    size, spindle = bench.size(last.diameter), bench.machine.spindle
    lean = "lean on it" if hand_fed(bench.shop, bench.machine) else "feed it"
    fast = _fast(bench, last)
    if fast > TOO_FAST and spindle is not None and last.turn > spindle.slowest * 1.01:
        yield (f"{tell(last.turn, 'rotation')} is {fast:.1f} times what Ø{size} likes here: it burns its lips; turn "
               "it slower")
    elif fast > TOO_FAST:
        oil = "" if coolant(bench.material, "drill") == "dry" else "oil, and "
        yield (f"the slowest speed is {fast:.1f} times what Ø{size} likes here: {oil}{lean} so that it cuts and "
               f"never rubs")
    usual = feed_of(bench.material, last.diameter)
    if last.feed < 0.99 * RUBS * usual:
        yield (f"{bench.fine(last.feed)} a turn is thin for Ø{size}: from {bench.fine(RUBS * usual)} it cuts, below "
               "that it rubs and hardens what it should cut")
