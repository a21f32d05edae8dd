"""Lines, hatching, arrows and lettering as SVG on a paper of known size; lengths in mm, y runs down.

Line widths and kinds follow ISO 128-2 (group 0.5): wide for what is seen, narrow for all else.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal
from xml.sax.saxutils import escape

Point = tuple[float, float]
Line = Literal["visible", "hidden", "thin", "centre", "chain"]

GREY: Final = "#8a8a8a"             #: the one grey; everything else is black
FONT: Final = "DejaVu Sans Mono"    #: comes with the typesetter, so every computer has it
LETTER: Final = 3.2                 #: font size of small lettering [mm]
#: kind of line -> (width, dashes), ISO 128-2 lines 01.2, 02.1, 01.1, 04.1 and 05.1
LINES: Final[dict[Line, tuple[float, str]]] = {
    "visible": (0.5, ""),
    "hidden": (0.25, "2 0.8"),
    "thin": (0.25, ""),
    "centre": (0.25, "5 0.8 0.6 0.8"),
    "chain": (0.25, "6 0.8 0.6 0.8 0.6 0.8"),
}
LETTER_WIDTH: Final = 0.602         #: of a letter, over the font size


def text_width(text: str, size: float = LETTER) -> float:
    """Width of lettering on paper [mm]; every letter of the font is equally wide."""
    return len(text) * LETTER_WIDTH * size


def clean(text: str) -> str:
    """A text without the signs that XML cannot hold."""
    return "".join(c for c in text if c in "\t\n\r" or (c >= " " and c not in "\ufffe\uffff"
                                                        and not "\ud800" <= c <= "\udfff"))


@dataclass
class Pen:
    """Draws on a sheet of width × height mm; nothing may leave the sheet."""

    width: float
    height: float
    parts: list[str] = field(default_factory=list)
    reach: list[float] = field(default_factory=lambda: [math.inf, math.inf, -math.inf, -math.inf])

    def _seen(self, points: Iterable[Point], margin: float = 0.0) -> None:
        for x, y in points:
            self.reach[0] = min(self.reach[0], x - margin)
            self.reach[1] = min(self.reach[1], y - margin)
            self.reach[2] = max(self.reach[2], x + margin)
            self.reach[3] = max(self.reach[3], y + margin)

    def path(self, lines: Iterable[Sequence[Point]], kind: Line = "visible", *, grey: bool = False) -> None:
        """Open lines through points."""
        lines = [line for line in lines if len(line) > 1]
        if not lines:
            return
        width, dashes = LINES[kind]
        for line in lines:
            self._seen(line, width / 2)
        way = "".join("M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in line) for line in lines)
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        colour = GREY if grey else "black"
        self.parts.append(f'<path d="{way}" fill="none" stroke="{colour}" stroke-width="{width}"'
                          f' stroke-linecap="round" stroke-linejoin="round"{dash}/>')

    def fill(self, points: Sequence[Point], colour: str = "black", outline: Line | None = None) -> None:
        """A filled outline."""
        self._seen(points)
        way = "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points) + "Z"
        self.parts.append(f'<path d="{way}" fill="{colour}" stroke="none"/>')
        if outline:
            self.path([[*points, points[0]]], outline)

    def circle(self, centre: Point, radius: float, *, fill: str = "none", kind: Line = "thin") -> None:
        """A circle."""
        self._seen([centre], radius + LINES[kind][0] / 2)
        self.parts.append(f'<circle cx="{centre[0]:.3f}" cy="{centre[1]:.3f}" r="{radius:.3f}" fill="{fill}"'
                          f' stroke="black" stroke-width="{LINES[kind][0]}"/>')

    def text(self, at: Point, text: str, size: float = LETTER, *, anchor: str = "start", turn: float = 0.0,
             bold: bool = False, plate: bool = False) -> None:
        """Lettering whose middle height is at the point; `plate` clears the paper under it."""
        text = clean(text)
        across = text_width(text, size)
        left = {"start": 0.0, "middle": -across / 2, "end": -across}[anchor]
        corners = [turned(at, turn, (left + u * across, v * size)) for u in (0, 1) for v in (-0.55, 0.55)]
        if plate:
            self.fill([corners[0], corners[1], corners[3], corners[2]], "white")
        self._seen(corners)
        weight = ' font-weight="bold"' if bold else ""
        spin = f' transform="rotate({turn:g} {at[0]:.3f} {at[1]:.3f})"' if turn else ""
        self.parts.append(f'<text x="{at[0]:.3f}" y="{at[1] + 0.36 * size:.3f}" font-family="{FONT}"{weight}'
                          f' font-size="{size:g}" text-anchor="{anchor}"{spin}>{escape(text)}</text>')

    def arrow(self, tail: Point, head: Point, kind: Line = "thin", length: float = 2.5) -> None:
        """A line with a filled head (ISO 129-1)."""
        self.path([[tail, head]], kind)
        self.head(tail, head, length)

    def head(self, tail: Point, head: Point, length: float = 2.5) -> None:
        """The filled head alone."""
        u = unit((head[0] - tail[0], head[1] - tail[1]))
        back = (head[0] - u[0] * length, head[1] - u[1] * length)
        aside = (-u[1] * length / 6, u[0] * length / 6)
        self.fill([head, (back[0] + aside[0], back[1] + aside[1]), (back[0] - aside[0], back[1] - aside[1])])

    def hatch(self, low: Point, high: Point, step: float = 1.8) -> None:
        """Thin lines at 45° across a rectangle."""
        (x0, y0), (x1, y1) = low, high
        lines = []
        c = math.floor((x0 + y0) / step) * step + step
        while c < x1 + y1:
            a = (max(x0, c - y1), c - max(x0, c - y1))
            b = (min(x1, c - y0), c - min(x1, c - y0))
            if b[0] - a[0] > 0.05:
                lines.append([a, b])
            c += step
        self.path(lines, "thin", grey=True)

    def box(self, low: Point, high: Point, kind: Line = "thin", *, fill: str | None = None) -> None:
        """A rectangle."""
        corners = [low, (high[0], low[1]), high, (low[0], high[1])]
        if fill:
            self.fill(corners, fill)
        self.path([[*corners, low]], kind)

    def svg(self) -> str:
        """The whole drawing."""
        return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width:g}mm" height="{self.height:g}mm"'
                f' viewBox="0 0 {self.width:g} {self.height:g}">' + "".join(self.parts) + "</svg>")


def unit(v: Point) -> Point:
    """A vector of length 1 in the same direction; (1, 0) where there is none."""
    length = math.hypot(*v)
    return (v[0] / length, v[1] / length) if length > 0 else (1.0, 0.0)


def turned(centre: Point, degrees: float, by: Point) -> Point:
    """The point at `by` from a centre, on axes turned clockwise on the paper."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return centre[0] + by[0] * c - by[1] * s, centre[1] + by[0] * s + by[1] * c


def hull(points: Iterable[Point]) -> list[Point]:
    """The convex outline of points, counter-clockwise where y runs up."""
    ordered = sorted({(round(x, 6), round(y, 6)) for x, y in points})
    if len(ordered) < 3:
        return ordered
    chains: list[list[Point]] = []
    for run in (ordered, ordered[::-1]):
        chain: list[Point] = []
        for p in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        chains.append(chain[:-1])
    return chains[0] + chains[1]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
