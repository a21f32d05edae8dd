"""The drawing of one setting: plan above front, side beside it, and a picture from in front of the machine.

Views come as plain lines; what is added here is what a person needs to set the work up: stock,
jaws and parallels, datum faces, zero, stop, how far it stands up, and where each operation works.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from ..dryrun.placing import ALONG, Block, Placed
from ..job.faces import dot
from ..part.shapes import Vector, View
from .marks import BESIDE, balloons, centre_lines, clamp_tips, datums, lower_row, stick_up, stop, zero_mark
from .pane import ABOVE_PLAN, BELOW_PLAN, Pane, Window
from .pen import LETTER, Pen, Point, hull
from .words import roughly

WIDTH: Final = 186.0                #: of the drawing: A4 between its margins [mm]
TALLEST: Final = 128.0              #: so that how it is held still stands on the same page [mm]
SCALES: Final = (10.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0, 1 / 1.5, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 10, 1 / 20, 1 / 50)
LEFT, RIGHT, CLIP = 15.0, 15.0, 5.0     # room beside a view for marks; how far jaws show past the work [mm]
ROW = 9.5                           # height of a row of balloons above and below the plan [mm]
NAMED = 3.5                         # below numbers that stand under the plan, for its name [mm]
TITLE = 6.0                         # below the plan, where only its name stands [mm]
BELOW = 8.0                         # below the bed: its hatching and the name of the view [mm]
ABOVE = 11.0                        # above the front view: the z axis [mm]
PICTURE: Final = 48.0               #: least width of the picture and its name [mm]
PARALLEL: Final = 5.0               #: thickness of a parallel as drawn [mm]
TITLES: Final = {"plan": "plan", "front": "front", "side": "from the right",
                 "pictorial": "from in front of the machine, not to scale"}


@dataclass(frozen=True)
class Drawing:
    """An SVG with its size on paper [mm]."""

    svg: str
    width: float
    height: float
    scale: str
    left_out: tuple[str, ...] = ()   # marks that could not be drawn, in words


def setting_drawing(placed: Placed, views: Iterable[View], numbers: Mapping[str, tuple[int, ...]],
                    system: str = "mm", tallest: float = TALLEST, width: float = WIDTH) -> Drawing:
    """The drawing of a setting.

    Args:
        placed: the part in its setting.
        views: plan, front, side, pictorial, as far as there are any.
        numbers: feature or face -> numbers of the operations that work on it.
        system: mm or in, for the dimensions told.
        tallest: that the drawing may be [mm].
        width: of the paper [mm]; letters have one size on any.

    Returns:
        The drawing; with no view at all it only says so.
    """
    named = {view.name: view for view in views}
    layout = _layout(placed, named, numbers, tallest, width)
    pen = Pen(width, layout.height)
    for name in ("plan", "front", "side"):
        if name in named:
            pane = Pane(pen, placed, named[name], layout.scale, layout.at[name], CLIP)
            _orthographic(pane, numbers, system, layout.lower)
    if "pictorial" in named:
        _pictorial(pen, placed, named["pictorial"], layout.room)
    if not named:
        pen.text((width / 2, 8.0), "no drawing: the model has no lines to show", anchor="middle")
    return Drawing(pen.svg(), width, pen.height, scale_name(layout.scale), _said_of_zero(placed))


def _said_of_zero(placed: Placed) -> tuple[str, ...]:
    """What the mark of zero does not tell: that it is not there, or which corner it is in a tilted setting."""
    if placed.zero() is None:
        return ("Zero is not drawn: its faces are not all flat, or do not meet in one corner",)
    zero = placed.setting.zero
    sides = [placed.side(name) for name in (zero.x, zero.y, zero.z)]
    square = all(side is not None and abs(placed.machine(side.normal)[axis]) >= ALONG
                 for axis, side in enumerate(sides))
    return () if square else (f"Zero is the corner in which {zero.x}, {zero.y} and {zero.z} meet",)


def scale_name(scale: float) -> str:
    """A scale as it is written: "2 : 1", "1 : 1.5"."""
    return f"{scale:g} : 1" if scale >= 1 else f"1 : {1 / scale:g}"


@dataclass(frozen=True)
class _Layout:
    scale: float
    height: float
    at: dict[str, tuple[float, float]]     # where the model's origin comes to lie
    room: Window                           # for the picture
    lower: bool                            # whether numbers stand below the plan too


def _layout(placed: Placed, named: Mapping[str, View], numbers: Mapping[str, tuple[int, ...]],
            tallest: float, width: float) -> _Layout:
    low, high = placed.extent()
    held = placed.jaws()
    low_y, high_y = (min([low[1], *(b.low[1] for b in held)]), max([high[1], *(b.high[1] for b in held)]))
    foot = placed.bed()
    for scale in SCALES:
        first = LEFT + (high[0] - low[0]) * scale + RIGHT
        second = (high_y - low_y) * scale + 2 * CLIP if "side" in named else 0.0
        over = max((high_y - high[1]) * scale, ABOVE_PLAN)
        under = max((low[1] - low_y) * scale, BELOW_PLAN)
        lower = lower_row(placed, numbers, (high[0] - low[0]) * scale + 2 * (CLIP + BESIDE))
        rows = 2 * ROW + NAMED if lower else ROW + TITLE
        plan = over + (high[1] - low[1]) * scale + under + rows if "plan" in named else 0.0
        below = max(BELOW, 11.0 - (low[2] - foot) * scale)
        front = ABOVE + (high[2] - foot) * scale + below if {"front", "side"} & named.keys() else 0.0
        needed = max(plan + front, 16.0)
        if first + max(second, PICTURE if "pictorial" in named else 0.0) <= width and needed <= tallest:
            break
    aside = width - first - second >= PICTURE and second > 0       # the picture beside all three, not above one
    x = LEFT - low[0] * scale
    upright = plan + ABOVE + high[2] * scale
    middle = second / 2 if aside else (width - first) / 2
    centre = first + middle - (low_y + high_y) / 2 * scale
    at = {"plan": (x, ROW + over + high[1] * scale), "front": (x, upright), "side": (centre, upright)}
    whole = aside or "side" not in named
    room = Window(first + second if aside else first, 0.0, width, needed if whole else plan if plan else 40.0)
    return _Layout(scale, max(needed, room.y1 if "pictorial" in named else 0.0), at, room, lower)


def _orthographic(pane: Pane, numbers: Mapping[str, tuple[int, ...]], system: str, lower: bool) -> None:
    """One view with all that is marked on it, from the back of the paper to its front."""
    placed, name = pane.placed, pane.view.name
    _holding(pane)
    if placed.setting.stock_left:
        outline = hull(pane.paper(p) for p in placed.corners())
        pane.pen.path([[*outline, outline[0]]], "chain")
    pane.pen.path(pane.lines(pane.view.hidden), "hidden")
    pane.pen.path(pane.lines(pane.view.visible), "visible")
    centre_lines(pane)
    datums(pane)
    if name in ("plan", "front"):
        stop(pane)
        clamp_tips(pane)
        zero_mark(pane)
    if name == "front":
        stick_up(pane, lambda mm: roughly(mm, system).removesuffix(system).strip())
    if name == "plan":
        balloons(pane, numbers, ROW, lower)
    window = pane.frame()
    if name != "plan":
        pane.pen.text(((window.x0 + window.x1) / 2, window.y1 + 5.0), TITLES[name], 2.8, anchor="middle")
    else:
        pane.pen.text((0.0, window.y1 + (ROW + NAMED / 2 if lower else 4.0)), f"plan, {scale_name(pane.scale)}", 2.8)


def _holding(pane: Pane) -> None:
    """Jaws, parallels and what it all stands on; plain outlines, hatched where they are cut or beside the work."""
    placed = pane.placed
    work = pane.work()
    jaws = placed.jaws()
    flat = pane.view.name == "plan"
    across = [jaw for jaw in jaws if abs(dot(jaw.outward, pane.viewer)) < 0.7]
    for jaw in across:
        _beside(pane, jaw)
    if not flat:
        _standing(pane, jaws)
    if jaws and not across and not flat:
        top = placed.jaw_top() or 0.0
        y = pane.paper(placed.model((0.0, 0.0, top)))[1]
        inside, outside = work.x0, work.x1
        pane.pen.path([[(inside - CLIP, y), (outside + CLIP, y)]], "chain")
        for x in (inside - CLIP, outside + 0.6):
            pane.pen.hatch((x, y), (x + CLIP - 0.6, y + 3.0), 1.2)


def _beside(pane: Pane, jaw: Block) -> None:
    """A jaw seen from its end or from above: hatched, its outer side broken off."""
    box, work = pane.block(jaw), pane.work()
    out = (dot(jaw.outward, pane.view.across), -dot(jaw.outward, pane.view.upwards))
    if abs(out[0]) > abs(out[1]):
        low, high = (box.x0, max(box.y0, work.y0 - CLIP)), (box.x1, box.y1)
        if pane.view.name == "plan":
            high = (box.x1, min(box.y1, work.y1 + CLIP))
        edge = low[0] if out[0] > 0 else high[0]
        far = high[0] if out[0] > 0 else low[0]
        line = [(far, low[1]), (edge, low[1]), (edge, high[1]), (far, high[1])]
    else:
        low, high = (max(box.x0, work.x0 - CLIP), box.y0), (min(box.x1, work.x1 + CLIP), box.y1)
        edge = high[1] if out[1] < 0 else low[1]
        far = low[1] if out[1] < 0 else high[1]
        line = [(low[0], far), (low[0], edge), (high[0], edge), (high[0], far)]
    pane.pen.hatch(low, high, 2.4)
    pane.pen.path([line], "thin")


def _standing(pane: Pane, jaws: tuple[Block, ...]) -> None:
    """Parallels, if any, and the line of the bed with its hatching."""
    placed, work = pane.placed, pane.work()
    bed, low, high = placed.bed(), *placed.extent()
    y = pane.paper(placed.model((0.0, 0.0, bed)))[1]
    if bed < low[2] - 1e-6:
        for jaw in jaws:
            pane.box_of(_parallel(placed, jaw, low, high), "thin")
        if not jaws:
            _packing(pane, work, y)
    _wedge(pane, y)
    reach = max((pane.block(jaw).x1 - work.x1 for jaw in jaws if abs(dot(jaw.outward, pane.view.across)) > 0.7),
                default=CLIP)
    pane.pen.path([[(work.x0 - reach, y), (work.x1 + reach, y)]], "thin")
    pane.pen.hatch((work.x0 - reach, y), (work.x1 + reach, y + 2.0), 1.6)


def _packing(pane: Pane, work: Window, bed: float) -> None:
    """What work stands on that no jaws hold: two parallels at its ends, where the checks take them to stand."""
    up = pane.placed.setting.up
    apart = tuple(float(i == min(range(3), key=lambda k: abs(up[k]))) for i in range(3))
    wide = pane.scale * PARALLEL
    if abs(dot((apart[0], apart[1], apart[2]), pane.view.across)) < ALONG or work.x1 - work.x0 < 3.0 * wide:
        pane.pen.box((work.x0, work.y1), (work.x1, bed), "thin")
        return
    for x in (work.x0, work.x1 - wide):
        pane.pen.box((x, work.y1), (x + wide, bed), "thin")


def _wedge(pane: Pane, bed: float) -> None:
    """What fills the gap under a work that is tilted, where its resting face is seen on edge."""
    side = pane.placed.side(pane.placed.setting.holding.rest)
    face = pane.placed.face(pane.placed.setting.holding.rest)
    if side is None or face is None or abs(dot(side.normal, pane.viewer)) > 0.2:
        return
    if dot(side.normal, pane.placed.setting.up) < -ALONG:
        return
    ends = sorted(pane.paper(p) for line in face.outlines for p in line)
    if ends:
        left, right = ends[0], ends[-1]
        pane.pen.path([[left, right, (right[0], bed), (left[0], bed), left]], "thin")
        high, low = sorted((left, right), key=lambda p: p[1])
        _named(pane, high, low, bed)


def _named(pane: Pane, high: Point, low: Point, bed: float) -> None:
    """The block under a tilted work by its name, where it is highest."""
    device = pane.placed.device
    if device is not None and device.kind == "angle_block" and bed - high[1] > 2.0 * LETTER:
        inwards = 1.0 if low[0] > high[0] else -1.0
        anchor = "start" if inwards > 0.0 else "end"
        pane.pen.text((high[0] + inwards, bed - LETTER), "block", LETTER, anchor=anchor)


def _parallel(placed: Placed, jaw: Block, low: Vector, high: Vector) -> Block:
    """The parallel beside a jaw: as long as the work, against the jaw's face."""
    way = placed.machine(jaw.outward)
    axis = 0 if abs(way[0]) > abs(way[1]) else 1
    a, b = list(low), list(high)
    if way[axis] > 0:
        a[axis], b[axis] = jaw.low[axis] - PARALLEL, jaw.low[axis]
    else:
        a[axis], b[axis] = jaw.high[axis], jaw.high[axis] + PARALLEL
    a[2], b[2] = placed.bed(), low[2]
    return Block((a[0], a[1], a[2]), (b[0], b[1], b[2]), jaw.outward)


def _pictorial(pen: Pen, placed: Placed, view: View, room: Window) -> None:
    """The picture, as large as its corner allows, with the axes at zero."""
    points = [p for line in (*view.visible, *view.hidden) for p in line]
    if not points or room.x1 - room.x0 < 20.0:
        return
    low = (min(p[0] for p in points), min(p[1] for p in points))
    high = (max(p[0] for p in points), max(p[1] for p in points))
    edge = 11.0
    size = (room.x1 - room.x0 - 2 * edge, room.y1 - room.y0 - 2 * edge - LETTER)
    scale = min(size[0] / max(high[0] - low[0], 1e-9), size[1] / max(high[1] - low[1], 1e-9))
    at = ((room.x0 + room.x1) / 2 - scale * ((low[0] + high[0]) / 2 - view.origin[0]),
          (room.y0 + room.y1 - LETTER) / 2 + scale * ((low[1] + high[1]) / 2 - view.origin[1]))
    pane = Pane(pen, placed, view, scale, at, 0.0)
    pen.path(pane.lines(view.visible), "visible")
    zero_mark(pane)
    bottom = (room.y0 + room.y1 + scale * (high[1] - low[1])) / 2 + 5.0
    for i, text in enumerate(TITLES["pictorial"].split(", ")):
        at = ((room.x0 + room.x1) / 2, min(bottom, room.y1 - 5.6) + 3.6 * i)
        pen.text(at, text, 2.8, anchor="middle")
