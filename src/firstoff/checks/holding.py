"""The part moves: forces of the cut against what jaws, clamps or glue hold it by.

A cutter's force turns with it, so its peak is let act every way in the plane, at the ends of the path and at
the top of the cut; a right-hand helix lifts the work.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..errors import NameUnknown
from ..holding.glue import shear_capacity
from ..holding.joint import slip_capacity
from ..holding.vise import WAYS, vise_use
from ..job.faces import resolve
from ..part.shapes import Vector
from ..shop.models import Device
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, known, middle, spread, weighed
from ._forces import is_milling, loads, worst
from ._knobs import DEPTH, DIRECTION, FEED_DOWN, WIDTH
from .base import Case, Check, Finding, cannot
from .si import metres, square_metres, value

NAME = "holding"

_JAWS: Final = frozenset({"vise", "bench_vise", "angle_block", "v_block"})
CLAMPS: Final = 2          #: toe clamps that hold a part, when nobody says how many
#: What each way of giving way is called.
_SAID: Final = {"slip": "slide in the jaws", "open": "come off the fixed jaw", "tilt": "tilt out of the jaws",
                "turn": "turn between the jaws", "spin": "twist in the jaws"}


class Grip(NamedTuple):
    """A part between two jaws [mm]: directions in the part's axes, sizes along them."""

    along: Vector                # along the jaws
    to_fixed: Vector             # towards the fixed jaw
    up: Vector
    width: float                 # over which the jaws touch
    height: float
    apart: float                 # between the jaws
    middle: Vector               # the middle of the grip's width, on the rest


def device(case: Case) -> Device:
    """What holds the part."""
    return case.shop.devices[case.setting.holding.device]


def grip_of(case: Case) -> Grip | None:
    """Where the jaws are; None where the setting does not say."""
    holding, part = case.setting.holding, case.part
    if not holding.grip or holding.grip_height <= 0.0:
        return None
    names = case.wanted.names
    try:
        fixed = part.faces[resolve(holding.grip[0], part, names)[0]]
    except NameUnknown:
        return None
    up = case.setting.up
    along = _cross(fixed.normal, up)
    spans = [_span(part.low, part.high, way) for way in (along, fixed.normal, up)]
    jaw = device(case).width or float("inf")
    bottom = tuple(
        sum(way[k] * place for way, place in zip(
            (along, fixed.normal, up), (sum(spans[0]) / 2, sum(spans[1]) / 2, spans[2][0]), strict=True))
        for k in range(3))
    return Grip(along, fixed.normal, up, min(spans[0][1] - spans[0][0], jaw), holding.grip_height,
                spans[1][1] - spans[1][0], (bottom[0], bottom[1], bottom[2]))


def _cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _span(low: Vector, high: Vector, way: Vector) -> tuple[float, float]:
    """From where to where a box reaches along a direction."""
    ends = [sorted((way[k] * low[k], way[k] * high[k])) for k in range(3)]
    return sum(e[0] for e in ends), sum(e[1] for e in ends)


def _squeeze(case: Case, belief: Belief) -> Rows | None:
    entity, word = f"device:{case.setting.holding.device}", f"squeeze:{case.setting.holding.tightness}"
    return value(belief, entity, word) if belief.has(entity, word) else None


def jaw_use(case: Case, belief: Belief, grip: Grip, clamp: Rows) -> tuple[Rows, str]:
    """Use of the jaws' hold by row, the worst of all ways the force may point, and how it gives way first."""
    found = loads(case, belief)
    side, lift = worst(found, "peak_side"), worst(found, "peak_z")
    friction = known(belief, f"device:{case.setting.holding.device}", "friction", 0.0)
    assert case.windows is not None
    places = case.windows.point - np.asarray(grip.middle)
    along = [float(item) for item in (places @ grip.along).min(keepdims=True)] + [float((places @ grip.along).max())]
    across = float(np.median(places @ grip.to_fixed))
    top = max(float((places @ grip.up).max()), grip.height)
    uses: list[Rows] = []
    ways: list[str] = []
    for x in along:
        for push_x, push_y in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
            use = vise_use(
                push_x * side, push_y * side, lift, metres(x), metres(across), metres(top), clamp, friction, friction,
                metres(grip.width), metres(grip.height), metres(grip.apart), metres(grip.apart))
            uses.append(use.worst)
            ways.append(WAYS[int(np.bincount(use.first, minlength=len(WAYS)).argmax())])
    first = int(np.argmax([np.median(use) for use in uses]))
    return np.asarray(np.max(uses, axis=0)), ways[first]


def _by_jaws(case: Case, belief: Belief) -> tuple[Rows, str] | str:
    grip, clamp = grip_of(case), _squeeze(case, belief)
    if grip is None:
        return "the setting does not say which faces are gripped, and how high"
    if clamp is None:
        return f"nothing is known of {device(case).name} tightened by {case.setting.holding.tightness!r}"
    use, way = jaw_use(case, belief, grip, clamp)
    return use, f"would {_SAID[way]}"


def _by_clamps(case: Case, belief: Belief) -> tuple[Rows, str] | str:
    clamp = _squeeze(case, belief)
    if clamp is None:
        return f"nothing is known of {device(case).name} tightened by {case.setting.holding.tightness!r}"
    friction = known(belief, f"device:{case.setting.holding.device}", "friction", 0.0)
    holds = slip_capacity(clamp, CLAMPS, 2, friction)      # under each clamp and on the table
    found = loads(case, belief)
    return (worst(found, "peak_side") + worst(found, "peak_z")) / holds, "would slide under the clamps"


def _by_glue(case: Case, belief: Belief) -> tuple[Rows, str] | str:
    part, names, entity = case.part, case.wanted.names, f"device:{case.setting.holding.device}"
    if not belief.has(entity, "glue_strength"):
        return f"nothing is known of the glue on the {device(case).name}"
    share = np.minimum(known(belief, entity, "glue_share", 1.0), 1.0)
    area = sum(part.faces[number].area for number in resolve(case.setting.holding.rest, part, names))
    holds = shear_capacity(square_metres(area), value(belief, entity, "glue_strength"), share)
    return worst(loads(case, belief), "peak_side") / holds, "would shear off the glue"


def _evaluate(case: Case, belief: Belief) -> Finding:
    kind = device(case).kind
    if kind in _JAWS:
        found = _by_jaws(case, belief)
    elif kind in ("clamps", "screws"):
        found = _by_clamps(case, belief)
    elif kind == "carrier":
        found = _by_glue(case, belief)
    else:
        found = "no holding by hand is computed for milling"
    if isinstance(found, str):
        return cannot(NAME, case, "part", found, "pull at the part with a luggage scale before the cut")
    use, how = found
    use = np.maximum(use * discrepancy(belief, "holding"), 1e-9)
    force = worst(loads(case, belief), "peak_side")
    bears = force / use
    tight = f" tightened by {case.setting.holding.tightness}" if case.setting.holding.tightness else ""
    because = (f"the cut pushes with up to about {middle(force)} N; in the {device(case).name}{tight} the part "
               f"{how} at about {middle(bears)} N{_height(case)}")
    return weighed(NAME, case, "part", force, bears, spread(OPERATION_SCATTER["holding"], OPERATION_SCATTER["force"]),
                   unit="N", because=because,
                   settle_by="pull at the clamped part with a luggage scale, an indicator against it")


def _height(case: Case) -> str:
    holding = case.setting.holding
    if holding.stick_up <= 0.0 or holding.grip_height <= 0.0:
        return ""
    units = case.job.units
    return f", {tell(holding.stick_up, 'length', units)} above and {tell(holding.grip_height, 'length', units)} in it"


CHECK = Check(NAME, "part moves in its holding", "part", "operation", is_milling, _evaluate,
              knobs=(DEPTH, FEED_DOWN, WIDTH, DIRECTION), word="moved")
