"""The digest of a part and of drawings as JSON, to the last bit of every number and back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

import pydantic_core

from firstoff.part.shapes import Edge, Face, Feature, ModelDatum, ModelLimit, Part, Pattern, View


def to_json(part: Part) -> str:
    """The part as one JSON text."""
    return json.dumps(asdict(part), allow_nan=False, separators=(",", ":"))


def from_json(text: str) -> Part:
    """The part that `to_json` wrote.

    Raises:
        ValueError, TypeError, KeyError: if the text is not such a JSON.
    """
    return part_of(json.loads(text))


def part_of(data: dict[str, Any]) -> Part:
    """The part from its JSON object."""
    kinds: dict[str, Any] = {"faces": Face, "edges": Edge, "features": Feature, "limits": ModelLimit,
                             "datums": ModelDatum, "patterns": Pattern}
    parts = {key: tuple(kind(**_fields(row)) for row in data[key]) for key, kind in kinds.items()}
    return Part(**{**_fields(data), **parts})


def parts_json(parts: Mapping[str, Part]) -> str:
    """The parts that a route was planned on, by their names in the job, as one JSON text."""
    rows = {name: asdict(part) for name, part in parts.items()}
    return json.dumps({"parts": rows}, allow_nan=False, separators=(",", ":"))


def parts_of(text: str | bytes, known: Mapping[str, Part]) -> dict[str, Part]:
    """The parts that `parts_json` wrote; none where the text is not whole or of another version of this program.

    Args:
        text: that it wrote.
        known: parts that are told by their models alone: of a model that is still the same the part is at hand.
    """
    same = {part.sha256: part for part in known.values()}
    try:
        rows = pydantic_core.from_json(text)["parts"]
        return {name: same.get(row["sha256"]) or part_of(row) for name, row in rows.items()}
    except (ValueError, TypeError, KeyError, AttributeError):
        return {}


def views_json(views: Iterable[View]) -> str:
    """Drawings as one JSON text."""
    return json.dumps({"views": [asdict(view) for view in views]}, allow_nan=False, separators=(",", ":"))


def views_of(data: dict[str, Any]) -> tuple[View, ...]:
    """The drawings from their JSON object."""
    return tuple(View(**_fields(row)) for row in data["views"])


def _fields(row: dict[str, Any]) -> dict[str, Any]:
    return {key: _tuples(value) for key, value in row.items()}


def _tuples(value: Any) -> Any:
    """Lists come back as the tuples they were, each of things of one kind; `size` stays a dictionary."""
    if not isinstance(value, list):
        return value
    return tuple(map(_tuples, value)) if value and isinstance(value[0], list) else tuple(value)
