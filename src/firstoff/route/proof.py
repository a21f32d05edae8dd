"""Each setting proves that its rest and its grips exist at that moment, and says how deep it sits.

The block is followed as a box with what is left on each side; a side that a feature has eaten is known by the
flat that the finished model still has there.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from ..dryrun.seen import span
from ..job.faces import DIRECTIONS, dot
from ..part.shapes import Vector
from ..shop.models import Device
from .blank import AXES, Blank, opposite
from .settings import GRIP, Draft

ABOVE: Final = 0.5          #: [mm] the lowest pass over the work stays this far above the jaws
LEAST_LENGTH: Final = 10.0  #: [mm] the jaws hold at least this much of the length
ENOUGH: Final = 0.6         #: of the gripped height must be there on both faces
DEEPEST: Final = 200.0      #: [mm] a part taller than this above the jaws is not tried


@dataclass(frozen=True)
class Now:
    """The workpiece at a moment.

    Fields:
        left: side -> what is still on it [mm].
        cut: features that are finished or begun [1].
    """

    left: Mapping[str, float]
    cut: frozenset[str] = frozenset()

    def after(self, blank: Blank, draft: Draft) -> Now:
        """The workpiece when this setting is done."""
        left = dict(self.left)
        for work in draft.work:
            if work.what != "feature":
                left[work.name] = work.leaves
        cut = {w.name for w in draft.work if w.what == "feature" and w.stage != "hand"}
        for side in DIRECTIONS:
            if not blank.is_flat(side) and any(_shapes(blank, name, side) for name in cut):
                left[side] = 0.0
        return Now(left, self.cut | cut)


@dataclass(frozen=True)
class Seat:
    """How the workpiece sits [mm]: parallels under it, how much is below and above the top of the jaws."""

    parallels: float
    grip_height: float
    stick_up: float


def _shapes(blank: Blank, name: str, side: str) -> bool:
    """Whether a feature is what a side without a flat ends in: a dome."""
    feature = blank.part.feature(name)
    return feature.kind == "free_form" and any(dot(a, DIRECTIONS[side]) > 0.99 for a in feature.access)


def corners(blank: Blank, now: Now) -> tuple[Vector, Vector]:
    """The box of the workpiece as it is [mm]."""
    low = tuple(blank.part.low[i] - now.left[f"-{a}"] for i, a in enumerate(AXES))
    high = tuple(blank.part.high[i] + now.left[f"+{a}"] for i, a in enumerate(AXES))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def flat_now(blank: Blank, side: str, now: Now) -> tuple[Vector, Vector] | None:
    """The flat of a side as it is now: the raw stock, or what the finished model keeps; None if it is gone."""
    low, high = corners(blank, now)
    if now.left[side] > 0.0:
        return low, high
    if not blank.is_flat(side):
        return None
    if not now.cut:
        return low, high
    f_low, f_high = blank.box(side)
    return _joined(low, f_low, side, now, "-"), _joined(high, f_high, side, now, "+")


def _joined(box: Vector, flat: Vector, side: str, now: Now, sign: str) -> Vector:
    """A corner of the finished flat, carried out to the stock where that is still on."""
    out = [b if now.left[f"{sign}{a}"] > 0.0 or a == side[1] else f for b, f, a in zip(box, flat, AXES, strict=True)]
    return out[0], out[1], out[2]


def why_not(blank: Blank, draft: Draft, now: Now, device: Device) -> tuple[str, Seat]:
    """Why a workpiece cannot be held so now (empty if it can), and how it sits."""
    seat = seat_of(blank, draft, now, device)
    if flat_now(blank, draft.rest, now) is None:
        return f"there is no flat at {draft.rest} to rest on", seat
    if draft.way == "carrier":
        return ("" if now.left[draft.rest] == 0.0 else f"{draft.rest} is not yet flat to be glued"), seat
    if len(draft.grip) != 2:
        return "no two parallel sides stand upright between jaws", seat
    return _grips(blank, draft, now, device, seat), seat


def _grips(blank: Blank, draft: Draft, now: Now, device: Device, seat: Seat) -> str:
    one, other = draft.grip
    if opposite(one) != other or abs(dot(DIRECTIONS[one], draft.up)) > 1e-6:
        return f"{one} and {other} are not parallel and upright"
    flats = [flat_now(blank, side, now) for side in draft.grip]
    for side, flat in zip(draft.grip, flats, strict=True):
        if flat is None:
            return f"there is no flat at {side} to grip"
    low, high = corners(blank, now)
    across = span(low, high, DIRECTIONS[one])
    if device.opening is not None and across[1] - across[0] > device.opening:
        return f"{across[1] - across[0]:.1f} mm is wider than the {device.opening:g} mm that the jaws open"
    if seat.grip_height < GRIP and draft.way != "bench":
        return f"only {seat.grip_height:.1f} mm would be between the jaws"
    return _overlap(draft, [f for f in flats if f is not None], span(low, high, draft.up)[0], seat)


def _overlap(draft: Draft, flats: list[tuple[Vector, Vector]], bottom: float, seat: Seat) -> str:
    """Both gripped flats must be there, over against each other, where the jaws are."""
    heights = [span(low, high, draft.up) for low, high in flats]
    there = min(h[1] for h in heights) - max(bottom, *(h[0] for h in heights))
    held = min(there, seat.grip_height)
    if draft.way == "vise" and held < ENOUGH * seat.grip_height:
        return f"only {held:.1f} mm of {seat.grip_height:.1f} mm in the jaws is flat on both sides"
    along = _cross(DIRECTIONS[draft.grip[0]], draft.up)
    lengths = [span(low, high, along) for low, high in flats]
    length = min(s[1] for s in lengths) - max(s[0] for s in lengths)
    return "" if length >= LEAST_LENGTH else f"the jaws would hold only {length:.1f} mm of its length"


def seat_of(blank: Blank, draft: Draft, now: Now, device: Device) -> Seat:
    """Parallels so that what is cut stands out of the jaws, and no more than that."""
    low, high = corners(blank, now)
    bottom, top = span(low, high, draft.up)
    height = top - bottom
    jaws = device.jaw_height or 0.0
    if draft.way == "carrier" or jaws == 0.0:
        return Seat(0.0, 0.0, height)
    if draft.way == "bench":
        return Seat(0.0, height / 2.0, height / 2.0)
    wanted = stands_out(blank, draft) + ABOVE
    choices = (0.0, *sorted(device.parallels)) if draft.way == "vise" else (0.0,)
    if _through(blank, draft) and len(choices) > 1:
        choices = choices[1:]
    able = [p for p in choices if p + height - jaws >= wanted] or [max(choices)]
    stick_up = max(0.0, able[0] + height - jaws)
    stick_up = max(stick_up, wanted) if draft.way == "tilted" else stick_up
    if stick_up < wanted:
        return Seat(able[0], 0.0, stick_up)
    return Seat(able[0], min(height, height - stick_up), stick_up)


def _through(blank: Blank, draft: Draft) -> bool:
    """Whether a tool comes out below, and parallels must keep it off the vise."""
    return any(w.what == "feature" and blank.part.feature(w.name).through for w in draft.work)


def stands_out(blank: Blank, draft: Draft) -> float:
    """How much of the workpiece must stand above the jaws: what is cut from the top, and what breaks out
    sideways between the jaws [mm]."""
    face = sum(w.removes for w in draft.work if w.what == "face")
    depth = face
    for work in draft.work:
        if work.what == "flank" and work.name in draft.grip:
            depth = max(depth, face + blank.extent(_axis(draft)) + draft.below)
        elif work.what == "feature":
            depth = max(depth, face + _breaks_out(blank, draft, work.name))
    return min(depth, DEEPEST)


def _axis(draft: Draft) -> str:
    return draft.rest[1]


def _breaks_out(blank: Blank, draft: Draft, name: str) -> float:
    """How deep a feature that opens into a gripped side goes [mm]; 0 if it stays inside."""
    feature = blank.part.feature(name)
    faces = [f for f in blank.part.faces if f.number in feature.faces]
    for side in draft.grip:
        edge = dot(blank.part.high if side[0] == "+" else blank.part.low, DIRECTIONS[side])
        at = [f for f in faces if max(dot(f.low, DIRECTIONS[side]), dot(f.high, DIRECTIONS[side])) > edge - 1e-3]
        if at:
            return _top(blank, draft) - min(span(f.low, f.high, draft.up)[0] for f in at)
    return 0.0


def _top(blank: Blank, draft: Draft) -> float:
    return span(blank.part.low, blank.part.high, draft.up)[1]


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def across_of(blank: Blank, draft: Draft) -> Vector:
    """What points right at the machine: the fixed jaw is at the back, so right = its side × up."""
    if draft.grip:
        return _clean(_cross(DIRECTIONS[draft.grip[0]], draft.up))
    long = DIRECTIONS[f"+{blank.by_size[2]}"]
    return long if abs(dot(long, draft.up)) < 1e-6 else DIRECTIONS[f"+{blank.by_size[1]}"]


def _clean(v: Vector) -> Vector:
    size = math.sqrt(dot(v, v))
    return (v[0] / size + 0.0, v[1] / size + 0.0, v[2] / size + 0.0)


def turned(draft: Draft) -> Draft:
    """The same setting with the other side at the fixed jaw."""
    return replace(draft, grip=tuple(reversed(draft.grip)))
