"""A small job made by hand: a block with holes, two settings, its views and what a dry run would say of it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import product

import numpy as np

from firstoff.checks.base import Finding, Remedy, Spread, Subject
from firstoff.dryrun.placing import cross
from firstoff.dryrun.result import Checked, OperationTime, Result, RuleFound
from firstoff.job.faces import dot
from firstoff.job.models import Job
from firstoff.job.route import Route
from firstoff.part.shapes import Edge, Face, Feature, Part, Vector, View
from firstoff.shop.models import Shop

SIZE = (110.0, 34.0, 24.0)
HOLES = {"hole-1": (12.0, 8.0), "hole-2": (98.0, 8.0), "hole-3": (12.0, 26.0), "hole-4": (98.0, 26.0)}


def part(name: str = "body", size: Vector = SIZE) -> Part:
    """A block with four holes from above."""
    faces, normals = [], [(-1, 0, 0), (1, 0, 0), (0, -1, 0), (0, 1, 0), (0, 0, -1), (0, 0, 1)]
    middle = tuple(s / 2 for s in size)
    for number, n in enumerate(normals):
        area = math.prod(s for s, c in zip(size, n, strict=True) if not c)
        at = tuple(m + c * s / 2 for m, c, s in zip(middle, n, size, strict=True))
        faces.append(Face(number, 0, "plane", area, _v(at), _v(n), (0.0, 0.0, 0.0), size))
    holes = []
    for number, (name_, (x, y)) in enumerate(HOLES.items(), 6):
        faces.append(Face(number, 0, "cylinder", 188.0, (x, y, size[2] - 6.0), (0.0, 0.0, 1.0),
                          (x - 2, y - 2, size[2] - 12), (x + 2, y + 2, size[2]), radius=1.65, hollow=True))
        holes.append(Feature(name_, "hole", (number,), axis=(0.0, 0.0, 1.0), axis_point=(x, y, size[2]),
                             size={"diameter": 3.3, "depth": 12.0}, access=((0.0, 0.0, 1.0),)))
    top = Feature("step-1", "step", (5,), size={"depth": 1.0}, access=((0.0, 0.0, 1.0),))
    edges = [Edge((0, 2), "convex", "line", math.dist(a, b), (a, b)) for a, b in _edges(size)]
    return Part(name, f"{name}.step", "0" * 64, "mm", 1, (0.0, 0.0, 0.0), size, math.prod(size), tuple(faces),
                tuple(edges), (top, *holes))


def _v(values: Iterable[float]) -> Vector:
    x, y, z = values
    return float(x), float(y), float(z)


def _edges(size: Vector) -> list[tuple[Vector, Vector]]:
    corners = [_v(p) for p in product(*((0.0, s) for s in size))]
    return [(a, b) for a in corners for b in corners
            if a < b and sum(x != y for x, y in zip(a, b, strict=True)) == 1]


def views(up: Vector, across: Vector, made: Part, names: tuple[str, ...] = ("plan", "front", "side", "pictorial"),
          ) -> tuple[View, ...]:
    """Its lines as seen in a setting; the far edges are hidden in the picture."""
    back = cross(up, across)
    ways = {"plan": (across, back), "front": (across, up), "side": (back, up)}
    c, s = math.cos(math.radians(28)), math.sin(math.radians(28))
    right = _v(across[i] * c + back[i] * s for i in range(3))
    ahead = _v(back[i] * c - across[i] * s for i in range(3))
    ways["pictorial"] = (right, _v(up[i] * c + ahead[i] * s for i in range(3)))
    return tuple(_view(name, up, *ways[name], made) for name in names)


def _view(name: str, up: Vector, across: Vector, upwards: Vector, made: Part) -> View:
    def flat(p: Vector) -> tuple[float, float]:
        return dot(p, across) + 3.0, dot(p, upwards) - 2.0

    eye = cross(across, upwards)
    nearest = min((_v(p) for p in product(*((0.0, s) for s in made.high))), key=lambda p: dot(p, eye))
    visible: list[tuple[tuple[float, float], ...]] = []
    hidden: list[tuple[tuple[float, float], ...]] = []
    for edge in made.edges:
        away = name == "pictorial" and nearest in edge.points
        (hidden if away else visible).append(tuple(flat(p) for p in edge.points))
    for feature in made.features:
        if feature.kind == "hole" and feature.axis_point is not None:
            x, y, z = feature.axis_point
            turns = np.linspace(0, 2 * math.pi, 37)
            ring = [(x + 1.65 * math.cos(a), y + 1.65 * math.sin(a), z) for a in turns]
            seen = dot((0.0, 0.0, 1.0), eye) > 0.1
            (visible if seen else hidden).append(tuple(flat(p) for p in ring))
            if not seen:
                hidden += [(flat((x + d, y, z)), flat((x + d, y, z - 12.0))) for d in (-1.65, 1.65)]
    return View(name, up, tuple(visible), tuple(hidden), flat((0.0, 0.0, 0.0)), across, upwards)


def job(name: str = "block plane", units: str = "mm", **more: object) -> Job:
    """One part, two limits, a screw joint."""
    return Job.model_validate({
        "name": name, "units": units,
        "parts": {"body": {"model": "body.step", "material": "s275", "names": {"bed": "+Z"},
                           "stock": {"size": ["112 mm", "40 mm", "25 mm"], "condition": "hot_rolled"}}},
        "limits": {
            "height": {"kind": "distance", "between": ["+Z", "-Z"], "part": "body", "tolerance": "±0.03 mm",
                       "instrument": "micrometer"},
            "drill": {"kind": "size", "between": ["hole-1"], "part": "body", "tolerance": "±0.01 mm",
                      "instrument": "caliper"},
        },
        "joints": {"sole": {"kind": "screw", "screw": "M4 x 16", "through": "sole.hole-1", "into": "body.hole-1",
                            "number": 4}},
        **more,
    })


def shop() -> Shop:
    """A mill, three tools, a vise, two instruments."""
    book = {"factor": 1.5, "source": "measured"}
    return Shop.model_validate({
        "name": "shed", "classes": {"mill": {"name": "light mill", "kind": "mill"}},
        "machines": {"mill": {"name": "light gantry mill", "like": "mill", "collets": ["er16"], "spindle": {
            "slowest": "500 rpm", "fastest": "2500 rpm", "power": {"value": "300 W", **book},
            "steps": ["500 rpm", "900 rpm", "1400 rpm", "1900 rpm", "2500 rpm"]}}},
        "tools": {
            "em10": {"name": "10 mm end mill, 3 flutes, carbide", "kind": "end_mill", "material": "carbide",
                     "diameter": "10 mm", "flutes": 3, "flute_length": "22 mm", "overall_length": "70 mm"},
            "d33": {"name": "3.3 mm drill", "kind": "drill", "material": "hss", "diameter": "3.3 mm", "flutes": 2,
                    "flute_length": "36 mm", "overall_length": "65 mm"},
            "m4": {"name": "M4 hand tap", "kind": "tap", "material": "hss", "diameter": "4 mm", "flutes": 3,
                   "flute_length": "13 mm", "overall_length": "45 mm", "thread": "M4"},
        },
        "materials": {"s275": {"name": "mild steel S275, hot rolled", "group": "P",
                               "cautions": ["Long chips: clear them with a hook, never with fingers."]}},
        "devices": {"vise": {"name": "100 mm vise", "kind": "vise", "width": "100 mm", "jaw_height": "32 mm"}},
        "instruments": {
            "micrometer": {"name": "micrometer 0–25", "kind": "micrometer", "range": ["0 mm", "25 mm"],
                           "resolution": "0.01 mm", "uncertainty": {"value": "0.004 mm", **book}},
            "caliper": {"name": "caliper", "kind": "caliper", "range": ["0 mm", "150 mm"],
                        "resolution": "0.01 mm", "uncertainty": {"value": "0.02 mm", **book}},
        },
    })


def route() -> Route:
    """Bottom up and faced; turned over, faced to size, drilled and tapped."""
    hold = {"device": "vise", "grip": ["+Y", "-Y"], "grip_height": "12 mm", "stick_up": "13 mm",
            "parallels": "10 mm", "tightness": "hand, firm", "stop": "-X"}
    zero = {"x": "-X", "y": "+Y", "by": "edge finder"}
    return Route.model_validate({
        "settings": {
            "body-1": {"workpiece": "body", "up": [0, 0, -1], "across": [-1, 0, 0], "machine": "mill",
                       "datums": ["+Z", "+Y", "-X"], "holding": {**hold, "rest": "+Z"}, "zero": {**zero, "z": "-Z"},
                       "stock_left": {"-Z": "0.5 mm", "+Z": "0.5 mm", "-X": "1 mm", "+X": "1 mm"}},
            "body-2": {"workpiece": "body", "up": [0, 0, 1], "across": [1, 0, 0], "machine": "mill",
                       "datums": ["-Z", "+Y", "-X"], "holding": {**hold, "rest": "-Z"}, "zero": {**zero, "z": "-Z"},
                       "stock_left": {"+Z": "0.5 mm"}, "notes": ["Mark the finished face."]},
        },
        "operations": {
            "bottom face_rough": {"number": 10, "setting": "body-1", "features": ["-Z"], "role": "face_rough",
                                  "tool": "em10", "collet": "er16", "stickout": "28 mm", "removes": "0.5 mm",
                                  "cut": {"spindle_speed": "1900 rpm", "feed_per_tooth": "0.03 mm",
                                          "depth_of_cut": "0.5 mm", "width_of_cut": "6 mm", "direction": "climb"}},
            "step-1 face_rough": {"number": 20, "setting": "body-2", "features": ["step-1"], "role": "face_rough",
                                  "tool": "em10", "collet": "er16", "stickout": "28 mm", "removes": "0.5 mm",
                                  "measure": ["height"],
                                  "cut": {"spindle_speed": "1900 rpm", "feed_per_tooth": "0.03 mm",
                                          "depth_of_cut": "0.5 mm", "width_of_cut": "6 mm", "direction": "climb"}},
            "holes drill": {"number": 30, "setting": "body-2", "features": list(HOLES), "role": "drill",
                            "tool": "d33", "collet": "er16", "stickout": "40 mm", "measure": ["drill"],
                            "cut": {"spindle_speed": "2500 rpm", "feed_per_tooth": "0.025 mm", "peck_depth": "3 mm"}},
            "holes tap": {"number": 40, "setting": "body-2", "features": list(HOLES), "role": "tap", "tool": "m4"},
        },
        "no_way": [{"part": "body", "feature": "fillet-1", "because": "no ball cutter of 3 mm radius or less"}],
    })


def finding(check: str, subject: Subject, name: str, chance: float | None, because: str,
            settle_by: str = "") -> Finding:
    """A finding with the same chance in every row."""
    rows = None if chance is None else np.full(8, chance)
    spread = None if chance is None else Spread(1.0, 2.0, 3.0)
    return Finding(check, subject, name, "tool", rows, spread, spread, "N", because, settle_by)


def result(name: str = "block plane", units: str = "mm") -> Result:
    """Some of it good, some not, one rule not met."""
    op = "bottom face_rough"
    instead = (Remedy("0.3 mm deep, not 0.5 mm", ((f"operations.{op}.cut.depth_of_cut", "0.3 mm"),), 0.008, 1.5),)
    checks = (
        Checked(finding("push_off", "operation", op, 0.09, "the tool is pushed 0.12 mm off its line"),
                "tool pushed off", "body", "body-1", op, 10, "no good", instead),
        Checked(finding("chatter", "operation", op, None, "how stiff the spindle is, is not known", "a test cut"),
                "sings", "body", "body-1", op, 10, "can't say"),
        Checked(finding("break", "operation", "holes drill", 0.03, "the chips pack in a hole 4 diameters deep"),
                "tool bends or breaks", "body", "body-2", "holes drill", 30, "close"),
        Checked(finding("size", "limit", "height", 0.005, "two settings of zero"), "size", "body", "body-2", "height",
                None, "good"),
        Checked(finding("bottoms", "joint", "sole", 0.99, "the screw is 2.1 mm longer than the thread"),
                "screw bottoms", "", "", "sole", None, "no good"),
    )
    rules = (RuleFound("stop", "bottom face_rough", "body-1", "do", "against the stop, so that it cannot be pulled"),
             RuleFound("clamped", "holes drill", "body-2", "don't start", "the part is held by hand only"))
    times = {key: OperationTime(key, 3.0, 2.0, 0.05) for key in route().operations}
    return Result(job(name, units), shop(), route(), {"body": part()}, (), checks, rules, times,
                  ("heat", "wear of the tool"), 0.12, 0.03, checks[0], 3900.0, 12.5, 2048, 20, "a1b2c3d4e5f6a7b8",
                  figures_note="book figures only")
