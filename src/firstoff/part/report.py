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
    "far_counterbore_diameter": "counterbored Ø{:.4g}", "far_counterbore_depth": "× {:.4g} deep on the far side",
    "seat_angle": "its seat {:.4g}°", "far_seat_angle": "the far seat {:.4g}°", "taper_angle": "taper of {:.4g}°",
    "far_diameter": "to Ø{:.4g}", "inner_diameter": "round a core of Ø{:.4g}", "inner_width": "{:.4g} wide inside",
    "wall": "leaves a wall of {:.4g}", "floor": "leaves a floor of {:.4g}", "inside_radius": "inside corners R{:.4g}",
    "far_countersink_diameter": "countersunk Ø{:.4g} on the far side", "far_countersink_angle": "× {:.4g}°",
}
_FEW = 8                                 # faces of a limit that a line names
_NAMES = {"free_form": "free form", "not_understood": "not understood"}


def as_json(part: Part) -> dict[str, Any]:
    """The JSON of `firstoff part FILE --json`; all lengths in mm, angles in degrees."""
    return {
        "unit": part.unit,
        "bounding_box": {"low": list(part.low), "high": list(part.high)},
        "volume": part.volume,
        "faces": len(part.faces),
        "features": [_feature(feature) for feature in part.features],
        "patterns": [{"kind": p.kind, "features": list(p.features), "size": dict(p.size)} for p in part.patterns],
        "limits": [_limit(limit) for limit in part.limits],
        "datums": [{"letter": d.letter, "faces": list(d.faces), "targets": list(d.targets)} for d in part.datums],
        "file": part.file,
        "schema": part.schema,
        "solids": part.solids,
        "names": list(part.names),
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
        "lower": limit.lower, "datums": list(limit.datums), "unit": limit.unit, "text": limit.text,
        "between": [list(end) for end in limit.between],
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
    return lines + _solid_lines(part) + _limit_lines(part)


def _solid_lines(part: Part) -> list[str]:
    """The solids of an assembly, with their names, sizes and faces."""
    if part.solids < 2:
        return []
    lines = ["", f"{part.solids} solids; one alone is written {part.file}#name or {part.file}#2"]
    for number, name in enumerate(part.names):
        own = [face for face in part.faces if face.solid == number]
        sides = [max(f.high[k] for f in own) - min(f.low[k] for f in own) for k in range(3)]
        size = " × ".join(f"{side:.6g}" for side in sides)
        lines.append(f"{number + 1}  {name}: {size} mm, faces {own[0].number} to {own[-1].number}")
    return lines


def _limit_lines(part: Part) -> list[str]:
    """The limits that the file carries, in columns, and its datums."""
    if not part.limits and not part.datums:
        return []
    rows = [("limit", "value", "from", "to", "datums", "faces"), *(_limit_row(limit) for limit in part.limits)]
    widths = [max(len(row[k]) for row in rows) for k in range(5)]
    lines = ["", f"{len(part.limits)} limit{'' if len(part.limits) == 1 else 's'} in the file"]
    for row in rows if part.limits else []:
        lines.append("  ".join((*(cell.ljust(w) for cell, w in zip(row, widths, strict=False)), row[5])).rstrip())
    for datum in part.datums:
        made = "face " + " ".join(str(n) for n in datum.faces) if datum.faces else "no face named"
        targets = f", targets {' '.join(datum.targets)}" if datum.targets else ""
        lines.append(f"datum {datum.letter}: {made}{targets}")
    return lines


def _limit_row(limit: ModelLimit) -> tuple[str, str, str, str, str, str]:
    sign = "°" if limit.unit == "degrees" else ""
    value, low, high = ("" if x is None else f"{x:.6g}{sign}" for x in (limit.value, limit.lower, limit.upper))
    faces = " ".join(str(n) for n in limit.faces[:_FEW]) + (" ..." if len(limit.faces) > _FEW else "")
    return (limit.kind.replace("_", " "), value or ("no value" if not low + high else ""), low, high,
            " ".join(limit.datums), "  ".join(filter(None, (faces, limit.text))))


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
    told = {key: value for key, value in feature.size.items() if not _said(feature, key)}
    parts = [_WORDS.get(key, key.replace("_", " ") + " {:.4g}").format(value) for key, value in told.items()]
    sharp = ["sharp inside corners"] if feature.size.get("inside_radius") == 0.0 else []
    return ", ".join(parts + sharp).replace(", ×", " ×")


def _said(feature: Feature, key: str) -> bool:
    """The smallest inside radius is one of the radii that are told; nought is told as sharp."""
    radii = (0.0, feature.size.get("corner_radius"), feature.size.get("floor_radius"))
    return key == "inside_radius" and feature.size[key] in radii


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
