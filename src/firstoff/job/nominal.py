"""What a limit should measure: as the job says, or as the model has it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from ..errors import RecordError
from ..part.shapes import Part
from .faces import PARALLEL, dot, locate
from .models import Job, Limit

#: a reading further from the nominal than this is more likely a slip of unit or decimal point [mm]
FAR: Final = 5.0
#: and of a size of so much or more [mm], one that is so many times larger or smaller; judged
PLAIN: Final = 1.0
TIMES: Final = 3.0


def no_slip(said: str, size: float, nominal: float, where: str) -> None:
    """Refuse a reading that is far from what it should be.

    Raises:
        RecordError: if it is further off than a slip of the machine could explain.
    """
    other = nominal >= PLAIN and not nominal / TIMES <= size <= nominal * TIMES
    if abs(size - nominal) > FAR or other:
        raise RecordError(f"{said} is {abs(size - nominal):.1f} mm from the nominal {nominal:g} mm", where=where,
                          right="mm or inch? a slip of the point?")


def nominal_size(name: str, job: Job, parts: Mapping[str, Part]) -> float:
    """What a limit should measure [mm]: as the job says, or as the model has it.

    Raises:
        RecordError: if neither tells.
    """
    limit = job.limits[name]
    if limit.size is not None:
        return limit.size
    if limit.is_zone or limit.kind == "clearance":
        return 0.0
    if limit.kind == "distance":
        apart = _apart(limit, job, parts)
        if apart is not None:
            return apart
    raise RecordError("the job does not say what it should measure, and the model does not tell", where=name,
                      right=f'size = "5 mm" under [limits.{name}] in job.toml')


def _apart(limit: Limit, job: Job, parts: Mapping[str, Part]) -> float | None:
    """How far two flat faces of one part are apart [mm]; None where they are not such faces."""
    places = [locate(face, job, parts, limit.part, where="job.toml") for face in limit.between]
    if len({place.part for place in places}) != 1:
        return None
    by_number = {face.number: face for face in parts[places[0].part].faces}
    a, b = (by_number[place.faces[0]] for place in places)
    if a.kind != "plane" or b.kind != "plane" or 1.0 - abs(dot(a.normal, b.normal)) > PARALLEL:
        return None
    return abs(dot(b.centroid, a.normal) - dot(a.centroid, a.normal))
