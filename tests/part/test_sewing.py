"""Faces that only lie side by side make the solid that they would make if they shared their edges."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.TopAbs import TopAbs_FACE
from OCP.TopoDS import TopoDS_Compound, TopoDS_Shell, TopoDS_Solid

from firstoff.errors import ModelError
from firstoff.part import build, kernel, sewing
from tests.part import models


def plate() -> Any:
    """A plate with a hole and a pocket."""
    return models.without(models.box(60, 40, 10), models.bar((15, 20, -1), (0, 0, 1), 8, 20),
                          models.box(20, 20, 10, (30, 10, 6)))


def loose(shape: Any, left_out: int = 0) -> list[Any]:
    """Copies of its faces, which share no edge."""
    faces = list(kernel.explore(shape, TopAbs_FACE))
    return [BRepBuilderAPI_Copy(face).Shape() for face in faces[left_out:]]


def together(faces: list[Any], into: Any, make: str) -> Any:
    """The faces in a shell or compound."""
    builder = BRep_Builder()
    getattr(builder, make)(into)
    for face in faces:
        builder.Add(into, face)
    return into


def test_loose_faces_are_sewn(tmp_path: Path) -> None:
    found = models.digest(together(loose(plate()), TopoDS_Compound(), "MakeCompound"), tmp_path)
    whole = models.digest(plate(), tmp_path)
    assert found.volume == pytest.approx(whole.volume, rel=1e-6)
    assert sorted(f.kind for f in found.features) == sorted(f.kind for f in whole.features)
    assert kernel.SEWN in found.remarks and kernel.SEWN not in whole.remarks


def test_a_solid_whose_faces_share_no_edge_is_sewn(tmp_path: Path) -> None:
    shell = together(loose(plate()), TopoDS_Shell(), "MakeShell")
    found = models.digest(together([shell], TopoDS_Solid(), "MakeSolid"), tmp_path)
    assert found.volume == pytest.approx(models.digest(plate(), tmp_path).volume, rel=1e-6)
    assert [f.size["diameter"] for f in models.of_kind(found, "hole")] == [pytest.approx(8.0)]
    assert kernel.SEWN in found.remarks


def test_what_does_not_close_stays_refused(tmp_path: Path) -> None:
    shape = together(loose(plate(), 1), TopoDS_Compound(), "MakeCompound")
    with pytest.raises(ModelError):
        build.digest(models.write(shape, tmp_path / "open.step"))
    assert sewing.closed(shape, list(kernel.explore(shape, TopAbs_FACE))) is None
    assert sewing.closed(shape, []) is None
