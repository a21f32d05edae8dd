"""What is understood of a part, as JSON for other programs and as lines for the terminal."""

from __future__ import annotations

from typing import Any

from firstoff.part.shapes import Feature, ModelLimit, Part, Vector

_WORDS = {
    "diameter": "Ø{:.4g}", "depth": "{:.4g} deep", "length": "{:.4g} long", "width": "{:.4g} wide",
    "height": "{:.4g} high", "angle": "at {:.4g}°", "radius": "R{:.4g}", "corner_radius": "corners R{:.4g}",
    "floor_radius": "floor R{:.4g}", "smallest_radius": "R{:.4g} or more", "cone_angle": "drill point {:.4g}°",
    "countersink_diameter": "countersunk Ø{:.4g}", "countersink_angle": "× {:.4g}°",
    "counterbore_diameter": "counterbored Ø{:.4g}", "counterbore_depth": "× {:.4g} deep",
    "far_countersink_diameter": "countersunk Ø{:.4g} on the far side", "far_countersink_angle": "× {:.4g}°",
}
_NAMES = {"free_form": "free form", "not_understood": "not understood"}


def as_json(part: Part) -> dict[str, Any]:
    """The JSON of `firstoff part FILE --json`; all lengths in mm, angles in degrees."""
    return {
        "unit": part.unit,
        "bounding_box": {"low": list(part.low), "high": list(part.high)},
        "volume": part.volume,
        "faces": len(part.faces),
        "features": [_feature(feature) for feature in part.features],
        "limits": [_limit(limit) for limit in part.limits],
        "file": part.file,
        "solids": part.solids,
        "remarks": list(part.remarks),
    }


def _feature(feature: Feature) -> dict[str, Any]:
    return {
        "id": feature.id,
        "kind": feature.kind,
        "sides": feature.sides,
        "through": feature.through,
        "open": feature.open,
        "faces": list(feature.faces),
        "axis": None if feature.axis is None else list(feature.axis),
        "axis_point": None if feature.axis_point is None else list(feature.axis_point),
        "size": dict(feature.size),
        "access": [list(way) for way in feature.access],
        "notes": list(feature.notes),
    }


def _limit(limit: ModelLimit) -> dict[str, Any]:
    return {
        "kind": limit.kind, "faces": list(limit.faces), "value": limit.value, "upper": limit.upper,
        "lower": limit.lower,
    }


def as_lines(part: Part) -> list[str]:
    """The part in words, one line a feature, in columns."""
    size = " × ".join(f"{high - low:.6g}" for low, high in zip(part.low, part.high, strict=True))
    lines = [f"{part.file}: {size} mm, {part.volume / 1000:.4g} cm³, {len(part.faces)} faces, in {part.unit}"]
    lines += [f"note: {remark}" for remark in part.remarks]
    rows = [(_name(f), _where(f), _size(f), _ways(f), _faces(f)) for f in part.features]
    table = [("feature", "at", "size in mm", "tool from", "faces"), *rows]
    widths = [max(len(row[k]) for row in table) for k in range(4)]
    for row in table:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        lines.append("  ".join((*cells, row[4])).rstrip())
    lines += [f"{feature.id}: {note}" for feature in part.features for note in feature.notes]
    return lines


def _name(feature: Feature) -> str:
    kind, _, number = feature.id.rpartition("-")
    words = [_NAMES.get(kind, kind), number]
    if feature.kind in ("hole", "slot", "step"):
        words.append("through" if feature.through else "blind")
    elif feature.kind == "pocket" and feature.open:
        words.append("open")
    return " ".join(words)


def _where(feature: Feature) -> str:
    return "" if feature.axis_point is None else " ".join(f"{part:.5g}" for part in _tidy(feature.axis_point))


def _size(feature: Feature) -> str:
    parts = [_WORDS.get(key, key.replace("_", " ") + " {:.4g}").format(value) for key, value in feature.size.items()]
    return ", ".join(parts).replace(", ×", " ×")


def _ways(feature: Feature) -> str:
    """The directions in words: +Z, or three numbers where it slants."""
    return " ".join(_way(way) for way in feature.access) or "no side"


def _way(way: Vector) -> str:
    for k, letter in enumerate("XYZ"):
        if abs(way[k]) > 1 - 1e-9:
            return ("+" if way[k] > 0 else "-") + letter
    return "(" + " ".join(f"{part:.3g}" for part in _tidy(way)) + ")"


def _tidy(vector: Vector) -> Vector:
    x, y, z = (round(part, 6) + 0.0 for part in vector)
    return x, y, z


def _faces(feature: Feature) -> str:
    return " ".join(str(n) for n in feature.faces)
