"""Edits as a person would write them: what is said is what stands there, and nothing else moves."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import InputError, NameUnknown, TomlError
from firstoff.job import edits
from firstoff.job.edits import apply_edits, as_text, in_one_line
from firstoff.job.route import Route

ROUTE = Route.model_validate({
    "settings": {"one": {
        "workpiece": "plate", "up": [0, 0, 1], "across": [1, 0, 0], "machine": "mill", "datums": ["-Z"],
        "holding": {"device": "vise_100", "rest": "-Z", "grip": ["-Y", "+Y"], "grip_height": "8 mm"},
        "zero": {"x": "-X", "y": "-Y", "z": "+Z"}, "stock_left": {"+Z": "1.5 mm"}}},
    "operations": {
        "top-face": {"number": 10, "setting": "one", "features": ["+Z"], "role": "face_rough",
                     "tool": "end_mill_6_2f", "removes": "1.5 mm", "stickout": "22 mm",
                     "cut": {"spindle_speed": "9000 rpm", "feed_per_tooth": "0.03 mm", "depth_of_cut": "1 mm"}},
        "hole-1-drill": {"number": 20, "setting": "one", "features": ["hole-1"], "role": "drill", "tool": "drill_5"},
    },
})
DEEP = "operations.top-face.cut.depth_of_cut"


def test_an_edit_changes_what_it_names_and_nothing_else() -> None:
    after = apply_edits(ROUTE, [(DEEP, "0.6 mm")])
    was, now = ROUTE.operations["top-face"], after.operations["top-face"]
    assert now.cut.depth_of_cut == 0.6
    assert now.model_copy(update={"cut": was.cut}) == was
    assert now.cut.model_copy(update={"depth_of_cut": 1.0}) == was.cut
    assert after.operations["hole-1-drill"] == ROUTE.operations["hole-1-drill"]
    assert after.settings == ROUTE.settings
    assert ROUTE.operations["top-face"].cut.depth_of_cut == 1.0, "the route itself is not touched"


@pytest.mark.parametrize(("path", "text", "value"), [
    ("operations.top-face.stickout", "1 in", 25.4),
    ("operations.top-face.tool", "end_mill_8_3f", "end_mill_8_3f"),
    ("operations.top-face.locked", "true", True),
    ("operations.hole-1-drill.cut.peck_depth", "2 mm", 2.0),
    ("settings.one.holding.grip_height", "10 mm", 10.0),
    ("settings.one.stock_left.+Z", "2 mm", 2.0),
])
def test_every_kind_of_value(path: str, text: str, value: object) -> None:
    found: object = apply_edits(ROUTE, [(path, text)])
    for step in path.split("."):
        found = found[step] if isinstance(found, dict) else getattr(found, step)
    assert found == value


@pytest.mark.parametrize(("key", "text"), [
    ("cut.depth_of_cut", "0.35 mm"), ("cut.spindle_speed", "9000 rpm"), ("cut.feed_per_tooth", "0.02 mm"),
    ("stickout", "3/4 in"),
])
def test_a_number_is_the_same_without_its_form(key: str, text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    path = f"operations.top-face.{key}"
    plain = apply_edits(ROUTE, [(path, text)])
    monkeypatch.setattr(edits, "_NUMBERS", {})
    assert plain == apply_edits(ROUTE, [(path, text)])
    assert plain.operations["top-face"].model_dump(exclude_unset=True) == apply_edits(
        ROUTE, [(path, text)]).operations["top-face"].model_dump(exclude_unset=True)


@given(st.floats(0.001, 20.0), st.floats(10.0, 3000.0))
def test_what_is_told_is_what_is_set(length: float, speed: float) -> None:
    spin = "operations.top-face.cut.spindle_speed"
    after = apply_edits(ROUTE, [(DEEP, as_text(DEEP, length)), (spin, as_text(spin, speed))])
    cut = after.operations["top-face"].cut
    assert cut.depth_of_cut == pytest.approx(length, abs=0.51e-4)
    assert cut.spindle_speed == pytest.approx(speed, abs=0.51 * math.pi / 30.0)


def test_edits_come_one_after_the_other() -> None:
    both = apply_edits(ROUTE, [(DEEP, "0.6 mm"), ("operations.top-face.stickout", "18 mm"), (DEEP, "0.5 mm")])
    assert both.operations["top-face"].cut.depth_of_cut == 0.5
    assert both.operations["top-face"].stickout == 18.0


def test_a_joint_is_overridden() -> None:
    assert apply_edits(ROUTE, [("joints.lid.screw", "M4 x 12")]).joints == {"lid": {"screw": "M4 x 12"}}


def test_a_place_in_a_list_is_written_anew() -> None:
    after = apply_edits(ROUTE, [("settings.one.holding.grip.1", "bed"), ("settings.one.datums.0", "+Z")])
    assert after.settings["one"].holding.grip == ("-Y", "bed")
    assert after.settings["one"].datums == ("+Z",)
    with pytest.raises(TomlError, match=r"settings\.one\.datums\.1: there is no '1' among 1"):
        apply_edits(ROUTE, [("settings.one.datums.1", "+Z")])


def test_what_is_rubbed_out_is_left_out() -> None:
    after = apply_edits(ROUTE, [("operations.top-face.stickout", ""), ("settings.one.stock_left.+Z", "")])
    assert after.operations["top-face"].stickout is None
    assert after.settings["one"].stock_left == {}
    overridden = apply_edits(ROUTE, [("joints.lid.screw", "M4 x 12"), ("joints.lid.grade", "8.8"),
                                     ("joints.lid.screw", "")])
    assert overridden.joints == {"lid": {"grade": "8.8"}}


@pytest.mark.parametrize(("path", "text", "said"), [
    ("operations.top-face.cut.direction", "sideways", "climb"), ("operations.top-face.nothing", "1 mm", "no key"),
    (DEEP, "much", "not a number"), ("operations.top-face.number", "0", "greater than or equal to 1"),
])
def test_what_cannot_stand_there_is_told_with_its_key(path: str, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as told:
        apply_edits(ROUTE, [(path, text)])
    assert told.value.where == f"route.toml, {path}"


def test_a_whole_operation_is_put_in_and_taken_out() -> None:
    """Written in one line as it would stand in the file, and read back the same."""
    said = in_one_line(ROUTE.operations["top-face"])
    assert said.startswith("{ number = 10, ") and 'cut = { spindle_speed = "9000 rpm"' in said
    after = apply_edits(ROUTE, [("operations.twice", said), ("settings.two", in_one_line(ROUTE.settings["one"])),
                                ("operations.twice.setting", "two"), ("operations.hole-1-drill", "")])
    assert set(after.operations) == {"top-face", "twice"}
    assert after.operations["twice"] == ROUTE.operations["top-face"].model_copy(
        update={"setting": "two", "number": 11}), "at the next free number"
    assert after.settings["two"] == ROUTE.settings["one"]
    assert ROUTE.operations["hole-1-drill"].number == 20, "the route itself is not touched"


def test_two_that_are_put_in_at_one_number_follow_each_other() -> None:
    """Changes are offered one by one: two that are made may have chosen the same number."""
    said = in_one_line(ROUTE.operations["top-face"].model_copy(update={"number": 11}))
    after = apply_edits(ROUTE, [("operations.a", said), ("operations.b", said), ("operations.a", said)])
    assert [after.operations[name].number for name in ("a", "b")] == [11, 12]


def test_lists_are_written_as_toml_has_them() -> None:
    after = apply_edits(ROUTE, [("operations.hole-1-drill.measure", in_one_line(("width", "lip")))])
    assert after.operations["hole-1-drill"].measure == ("width", "lip")
    with pytest.raises(TomlError, match="measure"):
        apply_edits(ROUTE, [("operations.hole-1-drill.measure", '["width')])


def test_an_operation_is_not_left_without_its_setting() -> None:
    with pytest.raises(NameUnknown, match="no setting 'one' for"):
        apply_edits(ROUTE, [("settings.one", "")])


@pytest.mark.parametrize("path", [
    "operations.nothing.stickout", "operations.nothing", "settings.two.machine", "budget", "operations.top-face",
])
def test_an_edit_of_nothing_is_refused(path: str) -> None:
    with pytest.raises(NameUnknown, match=path):
        apply_edits(ROUTE, [(path, "1 mm")])


@pytest.mark.parametrize(("path", "text"), [
    (DEEP, "deep"), (DEEP, "2 rpm"), ("operations.top-face.role", "bend"), ("operations.top-face.colour", "grey"),
])
def test_an_edit_to_nonsense_is_refused(path: str, text: str) -> None:
    with pytest.raises(TomlError) as caught:
        apply_edits(ROUTE, [(path, text)])
    assert path in caught.value.where
