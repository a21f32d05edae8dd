"""route.toml: read as written, planned again without losing what a person wrote."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firstoff.errors import FileError, InputError, NameUnknown, TomlError
from firstoff.job.edits import in_one_line
from firstoff.job.route import Route
from firstoff.route.plan import plan
from firstoff.route.writing import as_table, canonical, read_route, route_text, write_edits, write_route
from tests.route.made import block, example_job, example_parts, job, shop

ROUGH = "block-pocket-1-rough"


@cache
def route() -> Route:
    return plan(job(), shop(), {"block": block()})


def other() -> Route:
    """A plan after the model changed: a pocket that only a thin cutter goes into, and no stock on the ends."""
    wanted = job(stock={"size": ["60 mm", "44 mm", "22 mm"], "condition": "extruded"})
    return plan(wanted, shop(), {"block": block(corner=2.0)})


def edited(folder: Path, old: str, new: str) -> None:
    path = folder / "route.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def in_operation(folder: Path, key: str, old: str, new: str) -> None:
    """Change one line below the header of an operation."""
    path = folder / "route.toml"
    head, _, tail = path.read_text(encoding="utf-8").partition(f"[operations.{key}]")
    assert old in tail
    path.write_text(f"{head}[operations.{key}]{tail.replace(old, new, 1)}", encoding="utf-8")


def none_found() -> Route:
    """A plan of a bar that is too small."""
    return plan(job(stock={"size": ["30 mm", "44 mm", "22 mm"], "condition": "extruded"}), shop(), {"block": block()})


def test_where_no_way_is_found_any_more_what_a_person_wrote_stays(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    edited(tmp_path, 'grip_height = "', 'grip_height = "1')
    before = (tmp_path / "route.toml").read_bytes()
    with pytest.raises(InputError) as caught:
        write_route(tmp_path, none_found())
    assert "no way is found any more to make block" in caught.value.what and "too small" in caught.value.what
    assert "left as it was" in caught.value.right and (tmp_path / "route.toml").read_bytes() == before


def test_a_plan_of_nothing_is_not_written(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="nothing can be planned"):
        write_route(tmp_path, none_found())
    assert not (tmp_path / "route.toml").exists()


def bare(route: Route) -> Route:
    return route.model_copy(update={"file": ""})


@pytest.mark.parametrize("which", ["block", "example"])
def test_read_as_written(tmp_path: Path, which: str) -> None:
    made = route() if which == "block" else plan(example_job(), shop(), example_parts())
    write_route(tmp_path, made)
    assert bare(read_route(tmp_path)) == made
    assert route_text(read_route(tmp_path)) == (tmp_path / "route.toml").read_text(encoding="utf-8")


def test_every_number_has_its_unit() -> None:
    for key, op in as_table(route())["operations"].items():
        for name, value in {**op, **op.get("cut", {})}.items():
            assert not isinstance(value, float), (key, name)
    assert canonical(route()) == route()


def test_the_same_plan_changes_nothing(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    before = (tmp_path / "route.toml").read_bytes()
    assert write_route(tmp_path, route()) == ()
    assert (tmp_path / "route.toml").read_bytes() == before


def test_a_changed_number_and_its_comment_stay(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    speed = f'spindle_speed = "{_speed()}"'
    in_operation(tmp_path, ROUGH, speed, 'spindle_speed = "3210 rpm"   # it sang at the other')
    edited(tmp_path, "# Operations.", "# my own remark\n# Operations.")
    kept = write_route(tmp_path, other())
    text = (tmp_path / "route.toml").read_text(encoding="utf-8")
    assert kept == (f"operations.{ROUGH}.cut.spindle_speed",)
    assert "# my own remark" in text
    assert 'spindle_speed = "3210 rpm"   # it sang at the other' in text
    again = read_route(tmp_path)
    assert again.operations["block-pocket-1-finish"].tool == other().operations["block-pocket-1-finish"].tool
    assert again.operations["block-pocket-1-finish"].tool != route().operations["block-pocket-1-finish"].tool
    assert set(again.operations) == set(other().operations)
    assert set(again.settings) == set(other().settings)


def _speed() -> str:
    text: str = as_table(route())["operations"][ROUGH]["cut"]["spindle_speed"]
    return text


def test_what_differs_is_still_the_persons_after_a_second_plan(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    in_operation(tmp_path, ROUGH, f'spindle_speed = "{_speed()}"', 'spindle_speed = "3210 rpm"')
    write_route(tmp_path, route())
    assert write_route(tmp_path, route()) == (f"operations.{ROUGH}.cut.spindle_speed",)
    assert 'spindle_speed = "3210 rpm"' in (tmp_path / "route.toml").read_text(encoding="utf-8")


def test_fresh_forgets(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    in_operation(tmp_path, ROUGH, f'spindle_speed = "{_speed()}"', 'spindle_speed = "3210 rpm"')
    assert write_route(tmp_path, route(), fresh=True) == ()
    assert bare(read_route(tmp_path)) == route()


def test_a_locked_operation_stays_whole(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    in_operation(tmp_path, "block-pocket-1-finish", "number", "locked = true\nnumber")
    mine = read_route(tmp_path).operations["block-pocket-1-finish"]
    kept = write_route(tmp_path, other())
    assert "operations.block-pocket-1-finish" in kept
    assert read_route(tmp_path).operations["block-pocket-1-finish"] == mine


def test_a_locked_operation_keeps_its_setting(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    last = route().in_order()[-1][0]
    in_operation(tmp_path, last, "number", "locked = true\nnumber")
    empty = Route()
    write_route(tmp_path, empty)
    there = read_route(tmp_path)
    assert list(there.operations) == [last]
    assert list(there.settings) == [route().operations[last].setting]


def test_own_operations_stay_and_what_was_taken_out_stays_out(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    path = tmp_path / "route.toml"
    table = '[operations.stop-and-measure]\nnumber = 45\nsetting = "block-1"\nfeatures = []\nrole = "measure"\n'
    path.write_text(path.read_text(encoding="utf-8") + "\n" + table, encoding="utf-8")
    in_operation(tmp_path, "block-hole-1-spot", 'coolant = "brushed"\n', "")
    kept = write_route(tmp_path, other())
    there = read_route(tmp_path)
    assert there.operations["stop-and-measure"].number == 45
    assert there.operations["block-hole-1-spot"].cut.coolant == "dry"
    assert set(kept) == {"operations.stop-and-measure", "operations.block-hole-1-spot.cut.coolant"}


def test_without_the_last_plan_all_that_is_there_is_the_persons(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    (tmp_path / ".firstoff" / "route.plan.toml").unlink()
    write_route(tmp_path, other())
    tool = route().operations["block-pocket-1-finish"].tool
    assert read_route(tmp_path).operations["block-pocket-1-finish"].tool == tool


NUMBERS = st.integers(100, 9000)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(sorted(route().operations)), NUMBERS), unique_by=lambda pair: pair[0]))
def test_any_edits_survive(tmp_path: Path, edits: list[tuple[str, int]]) -> None:
    write_route(tmp_path, route(), fresh=True)
    wanted = {key: f"{speed} rpm" for key, speed in edits if route().operations[key].cut.spindle_speed is not None}
    write_edits(tmp_path, [(f"operations.{key}.cut.spindle_speed", text) for key, text in wanted.items()])
    write_route(tmp_path, route())
    table = tomllib.loads((tmp_path / "route.toml").read_text(encoding="utf-8"))["operations"]
    planned = as_table(route())["operations"]
    for key, op in planned.items():
        old = op.get("cut", {}).get("spindle_speed")
        assert table[key].get("cut", {}).get("spindle_speed") == wanted.get(key, old)


def test_edits_are_inked_with_comments_untouched(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    edited(tmp_path, "# Operations.", "# mine\n# Operations.")
    done = write_edits(tmp_path, [
        (f"operations.{ROUGH}.cut.depth_of_cut", "0.6 mm"), (f"operations.{ROUGH}.locked", "true"),
        (f"operations.{ROUGH}.cut.peck_depth", "2 mm"), ("joints.screws.screw", "M4 x 12"),
    ])
    there = read_route(tmp_path)
    assert bare(there) == bare(done)
    assert there.operations[ROUGH].cut.depth_of_cut == 0.6
    assert there.operations[ROUGH].locked
    assert there.joints == {"screws": {"screw": "M4 x 12"}}
    assert "# mine" in (tmp_path / "route.toml").read_text(encoding="utf-8")


def test_a_place_in_a_list_is_inked_and_what_is_rubbed_out_goes(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    name, setting = next((name, one) for name, one in route().settings.items() if len(one.holding.grip) == 2)
    done = write_edits(tmp_path, [(f"settings.{name}.holding.grip.1", "-X"), (f"settings.{name}.datums.0", "+X"),
                                  (f"operations.{ROUGH}.stickout", "")])
    there = read_route(tmp_path)
    assert bare(there) == bare(done)
    assert there.settings[name].holding.grip == (setting.holding.grip[0], "-X")
    assert there.settings[name].datums == ("+X", *setting.datums[1:])
    assert there.operations[ROUGH].stickout is None
    assert "stickout" not in tomllib.loads((tmp_path / "route.toml").read_text(encoding="utf-8"))["operations"][ROUGH]


def test_whole_operations_and_settings_are_inked_in_and_out(tmp_path: Path) -> None:
    write_route(tmp_path, route())
    edited(tmp_path, "# Operations.", "# mine\n# Operations.")
    again, setting = route().operations[ROUGH], route().operations[ROUGH].setting
    gone = next(name for name in route().operations if name != ROUGH)
    done = write_edits(tmp_path, [
        ("settings.again", in_one_line(route().settings[setting])),
        ("operations.again", in_one_line(again.model_copy(update={"number": 5, "setting": "again"}))),
        (f"operations.{ROUGH}.measure", "[]"), (f"operations.{gone}", "")])
    there = read_route(tmp_path)
    assert bare(there) == bare(done) and gone not in there.operations
    assert there.operations["again"].setting == "again" and there.settings["again"] == route().settings[setting]
    text = (tmp_path / "route.toml").read_text(encoding="utf-8")
    assert "# mine" in text and "[settings.again.holding]" in text and "[operations.again.cut]" in text
    write_route(tmp_path, route())
    kept = read_route(tmp_path)
    assert "again" in kept.operations and gone not in kept.operations, "planned again, it stays as it was inked"


@pytest.mark.parametrize(("key", "text", "error", "said"), [
    (f"operations.{ROUGH}.cut.depth_of_cut", "0.6", TomlError, f"operations.{ROUGH}.cut.depth_of_cut"),
    (f"operations.{ROUGH}.cut.depth_of_cut", "0.6 rpm", TomlError, "depth_of_cut"),
    (f"operations.{ROUGH}.cut.deep", "0.6 mm", TomlError, "deep"),
    ("operations.nothing.cut.depth_of_cut", "0.6 mm", NameUnknown, "operations.nothing"),
])
def test_a_wrong_edit_writes_nothing(tmp_path: Path, key: str, text: str, error: type[Exception], said: str) -> None:
    write_route(tmp_path, route())
    before = (tmp_path / "route.toml").read_bytes()
    with pytest.raises(error) as caught:
        write_edits(tmp_path, [(key, text)])
    assert said in str(caught.value)
    assert (tmp_path / "route.toml").read_bytes() == before


@pytest.mark.parametrize(("old", "new", "error", "said"), [
    ('depth_of_cut = "', 'depth_of_cut = "x', TomlError, f"operations.{ROUGH}.cut.depth_of_cut"),
    ('tool = "', 'tool = "no_', NameUnknown, f"operations.{ROUGH}.tool"),
    ('features = ["', 'features = ["no_', NameUnknown, f"operations.{ROUGH}.features"),
    ('setting = "', 'setting = "no_', NameUnknown, f"operations.{ROUGH}.setting"),
    ("stickout = ", "stickuot = ", TomlError, "did you mean 'stickout'"),
])
def test_a_mistake_is_told_with_file_and_place(tmp_path: Path, old: str, new: str, error: type[Exception],
                                               said: str) -> None:
    write_route(tmp_path, route())
    in_operation(tmp_path, ROUGH, old, new)
    with pytest.raises(error) as caught:
        read_route(tmp_path, shop(), {"block": block()})
    assert str(tmp_path / "route.toml") in str(caught.value)
    assert "line " in str(caught.value)
    assert said in str(caught.value)


def test_nothing_planned_yet(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no route"):
        read_route(tmp_path)


def test_a_broken_file_is_not_overwritten(tmp_path: Path) -> None:
    (tmp_path / "route.toml").write_text("[settings\n", encoding="utf-8")
    with pytest.raises(TomlError, match=r"route\.toml, line 1|.") as caught:
        write_route(tmp_path, route())
    assert "line 1" in str(caught.value)
    assert (tmp_path / "route.toml").read_text(encoding="utf-8") == "[settings\n"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["route.toml"]


def test_no_way_is_written_and_goes_when_there_is_one(tmp_path: Path) -> None:
    tight = plan(job(), shop(), {"block": block(corner=1.0)})
    write_route(tmp_path, tight)
    assert [m.feature for m in read_route(tmp_path).no_way] == ["pocket-1"]
    write_route(tmp_path, route())
    assert read_route(tmp_path).no_way == ()
    assert ROUGH in read_route(tmp_path).operations
