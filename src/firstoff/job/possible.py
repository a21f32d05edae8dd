"""What a job or route cannot mean, told before anything is computed: names of faces, cuts that nothing can make."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Final

from ..errors import NameUnknown, TomlError
from ..part.shapes import Part
from ..shop.models import Device, Shop, Tool
from ..tomlfile import place_of, read_text
from .faces import DIRECTIONS, dot, feature_named, locate, resolve
from .models import Job, Joint, LeverJoint, PartWanted, ScrewJoint
from .route import Cut, Holding, Operation, Route, Setting
from .tightened import EXAMPLES, tightening

#: cutters whose width of cut is across them, and so at most their diameter
_ACROSS: Final = frozenset({"end_mill", "ball", "corner_radius", "face_mill"})
#: of which `removes` is the depth that comes off in all
_OVER_A_FACE: Final = frozenset({"face_rough", "face_finish"})
#: a direction is as long as 1, and square to another, within this
_TRUE: Final = 1e-3
#: a speed is the spindle's slowest or fastest within this share: people round
ROUND: Final = 0.02
#: no parallels, blocks or carriers under the work are higher [mm]; judged
TALLEST_PARALLELS: Final = 500.0
#: what a person tightens a clamp by: a bar of a spanner [mm], a large torque wrench [N m]; judged
LONGEST_HANDLE: Final = 2000.0
MOST_TORQUE: Final = 1000.0


@dataclass(frozen=True)
class _File:
    """A TOML file and its text, to name places in it."""

    name: str
    text: str

    def at(self, *keys: str) -> str:
        """File, line and key."""
        return place_of(self.name, self.text, keys)


    @contextmanager
    def named(self, *keys: str) -> Iterator[None]:
        """A name that is not there is told with its place, which is looked up only then."""
        try:
            yield
        except NameUnknown as error:
            raise NameUnknown(error.what, where=self.at(*keys), right=error.right) from None


def _file(name: str, otherwise: str) -> _File:
    return _File(name, read_text(Path(name))) if name and Path(name).is_file() else _File(name or otherwise, "")


def job_names_exist(job: Job, shop: Shop, parts: Mapping[str, Part]) -> None:
    """Every material, face, feature and instrument that a job names is there.

    Raises:
        NameUnknown: naming file, line and key, and the names that exist.
    """
    file = _file(job.file, "job.toml")
    for name, wanted in job.parts.items():
        _part(name, wanted, parts[name], file)
    for name, limit in job.limits.items():
        with file.named("limits", name, "between"):
            for face in limit.between:
                locate(face, job, parts, limit.part)
        if limit.instrument is not None:
            with file.named("limits", name, "instrument"):
                _known(limit.instrument, shop.instruments, "instrument in the shop")
    for name, joint in job.joints.items():
        for key, face, part in _joint_faces(joint):
            with file.named("joints", name, key):
                locate(face, job, parts, part)


def _part(name: str, wanted: PartWanted, part: Part, file: _File) -> None:
    for key, value in wanted.names.items():
        with file.named("parts", name, "names", key):
            resolve(value, part, wanted.names)
    for table in ("threads", "ream", "by_hand"):
        for key in getattr(wanted, table):
            with file.named("parts", name, table, key):
                feature_named(key, part, wanted.names)
    with file.named("parts", name, "last"):
        for feature in wanted.last:
            feature_named(feature, part, wanted.names)


def _joint_faces(joint: Joint) -> list[tuple[str, str, str | None]]:
    if isinstance(joint, ScrewJoint):
        return [("through", joint.through, None), ("into", joint.into, None)]
    return [("thickness", face, joint.part) for face in joint.thickness] if isinstance(joint, LeverJoint) else []


def route_can_be(route: Route, job: Job, shop: Shop, parts: Mapping[str, Part]) -> None:
    """Every name in a route is there, every number such that a machine could be set to it.

    Raises:
        NameUnknown: if a face, machine, tool or limit is not there.
        TomlError: if a cut has no depth, is wider than its cutter, or out of the spindle's range.
    """
    file = _file(route.file, "route.toml")
    for name in route.joints:
        with file.named("joints", name):
            _known(name, job.joints, "joint in the job")
    for name, setting in route.settings.items():
        _setting(name, setting, job, shop, parts, file)
    for name, operation in route.operations.items():
        _names(name, operation, route, job, shop, parts, file)
        _numbers(name, operation, file)
        _no_deeper_than_there_is(name, operation, file)
        _as_long_as_the_work(name, operation, route, job, file)
        tool = shop.tools.get(operation.tool or "")
        if tool is not None:
            _with_tool(name, operation, tool, file)
        _with_spindle(name, operation, route, shop, file)


def _setting(name: str, setting: Setting, job: Job, shop: Shop, parts: Mapping[str, Part], file: _File) -> None:
    at = ("settings", name)
    names = setting.workpiece.split("+")
    with file.named(*at, "workpiece"):
        for part in names:
            _known(part, parts, "part in the job")
    with file.named(*at, "machine"):
        _known(setting.machine, shop.machines, "machine in the shop")
    with file.named(*at, "holding", "device"):
        _known(setting.holding.device, shop.devices, "device in the shop")
    _tightened(setting.holding, shop.devices[setting.holding.device], file, (*at, "holding", "tightness"))
    for key, way in (("up", setting.up), ("across", setting.across)):
        if abs(math.sqrt(dot(way, way)) - 1.0) > _TRUE:
            raise TomlError(f"{key} is no direction: {list(way)}", where=file.at(*at, key),
                            right="of length 1, such as [0, 0, 1]")
    if abs(dot(setting.up, setting.across)) > _TRUE:
        raise TomlError("across is not square to up", where=file.at(*at, "across"))
    _heights(name, setting, job, file)
    for keys, face in _setting_faces(setting):
        if face in DIRECTIONS:
            continue      # a side of the stock, too, where the part has no flat face
        with file.named(*at, *keys):
            locate(face, job, parts, names[0])


def _tightened(holding: Holding, device: Device, file: _File, at: tuple[str, ...]) -> None:
    """Words of the device's own, or what a person does to a screw of which lead and efficiency are known."""
    by_screw, found = device.lead is not None and device.efficiency is not None, tightening(holding.tightness)
    if found is not None and found.by != "fingers":
        most, unit = (MOST_TORQUE, "N m") if found.by == "wrench" else (LONGEST_HANDLE, "mm")
        if not 0.0 < found.size <= most:
            raise TomlError(f"nobody tightens by {holding.tightness!r}", where=file.at(*at),
                            right=f"above 0 and at most {most:g} {unit}")
    if not device.squeeze or not holding.tightness or (by_screw and found is not None):
        return
    ways = (*device.squeeze, *(word for word in EXAMPLES if by_screw and word not in device.squeeze))
    with file.named(*at):
        _known(holding.tightness, ways, f"way to tighten the {holding.device}")


def _setting_faces(setting: Setting) -> Iterator[tuple[tuple[str, ...], str]]:
    holding, zero = setting.holding, setting.zero
    yield from ((("datums",), face) for face in setting.datums)
    yield ("holding", "rest"), holding.rest
    yield from ((("holding", "grip"), face) for face in holding.grip)
    if holding.stop is not None:
        yield ("holding", "stop"), holding.stop
    yield from ((("zero", axis), face) for axis, face in (("x", zero.x), ("y", zero.y), ("z", zero.z)))


def _names(
    name: str, operation: Operation, route: Route, job: Job, shop: Shop, parts: Mapping[str, Part], file: _File
) -> None:
    first, *others = route.settings[operation.setting].workpiece.split("+")
    part = parts[first]
    wanted: tuple[tuple[str, tuple[str, ...], Iterable[str], str], ...] = (
        ("features", operation.features, [f.id for f in part.features], f"feature of {part.name}"),
        ("through", operation.through, [f"{o}.{f.id}" for o in others for f in parts[o].features],
         "feature of the other parts in this setting"),
        ("measure", operation.measure, job.limits, "limit in the job"),
        ("suits", operation.suits, job.limits, "limit in the job"),
        ("tool", (operation.tool,) if operation.tool else (), shop.tools, "tool in the shop"),
        ("collet", (operation.collet,) if operation.collet else (), shop.collets, "collet in the shop"),
    )
    for key, names, known, what in wanted:
        for one in names:
            try:
                _known(one, known, what)
            except NameUnknown as error:
                again = "; or plan again, if it left the job" if key in ("measure", "suits", "features") else ""
                raise NameUnknown(error.what, where=file.at("operations", name, key),
                                  right=f"{error.right}{again}") from None


def _numbers(name: str, operation: Operation, file: _File) -> None:
    """What must be greater than nothing is."""
    if len(operation.through) > len(operation.features):
        raise TomlError("more is cut in the other parts than in the first",
                        where=file.at("operations", name, "through"),
                        right="one for each of features, in their order")
    for key, value in (("removes", operation.removes), ("leaves", operation.leaves)):
        if value < 0.0:
            raise TomlError(f"{key} {value:g} mm", where=file.at("operations", name, key), right="0 mm or more")
    if operation.stickout is not None and operation.stickout <= 0.0:
        raise TomlError(f"a stickout of {operation.stickout:g} mm", where=file.at("operations", name, "stickout"),
                        right="how far the tool stands out of the collet")
    for key in Cut.model_fields:
        value = getattr(operation.cut, key)
        if isinstance(value, float) and value <= 0.0:
            raise TomlError(f"{key.replace('_', ' ')} is not greater than 0",
                            where=file.at("operations", name, "cut", key), right="leave it out, or give a number")


def _no_deeper_than_there_is(name: str, operation: Operation, file: _File) -> None:
    """A pass over a face takes at most what comes off it: the card would tell a depth that nothing is cut at."""
    depth, removes = operation.cut.depth_of_cut, operation.removes
    if operation.role in _OVER_A_FACE and depth is not None and 0.0 < removes * (1.0 + _TRUE) < depth:
        raise TomlError(f"a pass {depth:g} mm deep, where {removes:g} mm come off in all (removes)",
                        where=file.at("operations", name, "cut", "depth_of_cut"), right=f"at most {removes:g} mm")


def _as_long_as_the_work(name: str, operation: Operation, route: Route, job: Job, file: _File) -> None:
    """Nothing that is cut is longer than the bars that it is cut from."""
    longest = _longest(route.settings[operation.setting], job)
    given: list[tuple[tuple[str, ...], float | None]] = [
        ((key,), getattr(operation, key)) for key in ("removes", "leaves", "height")]
    given += [(("cut", key), getattr(operation.cut, key))
              for key in ("feed_per_tooth", "depth_of_cut", "width_of_cut", "peck_depth")]
    for keys, value in given:
        if value is not None and value > longest:
            raise TomlError(f"{keys[-1].replace('_', ' ')} of {value:.4g} mm: the whole bar is {longest:.4g} mm long",
                            where=file.at("operations", name, *keys), right="at most that")


def _longest(setting: Setting, job: Job) -> float:
    """From corner to corner of what is clamped, one part beside another [mm]."""
    return sum(math.hypot(*job.parts[part].stock.size) for part in setting.workpiece.split("+"))


def _heights(name: str, setting: Setting, job: Job, file: _File) -> None:
    """How the work sits is told by lengths that are none below nothing, and none beyond all work."""
    holding, longest = setting.holding, _longest(setting, job)
    given = [(("holding", key), getattr(holding, key)) for key in ("grip_height", "stick_up", "clamped", "gap")]
    given += [(("stock_left", face), value) for face, value in setting.stock_left.items()]
    for keys, value in given:
        if not 0.0 <= value <= longest:
            raise TomlError(f"{keys[-1].replace('_', ' ')} {value:.4g} mm", where=file.at("settings", name, *keys),
                            right=f"0 mm to {longest:.0f} mm: the whole bar")
    if not 0.0 <= holding.parallels <= TALLEST_PARALLELS:
        raise TomlError(f"parallels {holding.parallels:.4g} mm high", where=file.at("settings", name, "holding",
                        "parallels"), right=f"0 mm to {TALLEST_PARALLELS:.0f} mm")


def _with_tool(name: str, operation: Operation, tool: Tool, file: _File) -> None:
    """No wider than the cutter, and the tool no further out than it is long."""
    width = operation.cut.width_of_cut
    if tool.kind in _ACROSS and width is not None and width > tool.diameter * (1.0 + _TRUE):
        raise TomlError(f"a cut {width:g} mm wide with a cutter of {tool.diameter:g} mm",
                        where=file.at("operations", name, "cut", "width_of_cut"),
                        right=f"at most {tool.diameter:g} mm")
    if operation.stickout is not None and operation.stickout >= tool.overall_length:
        raise TomlError(f"{operation.stickout:g} mm out of the collet; the tool is {tool.overall_length:g} mm long",
                        where=file.at("operations", name, "stickout"), right="leave something to grip")


def _with_spindle(name: str, operation: Operation, route: Route, shop: Shop, file: _File) -> None:
    """Within the range of the spindle."""
    spindle = shop.machines[route.settings[operation.setting].machine].spindle
    speed = operation.cut.spindle_speed
    if spindle is None or speed is None:
        return
    if not spindle.slowest * (1.0 - ROUND) <= speed <= spindle.fastest * (1.0 + ROUND):
        turns = 30.0 / math.pi
        raise TomlError(f"{speed * turns:.0f} rpm: this spindle turns {spindle.slowest * turns:.0f} to "
                        f"{spindle.fastest * turns:.0f} rpm",
                        where=file.at("operations", name, "cut", "spindle_speed"))


def _known(name: str, names: Iterable[str], what: str) -> None:
    every = sorted(names)
    if name in every:
        return
    near = get_close_matches(name, every, n=1, cutoff=0.5)
    right = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(every) or 'none'}"
    raise NameUnknown(f"there is no {what} {name!r}", right=right)
