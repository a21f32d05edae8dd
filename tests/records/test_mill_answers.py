"""Readings are taken as they are read; what cannot be is refused with what would be right."""

from __future__ import annotations

from typing import Any

import pytest

from firstoff.errors import InputError, NameUnknown, RecordError, UnitError
from firstoff.records.mill_answers import GRAVITY, checked, mirrored, pull

from .person import MILL, Person, Truth, shop


def pulled(**other: str) -> dict[str, str]:
    return {"axis": "x", "force": "10.2 kg", "pulled": "0.07 mm", "released": "0.02 mm", "pushed": "-0.07 mm",
            "released_back": "-0.02 mm"} | other


def test_a_right_answer_keeps_its_texts() -> None:
    found = checked("pull", pulled(), shop(), MILL)
    assert found.texts == pulled()
    assert found.number("force") == pytest.approx(10.2 * GRAVITY)
    assert found.number("pulled") == pytest.approx(70e-6)
    assert found.text("instrument") == "indicator" and found.uncertainty() == pytest.approx(6e-6)


@pytest.mark.parametrize(("text", "newtons"), [
    ("100 N", 100.0), ("10 kg", 98.0665), ("22 lb", 97.86), ("22 lbf", 97.86)])
def test_scales_show_what_they_show(text: str, newtons: float) -> None:
    assert pull(text) == pytest.approx(newtons, rel=1e-3)


@pytest.mark.parametrize(("other", "said"), [
    ({"force": "100 kg"}, "cannot be"),                       # newtons written as kilograms
    ({"force": "10.2 N"}, "cannot be"),                       # and the other way
    ({"force": "10.2"}, "no unit"),
    ({"force": "10 mm"}, "10.2 kg or 22 lbf"),
    ({"axis": "w"}, "no axis"),
    ({"pulled": ""}, "no answer"),
    ({"pulled": "70 mm"}, "cannot be"),                       # micrometres written as mm
    ({"instrument": "laser"}, "no instrument"),
    ({"pulled": "0.02 mm", "pushed": "0.02 mm", "released_back": "0.02 mm"}, "stuck"),
    ({"pushed": "0.07 mm"}, "one sign is wrong"),
    ({"nonsense": "1 mm"}, "nothing called"),
])
def test_what_cannot_be_is_refused(other: dict[str, str], said: str) -> None:
    with pytest.raises(InputError) as error:
        checked("pull", pulled(**other), shop(), MILL)
    assert said in str(error.value)
    assert error.value.right


def test_an_indicator_on_the_other_side_reads_the_other_way_round() -> None:
    other = {key: text.removeprefix("-") if text.startswith("-") else f"-{text}"
             for key, text in pulled().items() if text.endswith("mm")}
    assert mirrored(checked("pull", pulled(**other), shop(), MILL))
    assert not mirrored(checked("pull", pulled(), shop(), MILL))


@pytest.mark.parametrize(("name", "texts", "kind", "said"), [
    ("runout", {"collet": "collet_6", "high": "0 mm", "low": "0.02 mm"}, RecordError, "swap"),
    ("runout", {"collet": "collet_7", "high": "0 mm", "low": "0 mm"}, NameUnknown, "no collet"),
    ("touch_off", {"readings": "1 mm; 2 mm"}, RecordError, "10 of them"),
    ("touch_off", {"readings": "; ".join(["1"] * 10)}, UnitError, "no unit"),
    ("thrust", {"stall": "5 g"}, RecordError, "cannot be"),
    ("watts", {"tool": "end_mill_6_2f", "material": "al_6082", "depth": "1 mm", "width": "3 mm", "speed": "9000 rpm",
               "feed": "600 mm/min", "idle": "200 W", "cutting": "150 W"}, RecordError, "not more than"),
    ("square", {"x": "50.0 mm", "y": "1.97 in", "turned": "0 mm", "nominal": "40 mm"}, RecordError, "no square of"),
    ("tap", {"tool": "end_mill_6_2f", "axis": "x"}, RecordError, "neither a recording nor a frequency"),
    ("tap", {"tool": "end_mill_6_2f", "axis": "z", "frequency": "900 Hz"}, RecordError, "rings across"),
    ("tap", {"tool": "end_mill_6_2f", "axis": "x", "file": "nowhere.wav"}, RecordError, "no file"),
    ("nonsense", {}, NameUnknown, "no test"),
])
def test_each_test_refuses_its_own_nonsense(
    name: str, texts: dict[str, str], kind: type[InputError], said: str
) -> None:
    with pytest.raises(kind) as error:
        checked(name, texts, shop(), MILL)
    assert said in str(error.value)


@pytest.mark.parametrize("text", [
    "10.01 mm; 10.02 mm; 9.99 mm", "10.01; 10.02; 9.99 mm", "10.01, 10.02, 9.99 mm", "10,01; 10,02; 9,99mm"])
def test_many_readings_are_typed_as_people_do(text: str) -> None:
    found = checked("returns", {"start": "0 mm", "readings": text.replace("10", "1")}, shop(), MILL)
    assert found.numbers("readings") == pytest.approx([1.01e-3, 1.02e-3, 9.99e-3])


@pytest.mark.parametrize("text", ["0.01; 0.02; 0.03", "0.01 mm; 0.02; 0.03", "0.01 mm; 0.02; 0.03 mm"])
def test_a_unit_that_is_not_at_the_end_is_of_its_own_reading(text: str) -> None:
    with pytest.raises(UnitError, match="no unit"):
        checked("returns", {"start": "0 mm", "readings": text}, shop(), MILL)


def test_nothing_needs_no_unit() -> None:
    """An indicator that was set to 0 reads 0: in mm as in inches."""
    found = checked("circle", {"swing": "150 mm", "left": "0", "right": "0.06 mm", "front": "0.00", "back": "-0,0"},
                    shop(), MILL)
    assert [found.number(key) for key in ("left", "right", "front", "back")] == pytest.approx([0.0, 6e-5, 0.0, 0.0])
    back = checked("returns", {"start": "0", "readings": "0.01 mm; 0; 0.02 mm"}, shop(), MILL)
    assert back.numbers("readings") == pytest.approx([1e-5, 0.0, 2e-5])
    for other in ({"left": "1"}, {"swing": "0"}):
        with pytest.raises(InputError):
            checked("circle", {**found.texts, **other}, shop(), MILL)


def test_a_name_is_understood_as_people_say_it() -> None:
    texts = {"high": "0.02 mm", "low": "0 mm"}
    for said in ("6 mm", "Collet 6 mm", "collet-6", "COLLET_6"):
        assert checked("runout", {"collet": said, **texts}, shop(), MILL).texts["collet"] == "collet_6"
    with pytest.raises(NameUnknown, match="may be 3 of the shop") as error:
        checked("tap", {"tool": "end mill 6 mm", "axis": "x", "frequency": "900 Hz"}, shop(), MILL)
    assert error.value.right.startswith("which of end_mill_6_2f, ")


def test_a_whole_hour_is_taken() -> None:
    for name, texts in Person(Truth()).all():
        found: Any = checked(name, texts, shop(), MILL)
        assert found.texts == texts
