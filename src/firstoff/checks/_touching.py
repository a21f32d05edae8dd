"""Where jaws, rests, clamps and stop really touch a part in its setting, after the cuts made so far. In mm."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..holding.contact import Contacts
from ..job.faces import DIRECTIONS
from ..shop.models import Device
from ._patches import Array, Patch, Reach, Side, patch_of, side_named, span, square_to
from ._round import ROUND, round_face, rounds
from .base import Case
from .si import metres

JAWS: Final = frozenset({"vise", "bench_vise", "angle_block", "v_block", "collet_block", "three_jaw", "edge_clamps"})
PRESSED: Final = frozenset({"clamps", "screws"})
CLAMPS: Final = 2              #: toe clamps or screws that hold a part, when nobody says how many
PARALLEL: Final = 5.0          #: thickness of a parallel [mm]; judged, × and ÷ 2
TIP: Final = 10.0              #: of a clamp's tip and of a stop, across [mm]; judged, × and ÷ 2
ROD: Final = 1.0               #: width that a rod flattens to, for the springs alone [mm]
FLAT: Final = 0.999            #: cosine from which a face is level
UPRIGHT: Final = 0.5           #: cosine with the vertical from which a face is no longer one for jaws
ONLY_ROUND: Final = frozenset({"collet_block", "three_jaw"})    #: hold nothing with flat sides
HALF_ON: Final = 0.25          #: share of a tip that must lie on a face for the clamp to press there
INSET: Final = 0.5             #: of its own size, how far a clamp's tip reaches in from the edge
#: Stiffness of a part against each thing that it touches, square to the face [N/m]; judged, × and ÷ 2. Only their
#: ratios say what gives way; their size says how far the part moves.
STIFF: Final = {"fixed jaw": 2e8, "moving jaw": 2e8, "rest": 2e8, "clamp": 5e7, "stop": 5e7, "rod": 1e8}
_KEPT: Final = 256             #: settings and states of late
ALONG: Final = 0.82            #: stiffness along the face over that square to it, 2 (1 - nu)/(2 - nu) of mindlin1949


def device_of(case: Case) -> Device:
    """What holds the part."""
    return case.shop.devices[case.setting.holding.device]


def grip_said(case: Case) -> bool:
    """Whether the setting says what jaws grip: two faces and how high, or the round outside of a part."""
    holding, kind = case.setting.holding, device_of(case).kind
    if kind not in JAWS or (kind in ROUND and round_face(case) is not None):
        return True
    return len(holding.grip) >= 2 and holding.grip_height > 0.0


def touching_key(case: Case) -> str:
    """All that the patches of a setting depend on."""
    state = case.state
    return repr((case.part.sha256, case.setting, case.wanted, device_of(case),
                 state and (sorted(state.cut), state.left)))


def touching(case: Case) -> tuple[Patch, ...]:
    """All patches of contact of the case's setting; a thing that does not touch has no patch.

    The last ones are kept: the numbers of a cut do not change them.

    Raises:
        NameUnknown: if the setting names a face that the part has not.
    """
    key = touching_key(case)
    if key not in _recent:
        while len(_recent) >= _KEPT:
            _recent.pop(next(iter(_recent)))
        _recent[key] = _touching(case)
    return _recent[key]


_recent: dict[str, tuple[Patch, ...]] = {}


def _touching(case: Case) -> tuple[Patch, ...]:
    kind = device_of(case).kind
    made = [*_rests(case)]
    if kind in ROUND and (gripped := round_face(case)) is not None:
        made += rounds(case, kind, gripped)
    elif kind in JAWS:
        made += _jaws(case)
    elif kind in PRESSED:
        made += _clamps(case)
    made += _stop(case)
    return tuple(patch for patch in made if patch.area > 0.0)


def contacts_of(patches: tuple[Patch, ...]) -> Contacts:
    """The patches as springs [m], each thing's stiffness spread over its area."""
    total = {(name, clamp): sum(p.area for p in patches if (p.name, p.clamp) == (name, clamp))
             for name, clamp in {(p.name, p.clamp) for p in patches}}
    stiff = [STIFF[p.name] * p.areas / total[p.name, p.clamp] for p in patches]
    square = np.concatenate(stiff) if stiff else np.zeros(0)
    return Contacts(
        metres(np.concatenate([p.points for p in patches])) if patches else np.zeros((0, 3)),
        np.concatenate([np.tile(p.normal, (len(p.areas), 1)) for p in patches]) if patches else np.zeros((0, 3)),
        square, ALONG * square,
        np.concatenate([np.full(len(p.areas), p.clamp) for p in patches]) if patches else np.zeros(0, dtype=np.intp))


def missing(case: Case, patches: tuple[Patch, ...]) -> str:
    """What should touch and does not, in words; empty where all that is needed does."""
    holding, kind = case.setting.holding, device_of(case).kind
    there = {patch.name for patch in patches}
    if kind in ROUND and round_face(case) is not None:
        return "" if {"fixed jaw", "moving jaw"} <= there else f"nothing of {holding.grip[0]} lies within the grip"
    if kind in ONLY_ROUND:
        return f"the {device_of(case).name} holds a round face: name one under grip"
    if kind in JAWS:
        for name, face, other in zip(("fixed jaw", "rod" if holding.rod else "moving jaw"), holding.grip,
                                     reversed(holding.grip[:2]), strict=False):
            if name not in there:
                return f"the {name} does not touch {face}: {_why_not(case, face)}{_goes_from(case, other)}"
    if kind in PRESSED and "clamp" not in there:
        beside = "the clamps stand beside it, or " if holding.clamps else ""
        return f"no clamp finds anything to press on: {beside}the upper face is cut away; it would lift"
    if "rest" not in there:
        return f"nothing lies under it: {holding.rest} is cut away where the rests are; it would sink"
    return ""


def _why_not(case: Case, name: str) -> str:
    """Why a jaw does not touch a face."""
    side = side_named(case, name)
    if side is None:
        return "the part has no such flat face"
    if abs(float(side.normal @ np.array(case.setting.up))) > UPRIGHT:
        return "it does not stand upright between jaws"
    return "what it would press is cut away, or too low for the grip"


def _goes_from(case: Case, name: str) -> str:
    """Which way the part goes that only the other jaw could press: away from it."""
    side = side_named(case, name)
    if side is None:
        return ""
    away = max(DIRECTIONS, key=lambda way: -float(np.array(DIRECTIONS[way]) @ side.normal))
    return f"; it would move towards {away}"


# --- what touches -----------------------------------------------------------------------------------------------


def _jaws(case: Case) -> list[Patch]:
    holding = case.setting.holding
    if len(holding.grip) < 2 or holding.grip_height <= 0.0:
        return []
    up = np.array(case.setting.up)
    wide = device_of(case).width or np.inf
    found = []
    for name, face_name, clamp in zip(("fixed jaw", "moving jaw"), holding.grip, (-1, 0), strict=False):
        side = side_named(case, face_name)
        if side is None:
            continue
        along = np.cross(side.normal, up)
        low, high = span(case, along)
        middle, half = (low + high) / 2.0, min(high - low, wide) / 2.0
        foot = span(case, up)[0]
        upright = (foot, foot + holding.grip_height)
        if name == "moving jaw" and holding.rod:      # a line along the jaw, half way up the grip
            name, upright = "rod", (sum(upright) / 2.0 - ROD / 2.0, sum(upright) / 2.0 + ROD / 2.0)
        made = patch_of(case, name, face_name, side, Reach(along, up, (middle - half, middle + half), upright), clamp)
        found.append(_pulled_down(made, up, device_of(case).pull_down) if clamp == 0 else made)
    return found


def _pulled_down(patch: Patch, up: Array, angle: float) -> Patch:
    """A wedge clamp's teeth press below level by its angle: a share of the force goes on to the rest."""
    return patch._replace(normal=patch.normal * np.cos(angle) - up * np.sin(angle)) if angle > 0.0 else patch


def _rests(case: Case) -> list[Patch]:
    holding = case.setting.holding
    side = side_named(case, holding.rest)
    if side is None:
        return []
    down, jaw = side.normal, side_named(case, holding.grip[0] if holding.grip else None)
    across = jaw.normal if jaw is not None else square_to(down)
    across = across - down * (down @ across)
    across /= np.linalg.norm(across)
    along = np.cross(across, down)
    long, deep = span(case, along), span(case, across)
    strips = [deep]
    if holding.parallels > 0.0 and deep[1] - deep[0] > 2.0 * PARALLEL:
        strips = [(deep[0], deep[0] + PARALLEL), (deep[1] - PARALLEL, deep[1])]
    return [patch_of(case, "rest", holding.rest, side, Reach(along, across, long, strip), -1) for strip in strips]


def _clamps(case: Case) -> list[Patch]:
    """Tips of clamps or heads of screws where the setting says, else at both ends of the upper face's longer way."""
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    away = np.cross(up, across)
    if places := case.setting.holding.clamps:
        corner = span(case, across)[0], span(case, away)[0]
        made = [_tip(case, i, corner[0] + x, corner[1] + y) for i, (x, y) in enumerate(places)]
        return [patch for patch in made if patch is not None]
    ways = sorted((across, away), key=lambda way: -np.diff(span(case, way))[0])
    long, wide = span(case, ways[0]), span(case, ways[1])
    middle, half = sum(wide) / 2.0, min(TIP, wide[1] - wide[0]) / 2.0
    ends = [(long[0] + INSET * TIP, long[0] + (1.0 + INSET) * TIP), (long[1] - (1.0 + INSET) * TIP,
                                                                   long[1] - INSET * TIP)]
    top = Side(up, span(case, up)[1], ())
    return [patch_of(case, "clamp", "", top, Reach(ways[0], ways[1], end, (middle - half, middle + half)), i)
            for i, end in enumerate(ends)]


def _tip(case: Case, number: int, x: float, y: float) -> Patch | None:
    """A clamp's tip at a place: on the highest flat that stands there; None where there is none."""
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    reach = Reach(across, np.cross(up, across), (x - TIP / 2.0, x + TIP / 2.0), (y - TIP / 2.0, y + TIP / 2.0))
    flats = [face for face in case.part.faces if face.kind == "plane" and float(np.array(face.normal) @ up) > FLAT]
    sides = [Side(up, span(case, up)[1], ()), *(Side(up, float(up @ np.array(f.centroid)), (f,)) for f in flats)]
    for side in sorted(sides, key=lambda item: -item.height):
        patch = patch_of(case, "clamp", "", side, reach, number)
        if patch.area > HALF_ON * TIP * TIP:
            return patch
    return None


def _stop(case: Case) -> list[Patch]:
    name = case.setting.holding.stop
    face = side_named(case, name)
    if face is None or name is None:
        return []
    up = np.array(case.setting.up)
    along = np.cross(face.normal, up)
    side, foot = sum(span(case, along)) / 2.0, span(case, up)
    reach = Reach(along, up, (side - TIP / 2.0, side + TIP / 2.0), (foot[0], min(foot[0] + TIP, foot[1])))
    return [patch_of(case, "stop", name, face, reach, -1)]
