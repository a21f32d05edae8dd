"""The three directions of a part's own that it was made along, where it lies askew in its file. mm, no kernel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from firstoff.part.shapes import Face, Feature, Vector
from firstoff.part.vectors import AXES, cross, dot, minus, parallel, square_to, unit

STRAIGHT = 0.5                           # share of the flats' area from which a part lies square in its file [1]

Frame = tuple[Vector, Vector, Vector]    # x, y, z of the part in the coordinates of its file [1]


def own(faces: Iterable[Face]) -> Frame | None:
    """The directions that most of a solid's flats are square to; None where they are those of the file.

    Args:
        faces: the faces of one solid.
    """
    areas: list[tuple[Vector, float]] = []
    for face in (face for face in faces if face.kind == "plane"):
        for k, (way, area) in enumerate(areas):
            if parallel(way, face.normal):
                areas[k] = way, area + face.area
                break
        else:
            areas.append((face.normal, face.area))
    told = sum(area for way, area in areas if any(parallel(way, axis) for axis in AXES[::2]))
    if not areas or told >= STRAIGHT * sum(area for _, area in areas):
        return None
    areas.sort(key=lambda row: -row[1])
    z = areas[0][0]
    x = next((way for way, _ in areas if square_to(way, z)), None)
    if x is None:
        x = unit(cross(min(AXES[::2], key=lambda axis: abs(dot(axis, z))), z))
    y = unit(cross(z, x))
    found = unit(cross(y, z)), y, z
    drafted = all(any(parallel(way, axis) for axis in AXES[::2]) for way in found)     # as in a casting
    return None if drafted else found


def ways(frame: Frame) -> tuple[Vector, ...]:
    """The three directions both ways, in the order of `vectors.AXES`."""
    x, y, z = frame
    return z, minus(z), x, minus(x), y, minus(y)


def turned_back(feature: Feature, frame: Frame) -> Feature:
    """A feature that was found in the part's own directions, in the coordinates of its file.

    Args:
        feature: with axis and place along x, y and z of the part.
        frame: those directions.
    """
    return replace(feature, axis=_back(feature.axis, frame), axis_point=_back(feature.axis_point, frame))


def _back(vector: Vector | None, frame: Frame) -> Vector | None:
    if vector is None:
        return None
    x, y, z = (sum(part * way[k] for part, way in zip(vector, frame, strict=True)) for k in range(3))
    return x, y, z
