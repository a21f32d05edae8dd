"""Cycles for holes: G73 and G81 to G89 as the moves that they stand for, with R Q P L, G98 and G99."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from firstoff.program import settings
from firstoff.program.blocks import Words
from firstoff.program.modes import g_text
from firstoff.removal.moves import AXES, Kind

if TYPE_CHECKING:
    from firstoff.program.machine import Machine

_LETTERS: Final = "XYZ"
#: how far a peck stays off the bottom of the one before, and how far a short retract goes back [mm]: NISTIR 6556
#: has 0.010 inch for both
CLEAR: Final = 0.254
#: a hole takes at most so many pecks, and a block so many holes
MOST_PECKS: Final = 10_000
MOST_HOLES: Final = 10_000
_DWELLS: Final = frozenset({820, 860, 880, 890})
_PECKS: Final = frozenset({730, 830})
#: what a cycle that bores backwards wants besides: how far aside the tool goes in and out, and up to where it feeds
BACKWARDS: Final = "IJK"
_FEEDS_OUT: Final = frozenset({840, 850, 890})


@dataclass(frozen=True)
class Hole:
    """One hole of a cycle, along the axis across the plane, in the axes of the words.

    Fields:
        code: which cycle.
        across: the axis of the tool.
        bottom: where it ends [mm].
        clear: R, down to which it is rapid [mm].
        out: where it goes back to [mm].
        peck: Q [mm], 0 for none.
        wait: P at the bottom [s].
        aside: I and J of a cycle that bores backwards, along the first and second axis of the plane [mm].
        top: K, up to which that feeds [mm].
    """

    code: int
    across: int
    bottom: float
    clear: float
    out: float
    peck: float
    wait: float
    aside: tuple[float, float] = (0.0, 0.0)
    top: float = 0.0


def drill(machine: Machine, words: Words) -> None:
    """Carry out the block of a cycle: its holes at each place."""
    if not _remember(machine, words):
        return
    times = _times(words)
    state = machine.state
    across = AXES[state.plane][2]
    if state.radius != 400:
        words.tell("a cycle beside a contour (G41, G42): where its holes are can't be said", "cycle beside")
    if not all(state.known):
        words.tell("where the cycle begins can't be said", "cycle from nowhere", partly=False)
    before = state.written()[across]
    for number in range(times):
        hole = _hole(machine, before)
        if number == 0 or not state.absolute:
            end, known = machine.target(words)
        if not _fits(words, hole):
            return
        _one(machine, words, hole, end, known)


def _times(words: Words) -> int:
    times = words.take("L")
    if times is None:
        return 1
    if math.isnan(times) or times != round(times) or not 0 <= times <= MOST_HOLES:
        words.tell(f"L{times:.6g} is no number of holes from 0 to {MOST_HOLES}", "holes")
        return 1
    return int(times)


def _remember(machine: Machine, words: Words) -> bool:
    """Keep R Q P and the depth, which stay in force; False where what the cycle needs is missing."""
    state = machine.state
    code = state.motion or 0
    if state.cycle.get("code") != code:
        state.cycle = {"code": float(code)}
    depth = _LETTERS[AXES[state.plane][2]]
    for letter in ("R", "Q", "P", depth, *(BACKWARDS if code == 870 else "")):
        value = words.take(letter)
        if value is not None:
            state.cycle[letter] = value if letter == "P" else value * state.scale
    if not words.has(_LETTERS):
        return False
    wanted = ["R", depth, *(["Q"] if code in _PECKS else []), *(["P"] if code in _DWELLS else []),
              *(BACKWARDS if code == 870 else "")]
    missing = [letter for letter in wanted if math.isnan(state.cycle.get(letter, math.nan))]
    if code == 870 and state.plane != 17:
        words.tell("G87 bores backwards in the XY plane alone: in another its moves are not followed", "back boring")
    elif missing:
        words.tell(f"{g_text(code)} wants {' '.join(missing)}: which hole it makes can't be said",
                   f"cycle without {missing}")
    elif code in _PECKS and state.cycle["Q"] <= 0.0:
        words.tell(f"{g_text(code)} wants a Q above 0", "peck")
    elif state.cycle.get("P", 0.0) < 0.0 or state.cycle.get("P", 0.0) > settings.LONGEST_DWELL:
        words.tell(f"P{state.cycle['P']:.6g} is no time that anybody waits, in seconds", "dwell")
    else:
        return True
    machine.target(words)
    state.lost()
    return False


def _hole(machine: Machine, before: float) -> Hole:
    state, cycle = machine.state, machine.state.cycle
    code, across = int(cycle["code"]), AXES[machine.state.plane][2]
    clear = cycle["R"] + (0.0 if state.absolute else before)
    bottom = cycle[_LETTERS[across]] + (0.0 if state.absolute else clear)
    out = max(before, clear) if state.to_start else clear
    aside, top = (0.0, 0.0), 0.0
    if code == 870:
        aside, top = (cycle["I"], cycle["J"]), cycle["K"] + (0.0 if state.absolute else bottom)
    return Hole(code, across, bottom, clear, out, cycle["Q"] if code in _PECKS else 0.0,
                cycle["P"] if code in _DWELLS else 0.0, aside, top)


def _fits(words: Words, hole: Hole) -> bool:
    if hole.bottom > hole.clear:
        words.tell(f"the cycle's bottom {hole.bottom:.6g} lies above its R {hole.clear:.6g} (mm)", "upside down")
        return False
    if hole.code == 870 and hole.top < hole.bottom:
        words.tell(f"the cycle's K {hole.top:.6g} lies below its bottom {hole.bottom:.6g} (mm)", "upside down")
        return False
    if hole.peck and (hole.clear - hole.bottom) / hole.peck > MOST_PECKS:
        words.tell(f"a hole of more than {MOST_PECKS} pecks", "pecks")
        return False
    return True


def _one(machine: Machine, words: Words, hole: Hole, end: list[float], known: list[bool]) -> None:
    """A hole: over the place, down to R, in, out again."""
    state = machine.state
    level = state.written()[hole.across]
    if level < hole.clear:
        _to(machine, words, hole, Kind.RAPID, hole.clear)
        level = hole.clear
    over = list(end)
    over[hole.across] = state.at[hole.across]
    machine.go(words, Kind.RAPID, over, [now or axis == hole.across for axis, now in enumerate(known)])
    if level != hole.clear:
        _to(machine, words, hole, Kind.RAPID, hole.clear)
    if hole.code == 870:
        _backwards(machine, words, hole, known)
        return
    _down(machine, words, hole)
    if hole.wait:
        machine.stand(words, hole.wait)
    _up(machine, words, hole)


def _backwards(machine: Machine, words: Words, hole: Hole, known: list[bool]) -> None:
    """Down through the hole with the tool aside and at rest, back under its axis, up at the feed; and the same out.

    The steps of G87 in NISTIR 6556. What its edge takes from below is no cut from above: it is not counted.
    """
    words.tell("G87 bores backwards: its moves are followed, what it takes from below is not counted", "back boring",
               partly=False)
    state, before, over = machine.state, machine.state.direction, machine.state.written()
    beside = [over[0] + hole.aside[0], over[1] + hole.aside[1]]

    def across(place: list[float]) -> None:
        now = [now or axis == hole.across for axis, now in enumerate(known)]
        machine.go(words, Kind.RAPID, state.placed([*place[:2], state.written()[hole.across]]), now)

    across(beside)
    state.direction = 0
    _to(machine, words, hole, Kind.RAPID, hole.bottom)
    across(over)
    state.direction = before
    _to(machine, words, hole, Kind.LINE, hole.top)
    _to(machine, words, hole, Kind.LINE, hole.bottom)
    state.direction = 0
    across(beside)
    _to(machine, words, hole, Kind.RAPID, hole.out)
    across(over)
    state.direction = before


def _down(machine: Machine, words: Words, hole: Hole) -> None:
    depth = hole.clear
    while hole.peck and depth - hole.peck > hole.bottom:
        depth -= hole.peck
        _to(machine, words, hole, Kind.LINE, depth)
        if hole.code == 830:
            _to(machine, words, hole, Kind.RAPID, hole.clear)
        _to(machine, words, hole, Kind.RAPID, min(depth + CLEAR, hole.clear))
    _to(machine, words, hole, Kind.LINE, hole.bottom)


def _up(machine: Machine, words: Words, hole: Hole) -> None:
    """Out again: fast or feeding, the spindle stopped or turned round where the cycle says so."""
    state, before = machine.state, machine.state.direction
    if hole.code == 880:
        machine.stand(words, 0.0)
        words.tell("G88 stops so that the tool is drawn out by hand: where it is then can't be said", "by hand",
                   partly=False)
        state.lost(hole.across)
        return
    if hole.code == 840:
        state.direction = -before
    elif hole.code == 860:
        state.direction = 0
    _to(machine, words, hole, Kind.LINE if hole.code in _FEEDS_OUT else Kind.RAPID,
        hole.clear if hole.code in _FEEDS_OUT else hole.out)
    if hole.code in _FEEDS_OUT and hole.out != hole.clear:
        _to(machine, words, hole, Kind.RAPID, hole.out)
    state.direction = before


def _to(machine: Machine, words: Words, hole: Hole, kind: Kind, level: float) -> None:
    """Along the tool's axis to a level in the axes of the words."""
    state = machine.state
    written = state.written()
    written[hole.across] = level
    known = [now or axis == hole.across for axis, now in enumerate(state.known)]
    machine.go(words, kind, state.placed(written), known)
