"""A line of a sketch taken apart into numbers, limits, fits, threads and words; each knows where it stands.

Written by hand, with regular expressions: clauses come in any order, numbers stand before or behind their word
("6 wide", "deep 4"), and a message must point at the word and say what would be right in the trade's words.
A grammar library gives the first two no easier, and for the third speaks of its own terminals.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import NoReturn

from firstoff.part.sketch import UNITS, Size, Sketch, SketchError

LARGEST = 1e5                            # no part of a small shop is longer [mm]
_NUMBER = r"(?:\d+[ -]\d+/\d+|\d+/\d+|\d+\.\d*|\.\d+|\d+)"
_DECIMAL = r"(?:\d+\.\d*|\.\d+|\d+)"
_UNIT = r"(?:[ \t]*(?P<{}>mm\b|in\b|\"|deg\b|°))?"
_TOKEN = re.compile(
    rf"(?P<both>(?:±|\+/-|\+-)\s*(?P<width>{_NUMBER}){_UNIT.format('u1')})"
    rf"|(?P<two>(?:(?P<one>[+-]\s*{_DECIMAL})\s*/\s*(?P<other>[+-]?\s*{_DECIMAL})"
    rf"|(?P<nil>0)\s*/\s*(?P<less>[+-]\s*{_DECIMAL})){_UNIT.format('u2')})"
    r"|(?P<thread>[Mm]\d+(?:\.\d+)?(?:x\d+(?:\.\d+)?)?(?![\w.]))"
    r"|(?P<fit>(?:[A-HJ-NP-QS-WYZ]|[A-Z]{2}|[efghknp]|js)\d{1,2}(?![\w.]))"
    rf"|(?P<number>(?P<plain>[+-]?{_NUMBER}){_UNIT.format('u3')})"
    r"|(?P<word>[A-Za-z_]+)"
    r"|(?P<mark>[,;×])"
    r"|(?P<round>[Øø⌀])"
    r"|(?P<odd>\S)"
)
_KINDS = ("both", "two", "thread", "fit", "number", "word", "mark", "round", "odd")
_VALUE = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d+)[ -])?(?P<top>\d+)/(?P<bottom>\d+)|(?P<decimal>{_DECIMAL}))"
)


@dataclass(frozen=True)
class Token:
    """A piece of a line: its kind (both, two, thread, fit, number, word, mark), its text, its numbers as written."""

    kind: str
    text: str
    values: tuple[float, ...] = ()
    unit: str = ""


class Words:
    """The pieces of one line, taken one after another."""

    def __init__(self, line: str, number: int, sketch: Sketch) -> None:
        self.sketch, self.number, self.place = sketch, number, 0
        self.tokens: list[Token] = []
        self.tokens = [token for found in _TOKEN.finditer(line.partition("#")[0])
                       if (token := self._token(found)) is not None]

    def fail(self, what: str, right: str = "", at: str | None = None) -> NoReturn:
        """Say what is wrong with a word of this line: `at`; the last that was taken; its verb where `at` is ''."""
        word = at if at else self.tokens[0 if at == "" else max(self.place - 1, 0)].text if self.tokens else ""
        where = f"{self.sketch.file}, line {self.number}" + (f", at {word!r}" if word else "")
        raise SketchError(what, where=where, right=right, so_far=self.sketch)

    def _token(self, found: re.Match[str]) -> Token | None:
        kind = next(name for name in _KINDS if found[name] is not None)
        if kind == "round":
            return None
        if kind == "odd":
            self._refuse("is not understood", "numbers, words, commas and semicolons", found[0])
        written = {"both": (found["width"],), "number": (found["plain"],),
                   "two": (found["one"] or found["nil"], found["other"] or found["less"])}
        values = tuple(self._value(each or "0", found[0]) for each in written.get(kind, ()))
        unit = found["u1"] or found["u2"] or found["u3"] or ""
        return Token(kind, found[0], values, {'"': "in", "°": "deg"}.get(unit, unit))

    def _refuse(self, what: str, right: str, text: str) -> NoReturn:
        self.tokens = []
        self.fail(what, right, at=text)

    def _value(self, text: str, whole: str) -> float:
        found = _VALUE.fullmatch(text)
        if found is None:
            self._refuse("is no number", "a number like 4.5 or 1/4", whole)
        value = float(found["decimal"] or 0.0) + float(found["whole"] or 0.0)
        if found["bottom"]:
            if float(found["bottom"]) == 0.0:
                self._refuse("divides by nothing", "a fraction like 1/4", whole)
            value += float(found["top"]) / float(found["bottom"])
        if not value <= LARGEST:
            self._refuse("is too large a number", f"at most {LARGEST:g}", whole)
        return -value if found["sign"] == "-" else value

    @property
    def more(self) -> bool:
        """Whether anything is left."""
        return self.place < len(self.tokens)

    def peek(self, ahead: int = 0) -> Token:
        """The piece that comes next, or one with no text."""
        place = self.place + ahead
        return self.tokens[place] if place < len(self.tokens) else Token("end", "")

    def take(self) -> Token:
        """The next piece."""
        token = self.peek()
        self.place += token.kind != "end"
        return token

    def is_word(self, *words: str, ahead: int = 0) -> bool:
        """Whether the next piece is one of these words."""
        token = self.peek(ahead)
        return token.kind == "word" and token.text.lower() in words

    def skip(self, *words: str) -> bool:
        """Pass over one of these words, if it comes next."""
        if self.is_word(*words) or (self.peek().kind == "mark" and self.peek().text in words):
            self.place += 1
            return True
        return False

    def word(self, known: Iterable[str], what: str) -> str:
        """The next piece, one of the known words."""
        known = tuple(known)
        token = self.take()
        plain = token.text.lower()
        if token.kind != "word" or plain not in known:
            self.unknown(token, known, what)
        return plain

    def unknown(self, token: Token, known: Iterable[str], what: str) -> NoReturn:
        """A piece that should have been one of the known words."""
        known = tuple(known)
        near = get_close_matches(token.text.lower(), known, n=1, cutoff=0.6)
        right = f"did you mean {near[0]!r}?" if near else f"one of: {', '.join(known)}"
        if token.kind == "end":
            self.fail(f"the line ends where {what} should come", right)
        said = "is a number" if token.kind == "number" else f"{token.text!r} is not known"
        self.fail(f"{said} where {what} should come", right, at=token.text)

    def number_of(self, what: str, right: str) -> Token:
        """The next piece, which must be a number."""
        token = self.take()
        if token.kind != "number":
            said = f"{token.text!r} stands" if token.text else "the line ends"
            self.fail(f"{said} where the {what} should come", right, at=token.text or None)
        if self.peek().text == "," and self.peek(1).kind == "number" and what not in ("place", "end"):
            written = f"{token.text},{self.peek(1).text}"
            self.fail("a comma stands between two numbers", f"a point: {written.replace(',', '.')}", at=written)
        return token

    def length(self, what: str, least: float | None = 0.0) -> float:
        """A length [mm]; above `least`, where that is given."""
        token = self.number_of(what, f"a number in {self.sketch.unit}")
        if token.unit == "deg":
            self.fail(f"is an angle where the {what} should come", f"a number in {self.sketch.unit}", at=token.text)
        value = token.values[0] * UNITS[token.unit or self.sketch.unit]
        if least is not None and not value > least:
            said = "nothing" if value == 0.0 else "negative" if value < 0.0 else "too small"
            self.fail(f"the {what} is {said}", "a size above 0", at=token.text)
        if abs(value) > LARGEST:
            self.fail("is too large a number", f"at most {LARGEST:g} mm", at=token.text)
        return value

    def angle(self, what: str, low: float, high: float) -> float:
        """An angle between two others [degrees]."""
        token = self.number_of(what, "a number of degrees")
        self.skip("deg", "degrees")
        if token.unit not in ("", "deg") or not low < token.values[0] < high:
            self.fail(f"is no {what}", f"between {low:g} and {high:g} degrees", at=token.text)
        return token.values[0]

    def limits(self) -> tuple[float, float] | None:
        """Deviations (lower, upper), if they come next [mm]."""
        token = self.peek()
        if token.kind not in ("both", "two"):
            return None
        self.place += 1
        if token.unit == "deg":
            self.fail("is an angle where limits should come", "±0.05, +0.1/-0 or H7", at=token.text)
        scale = UNITS[token.unit or self.sketch.unit]
        ends = [value * scale for value in token.values]
        low, high = sorted(ends) if token.kind == "two" else (-ends[0], ends[0])
        after = self.peek()
        if not low < high and after.text.startswith(","):
            self.fail("has a comma: write the point, as in ±0.05", at=token.text)
        if not low < high:
            self.fail("leaves no room between the limits", "±0.05, +0.1/-0 or H7", at=token.text)
        return low, high

    def size(self, what: str, least: float | None = 0.0) -> Size:
        """A length with its limits or fit, if any."""
        value = self.length(what, least)
        fit = self.take().text if self.peek().kind == "fit" else ""
        limits = self.limits()
        if limits is None:
            return Size(value, fit=fit)
        if value + limits[0] <= 0.0 and value > 0.0:
            self.fail(f"the limits let the {what} be nothing", "limits narrower than the size")
        return Size(value, *limits, fit)
