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
from firstoff.program.tape import Tape, open_tape
from firstoff.program.telling import Teller
from firstoff.program.track import CHUNK, Track
from firstoff.program.words import Told, block_of
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
            if self.plain is not None and self.machine.beside is None:
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
            if len(self.track) >= CHUNK:
                yield self.track.taken()
                self.tape.passed(flow.place.offset)
        self._ended()
        self.machine.finish()
        if len(self.track):
            yield self.track.taken()

    def _one(self) -> None:
        """Carry out the block at the place where the flow is."""
        flow = self.flow
        here = flow.place
        raw, flow.place = self.tape.line_at(here)
        block = block_of(raw, here.line)
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
