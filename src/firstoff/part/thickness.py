"""What a feature leaves of the part: its thinnest wall and floor, and its smallest inside radius. mm.

Rays run from points on the feature's faces straight into the material, to where they come out of it.

Source: own (intersection of rays and triangles by their plane equations).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from firstoff.part.graph import Graph
from firstoff.part.shapes import Face, Feature, Vector
from firstoff.part.vectors import ALIKE, AXES, dot, span

CUT = ("hole", "pocket", "slot", "passage", "step", "groove")
POINTS = 8                               # rays for a face
ROUND = 2 * np.pi - 0.02                 # the turn of a whole bore [rad]
ROUND_WAYS = 24                          # rays round a bore
LEVELS = (0.1, 0.5, 0.9)                 # and where along it [1]
REACH = 2.0                              # of a round wall, how far off material matters, in its diameters [1]


def add(
    features: Iterable[Feature], graph: Graph, corners: np.ndarray, owner: np.ndarray
) -> tuple[Feature, ...]:
    """The features with `wall`, `floor` and `inside_radius` among their sizes, where they have such.

    Args:
        features: the features of the part.
        graph: its faces and edges.
        corners: its triangles, turning left seen from outside [mm], shape (T, 3, 3).
        owner: the face of each triangle [1], shape (T,).
    """
    body = _Body(corners, owner)
    return tuple(replace(f, size=f.size | _left(f, graph, body)) if f.kind in CUT else f for f in features)


def _left(feature: Feature, graph: Graph, body: _Body) -> dict[str, float]:
    thin: dict[str, float] = {}
    floors = _floors(feature, graph)
    for n in feature.faces:
        face = graph.faces[n]
        reach = np.inf if face.kind == "plane" else REACH * 2 * (face.radius or 0.0)
        if face.kind == "cylinder" and face.hollow and (face.sweep or 0.0) > ROUND:
            found = body.round_depth(face, _all_round(graph, n, face.axis or AXES[0]), reach)
        else:
            found = body.depth(n, reach)
        if np.isfinite(found):
            key = "floor" if n in floors else "wall"
            thin[key] = min(thin.get(key, np.inf), found)
    return thin | _inside(feature, graph)


def _all_round(graph: Graph, n: int, axis: Vector) -> tuple[float, float]:
    """From where to where along the axis a wall stands all round, also where its rims slant."""
    low, high = span(graph.points([n]), axis)
    rims = [span(edge.points, axis) for edge in graph.at.get(n, ()) if edge.kind != "line"]
    foot = max((top for bottom, top in rims if bottom + top <= low + high), default=low)
    mouth = min((bottom for bottom, top in rims if bottom + top > low + high), default=high)
    return (foot, mouth) if foot < mouth else (low, high)


def _floors(feature: Feature, graph: Graph) -> set[int]:
    """The faces that look towards the tool; of a hole only that at its bottom, not a countersink or shoulder."""
    if feature.axis is None or (feature.kind == "hole" and feature.through):
        return set()
    axis, faces = feature.axis, [graph.faces[n] for n in feature.faces]
    floors = {f.number for f in faces if f.kind != "cylinder" and dot(f.normal, axis) > ALIKE}
    if feature.kind != "hole":
        return floors
    bottom = span(graph.points(feature.faces), axis)[0]
    pointed = {f.number for f in faces if f.kind == "cone"}
    return {n for n in floors | pointed if span(graph.points([n]), axis)[0] < bottom + ALIKE}


def _inside(feature: Feature, graph: Graph) -> dict[str, float]:
    """Nought where two walls meet in a sharp corner along the tool."""
    if feature.kind == "hole" or feature.axis is None:
        return {}
    own = set(feature.faces)
    sharp = any(
        edge.convexity == "concave" and set(edge.faces) <= own and edge.kind == "line"
        and _upright(edge.points[0], edge.points[-1], feature.axis)
        for n in own for edge in graph.at.get(n, ())
    )
    radii = [feature.size[key] for key in ("corner_radius", "floor_radius") if key in feature.size]
    return {"inside_radius": 0.0} if sharp else {"inside_radius": min(radii)} if radii else {}


def _upright(start: Vector, end: Vector, axis: Vector) -> bool:
    way = np.subtract(end, start)
    return bool(np.linalg.norm(np.cross(way, axis)) < ALIKE * max(float(np.linalg.norm(way)), 1e-9))


class _Body:
    """The part's triangles, ready for rays."""

    def __init__(self, corners: np.ndarray, owner: np.ndarray) -> None:
        self.corners, self.owner = corners, owner
        self.low, self.high = corners.min(axis=1), corners.max(axis=1)
        self.edges = corners[:, 1:] - corners[:, :1]
        self.longest = float(np.linalg.norm(self.high.max(axis=0) - self.low.min(axis=0)))
        turn = np.cross(self.edges[:, 0], self.edges[:, 1])
        self.areas = np.linalg.norm(turn, axis=1)
        self.normals = turn / np.maximum(self.areas, 1e-12)[:, None]

    def depth(self, face: int, reach: float) -> float:
        """The least distance through the material, square to a face, to where another face ends it [mm]."""
        own = np.flatnonzero((self.owner == face) & (self.areas > 1e-9))
        rows = own[np.argsort(-self.areas[own], kind="stable")]
        rows = rows[:: max(len(rows) // POINTS, 1)][:POINTS]
        starts, ways = self.corners[rows].mean(axis=1), -self.normals[rows]
        return self._first(starts, ways, min(reach, self.longest), face) if len(rows) else np.inf

    def round_depth(self, face: Face, heights: tuple[float, float], reach: float) -> float:
        """The same for a whole bore, square to its axis all round [mm]."""
        axis, point = np.array(face.axis), np.array(face.axis_point)
        right = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
        right /= np.linalg.norm(right)
        turn = np.linspace(0.0, 2 * np.pi, ROUND_WAYS, endpoint=False)[:, None]
        ways = np.cos(turn) * right + np.sin(turn) * np.cross(axis, right)
        low, high = heights
        levels = low + (high - low) * np.array(LEVELS) - point @ axis
        starts = (point + levels[:, None, None] * axis + (face.radius or 0.0) * ways).reshape(-1, 3)
        return self._first(starts, np.tile(ways, (len(LEVELS), 1)), min(reach, self.longest), face.number)

    def _first(self, starts: np.ndarray, ways: np.ndarray, reach: float, face: int) -> float:
        """Where rays leave the material: the nearest triangle of another face that looks their way."""
        ends = np.concatenate([starts, starts + ways * reach])
        low, high = ends.min(axis=0) - 1e-6, ends.max(axis=0) + 1e-6
        near = np.flatnonzero(np.logical_and.reduce([
            *(self.high[:, k] >= low[k] for k in range(3)), *(self.low[:, k] <= high[k] for k in range(3)),
            self.owner != face]))
        if not len(near):
            return np.inf
        a, ab, ac = self.corners[near, 0], self.edges[near, 0], self.edges[near, 1]
        away = starts[:, None] - a
        across, turned = np.cross(ways[:, None], ac), np.cross(away, ab)
        scale = np.einsum("tc,rtc->rt", ab, across)
        scale = np.where(scale < -1e-12, scale, -np.inf)             # seen from within: it turns right
        u = np.einsum("rtc,rtc->rt", away, across) / scale
        v = np.einsum("rtc,rc->rt", turned, ways) / scale
        t = np.einsum("tc,rtc->rt", ac, turned) / scale
        hit = (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1 + 1e-9) & (t > 1e-4) & (t < reach) & np.isfinite(scale)
        return float(t[hit].min(initial=np.inf))
