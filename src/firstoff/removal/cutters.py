"""Cutters as solids of revolution. Geometry; mm, rad."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from ..errors import OutOfRange

if TYPE_CHECKING:
    from ._round import Form

Floats = NDArray[np.float64]

SLOPES: Final = 97          #: rows of the table of contact places, from level to upright
PLACES: Final = 129         #: its columns, from the middle of the path to the side of the tool
HALVINGS: Final = 48        #: of the search for each of them
CORNER_SLICES: Final = 6    #: in which the rounding of a corner is booked
MOST_SLICES: Final = 24
SLICES_A_DIAMETER: Final = 6
HEAD_SLICES: Final = 8      #: of an undercut


@dataclass(frozen=True)
class Cutter:
    """A cutter that cuts all above its profile: flat, rounded corner, straight flank, then straight up.

    Fields:
        radius: greatest [mm].
        flat: radius of the flat at its end [mm].
        corner: radius of the rounding beside it [mm].
        flank: angle between flank and axis, 0 for straight sides [rad].
        length: of its teeth along the axis [mm].
        teeth: how many [1].
        neck: radius of what is above the teeth, where those are wider: an undercut; 0 for none [mm].
        land: height up to which the teeth then have their whole radius; from there they narrow to the neck [mm].
    """

    radius: float
    flat: float
    corner: float = 0.0
    flank: float = 0.0
    length: float = math.inf
    teeth: int = 2
    neck: float = 0.0
    land: float = 0.0

    def __post_init__(self) -> None:
        sizes = (self.radius, self.flat, self.corner, self.flank)
        if not all(math.isfinite(size) and size >= 0.0 for size in sizes) or self.radius <= 0.0:
            raise OutOfRange(f"no cutter has the sizes {sizes}", right="radius above 0, nothing below 0")
        if not 0.0 <= self.flank < 0.5 * math.pi or self.bend > self.radius * (1.0 + 1e-9):
            raise OutOfRange(
                f"flat {self.flat:g} and corner {self.corner:g} do not fit a radius of {self.radius:g} mm",
                right="flat and corner together no wider than the cutter, the flank less than 90° from the axis")

        if self.neck > 0.0:
            self._undercut()

    def _undercut(self) -> None:
        """Raise OutOfRange for a neck that is no neck."""
        plain = self.flat == self.radius and self.corner == self.flank == 0.0
        if not plain or not self.neck < self.radius or not 0.0 <= self.land <= self.length < math.inf:
            raise OutOfRange(
                f"a neck of {self.neck:g} mm, teeth {self.land:g} to {self.length:g} mm high do not fit a radius of "
                f"{self.radius:g} mm", right="a flat end, a neck thinner than it, teeth of some height")

    @classmethod
    def t_slot(cls, diameter: float, head: float, neck: float, teeth: int = 4) -> Cutter:
        """A T-slot or Woodruff cutter: teeth so high, of one diameter, on a neck of another."""
        return cls(0.5 * diameter, 0.5 * diameter, length=head, teeth=teeth, neck=0.5 * neck, land=head)

    @classmethod
    def dovetail(cls, diameter: float, head: float, neck: float, teeth: int = 4) -> Cutter:
        """A dovetail cutter: teeth that narrow from a diameter at their end to that of the neck."""
        return cls(0.5 * diameter, 0.5 * diameter, length=head, teeth=teeth, neck=0.5 * neck)

    @classmethod
    def end_mill(cls, diameter: float, corner: float = 0.0, teeth: int = 2, length: float = math.inf) -> Cutter:
        """Flat end, straight sides, its corners sharp or rounded."""
        return cls(0.5 * diameter, 0.5 * diameter - corner, corner, 0.0, length, teeth)

    @classmethod
    def ball(cls, diameter: float, teeth: int = 2, length: float = math.inf) -> Cutter:
        """A ball nose."""
        return cls(0.5 * diameter, 0.0, 0.5 * diameter, 0.0, length, teeth)

    @classmethod
    def tapered(
        cls, diameter: float, flank: float, tip: float = 0.0, corner: float = 0.0, teeth: int = 2,
        length: float = math.inf,
    ) -> Cutter:
        """A flank at an angle to the axis, from a flat `tip` or a rounding up to the whole diameter."""
        return cls(0.5 * diameter, 0.5 * tip, corner, flank, length, teeth)

    @classmethod
    def chamfer(
        cls, diameter: float, included: float, tip: float = 0.0, teeth: int = 2, length: float = math.inf,
    ) -> Cutter:
        """A chamfer cutter, spot drill, countersink or drill: a point of this included angle."""
        return cls(0.5 * diameter, 0.5 * tip, 0.0, 0.5 * included, length, teeth)

    @property
    def bend(self) -> float:
        """Radius at which the rounding becomes the flank [mm]."""
        return self.flat + self.corner * math.cos(self.flank)

    @property
    def bend_z(self) -> float:
        """Height above the tip there [mm]."""
        return self.corner * (1.0 - math.sin(self.flank))

    @property
    def slope(self) -> float:
        """Of the flank: height for each radius; 0 where the sides are straight [1]."""
        return 1.0 / math.tan(self.flank) if self.flank > 0.0 and self.bend < self.radius else 0.0

    @property
    def rim(self) -> float:
        """Height above the tip where it has its whole radius [mm]."""
        return self.bend_z + max(self.radius - self.bend, 0.0) * self.slope

    def height(self, away: Floats) -> Floats:
        """The profile.

        Args:
            away: from the axis, at most the radius [mm], any shape.

        Returns:
            Height above the tip [mm], the shape of `away`.
        """
        out = np.clip(away - self.flat, 0.0, self.corner)
        curved = self.corner - np.sqrt(self.corner**2 - out**2)
        flank: Floats = self.bend_z + (away - self.bend) * self.slope
        return np.where(away < self.bend, curved, np.where(away <= self.flat, 0.0, flank))

    def rise(self, away: Floats) -> Floats:
        """Slope of the profile, `away` [mm] from the axis [1]; the shape of `away`."""
        out = np.clip(away - self.flat, 0.0, self.corner)
        with np.errstate(divide="ignore", invalid="ignore"):
            curved = out / np.sqrt(self.corner**2 - out**2)
        return np.where(away <= self.flat, 0.0, np.where(away < self.bend, curved, self.slope))

    @property
    def edges(self) -> Floats:
        """Where the slices of engagement begin above the tip; the last one has no end [mm], shape (slices + 1,)."""
        corner = self.bend_z * (1.0 - np.cos(np.linspace(0.0, 0.5 * np.pi, CORNER_SLICES + 1)))[:-1]
        if self.neck > 0.0:
            return np.append(np.linspace(0.0, self.length, HEAD_SLICES + 1), math.inf)
        step = 2.0 * self.radius / SLICES_A_DIAMETER
        straight = self.bend_z + step * np.arange(MOST_SLICES - CORNER_SLICES + 1)
        return np.concatenate([corner if self.bend_z > 0.0 else corner[:0], straight])

    def form(self, cell: float) -> Form:
        """What the kernels take, for cells of this side [mm]."""
        from ._round import Form

        head = self.length if self.neck > 0.0 else 0.0
        return Form(self.radius, self.flat, self.corner, self.bend, self.bend_z, self.slope, cell, self.neck,
                    self.land, head)


@lru_cache(maxsize=64)
def contact_places(cutter: Cutter) -> NDArray[np.float32]:
    """Where a cutter is lowest over a cell as it rises: how far ahead of its middle, over half the chord there.

    Args:
        cutter: its profile.

    Returns:
        Share of half the chord [1], for slopes even in angle from level to upright and places even across the
        path from its middle to the side of the tool, shape (SLOPES, PLACES).
    """
    slope = np.tan(np.linspace(0.0, 0.5 * np.pi, SLOPES)[:-1])[:, None]
    across = np.linspace(0.0, cutter.radius, PLACES)[None, :]
    half = np.sqrt(np.maximum(cutter.radius**2 - across**2, 0.0))
    low, high = np.zeros((SLOPES - 1, PLACES)), np.broadcast_to(half, (SLOPES - 1, PLACES)).copy()
    for _ in range(HALVINGS):
        ahead = 0.5 * (low + high)
        away = np.sqrt(across**2 + ahead**2)
        share = np.divide(ahead, away, out=np.zeros_like(away), where=away > 0.0)
        flatter = cutter.rise(np.minimum(away, cutter.radius * (1.0 - 1e-12))) * share < slope
        low, high = np.where(flatter, ahead, low), np.where(flatter, high, ahead)
    ratio = np.divide(high, half, out=np.zeros_like(high), where=half > 0.0)
    ratio[:, -1] = ratio[:, -2]
    return np.concatenate([ratio, np.ones((1, PLACES))]).astype(np.float32)
