"""Limits in a file's own text: against the shapes that they name, and against the standards body's five parts."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache

import pytest

from firstoff.part import exchange, kernel, limits, products, topology
from firstoff.part.shapes import Face, ModelLimit
from tests.part import models

FILES = {1: "01_asme1_ap242-e1", 2: "02_asme1_ap242-e2", 3: "03_asme1_ap242-e2", 4: "04_asme1_ap242-e1",
         5: "05_asme1_ap242-e1"}
#: Entities of each kind, counted in the text by a plain search.
COUNTS = {
    1: {"diameter": 9, "distance": 2, "angle": 1, "position": 2, "profile": 2, "perpendicularity": 1, "flatness": 1},
    2: {"diameter": 7, "profile": 13, "position": 4, "perpendicularity": 3, "flatness": 1, "line_profile": 1},
    3: {"diameter": 8, "thickness": 1, "distance": 1, "position": 6, "profile": 3, "perpendicularity": 2,
        "angularity": 1, "flatness": 1},
    4: {"diameter": 6, "distance": 3, "angle": 1, "position": 4, "profile": 3},
    5: {"diameter": 1, "distance": 5, "runout": 3, "total_runout": 2, "perpendicularity": 2, "straightness": 1,
        "concentricity": 1, "roundness": 1},
}
DATUMS = {1: "ABC", 2: "ABCDEFGHJK", 3: "ABCDEF", 4: "ABCDEFGH", 5: "ABCD"}


def text(number: int) -> bytes:
    """One of the big models, if it is there."""
    path = models.SHARED / "models" / f"nist_ctc_{FILES[number]}.stp"
    if not path.exists():
        pytest.skip("the big models are not here")
    return path.read_bytes()


@cache
def told(number: int) -> limits.Told:
    """What the text of a big model tells, without the kernel."""
    file = exchange.read(text(number))
    (solid,) = products.solids(file)
    return limits.told(file, (0,), (len(products.faces_of(file, solid)),))


@cache
def faces(number: int) -> list[Face]:
    """The faces of a big model, by the kernel."""
    text(number)
    path = models.SHARED / "models" / f"nist_ctc_{FILES[number]}.stp"
    (solid,) = kernel.load(path).solids
    return topology.faces_and_edges(solid, 0, 0, path.name)[0]


def of(number: int, kind: str) -> list[ModelLimit]:
    """The limits of one kind."""
    return [limit for limit in told(number).limits if limit.kind == kind]


@pytest.mark.parametrize("number", FILES)
def test_every_limit_of_the_text_is_found_by_kind(number: int) -> None:
    assert Counter(limit.kind for limit in told(number).limits) == COUNTS[number]
    assert "".join(sorted(datum.letter for datum in told(number).datums)) == DATUMS[number]


@pytest.mark.parametrize("number", FILES)
def test_no_value_is_0_and_every_range_is_round_its_value(number: int) -> None:
    for limit in told(number).limits:
        assert limit.value is None or limit.value > 0
        if limit.value is not None and limit.upper is not None and limit.lower is not None:
            assert limit.lower <= limit.value <= limit.upper
            assert limit.lower < limit.upper


def test_what_is_only_drawn_has_no_value_and_is_said() -> None:
    bare = [limit for limit in told(1).limits if limit.value is None]
    assert sorted(limit.kind for limit in bare) == ["diameter", "diameter", "distance", "distance"]
    assert all(limit.faces for limit in bare)
    assert told(1).remarks == ("4 of the file's 18 limits carry no value (they are only drawn)",)


def test_figures_as_the_text_gives_them() -> None:
    """Read by eye in the files: deviations, upper and lower limits, inches, degrees, common datums, basic sizes."""
    assert [(d.value, d.upper, d.lower) for d in of(1, "diameter")][:6] == [
        (35, 35, 34.8), (35, 35.2, 35), (20, 20.05, 19.9), (20, 20.1, 19.95), (35, 35.2, 34.8), (35, 35.2, 34.8)]
    (angle,) = of(1, "angle")
    assert (angle.value, angle.upper, angle.lower, angle.unit) == (60, 60.5, 59.5, "degrees")
    assert [(p.value, p.datums) for p in of(1, "position")] == [(0.75, ("A", "B", "C"))] * 2
    (flat,) = of(3, "flatness")
    assert flat.value == pytest.approx(0.005 * 25.4)
    assert "on each 6.35 mm" in flat.text
    assert of(3, "thickness")[0].value == pytest.approx(0.82 * 25.4)
    (bore,) = of(5, "diameter")
    assert (bore.value, bore.upper, bore.lower) == (254, 254.0254, 253.9746)
    assert [(r.value, r.datums) for r in of(5, "runout")] == [(0.889, ("A-B",)), (0.635, ("A-B",)), (0.635, ("A-B",))]
    assert [d.text for d in of(5, "distance")][1:] == ["basic"] * 4
    assert "at maximum material" in of(3, "position")[0].text
    assert next(d for d in told(2).datums if d.letter == "B").targets == ("B1", "B2", "B3", "B4")


@pytest.mark.slow
@pytest.mark.parametrize("number", FILES)
def test_diameters_agree_with_the_faces_they_name(number: int) -> None:
    """The strongest proof that faces are numbered right: each named face is a cylinder of that size."""
    found = [limit for limit in told(number).limits if limit.kind == "diameter" and "edges" not in limit.text
             and limit.faces and limit.value is not None]
    assert found
    for limit in found:
        for n in limit.faces:
            face = faces(number)[n]
            assert face.kind == "cylinder"
            assert 2 * (face.radius or 0) == pytest.approx(limit.value, abs=1e-4)


@pytest.mark.slow
def test_datums_name_the_faces_that_a_datum_can_be_made_of() -> None:
    kinds = {datum.letter: {faces(1)[n].kind for n in datum.faces} for datum in told(1).datums}
    assert kinds == {"A": {"plane"}, "B": {"cylinder"}, "C": {"cylinder"}}
    assert max(faces(1), key=lambda face: face.area).number in told(1).datums[0].faces


def test_limits_for_a_job_have_numbers_and_faces() -> None:
    ready = limits.job_limits(replace(models.example("cap"), limits=told(1).limits))
    assert len(ready) == 7 + 1 + 2 + 2 + 1 + 1, "diameters, angle, positions, profiles, square, flat"
    assert ready["diameter-1"]["tolerance"] == (-0.2, 0.0)
    assert ready["flatness-1"]["tolerance"] == (0.0, 0.2)
    assert ready["flatness-1"]["faces"] == (97,)
    assert all(row["faces"] and row["tolerance"][0] < row["tolerance"][1] for row in ready.values())


def small(*lines: str) -> limits.Told:
    """Limits of a text with two faces, #11 and #12, in millimetres and inches."""
    base = ["#1=MANIFOLD_SOLID_BREP('',#2);", "#2=CLOSED_SHELL('',(#11,#12));",
            "#11=ADVANCED_FACE('',(),#3,.T.);", "#12=ADVANCED_FACE('',(),#3,.T.);",
            "#21=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));",
            "#22=(CONVERSION_BASED_UNIT('INCH',#23)LENGTH_UNIT()NAMED_UNIT(#24));",
            "#23=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#21);",
            "#31=SHAPE_ASPECT('','',#9,.T.);", "#32=SHAPE_ASPECT('','',#9,.T.);",
            "#33=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#31,#8,#11);",
            "#34=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#32,#8,#12);"]
    body = "\n".join([*base, *lines])
    file = exchange.read(f"ISO-10303-21;HEADER;ENDSEC;DATA;{body}ENDSEC;END-ISO-10303-21;".encode())
    return limits.told(file, (0,), (2,))


def measure(number: int, value: str, name: str = "nominal value", unit: int = 22) -> str:
    """A length with its name, as files write it."""
    return (f"#{number}=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()"
            f"MEASURE_WITH_UNIT(LENGTH_MEASURE({value}),#{unit})REPRESENTATION_ITEM('{name}'));")


DISTANCE = ("#40=DIMENSIONAL_LOCATION('linear distance','',#31,#32);",
            "#41=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#40,#42);")


def test_inches_become_mm_and_both_ends_are_kept() -> None:
    (limit,) = small(*DISTANCE, "#42=SHAPE_DIMENSION_REPRESENTATION('',(#43),#7);", measure(43, "1.5"),
                     "#44=PLUS_MINUS_TOLERANCE(#45,#40);", "#45=TOLERANCE_VALUE(#46,#47);",
                     measure(46, "-0.001"), measure(47, "0.002")).limits
    assert limit.value == pytest.approx(38.1)
    assert limit.lower == pytest.approx(38.0746)
    assert limit.upper == pytest.approx(38.1508)
    assert (limit.kind, limit.faces, limit.between) == ("distance", (0, 1), ((0,), (1,)))


@pytest.mark.parametrize("value", ["0.", "1.E400", "$"])
def test_a_size_of_nothing_is_no_size(value: str) -> None:
    (limit,) = small(*DISTANCE, "#42=SHAPE_DIMENSION_REPRESENTATION('',(#43),#7);", measure(43, value)).limits
    assert (limit.value, limit.upper, limit.lower) == (None, None, None)


def test_a_fit_is_told_by_its_letters() -> None:
    (limit,) = small("#40=DIMENSIONAL_SIZE(#31,'diameter');",
                     "#41=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#40,#42);",
                     "#42=SHAPE_DIMENSION_REPRESENTATION('',(#43),#7);", measure(43, "8.", unit=21),
                     "#44=PLUS_MINUS_TOLERANCE(#45,#40);", "#45=LIMITS_AND_FITS('H','hole','7','');").limits
    assert (limit.value, limit.upper, limit.text) == (8.0, None, "H7")


def test_aspects_that_are_made_of_each_other_end() -> None:
    """Groups in a ring, and a unit that is defined by itself."""
    found = small("#50=COMPOSITE_SHAPE_ASPECT('','',#9,.T.);", "#51=COMPOSITE_SHAPE_ASPECT('','',#9,.T.);",
                  "#52=SHAPE_ASPECT_RELATIONSHIP('','',#50,#51);", "#53=SHAPE_ASPECT_RELATIONSHIP('','',#51,#50);",
                  "#54=SHAPE_ASPECT_RELATIONSHIP('','',#51,#31);", "#55=FLATNESS_TOLERANCE('','',#56,#50);",
                  measure(56, "0.1", "", 60), "#60=(CONVERSION_BASED_UNIT('X',#61)LENGTH_UNIT()NAMED_UNIT(*));",
                  "#61=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),#60);").limits
    assert [(limit.kind, limit.faces, limit.value) for limit in found] == [("flatness", (0,), None)]


def test_faces_that_the_kernel_left_out_are_not_guessed() -> None:
    file = exchange.read(text(1))
    lost = limits.told(file, (0,), (116,))
    assert all(limit.faces == () for limit in lost.limits)
    assert "could not be tied to all faces" in lost.remarks[0]
