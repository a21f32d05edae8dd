"""Blocks of expressions, as in loops and subprograms: taken apart once, worked out one by one, laid down many at a
time by the reader of plain stretches. Whatever is odd in any way is left to the reader that goes block by block.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from firstoff.program.blocks import Step, Words, taken_apart
from firstoff.program.expressions import LAST_VARIABLE, Formula, Variables
from firstoff.program.flow import Flow, Steering, steering
from firstoff.program.modes import State
from firstoff.program.plain import FARTHEST, LETTERS, SMALLEST, Blocks, ready
from firstoff.program.tape import Place
from firstoff.program.words import Block, NotUnderstood
from firstoff.removal.moves import Moves

#: so many lines are kept taken apart by their place: more than any loop has
KEPT: Final = 4096
_NOT: Final = np.nan
_COLUMN: Final = {letter: column for column, letter in enumerate(LETTERS)}
_G: Final = _COLUMN["G"]
_F: Final = _COLUMN["F"]
_MODES: Final = frozenset({0.0, 1.0, 2.0, 3.0})


class Prepared(NamedTuple):
    """A line that may be carried out without its words.

    Fields:
        block: as it stands there.
        after: where the next line begins.
        numbers: of its words by the variables, each with its column; for a line that moves.
        variables: that are set, each with its value by the variables.
        steering: of IF, WHILE, GOTO, DO and END.
        plain: whether nothing in it depends on a variable.
    """

    block: Block
    after: Place
    numbers: tuple[tuple[int, Formula], ...] = ()
    variables: tuple[tuple[int, Formula], ...] = ()
    steering: Steering | None = None
    plain: bool = False


def prepared(block: Block, after: Place) -> Prepared | None:
    """A block ready to be carried out again and again; None where only the careful reader can."""
    if block.told or block.optional:
        return None
    steers = steering(block.text)
    if steers is not None:
        return Prepared(block, after, steering=steers)
    parts = taken_apart(block.text)
    if parts.why:
        return None
    plain = "#" not in block.text and "[" not in block.text
    steps = [step for step in parts.steps if step.letter != "N"]
    sets = [_set(step) for step in steps if step.number is not None]
    if sets:
        whole = tuple(one for one in sets if one is not None)
        return Prepared(block, after, variables=whole) if len(whole) == len(steps) else None
    numbers = tuple([(_COLUMN.get(step.letter, -1), step.value) for step in steps])
    columns = {column for column, _ in numbers}
    if len(columns) < len(numbers) or -1 in columns:
        return None
    return Prepared(block, after, numbers, plain=plain)


def _set(step: Step) -> tuple[int, Formula] | None:
    """Which variable a word sets, where its number is written out."""
    digits = step.text[1: step.text.index("=")]
    if step.number is None or not digits.isdigit() or not 1 <= int(digits) <= LAST_VARIABLE:
        return None
    return int(digits), step.value


@dataclass
class Rows:
    """Blocks worked out and not yet laid down.

    Fields:
        flow: that goes from block to block.
        variables: of the program.
        state: of the machine; true again after `taken`.
    """

    flow: Flow
    variables: Variables
    state: State

    def __post_init__(self) -> None:
        self.lines: dict[int, Prepared] = {}
        self._rows: list[list[float]] = []
        self._at: list[int] = []
        self._plain = 0

    def __len__(self) -> int:
        """How many wait."""
        return len(self._rows)

    def keep(self, here: Place, line: Prepared) -> None:
        """Keep a line of a loop or subprogram."""
        if len(self.lines) >= KEPT:
            self.lines.clear()
        self.lines[here.offset] = line

    def done(self, line: Prepared, here: Place) -> bool:
        """Carry out a line; False where nothing was done, since only the careful reader can."""
        flow, known = self.flow, self.variables
        try:
            if line.steering is not None:
                flow.place = line.after
                flow.counted(line.block.line)
                if not flow.over:
                    flow.steer(line.steering, line.block, here)
                return True
            if line.variables:
                values = [(number, formula(known)) for number, formula in line.variables]
                if known.asked:
                    return self._asked()
                flow.place = line.after
                flow.counted(line.block.line)
                for number, value in values:
                    known[number] = value
                return True
        except NotUnderstood:
            known.asked.clear()
            return False
        if line.numbers:
            return self._moved(line)
        flow.place = line.after
        flow.counted(line.block.line)
        return True

    def _asked(self) -> bool:
        self.variables.asked.clear()
        return False

    def _moved(self, line: Prepared) -> bool:
        self._plain = self._plain + 1 if line.plain else 0
        if self._plain >= SMALLEST or not (self._rows or ready(self.state)):
            return False        # a plain stretch is read faster as such
        row = [_NOT] * len(LETTERS)
        known = self.variables
        try:
            for column, formula in line.numbers:
                row[column] = value = formula(known)
                if not -FARTHEST <= value <= FARTHEST:
                    return self._asked()
        except NotUnderstood:
            return self._asked()
        if known.asked or row[_F] <= 0.0 or (row[_G] == row[_G] and row[_G] not in _MODES):
            return self._asked()
        self.flow.place = line.after
        self.flow.counted(line.block.line)
        if not self.flow.over:
            self._rows.append(row)
            self._at.append(line.block.line)
        return True

    def taken(self) -> tuple[Moves | None, list[Words]]:
        """Moves of the blocks that wait, up to one that is odd, and the words of those from there on; few are all
        odd, and none waits then. The state is moved on behind the moves; the words are still to be carried out.
        """
        rows, at = self._rows, self._at
        self._rows, self._at = [], []
        moves, count = None, 0
        if len(rows) >= SMALLEST:
            table = np.array(rows)
            blocks = Blocks({letter: table[:, k] for k, letter in enumerate(LETTERS)}, self.state)
            count = blocks.good()
            moves = blocks.moves(np.array(at, dtype=np.int64), count) if count else None
        return moves, [_words(row, line) for row, line in zip(rows[count:], at[count:], strict=True)]


def _words(row: list[float], line: int) -> Words:
    """A row as the careful reader has it."""
    words = Words(line)
    for letter, value in zip(LETTERS, row, strict=True):
        if letter == "G" and value == value:
            words.g["motion"] = round(value * 10.0)
        elif value == value:
            words.numbers[letter] = value
    return words
