"""What a person asks of a lone cut: names that the shop knows, numbers that machine and cutter can be set to."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Final, Literal

import numpy as np

from ..checks.si import metres, micrometres, millimetres, takes, width_at
from ..errors import InputError, NameUnknown
from ..job.possible import ROUND
from ..shop.library import load_shop
from ..shop.models import Machine, Material, Shop, Tool
from ..units import tell, tell_any
from .tools import GRIPPED, OFF_FLUTES, collet_for

MILLS: Final = frozenset({"end_mill", "ball", "corner_radius", "face_mill", "chamfer"})

#: number of a cut -> what a person calls it when asking
NUMBERS: Final = {"depth_of_cut": "depth", "width_of_cut": "width", "spindle_speed": "speed",
                  "feed_per_tooth": "feed"}
#: What can be keyed in or asked at all: field -> quantity, least, most [mm, rad/s, mm/s]; a whole sheet, a dentist's
#: spindle, the finest lapping and the roughest flame cut lie within. What this machine and cutter bear comes after.
SETTABLE: Final[Mapping[str, tuple[str, float, float]]] = {
    "depth": ("length", 1e-3, 1e3), "width": ("length", 1e-3, 1e3), "speed": ("rotation", 0.1, 5e4),
    "feed": ("table_feed", 1e-3, 1e3), "stickout": ("length", 0.1, 1e3), "roughness": ("length", 1e-5, 0.1),
    "within": ("length", 1e-3, 10.0), "bow": ("length", 1e-3, 10.0),
    "down": ("angle", math.radians(0.1), math.pi / 2.0),
}
#: [mm] Ra that milling leaves at its very best, 0.8 to 6.3 um as a rule (machinery, roughness by process; recalled)
FINEST: Final = 0.2e-3
ALIKE: Final = 0.2           #: [mm] a cutter of so nearly a size may be meant by it
INCH: Final = 25.4           #: [mm]
HOLLOW: Final = math.radians(3.0)      #: [rad] slope up to which a cutter with a hollow middle clears it; judged
#: what goes down with its end, whose teeth meet in the middle or all but do
GOES_DOWN: Final = frozenset({"end_mill", "ball", "corner_radius"})


@dataclass(frozen=True)
class Wanted:
    """Names, and the numbers that a person has settled; None is left to be chosen. mm, mm/s, rad/s."""

    machine: str
    tool: str
    material: str
    depth: float | None = None
    width: float | None = None
    speed: float | None = None
    feed: float | None = None                # of the table
    direction: str | None = None
    stickout: float | None = None
    roughness: float | None = None           # Ra asked
    within: float | None = None              # how far the wall or floor may be off, to either side
    bow: float | None = None                 # of a raw hot-rolled face
    coolant: str | None = None
    down: float | None = None                # of its way below level: a ramp, a helix, straight down [rad]


@dataclass(frozen=True)
class Bench:
    """What the names stand for, in a shop that has the machine."""

    shop: Shop
    machine_name: str
    machine: Machine
    tool: Tool
    material: Material
    collet: str
    unknown: bool                            # whether nothing but its class is known of the machine

    @property
    def units(self) -> Literal["mm", "in"]:
        """The system that numbers are told in."""
        return self.shop.units


def bench_of(shop: Shop, wanted: Wanted) -> Bench:
    """The machine, cutter and material that are named; a class of machines stands for one that nothing is known of.

    Raises:
        NameUnknown: with the name that was meant, or all that are known.
        InputError: if the machine does not mill, or the tool does not; if no collet holds it.
    """
    shop = _with_class(shop, wanted.machine)
    machine = shop.machines[_known(wanted.machine, [*shop.machines, *shop.classes], "machine or class of machines",
                                   "--machine")]
    tool = shop.tools[_cutter(wanted.tool, shop)]
    material = shop.materials[_known(wanted.material, shop.materials, "material", "--material")]
    if shop.classes[machine.like].kind != "mill":
        mills = [key for key, m in shop.machines.items() if shop.classes[m.like].kind == "mill"]
        why = "side load pulls a chuck off its taper; " if shop.classes[machine.like].kind == "drill_press" else ""
        raise InputError(f"a {machine.name} does not mill", where="--machine",
                         right=f"{why}mills here: {', '.join(mills) or 'none'}")
    if tool.kind not in MILLS:
        others = {"drill": "firstoff hole", "tap": "firstoff hole", "reamer": "firstoff hole"}
        right = others.get(tool.kind, "an end mill, ball nose, corner-radius cutter, chamfer cutter or face mill")
        raise InputError(f"the {tool.name} does not mill", where="--tool", right=right)
    collet = collet_for(shop, machine, tool)
    if collet is None:
        has = [shop.collets[name].name for name in machine.collets if name in shop.collets]
        shank = tell(tool.shank or tool.diameter, "length", shop.units)
        raise InputError(f"nothing on the {machine.name} grips a shank of {shank}", where="--tool",
                         right=f"it has {', '.join(has) or 'no collets'}")
    return Bench(shop, wanted.machine, machine, tool, material, collet, _unknown(machine))


def _cutter(name: str, shop: Shop) -> str:
    """The name of a tool. A size, alone or in it, is answered with the cutters of that size, of dozens.

    Raises:
        NameUnknown: if there is no such tool.
    """
    mills = {key: tool for key, tool in shop.tools.items() if tool.kind in MILLS}
    size = _size_in(name)
    of_size = [key for key, tool in mills.items() if size is not None and abs(tool.diameter - size) <= ALIKE]
    if name in shop.tools or not of_size or get_close_matches(name, mills, n=1, cutoff=0.7):
        return _known(name, shop.tools if name in shop.tools else mills, "cutter", "--tool")
    raise NameUnknown(f"there is no cutter {name!r}", where="--tool", right=f"of that size: {', '.join(of_size)}")


def _size_in(name: str) -> float | None:
    """The first size that a name holds [mm]; None where it holds none."""
    found = re.search(r"(\d{1,3}/[1-9]\d{0,2}|\d{1,3}(?:\.\d{1,3})?)\s*(mm|in\b|\"|inch)?", name)
    if found is None:
        return None
    inches = found[2] not in (None, "mm") or "/" in found[1]
    number = float(Fraction(found[1]))
    return number * INCH if inches else number


def _with_class(shop: Shop, name: str) -> Shop:
    """The shop with a machine that stands for a class, spindle and collets as of a common one."""
    if name in shop.machines or name not in shop.classes:
        return shop
    common = [m for m in load_shop(None).machines.values() if m.like == name]
    book = shop.classes[name]
    machine = common[0] if common else Machine(name=book.name, like=name)
    fits = tuple(c for c in machine.collets if c in shop.collets)
    machine = machine.model_copy(update={"name": book.name, "collets": fits})
    return shop.model_copy(update={"machines": {**shop.machines, name: machine}})


def _unknown(machine: Machine) -> bool:
    """Whether neither stiffness nor a mode of this machine was measured."""
    return machine.stiffness is None and machine.mode_frequency is None and machine.mode_damping is None


def _known(name: str, names: Iterable[str], what: str, where: str) -> str:
    every = sorted(set(names))
    if name in every:
        return name
    near = get_close_matches(name, every, n=3, cutoff=0.4)
    right = f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(every)}"
    raise NameUnknown(f"there is no {what} {name!r}", where=where, right=right)


def must_be_possible(bench: Bench, wanted: Wanted) -> None:
    """Refuses numbers that nothing can be set to.

    Raises:
        InputError: naming the option, what is wrong and what would be right.
    """
    for name, (_, least, most) in SETTABLE.items():
        value = getattr(wanted, name)
        if value is not None and not least <= value <= most:
            told, low, high = (_as_asked(name, number, bench) for number in (value, least, most))
            raise InputError(f"{told} can be neither set nor asked",
                             where=option(name), right=f"{low} to {high}, or leave it out")
    if wanted.direction not in (None, "climb", "conventional"):
        raise InputError(f"{wanted.direction!r} is no direction", where="--direction",
                         right="climb (down-milling) or conventional (up-milling)")
    if wanted.coolant not in (None, *bench.shop.coolants):
        raise InputError(f"{wanted.coolant!r} is nothing that is put on a cut here", where="--coolant",
                         right=", ".join(bench.shop.coolants))
    _sizes(bench, wanted)
    _outline(bench, wanted)
    _speed(bench, wanted)
    _way_down(bench, wanted)


def _as_asked(name: str, number: float, bench: Bench) -> str:
    """A number that a person gave, in the unit in which it is asked: a roughness in micrometres."""
    if name != "roughness" or not math.isfinite(number):
        return tell_any(number, SETTABLE[name][0], bench.units)
    return f"{float(micrometres(np.asarray(metres(number)))):.4g} um"


def _way_down(bench: Bench, wanted: Wanted) -> None:
    tool = bench.tool
    if tool.kind == "chamfer":
        for name in ("down", "bow", "within", "roughness", "direction"):
            if getattr(wanted, name) is not None:
                raise InputError(f"the {tool.name} breaks an edge", where=option(name),
                                 right="leave it out: --depth says how wide the edge is broken")
    if wanted.down is None:
        return
    if tool.kind not in GOES_DOWN:
        raise InputError(f"the {tool.name} has no teeth in its middle: it goes down only beside the work",
                         where="--down", right="an end mill, ball nose or corner-radius cutter")
    _over_its_centre(tool, wanted.down)
    for name in ("width", "direction", "bow", "within", "roughness"):
        if getattr(wanted, name) is not None:
            raise InputError("on its way down a cutter takes its whole width, both ways at once", where=option(name),
                             right="leave it out; ask for the side or the floor apart")


def _over_its_centre(tool: Tool, down: float) -> None:
    """Refuses a way down on which the middle of a cutter would stand on the work, cutting nothing there."""
    if tool.centre_cutting or down <= HOLLOW:
        return
    slope = tell(HOLLOW, "angle")
    raise InputError(f"the teeth of the {tool.name} do not meet over its centre: so steep it would stand on the "
                     f"metal in its middle", where="--down",
                     right=f"a hole drilled first, a ramp or helix of at most {slope}, or one that cuts over its "
                           f"middle")


def option(name: str) -> str:
    """What a field of `Wanted` is called on the command line."""
    return {"bow": "--raw", "roughness": "--finish"}.get(name, f"--{name}")


def _sizes(bench: Bench, wanted: Wanted) -> None:
    tool, units = bench.tool, bench.units

    def said(length: float) -> str:
        return tell(length, "length", units)

    if wanted.width is not None and wanted.width > tool.diameter * (1.0 + 1e-6):
        raise InputError(f"a cut {said(wanted.width)} wide with a cutter of {said(tool.diameter)}", where="--width",
                         right=f"at most {said(tool.diameter)}, which is a slot; more is taken in several passes")
    if wanted.depth is not None and wanted.depth > tool.flute_length * (1.0 + 1e-6):
        raise InputError(f"a cut {said(wanted.depth)} deep with flutes of {said(tool.flute_length)}", where="--depth",
                         right=f"at most {said(tool.flute_length)} at once")
    most = tool.overall_length - GRIPPED * (tool.shank or tool.diameter)
    least = tool.flute_length + OFF_FLUTES if (tool.shank or tool.diameter) <= tool.diameter else wanted.depth or 0.0
    if wanted.stickout is not None and wanted.stickout > most:
        raise InputError(f"{said(wanted.stickout)} out of the collet; the cutter is {said(tool.overall_length)} long",
                         where="--stickout", right=f"at most {said(most)}, two diameters stay gripped")
    if wanted.stickout is not None and wanted.stickout < least:
        raise InputError(f"at {said(wanted.stickout)} out the collet grips the flutes, or does not let them cut",
                         where="--stickout", right=f"at least {said(least)}")
    if wanted.direction is not None and wanted.width is not None and wanted.width >= tool.diameter * (1.0 - 1e-6):
        raise InputError("a slot as wide as its cutter has both directions at once", where="--direction",
                         right="leave the direction out, or take a narrower cut")
    if wanted.bow is not None and bench.material.scale_thickness is None:
        raise InputError(f"{bench.material.name} has no rolling scale", where="--raw",
                         right="only for hot-rolled stock")


def _outline(bench: Bench, wanted: Wanted) -> None:
    """Refuses what the outline of a chamfer cutter, ball nose or tapered cutter cannot take at once."""
    tool, units = bench.tool, bench.units
    if tool.kind == "chamfer" and tool.point_angle:
        _edge_broken(bench, wanted, math.tan(tool.point_angle / 2.0))
        return
    if wanted.depth is not None and wanted.width is not None and not takes(tool, wanted.depth, wanted.width):
        wide = millimetres(width_at(tool, wanted.depth))
        depth, most = (tell(length, "length", units) for length in (wanted.depth, wide))
        raise InputError(f"a pass {tell(wanted.width, 'length', units)} wide and {depth} deep, where the "
                         f"{tool.name} is no more than {most} wide: it would leave ridges as high as the pass",
                         where="--width", right=f"at most {most}, or a deeper pass")


def _edge_broken(bench: Bench, wanted: Wanted, slope: float) -> None:
    """Refuses an edge that is not as wide as it is deep by the angle of the cutter, or deeper than its cone."""
    tool, units = bench.tool, bench.units
    cone = (tool.diameter - tool.tip_diameter) / 2.0 / slope
    if wanted.depth is not None and wanted.depth > cone * (1.0 + ROUND):
        raise InputError(f"an edge broken {tell(wanted.depth, 'length', units)} deep with a cone of "
                         f"{tell(cone, 'length', units)}", where="--depth", right="at most that, or a larger cutter")
    if wanted.width is None:
        return
    if wanted.depth is None and abs(slope - 1.0) > ROUND:
        raise InputError(f"the {tool.name} does not break an edge as wide as it is deep", where="--width",
                         right="say by --depth how deep, along the cutter")
    if wanted.depth is not None and abs(wanted.width / wanted.depth / slope - 1.0) > ROUND:
        wide = tell(wanted.depth * slope, "length", units)
        raise InputError(f"an edge broken {tell(wanted.depth, 'length', units)} deep is {wide} wide with the "
                         f"{tool.name}", where="--width", right="leave out one of the two")


def _speed(bench: Bench, wanted: Wanted) -> None:
    spindle, speed, tool = bench.machine.spindle, wanted.speed, bench.tool
    if spindle is None and speed is None:
        raise InputError(f"nothing is said of the spindle of the {bench.machine.name}", where="--machine",
                         right="write its speeds and power into shop.toml, or give --speed")
    if speed is None or spindle is None:
        return
    said = tell(speed, "rotation")
    if not spindle.slowest * (1.0 - ROUND) <= speed <= spindle.fastest * (1.0 + ROUND):
        raise InputError(f"{said}: this spindle turns {tell(spindle.slowest, 'rotation')} to "
                         f"{tell(spindle.fastest, 'rotation')}", where="--speed", right="a speed within that")
    if spindle.steps and min(abs(speed / step - 1.0) for step in spindle.steps) > ROUND:
        steps = ", ".join(f"{step * 30.0 / math.pi:.0f}" for step in spindle.steps)
        raise InputError(f"{said} is no step of this spindle", where="--speed", right=f"it has {steps} rpm")
    if tool.rated_speed is not None and speed > tool.rated_speed:
        raise InputError(f"{said} is above the {tell(tool.rated_speed, 'rotation')} for which the maker rates the "
                         f"{tool.name}", where="--speed", right="never faster than that: it may burst")
