"""What on the route card can be rubbed out and written anew: each word and number with its key in route or job."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, get_args

from ..dryrun.result import Result
from ..dryrun.walk import joint_as_routed
from ..errors import InputError, NameUnknown, UnitError
from ..job.faces import DIRECTIONS
from ..job.models import By, LeverJoint, ScrewJoint, WedgeJoint
from ..job.reading import load_job
from ..job.route import Cut, Direction
from ..job.wanted_edits import ROOT, of_job
from ..sheets.cards import by_arm
from ..sheets.held import NO_PARALLELS, held_pieces
from ..sheets.lists import inspection, nominal_of
from ..sheets.words import settings_of_cut
from ..units import parse, tell

#: label on a card -> key below its operation
WRITTEN: Final = {
    "speed": "cut.spindle_speed", "feed": "feed", "per tooth": "cut.feed_per_tooth", "deep": "cut.depth_of_cut",
    "wide": "cut.width_of_cut", "takes off": "removes", "leaves": "leaves", "peck": "cut.peck_depth",
    "per turn": "per_turn", "feed by arm": "feed_by_arm",
}
_MILLS: Final = ("end_mill", "corner_radius", "ball", "face_mill")
#: kinds of tool that a role is done with; all others mill
_KINDS: Final[dict[str, tuple[str, ...]]] = {
    "spot": ("spot_drill", "drill"), "drill": ("drill",), "ream": ("reamer",), "tap": ("tap",),
    "countersink": ("countersink",), "chamfer": ("chamfer",), "file": ("file",), "saw": ("saw",), "measure": (),
}
NO_PECKS: Final = "in one go"
BY_HAND: Final = "by hand"
WRENCH: Final = "a torque wrench"
TAPPED: Final = (("true", "tapped down until no parallel moves"), ("false", "not tapped down"))
GREASED: Final = (("true", "greased"), ("false", "dry"))
FRESH: Final = (("false", "as it is"), ("true", "a new one"))
DIRECTIONS_OF_CUT: Final = {"climb": "climb", "conventional": "conventional", "slot": "slot"}
COOLANTS: Final[tuple[str, ...]] = get_args(Cut.model_fields["coolant"].annotation)
#: limits that a model carries, by the name that they then have
_BY_MODEL: Final = re.compile(r"-model-\d+$")
#: ends of a size that must come right, written as sizes
_END: Final = re.compile(rf"{re.escape(ROOT)}limits\.([^.]+)\.(low|high)")
Choices = list[tuple[str, str]]


@dataclass(frozen=True)
class Blank:
    """Words on a card: with a path they can be written anew, and with `among` one of some choices stands there."""

    text: str
    path: str = ""
    label: str = ""
    among: str = ""
    now: str | None = None

    @property
    def value(self) -> str:
        """What stands there, as an edit writes it: the words themselves where nothing else is told."""
        return self.text if self.now is None else self.now


def head_of(result: Result, key: str) -> dict[str, Blank | None]:
    """Number, tool, collet, stickout, direction and coolant of an operation; None for what it does not have."""
    op = result.route.operations[key]
    tool, collet = result.shop.tools.get(op.tool or ""), result.shop.collets.get(op.collet or "")
    at, of, kinds = f"operations.{key}", f"of {op.number}", _KINDS.get(op.role, _MILLS)
    cuts = bool(op.cut.spindle_speed)
    return {
        "number": Blank(str(op.number), f"{at}.number", "number of the operation"),
        "tool": Blank(tool.name if tool else op.tool or "by hand", f"{at}.tool" if kinds else "", f"tool {of}",
                      f"tools-{'-'.join(kinds)}" if kinds else "", op.tool or ""),
        "fresh": Blank(dict(FRESH)[str(op.fresh).lower()], f"{at}.fresh", f"tool {of}: new or as it is", "fresh",
                       str(op.fresh).lower()) if op.fresh or _worn(result, key) else None,
        "collet": Blank(collet.name if collet else op.collet or "no collet", f"{at}.collet", f"collet {of}",
                        f"collets-{result.route.settings[op.setting].machine}", op.collet or "")
        if op.tool and (op.collet or cuts) else None,
        "stickout": Blank(tell(op.stickout, "length", result.job.units), f"{at}.stickout",
                          f"how far the tool of {op.number} stands out") if op.stickout else None,
        "direction": Blank(DIRECTIONS_OF_CUT[op.cut.direction], f"{at}.cut.direction", f"direction {of}", "direction",
                           op.cut.direction) if op.cut.direction else None,
        "coolant": Blank(op.cut.coolant, f"{at}.cut.coolant", f"coolant {of}", "coolant", op.cut.coolant)
        if cuts else None,
    }


def _worn(result: Result, key: str) -> bool:
    """Whether the edge may be too worn for the operation: then a new one can be put in."""
    return any(c.operation == key and c.finding.check == "wear" and c.verdict != "good" for c in result.checks)


def numbers_of(result: Result, key: str) -> list[tuple[str, Blank]]:
    """The numbers of an operation with their labels, as they stand on its card."""
    op = result.route.operations[key]
    tool = result.shop.tools.get(op.tool) if op.tool else None
    told = settings_of_cut(op, tool, result.job.units, by_arm(result, op))
    if op.role == "drill" and not op.cut.peck_depth:
        told.append(("peck", NO_PECKS))
    if op.cooling:
        told.append(("cools", tell(op.cooling, "time", result.job.units)))
    keys = WRITTEN | {"cools": "cooling"}
    return [(label, Blank(text, f"operations.{key}.{keys[label]}" if label in keys else "", f"{label} of {op.number}",
                          now="" if text == NO_PECKS else None)) for label, text in told]


def held_of(result: Result, name: str) -> list[tuple[str, list[Blank]]]:
    """How the work of a setting is held, line by line."""
    setting = result.route.settings[name]
    part = setting.workpiece.split("+")[0]
    among = {"holding.device": "devices", "holding.tightness": f"tight-{setting.holding.device}",
             "holding.tapped": "tapped", "holding.stop": f"stops-{part}"}
    machine = result.shop.machines.get(setting.machine)
    lines = [("machine", [(machine.name if machine else setting.machine, "machine")]),
             *held_pieces(result, setting, every=True)]

    def blank(label: str, text: str, key: str) -> Blank:
        if not key:
            return Blank(text)
        kind = among.get(key, "machines" if key == "machine" else f"faces-{part}" if _is_face(key) else "")
        return Blank(text, f"settings.{name}.{key}", f"{label}, {key.replace('.', ' ').replace('_', ' ')}", kind,
                     _now(setting.model_dump(), key) if kind else "" if text == NO_PARALLELS else None)

    return [(label, [blank(label, text, key) for text, key in pieces]) for label, pieces in lines]


def _is_face(key: str) -> bool:
    return key in ("holding.rest", "holding.grip.0", "holding.grip.1", "zero.x", "zero.y", "zero.z") or (
        key.startswith("datums."))


def _now(table: object, key: str) -> str:
    """What stands at a key, as an edit would write it."""
    for step in key.split("."):
        if isinstance(table, Mapping):
            table = table[step]
        elif isinstance(table, tuple):
            table = table[int(step)]
    return "" if table is None else str(table).lower() if isinstance(table, bool) else str(table)


def joint_of(result: Result, name: str) -> list[tuple[str, Blank]]:
    """What the route may say of a joint otherwise than the job: labels and blanks."""
    joint = joint_as_routed(name, result.job.joints[name], result.route)
    units = result.job.units
    torque = tell(joint.torque, "torque", units) if joint.torque is not None else BY_HAND
    rows: list[tuple[str, str, str, str]] = [
        ("screw", joint.screw, "screw", ""), ("tightened to", torque, "torque", ""),
        ("by", joint.torque_by or WRENCH, "torque_by", "by"),
        ("thread", dict(GREASED)[str(joint.lubricated).lower()], "lubricated", "greased")]
    if isinstance(joint, ScrewJoint):
        rows += [("screws", str(joint.number), "number", ""), ("head", joint.head, "head", "heads"),
                 ("grade", joint.grade, "grade", "grades")]
    if isinstance(joint, LeverJoint | WedgeJoint) and joint.wanted_force is not None:
        rows.append(("must press", tell(joint.wanted_force, "force", units), "wanted_force", ""))
    values = {BY_HAND: "", WRENCH: ""} | {text: key for key, text in GREASED}
    return [(label, Blank(text, f"joints.{name}.{key}", f"{label} of {name.replace('_', ' ')}", among,
                          values.get(text))) for label, text, key, among in rows]


def budget_of(result: Result) -> Blank:
    """The chance of losing a part that the job may have."""
    from ..dryrun.result import odds

    return Blank(odds(result.job.budget), f"{ROOT}budget", "budget", now=f"{100.0 * result.job.budget:.4g} %")


def stock_of(result: Result, part: str) -> dict[str, Blank]:
    """The piece that a part is cut from: wide, thin, and long to saw."""
    sizes = result.job.parts[part].stock.size
    order = sorted(range(3), key=lambda axis: sizes[axis])
    at = f"{ROOT}parts.{part}.stock.size"
    return {word: Blank(tell(sizes[axis], "length", result.job.units), f"{at}.{axis}", f"stock of {part}: how {word}")
            for word, axis in zip(("thin", "wide", "long"), order, strict=True)}


def limit_of(result: Result, row: Mapping[str, str]) -> dict[str, Blank]:
    """A size that must come right, how far it may be out, and both ends; what only a model says is written there.

    Args:
        result: what the dry run returned.
        row: of the inspection.
    """
    name, nominal = row["name"], row["nominal"]
    limit, units = result.job.limits[name], result.job.units
    low, high = (tell(abs(end), "length", units, decimals=4) for end in limit.tolerance)
    signs = ["−" if end < 0.0 else "+" if end > 0.0 else "" for end in limit.tolerance]
    even = limit.tolerance[0] == -limit.tolerance[1]
    text = f"±{high}" if even else f"{signs[1]}{high} / {signs[0]}{low}"
    at, said = f"{ROOT}limits.{name}", name.replace("_", " ")
    own = not _BY_MODEL.search(name)
    ends = {end: Blank(row[end], f"{at}.{end}" if own and row[end] else "", f"{end} end of {said}")
            for end in ("low", "high")}
    return {**ends, "nominal": Blank(nominal, f"{at}.size" if own and nominal else "", f"size of {said}"),
            "tolerance": Blank(text, f"{at}.tolerance" if own else "", f"tolerance of {said}",
                               now=text.replace("−", "-"))}


def with_tolerances(edits: Mapping[str, str], result: Result) -> dict[str, str]:
    """The same edits, low and high ends of sizes told as the tolerance that makes them.

    Raises:
        NameUnknown: if there is no such limit, or it has no ends.
        InputError: if an end is no length, or the low one is not below the high one.
    """
    out = {path: text for path, text in edits.items() if not _END.fullmatch(path)}
    said = [(path, found[1], found[2], text) for path, text in edits.items() if (found := _END.fullmatch(path))]
    limits = dict(load_job(Path(result.job.file), of_job(out.items())).limits) if said else {}
    for path, name, end, text in said:
        nominal = nominal_of(result, limits[name]) if name in limits else None
        if nominal is None:
            raise NameUnknown(f"there is no {end} end of {name!r}", where=path)
        ends = dict(zip(("low", "high"), limits[name].tolerance, strict=True)) | {end: _length(text, path) - nominal}
        if not ends["low"] < ends["high"]:
            raise InputError(f"{text}: the low end would not be below the high one", where=path)
        limits[name] = limits[name].model_copy(update={"tolerance": (ends["low"], ends["high"])})
        out[f"{ROOT}limits.{name}.tolerance"] = " / ".join(_signed(ends[each], result) for each in ("high", "low"))
    return out


def _signed(length: float, result: Result) -> str:
    return ("-" if length < 0.0 else "+") + tell(abs(length), "length", result.job.units, decimals=5)


def _length(text: str, path: str) -> float:
    try:
        return parse(text, "length")
    except UnitError as error:
        raise InputError(error.what, where=path, right=error.right) from None


def choices(result: Result) -> dict[str, Choices]:
    """What may stand in the blanks that are chosen, by the name that they have in `Blank.among`."""
    shop, route = result.shop, result.route
    out: dict[str, Choices] = {
        "machines": [(key, one.name) for key, one in shop.machines.items()],
        "devices": [(key, one.name) for key, one in shop.devices.items()],
        "tapped": list(TAPPED), "fresh": list(FRESH), "greased": list(GREASED),
        "direction": [(one, one) for one in get_args(Direction)], "coolant": [(one, one) for one in COOLANTS],
        "by": [(one, one) for one in get_args(By)],
        "heads": [(one, one) for one in get_args(ScrewJoint.model_fields["head"].annotation)],
        "grades": [(one, one) for one in get_args(ScrewJoint.model_fields["grade"].annotation)],
    }
    for kinds in {_KINDS.get(op.role, _MILLS) for op in route.operations.values()}:
        out[f"tools-{'-'.join(kinds)}"] = [(key, one.name) for key, one in shop.tools.items() if one.kind in kinds]
    for setting in route.settings.values():
        machine, device = shop.machines.get(setting.machine), shop.devices.get(setting.holding.device)
        fits = machine.collets if machine else ()
        out[f"collets-{setting.machine}"] = [("", "no collet"), *((key, shop.collets[key].name) for key in fits
                                                                  if key in shop.collets)]
        out[f"tight-{setting.holding.device}"] = [(key, key) for key in (device.squeeze if device else ())]
        part = setting.workpiece.split("+")[0]
        names = [*DIRECTIONS, *(result.job.parts[part].names if part in result.job.parts else ())]
        out[f"faces-{part}"] = [(one, one) for one in names]
        out[f"stops-{part}"] = [("", "none"), *((one, one) for one in names)]
    return out


def written(result: Result) -> dict[str, str]:
    """All that can be written anew, by path: what stands there now."""
    return {blank.path: blank.text for blank in _all(result) if blank.path}


def _all(result: Result) -> Iterator[Blank]:
    for key in result.route.operations:
        yield from (blank for blank in head_of(result, key).values() if blank is not None)
        yield from (blank for _, blank in numbers_of(result, key))
    for name in result.route.settings:
        yield from (blank for _, blanks in held_of(result, name) for blank in blanks)
    for name in result.job.joints:
        yield from (blank for _, blank in joint_of(result, name))
    yield budget_of(result)
    for name in result.job.parts:
        yield from stock_of(result, name).values()
    for row in inspection(result):
        yield from limit_of(result, row).values()

