"""Cubes with random slots, steps, pockets, passages, chamfers that cut into one another, labelled by construction.

Every feature is a prism cut out of a 10 mm cube; its sizes are drawn at random, so that no two features share
a plane, and a face of the finished solid belongs to the feature in whose plane it lies.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from firstoff.part import features, judging, kernel, topology
from firstoff.part.shapes import Edge, Face, Vector

SIDE = 10.0                              # of the cube [mm]
OVER = 1.0                               # how far a prism reaches out of it where the feature is open [mm]
NEAR = 1e-5                              # distance within which a face lies in a plane of a prism [mm]
Outline = list[tuple[float, float]]


@dataclass(frozen=True)
class Prism:
    """What is cut away: an outline on one side of the cube, and its depth; and which class it is."""

    name: str
    outline: Outline
    depth: float
    turn: int                            # which side of the cube, and which way round: 0 to 23


def _between(r: random.Random, low: float, high: float) -> float:
    return r.uniform(low, high)


def _slot(r: random.Random) -> Prism:
    a = _between(r, 1.0, 7.0)
    outline = [(a, -OVER), (a + _between(r, 1.0, 9.0 - a), -OVER)]
    outline += [(outline[1][0], SIDE + OVER), (a, SIDE + OVER)]
    return Prism("rectangular_through_slot", outline, _between(r, 1.0, 5.0), r.randrange(24))


def _blind_slot(r: random.Random) -> Prism:
    a, end = _between(r, 1.0, 7.0), _between(r, 2.0, 8.0)
    b = a + _between(r, 1.0, 9.0 - a)
    return Prism("rectangular_blind_slot", [(a, -OVER), (b, -OVER), (b, end), (a, end)], _between(r, 1.0, 5.0),
                 r.randrange(24))


def _vee(r: random.Random) -> Prism:
    """A vee lies along the side: its outline is seen from the end."""
    a = _between(r, 1.0, 7.0)
    b = a + _between(r, 1.0, 9.0 - a)
    tip = (_between(r, a + 0.2, b - 0.2), _between(r, 1.0, 5.0))
    lean = [(tip[0] + (x - tip[0]) * (tip[1] + OVER) / tip[1], -OVER) for x in (a, b)]
    return Prism("triangular_through_slot", [*lean, tip], SIDE + OVER, r.randrange(24))


def _polygon(r: random.Random, sides: int) -> Outline:
    """Three corners anywhere that are not too sharp; four of a rectangle; six of a regular one, turned."""
    x, y, radius = _between(r, 3.0, 7.0), _between(r, 3.0, 7.0), _between(r, 0.9, 2.6)
    if sides == 4:
        w, h = _between(r, 0.6, 2.5), _between(r, 0.6, 2.5)
        return [(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)]
    start = _between(r, 0.0, 2 * math.pi)
    jitter = [_between(r, -0.3, 0.3) if sides == 3 else 0.0 for _ in range(sides)]
    angles = [start + 2 * math.pi * k / sides + jitter[k] for k in range(sides)]
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in angles]


_SIDES = {3: "triangular", 4: "rectangular", 6: "6sides"}


def _pocket(r: random.Random) -> Prism:
    sides = r.choice((3, 4, 6))
    return Prism(f"{_SIDES[sides]}_pocket", _polygon(r, sides), _between(r, 1.0, 6.0), r.randrange(24))


def _passage(r: random.Random) -> Prism:
    sides = r.choice((3, 4, 6))
    return Prism(f"{_SIDES[sides]}_passage", _polygon(r, sides), SIDE + OVER, r.randrange(24))


def _step(r: random.Random) -> Prism:
    a, b = _between(r, 1.0, 5.0), _between(r, 1.0, 5.0)
    name = r.choice(("rectangular", "slanted", "2sides"))
    back = {"rectangular": [(SIDE + OVER, a), (-OVER, a)], "slanted": [(SIDE, b), (0.0, a)],
            "2sides": [(SIDE, b), (_between(r, 3.0, 7.0), max(a, b) + _between(r, 0.5, 3.0)), (0.0, a)]}[name]
    ends = [] if name == "rectangular" else [[(SIDE + OVER, b)], [(-OVER, a)]]
    line = back if not ends else [*ends[0], *back, *ends[1]]
    return Prism(f"{name}_through_step", [(-OVER, -OVER), (SIDE + OVER, -OVER), *line], _between(r, 1.0, 5.0),
                 r.randrange(24))


def _corner(r: random.Random) -> Prism:
    a, b, depth, turn = (_between(r, 1.5, 7.0), _between(r, 1.5, 7.0), _between(r, 1.0, 6.0), r.randrange(24))
    if r.random() < 0.5:
        return Prism("rectangular_blind_step", [(-OVER, -OVER), (a, -OVER), (a, b), (-OVER, b)], depth, turn)
    return Prism("triangular_blind_step", _cut_corner(a, b), depth, turn)


def _chamfer(r: random.Random) -> Prism:
    return Prism("chamfer", _cut_corner(_between(r, 0.5, 4.0), _between(r, 0.5, 4.0)), SIDE + OVER, r.randrange(24))


def _cut_corner(a: float, b: float) -> Outline:
    """The slanting line from (a, 0) to (0, b), drawn on past the sides of the cube."""
    return [(-OVER, -OVER), (a + OVER * a / b, -OVER), (-OVER, b + OVER * b / a)]


_KINDS = (_slot, _blind_slot, _vee, _pocket, _pocket, _passage, _passage, _step, _step, _corner, _chamfer)


def _placed(point: tuple[float, float, float], turn: int) -> Vector:
    """One of the 24 turns of the cube about its middle."""
    x, y, z = (part - SIDE / 2 for part in point)
    for _ in range(turn % 4):
        x, y = -y, x
    for _ in range(turn // 4 if turn < 16 else 0):
        y, z = -z, y
    if turn >= 16:
        x, z = (-z, x) if turn < 20 else (z, -x)
    return x + SIDE / 2, y + SIDE / 2, z + SIDE / 2


def _solid(prism: Prism) -> tuple[Any, list[tuple[Vector, float]]]:
    """The prism, from above the top of the cube down to its depth; and the planes it leaves, facing into it."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    floor = SIDE - prism.depth
    low = [_placed((x, y, floor), prism.turn) for x, y in prism.outline]
    high = [_placed((x, y, SIDE + OVER), prism.turn) for x, y in prism.outline]
    outline = BRepBuilderAPI_MakePolygon()
    for point in low:
        outline.Add(gp_Pnt(*point))
    outline.Close()
    rise = gp_Vec(gp_Pnt(*low[0]), gp_Pnt(*high[0]))
    up = (rise.X() / rise.Magnitude(), rise.Y() / rise.Magnitude(), rise.Z() / rise.Magnitude())
    planes = [(up, _dot(up, low[0]))]
    for one, other in zip(low, low[1:] + low[:1], strict=True):
        way = (other[0] - one[0], other[1] - one[1], other[2] - one[2])
        inward = (up[1] * way[2] - up[2] * way[1], up[2] * way[0] - up[0] * way[2], up[0] * way[1] - up[1] * way[0])
        length = math.sqrt(_dot(inward, inward))
        normal = (inward[0] / length, inward[1] / length, inward[2] / length)
        planes.append((normal, _dot(normal, one)))
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(outline.Wire()).Face(), rise).Shape(), planes


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _label(face: Face, cut: list[tuple[str, list[tuple[Vector, float]]]]) -> str | None:
    """Whose plane the face lies in; None where that is not one only."""
    names = {name for name, planes in cut for normal, at in planes
             if abs(_dot(normal, face.centroid) - at) < NEAR and abs(abs(_dot(normal, face.normal)) - 1.0) < NEAR}
    sides = [(k, at) for k in range(3) for at in (0.0, SIDE)]
    on_cube = any(abs(face.low[k] - at) < NEAR and abs(face.high[k] - at) < NEAR for k, at in sides)
    if on_cube:
        return "stock"
    return names.pop() if len(names) == 1 else None


def made(seed: int, most: int) -> tuple[list[Face], list[Edge], list[str]] | None:
    """A cube with 2 to `most` features, and the class of each face; None where the draw gave no such cube."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.TopAbs import TopAbs_FACE, TopAbs_SOLID
    from OCP.TopoDS import TopoDS

    r = random.Random(seed)
    shape, cut = BRepPrimAPI_MakeBox(SIDE, SIDE, SIDE).Shape(), []
    for _ in range(r.randint(2, most)):
        prism = r.choice(_KINDS)(r)
        tool, planes = _solid(prism)
        shape = BRepAlgoAPI_Cut(shape, tool).Shape()
        cut.append((prism.name, planes))
    solids = list(kernel.explore(shape, TopAbs_SOLID))
    if len(solids) != 1:
        return None
    own = tuple(TopoDS.Face(face) for face in kernel.explore(solids[0], TopAbs_FACE))
    solid = kernel.Solid(solids[0], own, ("",) * len(own), 1.0)
    faces, edges = topology.faces_and_edges(solid, 0, 0, f"made-{seed}")
    labels = [_label(face, cut) for face in faces]
    whole = all(min(f.low[k] for f in faces) < NEAR and max(f.high[k] for f in faces) > SIDE - NEAR for k in range(3))
    named = [label for label in labels if label is not None]
    return (faces, edges, named) if whole and len(named) == len(labels) else None


def judged(first: int, count: int, most: int) -> Iterator[judging.Score]:
    """The scores of that many made cubes, drawn from seed `first` on."""
    seed, done = first, 0
    while done < count:
        drawn = made(seed, most)
        seed += 1
        if drawn is None:
            continue
        faces, edges, labels = drawn
        found = features.recognise(faces, edges)
        yield judging.score(f"made-{seed - 1}", faces, found, dict(enumerate(labels)))
        done += 1
