"""Faces and edges that a file writes as splines, or drawn or turned, and that are plain ones. Kernel side."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import (
    GeomAbs_BezierSurface,
    GeomAbs_BSplineSurface,
    GeomAbs_Circle,
    GeomAbs_Ellipse,
    GeomAbs_Line,
    GeomAbs_OffsetSurface,
    GeomAbs_SurfaceOfExtrusion,
    GeomAbs_SurfaceOfRevolution,
)
from OCP.GeomAdaptor import GeomAdaptor_Surface
from OCP.GeomConvert import GeomConvert_SurfToAnaSurf

WITHIN = 1e-3                            # how far a plain surface may lie from what the file writes [mm]
POINTS = 9                               # of a curve that are looked at
GRID = 33                                # places of a surface across and along that are looked at
_OTHERS = (
    GeomAbs_BSplineSurface, GeomAbs_BezierSurface, GeomAbs_SurfaceOfExtrusion, GeomAbs_SurfaceOfRevolution,
    GeomAbs_OffsetSurface,
)
_CURVES = {GeomAbs_Line: "line", GeomAbs_Circle: "circle", GeomAbs_Ellipse: "ellipse"}


def surface(face: Any) -> Any | None:
    """The plane, cylinder, cone, ball or torus that a face is, where its file writes it otherwise; else None.

    Args:
        face: a face of the kernel.
    """
    if BRepAdaptor_Surface(face).GetType() not in _OTHERS:
        return None
    plain = GeomConvert_SurfToAnaSurf(BRep_Tool.Surface_s(face)).ConvertToAnalytical(WITHIN)
    if plain is None:
        return None
    found = GeomAdaptor_Surface(plain)
    return None if found.GetType() in _OTHERS else found


def sweep(written: Any, bounds: tuple[float, float, float, float], origin: Any, axis: Any) -> float:
    """The angle round an axis that a surface covers between the bounds of its two parameters [rad].

    Args:
        written: the surface as the file has it.
        bounds: of the first and the second parameter.
        origin: a point of the axis [mm], shape (3,).
        axis: its direction [1], shape (3,).
    """
    u0, u1, v0, v1 = bounds
    places = [written.Value(u, v) for u in np.linspace(u0, u1, GRID) for v in np.linspace(v0, v1, GRID)]
    away = np.array([(p.X(), p.Y(), p.Z()) for p in places]) - origin
    right = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    right /= np.linalg.norm(right)
    angles = np.sort(np.arctan2(away @ np.cross(axis, right), away @ right))
    gap = float(np.diff(np.append(angles, angles[0] + 2 * math.pi)).max())
    return 2 * math.pi if gap < 3 * 2 * math.pi / GRID else 2 * math.pi - gap


def curve_kind(curve: Any) -> str:
    """line, circle, ellipse or curve; a spline that keeps to a line or a circle is one."""
    known = _CURVES.get(curve.GetType())
    if known is not None:
        return known
    start, end = curve.FirstParameter(), curve.LastParameter()
    points = np.array([(p.X(), p.Y(), p.Z()) for p in (curve.Value(t) for t in np.linspace(start, end, POINTS))])
    if _straight(points):
        return "line"
    return "circle" if _round(points) else "curve"


def _straight(points: np.ndarray) -> bool:
    way = points[-1] - points[0]
    length = float(np.linalg.norm(way))
    return length > WITHIN and bool(np.linalg.norm(np.cross(points - points[0], way / length), axis=1).max() < WITHIN)


def _round(points: np.ndarray) -> bool:
    """Whether all points lie on the circle through three of them."""
    a, b, c = points[0], points[len(points) // 3], points[2 * len(points) // 3]
    ab, ac = b - a, c - a
    normal = np.cross(ab, ac)
    square = float(normal @ normal)
    if square < WITHIN**4:
        return False
    middle = a + (np.cross(normal, ab) * (ac @ ac) + np.cross(ac, normal) * (ab @ ab)) / (2 * square)
    radius = np.linalg.norm(a - middle)
    flat = np.abs((points - middle) @ normal / math.sqrt(square))
    return bool(max(np.abs(np.linalg.norm(points - middle, axis=1) - radius).max(), flat.max()) < WITHIN)
