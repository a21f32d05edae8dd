"""Where a setting really touches its part: jaws, rests, clamps and stop as points, and where the cut pushes hardest.

Points are drawn where the cuts made so far have left something to touch.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from ..belief import Belief
from ..checks._tightened import squeeze
from ..checks._touching import JAWS, PRESSED, device_of, touching
from ..checks.base import Case
from ..dryrun.placing import Placed
from ..part.shapes import Vector, View
from ..units import tell
from .drawing import SCALES, scale_name
from .pane import Pane
from .pen import LETTER, Pen, Point

WIDTH: Final = 186.0            #: of the sheet between its margins [mm]
ASIDE: Final = 42.0             #: beside a view, for arrows and names [mm]
MARGIN: Final = 17.0            #: above and below it [mm]
TITLE: Final = 8.0              #: the heading [mm]
TALLEST: Final = 150.0          #: [mm]
ARROW: Final = 9.0              #: of a push [mm]
PRESSING: Final = ("moving jaw", "clamp", "rod")
IN_PLANE: Final = 0.7           #: a push that lies more than this in the paper is an arrow, else a ring


@dataclass(frozen=True)
class Touch:
    """One thing that touches the part.

    Fields:
        name: what, at which face, and how hard where that is known.
        normal: into the part [1].
        points: middles of its pieces [mm].
    """

    name: str
    normal: Vector
    points: tuple[Vector, ...]


def touches(case: Case, belief: Belief) -> tuple[Touch, ...]:
    """What touches the part when an operation begins.

    Args:
        case: the operation.
        belief: for how hard jaws or clamps press.

    Raises:
        NameUnknown: if the setting names a face that the part has not.
    """
    if device_of(case).kind not in JAWS | PRESSED:
        return ()
    pressed = squeeze(case, belief)
    tight = "" if pressed is None else f", about {tell(round(float(np.median(pressed)), -2), 'force')}"
    found: dict[str, Touch] = {}
    for patch in touching(case):
        name = f"{patch.name} at {patch.face}{tight if patch.name in PRESSING else ''}"
        points = found[name].points if name in found else ()
        found[name] = Touch(name, _vector(patch.normal), (*points, *map(_vector, patch.points)))
    return tuple(found.values())


def _vector(values: npt.NDArray[np.float64]) -> Vector:
    x, y, z = values
    return float(x), float(y), float(z)


def contacts_drawing(placed: Placed, views: Mapping[str, View], found: Sequence[Touch], heading: str) -> str:
    """The drawing, as SVG: plan above front.

    Args:
        placed: the part in its setting.
        views: plan and front, as far as there are any.
        found: what touches it.
        heading: a line above all.
    """
    low, high = placed.extent()
    shown = [name for name in ("plan", "front") if name in views]
    sizes = {"plan": high[1] - low[1], "front": high[2] - low[2]}
    tall = sum(sizes[name] for name in shown)
    scale = next((s for s in SCALES if (high[0] - low[0]) * s + 2 * ASIDE <= WIDTH
                  and tall * s + 2 * MARGIN * len(shown) + TITLE <= TALLEST), SCALES[-1])
    pen = Pen(WIDTH, TITLE + sum(sizes[name] * scale + 2 * MARGIN for name in shown) + 2.0)
    pen.text((0.0, 4.0), heading, 3.8, bold=True)
    top = TITLE
    for name in shown:
        up = high[1] if name == "plan" else high[2]
        at = (WIDTH / 2 - (low[0] + high[0]) / 2 * scale, top + MARGIN + up * scale)
        pane = Pane(pen, placed, views[name], scale, at, 0.0)
        _view(pane, found)
        top += sizes[name] * scale + 2 * MARGIN
        pen.text((0.0, top - 3.0), f"{'plan' if name == 'plan' else 'from the front'}, {scale_name(scale)}", 2.8)
    return pen.svg()


def _view(pane: Pane, found: Sequence[Touch]) -> None:
    """Arrows in the plane of the paper with their names; rings where a thing is seen end on."""
    pane.pen.path(pane.lines(pane.view.visible), "thin")
    for touch in found:
        way = pane.way(touch.normal)
        flat = way[0] ** 2 + way[1] ** 2 > IN_PLANE
        marks = [pane.paper(point) for point in touch.points]
        for mark in marks:
            if flat:
                pane.pen.arrow((mark[0] - way[0] * ARROW, mark[1] - way[1] * ARROW), mark, "visible")
            pane.pen.circle(mark, 1.1, fill="black" if flat else "white", kind="visible")
        if flat:
            _name(pane, touch.name, marks, way)


def _name(pane: Pane, text: str, marks: Sequence[Point], way: Point) -> None:
    """A name behind its arrows."""
    x, y = (sum(mark[i] for mark in marks) / len(marks) for i in (0, 1))
    if abs(way[1]) > abs(way[0]):
        pane.pen.text((x, y - way[1] * (ARROW + LETTER)), text, anchor="middle", plate=True)
        return
    words, side = text.split(", "), -1.0 if way[0] > 0 else 1.0
    for row, word in enumerate(words):
        at = x + side * (ARROW + 1.5), y + (row - (len(words) - 1) / 2) * 1.4 * LETTER
        pane.pen.text(at, word, anchor="end" if side < 0 else "start")
