"""The walk of a route: order, how the work stands before each operation, names that must exist, joints as routed."""

from __future__ import annotations

import re
from typing import Any

import pytest

from firstoff.checks.base import Case, State
from firstoff.dryrun.times import handling_minutes
from firstoff.dryrun.walk import joint_as_routed, walk
from firstoff.errors import InputError, NameUnknown, TomlError
from firstoff.job.edits import apply_edits
from firstoff.job.models import ScrewJoint
from firstoff.job.route import Route
from tests.checks import builders
from tests.dryrun import small
from tests.dryrun.small import DRILL, FACE, POCKET, SINK


def state(name: str, *edits: tuple[str, str]) -> State:
    found = small.cases(small.route(edits))[name].state
    assert found is not None
    return found


def test_operations_by_number_then_settings_limits_and_joints() -> None:
    made = walk(small.job(), small.shop(), small.route(), small.parts())
    assert [(case.subject, case.name) for case in made] == [
        ("operation", FACE), ("operation", POCKET), ("operation", DRILL), ("operation", SINK),
        ("setting", "block-1"), ("setting", "lid-1"), ("limit", "height"), ("limit", "flat"), ("joint", "screws")]


def test_numbers_are_the_order_not_the_place_in_the_file() -> None:
    route = small.route(((f"operations.{DRILL}.number", "5"),))
    assert list(small.cases(route))[:3] == [DRILL, FACE, POCKET]


def test_each_case_knows_its_part_setting_and_windows() -> None:
    cases = small.cases()
    assert [cases[n].part_name for n in (FACE, SINK, "block-1", "lid-1", "height", "screws")] == [
        "block", "lid", "block", "lid", "block", "block"]
    windows = cases[FACE].windows
    assert cases[FACE].setting_name == "block-1" and windows is not None and len(windows) > 0
    assert cases["height"].limit == small.job().limits["height"]


def test_what_is_done_stands_before_what_follows() -> None:
    assert state(FACE).cut == frozenset() and state(FACE).left == ()
    assert state(POCKET).cut == {"stock-6"}
    assert state(DRILL).cut == {"stock-6"}
    assert state(DRILL).left_on("pocket-1") == pytest.approx(0.2)
    assert state(SINK).cut == frozenset(), "the lid has a state of its own"


def test_the_key_goes_by_shape() -> None:
    for key, text in (("leaves", "0.3 mm"), ("removes", "0.9 mm"), ("tool", "em10"), ("role", "face_finish")):
        assert state(POCKET, (f"operations.{FACE}.{key}", text)).key != state(POCKET).key, key
    turned = small.route().settings["block-1"].model_copy(update={"up": (0.0, 0.0, -1.0)})
    route = small.route().model_copy(update={"settings": {**small.route().settings, "block-1": turned}})
    other = small.cases(route)[POCKET].state
    assert other is not None and other.key != state(POCKET).key


def test_the_key_does_not_go_by_speed_feed_width_or_number() -> None:
    for key, text in (("cut.spindle_speed", "4000 rpm"), ("cut.feed_per_tooth", "0.01 mm"),
                      ("cut.width_of_cut", "2 mm"), ("cut.direction", "conventional"), ("number", "11"),
                      ("stickout", "22 mm")):
        assert state(DRILL, (f"operations.{FACE}.{key}", text)).key == state(DRILL).key, key


def test_a_pickled_bar_is_another_for_all_that_comes_after() -> None:
    assert state(POCKET, (f"operations.{FACE}.pickled", "true")).key != state(POCKET).key
    assert state(POCKET, (f"operations.{FACE}.pickled", "false")).key == state(POCKET).key


def test_what_no_edit_touched_is_one_and_the_same_on_both_routes() -> None:
    """So that what is kept by it serves both."""
    speed = (f"operations.{POCKET}.cut.spindle_speed", "5000 rpm")
    job, shop, parts, planned = small.job(), small.shop(), small.parts(), small.route()
    one, other = ({case.name: case for case in walk(job, shop, route, parts)}
                  for route in (planned, apply_edits(planned, [speed])))
    assert other[FACE].windows is one[FACE].windows and other[FACE].state is one[FACE].state
    assert other[POCKET].before[0] is one[POCKET].before[0] and other[POCKET].state is one[POCKET].state
    assert other[POCKET].windows is not one[POCKET].windows
    at = [past.operation for past in other[DRILL].before].index(POCKET)
    assert other[DRILL].before[at] != one[DRILL].before[at] and other[DRILL].state is one[DRILL].state


def test_the_first_key_is_the_piece_of_stock() -> None:
    thicker = small.job().model_dump(exclude_unset=True)
    stock = {**thicker["parts"]["block"]["stock"], "size": ("62 mm", "42 mm", "25 mm")}
    block = small.job().parts["block"].model_copy(
        update={"stock": small.job().parts["block"].stock.model_validate({**stock, "price": 5.0})})
    job = small.job().model_copy(update={"parts": {**small.job().parts, "block": block}})
    other = small.cases(wanted=job)[FACE].state
    assert other is not None and other.key != state(FACE).key
    assert state(FACE).key != state(SINK).key


def test_minutes_so_far_are_running_and_handling_of_what_came_before() -> None:
    cases = small.cases()
    first, second = cases[FACE], cases[POCKET]
    assert first.minutes_so_far == 0.0 and cases[SINK].minutes_so_far == 0.0
    assert first.windows is not None and second.windows is not None
    one = first.windows.minutes + handling_minutes(first, None)
    assert second.minutes_so_far == pytest.approx(one)
    assert cases[DRILL].minutes_so_far == pytest.approx(
        one + second.windows.minutes + handling_minutes(second, first.op))


WRONG: dict[str, tuple[dict[str, Any], str, str]] = {
    "setting": ({"setting": "block-9"}, "no setting 'block-9'", "block-1"),
    "tool": ({"tool": "em99"}, "no tool 'em99'", "em6"),
    "collet": ({"collet": "er99"}, "no collet 'er99'", "er6"),
    "feature": ({"features": ["pocket-9"]}, "no feature 'pocket-9'", "pocket-1"),
}


@pytest.mark.parametrize("what", WRONG)
def test_an_operation_with_a_name_that_nothing_bears(what: str) -> None:
    changed, said, known = WRONG[what]
    route = Route.model_validate({"settings": {"block-1": builders.setting()}, "file": "box/route.toml",
                                  "operations": {"op": builders.operation(**{"setting": "block-1", **changed})}})
    with pytest.raises(NameUnknown, match=said) as error:
        small.cases(route)
    assert error.value.where == f"box/route.toml, operations.op.{next(iter(changed))}"
    assert known in error.value.right


@pytest.mark.parametrize(("changed", "said", "key"), [
    ({"machine": "lathe"}, "no machine 'lathe' in the shop", "machine"),
    ({"workpiece": "foot"}, "no part 'foot' in the job", "workpiece"),
    ({"workpiece": "block+foot"}, "no part 'foot' in the job", "workpiece"),
    ({"holding": {"device": "magnet"}}, "no device 'magnet' in the shop", "holding.device"),
])
@pytest.mark.parametrize("used", [True, False])
def test_a_setting_with_a_name_that_nothing_bears(changed: dict[str, Any], said: str, key: str, used: bool) -> None:
    operations = {"op": builders.operation(setting="block-1")} if used else {}
    route = Route.model_validate({"settings": {"block-1": builders.setting(**changed)}, "operations": operations})
    with pytest.raises(NameUnknown, match=re.escape(said)) as error:
        small.cases(route)
    assert error.value.where == f"route.toml, settings.block-1.{key}" and error.value.right.startswith("known: ")


@pytest.mark.parametrize(("key", "text", "kind"), [
    ("screws.torque", "fast", TomlError), ("screws.srew", "M4 x 12", TomlError), ("screws.head", "round", TomlError),
    ("nuts.screw", "M4 x 12", NameUnknown),
])
def test_what_cannot_be_said_of_a_joint_is_told_with_its_place(key: str, text: str, kind: type[InputError]) -> None:
    with pytest.raises(kind) as error:
        small.cases(small.route(((f"joints.{key}", text),)))
    assert error.value.where == f"route.toml, joints.{key if kind is TomlError else 'nuts'}"


def test_a_long_list_of_known_names_is_cut_short() -> None:
    many = small.shop(**{f"spare{n}": builders.tool() for n in range(20)})
    with pytest.raises(NameUnknown) as error:
        small.cases(small.route(((f"operations.{FACE}.tool", "em99"),)), in_shop=many)
    assert error.value.right.endswith(" …") and error.value.right.count(",") == 11


def test_a_joint_is_as_the_route_has_it() -> None:
    route = small.route((("joints.screws.screw", "M4 x 25"), ("joints.screws.torque", "1 N m")))
    joint = small.cases(route)["screws"].joint
    assert isinstance(joint, ScrewJoint)
    assert (joint.screw, joint.torque, joint.grade) == ("M4 x 25", 1.0, "4.8")
    assert joint.below == pytest.approx((0.2, 0.4))
    wanted = small.job().joints["screws"]
    assert joint_as_routed("screws", wanted, small.route()) is wanted
    assert joint_as_routed("other", wanted, route) is wanted


def test_a_limit_without_a_part_belongs_to_the_one_named_first() -> None:
    job = small.job(limits={
        "gap": {"kind": "chain", "between": ["lid.-Z", "block.+Z"], "size": "0.5 mm", "tolerance": "±0.1 mm"},
        "plain": {"kind": "flatness", "between": ["+Z"], "tolerance": "+0.02 mm / 0 mm"}})
    cases = small.cases(wanted=job)
    assert (cases["gap"].part_name, cases["plain"].part_name) == ("lid", "block")


def test_a_lever_belongs_to_its_bar() -> None:
    job = small.job(joints={"cap": {"kind": "lever", "part": "lid", "screw": "M5", "thickness": ["lid.-Z", "lid.+Z"],
                                    "arms": ["10 mm", "20 mm"], "width": "25 mm"}})
    case: Case = small.cases(wanted=job)["cap"]
    assert case.part_name == "lid" and case.subject == "joint"


def test_limits_see_what_blunted_the_tools_in_every_part_and_share_it() -> None:
    limits = [case for case in small.cases().values() if case.limit is not None]
    assert limits and all(case.before is limits[0].before for case in limits)
    assert {past.operation for past in limits[0].before} == set(small.route().operations)
