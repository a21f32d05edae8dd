"""Marks on a view: datum faces, zero with its axes, stop, height above the jaws, centre lines, numbers.

Datum letters stand as ISO 5459 has them, a filled triangle on the face or on a line that carries it on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from ..dryrun.fouls import TIP
from ..dryrun.placing import ALONG, Placed, Side, added, scaled
from ..job.faces import dot
from ..part.shapes import Feature, Vector
from .pane import Pane, Window
from .pen import LETTER, Pen, Point, text_width, unit

LETTERS: Final = "ABCDEF"
EDGE_ON: Final = 0.2            #: a face whose normal has less than this towards the eye is seen on edge
BALLOON: Final = 3.9            #: font size of an operation's number [mm]
GAP: Final = 1.5                #: between two of them [mm]
BESIDE: Final = 9.0             #: how far a row reaches past the work and what is shown beside it [mm]
NEAR: Final = 0.1               #: what lies this near to the middle counts to the upper row [mm]


def edge_on(pane: Pane, side: Side) -> bool:
    """Whether a face is seen on edge in this view, square to the paper's axes."""
    u, v = pane.way(side.normal)
    return abs(dot(side.normal, pane.viewer)) < EDGE_ON and min(abs(u), abs(v)) < EDGE_ON


def _marked_here(pane: Pane, side: Side) -> bool:
    """True in the one view where this datum is marked: heights in front, the rest in plan."""
    wanted = "front" if abs(dot(side.normal, pane.placed.setting.up)) > 0.7 else "plan"
    return pane.view.name == wanted and edge_on(pane, side)


def datums(pane: Pane) -> None:
    """Datum faces with their letters: A is what it rests on, then B, then C."""
    work = pane.work()
    sides = zip(LETTERS, map(pane.placed.side, pane.placed.setting.datums), strict=False)
    here = [(letter, side) for letter, side in sides if side is not None and _marked_here(pane, side)]
    lower = any(pane.way(side.normal)[1] > 0.7 for _, side in here)    # a letter already stands at the lower edge
    for letter, side in here:
        out = pane.way(side.normal)
        foot = pane.paper(scaled(side.normal, side.out))
        if abs(out[1]) > abs(out[0]):
            face = (work.x0, foot[1])
            at = (work.x0 - pane.clip - 5.0, foot[1])
        else:
            face = (foot[0], work.y0 if lower else work.y1)
            away = 4.5 + max(0.0, 3.0 - (work.y1 - work.y0) / 2)          # past a stop on thin work
            at = (foot[0], face[1] + (-away if lower else away))
        past = unit((at[0] - face[0], at[1] - face[1]))
        line = [(face[0] + past[0], face[1] + past[1]), (at[0] + 2 * past[0], at[1] + 2 * past[1])]
        pane.pen.path([line], "thin")
        _datum(pane.pen, at, unit(out), letter)


def _datum(pen: Pen, at: Point, out: Point, letter: str) -> None:
    """Triangle, leader and letter in its frame, outward from a face."""
    along = (-out[1], out[0])
    tip = (at[0] + 2.2 * out[0], at[1] + 2.2 * out[1])
    pen.fill([(at[0] + 1.5 * along[0], at[1] + 1.5 * along[1]), tip,
              (at[0] - 1.5 * along[0], at[1] - 1.5 * along[1])])
    middle = (at[0] + 6.0 * out[0], at[1] + 6.0 * out[1])
    pen.path([[tip, (at[0] + 3.5 * out[0], at[1] + 3.5 * out[1])]], "thin")
    pen.box((middle[0] - 2.5, middle[1] - 2.5), (middle[0] + 2.5, middle[1] + 2.5), "thin", fill="white")
    pen.text(middle, letter, 4.2, anchor="middle", bold=True)


def zero_mark(pane: Pane, length: float = 8.0) -> None:
    """Zero as a quartered circle, with arrows along the axes that can be seen."""
    at = pane.placed.zero()
    if at is None:
        return
    here = pane.paper(pane.placed.model(at))
    for axis, name in zip(pane.placed.axes, "xyz", strict=True):
        u, v = pane.way(axis)
        seen = (u * u + v * v) ** 0.5
        if seen < 0.2:
            continue
        tip = (here[0] + length * u, here[1] + length * v)
        pane.pen.arrow(here, tip, "thin", 2.8)
        label = (tip[0] + 2.2, tip[1] + 1.0) if abs(v) > abs(u) else (tip[0] - 0.6, tip[1] - 2.4)
        if pane.view.name == "pictorial":
            label = (tip[0] + 2.2 * u / seen, tip[1] + 2.2 * v / seen)
        pane.pen.text(label, name, LETTER, anchor="middle", bold=True)
    _quartered(pane.pen, here, 1.9)


def _quartered(pen: Pen, at: Point, radius: float) -> None:
    pen.circle(at, radius, fill="white")
    for sign in (1.0, -1.0):
        arc = [(at[0] + sign * radius * c, at[1] - sign * radius * s)
               for c, s in ((1, 0), (0.924, 0.383), (0.707, 0.707), (0.383, 0.924), (0, 1))]
        pen.fill([at, *arc])


def stop(pane: Pane) -> None:
    """The stop: a hatched block against its face."""
    name = pane.placed.setting.holding.stop
    side = pane.placed.side(name) if name else None
    if side is None:
        return
    if pane.view.name == "front" and _leans(pane, side):
        _leaning_stop(pane, side)
    if not edge_on(pane, side) or pane.view.name != "plan":
        return
    work, out = pane.work(), unit(pane.way(side.normal))
    foot = pane.paper(scaled(side.normal, side.out))
    middle = ((foot[0], (work.y0 + work.y1) / 2) if abs(out[0]) > 0.7 else ((work.x0 + work.x1) / 2, foot[1]))
    along = (abs(out[1]), abs(out[0]))
    far = (middle[0] + 4.0 * out[0], middle[1] + 4.0 * out[1])
    box = Window.of([(p[0] + s * 4.0 * along[0], p[1] + s * 4.0 * along[1]) for p in (middle, far) for s in (-1, 1)])
    pane.pen.box((box.x0, box.y0), (box.x1, box.y1), "visible", fill="white")
    pane.pen.hatch((box.x0, box.y0), (box.x1, box.y1), 1.2)
    past = 6.5 if work.y1 - work.y0 > 16.0 else 12.0                    # past the axis, where work is thin
    label = (middle[0] + past * out[0], middle[1] + past * out[1])
    pane.pen.text(label, "stop", LETTER, anchor="middle", turn=-90.0 if abs(out[0]) > 0.7 else 0.0, plate=True)


def _leans(pane: Pane, side: Side) -> bool:
    """Whether a face of a tilted work is seen on edge here, and in the plan is not."""
    tilted = EDGE_ON < abs(dot(side.normal, pane.placed.setting.up)) < ALONG
    return tilted and abs(dot(side.normal, pane.viewer)) < EDGE_ON


def _leaning_stop(pane: Pane, side: Side) -> None:
    """The same against a face that leans: square to it, at its middle."""
    beyond = side.out - dot(side.middle, side.normal)
    foot, out = pane.paper(added(side.middle, scaled(side.normal, beyond))), unit(pane.way(side.normal))

    def at(along: float, away: float) -> Point:
        return foot[0] - along * out[1] + away * out[0], foot[1] + along * out[0] + away * out[1]

    pane.pen.fill([at(-4.0, 0.0), at(4.0, 0.0), at(4.0, 4.0), at(-4.0, 4.0)], "white", "visible")
    pane.pen.path([[at(k, 0.0), at(k + 2.6, 4.0)] for k in (-4.0, -1.4, 1.2)], "thin")
    pane.pen.text(at(0.0, 6.0), "stop", LETTER, anchor="end" if out[0] < 0.0 else "start", plate=True)


def clamp_tips(pane: Pane) -> None:
    """Where clamps or screws press, in plan: a ring with its number."""
    if pane.view.name != "plan":
        return
    low, high = pane.placed.extent()
    for number, (along, away) in enumerate(pane.placed.setting.holding.clamps, 1):
        at = pane.paper(pane.placed.model((low[0] + along, low[1] + away, high[2])))
        radius = max(pane.scale * TIP / 2.0, 1.6)
        pane.pen.circle(at, radius, fill="white")
        pane.pen.text((at[0], at[1] + LETTER / 3.0), f"K{number}", LETTER, anchor="middle")


def stick_up(pane: Pane, told: Callable[[float], str]) -> None:
    """How far the work stands above the jaws, as a dimension beside it."""
    top = pane.placed.jaw_top()
    if top is None:
        return
    high = pane.placed.extent()[1][2]
    work = pane.work()
    y_top = pane.paper(pane.placed.model((0.0, 0.0, high)))[1]
    y_jaw = pane.paper(pane.placed.model((0.0, 0.0, top)))[1]
    x = work.x1 + pane.clip + 5.5
    pane.pen.path([[(work.x1 + 1.0, y_top), (x + 1.5, y_top)], [(work.x1 + pane.clip, y_jaw), (x + 1.5, y_jaw)]],
                  "thin")
    if y_jaw - y_top > 7.0:
        pane.pen.arrow((x, y_jaw), (x, y_top))
        pane.pen.head((x, y_top), (x, y_jaw))
        pane.pen.text((x + 2.6, (y_top + y_jaw) / 2), told(high - top), LETTER, anchor="middle", turn=-90.0)
    else:
        pane.pen.arrow((x, y_top - 5.0), (x, y_top))
        pane.pen.arrow((x, y_jaw + 5.0), (x, y_jaw))
        pane.pen.text((x + 2.6, y_top - 4.0), told(high - top), LETTER, anchor="middle", turn=-90.0)


def centre_lines(pane: Pane) -> None:
    """Centre lines of holes: a cross where one looks into them, a line where one looks at their side."""
    for feature in pane.placed.part.features:
        if feature.kind != "hole" or feature.axis is None or feature.axis_point is None:
            continue
        at, radius = pane.paper(feature.axis_point), pane.scale * feature.size.get("diameter", 4.0) / 2
        if abs(dot(feature.axis, pane.viewer)) > 0.99:
            arm = radius + 1.5
            pane.pen.path([[(at[0] - arm, at[1]), (at[0] + arm, at[1])],
                           [(at[0], at[1] - arm), (at[0], at[1] + arm)]], "thin" if arm < 4.0 else "centre")
        elif abs(dot(feature.axis, pane.viewer)) < 0.01 and (depth := feature.size.get("depth")):
            out = pane.way(feature.axis)
            length = depth * pane.scale + 1.5
            pane.pen.path([[(at[0] + 1.5 * out[0], at[1] + 1.5 * out[1]),
                            (at[0] - length * out[0], at[1] - length * out[1])]], "centre")


@dataclass
class _Balloon:
    text: str
    anchors: list[Point]
    upper: bool = True
    x: float = 0.0

    @property
    def width(self) -> float:
        return max(text_width(self.text, BALLOON) + 3.4, 6.6)


def _grouped(placed: Placed, numbers: Mapping[str, tuple[int, ...]]) -> dict[tuple[int, ...], list[Vector]]:
    """Places by the operations that work there."""
    groups: dict[tuple[int, ...], list[Vector]] = {}
    for name, ops in numbers.items():
        at = where(placed, name)
        if at is not None:
            groups.setdefault(tuple(sorted(set(ops))), []).append(at)
    return groups


def lower_row(placed: Placed, numbers: Mapping[str, tuple[int, ...]], room: float) -> bool:
    """Whether a row of numbers below the plan is needed: something lies only at the front, or one row is too short.

    Args:
        placed: the part in its setting.
        numbers: feature or face -> numbers of the operations that work on it.
        room: length of a row [mm].
    """
    low, high = placed.extent()
    groups = _grouped(placed, numbers)
    middle = (low[1] + high[1]) / 2 - NEAR
    front = any(max(placed.machine(p)[1] for p in places) < middle for places in groups.values())
    widths = [_Balloon(_label(ops, len(places)), []).width + GAP for ops, places in groups.items()]
    return front or sum(widths) > room


def balloons(pane: Pane, numbers: Mapping[str, tuple[int, ...]], row: float, lower: bool = True) -> None:
    """Numbers of operations above the view, and below it where wanted, each with a line to where it works."""
    frame, work = pane.frame(), pane.work()
    middle = (work.y0 + work.y1) / 2
    made = [_Balloon(_label(ops, len(places)), [pane.paper(p) for p in places])
            for ops, places in sorted(_grouped(pane.placed, numbers).items())]
    room = Window(work.x0 - pane.clip - BESIDE, frame.y0, work.x1 + pane.clip + BESIDE, frame.y1)
    if lower:
        _share(made, middle, room.x1 - room.x0)
    for upper in (True, False):
        line = [b for b in made if b.upper is upper]
        _spread(line, room, upper)
        y = frame.y0 - row + 4.0 if upper else frame.y1 + row - 4.0
        for balloon in line:
            _draw(pane.pen, balloon, y)


def where(placed: Placed, name: str) -> Vector | None:
    """Where on the part an operation works, by feature or face."""
    feature = next((f for f in placed.part.features if f.id == name), None)
    if feature is None:
        side, face = placed.side(name), placed.face(name)
        return face.centroid if face is not None else side.middle if side is not None else None
    if feature.kind == "hole" and feature.axis_point is not None:
        return feature.axis_point
    return _middle(placed, feature)


def _middle(placed: Placed, feature: Feature) -> Vector | None:
    faces = [f for f in placed.part.faces if f.number in feature.faces]
    area = sum(f.area for f in faces)
    return added(*(scaled(f.centroid, f.area / area) for f in faces)) if area > 0 else None


def _label(ops: tuple[int, ...], places: int) -> str:
    text = " ".join(map(str, ops)) if len(ops) <= 4 else f"{ops[0]} … {ops[-1]}"
    return f"{places}× {text}" if places > 1 else text


def _share(made: list[_Balloon], middle: float, room: float) -> None:
    """Give each balloon to the row that is nearer, until that row is full."""
    used = {True: 0.0, False: 0.0}
    for balloon in made:
        near = min(balloon.anchors, key=lambda p: p[1])[1] < middle + NEAR
        need = balloon.width + GAP
        balloon.upper = near if used[near] + need <= room or used[not near] + need > room else not near
        used[balloon.upper] += need


def _spread(line: list[_Balloon], room: Window, upper: bool) -> None:
    """Set a row out in the order of the places, without overlap, each as near to its own as it can."""
    for balloon in line:
        balloon.anchors.sort(key=lambda p: p[1] if upper else -p[1])
        balloon.x = balloon.anchors[0][0]
    line.sort(key=lambda b: b.x)
    edge = room.x0
    for balloon in line:
        balloon.x = max(balloon.x, edge + balloon.width / 2)
        edge = balloon.x + balloon.width / 2 + 1.5
    edge = room.x1
    for balloon in reversed(line):
        balloon.x = min(balloon.x, edge - balloon.width / 2)
        edge = balloon.x - balloon.width / 2 - 1.5


def _draw(pen: Pen, balloon: _Balloon, y: float) -> None:
    target = min(balloon.anchors, key=lambda p: (p[0] - balloon.x) ** 2 + (p[1] - y) ** 2)
    pen.path([[(balloon.x, y), target]], "thin")
    pen.circle(target, 0.6, fill="black")
    half, r = balloon.width / 2, 3.1
    arc = [(0.0, -1.0), (0.383, -0.924), (0.707, -0.707), (0.924, -0.383), (1.0, 0.0), (0.924, 0.383),
           (0.707, 0.707), (0.383, 0.924), (0.0, 1.0)]
    right = [(balloon.x + half - r + c * r, y + s * r) for c, s in arc]
    left = [(balloon.x - half + r - c * r, y + s * r) for c, s in reversed(arc)]
    pen.fill([*right, *left], "white", "thin")
    pen.text((balloon.x, y), balloon.text, BALLOON, anchor="middle", bold=True)
