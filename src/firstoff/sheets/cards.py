"""What stands on each setting's sheet: how it is held, and a card for each operation. Plain texts only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Final

from ..dryrun.registry import all_checks
from ..dryrun.result import Checked, Result, odds
from ..job.route import Operation, Setting
from ..part.shapes import Feature
from ..shop.models import Tool
from ..units import tell
from .held import held
from .words import BY_HAND, DIRECTION, ROLES, axis_name, burr, if_it_sings, if_it_slows, roughly, settings_of_cut

GLUE: Final = "Glue: read its data sheet; fresh air, none on the skin, no flame; heat makes fumes of it."
TAP: Final = "Tapping by hand below a spindle: spindle off and unplugged first."
PICKLED: Final = "before: pickle or grind the scale off the bar, wash and dry it; gloves and glasses, acid into water"

WORST: Final = ("no good", "can't say", "close", "good")
PENCIL: Final = ("speed", "feed", "depth", "size", "seen, heard")
Card = dict[str, Any]


def setting_sheet(result: Result, name: str, place: tuple[int, int]) -> Card:
    """The sheet of one setting but for its drawing.

    Args:
        result: what the dry run returned.
        name: of the setting.
        place: which setting of the part it is, and of how many.

    Returns:
        Texts for the template.
    """
    setting = result.route.settings[name]
    found = [c for c in result.checks if c.finding.subject == "setting" and name in (c.finding.name, c.setting)]
    keys = [key for key, _ in result.route.of_setting(name)]
    cards = [operation_card(result, key, op) for key, op in result.route.of_setting(name)]
    return {
        "part": setting.workpiece, "name": name, "k": place[0], "n": place[1],
        "machine": _machine(result, setting), "held": held(result, setting), "cautions": _cautions(result, setting),
        "checks": [told(check) for check in found if check.verdict != "good"],
        "dont": not_met(result, name),
        "rules": _once(rule.because for rule in result.rules
                       if rule.verdict == "do" and (rule.setting == name or rule.operation in keys)),
        "operations": cards,
    }


def numbers_in_words(result: Result, numbers: Iterable[int]) -> str:
    """Numbers of operations, those that follow each other in the route drawn together: "10–40, 70"."""
    order = {op.number: place for place, (_, op) in enumerate(result.route.in_order())}
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and order.get(number, 0) == order.get(runs[-1][-1], -2) + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def settling(result: Result) -> list[tuple[str, str]]:
    """What would tell where it can't say: each test once, with the operations that it would settle."""
    tests: dict[str, list[int]] = {}
    for check in result.checks:
        op = result.route.operations.get(check.operation)
        if check.verdict == "can't say" and check.finding.settle_by and op:
            tests.setdefault(check.finding.settle_by, []).append(op.number)
    return [(numbers_in_words(result, numbers), test) for test, numbers in tests.items()]


def _machine(result: Result, setting: Setting) -> str:
    machine = result.shop.machines.get(setting.machine)
    return machine.name if machine else setting.machine


def _cautions(result: Result, setting: Setting) -> list[str]:
    """The cautions that this setting calls for, where the hand is: material, glue, taps turned under a spindle."""
    device = result.shop.devices.get(setting.holding.device)
    said = [GLUE] if device is not None and device.kind == "carrier" else []
    wanted = result.job.parts.get(setting.workpiece.split("+")[0])
    material = result.shop.materials.get(wanted.material) if wanted else None
    said += material.cautions if material else ()
    settings = result.route.settings
    if any(op.role == "tap" and settings[op.setting] is setting for op in result.route.operations.values()):
        said.append(TAP)
    return said


def operation_card(result: Result, key: str, op: Operation) -> Card:
    """One numbered operation as it is pinned beside the machine."""
    tool = result.shop.tools.get(op.tool) if op.tool else None
    time = result.operations.get(key)
    found = [c for c in result.checks if c.finding.subject == "operation" and c.operation == key]
    known = [c for c in found if c.finding.p_fail is not None]
    first = max(known, key=lambda c: c.finding.p_fail or 0.0, default=None)
    verdict = next((v for v in WORST if any(c.verdict == v for c in found)), "not checked")
    minutes = tell((time.running + time.handling) * 60, "time") if time else ""
    system = result.job.units
    return {
        "number": op.number, "role": ROLES[op.role], "what": _features(result, op), "tool": tool_name(op, tool),
        "hold": tool_hold(result, op), "numbers": settings_of_cut(op, tool, system, by_arm(result, op)),
        "minutes": minutes,
        "direction": DIRECTION.get(op.cut.direction or "", ""),
        "coolant": op.cut.coolant if op.role not in BY_HAND else "",
        "odds": odds(time.p_spoil if time and known else None), "verdict": verdict, "shade": verdict == "no good",
        "first": told(first) if first is not None else None,
        "cannot": [told(c) for c in found if c.verdict == "can't say" and c is not first],
        "dont": [rule.because for rule in result.rules if rule.verdict == "don't start" and rule.operation == key],
        "measure": [_limit(result, name) for name in op.measure],
        "notes": [*((PICKLED,) if op.pickled else ()), *op.notes, *_wait(op)],
        "sings": if_it_sings(op, result.shop.machines[result.route.settings[op.setting].machine],
                             _computed(found, ("sang", "squealed")), system,
                             next((c.finding.to_try for c in found if c.finding.to_try), "")),
        "slows": if_it_slows(op, _computed(found, ("slowed", "")), system),
        "burr": burr(op, _through(result, op)), "pencil": list(PENCIL if op.cut.spindle_speed else PENCIL[-2:]),
    }


def by_arm(result: Result, op: Operation) -> bool:
    """Whether an arm gives the feed: at a drill press, and at the bench."""
    machine = result.shop.machines.get(result.route.settings[op.setting].machine)
    book = result.shop.classes.get(machine.like) if machine else None
    return book is not None and book.kind != "mill"


def tool_name(op: Operation, tool: Tool | None) -> str:
    """The tool in words; by hand where there is none."""
    name = tool.name if tool else op.tool or "by hand"
    return f"{name}: a new one" if op.fresh else name


def _wait(op: Operation) -> list[str]:
    return [f"leave it to cool for {tell(op.cooling, 'time')} before measuring"] if op.cooling else []


def tool_hold(result: Result, op: Operation) -> str:
    """What holds the tool and how far it stands out."""
    collet = result.shop.collets.get(op.collet) if op.collet else None
    words = [collet.name if collet else op.collet or ""]
    if op.stickout:
        words.append(f"{roughly(op.stickout, result.job.units)} out")
    return ", ".join(word for word in words if word)


def told(check: Checked) -> Card:
    """A check in words: what, verdict, odds, why, what would settle it, what to do instead."""
    return {
        "title": check.title, "verdict": check.verdict, "odds": odds(check.finding.p_fail),
        "because": check.finding.because, "settle": check.finding.settle_by, "shade": check.verdict == "no good",
        "instead": [f"{r.text}: then {'out' if check.finding.subject == 'limit' else 'spoiled'} {odds(r.p_after)}"
                    + _minutes(r.minutes) for r in check.instead],
    }


def _minutes(change: float) -> str:
    return "" if abs(change) < 0.05 else f", {abs(change):.1f} min {'more' if change > 0 else 'less'}"


def not_met(result: Result, setting: str | None = None) -> list[str]:
    """Rules about persons that are not met, of a setting or of the whole job, with their operation's number."""
    told = []
    for rule in result.rules:
        op = result.route.operations.get(rule.operation)
        if rule.verdict == "don't start" and setting in (None, rule.setting, op.setting if op else None):
            told.append(f"{f'operation {op.number}: ' if op else ''}{rule.because}")
    return _once(told)


def _once(texts: Any) -> list[str]:
    return list(dict.fromkeys(texts))


def _computed(found: list[Checked], words: tuple[str, ...]) -> list[str]:
    """What the dry run computed against checks that a person would notice by one of these words."""
    noticed = _words()
    texts = [r.text for c in found if c.finding.check in noticed and noticed[c.finding.check] in words
             for r in c.instead[:1]]
    return _once(texts)


@cache
def _words() -> Mapping[str, str]:
    return {check.name: check.word for check in all_checks()}


def _features(result: Result, op: Operation) -> str:
    """What an operation cuts, in words; what it cuts in the other parts of an assembly too."""
    own = _own_features(result, op)
    return f"{own}, through {', '.join(op.through)} with it" if op.through else own


def _own_features(result: Result, op: Operation) -> str:
    """The features of an operation in words: "4 holes Ø3.3", or as the job names them."""
    found = _found(result, op)
    wanted = result.job.parts.get(result.route.settings[op.setting].workpiece.split("+")[0])
    own = {target: name for name, target in wanted.names.items()} if wanted else {}
    if len(found) > 1 and all(f.kind == "hole" for f in found):
        sizes = {f.size.get("diameter") for f in found}
        size = sizes.pop() if len(sizes) == 1 else None
        return f"{len(found)} holes" + (f" Ø{_length(result)(size)}" if size else f" ({', '.join(op.features)})")
    sides = {f.id: f"{axis_name(f.axis)} side" for f in found if f.kind == "stock" and f.axis is not None}
    return ", ".join(f"{own[name]} ({name})" if name in own else sides.get(name, name) for name in op.features)


def _found(result: Result, op: Operation) -> list[Feature]:
    part = result.parts.get(result.route.settings[op.setting].workpiece.split("+")[0])
    return [f for f in part.features if f.id in op.features] if part else []


def _through(result: Result, op: Operation) -> bool:
    return any(feature.through for feature in _found(result, op))


def _limit(result: Result, name: str) -> str:
    """A limit to measure after an operation, with its instrument."""
    limit = result.job.limits.get(name)
    if limit is None:
        return name
    length = _length(result)
    low, high = limit.tolerance
    band = f"±{length(high)}" if abs(low + high) < 1e-9 else f"{length(low)} / +{length(high)}"
    size = f"{length(limit.size)} " if limit.size is not None else ""
    return f"{name}: {size}{band}" + (f", {limit.instrument}" if limit.instrument else "")


def _length(result: Result) -> Any:
    return lambda mm: tell(mm, "length", result.job.units)

