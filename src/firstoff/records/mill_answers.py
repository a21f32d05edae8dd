"""What was read in one of the nine tests: raw texts, checked one by one and then together.

A unit that cannot be, an indicator that did not move, signs that contradict each other are refused with what would
be right. What is merely strange is kept: learning has heavy tails, and names it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from ..checks.si import metres
from ..errors import NameUnknown, RecordError, UnitError
from ..shop.models import Shop
from ..units import parse, tell
from .mill_tests import Ask, MillTest, the_test

GRAVITY: Final = 9.80665          #: standard acceleration of fall [m/s2]
AXES: Final = ("x", "y", "z")
#: between readings that are not apart by ; (a comma within a number has no space after it)
_COMMA: Final = re.compile(r",\s+")
_BARE: Final = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_NOTHING: Final = re.compile(r"[+-]?0+(?:[.,]0*)?")
_UNIT_AT_END: Final = re.compile(r"[^\W\d_][^\d;,]*$|[\"%°]$")
#: words of a name
_WORDS: Final = re.compile(r"[^\W_]+")
#: most names that a refusal lists
_LISTED: Final = 30
_NAMES: Final = {"collet": "collets", "tool": "tools", "material": "materials", "instrument": "instruments"}


@dataclass(frozen=True)
class Answers:
    """Readings of one test on one machine, as they were read.

    Fields:
        test: which.
        texts: raw, by key; what was left out is not there.
        shop: that has the machine.
        machine: its name there.
    """

    test: MillTest
    texts: Mapping[str, str]
    shop: Shop
    machine: str

    @property
    def entity(self) -> str:
        """The machine, as a belief names it."""
        return f"machine:{self.machine}"

    def has(self, key: str) -> bool:
        """Whether there is an answer, or one that is meant where none is given."""
        return bool(self.text(key))

    def text(self, key: str) -> str:
        """The answer as it was given, else what is meant then."""
        return self.texts.get(key, "") or self.test.ask(key).otherwise

    def number(self, key: str) -> float:
        """A single reading in coherent SI."""
        return _number(self.text(key), self.test.ask(key))

    def numbers(self, key: str) -> tuple[float, ...]:
        """Many readings in coherent SI."""
        return tuple(_number(text, self.test.ask(key)) for text in split(self.text(key)))

    def uncertainty(self, key: str = "instrument") -> float:
        """Standard uncertainty of one reading of the instrument [m]."""
        return metres(self.shop.instruments[self.text(key)].uncertainty.value)

    def resolution(self, key: str = "instrument") -> float:
        """Its smallest division [m]."""
        return metres(self.shop.instruments[self.text(key)].resolution)

    def with_text(self, key: str, text: str) -> Answers:
        """The same with one other answer."""
        return replace(self, texts={**self.texts, key: text})


def split(text: str) -> list[str]:
    """Many readings in one answer, apart by ; or by a comma and a space; a unit that stands only at the end is
    that of all: "10.01; 10.02; 10.00 mm".
    """
    pieces = [piece.strip() for piece in (text.split(";") if ";" in text else _COMMA.split(text)) if piece.strip()]
    unit = _UNIT_AT_END.search(pieces[-1]) if pieces else None
    if unit and all(_BARE.fullmatch(piece) for piece in pieces[:-1]):
        return [f"{piece} {unit[0]}" for piece in pieces[:-1]] + pieces[-1:]
    return pieces


def _number(text: str, ask: Ask) -> float:
    value = _value(text, ask)
    return metres(value) if ask.quantity == "length" else value


def _value(text: str, ask: Ask) -> float:
    """In the unit that is kept; nothing is nothing in every unit of length: an indicator set to 0 reads "0.00"."""
    if ask.quantity == "length" and _NOTHING.fullmatch(text.strip()):
        return 0.0
    return pull(text) if ask.quantity == "pull" else parse(text, ask.quantity)


def pull(text: str) -> float:
    """A pull [N] from a text in newtons, or as scales show it: kg, lb.

    Raises:
        UnitError: if it is neither.
    """
    try:
        return parse(text, "force")
    except UnitError as error:
        try:
            return parse(text, "mass") * GRAVITY
        except UnitError:
            raise UnitError(error.what, right="write it like 100 N, 10.2 kg or 22 lbf") from None


def check_answer(test: MillTest, ask: Ask, text: str, shop: Shop, machine: str) -> str:
    """One answer, alone; returns it as it is kept.

    Raises:
        RecordError: if it is missing, or cannot be true.
        UnitError: if it has no unit, or a wrong one.
        NameUnknown: if the shop has nothing of that name.
    """
    text, where = text.strip(), f"{test.name}.{ask.key}"
    if not text:
        if not ask.optional:
            raise RecordError("there is no answer", where=where, right=f"{ask.question}, or 'skip' the test")
        if ask.quantity == "instrument":
            _name(ask, ask.otherwise, shop, machine, where)
        return ""
    if ask.quantity == "axis":
        if text.lower() not in AXES:
            raise RecordError(f"{text!r} is no axis", where=where, right="x across, y in and out, z up and down")
        return text.lower()
    if ask.quantity in _NAMES:
        return _name(ask, text, shop, machine, where)
    if ask.quantity == "file":
        if not Path(text).is_file():
            raise RecordError(f"there is no file {text!r}", where=where, right="a .wav recording or a .csv log")
        return text
    pieces = split(text) if ask.many else [text]
    if len(pieces) < ask.many:
        raise RecordError(f"{len(pieces)} reading{'s' if len(pieces) != 1 else ''}", where=where,
                          right=f"{ask.many} of them, apart by ;")
    for piece in pieces:
        _can_be(ask, piece, where)
    return text


def _name(ask: Ask, text: str, shop: Shop, machine: str, where: str) -> str:
    there = getattr(shop, _NAMES[ask.quantity])
    if text in there:
        return text
    fits = (shop.machines[machine].collets if ask.quantity == "collet" else ()) or sorted(there)
    meant = _meant(text, {key: there[key].name for key in fits if key in there})
    if len(meant) == 1:
        return meant[0]
    right = ", ".join((meant or fits)[:_LISTED])
    if meant:
        raise NameUnknown(f"{text!r} may be {len(meant)} of the shop", where=where, right=f"which of {right}")
    raise NameUnknown(f"the shop has no {ask.quantity} {text!r}", where=where, right=f"one of {right}")


def _meant(text: str, names: Mapping[str, str]) -> list[str]:
    """Keys of what a person may have meant: all words stand in its key and name, in any order; its own name is it."""
    said = set(_WORDS.findall(text.lower()))
    whole = [key for key, name in names.items() if text.lower() == name.lower()]
    return whole or [key for key, name in names.items()
                     if said and said <= set(_WORDS.findall(f"{key} {name}".lower()))]


def _can_be(ask: Ask, text: str, where: str) -> None:
    try:
        value = _value(text, ask)
    except UnitError as error:
        raise UnitError(error.what, where=where, right=error.right) from None
    if not ask.least <= value <= ask.most:
        raise RecordError(f"{text} {_as(value, ask.quantity)}cannot be: {ask.question}", where=where,
                          right=f"{_told(ask.least, ask.quantity)} to {_told(ask.most, ask.quantity)}; is the unit "
                                "right?")


def _told(value: float, quantity: str) -> str:
    return f"{value:.6g} N" if quantity == "pull" else tell(value, quantity)


def _as(value: float, quantity: str) -> str:
    """The same in the unit that is usual, where that is another number."""
    return f"(that is {_told(value, quantity)}) " if quantity in ("pull", "length") else ""


def checked(name: str, texts: Mapping[str, str], shop: Shop, machine: str) -> Answers:
    """All readings of a test, each alone and then together.

    Raises:
        RecordError: if a reading cannot be true, or two contradict each other.
        UnitError: if one has no unit, or a wrong one.
        NameUnknown: if a test or a name in it is not there.
    """
    test = the_test(name)
    unknown = sorted(set(texts) - {ask.key for ask in test.asks})
    if unknown:
        raise RecordError(f"there is nothing called {unknown[0]!r} to read", where=test.name,
                          right=", ".join(ask.key for ask in test.asks))
    kept = {ask.key: check_answer(test, ask, texts.get(ask.key, ""), shop, machine) for ask in test.asks}
    found = Answers(test, {key: text for key, text in kept.items() if text}, shop, machine)
    return _together(found)


def _together(found: Answers) -> Answers:
    """What only several answers tell."""
    name = found.test.name
    if name == "pull":
        return _loop(found)
    if name == "runout" and found.number("high") < found.number("low"):
        raise RecordError("the highest reading is lower than the lowest", where="runout", right="swap them")
    if name == "watts" and found.number("cutting") <= found.number("idle"):
        raise RecordError(f"{found.text('cutting')} while cutting is not more than {found.text('idle')} running free",
                          where="watts", right="a heavier cut, or swap the two")
    if name == "square":
        _near_nominal(found)
    if name == "tap" and found.text("axis") == "z":
        raise RecordError("a cutter rings across, not along its axis", where="tap.axis", right="x or y")
    if name == "tap":
        return _heard(found)
    return found


def _loop(found: Answers) -> Answers:
    """An indicator that did not move is stuck; one that stands on the other side reads the other way round."""
    there = found.number("pulled") - found.number("released")
    back = found.number("released_back") - found.number("pushed")
    fine = max(2.0 * found.uncertainty(), found.resolution())
    moved = [found.number(key) for key in ("pulled", "released", "pushed", "released_back")]
    if len(set(moved)) == 1:
        raise RecordError(f"the indicator read {found.text('pulled')} four times", where="pull",
                          right="is it stuck, or does it not touch? Pull harder, or use a finer one")
    if (there > fine and back < -fine) or (there < -fine and back > fine):
        raise RecordError("pulling and pushing moved it the same way", where="pull",
                          right="one sign is wrong: readings on one side of 0 are negative")
    return found


def mirrored(found: Answers) -> bool:
    """Whether the indicator stood on the other side: a pull moved it to the negative."""
    there = found.number("pulled") - found.number("released")
    return there + found.number("released_back") - found.number("pushed") < 0.0


def _near_nominal(found: Answers) -> None:
    nominal = found.number("nominal")
    for key, size in (("x", nominal), ("y", nominal), ("step", metres(40.0))):
        if found.has(key) and not 0.97 < found.number(key) / size < 1.03:
            raise RecordError(f"{found.text(key)} is no square of {tell(size / metres(1.0), 'length')}",
                              where=f"square.{key}", right="is the unit right? Else write the size in the program")


def _heard(found: Answers) -> Answers:
    """A recording is listened to, unless it says already what was heard; that stands beside its name."""
    from .ringing import heard, told

    if found.has("file") and not (found.has("frequency") and found.has("damping")):
        for key, text in told(heard(Path(found.text("file")))).items():
            found = found.with_text(key, text)
        return found
    if not found.has("frequency"):
        raise RecordError("neither a recording nor a frequency", where="tap", right="one of them, or skip the test")
    return found
