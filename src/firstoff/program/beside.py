"""G41 and G42: the path of the cutter's middle beside a contour of lines and arcs in the XY plane."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

from firstoff.program.track import Track
from firstoff.removal.moves import Doubt, Kind, Move

Point = tuple[float, float]

#: shorter than this a leg has no direction, and nearer than this two points are one [mm]
NOTHING: Final = 1e-9
#: a turn smaller than this goes straight on [rad]
STRAIGHT: Final = 1e-6
#: how far beyond the end of a leg its meeting with the next may lie [mm]
BEYOND: Final = 1e-6
_TURN: Final = 2.0 * math.pi


@dataclass(frozen=True)
class Leg:
    """A line or an arc in the XY plane.

    Fields:
        start: where it begins [mm].
        end: where it ends [mm].
        centre: of an arc; None for a line.
        clockwise: which way an arc goes.
    """

    start: Point
    end: Point
    centre: Point | None = None
    clockwise: bool = False

    @property
    def radius(self) -> float:
        """Of an arc [mm]; 0 for a line."""
        return math.dist(self.start, self.centre) if self.centre else 0.0

    def way(self, at_end: bool) -> Point:
        """Unit vector along it at its start or its end."""
        if self.centre is None:
            dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        else:
            point = self.end if at_end else self.start
            out = point[0] - self.centre[0], point[1] - self.centre[1]
            dx, dy = (out[1], -out[0]) if self.clockwise else (-out[1], out[0])
        size = math.hypot(dx, dy)
        return dx / size, dy / size

    def beside(self, aside: float) -> Leg | None:
        """The leg that runs so far to the left (or, negative, right) of it; None where an arc is too small."""
        if self.centre is not None:
            radius = self.radius + (aside if self.clockwise else -aside)
            if radius <= NOTHING:
                return None
        start, end = (moved(point, self.way(late), aside) for point, late in ((self.start, False), (self.end, True)))
        return replace(self, start=start, end=end)

    def holds(self, point: Point) -> bool:
        """Whether a point of its line or circle lies between its ends."""
        if self.centre is None:
            way = self.way(at_end=False)
            along = (point[0] - self.start[0]) * way[0] + (point[1] - self.start[1]) * way[1]
            return -BEYOND <= along <= math.dist(self.start, self.end) + BEYOND
        slack = BEYOND / self.radius
        whole, part = self._swept(self.end) or _TURN, self._swept(point)
        return part <= whole + slack or part >= _TURN - slack

    def _swept(self, point: Point) -> float:
        assert self.centre is not None
        begin, angle = (math.atan2(p[1] - self.centre[1], p[0] - self.centre[0]) for p in (self.start, point))
        return (begin - angle if self.clockwise else angle - begin) % _TURN


def moved(point: Point, way: Point, aside: float) -> Point:
    """A point so far to the left of a direction."""
    return point[0] - way[1] * aside, point[1] + way[0] * aside


def meetings(one: Leg, other: Leg) -> Iterator[Point]:
    """Points in which two legs meet, between their ends."""
    if one.centre is None and other.centre is None:
        found = _lines(one, other)
    elif one.centre is not None and other.centre is not None:
        found = _circles(one.centre, one.radius, other.centre, other.radius)
    else:
        line, arc = (one, other) if one.centre is None else (other, one)
        found = _line_circle(line, arc)
    return (point for point in found if one.holds(point) and other.holds(point))


def _lines(one: Leg, other: Leg) -> list[Point]:
    a, b = one.way(at_end=False), other.way(at_end=False)
    cross = a[0] * b[1] - a[1] * b[0]
    if abs(cross) < STRAIGHT:
        return []
    dx, dy = other.start[0] - one.start[0], other.start[1] - one.start[1]
    along = (dx * b[1] - dy * b[0]) / cross
    return [(one.start[0] + along * a[0], one.start[1] + along * a[1])]


def _line_circle(line: Leg, arc: Leg) -> list[Point]:
    assert arc.centre is not None
    way = line.way(at_end=False)
    dx, dy = arc.centre[0] - line.start[0], arc.centre[1] - line.start[1]
    along, off = dx * way[0] + dy * way[1], dx * way[1] - dy * way[0]
    half = arc.radius**2 - off * off
    if half < 0.0:
        return []
    return [(line.start[0] + (along + side) * way[0], line.start[1] + (along + side) * way[1])
            for side in (-math.sqrt(half), math.sqrt(half))]


def _circles(one: Point, radius: float, other: Point, other_radius: float) -> list[Point]:
    apart = math.dist(one, other)
    if apart < NOTHING:
        return []
    along = (apart * apart + radius * radius - other_radius * other_radius) / (2.0 * apart)
    half = radius * radius - along * along
    if half < 0.0:
        return []
    x, y = (other[0] - one[0]) / apart, (other[1] - one[1]) / apart
    return [(one[0] + along * x - side * y, one[1] + along * y + side * x)
            for side in (math.sqrt(half), -math.sqrt(half))]


def leg_of(move: Move) -> Leg | None:
    """The move as seen from above; None where it goes nowhere there."""
    (x0, y0, _), (x1, y1, _) = move.start, move.end
    if move.kind in (Kind.CLOCKWISE, Kind.COUNTER):
        return Leg((x0, y0), (x1, y1), move.centre[:2], move.kind == Kind.CLOCKWISE)
    return None if math.dist((x0, y0), (x1, y1)) < NOTHING else Leg((x0, y0), (x1, y1))


@dataclass
class Beside:
    """Takes the moves of a contour and lays down those of the cutter's middle, one leg behind.

    Fields:
        track: where they are laid down.
        tell: says of a line what is wrong.
        aside: radius of the cutter [mm], positive where it runs to the left.
    """

    track: Track
    tell: Callable[[int, str, str], None]
    aside: float
    leaving: bool = False
    done: bool = False
    _held: tuple[Move, Leg] | None = None
    _still: list[Move] = field(default_factory=list)
    _at: Point | None = None

    def add(self, move: Move) -> None:
        """The next move of the contour."""
        move = self._followed(move)
        leg = leg_of(move)
        if self.leaving:
            self._leave(move, leg)
        elif leg is None:
            self._still.append(move)
        else:
            if self._held is None:
                self._held_back()
            else:
                self._join(leg, move)
            self._held = move, leg

    def _followed(self, move: Move) -> Move:
        """The move, or its chord where its arc lies in another plane or cannot be said."""
        if move.kind not in (Kind.CLOCKWISE, Kind.COUNTER) or (move.plane == 17 and not move.doubt & Doubt.PATH):
            return move
        if move.plane != 17:
            self.tell(move.line, "an arc out of the XY plane beside a contour: where it goes can't be said", "plane")
        return replace(move, kind=Kind.LINE, centre=move.end, doubt=move.doubt | Doubt.PATH)

    def end(self) -> None:
        """No leg of the contour follows: G40, or the end of the program."""
        if self._held is not None:
            move, leg = self._held
            if self._at is None:
                self._lay(move, leg.start, leg.end, Doubt.PATH)
            else:
                self._lay(move, self._at, moved(leg.end, leg.way(at_end=True), self.aside), None)
        self._held_back()
        self._held, self.leaving = None, True

    def _held_back(self) -> None:
        """Lay down what goes nowhere in the plane, where the cutter stands."""
        for move in self._still:
            self._lay(move, self._at or move.start[:2], self._at or move.start[:2], None)
        self._still.clear()

    def _leave(self, move: Move, leg: Leg | None) -> None:
        start = self._at or move.start[:2]
        if leg is None:
            self._lay(move, start, start, None)
            return
        if leg.centre is not None:
            self.tell(move.line, "G40 and then an arc: how the cutter leaves the contour can't be said", "leaving")
        self._lay(replace(move, kind=Kind.LINE if leg.centre else move.kind), start, leg.end, Doubt.PATH)
        self.done = True

    def _join(self, leg: Leg, move: Move) -> None:
        """Lay down the leg that is held up to where the next begins, and what leads round the corner."""
        assert self._held is not None
        before, last = self._held
        if self._at is None:
            if last.centre is not None:
                self.tell(before.line, "the cutter goes to a contour by a line; this is an arc", "entering")
            target = moved(last.end, leg.way(at_end=False), self.aside)
            self._lay(replace(before, kind=Kind.LINE if last.centre else before.kind), last.start, target, Doubt.PATH)
            self._held_back()
            return
        a, b = last.way(at_end=True), leg.way(at_end=False)
        turn = math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
        inside = turn * self.aside > 0.0 and abs(turn) > STRAIGHT and abs(abs(turn) - math.pi) > STRAIGHT
        meeting = self._inside(last, leg, before.line) if inside else None
        until = meeting or moved(last.end, a, self.aside)
        self._lay(before, self._at, until, None)
        self._held_back()
        if meeting is None and abs(turn) > STRAIGHT:
            self._round(move, last.end, until, moved(last.end, b, self.aside), inside)

    def _inside(self, last: Leg, leg: Leg, line: int) -> Point | None:
        """Where the paths beside two legs meet in an inner corner."""
        one, other = last.beside(self.aside), leg.beside(self.aside)
        found = [] if one is None or other is None else list(meetings(one, other))
        if found:
            return min(found, key=lambda point: math.dist(point, last.end))
        self.tell(line, f"the cutter (R{abs(self.aside):.6g} mm) does not fit between this leg and the next: where "
                        "it goes can't be said", "does not fit")
        return None

    def _round(self, move: Move, corner: Point, start: Point, end: Point, doubtful: bool) -> None:
        height = move.start[2]
        kind = Kind.CLOCKWISE if self.aside > 0.0 else Kind.COUNTER
        round_it = replace(move, kind=kind, start=(*start, height), end=(*end, height), centre=(*corner, height))
        self._lay(round_it, start, end, Doubt.PATH if doubtful else None)

    def _lay(self, move: Move, start: Point, end: Point, doubt: Doubt | None) -> None:
        """Lay down a move from one place in the plane to another, heights and all else as they are."""
        wrong = doubt or Doubt(0)
        leg = leg_of(move)
        if leg is not None and doubt is None:
            wrong = self._turned_round(move, leg, start, end)
        is_arc = move.kind in (Kind.CLOCKWISE, Kind.COUNTER)
        height = move.end[2]
        self.track.add(replace(move, start=(*start, move.start[2]), end=(*end, height), doubt=move.doubt | wrong,
                               centre=(*move.centre[:2], height) if is_arc else (*end, height)))
        self._at = end

    def _turned_round(self, move: Move, leg: Leg, start: Point, end: Point) -> Doubt:
        """A line that would run backwards, an arc that would shrink to nothing: the cutter is too large for it."""
        if leg.centre is None:
            way = leg.way(at_end=False)
            fits = (end[0] - start[0]) * way[0] + (end[1] - start[1]) * way[1] >= -BEYOND
        else:
            fits = leg.beside(self.aside) is not None or leg.centre == move.start[:2]
        round_corner = leg.centre is not None and abs(leg.radius - abs(self.aside)) < BEYOND
        if fits or round_corner:
            return Doubt(0)
        self.tell(move.line, f"the cutter (R{abs(self.aside):.6g} mm) is too large for this leg: where it goes "
                             "can't be said", "too large")
        return Doubt.PATH
