"""What the machine does at each block: modes first, then moves, then stops, in the order of NISTIR 6556."""

from __future__ import annotations

import math
from typing import Final

from firstoff.program import cycles, settings
from firstoff.program.arcs import Circle, by_radius, closing
from firstoff.program.beside import Beside
from firstoff.program.blocks import Words
from firstoff.program.modes import CYCLES, END_OF_CYCLE, State, X, Y, Z, g_text
from firstoff.program.telling import Teller
from firstoff.program.track import Track
from firstoff.removal.moves import AXES, CERTAIN, Doubt, Kind, Move, Vector

#: farther than this from zero nothing is meant [mm]
REACH: Final = 1e6
#: ends of an arc nearer than this are one point: what turning the axes adds in rounding [mm]
ROUNDING: Final = 1e-9
_AXES: Final = "XYZ"
_CENTRES: Final = "IJK"
#: G words that use the axis words of their block, whatever else moves
_TAKES_AXES: Final = frozenset({100, 280, 300, 520, 920})


class Machine:
    """Carries out blocks on a state, and lays down the moves that they make."""

    def __init__(self, state: State, track: Track, tell: Teller, cutter: float | None = None) -> None:
        self.state, self.track, self.tell, self.cutter = state, track, tell, cutter
        self.beside: Beside | None = None

    def do(self, words: Words) -> None:
        """Carry out one block."""
        if words.lasting:
            self.state.doubt |= Doubt.UNREAD
        if words.broken:
            self.state.lost()
        elif words.numbers or words.g or words.m or words.told:
            self._done(words)
        for what, kind in words.told:
            self.tell(words.line, what, kind)

    def _done(self, words: Words) -> None:
        settings.apply(self, words)
        once = words.g.get("once")
        if "motion" in words.g:
            self.state.motion = words.g["motion"]
            if self.state.motion not in CYCLES:
                self.state.cycle.clear()
        if once in _TAKES_AXES:
            settings.ONCE[once](self, words)
        elif words.has(_AXES + _CENTRES) or (words.g.get("motion") in CYCLES):
            self._move(words, machine_zero=once == 530)
        settings.stop(self, words)
        self._leftovers(words)

    def _leftovers(self, words: Words) -> None:
        for letter in [] if words.lasting else words.leftovers():      # they may belong to what was not understood
            if not (letter in "IJK" and words.numbers[letter] == 0.0):
                words.tell(f"{letter}{words.numbers[letter]:.6g} has no use in this block", f"useless {letter}",
                           partly=False)

    def _move(self, words: Words, machine_zero: bool) -> None:
        motion = self.state.motion
        if motion is None or motion == END_OF_CYCLE:
            told = "after G80 no" if motion == END_OF_CYCLE else "no"
            given = "".join(letter for letter in _AXES + _CENTRES if words.take(letter) is not None)
            words.tell(f"{given}: {told} G0, G1, G2 or G3 says how to go there, so nobody can tell", "no motion")
            self.state.lost()
        elif machine_zero:
            self._in_machine_axes(words)
        elif motion in CYCLES:
            cycles.drill(self, words)
        elif motion in (20, 30):
            self._arc(words, clockwise=motion == 20)
        else:
            self._straight(words, motion)

    def _straight(self, words: Words, motion: int) -> None:
        if not words.has(_AXES):
            words.tell("I J K without X Y Z: that is no straight move", "centre of a line")
            for letter in _CENTRES:
                words.take(letter)
            return
        end, known = self.target(words)
        if motion == 0:
            self.go(words, Kind.RAPID, end, known)
            return
        self.go(words, Kind.LINE, end, known)
        if motion == 382:
            self.tell.once(words.line, "G38.2: a probe stops where it touches: where that is can't be said", "probe")
            self.state.lost(*(axis for axis in (X, Y, Z) if words.take(_AXES[axis]) is not None))

    def _in_machine_axes(self, words: Words) -> None:
        """G53: the words count from the machine's zero, which nobody here knows."""
        given = [axis for axis in (X, Y, Z) if words.take(_AXES[axis]) is not None]
        known = [known and axis not in given for axis, known in enumerate(self.state.known)]
        if self.state.motion not in (0, 10):
            words.tell("G53 wants G0 or G1", "machine axes")
        kind = Kind.RAPID if self.state.motion == 0 else Kind.LINE
        self.go(words, kind, self.state.at, known, zero=0)

    def target(self, words: Words) -> tuple[list[float], list[bool]]:
        """Where the axis words of a block lead, from the work zero, and on which axes that is known."""
        state = self.state
        written, known = state.written(), list(state.known)
        given = [False, False, False]
        for axis, letter in enumerate(_AXES):
            value = words.take(letter)
            if value is None:
                continue
            given[axis] = True
            place = value * state.scale + (0.0 if state.absolute else written[axis])
            if math.isnan(place) or abs(place) > REACH:
                if not math.isnan(place):
                    words.tell(f"{letter}{value:.6g} is farther than anything here reaches", "far")
                known[axis] = False
                continue
            written[axis] = place
            known[axis] = known[axis] or state.absolute
        self._turned(words, given, known)
        end = state.placed(written)
        if state.turned is None:
            end = [there if told else here for there, here, told in zip(end, state.at, given, strict=True)]
        return end, known

    def _turned(self, words: Words, given: list[bool], known: list[bool]) -> None:
        """Under G68 each of X and Y depends on both."""
        state = self.state
        if given[X] and given[Y]:
            state.half_turned = False
        elif state.half_turned and state.absolute and (given[X] or given[Y]):
            words.tell("only one of X and Y after G68 or G69: which place the other keeps differs between controls",
                       "half turned")
            known[X] = known[Y] = False
        if state.turned is not None and not (known[X] and known[Y]):
            known[X] = known[Y] = False

    def go(
        self, words: Words, kind: Kind, end: list[float], known: list[bool], *, centre: list[float] | None = None,
        doubt: Doubt = CERTAIN, zero: int | None = None, length: float | None = None,
    ) -> None:
        """Lay down one move to a place, and be there."""
        state = self.state
        start = [here if was or not now else there for here, there, was, now in
                 zip(state.at, end, state.known, known, strict=True)]
        if not all(state.known):
            doubt |= Doubt.START
        for now, axis in zip(known, (Doubt.X, Doubt.Y, Doubt.Z), strict=True):
            if not now:
                doubt |= Doubt.END | axis
        if words.partly:
            doubt |= Doubt.UNREAD
        feed = 0.0
        if kind != Kind.RAPID:
            feed, of_feed = self._feed(words, math.dist(start, end) if length is None else length)
            doubt |= of_feed
            if state.radius != 400 and self.beside is None:
                doubt |= Doubt.PATH
        if state.direction and state.speed is None:
            doubt |= Doubt.SPINDLE
        self._lay(Move(words.line, kind, _vector(start), _vector(end), _vector(centre or end), state.plane, feed,
                       state.spindle, state.tool, state.zero if zero is None else zero, 0.0, state.exact != 640,
                       doubt | state.doubt))
        state.at, state.known = list(end), list(known)

    def stand(self, words: Words, seconds: float) -> None:
        """The machine stands: a dwell, a stop, a tool change."""
        state, at = self.state, _vector(self.state.at)
        self._lay(Move(words.line, Kind.STAND, at, at, at, state.plane, 0.0, state.spindle, state.tool, state.zero,
                       seconds, True, state.doubt))

    def _lay(self, move: Move) -> None:
        if self.beside is None:
            self.track.add(move)
            return
        self.beside.add(move)
        if self.beside.done:
            self.beside = None

    def _feed(self, words: Words, length: float) -> tuple[float, Doubt]:
        """How fast a move of this length goes [mm/s], and whether nobody can tell."""
        state = self.state
        if state.feed is None or state.feed <= 0.0:
            self.tell.once(words.line, "no F says how fast to cut; time and chip from here on can't be said",
                           "no feed")
            return 0.0, Doubt.FEED
        if state.feed_mode == 930:
            if words.take("F") is None:
                self.tell(words.line, "G93 wants F in each block that cuts", "no inverse feed")
                return 0.0, Doubt.FEED
            return state.feed * length, CERTAIN
        if state.feed_mode == 950:
            turns = abs(state.spindle) / (2.0 * math.pi)
            return state.feed * turns, CERTAIN if turns > 0.0 else Doubt.FEED
        return state.feed, CERTAIN

    def set_radius(self, words: Words, code: int, number: int) -> None:
        """G40, G41, G42."""
        was, self.state.radius = self.state.radius, code
        if code == was:
            return
        if self.beside is not None:
            self.beside.end()
        if code == 400:
            return
        if was != 400:
            words.tell(f"{g_text(code)} while {g_text(was)} is on: G40 has to stand between", "side changed")
        told = f"{g_text(code)} D{number}: the path beside the contour can't be said"
        if self.cutter is None:
            words.tell(f"{told} without the diameter of the cutter (--cutter)", "radius", partly=False)
        elif self.state.plane != 17:
            words.tell(f"{told} out of the XY plane", "radius", partly=False)
        else:
            radius = 0.5 * self.cutter
            self.beside = Beside(self.track, self.tell, radius if code == 410 else -radius)

    def finish(self) -> None:
        """The program is over: lay down what a contour still holds back."""
        if self.beside is not None:
            self.beside.end()
            self.beside = None

    def _arc(self, words: Words, clockwise: bool) -> None:
        state = self.state
        first, second, across = AXES[state.plane]
        begin = state.written()
        known_before = state.known[first] and state.known[second]
        end, known = self.target(words)
        last = self._written(end)
        if math.dist((begin[first], begin[second]), (last[first], last[second])) < ROUNDING:
            end[first], end[second], last = state.at[first], state.at[second], [*last]
            last[first], last[second] = begin[first], begin[second]
        circle = self._circle(words, (begin[first], begin[second]), (last[first], last[second]), clockwise)
        if circle.fault:
            words.tell(f"the arc {circle.fault}", circle.fault.partition(":")[0])
        elif not known_before:
            words.tell("where the arc begins can't be said, so neither where it goes", "arc from nowhere",
                       partly=False)
        elif state.turned is not None and state.plane != 17:
            words.tell("an arc out of the XY plane under G68: where it goes can't be said", "arc turned",
                       partly=False)
        whole = not circle.fault and known_before and (state.turned is None or state.plane == 17)
        doubt = CERTAIN if whole else Doubt.PATH
        if circle.centre is None or not known_before:
            self.go(words, Kind.LINE, end, known, doubt=doubt)
            return
        about = list(last)
        about[first], about[second] = circle.centre
        centre = state.placed(about)
        centre[across] = end[across]
        length = self._length(begin, last, circle.centre, clockwise)
        kind = Kind.CLOCKWISE if clockwise else Kind.COUNTER
        self.go(words, kind, end, known, centre=centre, doubt=doubt, length=length)

    def _written(self, place: list[float]) -> list[float]:
        at, self.state.at = self.state.at, place
        written = self.state.written()
        self.state.at = at
        return written

    def _circle(
        self, words: Words, start: tuple[float, float], end: tuple[float, float], clockwise: bool
    ) -> Circle:
        first, second, _ = AXES[self.state.plane]
        offsets = [words.take(_CENTRES[axis]) for axis in (first, second)]
        radius, scale = words.take("R"), self.state.scale
        if radius is not None:
            if any(offset is not None for offset in offsets):
                return Circle(None, "has both R and a centre: which counts can't be said")
            return _believed(by_radius(start, end, radius * scale, clockwise))
        if all(offset is None for offset in offsets):
            letters = " ".join(_CENTRES[axis] for axis in (first, second))
            return Circle(None, f"has neither R nor {letters} for its centre")
        if self.state.centre_absolute:
            if any(offset is None for offset in offsets):
                return Circle(None, "under G90.1 wants both words of its centre")
            centre = tuple((offset or 0.0) * scale for offset in offsets)
        else:
            centre = tuple(begin + (offset or 0.0) * scale for begin, offset in zip(start, offsets, strict=True))
        return _believed(Circle((centre[0], centre[1]), closing(start, end, (centre[0], centre[1]), clockwise)))

    def _length(
        self, start: list[float], end: list[float], centre: tuple[float, float], clockwise: bool
    ) -> float:
        first, second, across = AXES[self.state.plane]
        out = math.atan2(start[second] - centre[1], start[first] - centre[0])
        back = math.atan2(end[second] - centre[1], end[first] - centre[0])
        angle = (out - back if clockwise else back - out) % (2.0 * math.pi) or 2.0 * math.pi
        return math.hypot(math.dist((start[first], start[second]), centre) * angle, end[across] - start[across])


def _vector(place: list[float]) -> Vector:
    x, y, z = place
    return x, y, z


def _believed(circle: Circle) -> Circle:
    """The circle, unless its centre is where nothing reaches or nobody knows."""
    if circle.centre is None:
        return circle
    if any(math.isnan(side) for side in circle.centre):
        return Circle(None, "has a centre that can't be said")
    if max(map(abs, circle.centre)) > REACH:
        return Circle(None, "has its centre farther than anything here reaches")
    return circle


