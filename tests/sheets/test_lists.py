"""Cut list, tools, cautions, inspection, joints."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.job.models import Limit
from firstoff.sheets import cards, lists
from tests.sheets import made

RESULT = made.result()


def test_front_page_tells_chances_against_the_budget() -> None:
    page = lists.front_page(RESULT)
    assert page["spoiled"] == "about 1 in 8" and page["lost"] == "about 1 in 35"
    assert page["budget"] == "within the budget of about 1 in 20"
    assert page["time"] == "1 h 05 min" and page["where"] == "operation 10 of the body"
    assert page["not_counted"] == ["heat", "wear of the tool"] and page["figures"] == "a1b2c3d4e5f6"


def test_the_longest_side_of_the_stock_is_sawn() -> None:
    part, = lists.front_page(RESULT)["parts"]
    assert (part["section"], part["saw"], part["size"]) == ("40 × 25 mm", "112 mm", "110 × 34 × 24 mm")


def test_tools_in_order_of_use_with_all_their_operations() -> None:
    assert [(t["tool"], t["numbers"]) for t in lists.tools(RESULT)] == [
        ("10 mm end mill, 3 flutes, carbide", [10, 20]), ("3.3 mm drill", [30]), ("M4 hand tap", [40])]


def test_a_tool_is_listed_once_with_all_its_stickouts() -> None:
    ops = dict(RESULT.route.operations)
    second = next(key for key, op in ops.items() if op.number == 20)
    ops[second] = ops[second].model_copy(update={"stickout": 47.0})
    longer = replace(RESULT, route=RESULT.route.model_copy(update={"operations": ops}))
    mills = [t for t in lists.tools(longer) if "10 mm end mill" in t["tool"]]
    assert len(mills) == 1 and mills[0]["numbers"] == [10, 20]
    assert mills[0]["hold"].endswith("and 47 mm out")


def test_cautions_are_those_of_this_route() -> None:
    said = lists.cautions(RESULT)
    assert any(text.startswith("Hot-rolled") for text in said) and any("hook" in text for text in said)
    assert cards.GLUE not in said
    assert set(lists.MILLING) <= set(said) and len(said) == len(set(said))


def test_inspection_narrows_the_limits_by_the_uncertainty() -> None:
    height, hole = lists.inspection(RESULT)
    assert (height["nominal"], height["low"], height["high"]) == ("24.000 mm", "23.970 mm", "24.030 mm")
    assert height["accept"] == "23.978 mm to 24.022 mm" and height["after"] == [20]
    assert height["confirms"].startswith("can confirm") and height["odds"] == "about 1 in 200"
    assert hole["confirms"].startswith("cannot confirm") and hole["accept"] == "" and hole["nominal"] == "3.300 mm"


def test_an_instrument_that_nobody_named_is_the_coarsest_that_proves() -> None:
    limit = RESULT.job.limits["height"].model_copy(update={"instrument": None})
    assert lists.instrument(RESULT, limit) == ("micrometer", False)
    wide = limit.model_copy(update={"tolerance": (-0.2, 0.2)})
    assert lists.instrument(RESULT, wide) == ("caliper", False)
    long = wide.model_copy(update={"size": 400.0})
    assert lists.instrument(RESULT, long) is None


def test_a_flatness_has_one_limit() -> None:
    limit = Limit.model_validate({"kind": "flatness", "between": ["+Z"], "part": "body",
                                  "tolerance": "+0.05 mm / 0 mm", "instrument": "caliper"})
    flat = made.result()
    flat.job.limits["flat"] = limit
    row = lists.inspection(flat)[-1]
    assert (row["nominal"], row["low"], row["high"]) == ("", "", "0.050 mm")
    assert row["accept"] == "up to 0.010 mm" and row["confirms"] == "can confirm: U = 0.04 mm, tolerance 0.05 mm"


@pytest.mark.parametrize("name", ["lip", "sole.+Z"])
def test_a_face_that_is_not_there_gives_no_size(name: str) -> None:
    limit = RESULT.job.limits["height"].model_copy(update={"between": ("+Z", name)})
    assert lists.nominal_of(RESULT, limit) is None


def test_joints_have_their_verdicts_and_the_route_chooses_the_screw() -> None:
    joint, = lists.joints(RESULT)
    assert "M4 x 16" in joint["what"] and joint["checks"][0]["odds"] == "nearly certain"
    other = made.result()
    other.route.joints["sole"] = {"screw": "M4 x 12"}
    assert "M4 x 12" in lists.joints(other)[0]["what"]


def test_a_joint_says_how_it_is_tightened() -> None:
    other = made.result()
    assert lists.joints(other)[0]["torque"] == ""
    other.route.joints["sole"] = {"torque": "1.5 N m", "lubricated": "true"}
    joint, = lists.joints(other)
    assert joint["torque"] == "to 1.5 N m" and joint["what"].endswith("greased")
    other.route.joints["sole"] = {"torque_by": "key"}
    assert lists.joints(other)[0]["torque"] == "by key"
