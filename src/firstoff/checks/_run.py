"""What an NC program does in one operation, beside its windows: what no force can tell. mm, the setting's axes."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from typing import Any, Final, NamedTuple

from ..part.shapes import Vector
from ..units import tell

MOST_LINES: Final = 3          #: lines that a sentence names


class Spot(NamedTuple):
    """A place in a program.

    Fields:
        line: of the file.
        what: happens there.
        size: of it, in the unit of its kind: mm, mm3 or rad/s.
    """

    line: int
    what: str
    size: float


@dataclass(frozen=True)
class Run:
    """A program, run over the stock of one operation. Places are of the tip, from the zero of the setting.

    Fields:
        file: as the route names it.
        unit: "mm", "in" or, where nobody said, "".
        moves: with this tool.
        cutting: path at a feed [mm].
        removed: taken off [mm3].
        told: what the reader has to say of it.
        unsure: moves whose way, unit or tool can't be said.
        tools: numbers of the tools that it calls.
        speeds: of the spindle while it cuts [rad/s].
        rapids: what rapids take off [mm3].
        fast: feeds as fast as a rapid, in material [mm3].
        off: what a tool takes off that does not turn [mm3].
        hits: how deep shank, nut or spindle go into something that holds the work, or into the work [mm].
        gouges: how deep into finished faces [mm].
        left: what stays on faces that the operation finishes [mm].
        deepest: of the tip below what the work rests on [mm]; negative above it.
        low: least x, y, z of cuts.
        high: greatest x, y, z of cuts.
        rapid_low: of all moves.
        rapid_high: of all moves.
        stock_low: least x, y, z of the stock.
        stock_high: greatest x, y, z of it.
        uncut: earlier work that could not be made on this stock, so that it stands fuller than it is.
        lacking: what is not known, so that it is not looked at.
    """

    file: str
    unit: str
    moves: int
    cutting: float
    removed: float
    low: Vector
    high: Vector
    rapid_low: Vector
    rapid_high: Vector
    stock_low: Vector
    stock_high: Vector
    deepest: Spot
    told: tuple[Spot, ...] = ()
    unsure: tuple[Spot, ...] = ()
    tools: tuple[int, ...] = ()
    speeds: tuple[float, ...] = ()
    rapids: tuple[Spot, ...] = ()
    fast: tuple[Spot, ...] = ()
    off: tuple[Spot, ...] = ()
    hits: tuple[Spot, ...] = ()
    gouges: tuple[Spot, ...] = ()
    left: tuple[Spot, ...] = ()
    uncut: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()

    def as_text(self) -> str:
        """As JSON, for the cache."""
        return json.dumps(asdict(self))

    @classmethod
    def from_text(cls, text: str) -> Run:
        """Read back from the cache.

        Raises:
            ValueError: if it is not what `as_text` wrote.
        """
        table: dict[str, Any] = json.loads(text)
        try:
            return cls(**{f.name: _read(f.name, table[f.name]) for f in fields(cls)})
        except (KeyError, TypeError) as error:
            raise ValueError(f"no run of a program: {error}") from None


_SPOTS: Final = frozenset({"told", "unsure", "rapids", "fast", "off", "hits", "gouges", "left"})


def _read(name: str, value: Any) -> Any:
    if name in _SPOTS:
        return tuple(Spot(*spot) for spot in value)
    if name == "deepest":
        return Spot(*value)
    return tuple(value) if isinstance(value, list) else value


def worst_first(spots: tuple[Spot, ...]) -> list[Spot]:
    """The greatest first; of what is alike the first line."""
    return sorted(spots, key=lambda spot: (-spot.size, spot.line))


def lines_of(spots: tuple[Spot, ...]) -> str:
    """"line 12", "lines 12, 30 and 4 more"."""
    every = list(dict.fromkeys(spot.line for spot in worst_first(spots)))
    shown, more = sorted(every[:MOST_LINES]), len(every) - MOST_LINES
    word = "line" if len(every) == 1 else "lines"
    return f"{word} {', '.join(map(str, shown))}" + (f" and {more} more" if more > 0 else "")


def deep(size: float, units: str) -> str:
    """A depth for a sentence."""
    return tell(size, "length", units, 2)
