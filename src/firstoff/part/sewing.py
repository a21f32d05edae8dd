"""Faces that lie side by side without sharing their edges, sewn into a closed solid. Kernel side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
from OCP.BRepLib import BRepLib
from OCP.TopAbs import TopAbs_FACE, TopAbs_SHELL
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

GAP = 0.01                               # edges no further apart than this are one edge [mm]


def closed(shape: Any, faces: Sequence[Any]) -> tuple[Any, tuple[Any, ...]] | None:
    """The solid that these faces close, and the faces as they are in it, in their order; None where they do not.

    Args:
        shape: what holds the faces.
        faces: all its faces, in the order that is to be kept.
    """
    if not faces:
        return None
    work = BRepBuilderAPI_Sewing(GAP)
    work.Add(shape)
    work.Perform()
    shells = _explored(work.SewedShape(), TopAbs_SHELL)
    if len(shells) != 1 or work.NbFreeEdges() or not BRep_Tool.IsClosed_s(shells[0]):
        return None
    solid = BRepBuilderAPI_MakeSolid(TopoDS.Shell(shells[0])).Solid()
    BRepLib.OrientClosedSolid_s(solid)
    own = _explored(solid, TopAbs_FACE)
    kept = []
    for face in faces:
        new = work.ModifiedSubShape(face) if work.IsModifiedSubShape(face) else face
        kept += [known for known in own if known.IsSame(new)]
    return (solid, tuple(TopoDS.Face(face) for face in kept)) if len(kept) == len(own) else None


def _explored(shape: Any, kind: Any) -> list[Any]:
    out, walk = [], TopExp_Explorer(shape, kind)
    while walk.More():
        out.append(walk.Current())
        walk.Next()
    return out
