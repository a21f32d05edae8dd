"""Whole routes: everything covered or told, held by what is there, in an order that a machinist would take."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.dryrun.walk import walk
from firstoff.errors import InputError, NameUnknown
from firstoff.job.faces import DIRECTIONS, dot
from firstoff.job.route import Operation, Route
from firstoff.part.shapes import Feature
from firstoff.route.blank import blank_of, opposite
from firstoff.route.plan import ORDER, plan
from tests.route.made import block, example_job, example_parts, job, shop, shop_without


def example() -> Route:
    return plan(example_job(), shop(), example_parts())


def made(route: Route, part: str) -> set[str]:
    return {f for op in route.operations.values() for f in op.features
            if route.settings[op.setting].workpiece == part}


def part_of(route: Route, op: Operation) -> str:
    return route.settings[op.setting].workpiece


def check_numbers_and_ids(route: Route) -> None:
    numbers = [op.number for _, op in route.in_order()]
    assert numbers == list(range(10, 10 * len(numbers) + 1, 10))
    assert all(re.fullmatch(r"[a-z0-9_-]+", key) for key in route.operations)
    assert {op.setting for op in route.operations.values()} == set(route.settings)


def test_the_example_is_covered() -> None:
    route = example()
    assert route.no_way == ()
    for name, part in example_parts().items():
        assert made(route, name) == {f.id for f in part.features}
    check_numbers_and_ids(route)


def test_the_same_again() -> None:
    assert example() == example()


def test_every_name_exists() -> None:
    cases = walk(example_job(), shop(), example(), example_parts())
    assert sum(case.subject == "operation" for case in cases) == len(example().operations)


def test_within_a_setting_the_order_is_that_of_the_trade() -> None:
    route = example()
    for name in route.settings:
        ranks = [ORDER[op.role] for _, op in route.of_setting(name)]
        assert ranks == sorted(ranks), name


def test_a_setting_is_done_before_the_next_begins() -> None:
    seen: list[str] = []
    for _, op in example().in_order():
        if not seen or seen[-1] != op.setting:
            seen.append(op.setting)
    assert len(seen) == len(set(seen))


@pytest.mark.parametrize(("before", "after"), [
    ("rough", "finish"), ("spot", "drill"), ("drill", "ream"), ("drill", "tap"), ("drill", "countersink"),
])
def test_of_one_feature_this_comes_before_that(before: str, after: str) -> None:
    first: dict[tuple[str, str, str], int] = {}
    route = example()
    for _, op in route.in_order():
        for feature in op.features:
            first.setdefault((part_of(route, op), feature, op.role.rpartition("_")[2]), op.number)
    both = [(first[p, f, before], first[p, f, after]) for p, f, r in first if r == after and (p, f, before) in first]
    assert both
    assert all(a < b for a, b in both)


def test_jaws_never_close_on_what_is_gone() -> None:
    """A side that a setting rests on or is gripped by is raw stock, or a flat of the finished part."""
    route = example()
    for name, setting in route.settings.items():
        if "+" in setting.workpiece:          # put together to be measured: nothing is gripped
            continue
        laid = blank_of(setting.workpiece, example_job().parts[setting.workpiece], example_parts()[setting.workpiece])
        for side in (setting.holding.rest, *setting.holding.grip):
            assert laid.is_flat(side) or setting.stock_left.get(side, 0.0) > 0.0, (name, side)
        for side in setting.holding.grip:
            assert abs(dot(DIRECTIONS[side], setting.up)) < 1e-9
        if setting.holding.grip:
            assert setting.holding.grip[1] == opposite(setting.holding.grip[0])
            assert setting.holding.grip_height > 0.0


def test_nothing_is_drilled_before_its_face_is_milled() -> None:
    route = example()
    for key, op in route.in_order():
        if op.role in ("spot", "drill"):
            up = route.settings[op.setting].up
            side = next((s for s, way in DIRECTIONS.items() if dot(way, up) > 0.999), None)
            assert side is None or side not in _left_at(route, op), key


def _left_at(route: Route, op: Operation) -> dict[str, float]:
    """What is left when an operation begins: as its setting says, less the faces that the setting milled first."""
    left = dict(route.settings[op.setting].stock_left)
    words = {"top": "+Z", "bottom": "-Z"}
    for key, earlier in route.of_setting(op.setting):
        word = key.split("-")[1]
        if earlier.number < op.number and earlier.role == "face_finish" and word in words:
            left.pop(words[word], None)
    return left


def test_what_stock_is_left_goes_down_to_nothing() -> None:
    route = example()
    for part in example_parts():
        left = [s.stock_left for s in route.settings.values() if s.workpiece == part]
        for before, after in pairwise(left):
            assert all(after.get(side, 0.0) <= over for side, over in before.items())
            assert set(after) <= set(before)
        assert left[-1] == {} or route.of_setting(f"{part}-{len(left)}")[-1][1].role == "form"


def test_lip_last_then_the_file() -> None:
    keys = [key for key, op in example().in_order() if key.startswith("sole-")]
    assert keys[-2:] == ["sole-passage-1-finish", "sole-passage-1-file"]


def test_the_bed_and_its_hole_share_a_tilt() -> None:
    route = example()
    bed, spot = route.operations["body-ramp-1-finish"], route.operations["body-hole-4-spot"]
    assert bed.setting == spot.setting
    assert bed.number < spot.number
    assert route.settings[bed.setting].holding.tilt.startswith("22.0 deg")


def test_equal_holes_are_one_operation() -> None:
    drill = example().operations["body-hole-1-drill"]
    assert drill.features == ("hole-1", "hole-2", "hole-5", "hole-7")


SIZES = st.tuples(st.floats(45.0, 130.0), st.floats(34.0, 60.0), st.floats(14.0, 30.0))


@settings(max_examples=25, deadline=None)
@given(SIZES, st.floats(0.0, 6.0), st.sampled_from(["al_6082", "s275_hot_rolled", "brass_cz121"]))
def test_any_block_is_covered_or_told(size: tuple[float, float, float], over: float, material: str) -> None:
    x, y, z = (round(v, 1) for v in size)
    part = block((x, y, z))
    stock = {"size": [f"{v + over} mm" for v in (x, y, z)], "condition": "hot_rolled"}
    route = plan(job(material=material, stock=stock), shop(), {"block": part})
    told = {missing.feature for missing in route.no_way}
    as_bought = {f.id for f in part.features if f.kind == "stock" and over == 0.0}
    assert made(route, "block") | told | as_bought == {f.id for f in part.features}
    assert all(missing.because for missing in route.no_way)
    check_numbers_and_ids(route)


def test_what_is_not_understood_is_told() -> None:
    odd = Feature("not_understood-1", "not_understood", (12,))
    edge = Feature("fillet-1", "fillet", (11,), axis=(1.0, 0.0, 0.0), access=((0.0, 0.0, 1.0),), size={"radius": 2.0})
    route = plan(job(), shop(), {"block": block(extra=(odd, edge))})
    because = {m.feature: m.because for m in route.no_way}
    assert because["not_understood-1"] == "the shape is not understood"
    assert "file it" in because["fillet-1"]


def test_stock_too_small_is_no_way_for_anything() -> None:
    route = plan(job(stock={"size": ["62 mm", "30 mm", "22 mm"]}), shop(), {"block": block()})
    assert route.operations == {}
    assert all("too small" in m.because for m in route.no_way)
    assert len(route.no_way) == len(block().features)


def test_a_shop_without_a_vise_is_told() -> None:
    bare = shop().model_copy(update={"devices": {"carrier": shop().devices["carrier"]}})
    route = plan(job(), bare, {"block": block()})
    assert any("no device (vise)" in m.because for m in route.no_way)


def test_a_shop_without_a_mill_is_an_error() -> None:
    bare = shop().model_copy(update={"machines": {"press": shop().machines["press"]}})
    with pytest.raises(InputError, match="no mill"):
        plan(job(), bare, {"block": block()})


def test_an_unknown_name_in_the_job_is_told() -> None:
    with pytest.raises(NameUnknown, match="hole-9"):
        plan(job(threads={"hole-9": "M5"}), shop(), {"block": block()})


def test_the_tool_that_is_lacking_is_named() -> None:
    route = plan(example_job(), shop_without("reamer_4"), example_parts())
    assert {m.because for m in route.no_way} == {"no 4 mm reamer: one would do"}
