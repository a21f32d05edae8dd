"""Features that repeat: alike in kind and size, in a line, a grid or a circle; and mirrored ones. Pure, mm.

Source: own (equal steps along a line, a full lattice, equal angles about a middle).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from firstoff.part.shapes import Feature, Pattern, Vector
from firstoff.part.vectors import AXES, along, cross, dot, norm, same, sub, unit

NEAR = 0.01                              # within which places and sizes are the same [mm]
LEFT = frozenset(("wall", "floor"))      # what a feature leaves of the part is no size of its own
REPEATED = ("hole", "pocket", "slot", "passage", "step", "boss", "groove")
Flat = tuple[float, float]


def find(features: Iterable[Feature]) -> tuple[Pattern, ...]:
    """The patterns of a part, in the order of their first features.

    Args:
        features: all features, with ids.
    """
    out: list[Pattern] = []
    for group in _alike([f for f in features if f.kind in REPEATED and f.axis and f.axis_point]):
        out += _arranged(group)
    return tuple(_by_plane(out))


def _by_plane(patterns: list[Pattern]) -> list[Pattern]:
    """All pairs that one plane mirrors are told together."""
    out: list[Pattern] = []
    for pattern in patterns:
        known = next((k for k, p in enumerate(out) if p.kind == "mirror" and p.size == pattern.size), None)
        if pattern.kind != "mirror" or known is None:
            out.append(pattern)
        else:
            out[known] = replace(out[known], features=(*out[known].features, *pattern.features))
    return out


def noted(features: Iterable[Feature]) -> tuple[Feature, ...]:
    """The features, the first of each pattern with a note that tells it.

    Args:
        features: all features, with ids.
    """
    features = tuple(features)
    said: dict[str, list[str]] = {}
    for pattern in find(features):
        said.setdefault(pattern.features[0], []).append(words(pattern))
    return tuple(replace(f, notes=(*f.notes, *said[f.id])) if f.id in said else f for f in features)


def words(pattern: Pattern) -> str:
    """A pattern in words.

    Args:
        pattern: the pattern.
    """
    size, names = pattern.size, ", ".join(pattern.features)
    count = len(pattern.features)
    if pattern.kind == "mirror":
        ((axis, at),) = size.items()
        pairs = zip(pattern.features[::2], pattern.features[1::2], strict=True)
        return f"mirrored about {axis.upper()} = {at:.6g}: " + ", ".join(" and ".join(pair) for pair in pairs)
    how = ""
    if pattern.kind == "line":
        how = f"{' in a line' if count > 2 else ''}, {size['pitch']:.6g} apart"
    elif pattern.kind == "grid":
        how = f" in a grid, {size['pitch']:.6g} by {size['pitch_across']:.6g} apart"
    elif pattern.kind == "circle":
        how = f" on a circle of {size['diameter']:.6g}"
    return f"{count} alike{how}: {names}"


def _alike(features: list[Feature]) -> list[list[Feature]]:
    """Features of one kind, size and direction of the tool, whose tops lie at one height."""
    groups: list[list[Feature]] = []
    for feature in features:
        for group in groups:
            if _same(group[0], feature) and _level(group[0], feature):
                group.append(feature)
                break
        else:
            groups.append([feature])
    return [group for group in groups if len(group) > 1] + _pairs(groups)


def _pairs(groups: list[list[Feature]]) -> list[list[Feature]]:
    """Single features that have one like them on another side of the part."""
    alone = [group[0] for group in groups if len(group) == 1]
    found: list[list[Feature]] = []
    while alone:
        one = alone.pop(0)
        pair = next((o for o in alone if _sized_alike(one, o) and _mirror(one, o) is not None), None)
        if pair is not None:
            alone.remove(pair)
            found.append([one, pair])
    return found


def _sized_alike(one: Feature, other: Feature) -> bool:
    keys = (one.size.keys() | other.size.keys()) - LEFT
    shape = one.kind == other.kind and one.through == other.through and one.sides == other.sides
    return shape and all(abs(one.size.get(k, math.inf) - other.size.get(k, -math.inf)) < NEAR for k in keys)


def _same(one: Feature, other: Feature) -> bool:
    return _sized_alike(one, other) and same(_axis(one), _axis(other))


def _level(one: Feature, other: Feature) -> bool:
    return abs(dot(sub(_place(one), _place(other)), _axis(one))) < NEAR


def _axis(feature: Feature) -> Vector:
    return feature.axis or AXES[0]


def _place(feature: Feature) -> Vector:
    return feature.axis_point or (0.0, 0.0, 0.0)


def _arranged(group: list[Feature]) -> list[Pattern]:
    """One pattern of all; else the circles about their middle, and what is left; a pair may be mirrored."""
    if len(group) == 2 and (mirror := _mirror(*group)):
        return [Pattern("mirror", (group[0].id, group[1].id), mirror)]
    if len(group) == 2 and not same(_axis(group[0]), _axis(group[1])):
        return []
    points = _drawn(group)
    for kind, order in (("line", _line), ("grid", _grid), ("circle", _circle)):
        if (size := order(points)) is not None:
            return [Pattern(kind, tuple(f.id for f in group), size)]  # type: ignore[arg-type]
    out, left = [], list(group)
    for ring in _rings(points):
        if len(ring) < len(group) and (size := _circle([points[k] for k in ring])) is not None:
            out.append(Pattern("circle", tuple(group[k].id for k in ring), size))
            left = [f for f in left if f not in [group[k] for k in ring]]
    return out + ([Pattern("alike", tuple(f.id for f in left))] if len(left) > 1 else [])


def _drawn(group: Sequence[Feature]) -> list[Flat]:
    """The places across the tool, along two directions at right angles, along the part where they can be."""
    axis = _axis(group[0])
    u = next(unit(cross(axis, way)) for way in AXES if norm(cross(axis, way)) > 0.5)
    v = cross(axis, u)
    return [(dot(_place(f), u), dot(_place(f), v)) for f in group]


def _line(points: list[Flat]) -> dict[str, float] | None:
    (x, y) = min(points)
    far = max(points, key=lambda p: math.dist(p, (x, y)))
    length = math.dist(far, (x, y))
    if length < NEAR:
        return None
    along_it = sorted(((p[0] - x) * (far[0] - x) + (p[1] - y) * (far[1] - y)) / length for p in points)
    off = max(abs((p[0] - x) * (far[1] - y) - (p[1] - y) * (far[0] - x)) / length for p in points)
    pitch = _even(along_it)
    return {"pitch": pitch} if pitch is not None and off < NEAR else None


def _even(places: Sequence[float]) -> float | None:
    """The one step between sorted places; None where steps differ."""
    steps = [b - a for a, b in pairwise(places)]
    return steps[0] if steps and max(steps) - min(steps) < NEAR and min(steps) > NEAR else None


def _grid(points: list[Flat]) -> dict[str, float] | None:
    across = [_distinct(p[k] for p in points) for k in (0, 1)]
    pitches = [_even(places) for places in across]
    if len(points) < 4 or len(across[0]) * len(across[1]) != len(points) or None in pitches:
        return None
    return {"pitch": pitches[0] or 0.0, "pitch_across": pitches[1] or 0.0}


def _distinct(places: Iterable[float]) -> list[float]:
    out: list[float] = []
    for place in sorted(places):
        if not out or place - out[-1] > NEAR:
            out.append(place)
    return out


def _middle(points: Sequence[Flat]) -> Flat:
    return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)


def _circle(points: list[Flat]) -> dict[str, float] | None:
    middle = _middle(points)
    radii = [math.dist(p, middle) for p in points]
    if len(points) < 3 or max(radii) - min(radii) > NEAR or min(radii) < NEAR:
        return None
    angles = sorted(math.atan2(p[1] - middle[1], p[0] - middle[0]) for p in points)
    steps = [b - a for a, b in zip(angles, (*angles[1:], angles[0] + 2 * math.pi), strict=True)]
    even = max(steps) - min(steps) < 2 * NEAR / min(radii)
    return {"diameter": 2 * radii[0]} if even else None


def _rings(points: list[Flat]) -> list[list[int]]:
    """Which of the places are equally far from the middle of all."""
    middle = _middle(points)
    out: dict[int, list[int]] = {}
    for k, point in enumerate(points):
        out.setdefault(round(math.dist(point, middle) / NEAR / 2), []).append(k)
    return list(out.values())


def _mirror(one: Feature, other: Feature) -> dict[str, float] | None:
    """The plane square to one of the part's axes, about which two features mirror each other."""
    away = sub(_place(other), _place(one))
    if norm(away) < NEAR:
        return None
    for k, name in enumerate("xyz"):
        way: Vector = (float(k == 0), float(k == 1), float(k == 2))
        turned = along(_axis(one), way, -2 * dot(_axis(one), way))
        if abs(abs(dot(away, way)) - norm(away)) < NEAR and same(turned, _axis(other)):
            return {name: round((_place(one)[k] + _place(other)[k]) / 2, 4) + 0.0}
    return None
