"""Work on a carrier: what glue or tape bears, warm from this cut and those before it, after so long under load."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..holding.glue import patch_use, peel_at_edge, reach_of_a_load, strength_after, strength_when_warm
from ..job.faces import resolve
from ..units import tell
from ._chance import known, middle
from ._forces import material_entity
from ._gives_way import Array, Cutting
from ._patches import span
from ._touching import device_of
from .base import Case
from .si import metres, millimetres, value
from .warm_part import in_setting, rise_in_cut

BEAD_WIDE: Final = 2.0        #: a bead of glue round the foot of a part [mm]; judged
TOLD_WARM: Final = 10.0       #: degrees from which it is told that glue is warm [K]
TOLD_CREEP: Final = 0.9       #: share of the strength below which it is told that it creeps [1]
#: How long a joint is loaded when its strength is measured by pulling it apart [s]; judged.
PULLED: Final = 60.0


class Glued(NamedTuple):
    """The push that a patch bears by row [N], and how it gives way."""

    bears: Rows
    how: str


def on_glue(case: Case) -> bool:
    """Whether the operation is done on a carrier: then what was done before in the setting has warmed it."""
    return case.operation is not None and device_of(case).kind == "carrier"


def glued(case: Case, belief: Belief, cutting: Cutting) -> Glued | str:
    """Shear of the patch, prying at its edge, and peeling there of a thin part.

    It is pried about its shorter way, with the cut at the top of its path.

    Args:
        case: an operation on a carrier.
        belief: what is believed.
        cutting: what the cut does to the part.

    Returns:
        What it bears, or why that cannot be told.
    """
    part, names, entity = case.part, case.wanted.names, f"device:{case.setting.holding.device}"
    if not belief.has(entity, "glue_strength"):
        return f"nothing is known of the glue on the {device_of(case).name}"
    faces = [part.faces[number] for number in resolve(case.setting.holding.rest, part, names)]
    cold = value(belief, entity, "glue_strength") * np.minimum(known(belief, entity, "glue_share", 1.0), 1.0)
    warm = warmth(case, belief, entity)
    strength = cold if warm is None else strength_when_warm(cold, warm, value(belief, entity, "glue_half"))
    tired = creeps(case, belief, entity)
    strength = strength * tired
    pull = known(belief, entity, "glue_pull", 1.0) * strength
    box = np.ptp(np.array([[f.low for f in faces], [f.high for f in faces]]).reshape(-1, 3), axis=0)
    short, long = sorted(box[np.abs(np.array(faces[0].normal)) < 0.7])
    filled = min(sum(f.area for f in faces) / (short * long), 1.0)
    if case.setting.holding.bead:
        filled += 2.0 * (short + long) * BEAD_WIDE / (short * long)
    height = metres(float(max(_height_above(case, cutting, np.array(faces[0].centroid)), 0.0)))
    lift = cutting.push * cutting.share
    bends = peels(case, belief, lift, sum(f.area for f in faces))
    stiff, use = (patch_use(cutting.push, lift, height, metres(float(short)), metres(float(long)), strength * filled,
                            pull * filled, peel) for peel in (0.0, bends * filled))
    flat = patch_use(cutting.push, 0.0, 0.0, metres(float(short)), metres(float(long)), strength * filled, pull)
    what = "tape" if belief.has(entity, "creep") else "glue"
    how = f"be pried off its {what}" if np.median(use) > 1.5 * np.median(flat) else f"shear off the {what}"
    if np.median(use) > 1.5 * np.median(stiff):
        how = f"bend, and peel off its {what} from an edge"
    return Glued(cutting.push / np.maximum(use, 1e-12), how + _told(case, warm, tired))


def peels(case: Case, belief: Belief, lift: Rows, foot: float) -> Rows:
    """Pull on the glue at an edge that is lifted there, by row [N/m2]; 0 where nothing tells how the part bends.

    Args:
        case: an operation on a carrier.
        belief: what is believed.
        lift: force at the edge, by row [N].
        foot: area that is glued [mm2].
    """
    entity, material = f"device:{case.setting.holding.device}", material_entity(case)
    if not all(belief.has(entity, name) for name in ("glue_line", "glue_young")) or not belief.has(material, "young"):
        return np.zeros(belief.rows)
    up = np.array(case.setting.up)
    low, high = span(case, up)
    thick = metres(min(high - low, case.part.volume / foot))
    reach = reach_of_a_load(thick, value(belief, material, "young"), value(belief, entity, "glue_young"),
                            value(belief, entity, "glue_line"))
    return peel_at_edge(lift, reach)


def _told(case: Case, warm: Rows | None, tired: Rows) -> str:
    """How warm it is, and what time under load takes of it."""
    said = []
    if warm is not None and float(np.median(warm)) > TOLD_WARM:
        said.append(f"some {middle(warm)} degrees warmer than the shop")
    if float(np.median(tired)) < TOLD_CREEP:
        said.append(f"crept to {float(np.median(tired)):.0%} of its strength after "
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


def _height_above(case: Case, cutting: Cutting, joint: Array) -> float:
    up = np.array(case.setting.up)
    return float(millimetres(cutting.points @ up).max() - joint @ up)
