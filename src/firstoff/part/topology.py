"""Faces and edges of a solid as plain numbers: kinds, areas, normals, outlines, convexity. Kernel side."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Curve2d, BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepGProp import BRepGProp
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools, BRepTools_WireExplorer
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher as ShapeMap
from OCP.GCPnts import GCPnts_AbscissaPoint, GCPnts_TangentialDeflection
from OCP.GeomAbs import (
    GeomAbs_Cone,
    GeomAbs_Cylinder,
    GeomAbs_Line,
    GeomAbs_Plane,
    GeomAbs_Sphere,
    GeomAbs_Torus,
)
from OCP.gp import gp_Pnt, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_EDGE, TopAbs_REVERSED, TopAbs_WIRE
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

from firstoff.errors import ModelError
from firstoff.part import analytic
from firstoff.part.kernel import ACCURACY, Solid, explore
from firstoff.part.shapes import Convexity, Edge, Face, FaceKind, Polyline, Vector

CHORD = 0.05                             # how far a polyline may leave its arc [mm]
TURN = math.radians(5.0)                 # and by how much it may turn at a point
SMOOTH = math.sin(math.radians(2.0))     # normals nearer than this make a smooth edge
MESH_TURN = 0.35                         # how much triangles of a curved face may turn [rad]

_KINDS: dict[Any, FaceKind] = {
    GeomAbs_Plane: "plane", GeomAbs_Cylinder: "cylinder", GeomAbs_Cone: "cone", GeomAbs_Sphere: "sphere",
    GeomAbs_Torus: "torus",
}


def faces_and_edges(solid: Solid, number: int, first: int, where: str) -> tuple[list[Face], list[Edge]]:
    """The faces of solid `number`, counted from `first`, and the edges between them.

    Args:
        solid: the kernel's solid with its faces in the order of the text.
        number: which solid of the file it is [1].
        first: the number of its first face [1].
        where: name of the file, for messages.

    Raises:
        ModelError: if an edge borders one face only (the shell is open).
    """
    edges = _edges(solid, first, where)
    neighbours: dict[int, set[int]] = {}
    for edge in edges:
        for one, other in (edge.faces, edge.faces[::-1]):
            neighbours.setdefault(one, set()).add(other)
    faces = [
        _face(shape, first + k, number, solid.labels[k], tuple(sorted(neighbours.get(first + k, ()))))
        for k, shape in enumerate(solid.faces)
    ]
    return faces, edges


def _face(shape: Any, number: int, solid: int, label: str, neighbours: tuple[int, ...]) -> Face:
    surface = BRepAdaptor_Surface(shape)
    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, properties, ACCURACY)
    u0, u1, v0, v1 = BRepTools.UVBounds_s(shape)
    point, normal = _normal(shape, surface, (u0 + u1) / 2, (v0 + v1) / 2)
    low, high = _box(shape)
    plain = analytic.surface(shape)
    curved = _curved(plain or surface, np.array(point), np.array(normal), abs(u1 - u0))
    if plain is not None and "sweep" in curved:
        curved["sweep"] = analytic.sweep(surface, (u0, u1, v0, v1), curved["axis_point"], curved["axis"])
    return Face(
        number=number, solid=solid, kind=_KINDS.get((plain or surface).GetType(), "free_form"),
        area=float(properties.Mass()), centroid=_vector(properties.CentreOfMass()), normal=normal, low=low, high=high,
        neighbours=neighbours,
        outlines=_outlines(shape), label=label, **curved,
    )


def _curved(surface: Any, point: Any, normal: Any, sweep: float) -> dict[str, Any]:
    kind = surface.GetType()
    if kind == GeomAbs_Cylinder:
        return _round(surface.Cylinder(), point, normal) | {"radius": surface.Cylinder().Radius(), "sweep": sweep}
    if kind == GeomAbs_Cone:
        cone = surface.Cone()
        angle = cone.SemiAngle()
        return _round(cone, point, normal) | {"radius": cone.RefRadius(), "half_angle": angle, "sweep": sweep}
    if kind == GeomAbs_Sphere:
        centre = np.array(_vector(surface.Sphere().Location()))
        hollow = bool(np.dot(normal, point - centre) < 0)
        return {"axis_point": tuple(centre.tolist()), "radius": surface.Sphere().Radius(), "hollow": hollow}
    if kind == GeomAbs_Torus:
        torus = surface.Torus()
        out = _round(torus, point, normal)
        axis, away = np.array(out["axis"]), point - np.array(out["axis_point"])
        radial = away - axis * np.dot(away, axis)
        ring = np.array(out["axis_point"]) + radial / max(float(np.linalg.norm(radial)), 1e-12) * torus.MajorRadius()
        hollow = bool(np.dot(normal, point - ring) < 0)
        radii = {"radius": torus.MajorRadius(), "minor_radius": torus.MinorRadius()}
        return out | radii | {"hollow": hollow, "sweep": sweep}
    return {}


def _round(geometry: Any, point: Any, normal: Any) -> dict[str, Any]:
    line = geometry.Axis()
    axis, origin = np.array(_vector(line.Direction())), np.array(_vector(line.Location()))
    away = point - origin
    hollow = bool(np.dot(normal, away - axis * np.dot(away, axis)) < 0)
    return {"axis": tuple(axis.tolist()), "axis_point": tuple(origin.tolist()), "hollow": hollow}


def _normal(face: Any, surface: Any, u: float, v: float) -> tuple[Vector, Vector]:
    """The point at (u, v) and the normal there, out of the material."""
    point, du, dv = gp_Pnt(), gp_Vec(), gp_Vec()
    surface.D1(u, v, point, du, dv)
    across = du.Crossed(dv)
    if across.Magnitude() < 1e-12:
        span = max(abs(surface.LastVParameter() - surface.FirstVParameter()), 1e-6) * 1e-3
        surface.D1(u, v + (span if v < surface.LastVParameter() - span else -span), gp_Pnt(), du, dv)
        across = du.Crossed(dv)
    length = across.Magnitude() * (-1.0 if face.Orientation() == TopAbs_REVERSED else 1.0)
    if length == 0.0:
        return _vector(point), (0.0, 0.0, 0.0)
    return _vector(point), _vector(across.Divided(length))


def _edges(solid: Solid, first: int, where: str) -> list[Edge]:
    index = ShapeMap()
    uses: dict[int, list[tuple[int, Any]]] = {}
    for number, face in enumerate(solid.faces):
        for shape in explore(face, TopAbs_EDGE):
            uses.setdefault(index.Add(shape), []).append((number, TopoDS.Edge(shape)))
    surfaces = [BRepAdaptor_Surface(face) for face in solid.faces]
    out = []
    for own in uses.values():
        edge = own[0][1]
        pair = sorted({number for number, _ in own})
        if len(pair) == 1 and not _closes(edge, solid.faces[pair[0]]):
            raise ModelError(
                f"the shell is open: an edge of face {first + pair[0]} borders no other face", where=where,
                right="sew the faces into one closed solid and export it again",
            )
        if len(pair) == 2 and not BRep_Tool.Degenerated_s(edge):
            sides = [(solid.faces[k], surfaces[k]) for k in pair]
            out.append(_edge(edge, sides, (first + pair[0], first + pair[1])))
    return sorted(out, key=lambda edge: edge.faces)


def _closes(edge: Any, face: Any) -> bool:
    return bool(BRep_Tool.Degenerated_s(edge) or BRep_Tool.IsClosed_s(edge, face))


def _edge(edge: Any, sides: list[tuple[Any, Any]], faces: tuple[int, int]) -> Edge:
    """An edge as it runs in the first of its two faces; each side is a face with its surface."""
    curve = BRepAdaptor_Curve(edge)
    return Edge(
        faces=faces, convexity=_convexity(edge, curve, sides), kind=analytic.curve_kind(curve),
        length=float(GCPnts_AbscissaPoint.Length_s(curve)), points=_polyline(curve),
    )


def _convexity(edge: Any, curve: Any, sides: list[tuple[Any, Any]]) -> Convexity:
    """By the oriented normals at mid edge: does face `one` fall away from the plane of `other`?"""
    middle = (curve.FirstParameter() + curve.LastParameter()) / 2
    point, along = gp_Pnt(), gp_Vec()
    curve.D1(middle, point, along)
    sense = -1.0 if edge.Orientation() == TopAbs_REVERSED else 1.0
    tangent = np.array(_vector(along)) * sense / max(along.Magnitude(), 1e-12)
    n1, n2 = (np.array(_normal_on(edge, face, surface, middle)) for face, surface in sides)
    across = _cross(n1, n2)
    if np.dot(across, across) < SMOOTH**2 and np.dot(n1, n2) > 0:
        return "smooth"
    return "convex" if np.dot(n2, _cross(n1, tangent)) < 0 else "concave"


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.array((a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]))


def _normal_on(edge: Any, face: Any, surface: Any, parameter: float) -> Vector:
    place = BRepAdaptor_Curve2d(edge, face).Value(parameter)
    return _normal(face, surface, place.X(), place.Y())[1]


def _outlines(face: Any) -> tuple[Polyline, ...]:
    outer = BRepTools.OuterWire_s(face)
    wires = [TopoDS.Wire(wire) for wire in explore(face, TopAbs_WIRE)]
    wires.sort(key=lambda wire: not wire.IsSame(outer))
    return tuple(_loop(wire, face) for wire in wires)


def _loop(wire: Any, face: Any) -> Polyline:
    points: list[Vector] = []
    walk = BRepTools_WireExplorer(wire, face)
    while walk.More():
        edge = walk.Current()
        if not BRep_Tool.Degenerated_s(edge):
            part = _polyline(BRepAdaptor_Curve(edge))
            part = part[::-1] if edge.Orientation() == TopAbs_REVERSED else part
            points.extend(part[1:] if points and math.dist(points[-1], part[0]) < 1e-6 else part)
        walk.Next()
    return tuple(points)


def _polyline(curve: Any) -> Polyline:
    if curve.GetType() == GeomAbs_Line:
        return _vector(curve.Value(curve.FirstParameter())), _vector(curve.Value(curve.LastParameter()))
    sampled = GCPnts_TangentialDeflection(curve, TURN, CHORD)
    return tuple(_vector(sampled.Value(k)) for k in range(1, sampled.NbPoints() + 1))


def _box(shape: Any) -> tuple[Vector, Vector]:
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    box.SetGap(0.0)
    low, high = box.CornerMin(), box.CornerMax()
    return _rounded(low), _rounded(high)


def _rounded(point: Any) -> Vector:
    """A box corner without the kernel's own tolerance (1e-7)."""
    x, y, z = (round(part, 5) + 0.0 for part in _vector(point))
    return x, y, z


def triangles(solid: Solid, first: int, chord: float) -> tuple[np.ndarray, np.ndarray]:
    """Triangles of the solid's faces, for lines of sight.

    Args:
        solid: the kernel's solid.
        first: the number of its first face [1].
        chord: how far a triangle may leave its face [mm].

    Returns:
        Corners [mm], shape (T, 3, 3), turning left seen from outside; the face of each [1], shape (T,).
    """
    BRepMesh_IncrementalMesh(solid.shape, chord, False, MESH_TURN, False)
    corners: list[np.ndarray] = []
    owner: list[int] = []
    for k, face in enumerate(solid.faces):
        place = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, place)
        if mesh is None:
            continue
        move = place.Transformation()
        nodes = np.array([_vector(mesh.Node(i).Transformed(move)) for i in range(1, mesh.NbNodes() + 1)])
        index = np.array([mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)], dtype=int) - 1
        index = index[:, ::-1] if face.Orientation() == TopAbs_REVERSED else index
        corners.append(nodes[index])
        owner.extend([first + k] * len(index))
    if not corners:
        return np.zeros((0, 3, 3)), np.zeros(0, dtype=int)
    return np.concatenate(corners), np.array(owner, dtype=int)


def _vector(point: Any) -> Vector:
    return float(point.X()) + 0.0, float(point.Y()) + 0.0, float(point.Z()) + 0.0   # no -0.0
