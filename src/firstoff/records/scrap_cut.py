"""A short NC program (ISO 6983) for a test cut in scrap: one straight edge, deeper and deeper until it sings.

The only program that Firstoff writes. It comes in from outside the scrap, begins gently, and goes down only
while it moves along; each depth meets fresh material at its whole height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from ..errors import RecordError

SEGMENT: Final = 12.0           #: length of each depth [mm]: a second and more to listen at
RAMP: Final = 4.0               #: length of the way down between two depths [mm]
STEPS: Final = 7                #: most depths
FEWEST: Final = 3
#: one depth over the one before
GROWS: Final = 1.35
ABOVE: Final = 10.0             #: height at which it goes sideways in rapid [mm]
CLEAR: Final = 2.0              #: between cutter and scrap before it comes in [mm]
#: share of the travel that a test may use: nobody finds the middle of it exactly
SHARE: Final = 0.8
_MINUTE: Final = 60.0


@dataclass(frozen=True)
class TestCut:
    """A test cut. Lengths in mm, feed in mm/s, speed in rad/s.

    Fields:
        tool: name of the cutter, for the person.
        material: of the scrap, for the person.
        diameter: of the cutter.
        flute_length: its flutes: no depth is greater.
        width: across the cut; the diameter for a slot.
        climb: whether it goes so that it climbs.
        speed: of the spindle.
        feed: of the table.
        gentle: first depth.
        deepest: last depth that is of interest.
        travel: of the machine in X.
        operation: number on the card of what it is a trial for; 0 for none.
    """

    __test__ = False        # not a case of pytest

    tool: str
    material: str
    diameter: float
    flute_length: float
    width: float
    climb: bool
    speed: float
    feed: float
    gentle: float
    deepest: float
    travel: float
    operation: int = 0

    @property
    def depths(self) -> tuple[float, ...]:
        """From gentle on, each a third deeper, as far as flutes and travel allow.

        Raises:
            RecordError: if there is no room for a few depths.
        """
        room = SHARE * self.travel - self.diameter - 2.0 * CLEAR
        many = min(STEPS, int((room + RAMP) // (SEGMENT + RAMP)))
        if many < FEWEST:
            raise RecordError(f"{self.travel:g} mm of travel leave no room for a test cut", right="a smaller cutter")
        last = min(self.deepest, 0.9 * self.flute_length)
        first = min(self.gentle, last / GROWS**2)
        grows = max((last / first) ** (1.0 / (many - 1)), 1.05)
        return tuple(first * min(grows, GROWS) ** i for i in range(many))

    @property
    def length(self) -> float:
        """Of scrap that is cut along [mm]."""
        return len(self.depths) * (SEGMENT + RAMP) - RAMP


def program(cut: TestCut) -> str:
    """The program, zero at the front left upper corner of the scrap.

    Args:
        cut: what is tried.

    Raises:
        RecordError: if the machine's travel leaves no room for it.
    """
    blocks = ["G21 G17 G90 G94 G40", f"G0 Z{_mm(ABOVE)}", f"S{cut.speed / (2.0 * math.pi) * _MINUTE:.0f} M3"]
    radius = cut.diameter / 2.0
    side = cut.width - radius                       # of the axis: so much of the cutter stands in the scrap
    start, way = (-radius - CLEAR, 1.0) if not cut.climb else (cut.length + radius + CLEAR, -1.0)
    x = 0.0 if way > 0.0 else cut.length
    feed = cut.feed * _MINUTE
    blocks += [f"G0 X{_mm(start)} Y{_mm(side)}", f"G0 Z{_mm(CLEAR)}", f"G1 Z{_mm(-cut.depths[0])} F{feed / 3.0:.0f}",
               f"G1 X{_mm(x)} F{feed:.0f}"]
    for index, depth in enumerate(cut.depths):
        if index:
            x += way * RAMP
            blocks.append(f"G1 X{_mm(x)} Z{_mm(-depth)}")
        x += way * SEGMENT
        blocks += [f"(DEPTH {_mm(depth)} MM)", f"G1 X{_mm(x)}"]
    blocks += [f"G1 X{_mm(x + way * (radius + CLEAR))}", f"G0 Z{_mm(ABOVE)}", "M5", "M30"]
    return "\n".join(["%", *_cautions(cut), *_numbered(blocks), "%", ""])


def _cautions(cut: TestCut) -> list[str]:
    """What a person must know, as comments that every control reads past."""
    name = f"{cut.tool} in scrap of {cut.material}"
    most = cut.depths[-1]
    lines = (
        f"TEST CUT: {name}", "read it through, and run it in the air first",
        f"scrap at least {cut.length + 2.0:.0f} mm long in X, {cut.diameter + 5.0:.0f} in Y, {most + 5.0:.0f} high",
        "clamped against a stop, clamps and jaws below the cut and out of its way",
        "zero: X and Y at its left front corner, Z at its top",
        f"the cutter runs along the front edge, {most:.2f} mm deep in the end",
        "guard closed, eyes protected, no gloves, a hand on feed hold",
        "feed hold as soon as it sings, squeals or slows, and write down that depth",
        *([f"a trial for operation {cut.operation}, then: firstoff log JOB {cut.operation} sang",
           "--depth as it says there --scrap, and ok with the depth before"] if cut.operation else []),
        "the manual of the machine comes before this program",
    )
    return [f"({_plain(line)})" for line in lines]


def _plain(text: str) -> str:
    """Capitals, figures and what a comment may hold: no brackets, no accents."""
    kept = "".join(c if c.isascii() and c.isprintable() and c not in "()%;" else " " for c in text.upper())
    return " ".join(kept.split())


def _numbered(blocks: list[str]) -> list[str]:
    count = 0
    out = []
    for block in blocks:
        count += 10
        out.append(block if block.startswith("(") else f"N{count} {block}")
    return out


def _mm(value: float) -> str:
    text = f"{value:.3f}"
    return "0." if float(text) == 0.0 else text
