"""What was learned, in sentences that a person at a bench would use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt

from ..belief import Belief, Choice, Key, LogNormal, Rows
from ..shop.columns import APART, ENTITY, SIGNED, figures, is_place
from ..shop.models import Shop
from ..units import tell

Flags = npt.NDArray[np.bool_]

#: a figure is worth a sentence when it moved by this many of its own spreads, or narrowed by this share
MOVED_SD: Final = 0.2
NARROWED: Final = 0.15
MOST: Final = 8
#: two figures are told as one when their rows hang together like this, and what is left of the spread of
#: their ratio or product is less than this share of what is left of either
TIED: Final = 0.6
TIGHTER: Final = 0.5

#: parameter -> what it is, as a person would say it
_WORDS: Final = {
    "tangential": "cutting force", "radial": "force across the cut", "axial": "force along the cutter",
    "tangential_edge": "force on the edge", "radial_edge": "force on the edge, across",
    "axial_edge": "force on the edge, along", "stiffness": "stiffness", "stiffness_x": "stiffness left to right",
    "stiffness_y": "stiffness front to back", "stiffness_z": "stiffness up and down",
    "mode_frequency": "the frequency at which it rings", "mode_damping": "damping",
    "mode_share": "share of its give that rings", "rest_damping": "damping of its stiffer modes",
    "rest_frequency": "how many times faster its stiffer modes ring", "lost_motion": "lost motion",
    "slide_drag": "drag of the slides", "grip": "grip of the collet",
    "nose_mass": "mass that swings with the collet", "flank_damping": "how much the flank damps",
    "power": "power at the cutter", "runout": "runout", "rubbing_ratio": "least chip over edge radius",
    "edge_radius": "edge radius", "young": "elastic modulus", "jaw_lift": "lift in the jaws",
    "drilling_force": "force when drilling", "tapping_force": "force when tapping",
    "scale_thickness": "thickness of the scale", "skin_stress": "stress in the skin",
    "heat_capacity": "heat capacity", "conductivity": "conductivity", "expansion": "expansion by heat",
    "taylor_exponent": "how its life falls with speed", "life_by_feed": "how its life falls with feed",
    "life_by_depth": "how its life falls with depth",
    "hot_limit": "heat that its edge bears",
    "axis_scale": "error of its scales", "squareness": "error of squareness", "tram": "error of tram",
    "chatter_factor": "readiness to sing",
    "chatter_lean": "readiness to sing in a conventional cut over that in a climb cut",
    # the figure is how far errors scatter (one standard deviation), not an error
    "touch_off": "scatter of zero setting", "positioning": "scatter of positioning",
    "seating": "scatter of seating in the vise", "uncertainty": "uncertainty of reading",
}
#: discrepancy -> what is more when the factor is more
_RECKONED: Final = {
    "force": "cutting forces", "power": "power and torque of a cut", "push_off": "push-off of the tool",
    "chatter": "readiness to sing", "rubbing": "the least chip that cuts", "finish": "roughness",
    "drilling": "thrust of a drill", "tapping": "torque of a tap", "holding": "force that moves the work",
    "heat": "heat at the edge", "wear": "wear of edges",
    "size": "scatter of sizes", "spring": "spring of the bar when its skin is cut",
}


@dataclass(frozen=True)
class Change:
    """What learning changed, and what is needed to tell it."""

    book: Belief
    after: Belief
    speaking: Mapping[Key, set[str]]               # records that speak about each column
    shop: Shop
    settled: bool
    odd: tuple[str, ...]
    records: int
    further: tuple[str, ...] = ()                  # depths that are good now; how often the book was right
    two: tuple[Key, Flags] | None = None           # two values of it explain the records; rows of the upper
    named: Mapping[str, str] = field(default_factory=dict)      # what stands in a record that disagrees


#: where only a ratio or product is known: a figure in it -> what parts them
_PARTED_BY: Final = (
    ("stiffness", "push a luggage scale against the collet nut, an indicator behind it"),
    ("mode_damping", "tap the cutter with a phone recording beside it"),
    ("mode_frequency", "tap the cutter with a phone recording beside it"),
    ("tangential", "read the watts of the same cut in a metal that is known"),
)


def sentences_for(change: Change) -> list[str]:
    """Sentences on what changed, the largest change first."""
    values = {key: _values(key, change) for key in _heads(change)}
    shifts = sorted(((_shift(*rows), key) for key, rows in values.items()), key=lambda s: (-s[0], s[1]))
    told = [key for size, key in shifts if size > 0][:MOST]
    lines = [_sentence(key, change) for key in told]
    lines += _tied(list(values), change)
    lines += _two(change)
    lines += [f"record {name[:8]} disagrees with the rest: look at it again"
              f"{f': {change.named[name]}' if name in change.named else ''}" for name in change.odd]
    if not change.settled:
        lines.append("the figures have not settled: take them as a first word, and log more")
    lines += change.further
    many = f"{change.records} record{'s' if change.records > 1 else ''}"
    return lines or [f"{many} changed nothing worth telling"]


def _heads(change: Change) -> list[Key]:
    """The columns that people know: a machine and not its class, a metal's force and not its batch alone, and none of
    the places between cuts.
    """
    columns = change.book.columns
    parents = {parent for key in change.after.moved for parent in columns[key].parents}
    return [key for key in sorted(change.after.moved)
            if key not in parents and not isinstance(columns[key].transform, Choice) and not is_place(key[1])]


def worth_telling(key: Key, book: Belief, after: Belief) -> bool:
    """Whether a figure moved or narrowed so far that there is something to tell of it: then it is an own one.

    All figures that the records speak of are moved a little by learning; most stay what the book says.
    """
    if is_place(key[1]) or not any(each in after.moved for each in book.depends_on([key])):
        return False
    if isinstance(book.columns[key].transform, Choice):
        return bool(np.any(book.value(*key) != after.value(*key)))
    return _shift(*_rows(key, book, after)) > 0.0


def _values(key: Key, change: Change) -> tuple[Rows, Rows]:
    return _rows(key, change.book, change.after)


def _rows(key: Key, book: Belief, after: Belief) -> tuple[Rows, Rows]:
    """Before and after, parents included: logarithms where the figure is a positive one."""
    rows = book.value(*key), after.value(*key)
    if isinstance(book.columns[key].transform, LogNormal):
        return np.log(rows[0]), np.log(rows[1])
    return rows


def _shift(before: Rows, now: Rows) -> float:
    moved = abs(float(np.median(now)) - float(np.median(before))) / float(before.std())
    narrowed = 1.0 - _left(before, now)
    return max(moved if moved > MOVED_SD else 0.0, narrowed if narrowed > NARROWED else 0.0)


def _sentence(key: Key, change: Change) -> str:
    records = len(change.speaking[key])
    many = f"({records} record{'s' if records > 1 else ''})"
    before, now = change.book.value(*key), change.after.value(*key)
    if key[0].startswith("discrepancy:"):
        share = float(np.median(now) / np.median(before)) - 1.0
        return (f"{name_of(key, change.shop)}: {_more(share)} {many}; likely {_percent(now)}, "
                f"by the book {_percent(before)}")
    quantity = quantity_of(key, quantities(change.shop))
    said = [tell_figure(float(np.median(rows)), quantity, change.shop) for rows in (now, before)]
    by = known_by(key, change.book)
    same = "as the book has it" if by == "by the book" else by
    middle = f"{said[0]}, {by} {said[1]}" if said[0] != said[1] else f"{said[0]}, {same}"
    more = _share(before, now, by) if isinstance(change.book.columns[key].transform, LogNormal) else ""
    return (f"{name_of(key, change.shop)}: {more}{middle} {many}; likely {_range(now, quantity, change.shop)}, "
            f"{by} {_range(before, quantity, change.shop)}")


def known_by(key: Key, book: Belief) -> str:
    """Whose a figure was before there were records: the shop's own, where it was measured, else a book's."""
    return "as measured before" if book.columns[key].source == "measured" else "by the book"


def _share(before: Rows, now: Rows, by: str) -> str:
    """How much more than the figure before, where it is worth telling."""
    figure = "the book figure" if by == "by the book" else "what was measured"
    share = float(np.median(now) / np.median(before)) - 1.0
    if abs(share) < 0.005:
        return ""
    if share > 1.0:
        return f"{1.0 + share:.2g} times {figure}: "
    return f"{abs(share):.0%} {'more' if share > 0 else 'less'} than {figure}: "


def _more(share: float) -> str:
    if abs(share) < 0.005:
        return "as reckoned"
    return f"{abs(share):.0%} {'more' if share > 0 else 'less'} than reckoned"


def _likely(rows: Rows) -> tuple[float, float]:
    """Where it lies two times in three."""
    low, high = np.percentile(rows, (16, 84))
    return float(low), float(high)


def _percent(factor: Rows) -> str:
    low, high = (value - 1.0 for value in _likely(factor))
    return f"{low:+.0%} to {high:+.0%}"


def _range(rows: Rows, quantity: str, shop: Shop) -> str:
    low, high = (tell_figure(value, quantity, shop) for value in _likely(rows))
    number, _, unit = low.partition(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


def tell_figure(value: float, quantity: str, shop: Shop) -> str:
    """A value with its unit, three figures that count."""
    if quantity == "edge_force":
        return f"{_three(value / 1e3)} N/mm"
    if quantity == "slope":
        return f"{_three(value * 1e3)} mm/m"
    unit = tell(1.0, quantity, shop.units).partition(" ")[2]
    number = float(tell(value, quantity, shop.units, 12).partition(" ")[0])
    return f"{_three(number)} {unit}".strip()


def _three(number: float) -> str:
    rounded = float(f"{number:.3g}")
    return f"{rounded:.0f}" if abs(rounded) >= 100 else f"{rounded:g}" if abs(rounded) >= 1e-3 else f"{rounded:.2g}"


def quantities(shop: Shop) -> dict[Key, str]:
    """What kind of quantity each figure is, also where a machine takes it from its class; once for many keys."""
    found = {(item.entity, item.parameter): item.quantity for item in figures(shop)}
    taken = {(f"machine:{name}", parameter): quantity for name, machine in shop.machines.items()
             for (entity, parameter), quantity in found.items() if entity == f"class:{machine.like}"}
    return taken | found


def quantity_of(key: Key, known: Mapping[Key, str]) -> str:
    """What kind of quantity a column is, by what `quantities` has."""
    quantity = known.get(key, "ratio")
    return "slope" if key[1] in SIGNED and quantity in ("ratio", "angle") else quantity


def name_of(key: Key, shop: Shop) -> str:
    """A figure as a person would name it: "mild steel: cutting force"."""
    entity, parameter = key
    kind, _, name = entity.partition(":")
    if kind == "discrepancy":
        return _RECKONED.get(name, name.replace("_", " "))
    if apart := _apart(parameter, shop):
        return f"{getattr(_section(kind, shop).get(name), 'name', name)}: {apart}"
    what = _WORDS.get(parameter, parameter.replace("_", " ").replace(":", ", "))
    if is_place(parameter):
        start = parameter.partition("_")[0]
        what = f"{_RECKONED.get(start, start)} in cuts like this one"
    if kind == "tool_material":
        return f"cutters of {'high-speed steel' if name == 'hss' else name.replace('_', ' ')}: {what}"
    named = getattr(_section(kind, shop).get(name), "name", None)
    return f"{named or (name or kind).replace('_', ' ')}: {what}"


def _apart(parameter: str, shop: Shop) -> str:
    """What one cutter or metal has of its own on a machine: "readiness to sing with the 6 mm cutter, beyond ..."."""
    start, _, of = parameter.partition(f"_{APART}:")
    kind, _, name = of.partition(":")
    if not kind:
        return ""
    named = getattr(_section(kind, shop).get(name), "name", None) or name.replace("_", " ")
    return (f"{_RECKONED.get(start, start)} {'with' if kind == 'tool' else 'in'} {named}, "
            "beside all that it cuts")


def _section(kind: str, shop: Shop) -> Mapping[str, object]:
    """The part of the shop whose entities begin with this word."""
    sections = [section for section, word in ENTITY.items() if word == kind]
    return getattr(shop, sections[0]) if sections else {}


def _tied(keys: list[Key], change: Change) -> list[str]:
    """Only the ratio or product of two figures is known, where the records narrow that and not its parts."""
    positive = [key for key in keys if isinstance(change.book.columns[key].transform, LogNormal)]
    found = [(abs(r), a, b, -1.0 if r > 0 else 1.0) for a, b in combinations(positive, 2)
             if abs(r := _correlation(a, b, change)) > TIED]
    for _, a, b, sign in sorted(found, reverse=True):
        parts = [_left(*_values(key, change)) for key in (a, b)]
        one, two = _values(a, change), _values(b, change)
        if _left(one[0] + sign * two[0], one[1] + sign * two[1]) < TIGHTER * min(parts):
            names = [name_of(key, change.shop) for key in (a, b)]
            how = ("ratio", "to") if sign < 0 else ("product", "and")
            said = f"only the {how[0]} of [{names[0]}] {how[1]} [{names[1]}] is known, not each by itself"
            return [said + _parted(a, b)]
    return []


def _two(change: Change) -> list[str]:
    """Two explanations fit the records: the figure in which they differ, where it is one that people know."""
    if change.two is None or change.two[0] not in change.after.moved:
        return []
    key, upper = change.two
    heads = [head for head in _heads(change) if key in change.after.depends_on([head])]
    if not heads:
        return []
    rows, quantity = change.after.value(*heads[0]), quantity_of(heads[0], quantities(change.shop))
    said = [tell_figure(float(np.median(rows[some])), quantity, change.shop) for some in (~upper, upper)]
    return [f"two explanations fit the records: {name_of(heads[0], change.shop)} about {said[0]} "
            f"({1.0 - upper.mean():.0%} likely), or about {said[1]}{_parted(heads[0])}"]


def _parted(*keys: Key) -> str:
    """The measurement that would tell figures apart, if one of this program's would."""
    found = [how for part, how in _PARTED_BY if any(key[1].startswith(part) for key in keys)]
    return f": {found[0]}" if found else ""


def _correlation(a: Key, b: Key, change: Change) -> float:
    return float(np.corrcoef(_values(a, change)[1], _values(b, change)[1])[0, 1])


def _left(before: Rows, now: Rows) -> float:
    """What is left of a spread."""
    return float(now.std()) / float(before.std())
