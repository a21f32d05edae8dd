"""What a job or route cannot mean is told with file, line and key; what it can is let through."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from firstoff.errors import FirstoffError, NameUnknown, TomlError
from firstoff.job.models import Job
from firstoff.job.possible import job_names_exist, route_can_be
from firstoff.job.route import Route
from firstoff.part.shapes import Feature, Part
from firstoff.shop.models import Shop

from ..checks import builders

HOLE = Feature("hole-1", "hole", (5,))


def part() -> Part:
    return builders.block(HOLE)


def job(**changed: Any) -> Job:
    limit = {"kind": "distance", "part": "block", "between": ["-Z", "top"], "tolerance": "±0.1 mm",
             "instrument": "mic", **changed.pop("limit", {})}
    return builders.job(limits={"height": limit}, **{"names": {"top": "+Z", "eye": "hole-1"}, **changed})


def route(op: dict[str, Any] | None = None, place: dict[str, Any] | None = None) -> Route:
    return Route.model_validate({"settings": {"first": builders.setting(**(place or {}))},
                                 "operations": {"op": builders.operation(**(op or {}))}})


def refused(given: Route, error: type[FirstoffError], place: str, said: str, shop: Shop | None = None) -> None:
    with pytest.raises(error) as caught:
        route_can_be(given, job(), shop or builders.shop(), {"block": part()})
    assert caught.value.where == f"route.toml, {place}"
    assert said in f"{caught.value.what} {caught.value.right}"


def test_what_can_be_is_let_through() -> None:
    job_names_exist(job(threads={"eye": "M4"}, ream={"hole-1": "H7"}), builders.shop(), {"block": part()})
    route_can_be(route(), job(), builders.shop(), {"block": part()})
    route_can_be(route({"cut": {"width_of_cut": "6 mm", "spindle_speed": "10100 rpm"}, "measure": ["height"]}),
                 job(), builders.shop(), {"block": part()})


@pytest.mark.parametrize(("changed", "place", "said"), [
    ({"names": {"top": "+Z", "bed": "ramp-1"}}, "parts.block.names.bed", "ramp-1"),
    ({"threads": {"hole-2": "M4"}}, "parts.block.threads.hole-2", "hole-2"),
    ({"ream": {"hole-3": "H7"}}, "parts.block.ream.hole-3", "hole-3"),
    ({"by_hand": {"mouth": "file it"}}, "parts.block.by_hand.mouth", "mouth"),
    ({"limit": {"between": ["-Z", "tip"]}}, "limits.height.between", "tip"),
    ({"limit": {"instrument": "mike"}}, "limits.height.instrument", "did you mean 'mic'?"),
    ({"joints": {"cap": {"kind": "screw", "screw": "M4 x 12", "through": "block.hole-1", "into": "block.eyes"}}},
     "joints.cap.into", "eyes"),
])
def test_a_name_in_a_job_that_is_not_there(changed: dict[str, Any], place: str, said: str) -> None:
    with pytest.raises(NameUnknown) as caught:
        job_names_exist(job(**changed), builders.shop(), {"block": part()})
    assert caught.value.where == f"job.toml, {place}"
    assert said in f"{caught.value.what} {caught.value.right}"


@pytest.mark.parametrize(("op", "place", "said"), [
    ({"features": ["stock-66"]}, "features", "did you mean 'stock-6'?"),
    ({"through": ["lid.hole-1"]}, "through", "lid.hole-1"),
    ({"tool": "em66"}, "tool", "did you mean 'em6'?"),
    ({"collet": "chuck"}, "collet", "er6"),
    ({"measure": ["width"]}, "measure", "limit in the job"),
    ({"measure": ["width"]}, "measure", "or plan again"),
])
def test_a_name_in_an_operation_that_is_not_there(op: dict[str, Any], place: str, said: str) -> None:
    refused(route(op), NameUnknown, f"operations.op.{place}", said)


@pytest.mark.parametrize(("op", "place", "said"), [
    ({"removes": "-1 mm"}, "removes", "-1 mm"),
    ({"leaves": "-1 mm"}, "leaves", "-1 mm"),
    ({"stickout": "0 mm"}, "stickout", "0 mm"),
    ({"stickout": "50 mm"}, "stickout", "the tool is 50 mm long"),
    ({"cut": {"depth_of_cut": "-1 mm"}}, "cut.depth_of_cut", "not greater than 0"),
    ({"cut": {"depth_of_cut": "0 mm"}}, "cut.depth_of_cut", "not greater than 0"),
    ({"role": "face_rough", "removes": "0.8 mm", "cut": {"depth_of_cut": "27 mm"}}, "cut.depth_of_cut",
     "27 mm deep, where 0.8 mm come off"),
    ({"cut": {"feed_per_tooth": "0 mm"}}, "cut.feed_per_tooth", "not greater than 0"),
    ({"cut": {"width_of_cut": "6.1 mm"}}, "cut.width_of_cut", "at most 6 mm"),
    ({"cut": {"spindle_speed": "1900 rpm"}}, "cut.spindle_speed", "2000 to 10000 rpm"),
    ({"cut": {"spindle_speed": "10300 rpm"}}, "cut.spindle_speed", "2000 to 10000 rpm"),
])
def test_a_number_that_no_machine_could_be_set_to(op: dict[str, Any], place: str, said: str) -> None:
    refused(route(op), TomlError, f"operations.op.{place}", said)


@pytest.mark.parametrize(("op", "place"), [
    ({"removes": "1e30 mm"}, "removes"), ({"leaves": "90 mm"}, "leaves"),
    ({"cut": {"depth_of_cut": "1e30 mm"}}, "cut.depth_of_cut"), ({"cut": {"peck_depth": "3 m"}}, "cut.peck_depth"),
    ({"cut": {"feed_per_tooth": "100 mm"}}, "cut.feed_per_tooth"),
])
def test_nothing_cut_is_longer_than_the_bar(op: dict[str, Any], place: str) -> None:
    refused(route(op), TomlError, f"operations.op.{place}", "the whole bar is 78.05 mm long")


@pytest.mark.parametrize(("place", "where"), [
    ({"holding": {"grip_height": "-1 mm"}}, "holding.grip_height"),
    ({"holding": {"stick_up": "1e30 mm"}}, "holding.stick_up"),
    ({"holding": {"parallels": "-5 mm"}}, "holding.parallels"),
    ({"holding": {"parallels": "1 m"}}, "holding.parallels"), ({"stock_left": {"+Z": "-1 mm"}}, "stock_left.+Z"),
    ({"stock_left": {"+Z": "1e30 mm"}}, "stock_left.+Z"),
])
def test_a_hold_that_cannot_be(place: dict[str, Any], where: str) -> None:
    refused(route(place=place), TomlError, f"settings.first.{where}", "0 mm to")


def test_a_chamfer_cutter_may_be_narrower_than_its_cut() -> None:
    """Its width of cut is that of the chamfer, not across the cutter."""
    given = route({"tool": "chamfer6", "stickout": "15 mm", "role": "chamfer", "cut": {"width_of_cut": "7 mm"}})
    route_can_be(given, job(), builders.shop(), {"block": part()})


@pytest.mark.parametrize(("place", "error", "where", "said"), [
    ({"machine": "lathe"}, NameUnknown, "machine", "lathe"),
    ({"holding": {"device": "magnet"}}, NameUnknown, "holding.device", "magnet"),
    ({"workpiece": "lid"}, NameUnknown, "workpiece", "lid"),
    ({"datums": ["-Z", "side"]}, NameUnknown, "datums", "side"),
    ({"holding": {"tightness": "angry"}}, NameUnknown, "holding.tightness", "way to tighten"),
    ({"holding": {"rest": "under"}}, NameUnknown, "holding.rest", "under"),
    ({"holding": {"grip": ["+Y", "face 77"]}}, NameUnknown, "holding.grip", "face 77"),
    ({"holding": {"stop": "end"}}, NameUnknown, "holding.stop", "end"),
    ({"zero": {"x": "-X", "y": "-Y", "z": "up"}}, NameUnknown, "zero.z", "up"),
    ({"up": [0, 0, 0]}, TomlError, "up", "no direction"),
    ({"up": [0, 0, 2]}, TomlError, "up", "length 1"),
    ({"across": [0, 0, 0]}, TomlError, "across", "no direction"),
    ({"across": [0, 0.6, 0.8]}, TomlError, "across", "not square"),
])
def test_a_setting_that_cannot_be(
    place: dict[str, Any], error: type[FirstoffError], where: str, said: str
) -> None:
    refused(route(place=place), error, f"settings.first.{where}", said)


@pytest.mark.parametrize("words", ["torque wrench at 20 N m", "arm on a 150 mm handle", "fingers"])
def test_a_screw_of_known_lead_is_tightened_by_what_a_person_does(words: str) -> None:
    plain = builders.shop()
    known = {"lead": "4 mm", "efficiency": builders.fig(0.2), "squeeze": {"arm": builders.fig("8000 N")}}
    own = plain.devices["vise"].model_dump(exclude_unset=True)
    vise = type(plain.devices["vise"]).model_validate({"name": "vise", "kind": "vise", **known})
    screwed = plain.model_copy(update={"devices": {**plain.devices, "vise": vise}})
    given = route(place={"holding": {"tightness": words}})
    route_can_be(given, job(), screwed, {"block": part()})
    assert "lead" not in own
    if words != "fingers":
        refused(given, NameUnknown, "settings.first.holding.tightness", "way to tighten")


@pytest.mark.parametrize("words", ["torque wrench at 0 N m", "torque wrench at -3 N m", "arm on a 0 mm handle",
                                   "mallet on a 3 m handle", "torque wrench at 1e9 N m"])
def test_what_nobody_tightens_by(words: str) -> None:
    refused(route(place={"holding": {"tightness": words}}), TomlError, "settings.first.holding.tightness", "above 0")


def test_a_side_of_the_stock_may_be_named_where_the_part_has_no_face_there() -> None:
    """A domed part rests on the flat side of its bar before the dome is cut."""
    whole = part()
    domed = Part(whole.name, whole.file, whole.sha256, whole.unit, whole.solids, whole.low, whole.high, whole.volume,
                 whole.faces[:5], (), tuple(f for f in whole.features if f.id != "stock-6"))
    given = route({"features": ["stock-5"]}, {"datums": ["+Z"], "holding": {"rest": "+Z"}})
    route_can_be(given, builders.job(), builders.shop(), {"block": domed})


def test_the_line_is_told_where_there_is_a_file(tmp_path: Path) -> None:
    text = '[settings.first]\nmachine = "mill"\n[operations.op]\ntool = "em66"\n'
    (tmp_path / "route.toml").write_text(text, encoding="utf-8")
    given = route({"tool": "em66"}).model_copy(update={"file": str(tmp_path / "route.toml")})
    with pytest.raises(NameUnknown, match=re.escape("em66")) as caught:
        route_can_be(given, job(), builders.shop(), {"block": part()})
    assert caught.value.where == f"{tmp_path / 'route.toml'}, line 4, operations.op.tool"
