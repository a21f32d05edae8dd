"""The example models are what the drawing says: closed-form volumes, features, access; and the script makes them."""

from __future__ import annotations

import importlib.util
import math
import sys
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from firstoff.part import build
from firstoff.part.shapes import Feature
from firstoff.part.vectors import same
from tests.part import models

PI = math.pi
TAN = math.tan(math.radians(22.0))


def body_volume() -> float:
    """Block, less throat, chamfers and holes."""
    throat = (24 * 14 + 24**2 / (2 * TAN)) * 25.6 - 2 * (9 - 9 * PI / 4) * 24
    lip = 0.5 * 25.6 + 2 * (31.5 - 9 * PI)      # the plane also takes the round corners: 2∫(4-s)(3-√(9-s²))ds
    edges = 2 * 0.5 * 0.5**2 * 110
    taps = 4 * PI * 1.65**2 * (12 + models.cone_height(3.3, 118) / 3)
    cap_screw = PI * 2.1**2 * (12 + models.cone_height(4.2, 118) / 3)
    return 110 * 34 * 24 - throat - lip - edges - taps - cap_screw - 2 * PI * 4 * 24


def sole_volume() -> float:
    """Plate, less mouth, screw holes with their countersinks, dowel holes."""
    deep = (9.6 - 4.5) / 2
    sink = PI * deep / 3 * (4.8**2 + 4.8 * 2.25 + 2.25**2) + PI * 2.25**2 * (5 - deep)
    return 110 * 34 * 5 - (13.4 * 26.4 - (4 - PI) * 4) * 5 - 4 * sink - 2 * PI * 4 * 5


def cap_volume() -> float:
    """The domed plate, by its height over thin strips along x."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    total = 0.0
    for low, high in ((0, 6), (6, 9.75), (9.75, 10.4), (10.4, 12.5)):
        # a root at each end of a strip is smoothed by y = low + (high - low)(1 - cos t)/2
        t = (nodes + 1) * PI / 2
        y = low + (high - low) * (1 - np.cos(t)) / 2
        step = weights * PI / 2 * (high - low) / 2 * np.sin(t)
        off = 12.5 - y
        length = 60 - np.where(y < 6, 6 - np.sqrt(np.maximum(36 - (6 - y) ** 2, 0)), 0)
        for radius in (2.1, 2.75):
            length = length - 2 * np.sqrt(np.maximum(radius**2 - off**2, 0))
        total += float(np.sum(step * length * (3.5 - 60 + np.sqrt(3600 - off**2))))
    return 2 * total


VOLUMES = {"body": body_volume(), "sole": sole_volume(), "cap": cap_volume()}


@pytest.mark.parametrize("name", models.NAMES)
def test_volumes_are_the_closed_forms(name: str) -> None:
    assert models.example(name).volume == pytest.approx(VOLUMES[name], rel=1e-8)


@pytest.mark.parametrize("name", models.NAMES)
def test_every_face_is_in_one_feature(name: str) -> None:
    part = models.example(name)
    assert sorted(n for feature in part.features for n in feature.faces) == list(range(len(part.faces)))
    assert not models.of_kind(part, "not_understood")


@pytest.mark.parametrize(("name", "kinds"), [
    ("body", {"stock": 6, "hole": 7, "chamfer": 3, "passage": 1, "ramp": 1}),
    ("sole", {"stock": 6, "hole": 6, "passage": 1}),
    ("cap", {"stock": 5, "hole": 2, "fillet": 2, "free_form": 1}),
])
def test_features_of_the_example(name: str, kinds: dict[str, int]) -> None:
    assert Counter(feature.kind for feature in models.example(name).features) == kinds


def cut(feature: Feature) -> dict[str, float]:
    """The sizes that were cut, without what is left of the part."""
    return {key: value for key, value in feature.size.items() if key not in ("wall", "floor", "inside_radius")}


def test_body_holes() -> None:
    holes = models.of_kind(models.example("body"), "hole")
    taps = [hole for hole in holes if hole.size["diameter"] == pytest.approx(3.3)]
    assert {(round(h.axis_point[0], 6), round(h.axis_point[1], 6)) for h in taps if h.axis_point} == {
        (10, 7), (10, 27), (101, 7), (101, 27)}
    for hole in taps:
        assert cut(hole) == pytest.approx({"diameter": 3.3, "depth": 12.0, "cone_angle": 118.0})
        assert not hole.through
        assert hole.access == ((0.0, 0.0, -1.0),)
    dowels = [hole for hole in holes if hole.through]
    assert [cut(hole) for hole in dowels] == [pytest.approx({"diameter": 4.0, "depth": 24.0})] * 2
    assert all(len(hole.access) == 2 for hole in dowels)


def test_body_bed_and_the_hole_square_to_it() -> None:
    part = models.example("body")
    (bed,) = models.of_kind(part, "ramp")
    assert bed.size["angle"] == pytest.approx(22.0, abs=1e-6)
    assert bed.size["width"] == pytest.approx(25.6)
    assert bed.size["length"] == pytest.approx(24 / math.sin(math.radians(22)))
    normal = (math.sin(math.radians(22)), 0.0, math.cos(math.radians(22)))
    assert bed.axis is not None
    assert same(bed.axis, normal)
    assert any(same(way, normal) for way in bed.access)
    assert (0.0, 0.0, 1.0) in bed.access
    assert (1.0, 0.0, 0.0) not in bed.access, "the front wall hides it"
    (screw,) = [h for h in models.of_kind(part, "hole") if h.size["diameter"] == pytest.approx(4.2)]
    assert screw.axis is not None
    assert same(screw.axis, bed.axis)
    assert screw.access == (screw.axis,)
    assert screw.axis_point == pytest.approx((45.0, 17.0, 33 * TAN))


def test_body_throat_and_chamfers() -> None:
    part = models.example("body")
    (throat,) = models.of_kind(part, "passage")
    assert throat.through
    assert throat.size["width"] == pytest.approx(25.6)
    assert throat.size["wall"] == pytest.approx((34 - 25.6) / 2), "the cheeks"
    assert throat.size["corner_radius"] == pytest.approx(3.0)
    assert throat.access == ((0.0, 0.0, 1.0),), "the bed closes it from below"
    widths = sorted((round(c.size["width"], 6), round(c.size["angle"], 6)) for c in models.of_kind(part, "chamfer"))
    assert widths == [(0.5, 45.0), (0.5, 45.0), (1.0, 45.0)]
    inner = next(c for c in models.of_kind(part, "chamfer") if c.size["width"] > 0.9)
    beside = [e for e in part.edges if inner.faces[0] in e.faces and e.convexity == "concave"]
    assert len(beside) == 2, "it ends against both cheeks"


def test_sole_holes_and_mouth() -> None:
    part = models.example("sole")
    sunk = [hole for hole in models.of_kind(part, "hole") if "countersink_diameter" in hole.size]
    assert len(sunk) == 4
    for hole in sunk:
        assert cut(hole) == pytest.approx(
            {"diameter": 4.5, "depth": 5.0, "countersink_diameter": 9.6, "countersink_angle": 90.0})
        assert hole.through
        assert hole.axis == (0.0, 0.0, -1.0)
    (mouth,) = models.of_kind(part, "passage")
    assert cut(mouth) == pytest.approx({"length": 26.4, "width": 13.4, "depth": 5.0, "corner_radius": 2.0})
    assert mouth.sides == 4
    assert set(mouth.access) == {(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)}


def test_cap_dome() -> None:
    part = models.example("cap")
    (dome,) = models.of_kind(part, "free_form")
    assert dome.size == pytest.approx({"smallest_radius": 60.0})
    assert (0.0, 0.0, 1.0) in dome.access
    assert sorted(h.size["diameter"] for h in models.of_kind(part, "hole")) == pytest.approx([4.2, 5.5])
    assert [f.size for f in models.of_kind(part, "fillet")] == [pytest.approx({"radius": 6.0})] * 2


@pytest.mark.parametrize("name", models.NAMES)
def test_stock_faces_are_reached_end_on_and_by_the_flank(name: str) -> None:
    for feature in models.of_kind(models.example(name), "stock"):
        assert feature.axis in feature.access
        assert len(feature.access) == 5


def test_the_script_makes_the_committed_models(tmp_path: Path) -> None:
    place = models.ROOT / "scripts" / "make_block_plane.py"
    spec = importlib.util.spec_from_file_location("make_block_plane", place)
    assert spec is not None and spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = script              # dataclasses look their module up
    spec.loader.exec_module(script)
    script.main(tmp_path)
    for name in models.NAMES:
        new, old = build.digest(tmp_path / f"{name}.step"), models.example(name)
        assert new.volume == pytest.approx(old.volume, rel=1e-9)
        assert [face.kind for face in new.faces] == [face.kind for face in old.faces]
        assert "2025-01-01T00:00:00" in (tmp_path / f"{name}.step").read_text()


def test_a_part_in_metres_is_read_in_mm_and_said_so(tmp_path: Path) -> None:
    part = build.digest(models.write(models.box(110, 34, 24), tmp_path / "m.step", "M"))
    assert part.unit == "m"
    assert part.high == pytest.approx((110, 34, 24))
    assert part.volume == pytest.approx(110 * 34 * 24)
    assert any("metres" in remark and "110 mm" in remark for remark in part.remarks)


def test_two_solids_are_numbered_one_after_the_other(tmp_path: Path) -> None:
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    both, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(both)
    for x in (0.0, 50.0):
        builder.Add(both, models.box(10, 10, 10, (x, 0, 0)))
    part = models.digest(both, tmp_path)
    assert part.solids == 2
    assert [face.solid for face in part.faces] == [0] * 6 + [1] * 6
    assert [face.number for face in part.faces] == list(range(12))
    assert part.volume == pytest.approx(2000)
    assert len(models.of_kind(part, "stock")) == 12


@pytest.mark.parametrize("take", [1, 3])
def test_labelled_models_are_understood_without_leftovers(take: int, tmp_path: Path) -> None:
    for path in models.labelled(tmp_path, 4)[take - 1: take + 1]:
        part = build.digest(path)
        assert sorted(n for f in part.features for n in f.faces) == list(range(len(part.faces)))
        assert not models.of_kind(part, "not_understood")
        assert all(feature.access for feature in part.features)


@pytest.mark.slow
@pytest.mark.parametrize("number", ["01_asme1_ap242-e1", "03_asme1_ap242-e2", "05_asme1_ap242-e1"])
def test_big_parts_are_read_whole(number: str) -> None:
    path = models.SHARED / "models" / f"nist_ctc_{number}.stp"
    if not path.exists():
        pytest.skip("the big models are not here")
    part = build.digest(path)
    assert sorted(n for f in part.features for n in f.faces) == list(range(len(part.faces)))
    assert part.unit == ("in" if number.startswith("05") else "mm")
    assert len(models.of_kind(part, "hole")) >= 10
