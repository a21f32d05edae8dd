"""One view on the paper: from the model's points to the sheet, and the room that it takes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

from ..dryrun.placing import Block, Placed, cross
from ..job.faces import dot
from ..part.shapes import Vector, View
from .pen import Line, Pen, Point

ABOVE_PLAN: Final = 12.0         #: room for the y axis above the work, at least [mm]
BELOW_PLAN: Final = 7.5          #: room for a datum letter below it, at least [mm]


@dataclass(frozen=True)
class Window:
    """A rectangle on the sheet; y runs down [mm]."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def of(cls, points: Iterable[Point]) -> Window:
        """The smallest that holds all points."""
        xs, ys = zip(*points, strict=True)
        return cls(min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True)
class Pane:
    """A view drawn at a scale, the model's origin at a place of the sheet."""

    pen: Pen
    placed: Placed
    view: View
    scale: float
    at: Point
    clip: float                      # how far past the work the holding is shown [mm on paper]

    @property
    def viewer(self) -> Vector:
        """The model's direction towards the eye."""
        return cross(self.view.across, self.view.upwards)

    def paper(self, point: Vector) -> Point:
        """A model point on the sheet."""
        return (self.at[0] + self.scale * dot(point, self.view.across),
                self.at[1] - self.scale * dot(point, self.view.upwards))

    def way(self, direction: Vector) -> Point:
        """A model direction on the sheet."""
        return dot(direction, self.view.across), -dot(direction, self.view.upwards)

    def lines(self, lines: Iterable[Sequence[Point]]) -> list[list[Point]]:
        """Lines of the view on the sheet."""
        u, v = self.view.origin
        return [[(self.at[0] + self.scale * (x - u), self.at[1] - self.scale * (y - v)) for x, y in line]
                for line in lines]

    def work(self) -> Window:
        """The workpiece with its stock on the sheet."""
        low, high = self.placed.extent()
        return Window.of(self._corners(low, high))

    def block(self, block: Block) -> Window:
        """A block on the sheet."""
        return Window.of(self._corners(block.low, block.high))

    def box_of(self, block: Block, kind: Line) -> None:
        """Draw the outline of a block that stands square to the view."""
        window = self.block(block)
        self.pen.box((window.x0, window.y0), (window.x1, window.y1), kind)

    def frame(self) -> Window:
        """The work with jaws and bed: marks stand outside it."""
        windows = [self.work()]
        for jaw in self.placed.jaws():
            box = self.block(jaw)
            windows.append(Window(max(box.x0, windows[0].x0 - self.clip) if self._along(jaw) else box.x0, box.y0,
                                  min(box.x1, windows[0].x1 + self.clip) if self._along(jaw) else box.x1, box.y1))
        if self.view.name == "plan":
            work = windows[0]
            windows.append(Window(work.x0, work.y0 - ABOVE_PLAN, work.x1, work.y1 + BELOW_PLAN))
        else:
            bed = self.paper(self.placed.model((0.0, 0.0, self.placed.bed())))[1]
            windows.append(Window(windows[0].x0, windows[0].y0, windows[0].x1, bed))
        return Window(min(w.x0 for w in windows), min(w.y0 for w in windows),
                      max(w.x1 for w in windows), max(w.y1 for w in windows))

    def _along(self, jaw: Block) -> bool:
        return abs(dot(jaw.outward, self.view.across)) < 0.7

    def _corners(self, low: Vector, high: Vector) -> list[Point]:
        corners = product(*zip(low, high, strict=True))
        return [self.paper(self.placed.model((x, y, z))) for x, y, z in corners]
