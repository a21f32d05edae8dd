"""After which operation each limit can be measured: the one that last cuts a face of it."""

from __future__ import annotations

from collections.abc import Mapping

from ..job.faces import Place, locate
from ..job.models import Job, Limit
from ..job.route import Route
from ..part.shapes import Part


def measured_after(job: Job, route: Route, parts: Mapping[str, Part]) -> Route:
    """The route with each limit put to the operation after which it can be measured."""
    wanted: dict[str, list[str]] = {}
    for name, limit in job.limits.items():
        at = operation_of(limit, name, job, route, parts)
        if at is not None:
            wanted.setdefault(at, []).append(name)
    operations = {
        key: op.model_copy(update={"measure": tuple(wanted[key])}) if key in wanted else op
        for key, op in route.operations.items()
    }
    return route.model_copy(update={"operations": operations})


def operation_of(limit: Limit, name: str, job: Job, route: Route, parts: Mapping[str, Part]) -> str | None:
    """The last operation that cuts a face of a limit; None where no operation does."""
    places = [locate(face, job, parts, limit.part or _only(parts), f"limits.{name}") for face in limit.between]
    last = None
    for key, op in route.in_order():
        workpieces = route.settings[op.setting].workpiece.split("+")
        if any(place.part in workpieces and _owns(parts[place.part], op.features, place) for place in places):
            last = key
    return last


def _only(parts: Mapping[str, Part]) -> str | None:
    return next(iter(parts)) if len(parts) == 1 else None


def _owns(part: Part, features: tuple[str, ...], place: Place) -> bool:
    return any(set(f.faces) & set(place.faces) for f in part.features if f.id in features)
