"""A clamp or screw presses where nothing is below: the part is bent while it is milled, and springs back out of flat.

Each tip is held against the rests that really touch. Over one, the force goes straight down; between two, the part is
a plate on them; beyond the last, it is bent over its edge. A raw bar that is bowed is pulled flat as far as the
clamps can.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..holding.bending import (
    between_rests_at,
    deflection_between_supports,
    overhang_deflection,
    plate_between_rests,
)
from ..medians import median
from ..units import tell
from ._chance import OPERATION_SCATTER, spread, weighed
from ._forces import is_milling, material_entity
from ._patches import Array, Patch, span
from ._tightened import squeeze
from ._told import fine
from ._touching import CLAMPS, PRESSED, TIP, device_of, touching
from .base import Case, Check, Finding, Knob, cannot
from .si import metres, micrometres, millimetres, value
from .squeezed import GENTLER, allowed

NAME: Final = "clamp bends"

POISSON: Final = 0.3          #: of metals; deflection goes with 1 - nu^2
OVER: Final = 2.5             #: a tip whose middle is so near to a rest bears on it [mm]: a quarter of its own size
#: How far the give is out: a lower bound for plates, free to turn on their rests; judged, one sd of the log.
BEYOND: Final = float(np.log(2.0))
LEAST_TOLD: Final = 0.001     #: of how far it bends [mm]; less is told as this
_CLEAR: Final = 1e-12
_NOT_CUT: Final = frozenset({"chamfer", "form"})


class Gap(NamedTuple):
    """A clamp that stands over nothing [mm].

    Fields:
        clamp: its number, from 0.
        near: from the middle of its tip to the nearer rest.
        far: to the rest on the other side; 0 where there is none: it hangs over.
        back: from the nearer rest to the farther one on the same side, where it hangs over.
        length: of the part square to that.
        thick: of the part under the tip.
    """

    clamp: int
    near: float
    far: float
    back: float
    length: float
    thick: float


def gaps(case: Case) -> tuple[Gap, ...]:
    """The clamps under which nothing touches; where nobody says where they press, packing is under each."""
    if not case.setting.holding.clamps:
        return ()
    patches = touching(case)
    rests = [patch for patch in patches if patch.name == "rest"]
    if not rests:
        return ()
    up = np.array(case.setting.up)
    cells = np.concatenate([patch.cells for patch in rests])
    return tuple(gap for patch in patches
                 if patch.name == "clamp" and (gap := _gap(case, patch, cells, up)) is not None)


def _gap(case: Case, tip: Patch, cells: Array, up: Array) -> Gap | None:
    """How far a tip stands from what is below; None where it stands over a rest."""
    middle = tip.points.mean(axis=0)
    away = cells - middle
    away = away - np.outer(away @ up, up)
    distance = np.linalg.norm(away, axis=1)
    at = int(distance.argmin())
    near = float(distance[at])
    if near <= max(OVER, _step(cells)):
        return None
    way = away[at] / near
    along = away @ way
    beside = np.abs(away @ np.cross(up, way)) <= max(TIP, _step(cells))
    behind = -along[beside & (along < 0.0)]
    far = float(behind.min()) if len(behind) else 0.0
    last = float(along[beside].max()) if beside.any() else near
    low, high = span(case, np.cross(up, way))
    return Gap(tip.clamp, near, far, last - near, high - low, float(middle @ up) - span(case, up)[0])


def _step(cells: Array) -> float:
    """About half the diagonal of the small squares in which rests are told [mm]: nearer none of them can be."""
    reach = np.ptp(cells, axis=0)
    return float(reach.max()) / len(cells) ** 0.5 if len(cells) else 0.0


def bent(case: Case, belief: Belief, gap: Gap) -> Rows | None:
    """How far the part is bent down under a clamp, by row [m]; None where nothing is known of how hard it presses."""
    force = squeeze(case, belief)
    if force is None:
        return None
    young, thick = value(belief, material_entity(case), "young"), metres(gap.thick)
    if gap.far > 0.0:
        middle = plate_between_rests(force, metres(gap.near + gap.far), metres(gap.length), thick, young, POISSON)
        return middle * between_rests_at(metres(gap.near), metres(gap.far))
    wide = min(gap.length, TIP + 2.0 * gap.near)      # the load spreads to both sides on its way to the rest
    return overhang_deflection(force, metres(gap.near), metres(gap.back), metres(wide), thick,
                               young / (1.0 - POISSON**2))


def bowed(case: Case) -> float:
    """How bowed the raw face is that the work rests on [mm]; 0 where it was milled, or nobody says."""
    rests_raw = case.setting.holding.rest in case.setting.stock_left
    return case.wanted.stock.bow if rests_raw and device_of(case).kind in PRESSED else 0.0


def pulled_flat(case: Case, belief: Belief) -> Rows | None:
    """How far the clamps pull a bowed bar flat, by row [m]: as a beam on its ends, at most all of its bow."""
    force = squeeze(case, belief)
    if force is None:
        return None
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    sizes = [high - low for low, high in (span(case, way) for way in (up, across, np.cross(up, across)))]
    long, wide = max(sizes[1:]), min(sizes[1:])
    young, half = value(belief, material_entity(case), "young"), metres(long / 2.0)
    clamps = len(case.setting.holding.clamps) or CLAMPS
    gives = deflection_between_supports(clamps * force, half, half, metres(wide), metres(sizes[0]), young)
    return np.minimum(gives, metres(bowed(case)))


def _applies(case: Case) -> bool:
    return (is_milling(case) and case.op.leaves <= 0.0 and case.op.role not in _NOT_CUT
            and device_of(case).kind in PRESSED and (bowed(case) > 0.0 or bool(gaps(case))))


def _evaluate(case: Case, belief: Belief) -> Finding:
    settle = "an indicator on the part beside the clamp while you tighten: what it reads is what it bends"
    found: list[tuple[Gap | None, Rows]] = [
        (gap, out) for gap in gaps(case) if (out := bent(case, belief, gap)) is not None]
    if bowed(case) > 0.0 and (out_of_bow := pulled_flat(case, belief)) is not None:
        found.append((None, out_of_bow))
    if not found:
        return cannot(NAME, case, "size", f"nothing is known of how hard the {device_of(case).name} presses", settle)
    gap, out = max(found, key=lambda item: median(item[1]))
    most = allowed(case, set())
    return weighed(NAME, case, "size", micrometres(np.maximum(out, _CLEAR)),
                   micrometres(np.full(belief.rows, metres(most))), spread(OPERATION_SCATTER["holding"], BEYOND),
                   unit="um", because=_because(case, gap, out, most), settle_by=settle)


def _because(case: Case, gap: Gap | None, out: Rows, most: float) -> str:
    units = case.job.units
    if gap is None:
        bow, pulled, may = (fine(size, units) for size in (
            bowed(case), median(millimetres(out)), most))
        return (f"the raw face that it rests on is bowed by {bow}, and the clamps pull it flat by about {pulled}: "
                f"let go, what was milled is bowed by as much, and {may} may be. Shims where it does not touch, "
                "or clamp only until it touches")
    near, thick = (tell(size, "length", units, 1 if units == "mm" else 2) for size in (gap.near, gap.thick))
    where = (f"between two rests, {near} from the nearer one" if gap.far > 0.0 else
             f"{near} beyond the last rest, over which it bends it")
    bends = fine(max(median(millimetres(out)), LEAST_TOLD), units)
    what = "screw" if device_of(case).kind == "screws" else "clamp"
    number = len(gaps(case))
    more = f" ({number} stand over nothing)" if number > 1 else ""
    return (f"{what} {gap.clamp + 1} presses on {thick} {where}: it bends by about {bends}; let go, what was milled "
            f"is out of flat by as much, and {fine(most, units)} may be. Packing right under each {what}"
            f"{more} ends it")


def _on_the_table(case: Case) -> list[object]:
    """Without parallels, where nothing is cut right through."""
    through = any(f.through for _, op in case.route.of_setting(case.setting_name or "") if op.tool
                  for f in case.part.features if f.id in op.features)
    return ["0 mm"] if case.setting.holding.parallels > 0.0 and not through else []


FLAT: Final = Knob("holding.parallels", _on_the_table,
                   lambda case, _value: "flat on the table, not on parallels, so that it is borne under the clamps",
                   ends=True)

CHECK = Check(NAME, "clamp bends the part over a gap", "size", "operation", _applies, _evaluate,
              knobs=(FLAT, GENTLER))
