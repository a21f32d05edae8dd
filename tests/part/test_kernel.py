"""Faces stand in the order of the file's CLOSED_SHELL; the test reads that order from the text by itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import ModelError
from firstoff.part import build, kernel
from firstoff.part.shapes import Part
from firstoff.part.vectors import dot, sub
from tests.part import models

KINDS = {"PLANE": "plane", "CYLINDRICAL_SURFACE": "cylinder", "CONICAL_SURFACE": "cone"}


def order_agrees(path: Path, part: Part) -> None:
    """Each numbered face has the surface that the text gives in that place."""
    told = [row for shell in models.shells(path) for row in shell]
    assert len(told) == len(part.faces)
    for face, (kind, text, name) in zip(part.faces, told, strict=True):
        assert face.kind == KINDS.get(kind, face.kind)
        assert face.label == name
        if kind == "PLANE":
            x, y, z = models.numbers(text)[-3:]
            assert dot(sub(face.centroid, (x, y, z)), face.normal) == pytest.approx(0.0, abs=1e-6)
        if kind == "CYLINDRICAL_SURFACE":
            assert face.radius in [pytest.approx(number) for number in models.numbers(text)]


@pytest.mark.parametrize("name", models.NAMES)
def test_faces_of_the_example_are_in_the_order_of_the_text(name: str) -> None:
    order_agrees(models.PARTS / f"{name}.step", models.example(name))


def test_faces_of_labelled_models_are_in_the_order_of_the_text(tmp_path: Path) -> None:
    for path in models.labelled(tmp_path, 5):
        order_agrees(path, build.digest(path))


def test_the_order_is_the_texts_and_not_the_kernels(tmp_path: Path) -> None:
    """The same solid with its shell's list turned round is numbered the other way round."""
    text = (models.PARTS / "cap.step").read_text()
    start = text.index("CLOSED_SHELL('',(") + len("CLOSED_SHELL('',(")
    end = text.index(")", start)
    listed = [item.strip() for item in text[start:end].split(",")]
    turned = tmp_path / "turned.step"
    turned.write_text(text[:start] + ",".join(reversed(listed)) + text[end:])
    there, back = models.example("cap"), build.digest(turned)
    assert [face.area for face in back.faces] == pytest.approx([face.area for face in reversed(there.faces)])
    assert [f.kind for f in back.faces] == [f.kind for f in reversed(there.faces)]


def test_a_file_without_solid_says_what_it_holds(tmp_path: Path) -> None:
    from OCP.BRep import BRep_Builder
    from OCP.STEPControl import STEPControl_ShellBasedSurfaceModel
    from OCP.TopAbs import TopAbs_FACE, TopAbs_SHELL
    from OCP.TopoDS import TopoDS_Shell

    shell, builder, skin = next(kernel.explore(models.box(10, 10, 10), TopAbs_SHELL)), BRep_Builder(), TopoDS_Shell()
    builder.MakeShell(skin)
    for face in list(kernel.explore(shell, TopAbs_FACE))[1:]:
        builder.Add(skin, face)
    path = models.write(skin, tmp_path / "skin.step", mode=STEPControl_ShellBasedSurfaceModel)
    with pytest.raises(ModelError, match="surface model") as caught:
        kernel.load(path)
    assert caught.value.where == "skin.step"
    loaded = kernel.load(models.write(shell, tmp_path / "closed.step", mode=STEPControl_ShellBasedSurfaceModel))
    assert loaded.solids[0].volume == pytest.approx(1000.0)
    assert loaded.remarks == (kernel.SEWN,)


@pytest.mark.parametrize("unit", ["MM", "CM", "M", "INCH", "FT"])
def test_lengths_come_out_in_mm_whatever_the_file_says(unit: str, tmp_path: Path) -> None:
    loaded = kernel.load(models.write(models.box(11, 12, 13), tmp_path / "box.step", unit))
    assert loaded.unit == {"INCH": "in"}.get(unit, unit.lower())
    assert loaded.solids[0].volume == pytest.approx(11 * 12 * 13)


def test_a_solid_out_of_all_proportion_is_told_before_it_is_measured(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="no size that a part can have") as caught:
        kernel.load(models.write(models.box(2 * kernel.LARGEST, 10, 10), tmp_path / "far.step"))
    assert caught.value.where == "far.step"
    assert kernel.load(models.write(models.box(1200, 10, 10), tmp_path / "long.step")).solids[0].volume > 0
