"""Plain stretches of a program, many blocks at a time: G0 to G3 with X Y Z I J K F N, absolute, a minute's feed.

Whatever is not plain, or is odd in any way, is left to the reader that goes block by block; both give the same
moves to the last bit, and a test holds that.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from firstoff.program.arcs import CLOSES, NEARLY_ONE_POINT
from firstoff.program.modes import State
from firstoff.program.tape import Place, Tape
from firstoff.removal.moves import AXES, Doubt, Floats, Moves

Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

SMALLEST: Final = 16             #: fewer blocks than this are not worth it
FIRST_WINDOW, LARGEST_WINDOW = 1 << 14, 1 << 20
FIRST_STRETCH, LARGEST_STRETCH = 64, 1 << 15
FARTHEST: Final = 3e4            #: written numbers larger than this are left to the careful reader
LETTERS: Final = "GXYZIJKFN"     #: columns of a plain stretch
_COMMENT: Final = re.compile(rb"\([^()\n]*\)|;[^\n]*")
_BLANK: Final = b" \t\r\x0b\x0c"
_DIGIT, _DOT, _SIGN, _LETTER, _LINE = 1, 2, 3, 4, 5


def _classes() -> NDArray[np.uint8]:
    table = np.zeros(256, dtype=np.uint8)
    for signs, kind in ((b"0123456789", _DIGIT), (b".", _DOT), (b"+-", _SIGN), (b"\n", _LINE)):
        table[list(signs)] = kind
    table[65:91] = _LETTER
    return table


_CLASS: Final = _classes()
_BLANKED: Final = bytes(32 if _CLASS[sign] in (_LETTER, _LINE) else sign for sign in range(256))


@dataclass(frozen=True)
class Window:
    """Some whole lines of a tape, taken apart: a column for each letter, NaN where it does not stand.

    Fields:
        begin: where the first line begins.
        offsets: where each line begins, and where the last ends, shape (n + 1,).
        columns: values of each letter, shape (n,) each.
        breaks: lines that are not plain, in order.
    """

    begin: Place
    offsets: Ints
    columns: dict[str, Floats]
    breaks: Ints

    @property
    def end(self) -> Place:
        """Behind the last line."""
        return self.place(len(self.offsets) - 1)

    def place(self, index: int) -> Place:
        """Where a line begins."""
        return Place(int(self.offsets[index]), self.begin.line + index)


class Stretch(NamedTuple):
    """Moves of a plain stretch, where it ends, and how many blocks it had."""

    moves: Moves
    after: Place
    blocks: int


def window_at(tape: Tape, begin: Place, size: int) -> Window | None:
    """The whole lines from a place on that fit into so many bytes; None if not one does."""
    raw = tape.data[begin.offset: begin.offset + size]
    if begin.offset + len(raw) < len(tape):
        raw = raw[: raw.rfind(b"\n") + 1]
    if not raw:
        return None
    ends = np.flatnonzero(np.frombuffer(raw, dtype=np.uint8) == 10) + 1
    if not len(ends) or ends[-1] != len(raw):
        ends = np.append(ends, len(raw))
        raw += b"\n"
    offsets = np.concatenate(([0], ends)) + begin.offset
    if b"(" in raw or b";" in raw:
        raw = _COMMENT.sub(b"", raw)
    columns, plain = _taken_apart(raw.upper().translate(None, _BLANK), len(ends))
    return Window(begin, offsets, columns, np.flatnonzero(~plain))


def _taken_apart(text: bytes, lines: int) -> tuple[dict[str, Floats], Flags]:
    """Columns of letters, and which lines are plain."""
    signs = np.frombuffer(text, dtype=np.uint8)
    kinds = _CLASS[signs]
    ends = np.flatnonzero(kinds == _LINE)
    plain = _well_formed(kinds, ends, lines)
    if not plain.all():
        signs = signs.copy()
        signs[np.repeat(~plain, np.diff(np.concatenate(([-1], ends)))) & (kinds != _LINE)] = 32
        kinds = _CLASS[signs]
    at = np.flatnonzero(kinds == _LETTER)
    values = np.fromstring(signs.tobytes().translate(_BLANKED), sep=" ") if len(at) else np.zeros(0)
    if len(values) != len(at):
        return {letter: np.full(lines, np.nan) for letter in LETTERS}, np.zeros(lines, dtype=np.bool_)
    odd = np.flatnonzero((kinds == _DOT) | (kinds == _SIGN))
    if len(at) and len(odd):            # a block's number has digits alone
        odd = odd[signs[at][np.searchsorted(at, odd) - 1] == ord("N")]
        plain[np.searchsorted(ends, odd)] = False
    return _columns(signs[at], values, np.searchsorted(ends, at), plain), plain


def _well_formed(kinds: NDArray[np.uint8], ends: Ints, lines: int) -> Flags:
    """Which lines are letters, each with one number of digits, at most one point, and a sign in front or none."""
    before = np.concatenate(([_LINE], kinds[:-1]))
    wrong = kinds == 0
    wrong |= (before == _LINE) & (kinds != _LETTER) & (kinds != _LINE)
    wrong |= (kinds == _SIGN) & (before != _LETTER)
    wrong |= (before == _LETTER) & ((kinds == _LETTER) | (kinds == _LINE))
    wrong |= (before == _SIGN) & (kinds != _DIGIT) & (kinds != _DOT)
    after = np.concatenate((kinds[1:], [_LINE]))
    wrong |= (kinds == _DOT) & (before != _DIGIT) & (after != _DIGIT)
    dots = np.flatnonzero(kinds == _DOT)
    word = np.cumsum(kinds == _LETTER)[dots]
    twice = dots[1:][word[1:] == word[:-1]]
    plain = np.ones(lines, dtype=np.bool_)
    plain[np.searchsorted(ends, np.flatnonzero(wrong))] = False
    plain[np.searchsorted(ends, twice)] = False
    return plain


def _columns(letters: NDArray[np.uint8], values: Floats, lines: Ints, plain: Flags) -> dict[str, Floats]:
    """A column for each letter; lines with other letters, other G words or twice the same are marked not plain."""
    columns, known = {}, np.zeros(len(letters), dtype=np.bool_)
    large = np.abs(values) > FARTHEST
    for letter in LETTERS:
        which = letters == ord(letter)
        known |= which
        own, numbers = lines[which], values[which]
        column = np.full(len(plain), np.nan)
        column[own] = numbers
        columns[letter] = column
        if letter == "N":
            large &= ~which
        else:
            plain[own[1:][own[1:] == own[:-1]]] = False
    modes = columns["G"]
    with np.errstate(invalid="ignore"):
        plain &= np.isnan(modes) | (modes == 0.0) | (modes == 1.0) | (modes == 2.0) | (modes == 3.0)
        plain &= np.isnan(columns["F"]) | (columns["F"] > 0.0)
    plain[lines[~known | large]] = False
    return columns


def _last(values: Floats, first: float) -> Floats:
    """Each value, or where it is NaN the last before it; `first` before any."""
    at = np.maximum.accumulate(np.where(np.isnan(values), -1, np.arange(len(values))))
    return np.where(at < 0, first, values[at])


class Plain:
    """Looks for plain stretches of a tape."""

    def __init__(self, tape: Tape) -> None:
        self.tape = tape
        self._window: Window | None = None
        self._size = FIRST_WINDOW
        self._line, self._run = 0, 0
        self._most, self._rest = FIRST_STRETCH, 0

    def stretch(self, place: Place, state: State) -> Stretch | None:
        """The plain stretch that begins at a place, its moves made and the state moved on; None if none does."""
        self._run = self._run + 1 if place.line == self._line + 1 else 0
        self._line = place.line
        if self._rest > 0 or not ready(state):
            self._rest -= self._rest > 0
            return None
        index = self._index(place)
        if index is None or self._window is None:
            return None
        breaks = self._window.breaks
        at = int(np.searchsorted(breaks, index))
        stop = int(breaks[at]) if at < len(breaks) else len(self._window.offsets) - 1
        whole = stop - index
        stop = min(stop, index + self._most)
        if stop - index < SMALLEST:
            self._rest = max(stop - index, 1)
            return None
        return self._made(state, index, stop, whole)

    def _index(self, place: Place) -> int | None:
        """The line of the window at a place; a new window where the old one is left behind."""
        window = self._window
        if window is not None and window.begin.offset <= place.offset < window.end.offset:
            index = place.line - window.begin.line
            return index if window.offsets[index] == place.offset else None
        follows = window is not None and place.offset == window.end.offset
        if not follows and self._run < SMALLEST:
            return None
        self._size = min(self._size * 4, LARGEST_WINDOW) if follows else FIRST_WINDOW
        self._window = window_at(self.tape, place, self._size)
        return 0

    def _made(self, state: State, index: int, stop: int, whole: int) -> Stretch | None:
        assert self._window is not None
        columns = {letter: column[index:stop] for letter, column in self._window.columns.items()}
        blocks, lines = Blocks(columns, state), np.arange(index, stop) + self._window.begin.line
        count = blocks.good()
        if count < min(SMALLEST, whole):
            self._rest, self._most = count + 1, FIRST_STRETCH
            return None
        self._most = min(self._most * 4, LARGEST_STRETCH) if count == stop - index else FIRST_STRETCH
        after = self._window.place(index + count)
        self._line = after.line - 1
        return Stretch(blocks.moves(lines, count), after, count)


def ready(state: State) -> bool:
    """Whether plain blocks mean in this state what they mean mostly."""
    return (all(state.known) and state.absolute and state.feed_mode == 940 and state.feed is not None
            and state.radius == 400 and state.turned is None and not state.half_turned
            and not state.centre_absolute and state.motion in (0, 10, 20, 30))


class Blocks:
    """Plain blocks with all that stays in force filled in."""

    def __init__(self, columns: dict[str, Floats], state: State) -> None:
        self.state, self.columns = state, columns
        self.axes = AXES[state.plane]
        scale, offset = state.scale, state.offset
        self.mode = _last(columns["G"], (state.motion or 0) / 10.0)
        self.feed = _last(columns["F"] * scale / 60.0, state.feed or 0.0)
        self.end = np.stack([_last(columns[letter] * scale + offset[axis], state.at[axis])
                             for axis, letter in enumerate("XYZ")], axis=1)
        self.start = np.vstack((np.array([state.at]), self.end[:-1]))
        self.straight = ~np.isnan(columns["X"]) | ~np.isnan(columns["Y"]) | ~np.isnan(columns["Z"])
        self.centred = ~np.isnan(columns["I"]) | ~np.isnan(columns["J"]) | ~np.isnan(columns["K"])
        self.centre = self.end.copy()
        arcs = np.flatnonzero((self.mode >= 2.0) & self.centred)
        for axis in self.axes[:2]:
            out = np.nan_to_num(columns["IJK"[axis]][arcs]) * scale
            self.centre[arcs, axis] = ((self.start[arcs, axis] - offset[axis]) + out) + offset[axis]

    def good(self) -> int:
        """How many blocks from the first on have nothing odd."""
        odd = self.centred & (self.mode < 2.0)
        arcs = np.flatnonzero((self.mode >= 2.0) & (self.straight | self.centred))
        odd[arcs] = self._odd_arcs(arcs)
        first = np.flatnonzero(odd)
        return int(first[0]) if len(first) else len(odd)

    def _odd_arcs(self, arcs: Ints) -> Flags:
        plane = list(self.axes[:2])
        first, second, across = ("IJK"[axis] for axis in self.axes)
        start, end, centre = (side[arcs][:, plane] for side in (self.start, self.end, self.centre))
        out, back, chord = (np.hypot(*(a - b).T) for a, b in ((start, centre), (end, centre), (start, end)))
        odd: Flags = np.isnan(self.columns[first][arcs]) & np.isnan(self.columns[second][arcs])
        odd |= np.nan_to_num(self.columns[across][arcs]) != 0.0
        odd |= (np.abs(out - back) > 0.99 * CLOSES) | (np.maximum(out, back) <= 1.01 * CLOSES)
        odd |= (chord > 0.0) & (chord < 1.01 * NEARLY_ONE_POINT)
        return odd

    def moves(self, lines: Ints, count: int) -> Moves:
        """The moves of the first blocks; the state is moved on behind them."""
        state = self.state
        moving = np.flatnonzero((self.straight | self.centred)[:count])
        mode = self.mode[moving]
        n = len(moving)
        doubt = state.doubt | (Doubt.SPINDLE if state.direction and state.speed is None else Doubt(0))
        made = Moves(
            line=lines[moving], kind=mode.astype(np.int8), start=self.start[moving], end=self.end[moving],
            centre=self.centre[moving], plane=np.full(n, state.plane, dtype=np.int8),
            feed=np.where(mode == 0.0, 0.0, self.feed[moving]), spindle=np.full(n, state.spindle),
            tool=np.full(n, state.tool, dtype=np.int64), zero=np.full(n, state.zero, dtype=np.int8),
            wait=np.zeros(n), exact=np.full(n, state.exact != 640), doubt=np.full(n, doubt, dtype=np.uint16))
        last = count - 1
        state.at, state.feed = self.end[last].tolist(), float(self.feed[last])
        state.motion = round(self.mode[last] * 10.0)
        return made
