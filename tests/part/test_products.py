"""Assemblies: each solid on its own, where the assembly puts it, under its product's name; schemas by their names."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from firstoff.errors import NameUnknown
from firstoff.part import build, exchange, hidden, products, reading, report
from firstoff.part.shapes import Part
from tests.part import models


@cache
def assembled(folder: Path) -> Part:
    """The digest of pin, pin and plate."""
    return build.digest(models.assembly(folder / "made.step"))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Part:
    """The digest of pin, pin and plate, made once."""
    return assembled(tmp_path_factory.mktemp("assembly"))


def test_solids_stand_where_the_assembly_puts_them_under_their_names(made: Part) -> None:
    assert made.names == ("pin", "pin (2)", "plate")
    assert [sum(face.solid == k for face in made.faces) for k in range(3)] == [7, 7, 6]
    bores = [face for face in made.faces if face.kind == "cylinder"]
    assert [face.centroid for face in bores] == [pytest.approx((5, 5, 2.5)), pytest.approx((55, 35, 2.5))]
    assert made.volume == pytest.approx(2 * bores_and_block() + 100 * 60 * 8)


def bores_and_block() -> float:
    """Volume of one pin [mm3]."""
    return 20 * 10 * 5 - 3.141592653589793 * 2**2 * 5


def test_features_never_span_solids_and_are_seen_past_their_own_solid_only(made: Part) -> None:
    for feature in made.features:
        assert len({made.faces[n].solid for n in feature.faces}) == 1
    holes = models.of_kind(made, "hole")
    assert len(holes) == 2
    both = {(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)}
    assert all(set(hole.access) == both for hole in holes), "the plate is not in the way"


@pytest.mark.parametrize("wanted", ["pin (2)", "PIN (2)", "2"])
def test_one_solid_is_read_as_if_it_were_alone(wanted: str, tmp_path: Path) -> None:
    path = models.assembly(tmp_path / "made.step")
    part = build.digest(path, wanted)
    assert (part.solids, part.names, len(part.faces)) == (1, ("pin",), 7)
    assert [feature.id for feature in models.of_kind(part, "hole")] == ["hole-1"]
    assert [face.number for face in part.faces] == list(range(7))
    assert part.low == pytest.approx((50, 30, 0))
    (view,) = hidden.views(path, [("plan", (0, 0, 1), (1, 0, 0))], wanted)
    across = [x for line in view.visible for x, _ in line]
    assert max(across) - min(across) == pytest.approx(10)


def test_a_solid_is_named_after_the_path(tmp_path: Path) -> None:
    path = models.assembly(tmp_path / "made.step")
    part = reading.read(tmp_path / "made.step#plate", tmp_path / "cache")
    assert (part.name, part.names, part.file) == ("plate", ("plate",), "made.step#plate")
    assert part.volume == pytest.approx(48000)
    with pytest.raises(NameUnknown, match="no solid 'lid'") as caught:
        reading.read(tmp_path / "made.step#lid", tmp_path / "cache")
    assert "pin, pin (2), plate, or 1 to 3" in caught.value.right
    assert str(path) in caught.value.where


def test_a_hash_in_the_name_of_a_file_is_no_choice(tmp_path: Path) -> None:
    path = models.write(models.box(1, 2, 3), tmp_path / "a#1.step")
    assert reading.read(path).volume == pytest.approx(6)


def test_the_report_names_each_solid(made: Part) -> None:
    lines = "\n".join(report.as_lines(made))
    assert "2  pin (2): 10 × 20 × 5 mm, faces 7 to 13" in lines
    assert report.as_json(made)["names"] == ["pin", "pin (2)", "plate"]


@pytest.mark.parametrize(("written", "short"), [
    ("AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }", "AP214"), ("CONFIG_CONTROL_DESIGN", "AP203"),
    ("AP203_CONFIGURATION_CONTROLLED_3D_DESIGN_OF_MECHANICAL_PARTS_AND_ASSEMBLIES_MIM_LF { 1 }", "AP203"),
    ("AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF", "AP242"), ("IFC4", "IFC4"),
])
def test_schemas(written: str, short: str) -> None:
    file = exchange.read(f"ISO-10303-21;HEADER;FILE_SCHEMA(('{written}'));ENDSEC;".encode())
    assert products.schema(file) == short


def test_a_file_without_a_schema_or_products() -> None:
    file = exchange.read(b"ISO-10303-21;HEADER;ENDSEC;DATA;#1=MANIFOLD_SOLID_BREP('lid',#2);ENDSEC;")
    assert products.schema(file) == ""
    assert products.names(file, (0, 0, 10**9)) == ("lid", "lid (2)", "solid 3")


def test_the_faces_of_a_solid_with_a_hollow_are_its_outer_shells_then_its_voids(tmp_path: Path) -> None:
    path = models.write(models.without(models.box(10, 10, 10), models.box(2, 2, 2, (4, 4, 4))), tmp_path / "v.step")
    part = build.digest(path)
    file = exchange.read(path.read_bytes())
    (solid,) = products.solids(file)
    listed = products.faces_of(file, solid)
    assert len(listed) == len(part.faces) == 12
    assert [face.area for face in part.faces] == pytest.approx([100] * 6 + [4] * 6)
