"""Parallelism, squareness, angle and position: zones of ISO 1101, as differences of small displacements."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief
from ..job.faces import locate
from ..job.models import Limit
from ..part.shapes import Face
from ._forms import Form, Moves, along, plus
from ._locators import Array
from ._makers import Broken, Made
from ._sizes import Sized, axis_place, needs
from ._surfaces import Surfaces, surfaces_of
from .base import Case
from .si import metres

#: an octagon as large as the circle of the zone: its inner radius over that of the circle
OCTAGON: Final = math.sqrt(math.pi / (8.0 * math.tan(math.pi / 8.0)))
#: cosine of the angle between normals from which two faces count as parallel, and below which as square
_PARALLEL: Final = 0.999
_SQUARE: Final = 0.05


def oriented(case: Case, limit: Limit, belief: Belief) -> Sized:
    """What each source of error does to a limit of direction or place.

    Raises:
        Broken: if a face is made by no operation, or does not suit the kind of limit.
        NameUnknown: if a face does not exist.
    """
    where = surfaces_of(case, belief)
    places = [locate(name, case.job, case.parts, limit.part) for name in limit.between]
    if len({place.part for place in places}) > 1:
        raise Broken(f"a {limit.kind} is between faces of one part")
    faces = [case.parts[place.part].faces[place.faces[0]] for place in places]
    makers = [needs(case, place.part, place.faces[0]) for place in places]
    late = max(makers, key=lambda made: made.op.number)
    if limit.kind == "position":
        lines = _position(where, faces, makers)
    else:
        _flat(limit, faces)
        forms = where.made(makers[0]), where.made(makers[1])
        lines = _parallel(faces, forms) if limit.kind == "parallelism" else (_turned(limit, faces, forms),)
    named = where.named(lines)
    return Sized(named[0], named, where.sources, "", late.op_name)


def _flat(limit: Limit, faces: list[Face]) -> None:
    cosine = abs(float(np.array(faces[0].normal) @ np.array(faces[1].normal)))
    if any(face.kind != "plane" for face in faces):
        raise Broken(f"a {limit.kind} is told for flat faces")
    if limit.kind == "parallelism" and cosine < _PARALLEL:
        raise Broken(f"{limit.between[0]} and {limit.between[1]} are not parallel in the model")
    if limit.kind == "squareness" and cosine > _SQUARE:
        raise Broken(f"{limit.between[0]} and {limit.between[1]} are not square to each other in the model")
    if limit.kind == "angle" and cosine >= _PARALLEL:
        raise Broken(f"{limit.between[0]} and {limit.between[1]} are parallel: write a parallelism")


def _reach(face: Face) -> tuple[Array, Array]:
    """Middle and half the extent of a face."""
    low, high = metres(np.array(face.low)), metres(np.array(face.high))
    return (low + high) / 2.0, (high - low) / 2.0


def _parallel(faces: list[Face], forms: tuple[Form, Form]) -> tuple[Moves, ...]:
    """Over a rectangle the zone is the larger of the differences between opposite corners."""
    normal = np.array(faces[0].normal)
    middle, half = _reach(faces[0])
    one, two = (np.where(np.arange(3) == k, half, 0.0) for k in np.argsort(np.abs(normal))[:2])
    ends = ((one + two, -one - two), (one - two, two - one))

    def apart(point: Array) -> Moves:
        return _less(along(forms[0], point, normal), along(forms[1], point, normal))

    return tuple(_less(apart(middle + far), apart(middle + near)) for far, near in ends)


def _turned(limit: Limit, faces: list[Face], forms: tuple[Form, Form]) -> Moves:
    """How far the one face turns against the other about the line that both contain, over the face's height."""
    one, two = (np.array(face.normal) for face in faces)
    axis = np.cross(one, two)
    axis = axis / np.linalg.norm(axis)
    middle, half = _reach(faces[0])
    inwards = np.cross(one, axis)
    height = 2.0 * float(np.abs(inwards) @ half)
    turns = []
    for normal, form in ((one, forms[0]), (two, forms[1])):
        step = np.cross(normal, axis)
        turns.append(_less(along(form, middle + step, normal), along(form, middle, normal)))
    return height * _less(turns[0], turns[1])


def _position(where: Surfaces, faces: list[Face], makers: list[Made]) -> tuple[Moves, ...]:
    """How far the axis of a hole is from where two faces put it, along four directions of an octagon."""
    hole, *datums = faces
    if hole.axis is None or any(face.kind != "plane" for face in datums):
        raise Broken("a position is told for a hole and two flat faces")
    point = metres(np.array(axis_place(hole)))
    ways = [np.array(face.normal) for face in datums]
    axis = np.array(hole.axis)
    if max(abs(float(one @ two)) for one, two in ((ways[0], ways[1]), (ways[0], axis), (ways[1], axis))) > _SQUARE:
        raise Broken(f"the faces {datums[0].number} and {datums[1].number} do not place a hole square to each other")
    form = where.made(makers[0])
    x, y = (_less(along(form, point, way), along(where.made(made), point, way))
            for way, made in zip(ways, makers[1:], strict=True))
    return tuple(_mixed(x, y, k * math.pi / 4.0) for k in range(4))


def _mixed(x: Moves, y: Moves, angle: float) -> Moves:
    """What comes out along a direction between two, an octagon standing for the circle."""
    return plus((x, math.cos(angle) / OCTAGON), (y, math.sin(angle) / OCTAGON))


def _less(one: Moves, two: Moves) -> Moves:
    """The difference of what is done to two lengths."""
    return plus((one, 1.0), (two, -1.0))
