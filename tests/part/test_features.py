"""Every face is in one feature; ids are stable; bosses, grooves, roundings; the same part turned is the same.

And every part of `scripts/made_shapes.py` is seen to have the features that it was given, and no others.
"""

from __future__ import annotations

import importlib.util
import sys
from collections import Counter
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from firstoff.part import features
from firstoff.part.shapes import Feature
from tests.part import models
from tests.part.test_topology import faces_and_edges


def understood(shape: Any) -> tuple[Feature, ...]:
    """The features of a solid; every face is checked to be in one."""
    faces, edges = faces_and_edges(shape)
    found = features.recognise(faces, edges)
    assert sorted(n for feature in found for n in feature.faces) == [face.number for face in faces]
    return found


def kinds(shape: Any) -> Counter[str]:
    """How many features of each kind, but for the stock."""
    return Counter(feature.kind for feature in understood(shape) if feature.kind != "stock")


def test_a_bare_block_is_six_faces_of_stock() -> None:
    found = understood(models.box(30, 20, 10))
    assert [feature.id for feature in found] == [f"stock-{k}" for k in range(1, 7)]
    assert sorted(tuple(sorted(f.size.values())) for f in found) == [
        pytest.approx(pair) for pair in [(10, 20)] * 2 + [(10, 30)] * 2 + [(20, 30)] * 2]
    assert all(feature.axis == pytest.approx(faces_and_edges(models.box(30, 20, 10))[0][feature.faces[0]].normal)
               for feature in found)


def test_ids_count_by_the_smallest_face() -> None:
    for name in models.NAMES:
        by_kind: dict[str, list[int]] = {}
        for feature in models.example(name).features:
            by_kind.setdefault(feature.kind, []).append(min(feature.faces))
            assert feature.id == f"{feature.kind}-{len(by_kind[feature.kind])}"
        assert all(firsts == sorted(firsts) for firsts in by_kind.values())


def test_a_round_boss_on_a_plate() -> None:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    shape = BRepAlgoAPI_Fuse(models.box(40, 40, 10), models.bar((20, 20, 10), (0, 0, 1), 12, 6)).Shape()
    (boss,) = [feature for feature in understood(shape) if feature.kind == "boss"]
    assert boss.size == pytest.approx({"diameter": 12, "height": 6})
    assert boss.axis == pytest.approx((0, 0, 1))
    assert kinds(shape) == {"boss": 1, "step": 1}, "the shoulder round it is a flat below the top"


def test_a_square_boss_on_a_plate() -> None:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    shape = BRepAlgoAPI_Fuse(models.box(40, 40, 10), models.box(10, 10, 6, (15, 15, 10))).Shape()
    assert kinds(shape) == {"boss": 1}


def test_a_groove_turned_into_a_shaft() -> None:
    shaft = models.bar((0, 0, 0), (0, 0, 1), 20, 50)
    ring = models.without(models.bar((0, 0, 20), (0, 0, 1), 30, 4), models.bar((0, 0, 19), (0, 0, 1), 14, 6))
    (groove,) = [feature for feature in understood(models.without(shaft, ring)) if feature.kind == "groove"]
    assert groove.size == pytest.approx({"diameter": 14, "width": 4})
    assert len(groove.faces) == 3


def test_rounded_edges_are_fillets_and_inside_corners_belong_to_their_pocket() -> None:
    from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
    from OCP.TopAbs import TopAbs_EDGE
    from OCP.TopoDS import TopoDS

    from firstoff.part import kernel

    def rounded(solid: Any, radius: float) -> Any:
        work = BRepFilletAPI_MakeFillet(solid)
        seen = set()
        for edge in kernel.explore(solid, TopAbs_EDGE):
            work.Add(radius, TopoDS.Edge(edge))
            seen.add(edge)
        return work.Shape()

    assert [f.size for f in understood(rounded(models.box(30, 30, 30), 3)) if f.kind == "fillet"] == [
        pytest.approx({"radius": 3})], "all round, one feature"
    pocket = models.without(models.box(50, 50, 20), rounded(models.box(30, 20, 30, (10, 15, 8)), 2))
    (found,) = [feature for feature in understood(pocket) if feature.kind == "pocket"]
    assert found.size == pytest.approx(
        {"length": 30, "width": 20, "depth": 10, "corner_radius": 2, "floor_radius": 2}, abs=2.1)
    assert len(found.faces) == 5 + 4 + 4 + 4


def test_a_rib_between_two_shoulders_is_a_boss() -> None:
    shoulders = (models.box(50, 15, 15, (-5, y, 10)) for y in (-1.0, 26.0))
    shape = models.without(models.box(40, 40, 20), *shoulders)
    assert set(kinds(shape)) <= {"boss", "step"}


@pytest.mark.parametrize("name", models.NAMES)
def test_a_part_turned_about_is_understood_the_same(name: str) -> None:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Trsf

    from firstoff.part import kernel

    solid = kernel.load(models.PARTS / f"{name}.step").solids[0].shape
    there = Counter((f.kind, len(f.faces), f.through, f.open, f.sides) for f in models.example(name).features)
    for axis in ((0, 0, 1), (0, 1, 0), (1, 0, 0)):
        turn = gp_Trsf()
        turn.SetRotation(gp_Ax1(gp_Pnt(3, 4, 5), gp_Dir(*axis)), 3.141592653589793 / 2)
        turned = understood(BRepBuilderAPI_Transform(solid, turn, True).Shape())
        assert Counter((f.kind, len(f.faces), f.through, f.open, f.sides) for f in turned) == there


def script() -> ModuleType:
    """The script, by its path."""
    spec = importlib.util.spec_from_file_location("made_shapes", models.ROOT / "scripts" / "made_shapes.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


MADE = script()


@pytest.mark.parametrize("name", MADE.SHAPES)
def test_a_made_part_has_its_features(name: str, tmp_path: Path) -> None:
    build, wanted = MADE.SHAPES[name]
    assert MADE.missing(models.digest(build(), tmp_path).features, wanted) == []


def test_what_is_missing_is_told(tmp_path: Path) -> None:
    bored = models.without(models.box(20, 20, 9), models.bar((9, 9, -1), (0, 0, 1), 4, 20))
    found = models.digest(bored, tmp_path).features
    assert MADE.missing(found, [("hole", 1, {"diameter": 4.0, "through": True, "reached": True})]) == []
    told = MADE.missing(found, [("hole", 1, {"diameter": 5.0})])
    assert len(told) == 2 and "0 found" in told[0] and "too many" in told[1]
