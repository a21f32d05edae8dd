"""Expressions and # variables of a block, as NISTIR 6556 writes them. A value that nobody can know is NaN."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable
from typing import Final

from firstoff.program.words import NUMBER, NotUnderstood, shown

UNKNOWN: Final = math.nan
#: brackets within brackets; more is refused
DEPTH: Final = 40
#: variables are numbered from 1 to this
LAST_VARIABLE: Final = 99999
#: larger numbers are not believed
LARGEST: Final = 1e12

_FUNCTION: Final = re.compile(r"(ABS|ACOS|ASIN|ATAN|COS|EXP|FIX|FUP|LN|ROUND|SIN|SQRT|TAN)\[")
_DIGITS: Final = re.compile(r"\d{1,9}(?![\d.])")
_OPENS: Final = frozenset("[#")
_OPERATOR: Final = re.compile(r"\*\*|[*/+-]|MOD|AND|XOR|OR|EQ|NE|GE|GT|LE|LT")
_LEVEL: Final = {"**": 4, "*": 3, "/": 3, "MOD": 3, "+": 2, "-": 2, "OR": 2, "XOR": 2, "AND": 2}
_LOGIC: Final = frozenset({"OR", "XOR", "AND"})
_LETS_UNKNOWN_THROUGH: Final = frozenset({"*", "/", "+", "-", "MOD"})
COMPARISONS: Final[dict[str, Callable[[float, float], bool]]] = {
    "EQ": operator.eq, "NE": operator.ne, "GE": operator.ge, "GT": operator.gt, "LE": operator.le, "LT": operator.lt}


class Variables:
    """The # variables of a program. One that it never set holds what the machine kept: nobody here knows."""

    def __init__(self) -> None:
        self._kept: dict[int, float] = {}
        self.asked: set[int] = set()

    def __getitem__(self, number: int) -> float:
        """Its value, or UNKNOWN; what was asked for in vain is noted in `asked`."""
        if number not in self._kept:
            self.asked.add(number)
        return self._kept.get(number, UNKNOWN)

    def __setitem__(self, number: int, value: float) -> None:
        """Keep a value."""
        self._kept[number] = value


#: what an expression is worth, by the variables
Formula = Callable[[Variables], float]


def nothing(_: Variables) -> float:
    """The value of what could not be read: unknown."""
    return UNKNOWN


class Scanner:
    """Goes through the text of a block from left to right; what has a value is taken apart, then worked out."""

    def __init__(self, text: str, variables: Variables) -> None:
        self.text, self.at, self.variables = text, 0, variables
        self._depth = 0
        self._looked, self._word = -1, ""       # where an operator was looked for last, and which is there

    @property
    def done(self) -> bool:
        """Whether nothing is left."""
        return self.at >= len(self.text)

    def peek(self) -> str:
        """The next sign, or nothing."""
        return self.text[self.at: self.at + 1]

    def eat(self, sign: str) -> bool:
        """Go over this sign if it is the next."""
        if not self.text.startswith(sign, self.at):
            return False
        self.at += len(sign)
        return True

    def value(self) -> float:
        """The value of what `formula` finds."""
        return self.formula()(self.variables)

    def number(self, word: str, largest: int) -> int:
        """A whole number from 1 on: of a variable, a label, a loop."""
        return int(self.whole(word, largest)(self.variables))

    def formula(self) -> Formula:
        """A number, a variable, a function or an expression in brackets, with or without a sign."""
        first = self.text[self.at: self.at + 1]
        if first in _OPENS:
            return self._unsigned()
        found = NUMBER.match(self.text, self.at)
        if found:
            self.at = found.end()
            return _constant(believed(float(found[0]), found[0]))
        if first == "-":
            self.at += 1
            return _less(self._unsigned())
        self.eat("+")
        return self._unsigned()

    def _unsigned(self) -> Formula:
        first = self.text[self.at: self.at + 1]
        if first == "[":
            self.at += 1
            return self._expression(self.at - 1)
        if first == "#":
            self.at += 1
            return self._variable()
        found = _FUNCTION.match(self.text, self.at)
        if found:
            start, self.at = self.at, found.end()
            return self._function(found[1], start)
        found = NUMBER.match(self.text, self.at)
        if found and self.peek() not in "+-":
            self.at = found.end()
            return _constant(believed(float(found[0]), found[0]))
        raise NotUnderstood("there is no number" if self.done else f"{shown(self.text[self.at:])!r} is no number")

    def _variable(self) -> Formula:
        """The value of a variable; the usual case first, that its number is written out."""
        found = _DIGITS.match(self.text, self.at)
        number = int(found[0]) if found else 0
        if found is None or not 1 <= number <= LAST_VARIABLE:
            which = self.whole("#", LAST_VARIABLE)
            return lambda variables: variables[int(which(variables))]
        self.at = found.end()
        return lambda variables: variables[number]

    def whole(self, word: str, largest: int) -> Formula:
        """A whole number from 1 to the largest; one that is written out is looked at once."""
        self._deeper()
        found = NUMBER.match(self.text, self.at)
        formula = self.formula()
        self._depth -= 1
        if found:
            return _constant(_whole(formula(self.variables), word, largest))
        return lambda variables: _whole(formula(variables), word, largest)

    def _deeper(self) -> None:
        self._depth += 1
        if self._depth > DEPTH:
            raise NotUnderstood(f"has more than {DEPTH} brackets or # within each other")

    def _expression(self, start: int) -> Formula:
        self._deeper()
        formula = self._comparison(start)
        self._depth -= 1
        if not self.eat("]"):
            raise NotUnderstood(f"[ is not closed, or {shown(self.text[self.at:])!r} in it has no meaning")
        return formula

    def _comparison(self, start: int) -> Formula:
        logic: set[str] = set()
        left = self._chain(2, logic)
        word = self._operator()
        if word not in COMPARISONS:
            return left
        self.at += len(word)
        right = self._chain(2, logic)
        if logic or self._operator() in COMPARISONS:
            raise NotUnderstood(f"{shown(self.text[start: self.at])!r} compares and joins in one bracket: "
                                "each comparison wants brackets of its own")
        return _compared(word, left, right)

    def _chain(self, level: int, logic: set[str]) -> Formula:
        """Operands joined by operators of this level or a higher one, from left to right."""
        left = self.formula()
        while (own := _LEVEL.get(word := self._operator(), 0)) >= level:
            self.at += len(word)
            if word in _LOGIC:
                logic.add(word)
            left = _joined(word, left, self._chain(own + 1, logic))
        return left

    def _operator(self) -> str:
        if self._looked != self.at:
            found = None if self.text.startswith("]", self.at) else _OPERATOR.match(self.text, self.at)
            self._looked, self._word = self.at, found[0] if found else ""
        return self._word

    def _function(self, name: str, start: int) -> Formula:
        inside = self._expression(start)
        if name != "ATAN":
            return _applied(name, inside)
        if not self.eat("/") or not self.eat("["):
            raise NotUnderstood("ATAN wants two values: ATAN[..]/[..]")
        below = self._expression(start)
        return lambda variables: math.degrees(math.atan2(inside(variables), below(variables)))


def _whole(value: float, word: str, largest: int) -> float:
    if value == value and abs(round(value) - value) <= 1e-4 and 1 <= round(value) <= largest:
        return round(value)
    told = "is not known" if math.isnan(value) else f"is {value:.6g}"
    raise NotUnderstood(f"the number after {word} {told}; it has to be a whole number from 1 to {largest}")


def _constant(value: float) -> Formula:
    return lambda _: value


def _less(formula: Formula) -> Formula:
    return lambda variables: -formula(variables)


def _compared(word: str, left: Formula, right: Formula) -> Formula:
    compare = COMPARISONS[word]

    def compared(variables: Variables) -> float:
        one, other = left(variables), right(variables)
        return UNKNOWN if math.isnan(one) or math.isnan(other) else float(compare(one, other))

    return compared


def _joined(word: str, left: Formula, right: Formula) -> Formula:
    """As `applied`, the usual case first: what is unknown stays so by itself, but in powers and logic."""
    if word not in _LETS_UNKNOWN_THROUGH:
        return lambda variables: applied(word, left(variables), right(variables))
    join = _BINARY[word]

    def joined(variables: Variables) -> float:
        one, other = left(variables), right(variables)
        try:
            value = join(one, other)
        except (ZeroDivisionError, OverflowError, ValueError):
            return applied(word, one, other)
        return value if -LARGEST <= value <= LARGEST else applied(word, one, other)

    return joined


def _applied(name: str, inside: Formula) -> Formula:
    """As `function`, the usual case first."""
    work_out = _UNARY[name]

    def worked_out(variables: Variables) -> float:
        argument = inside(variables)
        try:
            value = work_out(argument)
        except (OverflowError, ValueError):
            return function(name, argument)
        return value if -LARGEST <= value <= LARGEST else function(name, argument)

    return worked_out


def believed(value: float, word: str) -> float:
    """The value; NotUnderstood if it is too large to be meant."""
    if abs(value) > LARGEST:
        raise NotUnderstood(f"{shown(word)} is too large a number")
    return value


def applied(word: str, left: float, right: float) -> float:
    """Two values joined by an operator.

    Raises:
        NotUnderstood: if that has no value, as a division by zero has none.
    """
    if math.isnan(left) or math.isnan(right):
        return UNKNOWN
    try:
        value = _BINARY[word](left, right)
    except ZeroDivisionError:
        raise NotUnderstood(f"{left:.6g} {word} {right:.6g} divides by zero") from None
    except (OverflowError, ValueError):
        raise NotUnderstood(f"{left:.6g} {word} {right:.6g} is too large a number") from None
    if isinstance(value, complex):
        raise NotUnderstood(f"{left:.6g} {word} {right:.6g} has no value")
    return believed(value, f"{left:.6g} {word} {right:.6g}")


def function(name: str, value: float) -> float:
    """A function of one value, angles in degrees.

    Raises:
        NotUnderstood: if it has no value there, as the root of a negative number has none.
    """
    if math.isnan(value):
        return UNKNOWN
    try:
        return believed(_UNARY[name](value), f"{name}[{value:.6g}]")
    except (ValueError, OverflowError):
        raise NotUnderstood(f"{name}[{value:.6g}] has no value") from None


def _modulo(left: float, right: float) -> float:
    return math.fmod(math.fmod(left, right) + abs(right), abs(right)) if right else left / right


def _half_up(value: float) -> float:
    return float(math.floor(abs(value) + 0.5)) * math.copysign(1.0, value)


_BINARY: Final[dict[str, Callable[[float, float], float]]] = {
    "**": operator.pow, "*": operator.mul, "/": operator.truediv, "MOD": _modulo, "+": operator.add,
    "-": operator.sub, "OR": lambda a, b: float(bool(a) or bool(b)), "AND": lambda a, b: float(bool(a) and bool(b)),
    "XOR": lambda a, b: float(bool(a) != bool(b))}
_UNARY: Final[dict[str, Callable[[float], float]]] = {
    "ABS": abs, "ACOS": lambda x: math.degrees(math.acos(x)), "ASIN": lambda x: math.degrees(math.asin(x)),
    "COS": lambda x: math.cos(math.radians(x)), "EXP": math.exp, "FIX": lambda x: float(math.floor(x)),
    "FUP": lambda x: float(math.ceil(x)), "LN": math.log, "ROUND": _half_up,
    "SIN": lambda x: math.sin(math.radians(x)), "SQRT": math.sqrt, "TAN": lambda x: math.tan(math.radians(x))}
