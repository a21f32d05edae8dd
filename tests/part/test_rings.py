"""Grooves that run round, within a bore and in a face."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.part.shapes import Part
from tests.part import models

BORE = models.bar((30, 30, -1), (0, 0, 1), 20, 60)


def block(folder: Path, *tools: object) -> Part:
    """A block with tools cut out of it."""
    return models.digest(models.without(models.box(60, 60, 40), *tools), folder)


def test_a_groove_in_a_bore_is_no_counterbore(tmp_path: Path) -> None:
    part = block(tmp_path, BORE, models.bar((30, 30, 18), (0, 0, 1), 24, 3))
    hole, = models.of_kind(part, "hole")
    groove, = models.of_kind(part, "groove")
    assert hole.through and "counterbore_diameter" not in hole.size
    assert (groove.size["diameter"], groove.size["width"], groove.size["depth"]) == pytest.approx((24, 3, 2))
    assert groove.access == () and len(hole.access) == 2


def test_a_wider_mouth_is_a_counterbore_and_no_groove(tmp_path: Path) -> None:
    part = block(tmp_path, BORE, models.bar((30, 30, 30), (0, 0, 1), 24, 30))
    hole, = models.of_kind(part, "hole")
    assert not models.of_kind(part, "groove")
    assert hole.size["counterbore_diameter"] == pytest.approx(24)


def test_a_ring_sunk_in_a_face_is_a_groove_with_its_core(tmp_path: Path) -> None:
    ring = models.without(models.bar((30, 30, 37), (0, 0, 1), 50, 30), models.bar((30, 30, 30), (0, 0, 1), 44, 60))
    part = block(tmp_path, ring)
    groove, = models.of_kind(part, "groove")
    sizes = [groove.size[key] for key in ("diameter", "inner_diameter", "depth")]
    assert sizes == pytest.approx([50, 44, 3])
    assert groove.axis == (0.0, 0.0, 1.0) and not models.of_kind(part, "boss")


def test_a_core_that_stands_higher_is_a_boss(tmp_path: Path) -> None:
    ring = models.without(models.bar((30, 30, 30), (0, 0, 1), 50, 30), models.bar((30, 30, 20), (0, 0, 1), 44, 60))
    low = models.without(models.box(60, 60, 50), models.without(models.box(60, 60, 20, (0, 0, 36)), models.bar(
        (30, 30, 0), (0, 0, 1), 44, 60)), ring)
    part = models.digest(low, tmp_path)
    groove, = models.of_kind(part, "groove")
    boss, = models.of_kind(part, "boss")
    assert groove.size["depth"] == pytest.approx(6) and boss.size["diameter"] == pytest.approx(44)
