"""A tiny shop, job and part made by hand, so that each check can be driven to either side of its limit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import acos, pi
from typing import Any

import numpy as np

from firstoff.belief import Belief, Column, Level, LogNormal, Normal
from firstoff.checks.base import Case, Check, Finding, State, Subject
from firstoff.job.models import Job, Joint, Limit
from firstoff.job.route import Route
from firstoff.part.shapes import Face, Feature, Part, Vector
from firstoff.removal.windows import Windows
from firstoff.shop.models import Shop

ROWS = 256
LENGTH, WIDTH, HEIGHT = 60.0, 40.0, 20.0      #: of the block [mm]


def fig(value: object, factor: float | None = 2.0, sd: object = None) -> dict[str, object]:
    """A figure as it stands in a shop's file."""
    spread: dict[str, object] = {"sd": sd} if sd is not None else {"factor": factor}
    return {"value": value, "source": "measured", **spread}


def column(entity: str, parameter: str, median: float, factor: float = 1.1, unit: str = "",
           level: Level = Level.MACHINE) -> Column:
    """A lognormal column."""
    return Column(entity, parameter, unit, level, LogNormal(median, factor))


def spread_column(entity: str, parameter: str, mean: float, sd: float, unit: str = "",
                  level: Level = Level.MACHINE) -> Column:
    """A normal column."""
    return Column(entity, parameter, unit, level, Normal(mean, sd))


def columns() -> list[Column]:
    """All that the checks ask for, as narrow as a test needs."""
    steel = "material:steel"
    return [
        column(steel, "tangential", 2.0e9), column(steel, "radial", 0.8e9), column(steel, "axial", 0.4e9),
        column(steel, "tangential_edge", 15e3), column(steel, "radial_edge", 15e3), column(steel, "axial_edge", 2e3),
        column(steel, "young", 210e9, 1.02), column(steel, "yield_strength", 300e6, 1.08),
        column(steel, "tensile_strength", 450e6, 1.08), column(steel, "drilling_force", 1780e6, 1.2),
        column(steel, "tapping_force", 3700e6, 1.2), column(steel, "scale_thickness", 0.03, 1.5, "mm"),
        column(steel, "heat_capacity", 3.5e6, 1.03), column(steel, "conductivity", 50.0, 1.05),
        column(steel, "expansion", 12e-6, 1.03), column(steel, "build_up", 540.0, 1.1),
        column(steel, "cutting_speed:carbide", 2.5), column(steel, "cutting_speed:hss", 0.5),
        *(column("material:pom", *figure) for figure in (
            ("tangential", 180e6), ("tangential_edge", 1.5e3), ("heat_capacity", 2.07e6), ("conductivity", 0.31),
            ("softens", 145.0))),
        *(column("tool_material:carbide", *figure) for figure in (
            ("conductivity", 85.0), ("hot_limit", 830.0), ("taylor_exponent", 0.25), ("book_margin", 1.3),
            ("life_by_feed", 0.4), ("life_by_depth", 0.13))),
        *(column("tool_material:hss", *figure) for figure in (
            ("conductivity", 22.0), ("hot_limit", 570.0), ("taylor_exponent", 0.125), ("book_margin", 1.2),
            ("life_by_feed", 0.6), ("life_by_depth", 0.07))),
        *(column(f"coolant:{wet}", "cooling", share) for wet, share in
          (("dry", 0.01), ("air", 0.05), ("mist", 0.1), ("brushed", 0.05), ("flood", 0.25))),
        column("coolant:dry", "film", 12.0, 1.3), column("coolant:flood", "speed", 1.25),
        column("coolant:brushed", "build_up", 0.4), column("coating:tin", "speed", 1.3),
        column("shop", "chip_ratio", 0.4), column("shop", "friction_ratio", 0.33),
        column("shop", "book_life", 2700.0), column("shop", "book_feed", 0.1, unit="mm"),
        column("shop", "book_depth", 0.5), column("shop", "tap_speed", 0.4), column("shop", "tap_life", 5400.0),
        column("shop", "tap_exponent", 0.9, 1.01), column("shop", "ream_speed", 0.5),
        column("shop", "ream_life", 1500.0), column("shop", "ream_exponent", 0.4, 1.01),
        column("shop", "end_wear", 0.3, unit="mm"), column("shop", "scale_abrasion", 3.0, 1.3),
        column("shop", "build_up_roughness", 0.0025, 1.5, "mm"), column("shop", "jaw_contact", 3000.0, 1.5),
        column(steel, "skin_stress", 50e6, 1.5), column(steel, "batch", 1.0, 1.05, level=Level.BATCH),
        *(column("machine:mill", f"stiffness_{axis}", k) for axis, k in (("x", 5e6), ("y", 5e6), ("z", 10e6))),
        column("machine:mill", "mode_frequency", 900.0), column("machine:mill", "mode_damping", 0.03),
        column("machine:mill", "nose_mass", 0.3), column("machine:press", "nose_mass", 1.0),
        column("machine:mill", "lost_motion", 0.01, 1.3, "mm"),
        column("machine:mill", "positioning", 0.005, 1.3, "mm"),
        spread_column("machine:mill", "axis_scale", 0.0, 1e-4),
        spread_column("machine:mill", "squareness", 0.0, 1e-4),
        spread_column("machine:mill", "tram", 0.0, 1e-4), column("machine:mill", "axis_thrust", 800.0),
        column("machine:mill", "slide_drag", 60.0), column("collet:er6", "grip", 4000.0),
        column("machine:mill", "touch_off", 0.01, 1.3, "mm"), column("machine:mill", "power", 500.0),
        column("machine:press", "positioning", 0.15, 1.3, "mm"), column("machine:press", "power", 250.0),
        column("machine:press", "axis_thrust", 1200.0), column("machine:press", "touch_off", 0.2, 1.3, "mm"),
        spread_column("machine:press", "tram", 0.0, 1e-3),
        *(column(f"tool_material:{m}", "rupture_strength", s) for m, s in (("carbide", 2.5e9), ("hss", 3.4e9))),
        *(column(f"tool_material:{m}", "young", e, 1.03) for m, e in (("carbide", 600e9), ("hss", 220e9))),
        *(column(f"tool_material:{m}", "edge_radius", r, 1.3, "mm") for m, r in (("carbide", 0.005), ("hss", 0.008))),
        *(column(f"tool_material:{m}", "mode_damping", 0.02) for m in ("carbide", "hss")),
        *(column(f"tool_material:{m}", "flank_damping", 0.15, 1.3, "mm") for m in ("carbide", "hss")),
        column("collet:er6", "runout", 0.005, 1.3, "mm"), column("collet:er6", "stiffness", 20e6),
        column("device:vise", "squeeze:arm", 8000.0, 1.3, level=Level.CLAMPING),
        column("device:vise", "squeeze:fingers", 200.0, 1.3, level=Level.CLAMPING),
        column("device:vise", "friction", 0.15, 1.2), column("device:vise", "seating", 0.01, 1.3, "mm"),
        column("device:vise", "jaw_lift", 0.02, 1.3, "mm"), column("device:hand", "squeeze:fingers", 60.0, 1.3),
        column("device:carrier", "glue_strength", 10e6, 1.3), column("device:carrier", "glue_share", 0.5, 1.3),
        column("device:clamps", "squeeze:arm", 4000.0, 1.3, level=Level.CLAMPING),
        column("device:clamps", "friction", 0.15, 1.2), column("device:hand", "friction", 0.3, 1.2),
        column("instrument:mic", "uncertainty", 0.003, 1.2, "mm"),
        *(column(f"discrepancy:{kind}", "factor", 1.0, 1.05) for kind in
          ("force", "power", "push_off", "chatter", "rubbing", "finish", "drilling", "tapping", "holding", "size",
           "spring", "heat", "wear")),
        column("shop", "rubbing_ratio", 0.3, 1.2),
    ]


def belief(**changed: float) -> Belief:
    """A belief; `changed` maps 'entity__parameter' (':' as '_') to another median of that column."""
    made = columns()
    for key, median in changed.items():
        entity, _, parameter = key.partition("__")
        at = next(i for i, c in enumerate(made)
                  if c.entity.replace(":", "_") == entity and c.parameter.replace(":", "_") == parameter)
        law = made[at].transform
        assert isinstance(law, LogNormal | Normal)
        moved = LogNormal(median, law.factor) if isinstance(law, LogNormal) else Normal(median, law.sd)
        made[at] = replace(made[at], transform=moved)
    return Belief.of(made, rows=ROWS)


def without(*parameters: str) -> Belief:
    """A belief of a metal of which these are not known: "conductivity"."""
    return Belief.of([c for c in columns() if not (c.entity.startswith("material:") and c.parameter in parameters)],
                     rows=ROWS)


def tool(**changed: Any) -> dict[str, Any]:
    """A 6 mm end mill."""
    return {"name": "end mill 6 mm", "kind": "end_mill", "material": "carbide", "diameter": "6 mm", "flutes": 3,
            "flute_length": "13 mm", "overall_length": "50 mm", "stickout": "20 mm", **changed}


def shop(**tools: dict[str, Any]) -> Shop:
    """A mill, a press, a vise, a hand and some tools; `tools` adds or changes."""
    axes = {axis: fig("5 N/um") for axis in "xyz"}
    spindle = {"slowest": "2000 rpm", "fastest": "10000 rpm", "power": fig("500 W", 1.1)}
    belt = {"slowest": "500 rpm", "fastest": "2500 rpm", "power": fig("250 W", 1.1),
            "steps": ["500 rpm", "900 rpm", "1400 rpm", "2500 rpm"]}
    kit = {
        "em6": tool(),
        "em10": tool(name="end mill 10 mm", diameter="10 mm", flute_length="22 mm", overall_length="72 mm"),
        "chamfer6": tool(name="chamfer cutter 6 mm", kind="chamfer", point_angle="90 deg", flute_length="6 mm",
                         stickout="15 mm"),
        "drill4": tool(name="drill 4 mm", kind="drill", material="hss", diameter="4 mm", flutes=2,
                       flute_length="43 mm", overall_length="75 mm", point_angle="118 deg", stickout="48 mm"),
        "tap5": tool(name="tap M5", kind="tap", material="hss", diameter="5 mm", flutes=3, flute_length="16 mm",
                     overall_length="70 mm", thread="M5"),
    }
    return Shop.model_validate({
        "name": "tiny", "classes": {
            "mill": {"name": "mill", "kind": "mill", "stiffness": axes},
            "press": {"name": "press", "kind": "drill_press"}, "bench": {"name": "bench", "kind": "hand"}},
        "machines": {
            "mill": {"name": "mill", "like": "mill", "spindle": spindle, "collets": ["er6"]},
            "press": {"name": "press", "like": "press", "spindle": belt},
            "bench": {"name": "bench", "like": "bench"}},
        "tools": {**kit, **tools},
        "collets": {"er6": {"name": "collet", "grips": ["3 mm", "10 mm"], "runout": fig("0.005 mm", 1.3),
                            "nut_diameter": "32 mm"}},
        "materials": {
            "steel": {"name": "steel", "group": "P", "build_up": fig("540 K"),
                      "cutting_speed": {"carbide": fig("150 m/min"), "hss": fig("30 m/min")}},
            "pom": {"name": "acetal", "group": "plastic"}},
        "coatings": {"tin": {"name": "TiN", "speed": fig(1.3)}},
        "coolants": {wet: {"name": wet, "film": fig("12 W/m2/K"), "cooling": fig(0.1)}
                     for wet in ("dry", "air", "mist", "brushed", "flood")},
        "discrepancies": {"finish": {"factor": fig(1.0, 1.05)}},
        "tool_materials": {name: {
            "rupture_strength": fig("2500 N/mm2"), "young": fig("600 GPa"), "edge_radius": fig("0.005 mm"),
            "density": density, "mode_damping": fig(0.02), "flank_damping": fig("0.15 mm")}
            for name, density in (("carbide", "14500 kg/m3"), ("hss", "8100 kg/m3"))},
        "devices": {
            "vise": {"name": "vise", "kind": "vise", "width": "100 mm", "jaw_height": "30 mm",
                     "squeeze": {"arm": fig("8000 N"), "fingers": fig("200 N")}, "friction": fig(0.15, 1.2)},
            "carrier": {"name": "carrier", "kind": "carrier"},
            "clamps": {"name": "toe clamps", "kind": "clamps", "friction": fig(0.15, 1.2),
                       "squeeze": {"arm": fig("4000 N")}},
            "hand": {"name": "by hand", "kind": "hand", "squeeze": {"fingers": fig("60 N")}}},
        "instruments": {"mic": {"name": "micrometer", "kind": "micrometer", "range": ["0 mm", "75 mm"],
                                "resolution": "0.01 mm", "uncertainty": fig("0.003 mm", 1.2)}},
    })


def _flat(number: int, normal: Vector, low: Vector, high: Vector) -> Face:
    size = [b - a for a, b in zip(low, high, strict=True)]
    area = float(np.prod([s for s in size if s > 0.0]))
    middle = tuple((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    return Face(number, 0, "plane", area, middle, normal, low, high)  # type: ignore[arg-type]


def block(*features: Feature, faces: tuple[Face, ...] = ()) -> Part:
    """A block with its low corner at the origin: faces 0 … 5 are -X, +X, -Y, +Y, -Z, +Z."""
    a, b, c = LENGTH, WIDTH, HEIGHT
    sides = (
        _flat(0, (-1.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, b, c)), _flat(1, (1.0, 0.0, 0.0), (a, 0.0, 0.0), (a, b, c)),
        _flat(2, (0.0, -1.0, 0.0), (0.0, 0.0, 0.0), (a, 0.0, c)), _flat(3, (0.0, 1.0, 0.0), (0.0, b, 0.0), (a, b, c)),
        _flat(4, (0.0, 0.0, -1.0), (0.0, 0.0, 0.0), (a, b, 0.0)), _flat(5, (0.0, 0.0, 1.0), (0.0, 0.0, c), (a, b, c)),
    )
    own = tuple(Feature(f"stock-{i + 1}", "stock", (i,), access=(face.normal,)) for i, face in enumerate(sides))
    return Part("block", "block.step", "0" * 64, "mm", 1, (0.0, 0.0, 0.0), (a, b, c), a * b * c,
                (*sides, *faces), (), (*own, *features))


def job(**changed: Any) -> Job:
    """A job with the block; `stock` and other keys of the part may be changed, limits and joints added."""
    part = {"model": "block.step", "material": "steel",
            "stock": {"size": ["62 mm", "42 mm", "22 mm"], "condition": "cold_drawn"}}
    part |= {key: changed.pop(key) for key in list(changed) if key in
             ("stock", "threads", "names", "ream", "by_hand", "roughness", "material")}
    return Job.model_validate({"name": "tiny job", "parts": {"block": part}, **changed})


def operation(**changed: Any) -> dict[str, Any]:
    """Side milling with the 6 mm cutter; keys of `cut` may be changed through `cut`."""
    cut = {"spindle_speed": "6000 rpm", "feed_per_tooth": "0.02 mm", "depth_of_cut": "1 mm",
           "width_of_cut": "3 mm", "direction": "climb", **changed.pop("cut", {})}
    return {"number": 10, "setting": "first", "features": ["stock-6"], "role": "side_rough", "tool": "em6",
            "collet": "er6", "stickout": "20 mm", "removes": "1 mm", "leaves": "0.2 mm", "cut": cut, **changed}


def setting(**changed: Any) -> dict[str, Any]:
    """In the vise, top up."""
    holding = {"device": "vise", "rest": "-Z", "grip": ["-Y", "+Y"], "grip_height": "10 mm", "stick_up": "10 mm",
               "tightness": "arm", **changed.pop("holding", {})}
    return {"workpiece": "block", "up": [0, 0, 1], "across": [1, 0, 0], "machine": "mill",
            "datums": ["-Z", "-Y", "-X"], "holding": holding, "zero": {"x": "-X", "y": "-Y", "z": "+Z"}, **changed}


def windows(depth: float = 1.0, width: float = 3.0, feed: float = 0.02, diameter: float = 6.0,
            direction: str = "climb", number: int = 3, along: Vector = (1.0, 0.0, 0.0)) -> Windows:
    """Windows of an even cut along x on top of the block [mm]."""
    part = width / diameter
    entry, leave = {"climb": (acos(2 * part - 1), pi), "conventional": (0.0, acos(1 - 2 * part)),
                    "slot": (0.0, pi)}[direction]
    start = LENGTH * np.arange(number) / number
    ones = np.ones(number)
    step = LENGTH / number
    point = np.stack([start + step / 2, WIDTH / 2 * ones, HEIGHT * ones], axis=1)
    return Windows(
        np.zeros(number, dtype=np.int64), start, start + step, 2.0 * ones, point, np.tile(along, (number, 1)),
        depth * width * step * ones, depth * ones, width * ones, entry * ones, leave * ones, feed * ones,
        np.zeros(number, dtype=np.bool_))


def case(subject: Subject = "operation", name: str = "op", *, op: dict[str, Any] | None = None,
         ops: dict[str, dict[str, Any]] | None = None, place: dict[str, Any] | None = None,
         in_shop: Shop | None = None, of_job: Job | None = None, part: Part | None = None,
         cut: Windows | None = None, state: State | None = None, limit: Limit | None = None,
         joint: Joint | None = None, settings: dict[str, dict[str, Any]] | None = None) -> Case:
    """A case as the dry run makes it."""
    route = Route.model_validate({
        "settings": settings or {"first": place or setting()},
        "operations": ops or {name if subject == "operation" else "op": op or operation()}})
    this = route.operations[name] if subject == "operation" else None
    if this is not None and cut is None and this.cut.depth_of_cut and this.cut.feed_per_tooth:
        diameter = (in_shop or shop()).tools[this.tool or "em6"].diameter
        cut = windows(this.cut.depth_of_cut, min(this.cut.width_of_cut or diameter, diameter),
                      this.cut.feed_per_tooth, diameter, this.cut.direction or "climb")
    return Case(
        subject, name, of_job or job(), in_shop or shop(), route, {"block": part or block()}, part_name="block",
        setting_name=this.setting if this else ("first" if subject == "setting" else None), operation=this,
        windows=cut, state=state or State("block"), limit=limit, joint=joint)


def found(check: Check, this: Case, believed: Belief | None = None) -> Finding:
    """What the check finds, with what every finding must hold."""
    assert check.subject == this.subject
    assert check.applies(this)
    finding = check.evaluate(this, believed or belief())
    assert finding.check == check.name
    if finding.p_rows is not None:
        assert finding.p_rows.shape == (ROWS,)
        assert np.all(np.isfinite(finding.p_rows))
        assert np.all((finding.p_rows >= 0.0) & (finding.p_rows <= 1.0))
        assert finding.demand is not None and finding.capacity is not None and finding.unit
    assert finding.because and not finding.because.endswith(".")
    return finding


def chance(check: Check, this: Case, believed: Belief | None = None) -> float:
    """Its chance of failing."""
    p = found(check, this, believed).p_fail
    assert p is not None
    return p


def rises(check: Check, cases: list[Case]) -> None:
    """Each case is at least as bad as the one before, in every row, and the last is worse than the first."""
    rows: list[Any] = [found(check, this).p_rows for this in cases]
    for less, more in pairwise(rows):
        assert np.all(more >= less - 1e-12)
    assert rows[-1].mean() > rows[0].mean()


def knobs_say(check: Check, this: Case) -> dict[str, list[str]]:
    """What each knob offers, in words."""
    return {knob.path: [knob.say(this, value) for value in knob.values(this)] for knob in check.knobs}


Make = Callable[..., Case]
