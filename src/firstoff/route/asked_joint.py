"""What a person asks of a joint: "M4 x 12" with its options, a wedge, a lever."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, cast, get_args

from ..checks._clamped import Head
from ..checks._hands import By
from ..checks._screws import GRADES
from ..checks._threads import Thread, thread_named
from ..errors import InputError
from ..holding.load_test import pull_of
from ..shop.models import Shop
from ..units import parse, tell_any
from .meant import Meant, material_meant

Way = Literal["across", "along"]

#: a pitch, where a length could stand: no screw is as short
_METRIC_FINE: Final = re.compile(r"^M\s*\d+(?:[.,]\d+)?\s*[x×*]\s*(?:[012][.,]\d+|[123])$", re.IGNORECASE)
QUANTITY: Final[Mapping[str, str]] = {
    "torque": "torque", "load": "force", "length": "length", "thick": "length", "angle": "angle", "way": "length",
    "gap": "length", "width": "length", "bore": "length", "held": "mass", "slipped": "mass",
}
#: What a shop's joint can have: least and most of each quantity [mm, rad, N, N m, kg]; wide, so that only slips of
#: the pen and numbers that mean nothing are refused.
POSSIBLE: Final[Mapping[str, tuple[float, float]]] = {
    "length": (1e-2, 1e3), "angle": (1e-3, math.pi / 2.0), "force": (0.1, 1e6), "torque": (1e-3, 1e3),
    "mass": (1e-2, 1e4),
}
#: what belongs to which kind, beside torque, by, load, lubricated, held and slipped, which belong to all
OF_KIND: Final[Mapping[str, frozenset[str]]] = {
    "screw": frozenset({"into", "through", "grade", "head", "length", "thick"}),
    "wedge": frozenset({"screw", "angle", "gap", "way"}),
    "lever": frozenset({"screw", "arms", "into", "width", "thick", "bore"}),
}
MOST_SCREWS: Final = 100


@dataclass(frozen=True)
class Tight:
    """How it is tightened and tried: N m, N; `held` and `slipped` are what a scale showed."""

    torque: float | None = None
    by: By | None = None
    lubricated: bool = False
    load: float | None = None
    held: float | None = None
    slipped: float | None = None


@dataclass(frozen=True)
class ScrewAsked:
    """A screw that clamps one part on another; lengths in mm, None where nobody says."""

    said: str
    thread: Thread
    length: float | None
    into: Meant
    through: Meant
    tight: Tight
    grade: str = "8.8"
    head: Head = "socket"
    engaged: float | None = None
    thick: float | None = None
    number: int = 1
    way: Way = "across"


@dataclass(frozen=True)
class WedgeAsked:
    """A wedge that a screw draws in under what it clamps: rad, mm."""

    thread: Thread
    angle: float
    tight: Tight
    gap: float | None = None
    way: float | None = None


@dataclass(frozen=True)
class LeverAsked:
    """A bar that a screw presses down at one end of its fulcrum, and that presses at the other: mm."""

    thread: Thread
    arms: tuple[float, float]
    tight: Tight
    bar: Meant | None = None
    width: float | None = None
    thick: float | None = None
    bore: float = 0.0


Asked = ScrewAsked | WedgeAsked | LeverAsked


def joint_asked(
    what: str, said: Mapping[str, str], shop: Shop, *, way: Way = "across", lubricated: bool = False, number: int = 1,
) -> Asked:
    """Read what joint is asked for.

    Args:
        what: "M4 x 12", "wedge" or "lever".
        said: options by name, as texts.
        shop: with the materials.
        way: of the load against the screws.
        lubricated: whether thread and head are greased.
        number: of screws.

    Raises:
        InputError: if a word is not understood, misses, or does not belong to this kind of joint.
    """
    kind = what.strip().lower() if what.strip().lower() in ("wedge", "lever") else "screw"
    _belongs(kind, said)
    tight = _tight(said, lubricated)
    if kind == "wedge":
        return WedgeAsked(_thread_of(said), _angle(said), tight, _number(said, "gap"), _number(said, "way"))
    if kind == "lever":
        return _lever(said, tight, shop)
    return _screw(what, said, shop, tight, way, number)


def _belongs(kind: str, said: Mapping[str, str]) -> None:
    every = frozenset().union(*OF_KIND.values())
    for name in said:
        if name in every and name not in OF_KIND[kind]:
            raise InputError(f"--{name} says nothing of a {kind}", where=f"--{name}",
                             right=", ".join(f"--{other}" for other in sorted(OF_KIND[kind])))


def _screw(what: str, said: Mapping[str, str], shop: Shop, tight: Tight, way: Way, number: int) -> ScrewAsked:
    if "into" not in said:
        raise InputError("it does not say into which material the screw goes", where="--into",
                         right="--into al_6082, or another material of the shop")
    if not 1 <= number <= MOST_SCREWS:
        raise InputError(f"{number} screws", where="--screws", right=f"1 to {MOST_SCREWS}")
    name, length = _parts(what, shop.units)
    into = material_meant(said["into"], shop, "--into")
    through = material_meant(said["through"], shop, "--through") if "through" in said else into
    return ScrewAsked(
        what.strip(), thread_named(name, "screw"), length, into, through, tight,
        _one_of(said.get("grade", "8.8"), tuple(GRADES), "--grade"),
        cast(Head, _one_of(said.get("head", "socket"), get_args(Head), "--head")),
        _number(said, "length"), _number(said, "thick"), number, way)


def _parts(what: str, units: str) -> tuple[str, float | None]:
    """Thread and length of "M4 x 12", "M8x1 x 20", "1/4-20 x 3/4 in"; no length where none is said."""
    words = what.strip()
    found = re.match(r"^(.+?)\s+[x×]\s*([\d/ .,-]+(?:mm|in)?)$", words) or re.match(
        r"^(M\s*\d+(?:[.,]\d+)?)\s*[x×]\s*(\d+(?:[.,]\d+)?)$", words, re.IGNORECASE)
    if not found or _METRIC_FINE.match(words):
        return words, None
    text = found[2].strip()
    bare = re.fullmatch(r"\d+(?:[.,]\d+)?", text)
    if bare and units == "in" and not words.upper().startswith("M"):
        raise InputError(f"{what!r}: a length of {text} could be mm or inches", where="screw",
                         right=f'"{text} mm" or "{text} in"')
    length = parse(f"{text} mm" if bare else text, "length", where="screw")
    return found[1].strip(), _possible(length, "length", "screw")


def _lever(said: Mapping[str, str], tight: Tight, shop: Shop) -> LeverAsked:
    arms = [_possible(parse(text.strip(), "length", where="--arms"), "length", "--arms")
            for text in said.get("arms", "").split(",") if text.strip()]
    if len(arms) != 2:
        raise InputError("a lever has two arms: fulcrum to screw, and fulcrum to where it presses", where="--arms",
                         right='--arms "14 mm, 26 mm"')
    width, bore = _number(said, "width"), _number(said, "bore") or 0.0
    if width is not None and bore >= width:
        raise InputError(f"a hole of {bore:g} mm in a bar of {width:g} mm", where="--bore",
                         right="less than the width")
    bar = material_meant(said["into"], shop, "--into") if "into" in said else None
    return LeverAsked(_thread_of(said), (arms[0], arms[1]), tight, bar, width, _number(said, "thick"), bore)


def _tight(said: Mapping[str, str], lubricated: bool) -> Tight:
    by = said.get("by")
    if by is not None:
        by = _one_of(by, get_args(By), "--by")
    torque = _number(said, "torque")
    if by == "wrench" and torque is None:
        raise InputError("a torque wrench is set to a torque", where="--by", right='with --torque "1.5 N m"')
    if torque is not None and by not in (None, "wrench"):
        raise InputError(f"a torque, and by {by}: one or the other", where="--by", right="--torque, or --by")
    held, slipped = (None if (mass := _number(said, key)) is None else float(pull_of(mass))
                     for key in ("held", "slipped"))
    return Tight(torque, cast(By | None, by), lubricated, _number(said, "load"), held, slipped)


def _thread_of(said: Mapping[str, str]) -> Thread:
    if "screw" not in said:
        raise InputError("it does not say which screw tightens it", where="--screw", right="--screw M6")
    return thread_named(said["screw"], "--screw")


def _angle(said: Mapping[str, str]) -> float:
    angle = _number(said, "angle")
    if angle is None:
        raise InputError("it does not say how steep the wedge is", where="--angle", right='--angle "7 deg"')
    if angle >= math.pi / 4.0:
        raise InputError(f"a wedge of {math.degrees(angle):g} degrees", where="--angle", right="below 45 degrees")
    return angle


def _number(said: Mapping[str, str], name: str) -> float | None:
    """A number that can be; None where it is not said."""
    text = said.get(name)
    if text is None:
        return None
    return _possible(parse(text, QUANTITY[name], where=f"--{name}"), QUANTITY[name], f"--{name}")


def _possible(value: float, quantity: str, where: str) -> float:
    least, most = POSSIBLE[quantity]
    if not least <= value <= most:
        low, high = (tell_any(edge, quantity) for edge in (least, most))
        raise InputError(f"{tell_any(value, quantity)} can't be", where=where, right=f"{low} to {high}")
    return value


def _one_of(word: str, known: tuple[str, ...], where: str) -> str:
    if word not in known:
        raise InputError(f"{word!r} is not known here", where=where, right=", ".join(known))
    return word
