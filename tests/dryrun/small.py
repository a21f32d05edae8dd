"""A job of two parts made by hand, small enough to check often: a block with a pocket and holes, a lid on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from firstoff.belief import Belief
from firstoff.checks.base import Case, Check
from firstoff.dryrun import looking, remedies
from firstoff.dryrun.walk import walk
from firstoff.job.edits import apply_edits
from firstoff.job.models import Job
from firstoff.job.route import Route
from firstoff.part.shapes import Face, Feature, Part
from firstoff.shop.models import Shop
from tests.checks import builders
from tests.route import made

FACE, POCKET, DRILL, SINK = "block-top", "block-pocket", "block-drill", "lid-sink"
#: edits of the first operation, a number each
CHANGES: Mapping[str, tuple[str, str]] = {
    "depth": (f"operations.{FACE}.cut.depth_of_cut", "0.9 mm"),
    "speed": (f"operations.{FACE}.cut.spindle_speed", "5000 rpm"),
    "stickout": (f"operations.{FACE}.stickout", "21 mm"),
    "tool": (f"operations.{FACE}.tool", "em10"),
    "allowance": (f"operations.{FACE}.leaves", "0.1 mm"),
    "tightness": ("settings.block-1.holding.tightness", "fingers"),
}


def bore(number: int, x: float, y: float, radius: float, bottom: float, top: float) -> Face:
    """A round wall along Z."""
    middle = (x, y, (top + bottom) / 2.0)
    return Face(number, 0, "cylinder", 6.2832 * radius * (top - bottom), middle, (1.0, 0.0, 0.0),
                (x - radius, y - radius, bottom), (x + radius, y + radius, top), axis_point=(x, y, bottom),
                axis=made.UP, radius=radius, sweep=6.2832, hollow=True)


def block() -> Part:
    """60 x 40 x 20 with a pocket 30 x 20 x 8, a through hole, and a blind one for a thread."""
    part = made.block()
    blind = Feature("hole-2", "hole", (13,), axis=made.UP, axis_point=(54.0, 34.0, 20.0), access=(made.UP,),
                    size={"diameter": 3.3, "depth": 12.0})
    return replace(part, faces=(*part.faces, bore(13, 54.0, 34.0, 1.65, 8.0, 20.0)), features=(*part.features, blind))


def lid() -> Part:
    """A block with a countersunk hole through it."""
    hole = Feature("hole-1", "hole", (6,), through=True, axis=made.UP, axis_point=(30.0, 20.0, 20.0),
                   access=(made.UP,), size={"diameter": 4.5, "depth": 20.0, "countersink_diameter": 9.6,
                                            "countersink_angle": 90.0})
    part = builders.block(hole, faces=(bore(6, 30.0, 20.0, 2.25, 0.0, 20.0),))
    return replace(part, name="lid", file="lid.step", sha256="1" * 64)


@cache
def parts() -> dict[str, Part]:
    """Both digests."""
    return {"block": block(), "lid": lid()}


def job(**changed: Any) -> Job:
    """Block and lid, a height, a flatness, and a screw that is too long."""
    stock = {"size": ["62 mm", "42 mm", "22 mm"], "condition": "cold_drawn", "price": 5.0}
    return Job.model_validate({
        "name": "box",
        "parts": {"block": {"model": "block.step", "material": "steel", "stock": stock,
                            "threads": {"hole-2": "M4 x 9 deep"}},
                  "lid": {"model": "lid.step", "material": "steel", "stock": stock}},
        "limits": {"height": {"kind": "distance", "part": "block", "between": ["-Z", "+Z"], "tolerance": "±0.05 mm",
                              "instrument": "mic"},
                   "flat": {"kind": "flatness", "part": "block", "between": ["+Z"], "tolerance": "+0.02 mm / 0 mm"}},
        "joints": {"screws": {"kind": "screw", "screw": "M4 x 35", "head": "countersunk", "through": "lid.hole-1",
                              "into": "block.hole-2", "grade": "4.8", "below": "+0.4 mm / 0.2 mm"}},
        **changed,
    })


def shop(**tools: dict[str, Any]) -> Shop:
    """The tiny shop with a drill and a countersink; `tools` adds or changes."""
    return builders.shop(**{
        "drill5": builders.tool(name="drill 5 mm", kind="drill", material="hss", diameter="5 mm", flutes=2,
                                flute_length="52 mm", overall_length="86 mm", point_angle="118 deg",
                                stickout="55 mm"),
        "sink": builders.tool(name="countersink", kind="countersink", material="hss", diameter="12 mm",
                              point_angle="90 deg", flute_length="6 mm", overall_length="50 mm", shank="8 mm"),
        **tools,
    })


def route(edits: tuple[tuple[str, str], ...] = ()) -> Route:
    """Top and pocket of the block, its hole, and the countersink of the lid; `edits` as a person would make them."""
    planned = Route.model_validate({
        "settings": {"block-1": builders.setting(), "lid-1": builders.setting(workpiece="lid")},
        "operations": {
            FACE: builders.operation(number=10, setting="block-1", role="face_rough", leaves="0 mm",
                                     measure=["height"]),
            POCKET: builders.operation(number=20, setting="block-1", role="pocket_rough", features=["pocket-1"],
                                       removes="8 mm"),
            DRILL: builders.operation(
                number=30, setting="block-1", role="drill", features=["hole-1"], tool="drill5", removes="20 mm",
                leaves="0 mm", stickout="30 mm",
                cut={"spindle_speed": "2000 rpm", "feed_per_tooth": "0.04 mm", "depth_of_cut": "22 mm",
                     "width_of_cut": "2.5 mm", "peck_depth": "5 mm", "direction": "slot"}),
            SINK: builders.operation(
                number=40, setting="lid-1", role="countersink", features=["hole-1"], tool="sink", removes="2.5 mm",
                leaves="0 mm", cut={"spindle_speed": "2000 rpm", "feed_per_tooth": "0.03 mm",
                                    "depth_of_cut": "2.5 mm", "width_of_cut": "2.5 mm", "direction": "slot"}),
        },
        "no_way": [{"part": "block", "feature": "stock-1", "because": "nothing in the shop reaches it"}],
    })
    return apply_edits(planned, edits)


def cases(of: Route | None = None, in_shop: Shop | None = None, wanted: Job | None = None) -> dict[str, Case]:
    """Every case of the walk, by name."""
    return {case.name: case for case in walk(wanted or job(), in_shop or shop(), of or route(), parts())}


def belief(**changed: float) -> Belief:
    """What is believed of the tiny shop."""
    return builders.belief(**changed)


def only_checks(monkeypatch: pytest.MonkeyPatch, *checks: Check) -> None:
    """Nothing but these is looked at."""
    for place in (looking, remedies):
        monkeypatch.setattr(place, "all_checks", lambda: checks)
    monkeypatch.setattr(looking, "checks_about", lambda subject, program: tuple(
        check for check in checks if check.subject == subject))
