"""The front page and the closing sheets: cut list, tools, cautions, inspection, joints. Plain texts only."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ..dryrun.result import Result, odds
from ..dryrun.walk import joint_as_routed
from ..errors import NameUnknown
from ..job.faces import dot, locate
from ..job.gauges import suited
from ..job.models import Limit, PartWanted, ScrewJoint
from ..job.route import Operation
from ..part.shapes import Face
from ..units import tell
from .cards import GLUE, Card, not_met, numbers_in_words, settling, told, tool_hold, tool_name
from .words import exactly, roughly

FIRST: Final = "The machine's manual, the rules where you work and licensed practice come before this sheet."
MILLING: Final = ("Unplug the machine before changing a tool, a collet or a belt.",
                  "Guard down, glasses on, sleeves and hair tied back; no gloves near a turning spindle.",
                  "Chips are sharp and hot: brush and hook, spindle stopped; never fingers or air.")
SHARP: Final = "{} edges cut hands: break them with a file before anything else."
DECISION: Final = ("ISO 14253-1: in limits only inside the limits drawn in by U at both ends; out of limits only "
                   "outside them widened by U; between the two nothing is proved. "
                   "U is twice the standard uncertainty.")


def front_page(result: Result) -> Card:
    """What the whole job comes to, and what to fetch."""
    lost = "within" if result.p_part_lost <= result.job.budget else "over"
    first = result.first_to_go
    return {
        "job": result.job.name, "dont": not_met(result),
        "parts": [_part(result, name, wanted) for name, wanted in result.job.parts.items()],
        "bought": [(piece.name, ", ".join(f"{k} {_length(result, v)}" for k, v in piece.size.items()))
                   for piece in result.job.bought.values()],
        "first": told(first) if first else None, "where": _where(result),
        "spoiled": odds(result.p_spoil), "lost": odds(result.p_part_lost),
        "budget": f"{lost} the budget of {odds(result.job.budget)}",
        "time": _hours(result.seconds), "money": _money(result),
        "not_counted": list(result.not_counted), "figures": result.figures[:12], "figures_note": result.figures_note,
        "tools": tools(result),
        "no_way": [f"{way.part} {way.feature}: {way.because}" for way in result.route.no_way],
        "lacks": sorted({op.tool for op in result.route.operations.values() if op.tool} - result.shop.tools.keys()),
        "instruments": instruments(result), "cautions": cautions(result), "before": FIRST,
        "settle": settling(result),
    }


def _length(result: Result, mm: float, decimals: int | None = None) -> str:
    return tell(mm, "length", result.job.units, decimals)


def _hours(seconds: float) -> str:
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def _money(result: Result) -> str:
    word = result.shop.rates.money
    return f"{result.money:.0f} in the shop's money" if word == "money" else f"{result.money:.0f} {word}"


def _where(result: Result) -> str:
    first = result.first_to_go
    if first is None:
        return ""
    what = f"operation {first.number}" if first.number is not None else f"{first.finding.subject} {first.operation}"
    return f"{what} of the {first.part}" if first.part else what


def _part(result: Result, name: str, wanted: PartWanted) -> Card:
    """A line of the parts list with its piece of stock: section, and the length to saw."""
    material = result.shop.materials.get(wanted.material)
    thin, wide, long = sorted(wanted.stock.size)
    digest = result.parts.get(name)
    size = [b - a for a, b in zip(digest.low, digest.high, strict=True)] if digest else []
    return {
        "name": name, "material": _material(material.name if material else wanted.material, wanted.stock.condition),
        "section": f"{_plain(result, wide)} × {_length(result, thin)}",
        "saw": _length(result, long) + ("" if wanted.stock.sawn_ends else ", ends good"),
        "size": " × ".join([*(_plain(result, s) for s in size[:-1]), _length(result, size[-1])]) if size else "",
        "settings": sum(name in s.workpiece.split("+") for s in result.route.settings.values()),
    }


def _material(name: str, condition: str) -> str:
    words = condition.replace("_", " ")
    return name if words in name else f"{name}, {words}"


def _plain(result: Result, mm: float) -> str:
    return _length(result, mm).removesuffix(result.job.units).strip()


def tools(result: Result) -> list[Card]:
    """Tools to fetch in the order of use, each once with its holder, how far it stands out and its operations."""
    rows: dict[tuple[str, str], list[Operation]] = {}
    for _, op in result.route.in_order():
        if op.tool:
            rows.setdefault((op.tool, op.collet or ""), []).append(op)
    return [_tool_row(result, ops) for ops in rows.values()]


def _tool_row(result: Result, ops: list[Operation]) -> Card:
    """One tool in one holder; several stickouts are told together, the shortest first."""
    outs = sorted({op.stickout for op in ops if op.stickout})
    hold = tool_hold(result, ops[0])
    if len(outs) > 1:
        holder = tool_hold(result, ops[0].model_copy(update={"stickout": None}))
        told = [roughly(out, result.job.units) for out in outs]
        hold = f"{holder}, {', '.join(told[:-1])} and {told[-1]} out".lstrip(", ")
    numbers = [op.number for op in ops]
    return {"tool": tool_name(ops[0], result.shop.tools.get(ops[0].tool or "")), "hold": hold, "numbers": numbers,
            "operations": numbers_in_words(result, numbers)}


def instruments(result: Result) -> list[str]:
    """Names of the instruments that the limits ask for."""
    keys = [found[0] for limit in result.job.limits.values() if (found := instrument(result, limit))]
    return [result.shop.instruments[key].name for key in dict.fromkeys(keys)]


def cautions(result: Result) -> list[str]:
    """The cautions that this route calls for, each once."""
    said = list(MILLING) if any(op.cut.spindle_speed for op in result.route.operations.values()) else []
    stocks = [wanted.stock for wanted in result.job.parts.values()]
    sharp = [word for word, some in (("Hot-rolled", any(stock.condition == "hot_rolled" for stock in stocks)),
                                     ("sawn", any(stock.sawn_ends for stock in stocks))) if some]
    if sharp:
        said.append(SHARP.format(" and ".join(sharp).capitalize()))
    kinds = {d.kind for s in result.route.settings.values() if (d := result.shop.devices.get(s.holding.device))}
    if "carrier" in kinds:
        said.append(GLUE)
    for name in dict.fromkeys(wanted.material for wanted in result.job.parts.values()):
        material = result.shop.materials.get(name)
        said += [f"{material.name}: {text}" for text in material.cautions] if material else []
    return list(dict.fromkeys(said))


def inspection(result: Result) -> list[Card]:
    """Each limit with what the instrument can prove."""
    return [_limit(result, name, limit) for name, limit in result.job.limits.items()]


def _limit(result: Result, name: str, limit: Limit) -> Card:
    nominal, tool = nominal_of(result, limit), instrument(result, limit)
    found = next((c for c in result.checks if c.finding.subject == "limit" and c.operation == name), None)
    u2 = 2.0 * result.shop.instruments[tool[0]].uncertainty.value if tool else None
    low, high = (nominal + t if nominal is not None else None for t in limit.tolerance)
    if limit.is_zone:
        nominal = low = None
    return {
        "name": name, "what": f"{limit.kind}, {limit.part or ''}: {' to '.join(limit.between)}".replace(", :", ":"),
        "nominal": _told(result, nominal), "low": _told(result, low), "high": _told(result, high),
        "instrument": _named(result, tool),
        "u": "" if u2 is None else _length(result, u2), "confirms": _confirms(result, u2, limit),
        "accept": _accept(result, u2, low, high, limit),
        "odds": odds(found.finding.p_fail if found else None), "verdict": found.verdict if found else "not checked",
        "shade": found is not None and found.verdict == "no good",
        "after": [op.number for _, op in result.route.in_order() if name in op.measure],
        "because": found.finding.because if found else "", "settle": found.finding.settle_by if found else "",
        "instead": told(found)["instead"] if found else [],
    }


def _needed(u2: float, limit: Limit) -> float:
    """What must fit into the tolerance for anything to be proved: U at both ends, or at the one that there is."""
    return u2 if limit.is_zone else 2.0 * u2


def _accept(result: Result, u2: float | None, low: float | None, high: float | None, limit: Limit) -> str:
    width = limit.tolerance[1] - limit.tolerance[0]
    if u2 is None or high is None or _needed(u2, limit) >= width:
        return ""
    if low is None:
        return f"up to {_told(result, high - u2)}"
    return f"{_told(result, low + u2)} to {_told(result, high - u2)}"


def _named(result: Result, tool: tuple[str, bool] | None) -> str:
    if tool is None:
        return "no instrument"
    return result.shop.instruments[tool[0]].name + ("" if tool[1] else " (suggested)")


def _confirms(result: Result, u2: float | None, limit: Limit) -> str:
    if u2 is None:
        return "nothing in the shop measures this"
    width = limit.tolerance[1] - limit.tolerance[0]
    letters = "U" if limit.is_zone else "2U"
    sizes = f"{letters} = {_length(result, _needed(u2, limit))}, tolerance {_length(result, width)}"
    return f"{'can' if _needed(u2, limit) < width else 'cannot'} confirm: {sizes}"


def _told(result: Result, mm: float | None) -> str:
    return "" if mm is None else exactly(mm, result.job.units)


def nominal_of(result: Result, limit: Limit) -> float | None:
    """The size that is wanted: as the job says, else from the model; None where neither tells."""
    if limit.size is not None or limit.is_zone:
        return limit.size or 0.0
    faces = list(_faces(result, limit))
    if len(faces) != len(limit.between):
        return None
    if limit.kind == "distance":
        gap = (faces[0].centroid[0] - faces[1].centroid[0], faces[0].centroid[1] - faces[1].centroid[1],
               faces[0].centroid[2] - faces[1].centroid[2])
        return abs(dot(gap, faces[0].normal))
    if limit.kind == "size" and faces[0].radius is not None:
        return 2.0 * faces[0].radius
    return None


def _faces(result: Result, limit: Limit) -> Iterator[Face]:
    """One face for each name of a limit, as far as they can be found."""
    for name in limit.between:
        try:
            place = locate(name, result.job, result.parts, limit.part)
        except NameUnknown:
            return
        yield next(face for face in result.parts[place.part].faces if face.number == place.faces[0])


def instrument(result: Result, limit: Limit) -> tuple[str, bool] | None:
    """The instrument of a limit, and whether the job names it; else the coarsest that proves, or the finest."""
    if limit.instrument in result.shop.instruments and limit.instrument is not None:
        return limit.instrument, True
    best = suited(limit, nominal_of(result, limit) or 0.0, result.job, result.parts, result.shop)
    return None if best is None else (best, False)


def joints(result: Result) -> list[Card]:
    """Screws, levers, wedges, with how tight and their verdicts."""
    rows = []
    for name, wanted in result.job.joints.items():
        joint = joint_as_routed(name, wanted, result.route)
        what = (f"{joint.number} × {joint.screw}, {joint.head} head, {joint.grade}: {joint.through} into {joint.into}"
                if isinstance(joint, ScrewJoint) else f"{joint.part} pressed by {joint.screw}")
        by = f"by {joint.torque_by}" if joint.torque_by else ""
        rows.append({
            "name": name, "what": f"{what}, greased" if joint.lubricated else what,
            "torque": f"to {tell(joint.torque, 'torque', result.job.units)}" if joint.torque is not None else by,
            "checks": [told(c) for c in result.checks if c.finding.subject == "joint" and c.operation == name],
        })
    return rows
