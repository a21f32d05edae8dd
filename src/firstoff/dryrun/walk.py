"""Walks a route and makes a case of everything that can go wrong: operations, settings, limits, joints."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from ..checks._past import past_of
from ..checks.base import Case, Past, State
from ..errors import NameUnknown, TomlError, UnitError
from ..job.models import Job, Joint
from ..job.route import Operation, Route, Setting
from ..kept import one_of
from ..part.shapes import Part
from ..shop.models import Shop
from ..tomlfile import KEPT
from .nominal import nominal_windows
from .times import handling_minutes

STATES: Final = 2048       #: of workpieces that are alike, of which one stands for all


def walk(
    job: Job, shop: Shop, route: Route, parts: dict[str, Part], cache: Path | None = None,
) -> tuple[Case, ...]:
    """Every case of the job, in the order in which it is made.

    Args:
        job: what is wanted.
        shop: what stands in the shop.
        route: what is planned.
        parts: digest of each part.
        cache: folder for the windows of programs that were run before.

    Raises:
        NameUnknown: if setting, operation or joint of the route name something that does not exist.
        TomlError: if the route says something of a joint that cannot stand there.
        FileError: if a program that the route names is missing, empty or no text.
    """
    for name, setting in route.settings.items():
        _setting_exists(name, setting, shop, route, parts)
    made: list[Past] = []
    return (
        *_operations(job, shop, route, parts, cache, made),
        *_settings(job, shop, route, parts),
        *_limits(job, shop, route, parts, made),
        *_joints(job, shop, route, parts),
    )


def _operations(
    job: Job, shop: Shop, route: Route, parts: dict[str, Part], cache: Path | None, planned: list[Past],
) -> Iterator[Case]:
    """Each operation in order; `planned` gets what each does to its tool by the numbers of the route."""
    states: dict[str, State] = {}
    minutes: dict[str, float] = {}
    before: Operation | None = None
    made: list[Past] = []
    from .programs import Programs  # programs and removal are loaded where a whole route is walked

    programs = Programs(Path(route.file or job.file).parent, cache)
    for name, operation in route.in_order():
        _names_exist(name, operation, shop, route, parts)
        setting = route.settings[operation.setting]
        part_name = setting.workpiece.split("+")[0]
        state = states.get(part_name) or _first_state(job, part_name)
        case = Case(
            "operation", name, job, shop, route, parts, part_name=part_name, setting_name=operation.setting,
            operation=operation, state=state, minutes_so_far=minutes.get(part_name, 0.0), before=tuple(made),
        )
        case = programs.windowed(case)
        yield case
        states[part_name] = one_of(_states, _after(state, case), STATES)
        for other, feature in (name.split(".", 1) for name in operation.through):
            now = states.get(other) or _first_state(job, other)
            drilled = replace(now, cut=now.cut | {feature}, key=_hash(now.key, name, feature))
            states[other] = one_of(_states, drilled, STATES)
        spent = (case.windows.minutes if case.windows else 0.0) + handling_minutes(case, before)
        minutes[part_name] = minutes.get(part_name, 0.0) + spent
        before = operation
        made.append(past_of(case))
        planned.append(made[-1] if case.run is None else _by_numbers(case))


def _by_numbers(case: Case) -> Past:
    """What an operation with a program does to its tool by the numbers of its route: limits do not run programs."""
    return past_of(replace(case, run=None, windows=nominal_windows(case)))


def _names_exist(name: str, operation: Operation, shop: Shop, route: Route, parts: dict[str, Part]) -> None:
    where = f"{route.file or 'route.toml'}, operations.{name}"
    _named(operation.setting, route.settings, "setting", f"{where}.setting")
    if operation.tool is not None:
        _named(operation.tool, shop.tools, "tool", f"{where}.tool", "in the shop")
    if operation.collet is not None:
        _named(operation.collet, shop.collets, "collet", f"{where}.collet", "in the shop")
    own = parts[route.settings[operation.setting].workpiece.split("+")[0]]
    known = {feature.id for feature in own.features}
    for feature in operation.features:
        _named(feature, known, "feature", f"{where}.features", "in this part")
    others = route.settings[operation.setting].workpiece.split("+")[1:]
    there = {f"{part}.{feature.id}" for part in others for feature in parts[part].features}
    for name_through in operation.through:
        _named(name_through, there, "feature", f"{where}.through", "in the other parts of this setting")


def _setting_exists(name: str, setting: Setting, shop: Shop, route: Route, parts: dict[str, Part]) -> None:
    where = f"{route.file or 'route.toml'}, settings.{name}"
    _named(setting.machine, shop.machines, "machine", f"{where}.machine", "in the shop")
    _named(setting.holding.device, shop.devices, "device", f"{where}.holding.device", "in the shop")
    for workpiece in setting.workpiece.split("+"):
        _named(workpiece, parts, "part", f"{where}.workpiece", "in the job")


def _named(name: str, known: Collection[str], what: str, where: str, inside: str = "") -> None:
    if name not in known:
        raise NameUnknown(f"no {what} {name!r} {inside}".strip(), where=where, right=_known(known))


def _known(names: Collection[str]) -> str:
    listed = sorted(names)
    return "known: " + ", ".join(listed[:12]) + (" …" if len(listed) > 12 else "")


def _first_state(job: Job, part_name: str) -> State:
    stock = job.parts[part_name].stock
    return one_of(_states, State(part_name, key=_hash(part_name, repr(stock))), STATES)


_states: dict[State, State] = {}       #: of those that are alike one stands for all


def _after(state: State, case: Case) -> State:
    """The workpiece after an operation; its key names the shape of what was done, not the speed."""
    op = case.op
    if op.role == "measure":
        return state
    left = {**dict(state.left), **dict.fromkeys(op.features, op.leaves)}
    done = {feature for feature in op.features if op.leaves == 0.0}
    shape = (op.features, op.role, op.removes, op.leaves, case.setting.up, *(("pickled",) if op.pickled else ()))
    profile = (case.tool.kind, case.tool.diameter, case.tool.corner_radius) if op.tool else ()
    return State(
        state.workpiece, state.cut | done, tuple(sorted(left.items())), _hash(state.key, repr((shape, profile)))
    )


def _hash(*pieces: str) -> str:
    return hashlib.blake2b("|".join(pieces).encode(), digest_size=12).hexdigest()


def _settings(job: Job, shop: Shop, route: Route, parts: dict[str, Part]) -> Iterator[Case]:
    for name, setting in route.settings.items():
        yield Case("setting", name, job, shop, route, parts, part_name=setting.workpiece.split("+")[0],
                   setting_name=name)


def _limits(
    job: Job, shop: Shop, route: Route, parts: dict[str, Part], made: Sequence[Past]
) -> Iterator[Case]:
    """Each limit, with what all cuts did to the tools: a worn cutter is pushed off more, and cuts smaller."""
    before = tuple(made)
    for name, limit in job.limits.items():
        yield Case("limit", name, job, shop, route, parts, part_name=_part_of(limit.part, limit.between, parts),
                   limit=limit, before=before)


def _part_of(named: str | None, between: tuple[str, ...], parts: dict[str, Part]) -> str | None:
    """The part that a limit belongs to; a chain across parts counts for the one named first."""
    first = between[0].partition(".")[0]
    return named or (first if first in parts else next(iter(parts), None))


def _joints(job: Job, shop: Shop, route: Route, parts: dict[str, Part]) -> Iterator[Case]:
    for name in route.joints:
        _named(name, job.joints, "joint", f"{route.file or 'route.toml'}, joints.{name}", "in the job")
    for name, joint in job.joints.items():
        yield Case("joint", name, job, shop, route, parts, part_name=_joint_part(joint),
                   joint=joint_as_routed(name, joint, route))


def _joint_part(joint: Joint) -> str:
    return joint.into.partition(".")[0] if joint.kind == "screw" else joint.part


def joint_as_routed(name: str, joint: Joint, route: Route) -> Joint:
    """A joint as the route has it: the route may name another screw than the job.

    Raises:
        TomlError: if what the route says of it cannot stand there.
    """
    changed = route.joints.get(name)
    if not changed:
        return joint
    table = {**joint.model_dump(exclude_unset=True), **changed}
    try:
        return type(joint).model_validate(table, context=KEPT)
    except UnitError as error:
        raise TomlError(error.what, where=f"{route.file or 'route.toml'}, joints.{name}", right=error.right) from None
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(str(step) for step in ("joints", name, *first["loc"]))
        raise TomlError(first["msg"], where=f"{route.file or 'route.toml'}, {place}") from None
