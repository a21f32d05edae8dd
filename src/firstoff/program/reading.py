"""A program as moves, in chunks: plain stretches many blocks at a time, all else block by block."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from firstoff.program.blocks import read_words
from firstoff.program.expressions import Variables
from firstoff.program.flow import Flow
from firstoff.program.machine import Machine
from firstoff.program.modes import State
from firstoff.program.plain import Plain
from firstoff.program.rows import Rows, prepared
from firstoff.program.tape import Place, Tape, open_tape
from firstoff.program.telling import Teller
from firstoff.program.track import CHUNK, Track
from firstoff.program.words import Block, Told, block_of
from firstoff.removal.moves import Doubt, Moves

Unit = Literal["mm", "in"]


class Reading:
    """One pass over a program. Iterate over `chunks` first; then the rest is known.

    Args:
        tape: the program.
        unit: of lengths where the program does not tell one itself.
        cutter: diameter of the cutter, for G41 and G42 [mm]; None where nobody said.
        fast: whether plain stretches are read many blocks at a time.
    """

    def __init__(
        self, tape: Tape, unit: Unit | None = None, *, cutter: float | None = None, fast: bool = True
    ) -> None:
        self.tape, self.tell, self.track = tape, Teller(), Track()
        self.state = State(unit=unit)
        self.asked = unit
        if unit is not None:
            self.state.doubt &= ~Doubt.UNIT
        self.variables = Variables()
        self.flow = Flow(tape, self.variables, self.tell)
        self.machine = Machine(self.state, self.track, self.tell, cutter)
        self.plain = Plain(tape) if fast else None
        self.rows = Rows(self.flow, self.variables, self.state) if fast else None
        self._ready: list[Moves] = []
        self.optional = False

    @property
    def unit(self) -> str | None:
        """What the program says of itself, else what the caller said."""
        return self.state.unit

    @property
    def told(self) -> tuple[Told, ...]:
        """What a person should know, by line."""
        return self.tell.all()

    def chunks(self) -> Iterator[Moves]:
        """The moves, in order, some thousand at a time."""
        flow, state = self.flow, self.state
        while not (flow.over or flow.at_end or state.ended):
            if self.rows is not None and self._again():
                continue
            if self.plain is not None and self.machine.beside is None and not self.rows:
                stretch = self.plain.stretch(flow.place, state)
                if stretch is not None:
                    if len(self.track):
                        yield self.track.taken()
                    yield stretch.moves
                    flow.place = stretch.after
                    self.tape.passed(flow.place.offset)
                    flow.counted(stretch.after.line, stretch.blocks // 16)
                    continue
            self._one()
            if self._ready:
                yield from self._handed_on()
            if len(self.track) >= CHUNK:
                yield self.track.taken()
                self.tape.passed(flow.place.offset)
        self._lay()
        yield from self._handed_on()
        self._ended()
        self.machine.finish()
        if len(self.track):
            yield self.track.taken()

    def _again(self) -> bool:
        """Carry out the block at the place of the flow as a row; False where it is not known here as one."""
        rows, here = self.rows, self.flow.place
        line = rows.lines.get(here.offset) if rows is not None and len(rows) < CHUNK else None
        return line is not None and rows is not None and self.machine.beside is None and rows.done(line, here)

    def _lay(self) -> None:
        """Lay down the rows that wait."""
        if self.rows:
            moves, words = self.rows.taken()
            if moves is not None:
                self._ready += [self.track.taken(), moves] if len(self.track) else [moves]
            for one in words:
                self.machine.do(one)

    def _handed_on(self) -> Iterator[Moves]:
        ready, self._ready = self._ready, []
        yield from ready

    def _one(self) -> None:
        """Carry out the block at the place where the flow is."""
        flow = self.flow
        here = flow.place
        raw, flow.place = self.tape.line_at(here)
        block = block_of(raw, here.line)
        if self._as_row(block, here):
            return
        self._lay()
        if block.optional and not self.optional:
            self.optional = True
            self.tell(block.line, "/: blocks that can be left out are read here, as with the switch off")
        flow.counted(block.line)
        if flow.over or flow.steered(block, here):
            for what in block.told:
                self.tell(block.line, what)
            return
        words = read_words(block, self.variables)
        if flow.another_begins(words, here):
            return
        if not words.broken:
            flow.called(words)
        self.machine.do(words)

    def _as_row(self, block: Block, here: Place) -> bool:
        """Carry out a block of a loop or of expressions as a row; False where it has to be read with care."""
        rows, flow = self.rows, self.flow
        if rows is None or self.machine.beside is not None or len(rows) >= CHUNK:
            return False
        if not (rows or flow.returns or "#" in block.text or "[" in block.text):
            return False
        line = prepared(block, flow.place)
        if line is None or not rows.done(line, here):
            return False
        if flow.returns:
            rows.keep(here, line)
        return True

    def _ended(self) -> None:
        if not self.state.ended and not self.flow.over:
            self.tell(self.flow.place.line - 1, "the program ends without M2 or M30: is the file whole?")


def read(path: Path, unit: Unit | None = None, *, cutter: float | None = None, fast: bool = True) -> Reading:
    """Open a program to be read.

    Args:
        path: the file.
        unit: of lengths where the program does not tell one itself.
        cutter: diameter of the cutter, for G41 and G42 [mm].
        fast: whether plain stretches are read many blocks at a time.

    Raises:
        FileError: if it is missing, empty or no text.
    """
    return Reading(open_tape(path), unit, cutter=cutter, fast=fast)
