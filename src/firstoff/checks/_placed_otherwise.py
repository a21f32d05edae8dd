"""The same setting held another way: turned a quarter in the vise, by another pair of faces; a stop elsewhere."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ..errors import NameUnknown
from ..job.edits import in_one_line
from ..job.faces import DIRECTIONS, resolve
from ..job.route import Setting
from ._patches import Array, side_named, span
from ._tightened import book_force
from ._touching import device_of, missing, touching
from .base import Case, Knob

#: what turns: plain jaws with a flat floor; a block at an angle, a yoke or a chuck fixes which way the part lies
TURNS_IN: Final = frozenset({"vise", "bench_vise"})
ABOVE: Final = 0.5             #: a cut stays so far above the jaws [mm]
_ALONG: Final = 0.99           #: cosine from which a side looks along a direction
_UPRIGHT: Final = 0.1          #: cosine with the vertical from which a side is not upright


def other_pair(case: Case) -> tuple[str, str] | None:
    """The two faces that jaws would grip with the part turned a quarter: fixed jaw, moving jaw.

    Args:
        case: an operation, or a setting, in jaws.

    Returns:
        None where it cannot be turned: a program of the setting goes by how it lies, it is too long for the jaws,
        the other sides are cut here, or are no longer there.
    """
    device, holding, up = device_of(case), case.setting.holding, np.array(case.setting.up)
    now = side_named(case, holding.grip[0]) if len(holding.grip) == 2 else None
    if device.kind not in TURNS_IN or now is None or _programmed(case):
        return None
    way = np.cross(up, now.normal)
    names = [name for name, one in DIRECTIONS.items() if abs(float(np.array(one) @ way)) > _ALONG]
    if len(names) != 2 or any(side_named(case, name) is None for name in names):
        return None
    low, high = span(case, way)
    if device.opening is not None and high - low > device.opening:
        return None
    if any(_cut_here(case, np.array(DIRECTIONS[name])) for name in names):
        return None
    fixed = next((name for name in names if name in (*case.setting.datums, case.setting.zero.x)), names[0])
    pair = fixed, next(name for name in names if name != fixed)
    there = _turned(case, pair)
    return None if missing(there, touching(there)) else pair


def _programmed(case: Case) -> bool:
    return case.run is not None or any(case.route.program_of(op) for _, op in case.route.of_setting(_name(case)))


def _name(case: Case) -> str:
    assert case.setting_name is not None
    return case.setting_name


def _cut_here(case: Case, normal: Array) -> bool:
    """Whether an operation of the setting cuts a side so far down that jaws would be in its way."""
    up = np.array(case.setting.up)
    top = span(case, up)[0] + case.setting.holding.grip_height + ABOVE
    for _, op in case.route.of_setting(_name(case)):
        for face in (case.part.faces[i] for name in op.features for i in case.part.feature(name).faces):
            low = float(np.sort(up * np.array([face.low, face.high]), axis=0)[0].sum())
            if op.tool is not None and float(np.array(face.normal) @ normal) > _ALONG and low < top and _outer(
                    case, normal, np.array(face.centroid)):
                return True
    return False


def _outer(case: Case, normal: Array, point: Array) -> bool:
    """Whether a face lies outside, where a jaw would come: not that of a pocket."""
    return float(normal @ point) > sum(span(case, normal)) / 2.0


def _across(case: Case, fixed: str) -> tuple[float, float, float]:
    """What points right when a face looks at the fixed jaw, which stands where it stood: behind, or in front."""
    up, was = np.array(case.setting.up), side_named(case, case.setting.holding.grip[0])
    assert was is not None
    behind = np.sign(was.normal @ np.cross(up, np.array(case.setting.across)))
    right = behind * np.cross(np.array(DIRECTIONS[fixed]), up)
    x, y, z = (float(item) + 0.0 for item in np.round(right, 12))
    return x, y, z


def _changes(case: Case, pair: tuple[str, str]) -> dict[str, object]:
    """What of the setting changes: which way it lies, what places it, where its zero is found, its stop."""
    setting = case.setting
    was = setting.holding.grip[0]
    side = [name for name in setting.datums[1:] if _along(case, name, DIRECTIONS[pair[0]])]
    rest = [name for name in setting.datums[1:] if name not in side]
    changed: dict[str, object] = {
        "across": _across(case, pair[0]), "zero.x": setting.zero.y, "zero.y": setting.zero.x,
        "datums": (*setting.datums[:1], *(side or (pair[0],)), *rest)}
    if setting.holding.stop is not None and _along(case, setting.holding.stop, DIRECTIONS[pair[0]]):
        changed["holding.stop"] = was
    return changed


def _along(case: Case, name: str, way: tuple[float, float, float]) -> bool:
    side = side_named(case, name)
    return side is not None and abs(float(side.normal @ np.array(way))) > _ALONG


def _turned(case: Case, pair: tuple[str, str]) -> Case:
    """The case with its part turned a quarter."""
    changed, setting = _changes(case, pair), case.setting
    holding = setting.holding.model_copy(update={"grip": pair, "stop": changed.get("holding.stop",
                                                                                    setting.holding.stop)})
    return _with(case, setting.model_copy(update={"holding": holding, "across": changed["across"]}))


def _with(case: Case, setting: Setting) -> Case:
    settings = {**case.route.settings, _name(case): setting}
    return replace(case, route=case.route.model_copy(update={"settings": settings}))


def _pairs(case: Case) -> list[object]:
    pair = other_pair(case)
    return [in_one_line(pair)] if pair else []


def _with_it(case: Case, _value: object) -> tuple[tuple[str, str], ...]:
    pair = other_pair(case)
    if pair is None:
        return ()
    return tuple((path, value if isinstance(value, str) else in_one_line(value))
                 for path, value in _changes(case, pair).items())


def _say_turned(case: Case, _value: object) -> str:
    pair = other_pair(case)
    return (f"turned a quarter in the {device_of(case).name}: gripped on {' and '.join(pair or ())}, not on "
            f"{' and '.join(case.setting.holding.grip)}")


def other_jaws(case: Case) -> list[object]:
    """Jaws of the same kind that take the part and are tightened alike: soft ones for hard ones, for instance."""
    now, holding = device_of(case), case.setting.holding
    side = side_named(case, holding.grip[0]) if holding.grip else None
    if now.kind not in TURNS_IN or side is None:
        return []
    low, high = span(case, side.normal)
    return [key for key, device in case.shop.devices.items()
            if key != holding.device and device.kind == now.kind and case.machine_kind in (device.machines or
                                                                                           (case.machine_kind,))
            and book_force(device, holding.tightness) is not None and high - low <= (device.opening or np.inf)
            and holding.grip_height + holding.parallels <= (device.jaw_height or np.inf)]


def _say_jaws(case: Case, key: object) -> str:
    return f"in the {case.shop.devices[str(key)].name}"


def stops(case: Case) -> list[object]:
    """Faces at which a stop could stand, but where it stands: the sides that are neither gripped nor rested on."""
    holding, up = case.setting.holding, np.array(case.setting.up)
    taken = {holding.rest, *holding.grip, holding.stop}
    upright = [name for name, way in DIRECTIONS.items() if abs(float(np.array(way) @ up)) < _UPRIGHT]
    return [name for name in upright if name not in taken and not _same_side(case, name, holding.stop)
            and side_named(case, name) is not None]


def _same_side(case: Case, name: str, other: str | None) -> bool:
    """Whether two names mean one side of the part."""
    if other is None:
        return False
    try:
        return bool(set(resolve(name, case.part, case.wanted.names)) & set(resolve(other, case.part,
                                                                                   case.wanted.names)))
    except NameUnknown:
        return False


def _say_stop(case: Case, face: object) -> str:
    now = case.setting.holding.stop
    return f"a stop against {face}" + (f", not {now}" if now else "")


def _placed_by(case: Case, face: object) -> tuple[tuple[str, str], ...]:
    """A stop that places the part is a datum, and goes on being one where it stands then."""
    now, datums = case.setting.holding.stop, case.setting.datums
    if now is None or now not in datums:
        return ()
    return (("datums", in_one_line(tuple(str(face) if name == now else name for name in datums))),)


OTHER_JAWS: Final = Knob("holding.device", other_jaws, _say_jaws)
TURNED: Final = Knob("holding.grip", _pairs, _say_turned, _with_it)
STOP: Final = Knob("holding.stop", stops, _say_stop, _placed_by)
