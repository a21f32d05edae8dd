"""Limits that a model or a sketch itself carries, as limits of the job; what the job says of the same faces wins."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

from ..errors import FirstoffError
from ..job.faces import dot, locate
from ..job.models import Job, Limit
from ..part.shapes import ModelLimit, Part
from ..stack.fits import limits_of
from ..tomlfile import KEPT
from . import si

SQUARE: Final = 1.0 - 1e-6          #: cosine from which two flats are parallel [1]
_FIT: Final = re.compile(r"(?<![\w.])([A-Za-z]{1,2}\d{1,2})(?![\w.])")


def with_model_limits(job: Job, parts: Mapping[str, Part]) -> Job:
    """The job with the distances between flats that its models carry limits for.

    Args:
        job: what is wanted.
        parts: its parts, by their names in it.
    """
    said = {_pair(limit, name, job, parts) for name, limit in job.limits.items() if limit.kind == "distance"}
    more: dict[str, Limit] = {}
    for part in job.parts:
        for limit in _distances(part, parts[part]):
            pair = frozenset((part, end.rpartition(" ")[2]) for end in limit.between)
            if not any(pair <= known for known in said):
                count = 1 + sum(name.startswith(f"{part}-model-") for name in more)
                more[f"{part}-model-{count}"] = limit
    return job.model_copy(update={"limits": {**job.limits, **{n: x for n, x in more.items() if n not in job.limits}}})


def _pair(limit: Limit, name: str, job: Job, parts: Mapping[str, Part]) -> frozenset[tuple[str, ...]]:
    """The faces at both ends of a job's limit."""
    only = limit.part or (next(iter(parts)) if len(parts) == 1 else None)
    places = [locate(face, job, parts, only, f"limits.{name}") for face in limit.between]
    return frozenset((place.part, str(n)) for place in places for n in place.faces)


def _distances(name: str, part: Part) -> Iterator[Limit]:
    for limit in part.limits:
        bounds = deviations(limit)
        ends = [_flat(part, end) for end in limit.between]
        if limit.value is None or bounds is None or limit.unit != "mm" or len(ends) != 2 or None in ends:
            continue
        one, other = (part.faces[n] for n in ends if n is not None)
        if limit.kind in ("distance", "thickness") and abs(dot(one.normal, other.normal)) > SQUARE:
            between = [f"{name}.face {face.number}" for face in (one, other)]
            yield Limit.model_validate({"kind": "distance", "between": between, "size": limit.value,
                                        "tolerance": bounds, "part": name}, context=KEPT)


def _flat(part: Part, end: tuple[int, ...]) -> int | None:
    """The largest flat at one end of a distance."""
    return max((n for n in end if part.faces[n].kind == "plane"), key=lambda n: part.faces[n].area, default=None)


def deviations(limit: ModelLimit) -> tuple[float, float] | None:
    """Lower and upper deviation of a limit, a fit such as H7 as its numbers [mm]; None where it has none.

    Args:
        limit: as a model or a sketch carries it.
    """
    if limit.value is None:
        return None
    fit = _FIT.search(limit.text)
    if limit.lower is not None and limit.upper is not None:
        low, high = limit.lower - limit.value, limit.upper - limit.value
    elif fit is not None:
        try:
            low, high = (float(si.millimetres(end)) for end in limits_of(fit[1], float(si.metres(limit.value))))
        except FirstoffError:
            return None                  # a class that our tables do not hold: it stays what it says
    else:
        return None
    return (round(low, 6), round(high, 6)) if low < high else None
