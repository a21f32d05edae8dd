"""What is wanted: parts with material and stock, limits, joints, bought-in pieces. Data only; mm.

How a person names a face: "+Z" (the outermost flat face that looks that way in the model),
"bed" (a name given under `[parts.body.names]`), a feature id ("hole-3"), or "face 12".
Across parts: "body.+Z".
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, field_validator, model_validator

from ..errors import OutOfRange, UnitError
from ..shop.models import Angle, Force, Length, Torque
from ..stack.fits import limits_of
from ..tomlfile import Written
from ..units import parse


class Stock(Written):
    """The piece that the part is cut from, in the part's own axes (x, y, z)."""

    size: tuple[Length, Length, Length]
    condition: Literal["hot_rolled", "cold_drawn", "extruded", "sawn", "cast", "milled"] = "cold_drawn"
    sawn_ends: bool = True
    offset: tuple[Length, Length, Length] | None = None   # part's low corner in the stock; else centred
    bow: Length = 0.0                                      # out of flat, level or pitted, at worst
    price: float = Field(default=0.0, ge=0)


class PartWanted(Written):
    """A part of the job."""

    model: str                                             # STEP file, relative to the job folder
    material: str
    stock: Stock
    names: dict[str, str] = Field(default_factory=dict)    # own name -> face or feature id
    threads: dict[str, str] = Field(default_factory=dict)  # hole (name or id) -> "M4 x 9 deep" or "M5"
    ream: dict[str, str] = Field(default_factory=dict)     # hole -> fit, such as "H7"
    last: tuple[str, ...] = ()                             # features cut last, to suit
    roughness: Length | None = None                        # Ra wanted on milled faces
    by_hand: dict[str, str] = Field(default_factory=dict)  # feature -> what is done by hand: "file"


def _tolerance(text: Any) -> Any:
    """Read "±0.03 mm", "+0.1 / -0.05 mm" into (lower, upper) mm."""
    if not isinstance(text, str):
        return text
    plain = text.strip()
    if plain.startswith(("±", "+-", "+/-")):
        value = _length(plain.removeprefix("±").removeprefix("+/-").removeprefix("+-"))
        return (-value, value)
    upper, bar, lower = plain.partition("/")
    if not bar:
        raise ValueError('write "±0.03 mm" or "+0.05 mm / -0.02 mm", or a class such as "H7" beside a size')
    unit = lower.strip().split()[-1] if lower.strip() else ""
    upper = upper if any(c.isalpha() for c in upper) else f"{upper.strip()} {unit}"
    return (_length(lower), _length(upper))


def _length(text: str) -> float:
    try:
        return parse(text.strip(), "length")
    except UnitError as error:
        raise ValueError(f"{error.what} ({error.right})") from None


_CLASS: Final = re.compile(r"[A-Za-z]{1,2}\d{1,2}")


def _class_read(table: Any, size: Any) -> Any:
    """A tolerance class of ISO 286 as its limits at a size; anything else is left as it is."""
    said = table.get("tolerance") if isinstance(table, dict) else None
    if not isinstance(said, str) or not _CLASS.fullmatch(said.strip()) or size is None:
        return table
    try:
        nominal = parse(size, "length") if isinstance(size, str) else float(size)
        low, high = limits_of(said, nominal / 1000.0)
    except UnitError:
        return table                          # the size says itself what is wrong with it
    except OutOfRange as error:
        raise ValueError(f"{error.what} ({error.right})") from None
    return {**table, "tolerance": (round(low * 1000.0, 6), round(high * 1000.0, 6))}


Tolerance = Annotated[tuple[float, float], BeforeValidator(_tolerance)]


class Limit(Written):
    """A size that must come right."""

    kind: Literal["distance", "size", "flatness", "depth", "chain", "parallelism", "squareness", "angle", "position",
                  "clearance"]
    # one face (flatness, size, depth, clearance); two; a chain: two a link; a position: the hole and the two faces
    # that place it
    between: tuple[str, ...]
    piece: str = ""                            # of a clearance: the bought-in piece that goes into the hole
    size: Length | None = None                 # nominal; from the model where not given; of a clearance 0
    tolerance: Tolerance                       # (lower, upper) against the nominal [mm]; or a class of ISO 286
    part: str | None = None
    gain: float = 1.0                          # of a chain: mm at the limit for each mm of the distance
    gains: tuple[float, ...] = ()              # one a link: a chain of distances, each between two faces of a part
    instrument: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _fit(cls, table: Any) -> Any:
        return _class_read(table, table.get("size") if isinstance(table, dict) else None)

    @field_validator("tolerance")
    @classmethod
    def _wide(cls, value: tuple[float, float]) -> tuple[float, float]:
        if not value[0] < value[1]:
            raise ValueError(f"the lower limit {value[0]} mm is not below the upper {value[1]} mm")
        return value

    @model_validator(mode="after")
    def _faces(self) -> Limit:
        if (self.kind == "clearance") != bool(self.piece):
            raise ValueError('a clearance, and only that, names its piece: piece = "dowel"')
        wanted = 1 if self.kind in ("flatness", "size", "depth", "clearance") else 3 if self.kind == "position" else 2
        if self.gains and self.kind != "chain":
            raise ValueError(f"gains are of a chain, not of a {self.kind}")
        if self.gains and "gain" in self.model_fields_set:
            raise ValueError("give gains, one a link, or one gain, not both")
        wanted *= len(self.gains) or 1
        if len(self.between) != wanted:
            raise ValueError(f"a {self.kind} is between {wanted} face(s), not {len(self.between)}")
        if self.is_zone and not self.tolerance[0] <= 0.0 < self.tolerance[1]:
            raise ValueError(f'a {self.kind} has a zone: write "+0.02 mm / 0 mm"')
        return self

    @property
    def is_zone(self) -> bool:
        """Whether the tolerance is the width of a zone, and not limits to a size."""
        return self.kind in ("flatness", "parallelism", "squareness", "angle", "position")

    @property
    def links(self) -> tuple[tuple[str, str, float], ...]:
        """The distances that a limit between faces adds up: two faces and the gain of each."""
        if self.kind not in ("distance", "chain"):
            return ()
        gains, names = self.gains or (self.gain,), self.between
        return tuple((names[2 * i], names[2 * i + 1], gain) for i, gain in enumerate(gains))


By = Literal["fingers", "thumbscrew", "key"]
Wanted = Annotated[Force, Field(gt=0)]
Tight = Annotated[Torque, Field(gt=0)]


class ScrewJoint(Written):
    """Screws that hold one part on another."""

    kind: Literal["screw"] = "screw"
    screw: str                                 # "M4 x 16"
    head: Literal["countersunk", "socket", "hex", "thumb"] = "socket"
    grade: Literal["4.8", "8.8", "10.9", "12.9", "A2-70", "brass"] = "8.8"
    through: str                               # "sole.hole-1": clearance hole, head side
    into: str                                  # "body.hole-2": tapped hole
    number: int = Field(default=1, ge=1)
    torque: Tight | None = None                # by a torque wrench; else by hand
    torque_by: By | None = None                # where no torque is given; a key where nobody says
    lubricated: bool = False                   # thread and head greased or oiled
    load_across: Wanted | None = None          # of all screws together, along the faces: must not slip
    load_along: Wanted | None = None           # along the screws, pulling the parts apart: must not open
    below: Tolerance | None = None             # head below the surface, (least, most) [mm]


class LeverJoint(Written):
    """A bar that a screw presses on to something: a cap on an iron."""

    kind: Literal["lever"] = "lever"
    part: str
    screw: str
    thickness: tuple[str, str]                 # the faces between which it is measured
    arms: tuple[Length, Length]                # fulcrum to screw, screw to where it presses
    width: Length
    hole: Length = 0.0                         # diameter of the screw's hole in the bar
    torque_by: By = "fingers"
    torque: Tight | None = None                # by a torque wrench, instead of by hand
    lubricated: bool = False
    wanted_force: Wanted | None = None         # that it must press with


class WedgeJoint(Written):
    """A wedge that a screw draws in under what it clamps."""

    kind: Literal["wedge"] = "wedge"
    part: str                                  # the wedge, or the part that it sits in
    screw: str
    angle: Annotated[Angle, Field(gt=0, lt=0.785)]    # of the wedge; below 45 degrees
    torque_by: By = "key"
    torque: Tight | None = None
    lubricated: bool = False
    wanted_force: Wanted | None = None         # that it must press with
    gap: Length | None = Field(default=None, ge=0)    # that it has to close
    way: Length | None = Field(default=None, gt=0)    # that its screw can draw it


Joint = Annotated[ScrewJoint | LeverJoint | WedgeJoint, Field(discriminator="kind")]


class Bought(Written):
    """A bought-in piece and the size of it that matters."""

    name: str
    size: dict[str, Length] = Field(default_factory=dict)
    tolerance: Tolerance | None = None         # of its size; a class such as "m6" where it has one size alone
    price: float = Field(default=0.0, ge=0)

    @model_validator(mode="before")
    @classmethod
    def _fit(cls, table: Any) -> Any:
        sizes = table.get("size") if isinstance(table, dict) else None
        alone = next(iter(sizes.values())) if isinstance(sizes, dict) and len(sizes) == 1 else None
        return _class_read(table, alone)


class Outside(Written):
    """An operation that somebody else does: hardening, plating."""

    part: str
    what: str
    days: float = Field(default=0.0, ge=0)
    price: float = Field(default=0.0, ge=0)


class Job(Written):
    """The whole job."""

    name: str
    shop: str | None = None                    # folder or file of the shop, relative to the job
    units: Literal["mm", "in"] = "mm"
    budget: float = Field(default=0.05, gt=0, lt=1)   # chance of losing a part, whole job
    parts: dict[str, PartWanted]
    limits: dict[str, Limit] = Field(default_factory=dict)
    joints: dict[str, Joint] = Field(default_factory=dict)
    bought: dict[str, Bought] = Field(default_factory=dict)
    outside: dict[str, Outside] = Field(default_factory=dict)
    assembly_tool: str | None = None
    part_value: dict[str, float] = Field(default_factory=dict)   # loss beside time, when a part is lost
    file: str = ""
