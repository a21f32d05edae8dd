"""Limits that a model or a sketch itself carries, as limits of the job; what the job says of the same faces wins."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

from ..errors import FirstoffError
from ..job.faces import dot, locate
from ..job.gauges import suited
from ..job.models import Job, Limit
from ..part.shapes import Face, ModelLimit, Part
from ..shop.models import Shop
from ..stack.fits import limits_of
from ..tomlfile import KEPT
from . import si

#: kinds of limits that a model brings, and what those of other names are called in a job
_KINDS: Final = frozenset({"distance", "size", "flatness", "parallelism", "squareness", "position"})
_OTHERS: Final = {"diameter": "size", "flatness": "flatness", "parallelism": "parallelism",
                  "perpendicularity": "squareness", "position": "position"}
SQUARE: Final = 1.0 - 1e-6          #: cosine from which two flats are parallel [1]
_FIT: Final = re.compile(r"(?<![\w.])([A-Za-z]{1,2}\d{1,2})(?![\w.])")


def with_model_limits(job: Job, parts: Mapping[str, Part], shop: Shop | None = None) -> Job:
    """The job with what its models carry limits for: distances of flats and holes, holes, flatness, faces to a datum.

    Args:
        job: what is wanted.
        parts: its parts, by their names in it.
        shop: whose instruments there are: a model names none, and each limit gets the coarsest that proves it.
    """
    said = [(limit.kind, _pair(limit, name, job, parts)) for name, limit in job.limits.items()
            if limit.kind in _KINDS]
    more: dict[str, Limit] = {}
    for part in job.parts:
        for limit in (*_distances(part, parts[part]), *_others(part, parts[part])):
            pair = frozenset((part, end.rpartition(" ")[2]) for end in limit.between)
            if not any(pair <= known and kind == limit.kind for kind, known in said):
                count = 1 + sum(name.startswith(f"{part}-model-") for name in more)
                by = shop and suited(limit, limit.size or 0.0, job, parts, shop)
                more[f"{part}-model-{count}"] = limit.model_copy(update={"instrument": by or None})
    return job.model_copy(update={"limits": {**job.limits, **{n: x for n, x in more.items() if n not in job.limits}}})


def _pair(limit: Limit, name: str, job: Job, parts: Mapping[str, Part]) -> frozenset[tuple[str, ...]]:
    """The faces at both ends of a job's limit."""
    only = limit.part or (next(iter(parts)) if len(parts) == 1 else None)
    places = [locate(face, job, parts, only, f"limits.{name}") for face in limit.between]
    return frozenset((place.part, str(n)) for place in places for n in place.faces)


def _distances(name: str, part: Part) -> Iterator[Limit]:
    for limit in part.limits:
        bounds = deviations(limit)
        ends = [_end(part, end) for end in limit.between]
        if limit.value is None or bounds is None or limit.unit != "mm" or len(ends) != 2 or None in ends:
            continue
        one, other = (part.faces[n] for n in ends if n is not None)
        if limit.kind in ("distance", "thickness") and _measurable(one, other):
            between = [f"{name}.face {face.number}" for face in (one, other)]
            yield Limit.model_validate({"kind": "distance", "between": between, "size": limit.value,
                                        "tolerance": bounds, "part": name}, context=KEPT)


def _others(name: str, part: Part) -> Iterator[Limit]:
    """Diameters and places of holes, flatness, and flats that are parallel or square to a datum."""
    datums = {datum.letter: datum.faces for datum in part.datums}
    for limit in part.limits:
        kind, bounds = _OTHERS.get(limit.kind, ""), deviations(limit)
        if not kind or limit.value is None or limit.unit != "mm":
            continue
        ends: list[int | None]
        bore = next((n for n in limit.faces if part.faces[n].kind == "cylinder" and part.faces[n].hollow), None)
        if kind == "size":
            ends = [bore]
        elif kind == "position":
            placing = _placing(part, bore, [datums.get(letter, ()) for letter in limit.datums])
            ends, bounds = [bore, *placing], (0.0, limit.value)
        else:
            ends = [_flat(part, limit.faces)]
            bounds = (0.0, limit.value)
        if kind in ("parallelism", "squareness"):
            ends.append(_flat(part, datums.get(limit.datums[0], ())) if len(limit.datums) == 1 else None)
        faces = [n for n in ends if n is not None]
        if bounds is None or len(faces) < len(ends):
            continue
        size = limit.value if kind == "size" else None
        yield Limit.model_validate({"kind": kind, "between": [f"{name}.face {n}" for n in faces], "size": size,
                                    "tolerance": bounds, "part": name}, context=KEPT)


def _placing(part: Part, bore: int | None, datums: list[tuple[int, ...]]) -> list[int | None]:
    """The two datum flats that place a hole across its axis, square to each other; None where there are not two."""
    axis = None if bore is None else part.faces[bore].axis
    flats = [n for faces in datums if (n := _flat(part, faces)) is not None]
    across = [n for n in flats if axis is not None and abs(dot(part.faces[n].normal, axis)) < 1.0 - SQUARE]
    if len(across) != 2 or abs(dot(part.faces[across[0]].normal, part.faces[across[1]].normal)) > 1.0 - SQUARE:
        return [None, None]
    return [*across]


def _end(part: Part, end: tuple[int, ...]) -> int | None:
    """The largest flat at one end of a distance, else a hole."""
    flat = _flat(part, end)
    return flat if flat is not None else next((n for n in end if part.faces[n].axis is not None
                                               and part.faces[n].hollow), None)


def _measurable(one: Face, other: Face) -> bool:
    """Whether a distance stands square between them: two flats, or a flat and a hole that runs along it."""
    if one.axis is None and other.axis is None:
        return abs(dot(one.normal, other.normal)) > SQUARE
    flat, hole = (one, other) if one.axis is None else (other, one)
    return flat.axis is None and hole.axis is not None and abs(dot(flat.normal, hole.axis)) < 1.0 - SQUARE


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
