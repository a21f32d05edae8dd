"""A milling cut followed in time, tooth by tooth, on a machine of springs and masses: an oracle of its own.

Nothing here comes from the program: forces go by a power of the chip, the machine has two modes in each direction,
the cutter one, a surface remembers what the last teeth left, a tooth may leave it, flanks rub. Metres, newtons,
seconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]
SLICES, BINS, TURNS = 4, 240, 12


@dataclass(frozen=True)
class Mode:
    """A spring with a mass: stiffness [N/m], damping ratio, natural frequency [Hz]."""

    stiffness: float
    damping: float
    hertz: float


@dataclass(frozen=True)
class Pass:
    """One straight cut. Speeds in 1/s, lengths in m."""

    turns: float                 # of the spindle each second
    feed: float                  # per tooth
    depth: float
    width: float
    up: bool                     # conventional


@dataclass(frozen=True)
class Metal:
    """Force on an edge by a power of the chip: thinner chips take more for their section."""

    force: float                 # over the section of a chip 1 mm thick [N/m2]
    power: float
    across: float                # radial over tangential
    blunt: float                 # thickness by which a blunt edge ploughs beside the chip [m]
    flank: float                 # what the flank resists, for each metre of edge and radial over cutting speed [N/m]


@dataclass(frozen=True)
class Cutter:
    """What cuts: diameter and its runout [m], teeth, helix [rad]."""

    diameter: float
    teeth: int
    helix: float
    runout: float


@dataclass(frozen=True)
class Cut:
    """What a simulated cut did: forces [N], torque [N m], what it left on the wall [m], unrest over the feed."""

    peak: float
    torque: float
    left: float
    unrest: float

    @property
    def sang(self) -> bool:
        """Whether turns differ from each other by more than a fifth of the feed of a tooth: a person hears it."""
        return self.unrest > 0.2


def angles(cut: Pass, diameter: float) -> tuple[float, float]:
    """Where a tooth enters and leaves, from the wall of a conventional cut on [rad]."""
    arc = math.acos(1.0 - 2.0 * min(cut.width, diameter) / diameter)
    return (0.0, arc) if cut.up else (math.pi - arc, math.pi)


def simulated(cut: Pass, metal: Metal, cutter: Cutter, along: list[Mode], square: list[Mode]) -> Cut:
    """Follow a cut from rest until what it does is settled.

    Args:
        cut: the cut.
        metal: what is cut.
        cutter: with what.
        along: modes along the feed.
        square: modes square to it.
    """
    modes = np.array([[m.stiffness, m.damping, 2.0 * math.pi * m.hertz] for m in (*along, *square)])
    first, last = angles(cut, cutter.diameter)
    fastest = modes[:, 2].max() / (2.0 * math.pi)
    steps = max(BINS, BINS * math.ceil(9.0 * fastest / cut.turns / BINS))
    slowest = float((modes[:, 1] * modes[:, 2]).min())
    turns = TURNS + min(120, max(20, math.ceil(4.0 * cut.turns / slowest)))
    out = _follow(
        _step(modes, 1.0 / (cut.turns * steps)), len(along), steps, turns, cutter.teeth, cutter.diameter,
        math.tan(cutter.helix), cutter.runout, cut.depth, cut.feed, first, last, cut.turns, metal.force, metal.power,
        metal.across, metal.blunt, metal.flank)
    places, peak, torque, left = out
    unrest = float(places.std(axis=0).max()) / cut.feed if np.all(np.isfinite(places)) else math.inf
    return Cut(peak, torque, left if cut.up else -left, unrest)


def _step(modes: Array, step: float) -> Array:
    """How place and speed of each mode go on under a force that stays for one step: exactly."""
    out = np.empty((len(modes), 6))
    for i, (stiffness, damping, omega) in enumerate(modes):
        decay, swing = damping * omega, omega * math.sqrt(1.0 - damping**2)
        e, c, s = math.exp(-decay * step), math.cos(swing * step), math.sin(swing * step)
        a, b = e * (c + decay / swing * s), e * s / swing
        d, f = -(omega**2) * b, e * (c - decay / swing * s)
        out[i] = a, b, d, f, (1.0 - a) / stiffness, -d / stiffness
    return out


@njit(cache=True)  # type: ignore[untyped-decorator]
def _follow(  # noqa: C901
    step: Array, along: int, steps: int, turns: int, teeth: int, diameter: float, lag: float, runout: float,
    depth: float, feed: float, first: float, last: float, pace: float, force: float, power: float, across: float,
    blunt: float, flank: float,
) -> tuple[Array, float, float, float]:
    many, bins = len(step), steps
    at, speed = np.zeros(many), np.zeros(many)
    last_cut = np.zeros((SLICES, bins))
    places = np.zeros((TURNS, 2 * 24))
    edge, radius = depth / SLICES, diameter / 2.0
    surface = 2.0 * np.pi * radius * pace
    peak = torque = left = 0.0
    lefts = 0
    for turn in range(turns):
        told = turn - (turns - TURNS)
        for i in range(steps):
            x, y, vx, vy = 0.0, 0.0, 0.0, 0.0
            for m in range(many):
                if m < along:
                    x += at[m]
                    vx += speed[m]
                else:
                    y += at[m]
                    vy += speed[m]
            fx = fy = turning = 0.0
            for tooth in range(teeth):
                for piece in range(SLICES):
                    angle = 2.0 * np.pi * (i / steps + tooth / teeth) - lag * (piece + 0.5) * edge / radius
                    place = int(np.floor(angle / (2.0 * np.pi) * bins + 0.5)) % bins
                    angle = place * 2.0 * np.pi / bins
                    if angle < first or angle > last:
                        continue
                    s, c = np.sin(angle), np.cos(angle)
                    own = runout * np.cos(2.0 * np.pi * tooth / teeth)
                    reach = x * s + y * c + own
                    chip = feed * s + reach - last_cut[piece, place]
                    if chip <= 0.0:
                        last_cut[piece, place] -= feed * s
                        continue
                    last_cut[piece, place] = reach
                    tangential = force * edge * 1e-3 * ((chip + blunt) * 1e3) ** (1.0 - power)
                    radial = across * tangential + flank * edge * (vx * s + vy * c) / surface
                    fx -= tangential * c + radial * s
                    fy += tangential * s - radial * c
                    turning += tangential * radius
                    wall = (angle < first + 0.12) if first == 0.0 else (angle > last - 0.12)
                    if told >= 0 and wall:
                        left += y
                        lefts += 1
            if told >= 0:
                peak, torque = max(peak, np.hypot(fx, fy)), torque + turning
                if i % (steps // 24) == 0 and i // (steps // 24) < 24:
                    places[told, 2 * (i // (steps // 24))] = x
                    places[told, 2 * (i // (steps // 24)) + 1] = y
            for m in range(many):
                push = fx if m < along else fy
                a, b = at[m], speed[m]
                at[m] = step[m, 0] * a + step[m, 1] * b + step[m, 4] * push
                speed[m] = step[m, 2] * a + step[m, 3] * b + step[m, 5] * push
            if abs(x) + abs(y) > diameter:
                places[:] = np.inf
                return places, peak, torque, left
    return places, peak, torque / (TURNS * steps), -left / max(lefts, 1)


def sings_from(cut: Pass, metal: Metal, cutter: Cutter, along: list[Mode], square: list[Mode],
               deepest: float) -> float:
    """Depth from which a cut sings [m], within a twentieth; `deepest` where none of less does."""
    def sang(depth: float) -> bool:
        return simulated(replace(cut, depth=depth), metal, cutter, along, square).sang

    low, high = deepest / 256.0, deepest / 256.0
    while not sang(high):
        low, high = high, 2.0 * high
        if low >= deepest:
            return deepest
    for _ in range(4):
        middle = math.sqrt(low * high)
        low, high = (low, middle) if sang(middle) else (middle, high)
    return math.sqrt(low * high)
