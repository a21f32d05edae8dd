"""Walls beside a hollow bow between the jaws; what is milled while they do is out of flat when they are let go."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..errors import NameUnknown
from ..holding.bending import bow_in_jaws, wall_stiffness
from ..job.faces import resolve
from ..medians import median
from ..part.shapes import Face, Feature
from ._chance import OPERATION_SCATTER, spread, weighed
from ._contacts_left import milled_before, standing
from ._forces import is_milling, material_entity
from ._patches import Patch, inside
from ._placed_otherwise import TURNED
from ._tightened import squeeze
from ._told import coarse, fine, whole
from ._touching import JAWS, device_of
from .base import Case, Check, Finding, Knob, cannot
from .si import metres, micrometres, millimetres, square_metres, value

NAME: Final = "squeezed"

#: Stiffness of machined faces pressed together, of a unit of area [N/m3]: about 1 um for each N/mm2; judged.
FACES: Final = 1e12
FACES_FACTOR: Final = 2.0      #: × and ÷, one standard deviation
ALLOWED: Final = 0.05          #: out of flat that nobody minds where no limit says less [mm]; judged, × and ÷ 2
SOLID: Final = 0.5             #: metal past the end of a hollow that counts as holding the wall there [mm]
THIN: Final = 0.4              #: of its length: a thicker wall is no wall [1]
_HOLLOW: Final = frozenset({"passage", "pocket", "slot"})
_ALONG: Final = 0.9            #: cosine above which a wall faces a jaw
_CLEAR: Final = 1e-9


class Wall(NamedTuple):
    """A wall between a hollow and a jaw [mm].

    Fields:
        feature: the hollow.
        face: of it, that the wall ends at.
        thickness: from there to the jaw.
        length: along the jaws.
        height: of the wall within the grip, on average.
        area: of the wall that the jaw presses [mm2].
        ends: how many of its ends are held by solid metal.
        floor: whether it stands on a floor.
    """

    feature: str
    face: int
    thickness: float
    length: float
    height: float
    area: float
    ends: int
    floor: bool


def walls(case: Case) -> tuple[Wall, ...]:
    """The walls that the jaws of a setting press on, the hollows cut so far and in this operation counted."""
    cut = case.state.cut if case.state is not None else frozenset()
    hollows = [f for f in case.part.features if f.kind in _HOLLOW and f.id in cut | set(case.op.features)]
    if not hollows:          # where the jaws touch costs more to find than this
        return ()
    jaws = [patch for patch in standing(case) if patch.name in ("fixed jaw", "moving jaw")]
    return tuple(wall for jaw in jaws for hollow in hollows for number in hollow.faces
                 if (wall := _wall(case, jaw, hollow, case.part.faces[number])) is not None)


def _wall(case: Case, jaw: Patch, hollow: Feature, face: Face) -> Wall | None:
    """The wall between a face of a hollow and a jaw; None where they do not face one another, or it is thick."""
    if face.kind != "plane" or float(jaw.normal @ np.array(face.normal)) < _ALONG:
        return None
    up = np.array(case.setting.up)
    along = np.cross(up, jaw.normal)
    thick = float(jaw.normal @ (np.array(face.centroid) - jaw.points[0]))
    long = _reach(face, along)
    length = long[1] - long[0]
    behind = inside(face, jaw.cells, along, up)
    area = jaw.area * float(behind.mean()) if len(behind) else 0.0
    if not 0.0 < thick < THIN * length or area <= 0.0:
        return None
    ends = sum(abs(end - edge) > SOLID for end, edge in zip(long, _part_reach(case, along), strict=True))
    return Wall(hollow.id, face.number, thick, length, area / length, area, ends, not hollow.through)


def _reach(face: Face, way: Rows) -> tuple[float, float]:
    ends = np.sort(way * np.array([face.low, face.high]), axis=0)
    return float(ends[0].sum()), float(ends[1].sum())


def _part_reach(case: Case, way: Rows) -> tuple[float, float]:
    ends = np.sort(way * np.array([case.part.low, case.part.high]), axis=0)
    return float(ends[0].sum()), float(ends[1].sum())


def bow(case: Case, belief: Belief, wall: Wall) -> Rows | None:
    """How far a wall is bowed in while the jaws press, by row [m]: out of flat by as much when they are let go.

    None where nothing is known of how hard they press.
    """
    clamp = squeeze(case, belief)
    if clamp is None:
        return None
    young = value(belief, material_entity(case), "young")
    stiff = wall_stiffness(metres(wall.length), metres(wall.height), metres(wall.thickness), young, wall.ends,
                           metres(wall.height) if wall.floor else 0.0)
    gripped = max((patch.area for patch in standing(case) if patch.name == "fixed jaw"), default=0.0)
    return bow_in_jaws(clamp, square_metres(max(gripped - wall.area, 0.0)), square_metres(wall.area), FACES, stiff)


def _applies(case: Case) -> bool:
    """Roughing does no harm: what is left on is milled off the wall when it is let go, or gripped more gently."""
    return (is_milling(case) and case.op.leaves <= 0.0 and case.op.role not in ("chamfer", "form")
            and device_of(case).kind in JAWS and not case.setting.holding.filled
            and len(case.setting.holding.grip) == 2 and bool(walls(case)))


def allowed(case: Case, faces: set[int]) -> float:
    """Half of the tightest limit on what is milled here or on these faces, all of a flatness [mm]."""
    mine = faces | {number for feature in case.features for number in feature.faces}
    least = ALLOWED
    for limit in case.job.limits.values():
        if limit.part not in (None, case.part_name):
            continue
        for name in limit.between:
            try:
                meant = resolve(name.removeprefix(f"{case.part_name}."), case.part, case.wanted.names)
            except NameUnknown:
                continue
            if mine & set(meant):
                low, high = limit.tolerance
                least = min(least, (high - low) * (1.0 if limit.kind == "flatness" else 0.5))
    return least


def _evaluate(case: Case, belief: Belief) -> Finding:
    settle = "an indicator on the wall while you tighten: what it reads is what it bows"
    bowed = [(wall, found) for wall in walls(case) if (found := bow(case, belief, wall)) is not None]
    if not bowed:
        return cannot(NAME, case, "size", f"nothing is known of how hard the {device_of(case).name} presses", settle)
    wall, out = max(bowed, key=lambda item: median(item[1]) / allowed(case, {item[0].face}))
    most = allowed(case, {wall.face})
    there = "its ends bear most of it" if wall.ends == 2 else "nothing bears it at its ends" if not wall.ends else \
        "one end bears some of it"
    units = case.job.units
    thick, long = coarse(wall.thickness, units), whole(wall.length, units)
    because = (f"a wall {thick} thick beside {wall.feature} is squeezed over {long} and bows in by about "
               f"{fine(median(millimetres(out)), units)} ({there}); let go, it is out by as "
               f"much where it was milled, and {fine(most, units)} may be")
    return weighed(NAME, case, "size", micrometres(np.maximum(out, _CLEAR)),
                   micrometres(np.full(belief.rows, metres(most))),
                   spread(OPERATION_SCATTER["holding"], float(np.log(FACES_FACTOR))), unit="um", because=because,
                   settle_by=settle)


def _gentler(case: Case) -> list[object]:
    """What a person can do that presses less, the mildest change first."""
    known_words, now = device_of(case).squeeze, case.setting.holding.tightness
    most = known_words[now].value if now in known_words else 0.0
    return [word for word, figure in sorted(known_words.items(), key=lambda item: -item[1].value)
            if figure.value < most]


GENTLER: Final = Knob("holding.tightness", _gentler,
                      lambda case, word: f"tightened by {word}, not {case.setting.holding.tightness}")
FILLED: Final = Knob("holding.filled", lambda case: [] if case.setting.holding.filled else ["true"],
                     lambda case, _value: "a block that fits the gap between the walls while they are gripped",
                    ends=True)

CHECK = Check(NAME, "walls bow in the jaws", "size", "operation", _applies, _evaluate,
              knobs=(FILLED, GENTLER, TURNED), looks_back_at=milled_before)
