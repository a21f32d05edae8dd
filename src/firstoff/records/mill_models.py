"""What each of the nine tests should read, by row, and how likely a reading is there: the forward models."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks._chance import known
from ..checks._tip import tip
from ..checks.base import Case, Observation
from ..checks.power import CHECK as POWER
from ..checks.si import metres, millimetres, value
from ..cutting.chatter import Mode
from ..cutting.still import pull_loop, square_size, swing_difference, turned_over_travel
from ..errors import RecordError
from ..job.route import Cut
from ..route.lone import Block, lone_case
from ..route.tools import collet_for
from ..shop.models import Shop
from . import noise
from .mill_answers import Answers, mirrored
from .ringing import LOG_ENDS, LOG_STARTS, PHONE_HEARS, SINGS_BELOW

Density = Callable[[Belief], Rows]

_STEP: Final = metres(40.0)      #: of the milled square


@dataclass(frozen=True)
class Term:
    """One reading, or what a few of them say together.

    Fields:
        name: as a person would call it.
        density: log density of an honest reading, by row.
        wide: width over which a slip may fall, in the unit of the density.
        weight: below 1 where the middle of the readings was taken from them.
    """

    name: str
    density: Density
    wide: float
    weight: float = 1.0

    @property
    def floor(self) -> float:
        """What a slip gives this reading: the least likelihood that it can have."""
        return noise.SLIP / self.wide

    def rows(self, belief: Belief) -> Rows:
        """Log likelihood by row, slips allowed for."""
        honest = math.log1p(-noise.SLIP) + self.density(belief)
        return np.asarray(self.weight * np.logaddexp(honest, math.log(self.floor)))

    def strange(self, belief: Belief, odd: float) -> bool:
        """Whether the reading is hardly likelier, by what is believed, than a slip."""
        return float(np.mean(np.exp(self.density(belief)))) < odd * self.floor


def _normal(off: Rows, sd: Rows | float) -> Rows:
    return np.asarray(-0.5 * (off / sd) ** 2 - np.log(sd * math.sqrt(2.0 * math.pi)))


def terms(found: Answers) -> tuple[Term, ...]:
    """All that the readings of a test say."""
    return tuple(_MODELS[found.test.name](found))


def _pull(found: Answers) -> Sequence[Term]:
    axis, force, u = found.text("axis"), found.number("force"), found.uncertainty()
    sign = -1.0 if mirrored(found) else 1.0
    at = {key: sign * found.number(key) for key in ("pulled", "released", "pushed", "released_back")}
    there, back = at["pulled"] - at["released"], at["released_back"] - at["pushed"]
    play = at["released"] - at["released_back"]

    def bent(read: float) -> Density:
        def density(belief: Belief) -> Rows:
            expected = _loop(found, belief, force)[0]
            sd = np.hypot(u * math.sqrt(2.0), math.hypot(noise.FORCE_READ, noise.NOT_A_SPRING) * expected)
            return _normal(read - expected, sd)
        return density

    def lost(belief: Belief) -> Rows:
        expected = _loop(found, belief, force)[1]
        return _normal(play - expected, np.hypot(u * math.sqrt(2.0), noise.PLAY_VARIES * expected))

    return (Term(f"{axis}, under the pull and let go", bent(there), noise.LENGTH_WIDE),
            Term(f"{axis}, under the push and let go", bent(back), noise.LENGTH_WIDE),
            Term(f"{axis}, let go on either side", lost, noise.LENGTH_WIDE))


def _loop(found: Answers, belief: Belief, force: float) -> tuple[Rows, Rows]:
    """How far the nose bends, and how far it stays away, by row [m]."""
    loop = pull_loop(force, value(belief, found.entity, f"stiffness_{found.text('axis')}"),
                     value(belief, found.entity, "lost_motion"), known(belief, found.entity, "slide_drag", 0.0))
    return loop.pulled - loop.released, loop.released - loop.released_back


def _runout(found: Answers) -> Sequence[Term]:
    read, u = (found.number("high") - found.number("low")) / 2.0, found.uncertainty() / math.sqrt(2.0)
    collet = f"collet:{found.text('collet')}"

    def density(belief: Belief) -> Rows:
        expected = value(belief, collet, "runout")
        return _normal(read - expected, np.hypot(u, noise.RUNOUT_VARIES * expected))

    return (Term("half of highest less lowest", density, noise.LENGTH_WIDE),)


def _circle(found: Answers) -> Sequence[Term]:
    swing, u = found.number("swing"), found.uncertainty()
    across, deep = found.number("right") - found.number("left"), found.number("back") - found.number("front")
    read = max((across, deep), key=abs)             # the belief has one figure, for the worse of both

    def density(belief: Belief) -> Rows:
        expected = swing_difference(value(belief, found.entity, "tram"), swing)
        return _normal(read - expected, math.hypot(u * math.sqrt(2.0), noise.TABLE))

    return (Term("right less left" if read == across else "back less front", density, noise.LENGTH_WIDE),)


def _scatter(readings: Sequence[float], entity: str, parameter: str, read: float) -> Sequence[Term]:
    """Readings of the same thing: how far each lies from the middle tells how they scatter."""
    middle, many = float(np.median(readings)), len(readings)

    def of(off: float) -> Density:
        def density(belief: Belief) -> Rows:
            return _normal(np.full(belief.rows, off), np.hypot(value(belief, entity, parameter), read))
        return density

    return [Term(f"reading {i + 1} of {many}", of(reading - middle), noise.LENGTH_WIDE, (many - 1.0) / many)
            for i, reading in enumerate(readings)]


def _touch_off(found: Answers) -> Sequence[Term]:
    return _scatter(found.numbers("readings"), found.entity, "touch_off", noise.SHOWN)


def _returns(found: Answers) -> Sequence[Term]:
    return _scatter(found.numbers("readings"), found.entity, "positioning", found.uncertainty())


def _thrust(found: Answers) -> Sequence[Term]:
    readings = np.log(found.numbers("stall"))
    read, sd = float(np.median(readings)), math.hypot(noise.SCALE, noise.STALL / math.sqrt(len(readings)))

    def density(belief: Belief) -> Rows:
        return _normal(read - np.log(value(belief, found.entity, "axis_thrust")), sd)

    return (Term("where it stalled", density, noise.LOG_WIDE),)


def _watts(found: Answers) -> Sequence[Term]:
    case = cut_case(found)
    seen = Observation("watts", value=found.number("cutting") - found.number("idle"), sd=noise.WATTMETER)

    def density(belief: Belief) -> Rows:
        assert POWER.loglik is not None
        rows = POWER.loglik(case, belief, seen)
        return np.zeros(belief.rows) if rows is None else rows

    return (Term("watts above idle", density, noise.LOG_WIDE),)


def cut_case(found: Answers) -> Case:
    """The known cut of a test, as a case that checks can look at."""
    tool = found.shop.tools[found.text("tool")]
    depth, width = (float(millimetres(found.number(key))) for key in ("depth", "width"))
    turn = found.number("speed")
    feed = found.number("feed") / (turn / (2.0 * math.pi) * tool.flutes)
    cut = Cut().model_copy(update={
        "spindle_speed": turn, "feed_per_tooth": feed, "depth_of_cut": depth, "width_of_cut": width,
        "direction": "slot" if width >= tool.diameter else "conventional"})
    return _lone(found.shop, found.machine, found.text("tool"), found.text("material"), Block(depth, width), cut)


def _lone(
    shop: Shop, machine: str, tool: str, material: str, block: Block, cut: Cut, stickout: float | None = None
) -> Case:
    collet = collet_for(shop, shop.machines[machine], shop.tools[tool])
    if collet is None:
        raise RecordError(f"nothing on this machine grips the {shop.tools[tool].name}", where="tool")
    return lone_case(shop, machine, tool, material, collet, block, cut, stickout)


def _tap(found: Answers) -> Sequence[Term]:
    case = tap_case(found)
    frequency = math.log(found.number("frequency"))
    damping = math.log(found.number("damping")) if found.has("damping") else None
    heard = _heard(found.text("file").lower(), found.number("frequency"))
    heading = (1.0, 0.0, 0.0) if found.text("axis") == "x" else (0.0, 1.0, 0.0)

    def density(belief: Belief) -> Rows:
        return _rings(tip(case, belief, heading).along, frequency, damping, heard)

    wide = noise.LOG_WIDE if damping is None else noise.LOG_WIDE**2
    return (Term("how the cutter rings", density, wide),)


def _heard(file: str, frequency: float) -> tuple[float, float]:
    """The tones between which the instrument hears [rad/s]: a phone, or the log of one that did not hear higher."""
    if file.endswith(".wav"):
        return PHONE_HEARS, SINGS_BELOW
    return LOG_STARTS, LOG_ENDS if file.endswith(".csv") and frequency <= LOG_ENDS else SINGS_BELOW


def tap_case(found: Answers) -> Case:
    """The tapped cutter, as a case; what it would cut does not count."""
    tool = found.shop.tools[found.text("tool")]
    depth = min(1.0, tool.flute_length)
    cut = Cut.model_validate({"spindle_speed": "1000 rpm", "feed_per_tooth": "0.02 mm", "direction": "conventional"})
    cut = cut.model_copy(update={"depth_of_cut": depth, "width_of_cut": tool.diameter / 2.0})
    stickout = float(millimetres(found.number("stickout"))) if found.has("stickout") else None
    material = next(iter(found.shop.materials))
    return _lone(found.shop, found.machine, found.text("tool"), material, Block(depth, tool.diameter / 2.0), cut,
                 stickout)


def _rings(modes: Sequence[Mode], frequency: float, damping: float | None, heard: tuple[float, float]) -> Rows:
    """Log density of what was heard: any of the modes that can be, half by how loud it is, half any alike.

    A tap gives each mode the speed 1 / mass, and its peak in the spectrum stands higher the less it is damped.
    """
    natural = np.stack([np.asarray(mode.natural, dtype=np.float64) for mode in modes])
    loud = np.stack([np.asarray(mode.natural) ** 2 / (mode.stiffness * mode.damping) for mode in modes])
    able = np.where((natural >= heard[0]) & (natural <= heard[1]), 1.0, 1e-6)
    share = 0.5 * (able * loud / (able * loud).sum(axis=0) + able / able.sum(axis=0))
    each = np.log(share) + _normal(frequency - np.log(natural), noise.MODE_FREQUENCY)
    if damping is not None:
        own = np.stack([np.asarray(mode.damping, dtype=np.float64) for mode in modes])
        each += _normal(damping - np.log(own), noise.MODE_DAMPING)
    return np.asarray(np.logaddexp.reduce(each, axis=0))


def _square(found: Answers) -> Sequence[Term]:
    nominal, u, over = found.number("nominal"), found.uncertainty("sized_with"), found.number("over")
    turned, fine = found.number("turned"), found.uncertainty() * math.sqrt(2.0)

    def scale(size: float, read: float, spread: float) -> Density:
        def density(belief: Belief) -> Rows:
            expected = square_size(size, value(belief, found.entity, "axis_scale"), 0.0)
            return _normal(read - expected, math.hypot(spread, noise.BETWEEN_AXES * size))
        return density

    def square(belief: Belief) -> Rows:
        return _normal(turned - turned_over_travel(value(belief, found.entity, "squareness"), over), fine)

    out = [Term("travel along the next edge", square, noise.LENGTH_WIDE),
           Term("mean of both sizes", scale(nominal, (found.number("x") + found.number("y")) / 2.0,
                                            math.hypot(u, noise.OVERSIZE)), noise.LENGTH_WIDE)]
    if found.has("step"):
        out.append(Term("the step", scale(_STEP, found.number("step"), u), noise.LENGTH_WIDE))
    return out


_MODELS: Final[dict[str, Callable[[Answers], Sequence[Term]]]] = {
    "pull": _pull, "runout": _runout, "circle": _circle, "touch_off": _touch_off, "thrust": _thrust,
    "watts": _watts, "tap": _tap, "square": _square, "returns": _returns,
}
