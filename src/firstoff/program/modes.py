"""What stays in force from block to block, and which words belong together. G59.1 is kept as 591."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

from firstoff.removal.moves import Doubt

MM_PER_INCH: Final = 25.4
X, Y, Z = 0, 1, 2

#: G words that exclude each other in one block; those of "once" mean something in their block alone
G_GROUPS: Final[dict[str, tuple[int, ...]]] = {
    "motion": (0, 10, 20, 30, 382, 730, *range(800, 900, 10)),
    "plane": (170, 180, 190),
    "unit": (200, 210, 700, 710),
    "distance": (900, 910),
    "centre": (901, 911),
    "feed": (930, 940, 950),
    "radius": (400, 410, 420),
    "length": (430, 490),
    "return": (980, 990),
    "zero": (540, 550, 560, 570, 580, 590, 591, 592, 593),
    "path": (610, 611, 640),
    "rotation": (680, 690),
    "once": (40, 100, 280, 300, 520, 530, 920, 921, 922, 923),
}
GROUP_OF_G: Final = {code: group for group, codes in G_GROUPS.items() for code in codes}
M_GROUPS: Final[dict[str, tuple[int, ...]]] = {
    "stop": (0, 1, 2, 30, 60, 98, 99), "change": (6,), "spindle": (3, 4, 5), "coolant": (7, 8, 9),
    "override": (48, 49)}
GROUP_OF_M: Final = {code: group for group, codes in M_GROUPS.items() for code in codes}
END_OF_CYCLE: Final = 800
CYCLES: Final = frozenset({730, *range(810, 900, 10)})
TOGETHER: Final = frozenset({7, 8})          #: of one group, and yet both may stand in a block


def g_text(code: int) -> str:
    """G591 as a person writes it: G59.1."""
    return f"G{code // 10}" + (f".{code % 10}" if code % 10 else "")


@dataclass
class State:
    """What is in force. Places in mm from the work zero in force, or as written where no unit was told.

    `known` says of each axis whether anybody can tell where the tip is; `doubt` what is in doubt of all
    moves from here on.
    """

    at: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    known: list[bool] = field(default_factory=lambda: [False, False, False])
    unit: str | None = None
    unit_told: bool = False              #: by the program itself
    motion: int | None = None
    plane: int = 17
    absolute: bool = True
    centre_absolute: bool = False
    feed_mode: int = 940
    feed: float | None = None            #: as its mode says: mm/s, 1/s or mm a turn
    speed: float | None = None           #: S, rad/s
    direction: int = 0                   #: 1 clockwise, -1 counter-clockwise, 0 off
    selected: int = 0
    tool: int = 0
    length: int = 0                      #: H in force, 0 where none is
    radius: int = 400                    #: G40, G41, G42
    zero: int = 1
    exact: int = 640                     #: G61, G61.1, G64
    to_start: bool = True                #: G98: cycles go back to where they began
    shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])      #: G52
    preset: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])     #: G92
    preset_kept: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    preset_here: bool = False            #: G92 was given where nobody could tell the place
    turned: tuple[float, float, float] | None = None      #: G68: X, Y, angle [rad]
    half_turned: bool = False            #: since then X and Y have not both been given
    zeros: dict[int, tuple[float, float, float]] = field(default_factory=dict)       #: by G10
    cycle: dict[str, float] = field(default_factory=dict)                  #: words of the cycle in force
    doubt: Doubt = Doubt.UNIT
    ended: bool = False

    @property
    def scale(self) -> float:
        """Millimetres in a written length; 1 where no unit was told."""
        return MM_PER_INCH if self.unit == "in" else 1.0

    @property
    def spindle(self) -> float:
        """How fast it turns [rad/s], with sign; 0 where it is off or its speed is not known."""
        return self.direction * (self.speed or 0.0)

    @property
    def offset(self) -> list[float]:
        """From the zero of the words to the work zero [mm]."""
        return [a + b for a, b in zip(self.shift, self.preset, strict=True)]

    def lost(self, *axes: int) -> None:
        """Nobody can tell any more where the tip is, on these axes or on all."""
        for axis in axes or (X, Y, Z):
            self.known[axis] = False

    def written(self) -> list[float]:
        """Where the tip is in the axes of the words, turned back where they are turned [mm]."""
        x, y, z = (here - off for here, off in zip(self.at, self.offset, strict=True))
        if self.turned is None:
            return [x, y, z]
        return [*turned_about((x, y), self.turned, back=True), z]

    def placed(self, written: list[float]) -> list[float]:
        """A place in the axes of the words, as seen from the work zero [mm]."""
        x, y, z = written
        if self.turned is not None:
            x, y = turned_about((x, y), self.turned)
        return [here + off for here, off in zip((x, y, z), self.offset, strict=True)]


def turned_about(
    point: tuple[float, float], about: tuple[float, float, float], back: bool = False
) -> tuple[float, float]:
    """A point turned counter-clockwise about X, Y by an angle, or back."""
    x, y, angle = about
    cos, sin = math.cos(angle), math.sin(-angle if back else angle)
    dx, dy = point[0] - x, point[1] - y
    return x + cos * dx - sin * dy, y + sin * dx + cos * dy
