"""Where a lone hole is drilled and what: machine, metal, the drills that there are, sizes as people tell them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Final

from ..checks.wander import FLUTES, FLUTES_POWER
from ..shop.library import load_shop
from ..shop.models import Machine, Material, Shop
from ..units import tell
from .drill_names import as_sold, in_mm, inch_drills

#: Drills that a set has [mm]: by halves, for pilots where the shop's own are not listed.
SET: Final = tuple(0.5 * i for i in range(4, 27))
INCH_SET: Final = tuple(round(25.4 * i / 32.0, 3) for i in range(2, 17))
TENTHS: Final = tuple(round(0.1 * i, 1) for i in range(5, 200))       #: [mm] before a reamer, where none are listed
SPOTS: Final = {"mm": (3.0, 6.0), "in": (3.175, 6.35)}    #: [mm] usual spot drills, for small holes and for others


@dataclass(frozen=True)
class Bench:
    """Where it is drilled, and what."""

    shop: Shop
    machine: Machine
    material: Material

    @property
    def kind(self) -> str:
        """mill, drill_press or hand."""
        return self.shop.classes[self.machine.like].kind

    def said(self, length: float) -> str:
        """A length as people in this shop tell it: to a thousandth of an inch, or of a mm."""
        return tell(length, "length", self.shop.units, 3)

    def fine(self, length: float) -> str:
        """A feed or a spread of some hundredths of a mm."""
        return tell(length, "length", self.shop.units, 4 if self.shop.units == "in" else 3)

    def size(self, diameter: float) -> str:
        """A diameter as it stands on the drill."""
        return as_sold(diameter) if self.shop.units == "in" else in_mm(diameter)

    @property
    def sizes(self) -> tuple[float, ...]:
        """Drills that there are: the shop's own, else a set's [mm]; nobody with inches has the library's by mm."""
        own = tuple(sorted(t.diameter for t in self.shop.tools.values() if t.kind == "drill"))
        if self.shop.units == "in":
            return INCH_SET if set(own) <= _library_drills() else own
        return own if self.shop.file and own else SET

    @property
    def before_reaming(self) -> tuple[float, ...]:
        """Drills that may come before a reamer [mm]."""
        if self.sizes == INCH_SET:
            return inch_drills()
        return self.sizes if self.shop.file else TENTHS

    @property
    def has(self) -> tuple[float, ...]:
        """Drills of which nobody is told that they are missing [mm]."""
        return inch_drills() if self.sizes == INCH_SET else self.sizes

    def spot(self, drilled: float) -> float:
        """The spot drill for a hole [mm]."""
        own = tuple(sorted(t.diameter for t in self.shop.tools.values() if t.kind == "spot_drill"))
        sizes = own if self.shop.file and self.shop.units == "mm" and own else SPOTS[self.shop.units]
        return next((wide for wide in sizes if wide >= drilled), sizes[-1])

    def reach(self, diameter: float) -> float:
        """How deep the flutes of a drill go: the shop's own where it names one, else as usually sold [mm]."""
        own = [t.flute_length for t in self.shop.tools.values() if t.kind == "drill" and t.flute_length
               and abs(t.diameter - diameter) < 1e-6]
        return max(own) if own else float(FLUTES * diameter**FLUTES_POWER)

    def kinds(self) -> Iterator[tuple[Material, float]]:
        """The metal, or all that it may be with how often."""
        if not self.material.one_of:
            yield self.material, 1.0
        whole = sum(self.material.one_of.values())
        for name, share in self.material.one_of.items():
            yield self.shop.materials[name], share / whole


@cache
def _library_drills() -> frozenset[float]:
    """Sizes of the drills that a shop has which names none [mm]."""
    return frozenset(t.diameter for t in load_shop(None).tools.values() if t.kind == "drill")
