"""What of a part is hard to make with the cutters of a shop, why, and what would help. Lengths in mm; no I/O.

The thresholds are rules of thumb of the trade, judged: they say where to look twice, not what will fail.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from ..part.mouth import mouth_slope
from ..part.shapes import Feature, Part
from ..part.vectors import dot, minus
from ..shop.models import Shop, Tool
from ..units import tell
from .tools import GRIPPED, MILLS, stickout

#: depth over diameter of a mill from which it bends and sings: its give grows with the cube of this; judged
DEEP_MILLING: Final = 4.0
#: depth over diameter of a hole from which chips no longer leave by themselves and the drill runs off; judged
DEEP_DRILLING: Final = 5.0
#: how far from a hole's size a drill or reamer still makes it, where no limit is told [mm]; judged
NEAR_SIZE: Final = 0.05
#: a wall or floor below this dents, bends or tears under a cutter of a small shop [mm]; judged
THIN: Final = 1.0
#: height over thickness of a wall that stands free at its top, from which it springs away; judged
SLENDER_WALL: Final = 10.0
#: width over thickness of a floor that is held all round: stiffer than a wall that is held on one side; judged
SLENDER_FLOOR: Final = 20.0
#: angle between a hole and the square to its face, from which a drill slides off even with a spot [rad]; judged
SLOPE: Final = math.radians(5.0)

MILLED: Final = frozenset({"pocket", "slot", "passage", "step", "groove"})
SAME: Final = 1e-6           #: lengths this near are the same [mm]
SIDEWAYS: Final = 0.1        #: cosine below which a face does not look towards the tool [1]


@dataclass(frozen=True)
class Hard:
    """Something that is hard to make.

    Fields:
        feature: its id [1].
        why: in a sentence, with the numbers [1].
        instead: what would help [1].
    """

    feature: str
    why: str
    instead: str


def hard_to_make(part: Part, shop: Shop) -> tuple[Hard, ...]:
    """What of a part is hard to make in a shop.

    Args:
        part: what is understood of the model.
        shop: whose cutters are looked at.

    Returns:
        One for each reason, in the order of the features; a feature may have several.
    """
    out: list[Hard] = []
    for feature in part.features:
        if feature.kind == "stock":
            continue
        if feature.kind == "not_understood":
            out.append(_unclear(feature))
            continue
        reasons = [*_undercut(feature), *_milled(feature, shop), *_drilled(feature, part, shop),
                   *_thin(feature, shop)]
        out += [Hard(feature.id, why, instead) for why, instead in reasons]
    return tuple(out)


Reasons = Iterator[tuple[str, str]]


def _unclear(feature: Feature) -> Hard:
    faces = ", ".join(map(str, feature.faces))
    which = f"face {faces} is" if len(feature.faces) == 1 else f"faces {faces} are"
    return Hard(feature.id, f"{which} not understood, so nothing is said of how to cut what is there",
                "look at the drawing and plan it by hand")


def _undercut(feature: Feature) -> Reasons:
    if not feature.access:
        yield ("an undercut: no straight tool reaches all of it from any of the directions looked from",
               "split the part, open a way for the tool, or a cutter that is wider below its neck")


# --- milling ---------------------------------------------------------------------------------------


def _milled(feature: Feature, shop: Shop) -> Reasons:
    depth = _reach(feature)
    if feature.kind not in MILLED or depth <= SAME:
        return
    radius = _corner(feature)
    if radius is not None and radius <= SAME:
        yield ("an inside corner along the tool is sharp, and a turning cutter leaves its own radius",
               "allow a corner radius, drill the corners out first, or file them by hand")
    room = _room(feature, radius)
    mills = [t for t in shop.tools.values() if t.kind in MILLS]
    narrow = [t for t in mills if t.diameter <= room + SAME]
    fitting = [t for t in narrow if _reaches(t, depth)]
    if not fitting:
        yield _no_mill(shop, radius, room, narrow, depth)
    else:
        yield from _deep(shop, fitting, depth)
    yield from _floor_corner(feature, shop, depth)


def _reach(feature: Feature) -> float:
    """How deep a tool goes in, from the side that needs least [mm]."""
    depth = feature.size.get("depth", 0.0)
    axis = feature.axis
    if axis is None:
        return depth
    aside = any(abs(dot(way, axis)) < SIDEWAYS for way in feature.access)
    if feature.kind == "step" and "width" in feature.size and aside:
        return min(depth, feature.size["width"])
    both = all(any(dot(w, way) > 1.0 - SAME for w in feature.access) for way in (axis, minus(axis)))
    return depth / 2.0 if both and feature.kind == "passage" else depth


def _corner(feature: Feature) -> float | None:
    """The smallest radius between walls; 0 where they meet sharp, None where no walls meet [mm]."""
    if feature.size.get("inside_radius", math.inf) <= SAME:
        return 0.0
    if "corner_radius" in feature.size:
        return feature.size["corner_radius"]
    return None if "floor_radius" in feature.size else feature.size.get("inside_radius")


def _room(feature: Feature, radius: float | None) -> float:
    """The widest cutter that goes in and makes the corners; sharp ones are left to another tool [mm]."""
    wide = math.inf if feature.kind == "step" else feature.size.get("width", math.inf)
    wide = min(wide, feature.size.get("length", math.inf)) if feature.kind in ("pocket", "passage") else wide
    return min(wide, 2.0 * radius) if radius is not None and radius > SAME else wide


def _reaches(tool: Tool, depth: float) -> bool:
    """Whether the bottom is reached with the shank still gripped, and the shank as thick as the hole allows."""
    shank = tool.shank or tool.diameter
    neck = depth <= tool.flute_length + SAME or shank <= tool.diameter + SAME
    return neck and stickout(tool, depth) <= tool.overall_length - GRIPPED * shank


def _no_mill(shop: Shop, radius: float | None, room: float, narrow: list[Tool], depth: float) -> tuple[str, str]:
    """No mill makes it: none is as small, or none of those reaches."""
    say = _teller(shop)
    if narrow and math.isinf(room):
        longest = max(t.flute_length for t in narrow)
        return (f"it is {say(depth)} deep, and no mill here reaches that deep "
                f"(the longest flutes are {say(longest)})",
                "a longer end mill, or reach it from its side")
    by_corner = radius is not None and radius > SAME and room >= 2.0 * radius - SAME
    what = f"its inside corners are R{say(radius)}" if by_corner and radius else f"it is {say(room)} wide"
    wider = "larger corners" if by_corner else "a wider one"
    if not narrow:
        least = min((t.diameter for t in shop.tools.values() if t.kind in MILLS), default=None)
        have = "this shop has no mill" if least is None else f"the smallest mill here is Ø{say(least)}"
        return f"{what}, and {have}", f"an end mill of Ø{say(room)} or less that reaches {say(depth)}, or {wider}"
    widest = max(narrow, key=lambda t: (t.diameter, t.flute_length))
    return (f"{what} and it is {say(depth)} deep: no mill of Ø{say(room)} or less reaches that deep "
            f"(the widest, Ø{say(widest.diameter)}, has flutes of {say(widest.flute_length)})",
            f"a long or relieved end mill of Ø{say(room)} or less, {wider}, or less depth")


def _deep(shop: Shop, fitting: list[Tool], depth: float) -> Reasons:
    say = _teller(shop)
    widest = max(fitting, key=lambda t: (t.diameter, t.flute_length))
    longest = max(t.flute_length for t in fitting)
    ratio = depth / widest.diameter
    if ratio > DEEP_MILLING * (1.0 + SAME):
        yield (f"{say(depth)} deep is {ratio:.1f} diameters of the widest mill that fits, "
               f"Ø{say(widest.diameter)}: it bends and sings",
               "rough with small depths of cut and a light last pass, larger corners, or reach it from another side")
    if depth > longest + SAME:
        yield (f"{say(depth)} deep is past the flutes of every mill that fits, at most {say(longest)}: "
               "the shank rubs on the wall above",
               "a mill with longer flutes or a relieved neck, or go down in steps with the lower ones off the wall")


def _floor_corner(feature: Feature, shop: Shop, depth: float) -> Reasons:
    """A round between wall and floor needs a tool whose own corner is as round, or less."""
    radius = feature.size.get("floor_radius")
    if radius is None or radius <= SAME:
        return
    able = [t for t in shop.tools.values() if t.kind in ("ball", "corner_radius") and _reaches(t, depth)
            and (t.diameter / 2.0 if t.kind == "ball" else t.corner_radius) <= radius + SAME]
    if not able:
        say = _teller(shop)
        yield (f"its floor runs into the walls with R{say(radius)}, and no ball or round-cornered mill here "
               f"has so small a corner and reaches {say(depth)}",
               f"a ball mill of R{say(radius)} or less, or a sharp corner")


# --- holes -----------------------------------------------------------------------------------------


def _drilled(feature: Feature, part: Part, shop: Shop) -> Reasons:
    if feature.kind != "hole":
        return
    say = _teller(shop)
    diameter, depth = feature.size.get("diameter", 0.0), feature.size.get("depth", 0.0)
    narrow = depth - feature.size.get("counterbore_depth", 0.0)
    if diameter > SAME and narrow > DEEP_DRILLING * diameter * (1.0 + SAME):
        yield (f"Ø{say(diameter)} and {say(narrow)} deep is {narrow / diameter:.1f} diameters: chips jam and "
               "the drill runs off", "peck and clear the chips, drill from both sides, or less depth")
    if any(key in feature.size for key in ("far_counterbore_diameter", "far_countersink_diameter")):
        yield ("it is wider at its far end, too: that is cut from the other side, and no plan here writes it yet",
               "add an operation in a setting that has the far side up, or leave the far end plain")
    yield from _no_drill(feature, shop, diameter, depth)
    angle = _slope(feature, part)
    if angle is not None and angle > SLOPE:
        yield (f"it enters {math.degrees(angle):.0f}° off the square of its face: a drill slides down the slope",
               f"mill a flat there first with an end mill of up to Ø{say(diameter)}, and set the hole upright")


def _no_drill(feature: Feature, shop: Shop, diameter: float, depth: float) -> Reasons:
    say = _teller(shop)
    if diameter <= SAME:
        return
    sized = [t for t in shop.tools.values() if t.kind in ("drill", "reamer")
             and abs(t.diameter - diameter) <= NEAR_SIZE + SAME]
    free = depth - feature.size.get("counterbore_depth", 0.0)
    if sized and all(t.flute_length + SAME < free for t in sized):
        longest = max(t.flute_length for t in sized)
        yield (f"{say(free)} deep is past the flutes of every drill of Ø{say(diameter)} here, at most {say(longest)}",
               "a long drill, or from both sides where it goes through")
    if not sized:
        mills = [t for t in shop.tools.values() if t.kind in MILLS and t.diameter < diameter - SAME
                 and _reaches(t, depth)]
        best = max(mills, key=lambda t: t.diameter, default=None)
        other = "" if best is None else f", or mill it round with Ø{say(best.diameter)}"
        yield f"no drill or reamer of Ø{say(diameter)} in this shop", f"a drill or reamer of that size{other}"


def _slope(feature: Feature, part: Part) -> float | None:
    """The angle between a hole and its face's square, at the end where it is least [rad]; None if not known."""
    if feature.axis is None:
        return None
    ways = [feature.axis]
    if any(dot(way, feature.axis) < SAME - 1.0 for way in feature.access):
        ways.append(minus(feature.axis))
    return min((a for way in ways if (a := mouth_slope(feature, part, way)) is not None), default=None)


# --- what is left ----------------------------------------------------------------------------------


def _thin(feature: Feature, shop: Shop) -> Reasons:
    say = _teller(shop)
    wall, floor = feature.size.get("wall"), feature.size.get("floor")
    if wall is not None:
        high = feature.size.get("depth", 0.0) if feature.kind in MILLED else 0.0
        if wall < THIN - SAME or high > SLENDER_WALL * wall * (1.0 + SAME):
            tall = f" at {say(high)} high" if high else ""
            yield (f"it leaves a wall of {say(wall)}{tall}: thin, it springs away from the cutter",
                   "leave the wall thicker, cut both its sides in turn in small depths, or back it up while cutting")
    if floor is not None:
        wide = _across(feature)
        if floor < THIN - SAME or wide > SLENDER_FLOOR * floor * (1.0 + SAME):
            span = f" under {say(wide)} across" if wide else ""
            yield (f"it leaves a floor of {say(floor)}{span}: thin, it lifts and rings",
                   "leave the floor thicker, or support it from below and take a light last pass")


def _across(feature: Feature) -> float:
    """The shorter way across a floor; 0 for a hole, whose floor is stiff [mm]."""
    sides: Iterable[float] = (feature.size[k] for k in ("length", "width") if k in feature.size)
    return min(sides, default=0.0) if feature.kind in MILLED else 0.0


class _Teller:
    """Tells lengths in the shop's own unit."""

    def __init__(self, system: str) -> None:
        self.system = system

    def __call__(self, mm: float) -> str:
        return tell(mm, "length", self.system)


def _teller(shop: Shop) -> _Teller:
    return _Teller(shop.units)
