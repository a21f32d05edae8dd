"""The JSON that outside checks rely on, and the table for the terminal."""

from __future__ import annotations

import json

import pytest

from firstoff.part import report
from tests.part import models

KINDS = {"hole", "pocket", "slot", "passage", "step", "boss", "ramp", "chamfer", "fillet", "groove", "free_form",
         "stock", "not_understood"}


@pytest.mark.parametrize("name", models.NAMES)
def test_the_json_has_what_is_promised(name: str) -> None:
    part = models.example(name)
    told = json.loads(json.dumps(report.as_json(part), allow_nan=False))
    assert {"unit", "bounding_box", "volume", "faces", "features", "limits"} <= set(told)
    assert told["unit"] == "mm"
    assert told["bounding_box"] == {"low": list(part.low), "high": list(part.high)}
    assert told["faces"] == len(part.faces)
    assert sorted(n for feature in told["features"] for n in feature["faces"]) == list(range(told["faces"]))
    for feature in told["features"]:
        assert {"kind", "sides", "through", "open", "faces", "axis", "size"} <= set(feature)
        assert feature["kind"] in KINDS
        assert all(isinstance(value, float) for value in feature["size"].values())


def test_what_repeats_is_told_apart_from_the_features() -> None:
    part = models.example("sole")
    told = report.as_json(part)
    assert told["patterns"] and [tuple(row["features"]) for row in told["patterns"]] == [
        pattern.features for pattern in part.patterns]
    known = {feature["id"] for feature in told["features"]}
    assert all(set(row["features"]) <= known and len(row["features"]) > 1 for row in told["patterns"])


@pytest.mark.parametrize("name", models.NAMES)
def test_every_feature_has_its_line(name: str) -> None:
    part = models.example(name)
    lines = report.as_lines(part)
    notes = sum(len(feature.notes) for feature in part.features) + len(part.remarks)
    assert len(lines) == 2 + len(part.features) + notes
    assert part.file in lines[0]
    assert lines[0].split(", ")[2] == f"{len(part.faces)} faces"


def test_sizes_read_as_the_trade_says_them() -> None:
    text = "\n".join(report.as_lines(models.example("sole")))
    assert "Ø4.5, 5 deep, countersunk Ø9.6 × 90°" in text
    text = "\n".join(report.as_lines(models.example("body")))
    assert "at 22°" in text
    assert "-Z" in text
