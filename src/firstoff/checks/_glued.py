"""Work on a carrier: what glue or tape bears, warm from this cut and those before it, after so long under load."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..holding.glue import patch_use, peel_use, strength_after, strength_when_warm
from ..job.faces import resolve
from ..medians import median, medians
from ..units import tell
from ._chance import known, middle
from ._forces import material_entity
from ._gives_way import Array, Cutting
from ._patches import span
from ._touching import device_of
from .base import Case
from .si import cubic_metres, metres, value
from .warm_part import in_setting, rise_in_cut

BEAD_WIDE: Final = 2.0        #: a bead of glue round the foot of a part [mm]; judged
TOLD_WARM: Final = 10.0       #: degrees from which it is told that glue is warm [K]
TOLD_CREEP: Final = 0.9       #: share of the strength below which it is told that it creeps [1]
#: How long a joint is loaded when its strength is measured by pulling it apart [s]; judged.
PULLED: Final = 60.0
MOSTLY: Final = 1.5           #: times the use without it, from which something is told as how a patch gives way
LEAST_USED: Final = 1e-6      #: of a patch: one that is pressed on is not used at all [1]
DISC: Final = math.pi / 4.0             #: of a disc over its square: area [1]
DISC_MODULUS: Final = 6.0 * math.pi / 32.0    #: section modulus (gere2012, pi d3/32 and d3/6) [1]
ROUND_WITHIN: Final = 0.02    #: of that area, within which a foot is a disc: its polygon, a chamfer
_LEVEL: Final = 0.7           #: cosine with its normal below which an axis lies in a face


class Glued(NamedTuple):
    """The push that a patch bears by row [N], and how it gives way."""

    bears: Rows
    how: str


def on_glue(case: Case) -> bool:
    """Whether the operation is done on a carrier: then what was done before in the setting has warmed it."""
    return case.operation is not None and device_of(case).kind == "carrier"


class Foot(NamedTuple):
    """The rectangle about all that is glued, SI.

    Fields:
        middle: of the joint [m], shape (3,).
        along: direction of its longer way [1], shape (3,).
        across: of its shorter way [1], shape (3,).
        long: its longer way [m].
        short: its shorter way [m].
        filled: share of it that is glued, with a bead round it [1].
        is_round: whether a disc is glued, by its area.
    """

    middle: Array
    along: Array
    across: Array
    long: float
    short: float
    filled: float
    is_round: bool = False


def foot_of(case: Case) -> Foot:
    """Where a part is glued."""
    faces = [case.part.faces[number] for number in resolve(case.setting.holding.rest, case.part, case.wanted.names)]
    low, high = (np.array(ends) for ends in (np.min([f.low for f in faces], axis=0),
                                             np.max([f.high for f in faces], axis=0)))
    ways = np.flatnonzero(np.abs(np.array(faces[0].normal)) < _LEVEL)
    across, along = sorted(ways, key=lambda way: float(high[way] - low[way]))[-2:]
    short, long = float(high[across] - low[across]), float(high[along] - low[along])
    filled = min(sum(f.area for f in faces) / (short * long), 1.0)
    is_round = abs(filled - DISC) < ROUND_WITHIN and len(faces) == 1
    if case.setting.holding.bead:
        filled += 2.0 * (short + long) * BEAD_WIDE / (short * long)
    axes = np.eye(3)
    return Foot(metres((low + high) / 2.0), axes[along], axes[across], metres(long), metres(short), filled, is_round)


def glued(case: Case, belief: Belief, cutting: Cutting) -> Glued | str:
    """Shear and twist of the patch, prying at its edges, and peeling there of a thin part, load by load.

    Args:
        case: an operation on a carrier.
        belief: what is believed.
        cutting: what the cut does to the part.

    Returns:
        What it bears, or why that cannot be told.
    """
    entity = f"device:{case.setting.holding.device}"
    if not belief.has(entity, "glue_strength"):
        return f"nothing is known of the glue on the {device_of(case).name}"
    foot = foot_of(case)
    cold = value(belief, entity, "glue_strength") * np.minimum(known(belief, entity, "glue_share", 1.0), 1.0)
    warm = warmth(case, belief, entity)
    strength = cold if warm is None else strength_when_warm(cold, warm, value(belief, entity, "glue_half"))
    tired = creeps(case, belief, entity)
    weaker = strength * tired / cold
    strength = strength * tired * foot.filled
    pull = known(belief, entity, "glue_pull", 1.0) * strength
    loads = [_Load.of(case, belief, cutting, number, (foot, weaker)) for number in range(len(cutting.points))]
    uses = [load.use(foot, strength, pull) for load in loads]
    bears = cutting.push / np.maximum(np.max(uses, axis=0), LEAST_USED)
    if not belief.words:
        return Glued(bears, "")
    worst = loads[int(np.argmax(medians(uses, 1)))]
    how = worst.how(foot, strength, pull, "tape" if belief.has(entity, "creep") else "glue")
    return Glued(bears, how + _told(case, warm, tired))


class _Load(NamedTuple):
    """What one of the loads of a cut asks of a patch, by row: forces [N], moments [N m], a stress [N/m2]."""

    side: Rows
    lift: Rows
    over: Rows           # prying over its longer way
    across: Rows         # over its shorter way
    twist: Rows
    bends: Rows          # use by a thin part that peels [1]

    @classmethod
    def of(cls, case: Case, belief: Belief, cutting: Cutting, number: int, on: tuple[Foot, Rows]) -> _Load:
        foot = on[0]
        up, way, from_ = np.array(case.setting.up), cutting.ways[number], cutting.points[number] - foot.middle
        rise, push = float(way @ up), cutting.push
        lift = push * (rise + cutting.share * float(cutting.lift @ up))
        one, two = np.cross(from_, way) + cutting.arm[number], np.cross(from_, cutting.lift)
        over, across, twist = (push * (float(one @ axis) + cutting.share * float(two @ axis))
                               for axis in (foot.across, foot.along, up))
        side = push * float(np.linalg.norm(way - rise * up))
        return cls(side, lift, over, across, twist, peels(case, belief, lift, *on))

    def use(self, foot: Foot, strength: Rows, pull: Rows) -> Rows:
        """Demand over capacity of the patch."""
        return patch_use(self.side, self.lift, 0.0, foot.long, foot.short, strength, pull, self.bends,
                         *self._pried(foot), self.twist)

    def _pried(self, foot: Foot) -> tuple[Rows, Rows]:
        """Moments over both ways as the rectangle about the foot takes them: one with holes in it bears less."""
        less = min(foot.filled, 1.0)
        if not foot.is_round:
            return self.over / less, self.across / less
        over = np.hypot(self.over, self.across * foot.long / foot.short)       # a disc has no corners
        return over * (less / DISC_MODULUS), np.zeros(len(over))

    def how(self, foot: Foot, strength: Rows, pull: Rows, what: str) -> str:
        """How it gives way: by what takes most of what it bears."""
        none = np.zeros(len(self.side))
        flat = self._replace(lift=none, over=none, across=none, bends=none)
        whole, stiff, shear, side = (median(load.use(foot, strength, pull)) for load in (
            self, self._replace(bends=none), flat, flat._replace(twist=none)))
        if whole > MOSTLY * stiff:
            return f"bend, and peel off its {what} from an edge"
        if whole > MOSTLY * shear:
            return f"be pried off its {what}"
        return f"twist off its {what}" if shear > 2.0 * side else f"shear off the {what}"


def peels(case: Case, belief: Belief, lift: Rows, foot: Foot, weaker: Rows | float = 1.0) -> Rows:
    """Use of the glue where a thin part is lifted at its edge, by row [1]; 0 where nothing tells how it peels.

    Args:
        case: an operation on a carrier.
        belief: what is believed.
        lift: force, by row [N].
        foot: what is glued.
        weaker: share that warmth and time leave of the glue [1].
    """
    entity, material = f"device:{case.setting.holding.device}", material_entity(case)
    if not belief.has(entity, "glue_peel") or not belief.has(material, "young"):
        return np.zeros(belief.rows)
    low, high = span(case, np.array(case.setting.up))
    glued_on = min(foot.filled, 1.0) * foot.long * foot.short
    thick = min(metres(high - low), cubic_metres(case.part.volume) / glued_on)
    return peel_use(lift, thick, value(belief, material, "young"), value(belief, entity, "glue_peel") * weaker)


def _told(case: Case, warm: Rows | None, tired: Rows) -> str:
    """How warm it is, and what time under load takes of it."""
    said = []
    if warm is not None and median(warm) > TOLD_WARM:
        said.append(f"some {middle(warm)} degrees warmer than the shop")
    if median(tired) < TOLD_CREEP:
        said.append(f"crept to {median(tired):.0%} of its strength after "
                    f"{tell(loaded(case), 'time')} of cutting")
    return f" ({'; '.join(said)})" if said else ""


def warmth(case: Case, belief: Belief, entity: str) -> Rows | None:
    """How much warmer than the shop part and glue get in this cut, by row [K]; None where nothing tells."""
    material = material_entity(case)
    told = all(belief.has(material, name) for name in ("heat_capacity", "conductivity", "tangential"))
    return rise_in_cut(case, belief) if told and belief.has(entity, "glue_half") else None


def loaded(case: Case) -> float:
    """How long the joint has been cut on when the operation ends [s]."""
    return sum(past.seconds for past in in_setting(case))


def creeps(case: Case, belief: Belief, entity: str) -> Rows:
    """Share of its strength that is left of a joint that creeps under load, by row [1]; 1 of glue that does not."""
    if not belief.has(entity, "creep"):
        return np.ones(belief.rows)
    return strength_after(1.0, max(loaded(case), PULLED), PULLED, value(belief, entity, "creep"))
