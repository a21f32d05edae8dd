"""What is cut last, to suit: the parts are put together and measured before the last cut of a chain.

A chain adds up what several parts are out by. Measured with the parts together, the last cut takes off what is
missing, and only the instrument and that cut are left to err.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from ..checks.size import too_coarse
from ..job.by_hand import TOGETHER, by_hand
from ..job.faces import locate
from ..job.models import Job, Limit
from ..job.route import Operation, Route, Setting
from ..part.shapes import Part
from ..shop.models import Shop
from ..tomlfile import KEPT

TEN: Final = 10


def offered_up(job: Job, shop: Shop, route: Route, parts: Mapping[str, Part]) -> Route:
    """The route with the parts put together and measured before the last cut of each chain across parts.

    Nothing is added where no stock is left for that cut, where another face is cut after it, or where the
    shop has no bench or an instrument that is too coarse.
    """
    for name, limit in job.limits.items():
        instrument = shop.instruments.get(limit.instrument or "")
        if limit.kind == "chain" and instrument is not None and not too_coarse(limit, instrument):
            route = _with_measuring(job, shop, route, parts, (name, limit))
    return route


def _with_measuring(job: Job, shop: Shop, route: Route, parts: Mapping[str, Part],
                    wanted: tuple[str, Limit]) -> Route:
    name, limit = wanted
    last = _last_cut(job, route, parts, limit)
    if last is None:
        return route
    cut = route.operations[last]
    at = route.settings[cut.setting]
    owners = dict.fromkeys((at.workpiece, *(face.partition(".")[0] for face in limit.between)))
    together = "+".join(owner for owner in owners if owner in parts)
    first = min(op.number for _, op in route.of_setting(cut.setting))
    setting, key = f"{at.workpiece}-together", f"{at.workpiece}-{name.replace('_', '-')}-measure"
    made = by_hand(shop, at, together, TOGETHER, "not needed: nothing is cut")
    if made is None:
        return route
    note = f"note what is missing to {limit.size:g} mm: the next cut takes it off" if limit.size else ""
    op = Operation.model_validate({
        "number": max(1, first - 1), "setting": setting, "features": cut.features, "role": "measure",
        "measure": (name,), "notes": tuple(n for n in (note,) if n)}, context=KEPT)
    return _numbered(route, (cut.setting, setting, made), (key, op))


def _last_cut(job: Job, route: Route, parts: Mapping[str, Part], limit: Limit) -> str | None:
    """The cut that ends a chain, where stock was left for it and every other face stands before its setting."""
    places = [locate(face, job, parts, limit.part) for face in limit.between]
    owners = {(place.part, f.id) for place in places for f in parts[place.part].features
              if set(f.faces) & set(place.faces)}
    cuts = [(key, op) for key, op in route.in_order() if op.role not in ("file", "measure") and any(
        (route.settings[op.setting].workpiece, feature) in owners for feature in op.features)]
    if len(cuts) < 2 or cuts[-1][1].leaves > 0.0:
        return None
    key, last = cuts[-1]
    start = min(op.number for _, op in route.of_setting(last.setting))
    before = [op for name, op in cuts if name != key and set(op.features) & set(last.features)
              and route.settings[op.setting].workpiece == route.settings[last.setting].workpiece]
    late = [op for name, op in cuts if name != key and op.number >= start]
    return key if before and before[-1].leaves > 0.0 and not late else None


def _numbered(route: Route, setting: tuple[str, str, Setting], operation: tuple[str, Operation]) -> Route:
    """The route with one more setting before another, and all operations numbered in tens again."""
    before, name, made = setting
    settings: dict[str, Setting] = {}
    for key, item in route.settings.items():
        if key == before:
            settings[name] = made
        settings[key] = item
    key, op = operation
    ordered = sorted([*route.in_order(), (key, op)], key=lambda item: item[1].number)
    operations = {k: o.model_copy(update={"number": TEN * (i + 1)}) for i, (k, o) in enumerate(ordered)}
    return route.model_copy(update={"settings": settings, "operations": operations})
