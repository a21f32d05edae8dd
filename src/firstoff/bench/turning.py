"""A part as faces that can be turned on paper and touched: each with its operations, limits, and their dangers."""

from __future__ import annotations

from typing import Any, Final

from ..dryrun.result import Result, odds
from ..errors import NameUnknown
from ..job.faces import resolve
from ..part.shapes import Face, Part

#: dangers that are told of a face
DANGERS: Final = 3
#: decimals of a coordinate that can be seen [mm]
SEEN: Final = 2


def solid(result: Result, name: str) -> dict[str, Any]:
    """Faces and edges of a part as plain lists, and which operations touch which face.

    Args:
        result: what the dry run returned.
        name: of the part.
    """
    drawn = outlines(result.parts[name])
    made, limits = makers(result, name), limits_of(result, name)
    for face in drawn["faces"]:
        numbers = made.get(face["number"], [])
        face |= {"operations": numbers, "limits": limits.get(face["number"], []),
                 "dangers": _dangers(result, numbers)}
    return drawn


def outlines(part: Part) -> dict[str, Any]:
    """Faces and edges of a part as plain lists, of its shape alone."""
    return {
        "low": part.low, "high": part.high, "faces": [_face(face) for face in part.faces if face.outlines],
        "edges": [{"faces": edge.faces, "smooth": edge.convexity == "smooth", "points": _flat(edge.points)}
                  for edge in part.edges],
    }


def makers(result: Result, name: str) -> dict[int, list[int]]:
    """Numbers of the operations that make each face, in their order."""
    part = result.parts[name]
    out: dict[int, list[int]] = {}
    for _, op in result.route.in_order():
        if name not in result.route.settings[op.setting].workpiece.split("+"):
            continue
        for number in _faces(part, op.features):
            out.setdefault(number, []).append(op.number)
    return out


def limits_of(result: Result, name: str) -> dict[int, list[str]]:
    """The limits of each face, in words: what is wanted, and how likely it is to be out."""
    out: dict[int, list[str]] = {}
    found = {c.operation: c for c in result.checks if c.finding.subject == "limit"}
    for limit_name, limit in result.job.limits.items():
        said, check = limit_name.replace("_", " "), found.get(limit_name)
        if check is not None:
            said += f": {check.verdict}, out {odds(check.finding.p_fail)}"
        for face_name in limit.between:
            owner, dot, rest = face_name.partition(".")
            if (owner if dot else limit.part) != name:
                continue
            for face in _named(result, name, rest if dot else face_name):
                if said not in out.setdefault(face, []):
                    out[face].append(said)
    return out


def _named(result: Result, name: str, face: str) -> tuple[int, ...]:
    try:
        return resolve(face, result.parts[name], result.job.parts[name].names)
    except NameUnknown:           # lost with a revised model: the desk says so at its top
        return ()


def _dangers(result: Result, numbers: list[int]) -> list[str]:
    """What is likeliest to go wrong in the operations that make a face."""
    found = [c for c in result.checks if c.number in numbers and c.verdict != "good"
             and c.finding.subject == "operation"]
    found.sort(key=lambda c: -(c.finding.p_fail or 0.0))
    return [f"{c.number}: {c.title}, {c.verdict}, {odds(c.finding.p_fail)}" for c in found[:DANGERS]]


def _faces(part: Part, features: tuple[str, ...]) -> list[int]:
    return [number for feature in part.features if feature.id in features for number in feature.faces]


def _face(face: Face) -> dict[str, Any]:
    return {"number": face.number, "flat": face.kind == "plane", "normal": face.normal,
            "loops": [_flat(loop) for loop in face.outlines]}


def _flat(points: tuple[tuple[float, float, float], ...]) -> list[float]:
    return [round(value, SEEN) for point in points for value in point]
