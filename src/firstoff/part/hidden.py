"""Exact hidden lines with the kernel: drawings as polylines in the plane of the paper. Worker side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GCPnts import GCPnts_TangentialDeflection
from OCP.GeomAbs import GeomAbs_Line
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopoDS import TopoDS

from firstoff.part import kernel
from firstoff.part.shapes import Vector, View

CHORD = 0.03                             # how far a drawn line may leave its curve [mm]
TURN = math.radians(6.0)
SHORTEST = 1e-4                          # lines shorter than this are crumbs of the algorithm [mm]

Line = tuple[tuple[float, float], ...]


def views(
    path: Path, wanted: Sequence[tuple[str, Vector, Vector]], only: str | None = None
) -> tuple[View, ...]:
    """The wanted drawings of all solids of a file, or of one: (name, up, across) each."""
    shapes = [solid.shape for solid in kernel.load(path, only).solids]
    return tuple(_view(shapes, name, up, across) for name, up, across in wanted)


def _view(shapes: list[Any], name: str, up: Vector, across: Vector) -> View:
    towards, right = eye(name, np.array(up), np.array(across))
    projector = HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*towards.tolist()), gp_Dir(*right.tolist())))
    algorithm = HLRBRep_Algo()
    for shape in shapes:
        algorithm.Add(shape, 0)
    algorithm.Projector(projector)
    algorithm.Update()
    algorithm.Hide()
    lines = HLRBRep_HLRToShape(algorithm)
    drawn: set[Line] = set()
    visible = _once([*_lines(lines.VCompound()), *_lines(lines.OutLineVCompound())], drawn)
    hidden = _once([*_lines(lines.HCompound()), *_lines(lines.OutLineHCompound())], drawn)
    upwards = np.cross(towards, right)
    return View(
        name=name, up=_tuple(np.array(up)), visible=tuple(visible), hidden=tuple(hidden), origin=(0.0, 0.0),
        across=_tuple(right), upwards=_tuple(upwards),
    )


def eye(name: str, up: np.ndarray, across: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(towards the eye, to the right on paper) of a drawing, in the part's coordinates.

    Args:
        name: plan, front, side or pictorial.
        up: the part's direction that points up in the setting [1], shape (3,).
        across: the part's direction that runs to the right for one in front of the machine [1], shape (3,).
    """
    front = np.cross(across, up)         # from the part towards the person in front of the machine
    if name == "plan":
        return up, across
    if name == "front":
        return front, across
    if name == "side":
        return across, -front
    towards = up + front + across        # isometric: equal angles to all three
    right = across - front
    return towards / np.linalg.norm(towards), right / np.linalg.norm(right)


def _lines(compound: Any) -> list[Line]:
    if compound is None or compound.IsNull():
        return []
    BRepLib.BuildCurves3d_s(compound)
    out = []
    for shape in kernel.explore(compound, TopAbs_EDGE):
        curve = BRepAdaptor_Curve(TopoDS.Edge(shape))
        line = _sampled(curve)
        if sum(math.dist(a, b) for a, b in pairwise(line)) > SHORTEST:
            out.append(line)
    return out


def _once(lines: list[Line], drawn: set[Line]) -> list[Line]:
    """The lines without those that are drawn already, whichever end they begin at; notes what it keeps."""
    out = []
    for line in lines:
        rounded = tuple((round(x, 4), round(y, 4)) for x, y in line)
        key = min(rounded, rounded[::-1])
        if key not in drawn:
            drawn.add(key)
            out.append(line)
    return out


def _sampled(curve: Any) -> Line:
    if curve.GetType() == GeomAbs_Line:
        ends = (curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter()))
        return tuple((p.X() + 0.0, p.Y() + 0.0) for p in ends)
    sampled = GCPnts_TangentialDeflection(curve, TURN, CHORD)
    points = (sampled.Value(k) for k in range(1, sampled.NbPoints() + 1))
    return tuple((p.X() + 0.0, p.Y() + 0.0) for p in points)


def _tuple(vector: np.ndarray) -> Vector:
    x, y, z = (float(v) + 0.0 for v in vector)
    return x, y, z
