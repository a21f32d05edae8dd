"""A simulated machine, and a person who does the nine tests on it: rightly, or with a lapse.

None of the forward models is used here: what the machine does is written down anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from firstoff.belief import Belief
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop

MILL = "light_gantry"
ROWS = 512


@cache
def shop() -> Shop:
    """The starter shop: nothing is measured in it."""
    return load_shop(None)


@cache
def book(rows: int = ROWS) -> Belief:
    """Book figures of it."""
    return Belief.of(columns_of(shop()), rows=rows)


@dataclass(frozen=True)
class Truth:
    """What the machine is: N/um, mm, N; errors as mm per mm."""

    stiffness: float = 2.0
    play: float = 0.04
    drag: float = 15.0
    tilt: float = 4e-4
    touch: float = 0.02
    thrust: float = 450.0
    square: float = -5e-4
    repeat: float = 0.01
    runout: float = 0.012


def drawn(generator: np.random.Generator) -> Truth:
    """A machine as the book thinks that they are spread: a class, and one of it."""
    def times(median: float, *factors: float) -> float:
        return float(median * math.exp(sum(math.log(f) * generator.standard_normal() for f in factors)))

    return Truth(
        times(2.0, 2.0, 1.25), times(0.04, 2.0, 1.25), times(15.0, 2.0, 1.25), 4e-4 * generator.standard_normal(),
        times(0.02, 2.0, 1.25), times(450.0, 2.0, 1.25), 5e-4 * generator.standard_normal(), times(0.01, 2.0, 1.25),
        times(0.01, 1.6))


class Person:
    """Reads a machine with a dial indicator and scales from the kitchen; noise and rounding are theirs."""

    def __init__(self, truth: Truth, seed: int = 1) -> None:
        self.truth, self.random = truth, np.random.default_rng(seed)

    def _dial(self, true: float, unit: str = "mm") -> str:
        """An indicator of 0.01 mm: its own error, and the eye halves a division."""
        seen = round((true + 0.005 * self.random.standard_normal()) / 0.005) * 0.005
        return f"{seen:.3f} {unit}"

    def pull(self, axis: str = "x", unit: str = "mm", force_unit: str = "kg") -> dict[str, str]:
        """The loop: the slide goes to an end of its play if the pull is more than it drags, and stays there."""
        force = 100.0 * (1.0 + 0.03 * self.random.standard_normal())
        spring = force / (1000.0 * self.truth.stiffness) * (1.0 + 0.06 * self.random.standard_normal())
        stay = self.truth.play / 2.0 if force > self.truth.drag else 0.0
        zero = 0.05 * self.random.standard_normal()
        return {
            "axis": axis, "force": {"kg": "10.2 kg", "N": "10.2 N", "lb": "10.2 lb", "100 kg": "100 kg"}[force_unit],
            "pulled": self._dial(zero + stay + spring, unit), "released": self._dial(zero + stay, unit),
            "pushed": self._dial(zero - stay - spring, unit), "released_back": self._dial(zero - stay, unit)}

    def circle(self) -> dict[str, str]:
        """A swing of 150 mm: the spindle leans along X."""
        high = 150.0 * self.truth.tilt / 2.0
        flat = 0.004 * self.random.standard_normal(2)
        return {"swing": "150 mm", "left": self._dial(flat[0] - high), "right": self._dial(flat[1] + high),
                "front": self._dial(0.0), "back": self._dial(0.0)}

    def runout(self, collet: str = "collet_6") -> dict[str, str]:
        """A pin that was clamped once."""
        off = self.truth.runout * math.exp(0.2 * self.random.standard_normal())
        low, high = sorted((self._dial(-off), self._dial(off)), key=lambda text: float(text.split()[0]))
        return {"collet": collet, "high": high, "low": low}

    def touch_off(self) -> dict[str, str]:
        """Ten positions, as they are shown to 0.01."""
        each = 12.3 + self.truth.touch * self.random.standard_normal(10)
        return {"readings": "; ".join(f"{place:.2f} mm" for place in each)}

    def thrust(self) -> dict[str, str]:
        """Three stalls on a scale that is a little wrong."""
        off = 1.0 + 0.04 * self.random.standard_normal()
        each = self.truth.thrust / 9.81 * off * (1.0 + 0.08 * self.random.standard_normal(3))
        return {"stall": "; ".join(f"{kilos:.1f} kg" for kilos in each)}

    def square(self) -> dict[str, str]:
        """A square, and the indicator along its next edge when it is turned over."""
        sizes = 50.0 + 0.03 * self.random.standard_normal(2)
        return {"x": f"{sizes[0]:.2f} mm", "y": f"{sizes[1]:.2f} mm",
                "turned": self._dial(2.0 * 45.0 * self.truth.square)}

    def returns(self) -> dict[str, str]:
        """Ten of fifty returns."""
        return {"start": "0 mm", "readings": "; ".join(
            self._dial(self.truth.repeat * self.random.standard_normal()) for _ in range(10))}

    def all(self) -> list[tuple[str, dict[str, str]]]:
        """The tests that need neither a cut's watts nor a phone."""
        return [("pull", self.pull()), ("runout", self.runout()), ("circle", self.circle()),
                ("touch_off", self.touch_off()), ("thrust", self.thrust()), ("square", self.square()),
                ("returns", self.returns())]
