"""A block as letters with values: read once, each word used once, what nobody uses is told."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final, NamedTuple

from firstoff.program.expressions import LAST_VARIABLE, Formula, Scanner, Variables
from firstoff.program.modes import END_OF_CYCLE, GROUP_OF_G, GROUP_OF_M, TOGETHER, g_text
from firstoff.program.words import KEPT, Block, NotUnderstood, shown

LETTERS: Final = frozenset("DFHIJKLPQRSTXYZ")
#: letters of axes that are no straight X Y Z: what they do moves the tip, and nobody here follows it
OTHER_AXES: Final = {"A": "a rotary axis", "B": "a rotary axis", "C": "a rotary axis", "U": "another axis",
                     "V": "another axis", "W": "another axis"}
POINT: Final = "a comma; the decimals of a number stand behind a point"
_COMMA: Final = re.compile(r",\d*")
_DIGITS: Final = re.compile(r"\d+")


@dataclass
class Words:
    """The words of one block.

    Fields:
        line: where it stands.
        numbers: value of each letter; NaN where nobody knows it.
        g: code of each group of G words.
        m: code of each group of M words.
        told: what is wrong, with the kind of it.
        program: its O number, 0 without.
        partly: a word of it was not understood: its own moves are in doubt.
        lasting: what was not understood may change all that follows.
        broken: it could not be read to its end: nothing of it is done.
    """

    line: int
    numbers: dict[str, float] = field(default_factory=dict)
    g: dict[str, int] = field(default_factory=dict)
    m: dict[str, int] = field(default_factory=dict)
    told: list[tuple[str, str]] = field(default_factory=list)
    program: int = 0
    partly: bool = False
    lasting: bool = False
    broken: bool = False
    used: set[str] = field(default_factory=set)

    def take(self, letter: str) -> float | None:
        """The value of a letter, which is then used; None where it is not there."""
        self.used.add(letter)
        return self.numbers.get(letter)

    def has(self, letters: str) -> bool:
        """Whether one of these letters is there."""
        return any(letter in self.numbers for letter in letters)

    def tell(self, what: str, kind: str = "", *, partly: bool = True) -> None:
        """Note what is wrong; `partly` where the block's own moves are in doubt for it."""
        self.told.append((what, kind))
        self.partly = self.partly or partly

    def leftovers(self) -> list[str]:
        """Letters that nothing in the block used."""
        return [letter for letter in self.numbers if letter not in self.used]


class Step(NamedTuple):
    """One word of a block, taken apart.

    Fields:
        text: as it is written.
        letter: of it; # for a variable that is set.
        value: what its value is by the variables.
        number: of a variable that is set, by the variables; None of a word.
    """

    text: str
    letter: str
    value: Formula
    number: Formula | None = None


class Parts(NamedTuple):
    """A block taken apart: its words up to one that cannot be read, that word, and why."""

    steps: tuple[Step, ...]
    bad: str = ""
    why: str = ""


@lru_cache(maxsize=KEPT)
def taken_apart(text: str) -> Parts:
    """The words of a block; lines of loops and subprograms come again and again, and are taken apart once."""
    steps: list[Step] = []
    scanner = Scanner(text, Variables())
    start = before = 0
    while not scanner.done:
        before, start = start, scanner.at
        try:
            steps.append(_step(scanner))
        except NotUnderstood as wrong:
            comma = _COMMA.match(text, start) or _COMMA.match(text, scanner.at)
            if comma:
                return Parts(tuple(steps), text[before if comma.start() == start else start: comma.end()], POINT)
            return Parts(tuple(steps), text[start: max(scanner.at + 1, start + 2)], wrong.what)
    return Parts(tuple(steps))


def _step(scanner: Scanner) -> Step:
    letter, start = scanner.peek(), scanner.at
    scanner.at += 1
    number: Formula | None = None
    if letter == "#":
        number = scanner.whole("#", LAST_VARIABLE)
        if not scanner.eat("="):
            raise NotUnderstood("a variable wants = and a value here")
    elif not ("A" <= letter <= "Z"):
        raise NotUnderstood("no word begins like this")
    value = _number(scanner, letter) if letter in "NO" else scanner.formula()
    return Step(scanner.text[start: scanner.at], letter, value, number)


def _number(scanner: Scanner, letter: str) -> Formula:
    """The number of a block or of a program: digits, as many as there are."""
    found = _DIGITS.match(scanner.text, scanner.at)
    if found is None:
        raise NotUnderstood(f"there is no number after {letter}")
    scanner.at = found.end()
    if letter == "N" and scanner.peek() == ".":
        raise NotUnderstood("the number of a block is a whole one")
    number = float(found[0][-15:])
    return lambda _: number


def read_words(block: Block, variables: Variables) -> Words:
    """The words of a block, its variables set after all its values were read."""
    words, parts = Words(block.line), taken_apart(block.text)
    for what in block.told:
        words.tell(what, "comment", partly=False)
    bad, why = parts.bad, parts.why
    set_later: list[tuple[int, float]] = []
    for step in parts.steps:
        try:
            _carry_out(step, words, variables, set_later)
        except NotUnderstood as wrong:
            bad, why = step.text, wrong.what
            break
        if variables.asked:
            asked = ", ".join(f"#{number}" for number in sorted(variables.asked))
            words.tell(f"{shown(step.text)}: {asked} was never set in this program, so its value can't be said",
                       f"variable {asked}", partly=False)
            variables.asked.clear()
    if why:
        words.tell(f"{shown(bad)}: {why}; the rest of the block is not read", "broken")
        words.broken = words.lasting = True
    for number, value in set_later:
        variables[number] = value
    return words


def _carry_out(step: Step, words: Words, variables: Variables, set_later: list[tuple[int, float]]) -> None:
    value = step.value(variables)
    if step.number is not None:
        set_later.append((int(step.number(variables)), value))
    elif step.letter == "O":
        words.program = int(value)
    elif step.letter != "N":
        _keep(words, step.letter, value, step.text)


def _keep(words: Words, letter: str, value: float, word: str) -> None:
    if letter == "G":
        _keep_g(words, value, word)
    elif letter == "M":
        _keep_m(words, value, word)
    elif letter in OTHER_AXES:
        words.tell(f"{shown(word)}: {OTHER_AXES[letter]}, which is not followed: where the tool cuts from here on "
                   "can't be said", f"letter {letter}")
        words.lasting = True
    elif letter not in LETTERS:
        words.tell(f"{shown(word)}: {letter} has no meaning here", f"letter {letter}")
    elif letter in words.numbers:
        raise NotUnderstood(f"{letter} stands twice in the block")
    else:
        words.numbers[letter] = value


def _keep_g(words: Words, value: float, word: str) -> None:
    code = -1 if math.isnan(value) else round(value * 10.0)
    group = GROUP_OF_G.get(code) if abs(code - value * 10.0) < 1e-3 else None
    if group is None:
        words.tell(f"{shown(word)} is not understood: what depends on it can't be said from here on",
                   f"word {shown(word)}")
        words.lasting = True
    elif words.g.get(group, code) == END_OF_CYCLE:
        words.g[group] = code           # G80 G0: the cycle ends, and G0 it is
    elif code == END_OF_CYCLE and group in words.g:
        pass
    elif words.g.get(group, code) != code:
        raise NotUnderstood(f"it excludes {g_text(words.g[group])} in the same block")
    else:
        words.g[group] = code


def _keep_m(words: Words, value: float, word: str) -> None:
    code = -1 if math.isnan(value) else round(value)
    group = GROUP_OF_M.get(code) if abs(code - value) < 1e-3 else None
    if group is None:
        words.tell(f"{shown(word)} is not understood: what the machine does there can't be said",
                   f"word {shown(word)}", partly=False)
        return
    other = words.m.get(group, code)
    if other != code and {other, code} != TOGETHER:
        raise NotUnderstood(f"it excludes M{other} in the same block")
    words.m[group] = code
