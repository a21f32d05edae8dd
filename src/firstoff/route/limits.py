"""After which operation each limit can be measured: the one that last cuts a face of it."""

from __future__ import annotations

from collections.abc import Mapping

from ..checks.size import too_coarse
from ..job.faces import Place, locate
from ..job.models import Job, Limit
from ..job.route import Operation, Route
from ..part.shapes import Part
from ..shop.models import Shop


def measured_after(job: Job, route: Route, parts: Mapping[str, Part], shop: Shop | None = None) -> Route:
    """The route with each limit put to the operation after which it can be measured.

    It is measured once more before the last cut, so that this cut is set by it, where stock is left to do so
    and the instrument is fine enough.
    """
    wanted: dict[str, list[str]] = {}
    for name, limit in job.limits.items():
        at = operation_of(limit, name, job, route, parts)
        if at is None:
            continue
        wanted.setdefault(at, []).append(name)
        early = before_last(limit, name, job, route, parts)
        instrument = shop.instruments.get(limit.instrument or "") if shop else None
        if early is not None and instrument is not None and not too_coarse(limit, instrument):
            wanted.setdefault(early, []).append(name)
    operations = {
        key: op.model_copy(update={"measure": tuple(dict.fromkeys((*op.measure, *wanted[key])))})
        if key in wanted else op for key, op in route.operations.items()
    }
    return route.model_copy(update={"operations": operations})


def limited_features(job: Job, part: str, parts: Mapping[str, Part]) -> frozenset[str]:
    """The features of a part on which a distance ends: there the last cut is set by what is measured."""
    out: set[str] = set()
    for name, limit in job.limits.items():
        if limit.kind in ("distance", "chain"):
            for place in _places(limit, name, job, parts):
                if place.part == part:
                    out |= {f.id for f in parts[part].features if set(f.faces) & set(place.faces)}
    return frozenset(out)


def before_last(limit: Limit, name: str, job: Job, route: Route, parts: Mapping[str, Part]) -> str | None:
    """The cut before the last one on the last face of a limit, in the same setting; None where there is none,
    or another face of it is cut after that."""
    if limit.kind not in ("distance", "chain"):
        return None
    cuts = [(key, op) for key, op in route.in_order() if op.role not in ("spot", "measure", "file")
            and _cuts(op, route, _places(limit, name, job, parts), parts)]
    if len(cuts) < 2:
        return None
    (key, before), (_, last) = cuts[-2:]
    same = before.setting == last.setting and bool(set(before.features) & set(last.features))
    return key if same and before.leaves > 0.0 and last.leaves == 0.0 else None


def operation_of(limit: Limit, name: str, job: Job, route: Route, parts: Mapping[str, Part]) -> str | None:
    """The last operation that cuts a face of a limit; None where no operation does."""
    places = _places(limit, name, job, parts)
    last = None
    for key, op in route.in_order():
        if op.role != "measure" and _cuts(op, route, places, parts):
            last = key
    return last


def _places(limit: Limit, name: str, job: Job, parts: Mapping[str, Part]) -> list[Place]:
    return [locate(face, job, parts, limit.part or _only(parts), f"limits.{name}") for face in limit.between]


def _cuts(op: Operation, route: Route, places: list[Place], parts: Mapping[str, Part]) -> bool:
    part = route.settings[op.setting].workpiece.split("+")[0]          # whose features an operation names
    return any(place.part == part and _owns(parts[place.part], op.features, place) for place in places)


def _only(parts: Mapping[str, Part]) -> str | None:
    return next(iter(parts)) if len(parts) == 1 else None


def _owns(part: Part, features: tuple[str, ...], place: Place) -> bool:
    return any(set(f.faces) & set(place.faces) for f in part.features if f.id in features)
