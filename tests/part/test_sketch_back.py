"""Both ways: a sketch makes a solid whose features give the sketch back; the example's parts told in lines."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings

from firstoff.part import sketch_back, sketch_text
from firstoff.part.sketch import Groove, Hole, Pocket, Round, Slope, Slot, Step
from tests.part import models, sketches

FEW = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@FEW
@given(sketches.lines())
def test_a_sketch_comes_back_from_its_features(lines: str) -> None:
    drawn = sketches.told(lines)
    part = sketches.made(drawn)
    back = sketch_back.sketch_of(part)
    assert back.texts == (), "every feature can be told"
    assert sketch_text.canonical(back) == sketch_text.canonical(drawn)
    again = sketches.told("\n".join(["", *sketch_text.lines_of(back), ""]))
    assert sketch_text.canonical(again) == sketch_text.canonical(drawn), "its text is read as what it tells"


def test_one_of_every_kind_comes_back() -> None:
    drawn = sketches.told(sketches.MANY)
    back = sketch_back.sketch_of(sketches.made(drawn))
    assert back.texts == ()
    assert sketch_text.canonical(back) == sketch_text.canonical(drawn)
    assert {type(cut) for cut in back.cuts} == {Hole, Pocket, Slot, Step, Slope, Round, Groove}


@pytest.mark.parametrize("lines", [
    "boss 20 high 8 at 20, 30; 60, 30\nhole 6 through at 20, 30",
    "boss 12.5 high 3 at 40, 15 on front\nboss 20 high 8 at 40, 20",
    "boss 10 high 2 at 10, 10 from right back\nslot 6 wide deep 9 from x 20 to 50 at y 40",
])
def test_bosses_come_back_with_what_was_cut_down_about_them(lines: str) -> None:
    drawn = sketches.told(f"\nblock 80 x 60 x 30\n{lines}\n")
    back = sketch_back.sketch_of(sketches.made(drawn))
    assert back.texts == ()
    assert sketch_text.canonical(back) == sketch_text.canonical(drawn)


def test_the_same_solid_comes_of_the_sketch_that_came_back() -> None:
    part = sketches.made(sketches.told(sketches.MANY))
    again = sketches.made(sketch_back.sketch_of(part))
    assert again.volume == pytest.approx(part.volume, rel=1e-9)
    assert sorted(face.area for face in again.faces) == pytest.approx(sorted(face.area for face in part.faces))


def test_the_sole_of_the_example_is_told_from_its_step() -> None:
    back = sketch_back.sketch_of(models.example("sole"))
    wanted = sketches.told(sketches.SOLE.replace(" H7", ""))
    assert sketch_text.canonical(back) == sketch_text.canonical(wanted)
    assert len(sketch_text.lines_of(back)) == 4, "equal holes stand on one line"


def test_what_cannot_be_told_is_remarked() -> None:
    """The cap has a dome; the body's bed and the hole square to it slant inside."""
    remarks = [text for _, text in sketch_back.sketch_of(models.example("cap")).texts]
    assert remarks == ["# free_form-1: cannot be told in lines"]
    body = sketch_back.sketch_of(models.example("body"))
    assert {text.split(":")[0] for _, text in body.texts} == {
        "# chamfer-1", "# hole-4", "# passage-1", "# ramp-1"}
    holes = [cut for cut in body.cuts if isinstance(cut, Hole)]
    assert sorted((len(hole.places), hole.diameter.value) for hole in holes) == [(2, 4.0), (4, 3.3)]


def test_inches_stay_inches() -> None:
    drawn = sketches.told("\nblock 4 x 1 1/2 x 3/4\nhole 1/4 through at 1/2, 1/2\n", "in")
    back = sketch_back.sketch_of(sketches.made(drawn), "in")
    assert sketch_text.lines_of(back) == ["block 4 x 1.5 x 0.75", "hole 0.25 through at 0.5, 0.5"]
