"""The drawing of a part: plan, front, side and a picture, each feature with a number, and a table of the numbers.

Numbers stand in circles outside the view, each with a thin line that ends in a dot within the feature, as
ISO 6433 has it for items. A feature is numbered once, in the view that looks at it most squarely.
"""

from __future__ import annotations

import math
import tempfile
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final, Literal

from ..dryrun.placing import added, cross, scaled
from ..errors import FileError
from ..job.faces import dot
from ..part.shapes import Feature, Part, Vector, View
from ..units import tell
from .drawing import SCALES, scale_name
from .marks import BALLOON
from .pane import Window
from .pen import LETTER, Pen, Point, text_width
from .words import axis_name

WIDTH: Final = 277.0                #: A4 on its long side, between margins [mm]
SMALLEST: Final = 0.6               #: of the scale that the bare views allow; for more numbers the sheet grows
TALLEST: Final = 150.0              #: of the views, so that a table of some features still stands on the sheet [mm]
PICTURE: Final = 60.0               #: least width and height of the picture [mm]
RADIUS: Final = 3.4                 #: of a circle with a number [mm]
PITCH: Final = 2 * RADIUS + 1.2     #: from one number to the next [mm]
FIRST: Final = 8.0                  #: from the view to the first row of numbers [mm]
TITLE: Final = 7.0                  #: below a view and its numbers: its name [mm]
SQUARELY: Final = 0.8              #: cosine from which a view looks into a feature [1]
CROWDED: Final = 2.0                #: dots nearer than this are moved apart where the feature allows it [mm]
ROW: Final = 4.6                    #: of the table [mm]
TITLES: Final = {"plan": "plan", "front": "front", "side": "from the right", "pictorial": "not to scale"}
WORDS: Final = {
    "diameter": "Ø{}", "depth": "{} deep", "length": "{} long", "width": "{} wide", "height": "{} high",
    "angle": "at {}", "radius": "R{}", "corner_radius": "corners R{}", "floor_radius": "floor R{}",
    "smallest_radius": "R{} or more", "cone_angle": "drill point {}", "wall": "leaves a wall of {}",
    "floor": "leaves a floor of {}", "counterbore_diameter": "counterbored Ø{}", "counterbore_depth": "to {} deep",
    "far_counterbore_diameter": "far side counterbored Ø{}", "far_counterbore_depth": "to {} deep",
    "seat_angle": "its seat {}", "far_seat_angle": "the far seat {}", "taper_angle": "taper of {}",
    "far_diameter": "to Ø{}", "inner_diameter": "round a core of Ø{}", "inner_width": "{} wide inside",
    "countersink_diameter": "countersunk Ø{}", "countersink_angle": "of {}",
    "far_countersink_diameter": "far side countersunk Ø{}", "far_countersink_angle": "of {}",
}
Edge = Literal["top", "bottom", "left", "right"]
SQUARE: Final[tuple[str, ...]] = ("plan", "front", "side")
EDGES: Final[tuple[Edge, ...]] = ("top", "bottom", "left", "right")


def part_drawing(part: Part, views: Iterable[View], system: str = "mm") -> str:
    """The drawing as SVG, with its table beneath.

    Args:
        part: what is understood of the model; plain sides of the stock get no number.
        views: plan, front, side, pictorial, as far as there are any.
        system: mm or in, for the lengths told.

    Returns:
        The whole SVG.
    """
    named = {view.name: view for view in views}
    numbered = dict(enumerate((f for f in part.features if f.kind != "stock"), 1))
    sheet = _largest(part, named, numbered)
    rows = _table_rows(numbered, system)
    pen = Pen(sheet.width, sheet.height + ROW * (sum(len(row[3]) for row in rows) + 3) + 4.0)
    for frame in sheet.frames:
        _draw_view(pen, frame)
    if "pictorial" in named:
        _draw_picture(pen, named["pictorial"], sheet.room)
    if not named:
        pen.text((sheet.width / 2, 8.0), "no drawing: the model has no lines to show", anchor="middle")
    unit = "inches" if system == "in" else "mm"
    pen.text((0.0, sheet.height + ROW / 2), f"{part.name or part.file}: {scale_name(sheet.scale)}, lengths in {unit}",
             LETTER, bold=True)
    _table(pen, sheet.height + ROW, rows)
    return pen.svg()


def write_drawing(svg: str, path: Path) -> None:
    """Write a drawing beside its place first, then move it there: nothing half-written is ever found.

    Raises:
        FileError: if it cannot be written there.
    """
    beside: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as file:
            beside = Path(file.name)
            file.write(svg.encode("utf-8"))
        beside.chmod(0o644)
        beside.replace(path)
    except OSError as error:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise FileError(f"the drawing cannot be written: {error.strerror}", where=str(path),
                        right="a folder that exists and can be written to") from None


# --- numbers round a view --------------------------------------------------------------------------


@dataclass
class Number:
    """A number in its circle, and the dot that it points at [mm on the sheet]."""

    text: str
    target: Point
    at: Point = (0.0, 0.0)
    edge: Edge = "top"


@dataclass(frozen=True)
class Frame:
    """A view at its place on the sheet, with its numbers."""

    view: View
    scale: float
    window: Window                     # of the lines alone
    offset: Point                      # of the view's own zero
    numbers: tuple[Number, ...] = ()

    def paper(self, point: Vector) -> Point:
        """A model point on the sheet."""
        return (self.offset[0] + self.scale * dot(point, self.view.across),
                self.offset[1] - self.scale * dot(point, self.view.upwards))

    def outer(self) -> Window:
        """The view with its numbers."""
        w, points = self.window, [n.at for n in self.numbers]
        reach = RADIUS + 0.5
        return Window(min([w.x0, *(x - reach for x, _ in points)]), min([w.y0, *(y - reach for _, y in points)]),
                      max([w.x1, *(x + reach for x, _ in points)]), max([w.y1, *(y + reach for _, y in points)]))

    def moved(self, x: float, y: float) -> Frame:
        """The same, further right and down."""
        w = self.window
        numbers = tuple(Number(n.text, (n.target[0] + x, n.target[1] + y), (n.at[0] + x, n.at[1] + y), n.edge)
                        for n in self.numbers)
        return Frame(self.view, self.scale, Window(w.x0 + x, w.y0 + y, w.x1 + x, w.y1 + y),
                     (self.offset[0] + x, self.offset[1] + y), numbers)


def around(frame: Frame, numbers: Sequence[Number]) -> Frame:
    """The view with numbers set round it, each near to its dot, none on another.

    Args:
        frame: the view, without numbers.
        numbers: what is to be placed.
    """
    w = frame.window
    full = {edge: max(1, int(((w.x1 - w.x0) if edge in ("top", "bottom") else (w.y1 - w.y0)) / PITCH) + 1)
            for edge in EDGES}
    rows = 1 + (len(numbers) - 1) // max(sum(full.values()), 1)
    taken: dict[Edge, list[Number]] = {edge: [] for edge in EDGES}
    for number in numbers:
        far = {"top": number.target[1] - w.y0, "bottom": w.y1 - number.target[1],
               "left": number.target[0] - w.x0, "right": w.x1 - number.target[0]}
        number.edge = min((e for e in EDGES if len(taken[e]) < rows * full[e]), key=lambda e: far[e])
        taken[number.edge].append(number)
    for edge, line in taken.items():
        _set_out(w, edge, line, full[edge])
    return replace(frame, numbers=tuple(numbers))


def _set_out(w: Window, edge: Edge, line: list[Number], full: int) -> None:
    """Along one edge in the order of the dots, so that lines do not cross; the next rows stand further out."""
    axis = 0 if edge in ("top", "bottom") else 1
    low, high = (w.x0, w.x1) if axis == 0 else (w.y0, w.y1)
    line.sort(key=lambda n: (n.target[axis], n.text))
    rows = max(1, math.ceil(len(line) / full))
    for row in range(rows):
        some = line[row::rows]
        along = spread([n.target[axis] for n in some], low, high)
        out = FIRST + row * PITCH
        for number, place in zip(some, along, strict=True):
            across = {"top": w.y0 - out, "bottom": w.y1 + out, "left": w.x0 - out, "right": w.x1 + out}[edge]
            number.at = (place, across) if axis == 0 else (across, place)


def spread(wanted: Sequence[float], low: float, high: float) -> list[float]:
    """Places a pitch apart in the order given, each as near to what it wants as it can, between low and high.

    Args:
        wanted: where each would stand, rising [mm].
        low: the least place [mm].
        high: the greatest; passed only where there is no room [mm].
    """
    out: list[float] = []
    for place in wanted:
        out.append(max(place, out[-1] + PITCH if out else low))
    limit = max(high, low + PITCH * (len(out) - 1))
    for k in range(len(out) - 1, -1, -1):
        out[k] = min(out[k], limit)
        limit = out[k] - PITCH
    return out


# --- which view, and where in it -------------------------------------------------------------------


def seen_in(feature: Feature, named: dict[str, View]) -> str | None:
    """The view that looks at a feature most squarely, from its open side where it can; None without views.

    Args:
        feature: the feature.
        named: the views by name.
    """
    square = [name for name in SQUARE if name in named]
    eyes = {name: cross(named[name].across, named[name].upwards) for name in square}
    ways = [feature.axis] if feature.axis is not None else []
    if not any(abs(dot(way, eye)) > SQUARELY for way in ways for eye in eyes.values()):
        ways += feature.access                         # a rounded corner: from where its cutter comes
    ways = ways or [(0.0, 0.0, 1.0)]

    def worth(name: str) -> float:
        return max(round(abs(facing), 3) + (0.01 if facing > 0 else 0.0)
                   for facing in (dot(way, eyes[name]) for way in ways))

    return max(square, key=worth, default=None)


def _targets(part: Part, frame: Frame, numbered: dict[int, Feature]) -> list[Number]:
    """Where each number points; holes first, because they have but one place."""
    dots: list[Point] = []
    out: list[Number] = []
    for number, feature in sorted(numbered.items(), key=lambda item: (item[1].kind != "hole", item[0])):
        places = [frame.paper(p) for p in _places(part, feature)]
        if not places:
            continue
        free = [p for p in places if all(math.dist(p, d) >= CROWDED for d in dots)]
        best = free[0] if free else max(places, key=lambda p: min(math.dist(p, d) for d in dots))
        dots.append(best)
        out.append(Number(str(number), best))
    return out


def _places(part: Part, feature: Feature) -> list[Vector]:
    """Points of a feature that a line may end at, the best first."""
    faces = [f for f in part.faces if f.number in feature.faces]
    if feature.axis_point is not None and feature.kind == "hole":
        return [feature.axis_point]
    flat = sorted((f for f in faces if f.kind == "plane"), key=lambda f: -f.area)
    facing = [f for f in flat if feature.axis is not None and dot(f.normal, feature.axis) > 0.5]
    middles = [f.centroid for f in (*facing, *flat, *faces)]
    first = [feature.axis_point] if feature.axis_point is not None and not facing else []
    corners = [p for f in faces for line in f.outlines[:1] for p in line[:24]]
    drawn_in = [added(scaled(c, 0.5), scaled(f.centroid, 0.5)) for f in faces[:4]
                for line in f.outlines[:1] for c in line[:24]]
    return [*first, *middles, *drawn_in, *corners]


# --- the sheet -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Sheet:
    scale: float
    width: float
    height: float                      # of the views
    room: Window                       # for the picture
    frames: tuple[Frame, ...] = field(default=())


def _largest(part: Part, named: dict[str, View], numbered: dict[int, Feature]) -> _Sheet:
    """The views at the largest usual scale at which they fit; a crowd of numbers makes the sheet larger instead."""
    bare = next((s for s in SCALES if _fits(_at_scale(part, named, {}, s))), SCALES[-1])
    sheet = _at_scale(part, named, numbered, bare)
    for scale in SCALES:
        if SMALLEST * bare <= scale <= bare:
            sheet = _at_scale(part, named, numbered, scale)
            if _fits(sheet):
                break
    return sheet


def _fits(sheet: _Sheet) -> bool:
    return sheet.width <= WIDTH and sheet.height <= TALLEST


def _at_scale(part: Part, named: dict[str, View], numbered: dict[int, Feature], scale: float) -> _Sheet:
    framed = {name: _framed(part, named, numbered, name, scale) for name in SQUARE if name in named}
    boxes = {name: frame.outer() for name, frame in framed.items()}
    left = max((framed[n].window.x0 - boxes[n].x0 for n in ("plan", "front") if n in framed), default=0.0) + 2.0
    right = max((boxes[n].x1 - framed[n].window.x0 for n in ("plan", "front") if n in framed), default=0.0)
    upper = boxes["plan"].y1 - boxes["plan"].y0 + TITLE if "plan" in boxes else 0.0
    beside = [n for n in ("front", "side") if n in framed]
    above = max((framed[n].window.y0 - boxes[n].y0 for n in beside), default=0.0) + (4.0 if beside else 0.0)
    below = max((boxes[n].y1 - framed[n].window.y0 for n in beside), default=0.0) + (TITLE if beside else 0.0)
    second = boxes["side"].x1 - boxes["side"].x0 + 8.0 if "side" in boxes else 0.0
    picture = PICTURE if "pictorial" in named else 0.0
    aside = WIDTH - (left + right + second) >= 1.4 * picture
    if second and not aside:
        upper = max(upper, picture)                    # the picture stands above the side view
    at = {"plan": (left, framed["plan"].window.y0 - boxes["plan"].y0 + 1.0) if "plan" in framed else (0.0, 0.0),
          "front": (left, upper + above)}
    if "side" in framed:
        at["side"] = (left + right + 8.0 + framed["side"].window.x0 - boxes["side"].x0, upper + above)
    frames = tuple(f.moved(at[n][0] - f.window.x0, at[n][1] - f.window.y0) for n, f in framed.items())
    height = max(upper + above + below + 2.0, picture if framed or picture else 14.0)
    start = left + right + (second if aside else 0.0) + 4.0
    width = max(WIDTH, left + right + (second + picture if aside else max(second, picture)) + 2.0)
    room = Window(start, 0.0, width, height if aside or not second else upper)
    return _Sheet(scale, width, height, room, frames)


def _framed(part: Part, named: dict[str, View], numbered: dict[int, Feature], name: str, scale: float) -> Frame:
    """A view with its numbers, anywhere on the sheet."""
    view = named[name]
    u, v = view.origin
    points = [(scale * (x - u), -scale * (y - v)) for line in (*view.visible, *view.hidden) for x, y in line]
    frame = Frame(view, scale, Window.of(points or [(0.0, 0.0)]), (0.0, 0.0))
    own = {n: f for n, f in numbered.items() if seen_in(f, named) == name}
    return around(frame, _targets(part, frame, own))


def _draw_view(pen: Pen, frame: Frame) -> None:
    view, (x0, y0), scale = frame.view, frame.offset, frame.scale
    for lines, kind in ((view.hidden, "hidden"), (view.visible, "visible")):
        pen.path(([(x0 + scale * (x - view.origin[0]), y0 - scale * (y - view.origin[1])) for x, y in line]
                  for line in lines), "hidden" if kind == "hidden" else "visible")
    for number in frame.numbers:
        pen.path([[number.at, number.target]], "thin")
        pen.circle(number.target, 0.6, fill="black")
    for number in frame.numbers:
        size = min(BALLOON, 0.82 * 2 * RADIUS / (0.602 * max(len(number.text), 2)))
        pen.circle(number.at, RADIUS, fill="white")
        pen.text(number.at, number.text, size, anchor="middle", bold=True)
    below = max([frame.window.y1, *(n.at[1] + RADIUS for n in frame.numbers)])
    pen.text(((frame.window.x0 + frame.window.x1) / 2, below + 3.5), TITLES[view.name], 2.8, anchor="middle")


def _draw_picture(pen: Pen, view: View, room: Window) -> None:
    """The picture, as large as its corner allows."""
    points = [p for line in view.visible for p in line]
    if not points:
        return
    box = Window.of(points)
    edge = 5.0
    size = room.x1 - room.x0 - 2 * edge, room.y1 - room.y0 - 2 * edge - TITLE
    if min(size) < 10.0:
        return
    scale = min(size[0] / max(box.x1 - box.x0, 1e-9), size[1] / max(box.y1 - box.y0, 1e-9))
    middle = (room.x0 + room.x1) / 2, edge + size[1] / 2 + room.y0
    pen.path(([(middle[0] + scale * (x - (box.x0 + box.x1) / 2), middle[1] - scale * (y - (box.y0 + box.y1) / 2))
               for x, y in line] for line in view.visible), "visible")
    pen.text((middle[0], middle[1] + scale * (box.y1 - box.y0) / 2 + 4.5), TITLES["pictorial"], 2.8, anchor="middle")


# --- the table -------------------------------------------------------------------------------------

HEADS: Final = ("no.", "feature", "at x  y  z", "size", "tool from")
COLUMNS: Final = (0.0, 10.0, 52.0, 100.0, 232.0)       #: where each begins [mm]

_Row = tuple[str, list[str], str, list[str], str]


def _table_rows(numbered: dict[int, Feature], system: str) -> list[_Row]:
    out: list[_Row] = []
    letters = int((COLUMNS[4] - COLUMNS[3] - 2.0) / text_width("x"))
    for number, feature in numbered.items():
        sizes = textwrap.wrap(size_words(feature, system), letters) or [""]
        ways = textwrap.wrap(", ".join(map(axis_name, feature.access)) or "no side",
                             int((WIDTH - COLUMNS[4]) / text_width("x")))
        lines = max(len(sizes), len(ways))
        sizes += [""] * (lines - len(sizes))
        at = "" if feature.axis_point is None else "  ".join(_length(x, system, 2) for x in feature.axis_point)
        out.append((str(number), [_name(feature)], at, sizes, "\n".join(ways)))
    return out


def _name(feature: Feature) -> str:
    through = " through" if feature.through and feature.kind in ("hole", "slot", "step") else ""
    return feature.id.replace("_", " ").replace("-", " ") + through


def size_words(feature: Feature, system: str) -> str:
    """The sizes of a feature as the trade writes them, lengths in the unit of the drawing.

    Args:
        feature: the feature.
        system: mm or in.
    """
    parts = []
    for key, value in feature.size.items():
        if key == "inside_radius":
            if value <= 0.0:
                parts.append("sharp corners")
            continue
        text = f"{value:.4g}°" if key.endswith("angle") else _length(value, system)
        parts.append(WORDS.get(key, key.replace("_", " ") + " {}").format(text))
    return ", ".join(parts)


def _length(mm: float, system: str, decimals: int | None = None) -> str:
    """A length without its unit, which stands in the title."""
    digits = None if decimals is None else decimals + (system == "in")
    return tell(mm, "length", system, digits).split()[0]


def _table(pen: Pen, top: float, rows: Sequence[_Row]) -> None:
    y = top + ROW
    for x, head in zip(COLUMNS, HEADS, strict=True):
        pen.text((x, y), head, 2.8, bold=True)
    pen.path([[(0.0, y + ROW / 2), (WIDTH, y + ROW / 2)]], "thin")
    for number, (name,), at, sizes, ways in rows:
        for k, (size, way) in enumerate(zip(sizes, [*ways.split("\n"), *[""] * len(sizes)], strict=False)):
            y += ROW
            cells = (number, name, at, size, way) if k == 0 else ("", "", "", size, way)
            for x, cell in zip(COLUMNS, cells, strict=True):
                if cell:
                    pen.text((x, y), cell)
