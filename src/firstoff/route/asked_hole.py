"""What a person asks of a lone hole: "M5", "1/4-20", "10", "6.5 mm", "4 H7", "clearance M5", "csk M4"."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal

from ..checks._threads import Thread, looks_like_thread, thread_named
from ..cutting.thread import COUNTERSUNK
from ..errors import InputError, UnitError
from ..shop.models import Spindle
from ..units import parse, tell, tell_any
from .drill_names import size_named

Kind = Literal["thread", "plain", "ream", "clearance", "countersink"]

SMALLEST: Final = 0.5       #: [mm] a smaller drill is for a machine of its own
WIDEST: Final = 32.0        #: [mm] a wider one for a machine with a taper
SHALLOWEST: Final = 0.1     #: [mm] a shallower one is a centre mark
DEEPEST: Final = 20.0       #: diameters; a deeper hole is for a gun drill
FITS: Final = re.compile(r"^(.*?)\s*H\s*(\d+)$")      # a small h is a shaft's
_SINK: Final = re.compile(r"\b(csk|countersink|countersunk)\b", re.IGNORECASE)
_CLEAR: Final = re.compile(r"\b(clearance|clear)\b", re.IGNORECASE)
_FRACTION: Final = re.compile(r"^(\d+ )?\d+/[1-9]\d*$")
_BARE: Final = re.compile(r"^-?\d*[.,]?\d+$")
_TAPPED: Final = re.compile(r"\b(tap|tapped|thread|threaded|6H)\b", re.IGNORECASE)
_SPLIT: Final = re.compile(r"\s*(?:,(?=\s)|(?<=[A-Za-z\"])\s*,|;|\bthen\b)\s*")
STEEPEST: Final = math.radians(80.0)     #: a steeper face is drilled from another side
BOLDEST: Final = 0.1        #: of the diameter: no drill takes so much a turn
_TWO_OR_ONE: Final = re.compile(r"^\d+,\d+$")      # "3,10": two drills, or one with a decimal comma
LEAST_LEFT: Final = 0.1     #: of the height of thread: less is no thread
EXAMPLES: Final = 'like M5, M8x1, 1/4-20, 10, "6.5 mm", "1/4 in", "4 H7", "clearance M5" or "csk M4"'


@dataclass(frozen=True)
class Hole:
    """A hole that is asked for, lengths in mm.

    Fields:
        said: as the person wrote it.
        kind: what is to become of it.
        diameter: of the finished hole; of a thread its nominal one [mm].
        thread: of a tapped hole, or the screw that goes through or is sunk.
        fit: grade of a reamed hole, 7 for H7; 0 where none is asked.
    """

    said: str
    kind: Kind
    diameter: float
    thread: Thread | None = None
    fit: int = 0


def hole_asked(text: str, units: str) -> Hole:
    """Read what hole is asked for.

    Args:
        text: as in the examples above.
        units: of the shop: a bare number is in mm there, and refused in a shop of inches.

    Raises:
        InputError: if it can mean two things, or nothing; if it is a size that no drill has.
    """
    words = text.strip()
    bare = _TAPPED.sub("", words).strip()
    if looks_like_thread(bare):
        thread = thread_named(bare, "hole")
        return Hole(text, "thread", thread.nominal, thread)
    for pattern, kind in ((_SINK, "countersink"), (_CLEAR, "clearance")):
        if pattern.search(words):
            return _for_screw(text, pattern.sub("", words).strip(), "countersink" if kind == "countersink" else
                              "clearance")
    fitted = FITS.match(words)
    if fitted:
        return Hole(text, "ream", _size(text, fitted[1], units), fit=_grade(text, int(fitted[2])))
    return Hole(text, "plain", _size(text, words, units))


def _for_screw(text: str, words: str, kind: Literal["clearance", "countersink"]) -> Hole:
    if not looks_like_thread(words):
        raise InputError(f"{text!r} does not say for which screw", where="hole", right=EXAMPLES)
    thread = thread_named(words, "hole")
    if thread.clearance is None:
        raise InputError(f"no clearance hole of {thread.name} is known here", where="hole", right=EXAMPLES)
    if kind == "countersink" and thread.name not in COUNTERSUNK:
        raise InputError(f"no countersunk head of {thread.name} is known here", where="hole",
                         right=f"known: {', '.join(COUNTERSUNK)}; of others give the head's diameter as a plain hole")
    return Hole(text, kind, thread.clearance[1], thread)


def _grade(text: str, grade: int) -> int:
    if not 6 <= grade <= 11:
        raise InputError(f"{text!r}: a reamer makes H6 to H11", where="hole", right='like "4 H7"')
    return grade


def _size(text: str, words: str, units: str, where: str = "hole") -> float:
    """A diameter [mm]."""
    bare = re.sub(r"^[Øø⌀]|^[Dd](?=\s*\d)", "", words).strip()
    by_name = size_named(bare)
    if by_name is not None:
        return by_name
    if _BARE.match(bare):
        if units == "in":
            raise UnitError(f"{text!r} could be mm or inches in this shop", where=where,
                            right=f'"{bare} mm" or "{bare} in"')
        bare = f"{bare} mm"
    try:
        size = parse(bare, "length")
    except UnitError as error:
        if _FRACTION.match(bare):
            raise UnitError(f"{text!r} has no unit", where=where, right=f'"{bare} in"') from error
        raise InputError(f"{text!r} is no hole that is understood", where=where, right=EXAMPLES) from error
    if not SMALLEST <= size <= WIDEST:
        raise InputError(f"a hole of {tell_any(size, 'length')}", where=where,
                         right=f"drills here go from {tell(SMALLEST, 'length')} to {tell(WIDEST, 'length')}")
    return size


def depth_asked(text: str | None, hole: Hole, units: Literal["mm", "in"], where: str) -> float | None:
    """How deep the hole is, or how long its thread [mm]; None where nobody says.

    Raises:
        InputError: if it is no depth that a drill reaches.
    """
    if text is None:
        return None
    bare = _BARE.match(text.strip()) and units == "mm"
    depth = parse(f"{text.strip()} mm" if bare else text, "length", where=where)
    if not SHALLOWEST <= depth <= DEEPEST * hole.diameter:
        raise InputError(f"{tell_any(depth, 'length', units)} deep at {tell(hole.diameter, 'length', units)} across",
                         where=where, right=f"{tell(SHALLOWEST, 'length', units)} to {DEEPEST:g} diameters; deeper "
                                            f"is for a gun drill")
    return depth


@dataclass(frozen=True)
class Own:
    """A person's own numbers: drills in order [mm], speed [rad/s] and feed of the last one, a turn [mm] or [mm/s].

    `slope` is how far the face is off square to the drill [rad].
    """

    drills: tuple[float, ...] = ()
    turn: float | None = None
    feed: float | None = None
    table_feed: float | None = None
    slope: float = 0.0

    @property
    def cuts(self) -> bool:
        """Whether they settle anything of the cut."""
        return self.turn is not None or self.feed is not None or self.table_feed is not None

    def a_turn(self, turn: float) -> float | None:
        """Feed a turn at a speed [mm]; None where nobody says."""
        return self.feed if self.table_feed is None else self.table_feed * 2.0 * math.pi / turn

    def drilled(self, hole: Hole) -> float | None:
        """The drill before tap or reamer [mm]; None where nobody says."""
        return self.drills[-1] if self.drills and hole.kind in ("thread", "ream") else None

    def on(self, spindle: Spindle) -> None:
        """That a spindle turns so fast.

        Raises:
            InputError: with what it has, if it does not.
        """
        turn = self.turn
        if turn is None:
            return
        has = any(abs(turn - step) < 1e-3 * step for step in spindle.steps) if spindle.steps else (
            spindle.slowest * 0.999 <= turn <= spindle.fastest * 1.001)
        if not has:
            low, high = (tell(speed, "rotation") for speed in (spindle.slowest, spindle.fastest))
            steps = ", ".join(tell(step, "rotation") for step in sorted(spindle.steps))
            raise InputError(f"{tell_any(turn, 'rotation')} is no speed of this spindle", where="--speed",
                             right=steps or f"{low} to {high}")


def own_asked(said: Mapping[str, str | None], hole: Hole, units: str) -> Own:
    """Read the numbers that a person gives of their own.

    Args:
        said: drills in order, "6 mm, 10 mm", the last one is tapped or reamed; and speed and feed of the last drill,
            "500 rpm", "0.1 mm" a turn or "120 mm/min"; slope of the face, "20 deg" off square.
        hole: that is asked for.
        units: of the shop.

    Raises:
        InputError: if they are no drills in order, none for this hole, or no speed or feed of a drill.
    """
    drills, speed, feed = (said.get(name) for name in ("drills", "speed", "feed"))
    if drills and _TWO_OR_ONE.match(drills.strip()):
        one, other = drills.strip().split(",")
        raise UnitError(f"{drills!r} could be one drill or two", where="--drills",
                        right=f'"{one}.{other} mm" or "{one} mm, {other} mm"')
    sizes = tuple(_size(word, word, units, "--drills") for word in _SPLIT.split(drills.strip())) if drills else ()
    _in_order(sizes, hole, units)
    turn = parse(speed, "rotation", where="--speed") if speed else None
    if turn is not None and turn <= 0.0:
        raise InputError(f"{tell_any(turn, 'rotation')}: a drill has to turn", where="--speed",
                         right='like "500 rpm"')
    own = Own(sizes, turn, slope=_slope(said.get("slope")))
    if not feed:
        return own
    if "/" in feed and "min" in feed:
        table = parse(feed, "table_feed", where="--feed")
        if table <= 0.0:
            raise InputError(f"{tell_any(table, 'table_feed')} is no feed", where="--feed", right='like "120 mm/min"')
        return replace(own, table_feed=table)
    a_turn, most = parse(feed, "length", where="--feed"), BOLDEST * hole.diameter
    if not 0.0 < a_turn <= most:
        raise InputError(f"{tell_any(a_turn, 'length')} a turn", where="--feed",
                         right=f"above nothing, up to {tell(most, 'length', decimals=3)}; or like \"120 mm/min\"")
    return replace(own, feed=a_turn)


def _slope(text: str | None) -> float:
    """How far the face is off square [rad]."""
    if text is None:
        return 0.0
    slope = parse(text, "angle", where="--slope")
    if not 0.0 <= slope <= STEEPEST:
        raise InputError(f"{tell_any(slope, 'angle')} off square", where="--slope",
                         right=f"0 to {tell(STEEPEST, 'angle')}; steeper is drilled from another side")
    return slope


def _in_order(sizes: tuple[float, ...], hole: Hole, units: str) -> None:
    if any(more <= less for less, more in pairwise(sizes)):
        raise InputError("drills go from the thinnest to the widest", where="--drills", right='like "6 mm, 10 mm"')
    if not sizes:
        return
    last, system = sizes[-1], "in" if units == "in" else "mm"
    if hole.kind in ("thread", "ream") and hole.diameter - last <= _least_left(hole):
        raise InputError(f"Ø{tell(last, 'length', system)} leaves nothing to {'tap' if hole.thread else 'ream'}",
                         where="--drills", right=f"narrower than {tell(hole.diameter, 'length', system)}")
    if last > hole.diameter + 1e-6:
        raise InputError(f"Ø{tell(last, 'length', system)} is wider than the hole", where="--drills",
                         right=f"up to {tell(hole.diameter, 'length', system)}")


def _least_left(hole: Hole) -> float:
    """What a tap or reamer must find on the diameter at least [mm]."""
    if hole.thread is None:
        return 0.0
    return LEAST_LEFT * (hole.thread.nominal - hole.thread.tap_drill)
