from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief, watched
from firstoff.checks import _left_by, _push
from firstoff.checks._forms import Form, along
from firstoff.checks._locators import Array
from firstoff.checks._makers import Broken, Made, maker
from firstoff.checks._surfaces import RADIUS_SD, Line, Surfaces
from firstoff.checks.base import Case
from tests.checks.builders import HEIGHT, LENGTH, ROWS, WIDTH, belief, case, column, columns, setting
from tests.checks.size_cases import BOTH_WALLS, OVER, TURNED, made, op

MIDDLE = np.array([LENGTH, WIDTH, HEIGHT]) * 0.5e-3


def of(this: Case, number: int, believed: Belief | None = None) -> tuple[Surfaces, Made]:
    found = maker(this, "block", number)
    assert found is not None
    return Surfaces(this, believed or belief()), found


def by_name(where: Surfaces, form: Form, point: Array, way: Array) -> Line:
    """What each source does to a point of a surface; nought where it does nothing."""
    return dict.fromkeys(where.sources, 0.0) | where.named([along(form, point, way)])[0]


def torsors(where: Surfaces, form: Form) -> dict[str, Array]:
    """The rows of a form that do anything, by the names of their sources."""
    return {name: torsor for name, torsor in zip(where.sources, form, strict=False) if np.any(torsor)}


def test_a_floor_lies_as_axes_and_seat_left_it() -> None:
    where, top = of(made(TURNED, "-Z", "+Z")[0], 5)
    line = by_name(where, where.made(top), MIDDLE, np.array([0.0, 0.0, 1.0]))
    labels = {where.sources[name].label for name, size in line.items() if abs(size) > 1e-12}
    assert {"the repeat of the axes", "push-off", "setting zero in z"} <= labels
    assert "lost motion" not in labels and "the radius of the cutter" not in labels


def test_the_cutters_radius_moves_both_walls_inwards() -> None:
    where, front = of(made(BOTH_WALLS, "-Y", "+Y")[0], 2)
    back = maker(where.case, "block", 3)
    assert back is not None
    name = "radius:em6"
    for wall in (front, back):
        assert by_name(where, where.made(wall), MIDDLE, np.array(wall.face.normal))[name] == pytest.approx(-1.0)
    assert np.all(where.sources[name].rows(belief()) == pytest.approx(RADIUS_SD * 1e-3))


def test_where_the_part_sits_does_not_move_a_face_against_the_face_that_was_touched() -> None:
    """Zero is touched on -Y, so wherever the part lies, a wall is as far from -Y as the machine goes."""
    where, back = of(made({"back": op(10, "stock-4")}, "-Y", "+Y")[0], 3)
    way, at = np.array([0.0, 1.0, 0.0]), np.array([LENGTH * 0.5e-3, 0.0, HEIGHT * 0.5e-3])
    from_front = by_name(where, where.made(back), at, way)
    raw = by_name(where, where.as_found("block", where.case.parts["block"].faces[2], 10), at, way)
    seats = [name for name in from_front if name.startswith("seat:")]
    assert seats and all(from_front[name] - raw.get(name, 0.0) == pytest.approx(0.0, abs=1e-12) for name in seats)


def test_a_face_that_another_setting_cut_is_carried_over_by_the_part() -> None:
    """Turned over, the top is the rest: what it is off by goes into the thickness through the seat."""
    this, _ = made(TURNED, "-Z", "+Z")
    where, under = of(this, 4)
    form = torsors(where, where.placed(under))
    assert "repeat:top:5" in form and np.abs(form["repeat:top:5"]).max() > 0.5


def test_error_of_travel_grows_with_the_distance_from_zero() -> None:
    where, back = of(made(BOTH_WALLS, "-Y", "+Y")[0], 3)
    moved = by_name(where, where.made(back), MIDDLE, np.array([0.0, 1.0, 0.0]))
    assert moved["scale:mill"] == pytest.approx(WIDTH * 1e-3), "zero stands on -Y"


def test_out_of_square_turns_the_end_against_the_side() -> None:
    where, end = of(made({"end": op(10, "stock-2")}, "-X", "+X")[0], 1)
    x, form = np.array([1.0, 0.0, 0.0]), where.made(end)
    low, high = (by_name(where, form, np.array([LENGTH, y, HEIGHT / 2]) * 1e-3, x)["squareness:mill"]
                 for y in (0.0, WIDTH))
    assert high - low == pytest.approx(WIDTH * 1e-3)


def test_out_of_tram_leans_a_wall() -> None:
    where, back = of(made(BOTH_WALLS, "-Y", "+Y")[0], 3)
    y, form = np.array([0.0, 1.0, 0.0]), where.made(back)
    low, high = (by_name(where, form, np.array([LENGTH / 2, WIDTH, z]) * 1e-3, y)["tram:mill"] for z in (0.0, HEIGHT))
    assert abs(high - low) == pytest.approx(HEIGHT * 1e-3)


def test_what_is_the_same_all_day_is_told_apart() -> None:
    where, back = of(made(BOTH_WALLS, "-Y", "+Y")[0], 3)
    where.made(back)
    lasting = {source.label for source in where.sources.values() if source.lasting}
    assert lasting == {"error of travel", "push-off", "axes out of square", "spindle out of tram"}


def test_a_hole_wanders_both_ways_across() -> None:
    where, hole = of(made({"spot": op(10, "stock-6", role="spot"), "drill": op(20, "stock-6", role="drill")},
                          "-Z", "+Z")[0], 5)
    form = torsors(where, where.made(hole))
    ways = [form[f"wander:spot:5:{axis}"][3:] for axis in ("x", "y")]
    assert np.allclose(ways, [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0)])


def test_a_tilted_setting_has_an_angle() -> None:
    up = [0.0, -np.sin(0.4), np.cos(0.4)]
    this = replace(made(TURNED, "-Z", "+Z")[0])
    tilted = case("limit", "l", ops=TURNED, settings={"first": setting(up=up), "second": OVER}, limit=this.limit)
    where, top = of(tilted, 5)
    assert np.abs(torsors(where, where.placed(top))["tilt:first"][:3]) == pytest.approx([1.0, 0.0, 0.0])


def test_what_a_hand_makes_or_nothing_places_is_broken() -> None:
    where, filed = of(made({"top": op(10, "stock-6", role="file")}, "-Z", "+Z")[0], 5)
    with pytest.raises(Broken, match="by hand"):
        where.made(filed)


def test_on_a_carrier_it_lies_where_a_hand_puts_it() -> None:
    glued = setting(holding={"device": "carrier", "grip": [], "grip_height": "0 mm"})
    this = case("limit", "l", ops=BOTH_WALLS, settings={"first": glued, "second": OVER},
                limit=made(BOTH_WALLS, "-Y", "+Y")[0].limit)
    where, back = of(this, 3)
    form = torsors(where, where.placed(back))
    by_hand = [name for name in form if where.sources[name].label == "placing it by hand on its glue"]
    assert len(by_hand) == 3, "two points of the side and one of the end"
    # picked up by touching its own faces afterwards, that error is gone from what is cut to them
    line = by_name(where, where.made(back), MIDDLE, np.array([0.0, 1.0, 0.0]))
    assert not any(abs(line.get(name, 0.0)) > 1e-9 for name in by_hand)


def test_what_a_cut_leaves_on_is_computed_once_for_all_routes_that_have_it(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def left_on(this: Case, *also: Any) -> Any:
        asked.append(this.name)
        return _push.left_on(this, *also)

    monkeypatch.setattr(_left_by, "_left", {})
    monkeypatch.setattr(_left_by, "found", {})
    monkeypatch.setattr(_left_by, "left_on", left_on)
    believed = belief()
    for ops in (BOTH_WALLS, BOTH_WALLS | {"more": op(90, "stock-6")}):
        where, back = of(made(ops, "-Y", "+Y")[0], 3)
        where.made(back)
        watch = watched(believed)
        where.sources["pushed:back:wall"].rows(watch)
        assert any(parameter == "stiffness_x" for _, parameter in watch.asked), "what was kept is noted too"
    assert asked == ["back"]


def test_glue_lifts_the_part_off_the_carrier_that_is_touched() -> None:
    """Zero on the carrier: what is cut above comes out lower by the glue; zero on the part's own top does not."""
    glue = Belief.of([*columns(), column("device:carrier", "glue_line", 0.03, 1.5, "mm")], rows=ROWS)
    up, at = np.array([0.0, 0.0, 1.0]), MIDDLE
    seen = []
    for touched, rest in (("-Z", "-Z"), ("+Z", "-Z")):
        place = setting(holding={"device": "carrier", "rest": rest, "grip": []},
                        zero={"x": "-X", "y": "-Y", "z": touched})
        this = case("limit", "l", ops={"top": op(10, "stock-6", role="face_finish")}, settings={"first": place})
        where, top = of(this, 5, glue)
        line = by_name(where, where.made(top), at, up)
        seen.append(line.get("glue:first", 0.0))
        if touched == "-Z":
            rows = where.sources["glue:first"].rows(glue)
            assert where.sources["glue:first"].lasting and float(np.median(rows)) == pytest.approx(3e-5, rel=0.05)
    assert seen == [pytest.approx(-1.0), pytest.approx(0.0)]
    where, top = of(made(TURNED, "-Z", "+Z")[0], 5)
    assert not any(name.startswith("glue:") for name in by_name(where, where.made(top), at, up))
