"""Units, measures and datum letters of a text (faces of aspects are tested with the limits)."""

from __future__ import annotations

import math

import pytest

from firstoff.part import aspects
from firstoff.part.exchange import Ref
from tests.part.test_exchange import data

UNITS = ("#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));",
         "#2=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.));",
         "#3=(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.));",
         "#4=(CONVERSION_BASED_UNIT('FOOT',#5)LENGTH_UNIT()NAMED_UNIT(*));",
         "#5=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.3048),#2);",
         "#6=(CONVERSION_BASED_UNIT('DEGREE',#7)NAMED_UNIT(*)PLANE_ANGLE_UNIT());",
         f"#7=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE({math.pi / 180:.17g}),#3);",
         "#8=(MASS_UNIT()NAMED_UNIT(*)SI_UNIT(.KILO.,.GRAM.));")


@pytest.mark.parametrize(("unit", "gives"), [
    (1, (2.5, "mm")), (2, (2500.0, "mm")), (3, (pytest.approx(143.239449), "degrees")), (4, (762.0, "mm")),
    (6, (2.5, "degrees")), (8, None), (99, None),
])
def test_measures_by_unit(unit: int, gives: tuple[float, str] | None) -> None:
    file = data(*UNITS, f"#10=MEASURE_WITH_UNIT(LENGTH_MEASURE(2.5),#{unit});",
                f"#11=MEASURE_REPRESENTATION_ITEM('size',LENGTH_MEASURE(2.5),#{unit});")
    assert aspects.measure(file, Ref(10)) == gives
    assert aspects.measure(file, Ref(11)) == gives


def test_letters_of_a_system_and_of_one_reference() -> None:
    file = data("#1=DATUM('','',#9,.F.,'A');", "#2=DATUM('','',#9,.F.,'B');",
                "#3=DATUM_REFERENCE_COMPARTMENT('','',#9,.F.,#2,(SIMPLE_DATUM_REFERENCE_MODIFIER("
                ".MAXIMUM_MATERIAL_REQUIREMENT.)));",
                "#4=DATUM_REFERENCE_COMPARTMENT('','',#9,.F.,COMMON_DATUM_LIST((#5,#6)),$);",
                "#5=DATUM_REFERENCE_ELEMENT('','',#9,.F.,#1,$);", "#6=DATUM_REFERENCE_ELEMENT('','',#9,.F.,#2,$);",
                "#7=DATUM_SYSTEM('','',#9,.F.,(#3,#4));", "#8=DATUM_REFERENCE(1,#1);")
    assert aspects.datum_letters(file, Ref(7)) == (("B", "A-B"), ["B at maximum material"])
    assert aspects.datum_letters(file, Ref(8)) == (("A",), [])
    assert aspects.datum_letters(file, Ref(99)) == ((), [])


def test_a_solid_used_twice_gives_each_of_its_faces_two_numbers() -> None:
    file = data("#1=MANIFOLD_SOLID_BREP('',#2);", "#2=CLOSED_SHELL('',(#3,#4));", "#3=ADVANCED_FACE('',(),#9,.T.);",
                "#4=ADVANCED_FACE('',(),#9,.T.);")
    assert aspects.face_numbers(file, (0, 0), (2, 2)) == {3: (0, 2), 4: (1, 3)}
    assert aspects.face_numbers(file, (0, 0), (2, 3)) == {3: (0,), 4: (1,)}
    assert aspects.face_numbers(file, (10**9,), (2,)) == {}
