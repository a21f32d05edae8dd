"""A part as faces that can be turned on paper and touched, each with the operations that make it."""

from __future__ import annotations

from typing import Any, Final

from ..dryrun.result import Result
from ..part.shapes import Face, Part

#: decimals of a coordinate that can be seen [mm]
SEEN: Final = 2


def solid(result: Result, name: str) -> dict[str, Any]:
    """Faces and edges of a part as plain lists, and which operations touch which face.

    Args:
        result: what the dry run returned.
        name: of the part.
    """
    part = result.parts[name]
    made = makers(result, name)
    return {
        "low": part.low, "high": part.high,
        "faces": [_face(face, made.get(face.number, [])) for face in part.faces if face.outlines],
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


def _faces(part: Part, features: tuple[str, ...]) -> list[int]:
    return [number for feature in part.features if feature.id in features for number in feature.faces]


def _face(face: Face, operations: list[int]) -> dict[str, Any]:
    return {"number": face.number, "flat": face.kind == "plane", "normal": face.normal,
            "loops": [_flat(loop) for loop in face.outlines], "operations": operations}


def _flat(points: tuple[tuple[float, float, float], ...]) -> list[float]:
    return [round(value, SEEN) for point in points for value in point]
