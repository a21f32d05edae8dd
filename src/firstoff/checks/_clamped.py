"""A screw that clamps one part on another: pull from torque, what it loses, what gives way at which pull.

In closed form: everything is a median with one standard deviation of its logarithm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal, NamedTuple

from ..cutting.thread import COUNTERSUNK, Profile, breaking_load, metric_profile, stripping_load, thread_shear_areas
from ..holding.clamped import (
    bedded_preload,
    cone_compliance,
    crushing_load,
    head_face,
    load_share,
    opening_load,
    screw_compliance,
)
from ..holding.joint import slip_capacity
from ..holding.screw import head_diameter_mean, preload_limit, tightening_torque
from ..normal import normal_cdf
from ._chance import OPERATION_SCATTER, spread
from ._screws import GRADES
from ._threads import Thread
from .si import metres, millimetres, pascal

Head = Literal["countersunk", "socket", "hex", "thumb"]

#: Friction of thread and head, from the lowest to the highest of the classes that it may be (vdi2230, table A5): as
#: delivered B and C, greased or oiled B. Nine in ten lie inside; thread and head each for itself.
FRICTION: Final[dict[bool, tuple[float, float]]] = {False: (0.08, 0.24), True: (0.08, 0.16)}
#: Friction of clean machined faces on each other, of the softer by ISO 513 group (jointfriction); plastics and wood
#: judged. Nine in ten lie inside.
FACES: Final[dict[str, tuple[float, float]]] = {
    "P": (0.12, 0.25), "M": (0.12, 0.25), "H": (0.12, 0.25), "K": (0.15, 0.30), "N": (0.08, 0.20), "S": (0.12, 0.25),
    "plastic": (0.10, 0.40), "wood": (0.10, 0.40),
}
#: Pressure under a head at which it sinks in, over tensile strength (vdi2230, table A9); plastic and wood judged.
HARDNESS: Final[dict[str, float]] = {
    "P": 1.45, "M": 1.0, "H": 1.0, "K": 3.5, "N": 0.87, "S": 1.0, "plastic": 1.0, "wood": 1.0,
}
HARDNESS_SD: Final = math.log(1.2)
#: What the faces of thread, head and parting flatten in a tightened screw [mm] (vdi2230, table 5: 3, 3 and 2 um for
#: faces as milled), and one standard deviation of its log; judged.
BEDDING: Final = 0.008
BEDDING_SD: Final = math.log(1.5)
CONE: Final = math.radians(30.0)      #: in which pressure spreads under a head (vdi2230 has about this)
INTRODUCTION: Final = 0.5             #: a load comes in half way between head and parting face; judged
STEEL: Final = 205000.0               #: Young's modulus of a screw [N/mm2] (vdi2230)
BRASS: Final = 97000.0                #: of a brass one (en12164)
SHEAR: Final = 0.6                    #: shear over tensile strength of threads (vdi2230)
NINE_IN_TEN: Final = 1.645            #: standard normals on either side of it
#: Bearing face of heads [mm]: socket heads, hexagon heads (iso4762, iso4017: least d_w, recalled).
SOCKET: Final = {"M2": 3.48, "M2.5": 4.18, "M3": 5.07, "M4": 6.53, "M5": 8.03, "M6": 9.38, "M8": 12.33, "M10": 15.33,
                 "M12": 17.23}
HEXAGON: Final = {"M2": 3.07, "M2.5": 4.07, "M3": 4.57, "M4": 5.88, "M5": 6.88, "M6": 8.88, "M8": 11.63,
                  "M10": 14.63, "M12": 16.63}
#: Of other sizes, over the diameter of the thread.
WIDE: Final[dict[Head, float]] = {"socket": 1.55, "hex": 1.45, "thumb": 2.0, "countersunk": 2.0}


class Wide(NamedTuple):
    """A median with one standard deviation of its logarithm."""

    middle: float
    sd: float

    @classmethod
    def between(cls, low: float, high: float) -> Wide:
        """Of which nine in ten lie between these."""
        return cls(math.sqrt(low * high), math.log(high / low) / (2.0 * NINE_IN_TEN))

    @property
    def low(self) -> float:
        """One in twenty lies below."""
        return self.middle * math.exp(-NINE_IN_TEN * self.sd)

    @property
    def high(self) -> float:
        """One in twenty lies above."""
        return self.middle * math.exp(NINE_IN_TEN * self.sd)

    def times(self, factor: float, *sds: float) -> Wide:
        """Multiplied by a number that has a spread of its own."""
        return Wide(self.middle * factor, spread(self.sd, *sds))

    def above(self, other: Wide) -> float:
        """Chance that this is more than the other, both for themselves [1]."""
        sd = spread(self.sd, other.sd)
        if self.middle <= 0.0 or other.middle <= 0.0:
            return 1.0 if self.middle > other.middle else 0.0
        if sd == 0.0:
            return 1.0 if self.middle > other.middle else 0.0
        return float(normal_cdf(math.log(self.middle / other.middle) / sd))


class Metal(NamedTuple):
    """What a joint asks of a part's material: its name, strength and stiffness [N/m2], ISO 513 group."""

    name: str
    tensile: Wide
    young: float
    group: str


def plain(name: str) -> str:
    """A material's name without how it was made: "mild steel S275"."""
    return name.split(",", maxsplit=1)[0].split(" (", maxsplit=1)[0]


def head_face_of(head: Head, thread: Thread) -> float:
    """Diameter of the face on which a head bears, of a countersunk one that of its sharp edge [mm]."""
    if head == "countersunk" and thread.name in COUNTERSUNK:
        return millimetres(COUNTERSUNK[thread.name].sharp_diameter)
    table = SOCKET if head == "socket" else HEXAGON if head == "hex" else {}
    return table.get(thread.name, WIDE[head] * thread.nominal)


def wide_face(head: Head, thread: Thread, hole: float) -> float:
    """The same over its hole [mm]: a head that is no wider needs a washer, and hardly bears."""
    return max(head_face_of(head, thread), 1.02 * hole)


def head_arm(head: Head, thread: Thread, hole: float) -> float:
    """Mean diameter at which a head rubs [m], of a cone as if it were a flat one of more friction."""
    mean = float(head_diameter_mean(metres(wide_face(head, thread, hole)), metres(hole)))
    return mean / math.sin(math.pi / 4.0) if head == "countersunk" else mean


def arm_of(profile: Profile, rubs: float, lubricated: bool) -> Wide:
    """Torque over pull of a screw [m]: thread and head rub each for itself.

    Args:
        profile: of its thread.
        rubs: mean diameter at which its head rubs [m]; 0 of a point.
        lubricated: whether both are greased.
    """
    mu = Wide.between(*FRICTION[lubricated])
    whole, no_head, none = (float(tightening_torque(1.0, profile.pitch, profile.pitch_diameter, rubs, *each))
                            for each in ((mu.middle, mu.middle), (mu.middle, 0.0), (0.0, 0.0)))
    return Wide(whole, spread((whole - no_head) / whole * mu.sd, (no_head - none) / whole * mu.sd))


def stretches_at(profile: Profile, grade: str, lubricated: bool) -> Wide:
    """Pull at which a screw yields while it is turned, at the least strength of its class [N].

    Args:
        profile: of its thread.
        grade: property class.
        lubricated: whether its thread is greased.
    """
    mu = Wide.between(*FRICTION[lubricated])
    middle, rough = (float(preload_limit(pascal(GRADES[grade][0]), profile.pitch, profile.pitch_diameter,
                                         profile.root_diameter, each, 1.0))
                     for each in (mu.middle, mu.middle * math.exp(mu.sd)))
    return Wide(middle, math.log(middle / rough))


@dataclass(frozen=True)
class Clamp:
    """A screw through one part into a tapped hole of another, lengths in mm.

    Fields:
        thread: of the screw.
        grade: property class.
        head: its shape.
        thick: of what it clamps, from under the head.
        engaged: full thread that holds.
        hole: clearance hole.
        drilled: of the thread.
        plate: what is clamped.
        into: what the thread is in.
        lubricated: whether thread and head are greased or oiled.
    """

    thread: Thread
    grade: str
    head: Head
    thick: float
    engaged: float
    hole: float
    drilled: float
    plate: Metal
    into: Metal
    lubricated: bool = False

    @cached_property
    def profile(self) -> Profile:
        """Basic sizes of the thread [m]."""
        return metric_profile(self.thread.sizes.nominal, self.thread.sizes.pitch)

    @property
    def rubs(self) -> float:
        """Mean diameter at which the head rubs [m]."""
        return head_arm(self.head, self.thread, self.hole)

    @property
    def face(self) -> float:
        """Outer diameter of the face that bears [mm]."""
        return wide_face(self.head, self.thread, self.hole)

    @cached_property
    def arm(self) -> Wide:
        """Torque over pull [m]."""
        return arm_of(self.profile, self.rubs, self.lubricated)

    def pull(self, torque: float, sd: float) -> Wide:
        """Pull right after tightening by a torque [N]."""
        return Wide(torque, sd).times(1.0 / self.arm.middle, self.arm.sd)

    def kept(self, pull: Wide) -> Wide:
        """What is left of it when the faces have bedded in [N]."""
        left, less = (float(bedded_preload(pull.middle, metres(BEDDING) * factor, self.stretches.middle, *self.gives))
                      for factor in (1.0, math.exp(BEDDING_SD)))
        return pull.times(left / pull.middle, math.log(left / less))

    @cached_property
    def gives(self) -> tuple[float, float]:
        """Compliance of screw and parts [m/N]."""
        young = pascal(BRASS if self.grade == "brass" else STEEL)
        screw = screw_compliance(metres(self.thick), self.profile.nominal, self.profile.root_diameter, young,
                                 self.into.young)
        parts = cone_compliance(metres(self.thick), metres(self.face), metres(self.hole), self.plate.young, CONE)
        return float(screw), float(parts)

    @property
    def share(self) -> float:
        """Share of a load along the screw that its pull grows by [1]."""
        return float(load_share(*self.gives, INTRODUCTION))

    @property
    def stretches(self) -> Wide:
        """Pull at which the screw yields while it is turned [N]."""
        return stretches_at(self.profile, self.grade, self.lubricated)

    @property
    def breaks(self) -> float:
        """Pull at which it breaks, at the least strength of its class [N]."""
        return float(breaking_load(pascal(GRADES[self.grade][1]), self.profile.stress_area))

    @property
    def strips(self) -> Wide:
        """Pull at which screw or hole strips [N]."""
        sizes, length = self.thread.sizes, metres(self.engaged)
        areas = thread_shear_areas(sizes.pitch, length, sizes.least_major, sizes.least_pitch, sizes.most_pitch,
                                   max(sizes.most_minor, metres(self.drilled)))
        screw = SHEAR * pascal(GRADES[self.grade][1])
        load = float(stripping_load(areas, screw, SHEAR * self.into.tensile.middle))
        hole = float(areas.internal) * SHEAR * self.into.tensile.middle
        own = self.into.tensile.sd if hole <= float(areas.external) * screw else 0.0
        return Wide(load, spread(own, OPERATION_SCATTER["thread"]))

    @property
    def crushes(self) -> Wide:
        """Pull at which the head sinks into what it clamps [N]."""
        area = float(head_face(metres(self.face), metres(self.hole)))
        hard = HARDNESS[self.plate.group]
        return Wide(float(crushing_load(area, self.plate.tensile.middle, hard)),
                    spread(self.plate.tensile.sd, HARDNESS_SD))

    @property
    def faces(self) -> Wide:
        """Friction between the parts [1]: that of the slippier of the two."""
        return min((Wide.between(*FACES[metal.group]) for metal in (self.plate, self.into)),
                   key=lambda mu: mu.middle)

    def slips(self, kept: Wide, number: int, along: float = 0.0) -> Wide:
        """Force across the screws at which the parts slip [N], with a load along all screws [N]."""
        left = kept.middle - (1.0 - self.share) * along / number
        if left <= 0.0:
            return Wide(0.0, 0.0)
        sd = min(kept.sd * kept.middle / left, 3.0)
        return Wide(float(slip_capacity(left, number, 1, self.faces.middle)), spread(sd, self.faces.sd))

    def opens(self, kept: Wide, number: int) -> Wide:
        """Force along the screws at which the parts come off each other [N]."""
        return Wide(number * float(opening_load(kept.middle, self.share)), kept.sd)

    def sunk(self) -> Clamp:
        """The same, clamped from half way down the cone of its head, where a countersunk one bears."""
        return replace(self, thick=max(self.thick - self.cone_depth() / 2.0, 0.5 * self.thread.pitch))

    def cone_depth(self) -> float:
        """How deep a countersunk head goes below its sharp edge [mm]; 0 of a flat one."""
        return (self.face - self.thread.nominal) / 2.0 if self.head == "countersunk" else 0.0
