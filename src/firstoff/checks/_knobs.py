"""What can be turned: candidates from the mildest change to the strongest, and how each is said."""

from __future__ import annotations

from math import pi

from ..shop.models import Tool
from ..units import tell
from ._forces import MILLING, stickout
from .base import Case, Knob
from .si import metres, width_at

_SHARES_DOWN = (0.8, 0.65, 0.5, 0.35, 0.25)
_SPEEDS_DOWN = (0.85, 0.7, 0.6, 0.5)
_SPEEDS_UP = (1.15, 1.3, 1.5, 2.0)
_OVERRIDES = (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)
_FEEDS_UP = (1.25, 1.5, 2.0, 3.0)
#: Times the usual cutting speed: an edge of carbide lasts a fifth as long there (Taylor's exponent of 0.25); judged.
_BEARS = 1.5
_THIN = 0.1                  #: [mm] radius below which nothing cuts
_PASS = 2                    #: digits of a mm to which a pass is set


def _rule(case: Case, value: object) -> str:
    """A length that is set by a rule: to a hundredth of an inch."""
    units = case.job.units
    return tell(float(str(value)), "length", units, 2 if units == "in" else None)


def _length(case: Case, value: object) -> str:
    assert isinstance(value, int | float)
    return tell(float(value), "length", case.job.units)


def _rounded(value: float, digits: int) -> float:
    """A length that a person can set: to 0.05 mm, fine ones to so many digits of one."""
    return round(value, digits) if value < 0.2 else round(round(value / 0.05) * 0.05, 2)


def _scaled(now: float | None, shares: tuple[float, ...], digits: int = 3) -> list[object]:
    if not now:
        return []
    found = list(dict.fromkeys(_rounded(now * share, digits) for share in shares))
    return [value for value in found if value > 0.0 and value != now]


def fastest(case: Case) -> float:
    """The highest speed worth a try [rad/s]: the spindle's, or the maker's rating; wear and heat are checks."""
    spindle, tool = case.machine.spindle, case.tool
    return min(spindle.fastest if spindle else float("inf"), tool.rated_speed or float("inf"))


def bearable(case: Case) -> float:
    """The highest speed that is told unseen by the checks of heat and wear [rad/s]: also what the edge bears, some
    way above what is usual for it; no faster than now where nobody says what is usual.
    """
    usual, now = getattr(case.material.cutting_speed, case.tool.material, None), case.op.cut.spindle_speed or 0.0
    if usual is None:
        return min(fastest(case), now)
    radius = width_at(case.tool, case.op.cut.depth_of_cut or case.tool.diameter) / 2.0
    edge = _BEARS * float(usual.value) / max(radius, metres(_THIN))
    return min(fastest(case), max(now, edge))


def _speeds(case: Case, shares: tuple[float, ...]) -> list[object]:
    """Speeds that the spindle has: steps of its belt, or shares of the present one."""
    now, spindle = case.op.cut.spindle_speed, case.machine.spindle
    if now is None:
        return []
    up = shares[0] > 1.0
    if spindle is not None and spindle.steps:
        steps = sorted((s for s in spindle.steps if (now * 1.01 < s <= fastest(case) if up else s < now * 0.99)),
                       reverse=not up)
        return list(steps)
    least = spindle.slowest if spindle else 0.0
    most = fastest(case) if up else float("inf")
    return [now * share for share in shares if least <= now * share <= most]


def _say_speed(case: Case, value: object) -> str:
    assert isinstance(value, int | float)
    now = case.op.cut.spindle_speed or 0.0
    return f"{tell(float(value), 'rotation', case.job.units)}, not {tell(now, 'rotation', case.job.units)}"


def _say_than(word: str, now: float | None, case: Case, value: object) -> str:
    return f"{_length(case, value)} {word}, not {_length(case, now or 0.0)}"


def _say_feed(case: Case, value: object) -> str:
    """Each tooth, and what is keyed in for it where the speed is known."""
    said, turn = _say_than("a tooth", case.op.cut.feed_per_tooth, case, value), case.op.cut.spindle_speed
    if turn is None:
        return said
    table = float(str(value)) * case.tool.flutes * turn / (2.0 * pi)
    return f"{said} (feed {tell(table, 'table_feed', case.job.units)})"


def _shorter(case: Case) -> list[object]:
    """Shorter stickouts that still leave the flutes free and reach what is cut."""
    deepest = float(case.windows.depth.max()) if case.windows is not None and len(case.windows) else 0.0
    need = max(case.tool.flute_length, deepest + 2.0)
    now = stickout(case)
    return [float(round(out)) for out in (0.85 * now, 0.7 * now, need) if need <= round(out) < now]


def _larger(case: Case) -> list[object]:
    """Larger cutters of the same kind that still go into the corners of the features."""
    now = case.tool
    radii = [f.size["corner_radius"] for f in case.features if f.size.get("corner_radius")]
    widths = [f.size["width"] for f in case.features if f.kind in ("slot", "pocket") and f.size.get("width")]
    room = min([2.0 * r for r in radii] + widths, default=float("inf"))
    found = [(tool.diameter, key) for key, tool in case.shop.tools.items()
             if tool.kind == now.kind and now.diameter < tool.diameter <= room
             and _held(case, tool.shank or tool.diameter)]
    return [key for _, key in sorted(found)]


def _harder(case: Case) -> list[object]:
    """Cutters of the same kind and size whose material bears more speed in this metal."""
    now, speeds = case.tool, case.material.cutting_speed

    def bears(tool: Tool) -> float:
        figure = getattr(speeds, tool.material, None)
        return figure.value if figure is not None else 0.0

    return [key for key, tool in case.shop.tools.items()
            if tool.kind == now.kind and tool.diameter == now.diameter and bears(tool) > bears(now)
            and _held(case, tool.shank or tool.diameter)]


def _held(case: Case, size: float) -> bool:
    """Whether the collet that is named grips this shank; a change of tool alone must not need another."""
    collet = case.shop.collets.get(case.op.collet or "")
    return collet is None or collet.grips[0] <= size <= collet.grips[1]


def _say_tool(case: Case, value: object) -> str:
    return f"{case.shop.tools[str(value)].name}, not {case.tool.name}"


def _other_way(case: Case) -> list[object]:
    if case.tool.kind not in MILLING:
        return []
    other: dict[str | None, list[object]] = {"climb": ["conventional"], "conventional": ["climb"]}
    return other.get(case.op.cut.direction, [])


DEPTH = Knob("cut.depth_of_cut", lambda case: _scaled(case.op.cut.depth_of_cut, _SHARES_DOWN, _PASS),
             lambda case, value: _say_than("deep", case.op.cut.depth_of_cut, case, value))
WIDTH = Knob("cut.width_of_cut", lambda case: _scaled(case.op.cut.width_of_cut, _SHARES_DOWN, _PASS),
             lambda case, value: _say_than("wide", case.op.cut.width_of_cut, case, value))
FEED_DOWN = Knob("cut.feed_per_tooth", lambda case: _scaled(case.op.cut.feed_per_tooth, _SHARES_DOWN),
                 _say_feed)
FEED_UP = Knob("cut.feed_per_tooth", lambda case: _scaled(case.op.cut.feed_per_tooth, _FEEDS_UP),
               _say_feed)
#: of a program: the override that a person sets at the machine
PROGRAM_FEED = Knob("program_feed", lambda case: [round(case.op.program_feed * share, 2) for share in _OVERRIDES],
                    lambda case, value: f"feed override at {float(str(value)):.0%}, not {case.op.program_feed:.0%}")
SPEED_DOWN = Knob("cut.spindle_speed", lambda case: _speeds(case, _SPEEDS_DOWN), _say_speed)
SPEED_UP = Knob("cut.spindle_speed", lambda case: _speeds(case, _SPEEDS_UP), _say_speed)
STICKOUT = Knob("stickout", _shorter,
                lambda case, value: f"{_rule(case, value)} out of the collet, not {_rule(case, stickout(case))}")
LARGER_TOOL = Knob("tool", _larger, _say_tool)
HARDER_TOOL = Knob("tool", _harder, _say_tool)
def _wetter(case: Case) -> list[object]:
    """What cools more than what is on the cut now."""
    order = ("dry", "air", "brushed", "mist", "flood")
    return list(order[order.index(case.op.cut.coolant) + 1:])


def _say_fresh(case: Case, _value: object) -> str:
    price = f" ({case.tool.price:g} {case.shop.rates.money})" if case.tool.price else ""
    return f"a new {case.tool.name} before it{price}"


FRESH = Knob("fresh", lambda case: [] if case.op.fresh else ["true"], _say_fresh)
COOLANT = Knob("cut.coolant", _wetter,
               lambda case, value: f"{case.shop.coolants[str(value)].name}, not "
                                   f"{case.shop.coolants[case.op.cut.coolant].name}")
DIRECTION = Knob("cut.direction", _other_way, lambda case, value: f"{value} milling, not {case.op.cut.direction}")
