"""What is hard to make: for each reason a feature that is hard, and one beside it that is not."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from firstoff import actions
from firstoff.part.shapes import Face, Feature, Part, Vector
from firstoff.part.vectors import minus
from firstoff.route import hard
from firstoff.route.hard import Hard, hard_to_make
from firstoff.shop.library import load_shop
from firstoff.telling import hard_json, hard_lines
from tests.route import made

UP: Vector = (0.0, 0.0, 1.0)
SHOP = load_shop(None)


def feature(kind: Any = "pocket", size: dict[str, float] | None = None, **more: Any) -> Feature:
    """A feature from above, plain unless told otherwise."""
    plain: dict[str, Any] = {"axis": UP, "axis_point": (30.0, 20.0, 20.0), "access": (UP,)}
    return Feature(f"{kind}-7", kind, (50,), size=size or {}, **(plain | more))


def found(one: Feature, faces: tuple[Face, ...] = ()) -> list[Hard]:
    block = made.block()
    return list(hard_to_make(replace(block, faces=(*block.faces, *faces), features=(one,)), SHOP))


def only(one: Feature, *pieces: str, faces: tuple[Face, ...] = ()) -> None:
    (told,) = found(one, faces)
    assert told.feature == one.id
    assert all(piece in told.why for piece in pieces), told.why
    assert told.instead


def pocket(depth: float = 8.0, corner: float = 5.0, **more: float) -> Feature:
    size = {"length": 30.0, "width": 20.0, "depth": depth, "corner_radius": corner, "inside_radius": corner}
    return feature("pocket", size | more)


def test_a_plain_pocket_is_not_hard() -> None:
    assert found(pocket()) == []


def test_corners_smaller_than_any_mill() -> None:
    only(pocket(4.0, 0.8), "R0.8 mm", "smallest mill here is Ø2 mm")
    assert found(pocket(4.0, 1.0)) == []


def test_corners_whose_mill_does_not_reach() -> None:
    only(pocket(7.0, 1.0), "R1 mm", "7 mm deep", "flutes of 6 mm")
    assert found(pocket(6.0, 1.0)) == []


def test_a_sharp_corner() -> None:
    only(pocket(inside_radius=0.0), "sharp")


def test_a_groove_narrower_than_any_mill() -> None:
    only(feature("groove", {"width": 1.5, "depth": 2.0}), "1.5 mm wide", "Ø2 mm")
    assert found(feature("groove", {"width": 2.0, "depth": 2.0})) == []


def test_deep_against_the_widest_mill_that_fits() -> None:
    deep = [h.why for h in found(pocket(26.0, 3.0))]
    assert any("4.3 diameters" in why for why in deep)
    assert any("past the flutes" in why and "13 mm" in why for why in deep)
    only(pocket(24.0, 3.0), "past the flutes")             # 4 diameters are just borne, the flutes are not
    assert found(pocket(13.0, 3.0)) == []


def test_a_passage_is_reached_from_both_sides() -> None:
    size = {"length": 30.0, "width": 20.0, "depth": 24.0, "corner_radius": 3.0}
    only(feature("passage", size), "past the flutes")
    assert found(feature("passage", size, access=(UP, minus(UP)))) == []


def test_a_step_is_reached_from_its_side() -> None:
    size = {"depth": 50.0, "width": 5.0}
    only(feature("step", size | {"depth": 90.0}), "90 mm deep", "no mill here reaches")
    only(feature("step", size), "past the flutes")
    assert found(feature("step", size, access=(UP, (1.0, 0.0, 0.0)))) == []


def test_the_round_of_a_floor() -> None:
    only(pocket(floor_radius=0.2), "R0.2 mm", "floor")
    assert found(pocket(floor_radius=4.0)) == []


def hole(diameter: float = 5.0, depth: float = 12.0, **more: Any) -> Feature:
    return feature("hole", {"diameter": diameter, "depth": depth} | more.pop("size", {}), **more)


def test_a_deep_hole() -> None:
    only(hole(5.0, 26.0), "5.2 diameters")
    assert found(hole(5.0, 25.0)) == []
    assert found(hole(5.0, 30.0, size={"counterbore_diameter": 9.0, "counterbore_depth": 6.0})) == []


def test_a_hole_past_the_flutes_of_its_drill() -> None:
    whys = [h.why for h in found(hole(5.0, 60.0))]
    assert any("past the flutes" in why and "52 mm" in why for why in whys)


def test_a_hole_of_no_drill() -> None:
    (told,) = found(hole(7.0))
    assert "no drill or reamer of Ø7 mm" in told.why
    assert "mill it round with Ø6 mm" in told.instead
    assert found(hole(5.04)) == []


def entry(tilt: float, number: int = 60) -> tuple[Face, Face]:
    """The wall of a hole, and the flat that it enters, tilted about Y."""
    normal = (math.sin(math.radians(tilt)), 0.0, math.cos(math.radians(tilt)))
    wall = Face(50, 0, "cylinder", 100.0, (30.0, 20.0, 15.0), (1.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 0.0, 0.0),
                radius=2.5, hollow=True, neighbours=(number,))
    flat = Face(number, 0, "plane", 900.0, (30.0, 20.0, 20.0), normal, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    return wall, flat


def test_a_hole_that_enters_on_a_slope() -> None:
    only(hole(), "22° off the square", faces=entry(22.0))
    assert found(hole(), entry(0.0)) == []
    assert found(hole(), entry(4.0)) == []


def test_a_through_hole_is_drilled_from_its_square_side() -> None:
    wall, top = entry(22.0)
    below = replace(top, number=61, normal=minus(UP), centroid=(30.0, 20.0, 8.0))
    faces = (replace(wall, neighbours=(60, 61)), top, below)
    assert found(hole(through=True, access=(UP, minus(UP))), faces) == []
    only(hole(through=True), "22°", faces=faces)


def test_a_hole_across_a_round_bar() -> None:
    wall, flat = entry(0.0)
    bar = replace(flat, kind="cylinder", axis=(1.0, 0.0, 0.0), axis_point=(0.0, 20.0, 10.0), radius=10.0)
    assert found(hole(), (wall, bar)) == []
    only(hole(), "30° off", faces=(wall, replace(bar, axis_point=(0.0, 15.0, 20.0 - 5.0 * math.sqrt(3.0)))))


@pytest.mark.parametrize(("size", "hard_one"), [
    ({"wall": 0.9}, True), ({"wall": 1.0}, False), ({"wall": 1.0, "depth": 10.5}, True),
    ({"floor": 0.9}, True), ({"floor": 1.0}, False), ({"floor": 1.0, "width": 21.0}, True),
])
def test_thin_walls_and_floors(size: dict[str, float], hard_one: bool) -> None:
    one = pocket(**({"depth": 8.0} | size))
    if hard_one:
        only(one, next(iter(size)), "thin")
    else:
        assert found(one) == []


def test_the_wall_beside_a_hole_is_stiff() -> None:
    assert found(hole(5.0, 20.0, size={"wall": 1.5})) == []
    only(hole(5.0, 20.0, size={"wall": 0.5}), "wall of 0.5 mm")


def test_a_hole_that_is_wider_at_its_far_end() -> None:
    size = {"far_counterbore_diameter": 9.0, "far_counterbore_depth": 3.0}
    only(hole(5.0, 10.0, size=size), "far end", "other side")
    only(hole(5.0, 10.0, size={"far_countersink_diameter": 9.0}), "far end")


def test_an_undercut() -> None:
    only(feature("groove", {"width": 6.0, "depth": 3.0}, access=()), "undercut")


def test_what_is_not_understood_is_told() -> None:
    only(feature("not_understood", access=()), "face 50", "not understood")


def test_plain_sides_are_never_hard() -> None:
    assert found(feature("stock", {"width": 0.1}, access=())) == []


def test_an_empty_shop_makes_nothing() -> None:
    part: Part = made.block()
    told = hard_to_make(part, SHOP.model_copy(update={"tools": {}}))
    assert {h.feature for h in told} == {"pocket-1", "hole-1"}
    assert "no mill" in told[0].why


def test_an_inch_shop_is_told_inches() -> None:
    block = replace(made.block(), features=(pocket(4.0, 0.8),))
    (told,) = hard_to_make(block, SHOP.model_copy(update={"units": "in"}))
    assert "in" in told.why and "mm" not in told.why
    assert hard.THIN == 1.0


def test_the_example_has_one_hard_place() -> None:
    told = {name: hard_to_make(part, made.shop()) for name, part in made.example_parts().items()}
    assert [h.feature for h in told["body"] if "past the flutes" in h.why] == ["passage-1"]
    assert not any("square of its face" in h.why for every in told.values() for h in every)


def test_the_shop_is_the_nearest_or_the_one_named() -> None:
    part = made.example_parts()["body"]
    name, told = actions.hard(made.EXAMPLE / "parts" / "body.step", part, made.EXAMPLE / "shop")
    assert name == made.shop().name and told == hard_to_make(part, made.shop())
    assert actions.hard(made.EXAMPLE.parents[3] / "body.step", part)[0] == SHOP.name


def test_alike_ones_are_told_together_and_what_is_not_understood_apart() -> None:
    told = [Hard("hole-1", "deep", "peck"), Hard("hole-2", "deep", "peck"), Hard("not_understood-1", "odd", "look")]
    lines = list(hard_lines("my shop", told))
    assert "hard to make in this shop (my shop)" in lines
    assert "  hole-1, hole-2: deep" in lines and "    instead: peck" in lines
    assert lines[lines.index("not understood (1)") + 1] == "  not_understood-1: odd: look"
    assert hard_json(told)[0] == {"feature": "hole-1", "why": "deep", "instead": "peck"}
    assert any("nothing that is looked at" in line for line in hard_lines("my shop", []))
