"""Which block comes next: from line to line, into subprograms and back, round loops, to labels; never for ever."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final, NamedTuple

from firstoff.program.blocks import Words
from firstoff.program.expressions import Formula, Scanner, Variables, nothing
from firstoff.program.tape import Place, Tape
from firstoff.program.telling import Teller
from firstoff.program.words import KEPT, Block, NotUnderstood, keyword_at, shown

#: blocks that are gone through again, in subprograms and loops, before a program is taken for endless
MOST_AGAIN: Final = 200_000
#: subprograms within subprograms
DEPTH: Final = 100
MOST_CALLS: Final = 10**6
LAST_LABEL: Final = 10**12
LAST_LOOP: Final = 10**4
_NUMBERED: Final = re.compile(r"N\d+")
_THEN: Final = {"IF": "GOTO", "WHILE": "DO"}     #: what has to stand behind a condition


@dataclass
class Frame:
    """A subprogram that runs, or the main program: where it began, where it goes back to, its loops."""

    begin: Place
    back: Place | None
    left: int = 0
    loops: list[tuple[int, Place]] = field(default_factory=list)


class Steering(NamedTuple):
    """IF, WHILE, GOTO, DO or END, taken apart.

    Fields:
        word: which.
        start: where it stands in its block.
        number: of its label or loop, by the variables.
        condition: of IF and WHILE, by the variables.
        why: it cannot be read; empty where it can.
    """

    word: str
    start: int
    number: Formula
    condition: Formula | None = None
    why: str = ""


@lru_cache(maxsize=KEPT)
def steering(text: str) -> Steering | None:
    """What a block steers; None where it does not. Lines of loops come again and again, and are taken apart once."""
    at = _NUMBERED.match(text)
    start = at.end() if at else 0
    word = keyword_at(text, start)
    if not word:
        return None
    scanner = Scanner(text, Variables())
    scanner.at = start + len(word)
    try:
        return _taken_apart(word, start, scanner)
    except NotUnderstood as wrong:
        return Steering(word, start, nothing, None, wrong.what)


def _taken_apart(word: str, start: int, scanner: Scanner) -> Steering:
    condition, target = None, word
    if word in _THEN:
        target = _THEN[word]
        if scanner.peek() != "[":
            raise NotUnderstood("the condition wants brackets [ ]")
        condition = scanner.formula()
        if not scanner.eat(target):
            raise NotUnderstood(f"{word} wants [ ] and then {target} with a number")
    elif word not in ("GOTO", "END"):
        raise NotUnderstood("there is no IF or WHILE before it")
    number = scanner.whole(target, LAST_LABEL if target == "GOTO" else LAST_LOOP)
    return Steering(word, start, number, condition)


class Flow:
    """Walks over a tape."""

    def __init__(self, tape: Tape, variables: Variables, tell: Teller) -> None:
        self.tape, self.variables, self.tell = tape, variables, tell
        self.place = Place(0, 1)
        self.frames = [Frame(self.place, None)]
        self.again = 0
        self.over = False

    @property
    def at_end(self) -> bool:
        """Whether the tape has no more lines here."""
        return self.place.offset >= len(self.tape)

    def stop(self, line: int, why: str) -> None:
        """Go no further; what would come is told as not read."""
        self.tell(line, f"{why}; what would come after is not read")
        self.over = True

    def counted(self, line: int, blocks: int = 1) -> None:
        """Count blocks that are gone through again."""
        if self.returns:
            self.again += blocks
            if self.again > MOST_AGAIN:
                self.stop(line, f"after {MOST_AGAIN} blocks in subprograms and loops it is still not at its end: "
                                "endless, or too long to follow")

    # --- IF, WHILE, GOTO ------------------------------------------------------------------------------

    def steered(self, block: Block, here: Place) -> bool:
        """Carry out IF, WHILE, GOTO, DO or END; False where the block is none of these."""
        found = steering(block.text)
        if found is None:
            return False
        self.steer(found, block, here)
        return True

    def steer(self, found: Steering, block: Block, here: Place) -> None:
        """Carry out what was found in a block."""
        try:
            self._steer(found, block, here)
        except NotUnderstood as wrong:
            self.stop(block.line, f"{shown(block.text[found.start:])}: {wrong.what}")

    @property
    def returns(self) -> bool:
        """Whether what comes now may come again: in a loop or a subprogram."""
        return len(self.frames) > 1 or bool(self.frames[-1].loops)

    def _steer(self, found: Steering, block: Block, here: Place) -> None:
        if found.why:
            raise NotUnderstood(found.why)
        true = found.condition is None or self._true(found.condition)
        if found.word == "WHILE":
            self._loop(int(found.number(self.variables)), true, block.line, here)
        elif found.word == "END":
            self._end(int(found.number(self.variables)), block.line)
        elif true:
            self._goto(int(found.number(self.variables)), block, here)

    def _true(self, condition: Formula) -> bool:
        value = condition(self.variables)
        self.variables.asked.clear()
        if value != value:
            raise NotUnderstood("whether it is met depends on a variable that this program never set")
        return value != 0.0

    def _goto(self, number: int, block: Block, here: Place) -> None:
        there = self.tape.labelled(number, here)
        if len(there) != 1:
            told = "there is no" if not there else "there are several blocks"
            raise NotUnderstood(f"{told} N{number}")
        if there[0].line <= block.line:
            self.again += block.line - there[0].line
            self.frames[-1].loops.append((0, there[0]))
            self.counted(block.line)
            self.frames[-1].loops.pop()
        self.place = there[0]

    def _loop(self, number: int, true: bool, line: int, here: Place) -> None:
        loops = self.frames[-1].loops
        while any(found == number for found, _ in loops):
            loops.pop()
        if true:
            loops.append((number, here))
            return
        after = self.tape.after_end(number, here)
        if after is None:
            raise NotUnderstood(f"there is no END{number}")
        self.place = after
        self.counted(line)

    def _end(self, number: int, line: int) -> None:
        loops = self.frames[-1].loops
        while loops and loops[-1][0] != number:
            loops.pop()
        if not loops:
            raise NotUnderstood(f"there is no WHILE with DO{number} that runs")
        self.place = loops[-1][1]
        self.counted(line)

    # --- M98, M99 -------------------------------------------------------------------------------------

    def called(self, words: Words) -> None:
        """Carry out M98 and M99, and stop where another program begins."""
        code = words.m.get("stop")
        if code == 98:
            self._call(words)
        elif code == 99:
            self._return(words.line)

    def _call(self, words: Words) -> None:
        number, times = words.take("P"), words.take("L")
        times = 1.0 if times is None else times
        if number is None or number != number or number != round(number):
            words.tell("M98 wants P, the number of a subprogram: what it would cut can't be said", "call")
        elif times != times or times != round(times) or not 0 <= times <= MOST_CALLS:
            words.tell(f"M98 L{times:.6g} is no number of times", "call")
        elif len(self.frames) > DEPTH:
            self.stop(words.line, f"more than {DEPTH} subprograms within each other")
        else:
            there = self.tape.subprogram(int(number))
            if len(there) == 1:
                self._enter(there[0], int(times))
                return
            told = "there is no" if not there else "there are several"
            words.tell(f"M98 P{int(number)}: {told} O{int(number)} in this file: what it would cut can't be said",
                       "call")
        words.lasting = words.partly = True

    def _enter(self, begin: Place, times: int) -> None:
        if times:
            self.frames.append(Frame(begin, self.place, times - 1))
            self.place = begin

    def _return(self, line: int) -> None:
        frame = self.frames[-1]
        if frame.back is None:
            self.stop(line, "M99 in the main program: there is nothing to go back to")
            return
        self.counted(line)
        frame.loops.clear()
        if frame.left:
            frame.left -= 1
            self.place = frame.begin
        else:
            self.place = frame.back
            self.frames.pop()

    def another_begins(self, words: Words, here: Place) -> bool:
        """Whether an O word begins another program than the one that runs."""
        frame = self.frames[-1]
        if not words.program or here == frame.begin:
            return False
        if frame.back is None and not self._cut_before(here):
            frame.begin = here
            return False
        if frame.back is None:
            self.stop(words.line, f"O{words.program} begins before M2 or M30 ended the main program")
        else:
            self.stop(words.line, f"O{words.program} begins before M99 ended the subprogram")
        return True

    def _cut_before(self, here: Place) -> bool:
        """Whether anything but comments and % stands before a place."""
        begin = self.tape.data[: min(here.offset, 65536)].decode("latin-1")
        bare = re.sub(r"\([^()\n]*\)|;[^\n]*|[%\s]", "", begin)
        return bool(bare) or here.offset > 65536
