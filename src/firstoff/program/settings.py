"""Words that set something: units, feed, spindle, tool, planes, offsets; and those that shift or leave the zero."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from firstoff.program.blocks import Words
from firstoff.program.modes import State, X, Y, Z, g_text
from firstoff.removal.moves import Doubt, Kind

if TYPE_CHECKING:
    from firstoff.program.machine import Machine

_AXES: Final = "XYZ"
_PER_MINUTE: Final = 60.0
_TURN: Final = 2.0 * math.pi
#: numbers of tools and offsets go up to this
LAST_TOOL: Final = 10**8
_UNITS: Final = {200: "in", 700: "in", 210: "mm", 710: "mm"}
_WORDS: Final = {"in": "inches", "mm": "mm"}
_ZEROS: Final = {540: 1, 550: 2, 560: 3, 570: 4, 580: 5, 590: 6, 591: 7, 592: 8, 593: 9}
#: a dwell longer than this is not meant [s]
LONGEST_DWELL: Final = 86400.0
#: from here on it is asked whether milliseconds were meant [s]
LONG_DWELL: Final = 60.0


def apply(machine: Machine, words: Words) -> None:
    """Set what a block sets, in the order of NISTIR 6556 but for the unit, which also counts for its F."""
    _unit(machine, words)
    _feed(machine, words)
    _spindle_speed(machine, words)
    _tool(machine, words)
    _spindle(machine, words)
    if words.g.get("once") == 40:
        _dwell(machine, words)
    state, g = machine.state, words.g
    state.plane = {170: 17, 180: 18, 190: 19}.get(g.get("plane", 0), state.plane)
    _radius(machine, words)
    _length(machine, words)
    if "zero" in g:
        _zero(state, _ZEROS[g["zero"]])
    state.exact = g.get("path", state.exact)
    state.absolute = g.get("distance", 900 if state.absolute else 910) == 900
    state.centre_absolute = g.get("centre", 901 if state.centre_absolute else 911) == 901
    state.to_start = g.get("return", 980 if state.to_start else 990) == 980
    if "rotation" in g:
        _rotation(machine, words)
    if g.get("once") in (921, 922, 923):
        _preset_off(state, g["once"])


def _unit(machine: Machine, words: Words) -> None:
    if "unit" not in words.g:
        return
    state, unit = machine.state, _UNITS[words.g["unit"]]
    if words.g["unit"] in (700, 710) and (words.lasting or words.has("PQ")):
        words.tell(f"{g_text(words.g['unit'])} with other words is no unit, and not understood: what depends on it "
                   "can't be said from here on", "no unit")
        words.lasting = True
        state.doubt |= Doubt.UNREAD
        return
    if state.unit is None and (len(machine.track) or any(state.known)):
        words.tell(f"what was written before {g_text(words.g['unit'])} has no unit", "late unit", partly=False)
        state.lost()
    if state.unit != unit:
        state.cycle.clear()
        if state.unit_told:
            before = _WORDS[state.unit or unit]
            words.tell(f"{g_text(words.g['unit'])}: from here on lengths are {_WORDS[unit]}, before {before}",
                       "unit changed", partly=False)
    state.unit, state.unit_told = unit, True
    state.doubt &= ~Doubt.UNIT


def _feed(machine: Machine, words: Words) -> None:
    state = machine.state
    mode = words.g.get("feed", state.feed_mode)
    if mode != state.feed_mode:
        state.feed_mode, state.feed = mode, None
    feed = words.take("F")
    if feed is None:
        return
    if math.isnan(feed) or feed <= 0.0:
        if feed <= 0.0:
            words.tell(f"F{feed:.6g} is no feed", "no such feed", partly=False)
        state.feed = None
        return
    state.feed = feed / _PER_MINUTE if mode == 930 else feed * state.scale
    if mode == 940:
        state.feed /= _PER_MINUTE
    machine.tell.forget("no feed")


def _spindle_speed(machine: Machine, words: Words) -> None:
    speed = words.take("S")
    if speed is None:
        return
    if speed < 0.0:
        words.tell(f"S{speed:.6g} is no speed", "no such speed", partly=False)
        speed = math.nan
    machine.state.speed = None if math.isnan(speed) else speed * _TURN / _PER_MINUTE


def _number(words: Words, letter: str) -> int | None:
    """The whole number of a T, H, D or L word; None where it is not there or cannot be meant."""
    value = words.take(letter)
    if value is None:
        return None
    if math.isnan(value) or value != round(value) or not 0 <= value <= LAST_TOOL:
        if not math.isnan(value):
            words.tell(f"{letter}{value:.6g} has to be a whole number from 0 to {LAST_TOOL}", f"number {letter}")
        return None
    return int(value)


def _tool(machine: Machine, words: Words) -> None:
    state = machine.state
    if words.has("T"):
        number = _number(words, "T")
        if number is None:
            state.doubt |= Doubt.TOOL
        state.selected = number or 0
    if "change" not in words.m:
        return
    if words.has("T") or state.selected:
        state.tool = state.selected
    else:
        words.tell("M6 without T: which tool comes can't be said", "change to none", partly=False)
        state.doubt |= Doubt.TOOL
    if words.has("T") and not math.isnan(words.numbers["T"]):
        state.doubt &= ~Doubt.TOOL
    machine.stand(words, 0.0)
    state.lost()


def _spindle(machine: Machine, words: Words) -> None:
    code = words.m.get("spindle")
    if code is None:
        return
    state = machine.state
    state.direction = {3: 1, 4: -1, 5: 0}[code]
    if state.direction and state.speed is None:
        words.tell(f"M{code} without S: how fast the spindle turns can't be said", "no speed", partly=False)


def _dwell(machine: Machine, words: Words) -> None:
    seconds = words.take("P")
    if seconds is None:
        words.tell("G4 wants P, its seconds", "dwell", partly=False)
        return
    if not 0.0 <= seconds <= LONGEST_DWELL:
        words.tell(f"G4 P{seconds:.6g} is no time that anybody waits, in seconds", "dwell", partly=False)
        return
    if seconds >= LONG_DWELL:
        words.tell(f"G4 P{seconds:.6g} waits {seconds:.6g} s: was it meant in milliseconds, as some controls count?",
                   "long dwell", partly=False)
    machine.stand(words, seconds)


def _radius(machine: Machine, words: Words) -> None:
    code = words.g.get("radius")
    if code is None:
        return
    state, number = machine.state, _number(words, "D") if words.has("D") else None
    machine.set_radius(words, code, state.tool if number is None else number)


def _length(machine: Machine, words: Words) -> None:
    code = words.g.get("length")
    if code is None:
        return
    state = machine.state
    number = _number(words, "H") if code == 430 else 0
    if number is None:
        words.tell("G43 wants H, the number of a tool length", "length", partly=False)
        state.lost(Z)
        return
    if number != state.length:
        state.lost(Z)
    state.length = number
    if number and state.tool and number != state.tool:
        words.tell(f"G43 H{number} with tool {state.tool} in the spindle: is it the length of that tool?",
                   f"length {number} of {state.tool}", partly=False)


def _zero(state: State, number: int) -> None:
    """Another work zero: where the tip is as seen from there is known if G10 set both."""
    if number == state.zero:
        return
    old, new = state.zeros.get(state.zero), state.zeros.get(number)
    if old is None or new is None:
        state.lost()
    else:
        state.at = [at + a - b for at, a, b in zip(state.at, old, new, strict=True)]
    state.zero = number


def _rotation(machine: Machine, words: Words) -> None:
    state = machine.state
    state.half_turned = state.half_turned or words.g["rotation"] == 680 or state.turned is not None
    if words.g["rotation"] == 690:
        state.turned = None
        return
    x, y, angle = (words.take(letter) for letter in "XYR")
    if "motion" in words.g or words.has("Z") or x is None or y is None or angle is None:
        words.tell("G68 wants X Y R and nothing else: how the axes are turned from here on can't be said", "rotation")
        state.doubt |= Doubt.UNREAD
        words.numbers = {k: v for k, v in words.numbers.items() if k not in "XYZ"}
        return
    if any(math.isnan(value) for value in (x, y, angle)):
        state.doubt |= Doubt.UNREAD
        words.numbers = {}
        return
    state.turned = (x * state.scale, y * state.scale, math.radians(angle))
    words.numbers = {k: v for k, v in words.numbers.items() if k not in "XYR"}


def _preset_off(state: State, code: int) -> None:
    """G92.1 forgets the shift of G92, G92.2 lays it aside, G92.3 takes it up again."""
    if state.preset_here:
        state.lost()
    if code == 923:
        state.preset = list(state.preset_kept)
        return
    state.preset_kept = [0.0, 0.0, 0.0] if code == 921 else list(state.preset)
    state.preset = [0.0, 0.0, 0.0]
    state.preset_here = False


def _lengths(machine: Machine, words: Words) -> list[float | None]:
    """The axis words of a block in mm; None where there is none."""
    values = [words.take(letter) for letter in _AXES]
    return [None if value is None else value * machine.state.scale for value in values]


def _preset(machine: Machine, words: Words) -> None:
    """G92: the place where the tip is gets these coordinates."""
    state, given = machine.state, _lengths(machine, words)
    if state.turned is not None:
        words.tell("G92 under G68: what it means can't be said", "preset turned")
        state.doubt |= Doubt.UNREAD
    if all(value is None for value in given):
        words.tell("G92 wants X Y or Z", "preset", partly=False)
    for axis, value in enumerate(given):
        if value is None:
            continue
        if math.isnan(value):
            state.known[axis] = False
        elif state.known[axis]:
            state.preset[axis] = state.at[axis] - state.shift[axis] - value
        else:
            state.preset[axis], state.at[axis], state.known[axis] = 0.0, value + state.shift[axis], True
            state.preset_here = True
    if state.preset_here:
        machine.tell.once(words.line, "G92 makes the place where the tool stands the zero: it has to be put there by "
                          "hand before the start", "preset here")


def _shift(machine: Machine, words: Words) -> None:
    """G52: a local zero, so far from the work zero."""
    for axis, value in enumerate(_lengths(machine, words)):
        if value is None:
            continue
        if math.isnan(value):
            machine.state.known[axis] = False
            machine.state.doubt |= Doubt.UNREAD
        else:
            machine.state.shift[axis] = value


def _home(machine: Machine, words: Words) -> None:
    """G28 and G30: through the place that is written to one that the machine keeps."""
    state = machine.state
    if words.has(_AXES):
        end, known = machine.target(words)
        machine.go(words, Kind.RAPID, end, known)
    machine.go(words, Kind.RAPID, state.at, [False, False, False], zero=0)


def _table(machine: Machine, words: Words) -> None:
    """G10 L2 P: where a work zero lies in the machine's axes."""
    kind, number, given = words.take("L"), words.take("P"), _lengths(machine, words)
    if kind != 2 or number is None or number not in range(1, 10):
        words.tell("G10 is understood as G10 L2 P1 to P9 with X Y Z: where the zeros lie can't be said", "table")
        machine.state.doubt |= Doubt.UNREAD
        return
    state, zero = machine.state, int(number)
    if any(value is None or math.isnan(value) for value in given):
        state.zeros.pop(zero, None)
    else:
        new = tuple(value or 0.0 for value in given)
        state.zeros[zero] = (new[0], new[1], new[2])
    if zero == state.zero:
        state.lost(*(axis for axis in (X, Y, Z) if given[axis] is not None))


ONCE: Final[dict[int | None, Callable[[Machine, Words], None]]] = {
    100: _table, 280: _home, 300: _home, 520: _shift, 920: _preset}


def stop(machine: Machine, words: Words) -> None:
    """M0, M1 and M60 stop until a person goes on; M2 and M30 end the program."""
    code = words.m.get("stop")
    if code in (0, 1, 60):
        machine.stand(words, 0.0)
    elif code in (2, 30):
        machine.state.ended = True
        machine.state.direction = 0
