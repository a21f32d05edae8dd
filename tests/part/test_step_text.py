"""What is refused before the kernel is asked, and how the text tells its unit and its kind."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import FileError, FirstoffError, ModelError
from firstoff.part import step_text
from tests.part import models

WHOLE = (models.PARTS / "cap.step").read_bytes()


def refused(path: Path) -> FirstoffError:
    """The error that the check raises."""
    with pytest.raises(FirstoffError) as caught:
        step_text.check(path)
    assert str(path) in caught.value.where
    assert caught.value.right
    return caught.value


@pytest.mark.parametrize(("content", "says"), [
    (b"", "empty"),
    (b" \n\t\n", "empty"),
    (b"solid ascii\nfacet normal 0 0 1\n", "not a STEP file"),
    (b"\x00\x01\x02" * 50, "not a STEP file"),
    (WHOLE[: len(WHOLE) // 2], "cut short"),
    (WHOLE.replace(b"END-ISO-10303-21;", b""), "cut short"),
])
def test_bad_files_are_named_with_their_place(content: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.step"
    path.write_bytes(content)
    error = refused(path)
    assert isinstance(error, FileError)
    assert says in error.what


@pytest.mark.parametrize(("start", "says"), [
    (b"PK\x03\x04\x14\x00", "packed"), (b"\x1f\x8b\x08", "packed"), (b"<?xml version='1.0'?><uos/>", "XML"),
    (b"\x89HDF\r\n", "binary STEP"),
])
def test_step_in_another_dress_is_told(start: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "part.step"
    path.write_bytes(start + b"\x00" * 50)
    assert says in refused(path).what


@pytest.mark.parametrize("content", [
    WHOLE + b"SIGNATURE;\n" + b"MIIG" * 5000 + b"\nENDSEC;\n", b"/* by hand */\n" + WHOLE,
    WHOLE.decode("ascii").encode("utf-16"), WHOLE.replace(b"DATA;", b"data;").replace(b"END-ISO", b"end-iso"),
])
def test_odd_but_whole_files_pass(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "odd.step"
    path.write_bytes(content)
    assert step_text.check(path) == content


def test_a_path_with_the_name_of_a_solid(tmp_path: Path) -> None:
    assert step_text.solid_of(tmp_path / "a.step#pin") == (tmp_path / "a.step", "pin")
    assert step_text.solid_of(tmp_path / "a.step#") == (tmp_path / "a.step#", None)
    assert step_text.solid_of(tmp_path / "a.step") == (tmp_path / "a.step", None)
    (tmp_path / "b#1.step").write_bytes(WHOLE)
    assert step_text.solid_of(tmp_path / "b#1.step") == (tmp_path / "b#1.step", None)


def test_faults_of_the_text_are_found_with_their_line(tmp_path: Path) -> None:
    path = tmp_path / "x.step"
    start = "ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n"
    path.write_text(start + "#1=A('see #9',#2);\n#2=B(#3);\nENDSEC;\n")
    assert step_text.fault(path) == ("#2 refers to #3, which is not there", f"{path}, line 6")
    path.write_text(start + "#1=A(#2);\n#2=B(;\nENDSEC;\n")
    assert step_text.fault(path) == ("instance #2 cannot be read", f"{path}, line 6")
    path.write_bytes(WHOLE)
    assert step_text.fault(path) == ("", "")
    assert step_text.fault(tmp_path / "none.step") == ("", "")


def test_numbers_that_no_part_has_are_told_with_their_line(tmp_path: Path) -> None:
    path = tmp_path / "vast.step"
    lines = WHOLE.split(b"\n")
    place = next(k for k, line in enumerate(lines) if b"CARTESIAN_POINT('',(" in line)
    start = lines[place].index(b"',(") + 3
    for number, passes in ((b"1.E400", False), (b"-2.5E+308", False), (b"1.E+100", True), (b"1.E-308", True)):
        spoiled = lines[place][:start] + number + b"," + lines[place][start:]
        path.write_bytes(b"\n".join([*lines[:place], spoiled, *lines[place + 1:]]))
        if passes:
            assert step_text.check(path)
        else:
            error = refused(path)
            assert number.decode() in error.what
            assert error.where.endswith(f"line {place + 1}")


def test_a_cut_file_names_the_line_where_it_ends(tmp_path: Path) -> None:
    path = tmp_path / "cut.step"
    path.write_bytes(b"\n".join(WHOLE.split(b"\n")[:40]))
    assert refused(path).where.endswith("line 40")


def test_a_file_that_is_not_there_and_a_folder(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "nothing.step").what
    assert "not a file" in refused(tmp_path).what


def test_a_file_without_data_holds_no_model(tmp_path: Path) -> None:
    path = tmp_path / "bare.step"
    path.write_text("ISO-10303-21;\nHEADER;\nENDSEC;\nEND-ISO-10303-21;\n")
    assert isinstance(refused(path), ModelError)


@pytest.mark.parametrize("start", [b"", b"\xef\xbb\xbf", b"\n  "])
def test_a_whole_file_passes(start: bytes, tmp_path: Path) -> None:
    path = tmp_path / "whole.step"
    path.write_bytes(start + WHOLE)
    assert step_text.check(path) == start + WHOLE


@given(st.integers(min_value=0, max_value=len(WHOLE) - len(b"END-ISO-10303-21;\n") - 1))
def test_wherever_it_is_cut_it_is_refused(tmp_path_factory: pytest.TempPathFactory, end: int) -> None:
    path = tmp_path_factory.getbasetemp() / "cut.step"
    path.write_bytes(WHOLE[:end])
    assert isinstance(refused(path), FileError)


@pytest.mark.parametrize(("text", "says"), [
    ("#1=OPEN_SHELL('',(#2));#3=SHELL_BASED_SURFACE_MODEL('',(#1));", "open shell"),
    ("#1=SHELL_BASED_SURFACE_MODEL('',(#2));", "surface model"),
    ("#1=TESSELLATED_SOLID('',(#2),$);", "tessellated"),
    ("#1=COMPLEX_TRIANGULATED_FACE('',#2);", "tessellated"),
    ("#1=GEOMETRIC_CURVE_SET('',(#2));", "curves"),
    ("#1=MANIFOLD_SOLID_BREP('',#2);", "cannot be built"),
    ("#1=CARTESIAN_POINT('',(0.,0.,0.));", "holds no solid"),
])
def test_why_there_is_no_solid(text: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "x.step"
    path.write_text(text)
    assert says in step_text.why_no_solid(path)


@pytest.mark.parametrize(("name", "size", "unit"), [
    ("inch", 25.4, "in"), ("", 25.4, "in"), ("", 304.8, "ft"), ("INCH", 25.4, "in"), ("", 7.7, ""),
])
def test_a_unit_by_conversion(name: str, size: float, unit: str) -> None:
    text = (f"#2=(CONVERSION_BASED_UNIT('{name}',#4) LENGTH_UNIT() NAMED_UNIT(#6));\n"
            "#3=(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.));\n"
            "#9=(CONVERSION_BASED_UNIT('degree',#10) PLANE_ANGLE_UNIT() NAMED_UNIT(#6));\n"
            f"#4=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE({size}),#3);")
    assert step_text.unit_by_text(text) == unit


@pytest.mark.parametrize(("name", "unit"), [
    ("millimetre", "mm"), ("METRE", "m"), ("'INCH'", "in"), ("millimeter", "mm"), ("Feet", "ft"), ("cubit", "cubit"),
])
def test_units_have_their_usual_sign(name: str, unit: str) -> None:
    assert step_text.short_unit(name) == unit
