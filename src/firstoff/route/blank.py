"""The piece of stock about a part: its six sides, what is to come off each, and which features lie where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..job.faces import DIRECTIONS, dot, feature_named, outermost
from ..job.models import PartWanted
from ..part.shapes import Feature, Part, Vector

AXES: Final = ("X", "Y", "Z")
WORDS: Final = {"+Z": "top", "-Z": "bottom", "+Y": "back", "-Y": "front", "+X": "right", "-X": "left"}
THIN: Final = 0.25          #: thickness / width below which a plate springs and is turned over twice
ON_THE_BOX: Final = 0.01    #: [mm] a flat this near the bounding box is an outer side
PRESENT: Final = 0.3        #: of the side's area must be flat for a side to count as there


@dataclass(frozen=True)
class Blank:
    """A part in its stock."""

    name: str
    wanted: PartWanted
    part: Part
    allowance: dict[str, float]                    # side -> what is to come off [mm]
    sides: dict[str, str | None]                   # side -> feature that owns the flat, None: no flat there

    def extent(self, axis: str) -> float:
        """Size of the finished part along an axis [mm]."""
        i = AXES.index(axis)
        return self.part.high[i] - self.part.low[i]

    def stock_extent(self, axis: str) -> float:
        """Size of the stock along an axis [mm]."""
        return self.extent(axis) + self.allowance[f"+{axis}"] + self.allowance[f"-{axis}"]

    @property
    def by_size(self) -> tuple[str, str, str]:
        """The axes: thickness, width, length."""
        thin, wide, long = sorted(AXES, key=lambda a: (self.extent(a), a))
        return thin, wide, long

    @property
    def is_thin(self) -> bool:
        """Whether it is a plate that springs when one side comes off."""
        thin, wide, _ = self.by_size
        return self.extent(thin) < THIN * self.extent(wide)

    @property
    def springs(self) -> bool:
        """A thin plate of stock with stress in its skin."""
        return self.is_thin and self.wanted.stock.condition in ("hot_rolled", "cold_drawn")

    def is_flat(self, side: str) -> bool:
        """Whether the finished part has a flat there that something can rest on or be gripped by."""
        return self.sides[side] is not None

    def flats(self, side: str) -> tuple[str, ...]:
        """The features that lie in the outer flat of a side, its owner first: a slot may part it in two."""
        owner = self.sides[side]
        if not owner:
            return ()
        there = {face.number for face in outermost(self.part, DIRECTIONS[side])}
        return (owner, *(f.id for f in self.part.features if f.kind == "stock" and f.id != owner
                         and there & set(f.faces)))

    def box(self, side: str) -> tuple[Vector, Vector]:
        """The corners of the finished flat on a side, or of the bounding box where there is none [mm]."""
        faces = outermost(self.part, DIRECTIONS[side])
        if not self.is_flat(side) or not faces:
            return self.part.low, self.part.high
        lows, highs = zip(*((f.low, f.high) for f in faces), strict=True)
        return (min(v[0] for v in lows), min(v[1] for v in lows), min(v[2] for v in lows)), (
            max(v[0] for v in highs), max(v[1] for v in highs), max(v[2] for v in highs))

    def features(self) -> list[Feature]:
        """What is to be made beside the six sides."""
        flats = {owner for owner in self.sides.values() if owner}
        return [f for f in self.part.features if f.kind != "stock" and f.id not in flats]

    def owner(self, name: str) -> str:
        """The id of the feature that a name of the job means."""
        return feature_named(name, self.part, self.wanted.names, f"parts.{self.name}").id


def opposite(side: str) -> str:
    """The side across."""
    return ("-" if side[0] == "+" else "+") + side[1]


def blank_of(name: str, wanted: PartWanted, part: Part) -> Blank:
    """Lay the part into its stock: centred, or as the job says."""
    return Blank(name, wanted, part, _allowances(wanted, part), {s: _owner(part, s) for s in DIRECTIONS})


def _allowances(wanted: PartWanted, part: Part) -> dict[str, float]:
    out = {}
    for i, axis in enumerate(AXES):
        over = wanted.stock.size[i] - (part.high[i] - part.low[i])
        low = over / 2.0 if wanted.stock.offset is None else wanted.stock.offset[i]
        out[f"-{axis}"], out[f"+{axis}"] = round(low, 6), round(over - low, 6)
    return out


def _owner(part: Part, side: str) -> str | None:
    """The feature that owns the outer flat of a side; None where the part has no such flat."""
    way = DIRECTIONS[side]
    faces = outermost(part, way)
    edge = dot(part.high if side[0] == "+" else part.low, way)
    if not faces or abs(dot(faces[0].centroid, way) - edge) > ON_THE_BOX:
        return None
    if sum(f.area for f in faces) < PRESENT * _side_area(part, side):
        return None
    owners = [f.id for f in part.features if faces[0].number in f.faces]
    kinds = {f.id: f.kind for f in part.features}
    return min(owners, key=lambda o: kinds[o] != "stock", default="")


def _side_area(part: Part, side: str) -> float:
    one, other = (i for i, axis in enumerate(AXES) if axis != side[1])
    return (part.high[one] - part.low[one]) * (part.high[other] - part.low[other])


def too_small(blank: Blank) -> str:
    """Why the stock does not hold the part; empty if it does."""
    for side, over in blank.allowance.items():
        if over < -1e-6:
            return (f"the stock is {-over:.2f} mm too small at {side}: "
                    f"{blank.wanted.stock.size[AXES.index(side[1])]:g} mm along {side[1]}")
    return ""
