"""Slots that lean or step, and what is none: passages, steps, rectangular slots."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.part import graph, troughs
from firstoff.part.shapes import Part
from tests.part import models


def of(part: Part) -> list[troughs.Trough | None]:
    """What is said of each feature that is not stock."""
    one = graph.make(part.faces, part.edges)
    return [troughs.find(one, f.faces) for f in part.features if f.kind != "stock"]


def test_a_rectangular_slot_is_a_trough_that_does_not_lean(tmp_path: Path) -> None:
    part = models.digest(models.without(models.box(40, 30, 20), models.box(60, 8, 20, (-5, 8, 14))), tmp_path)
    found, = of(part)
    assert found is not None and found.mouth == pytest.approx((0, 0, 1))
    assert abs(found.run[0]) == pytest.approx(1.0)
    slot, = models.of_kind(part, "slot")
    assert not troughs.leans(graph.make(part.faces, part.edges), slot.faces, found)
    assert "inner_width" not in slot.size


def test_a_step_and_a_pocket_are_none(tmp_path: Path) -> None:
    for tool in (models.box(60, 8, 20, (-5, -1, 14)), models.box(20, 8, 20, (5, 8, 14))):
        assert of(models.digest(models.without(models.box(40, 30, 20), tool), tmp_path)) == [None]


def test_a_passage_that_another_breaks_into_is_no_slot(tmp_path: Path) -> None:
    across = [models.box(60, 8, 6, (-5, 8, 7)), models.box(8, 6, 40, (15, 8, -5))]
    part = models.digest(models.without(models.box(40, 30, 20), *across), tmp_path)
    assert not models.of_kind(part, "slot")


def test_a_slit_into_a_bore_is_a_slot(tmp_path: Path) -> None:
    bored = models.without(models.box(60, 30, 40), models.bar((30, -1, 20), (0, 1, 0), 20, 40))
    part = models.digest(models.without(bored, models.box(40, 40, 2, (28, -1, 19))), tmp_path)
    slot, = models.of_kind(part, "slot")
    assert (slot.size["width"], slot.size["length"]) == pytest.approx((2, 30)) and slot.open
