"""No outside micrometer goes into a slot."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from firstoff.job.gauges import BESIDE_A_HOLE, DOWN, INSIDE, OUTSIDE, gauges
from firstoff.job.gauges import suited as suited_of
from firstoff.job.models import Limit
from firstoff.part.shapes import Part
from tests.checks import builders
from tests.dryrun import small

KINDS = ("distance", "size", "flatness", "depth", "parallelism", "squareness", "angle", "position", "clearance",
         "chain")


def slotted() -> Part:
    """The block with two walls of a slot, 16 to 24 in y, and its floor."""
    block = builders.block()
    near = builders._flat(6, (0.0, 1.0, 0.0), (10.0, 16.0, 12.0), (50.0, 16.0, 20.0))
    far = builders._flat(7, (0.0, -1.0, 0.0), (10.0, 24.0, 12.0), (50.0, 24.0, 20.0))
    floor = builders._flat(8, (0.0, 0.0, 1.0), (10.0, 16.0, 12.0), (50.0, 24.0, 12.0))
    return replace(block, faces=(*block.faces, near, far, floor))


def suited(one: str, two: str, part: Part | None = None, **changed: Any) -> tuple[str, ...]:
    limit = Limit.model_validate({"kind": "distance", "part": "block", "between": [one, two], "size": "8 mm",
                                  "tolerance": "±0.1 mm", **changed})
    return gauges(limit, builders.job(), {"block": part or slotted()})


@pytest.mark.parametrize(("one", "two", "kinds"), [
    ("-Y", "+Y", OUTSIDE), ("face 6", "face 7", INSIDE), ("face 7", "face 6", INSIDE), ("+Z", "face 8", DOWN),
    ("face 8", "+Z", DOWN), ("-Y", "face 6", OUTSIDE), ("+Y", "face 6", DOWN), ("-Z", "face 8", OUTSIDE)])
def test_by_how_the_faces_look_at_each_other(one: str, two: str, kinds: tuple[str, ...]) -> None:
    assert suited(one, two) == kinds


def test_a_hole_is_measured_from_its_rim() -> None:
    limit = Limit.model_validate({"kind": "distance", "part": "block", "between": ["hole-1", "-X"], "size": "24 mm",
                                  "tolerance": "±0.1 mm"})
    assert gauges(limit, small.job(), small.parts()) == BESIDE_A_HOLE


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_limit_has_some(kind: str) -> None:
    limit = Limit.model_construct(kind=kind, part="block", between=("-Y", "+Y"), tolerance=(-0.1, 0.1))
    assert gauges(limit, builders.job(), {"block": slotted()})


def test_a_limit_without_an_instrument_gets_the_coarsest_that_proves_it_else_the_finest() -> None:
    shop = builders.shop()
    mic = shop.instruments["mic"]
    rough = mic.model_copy(update={"name": "caliper", "kind": "caliper", "range": (0.0, 150.0),
                                   "uncertainty": mic.uncertainty.model_copy(update={"value": 0.02})})
    both = shop.model_copy(update={"instruments": {"mic": mic, "rough": rough}})

    def found(tolerance: str, nominal: float = 20.0) -> str | None:
        limit = Limit.model_validate({"kind": "distance", "part": "block", "between": ["-Y", "+Y"], "size": "20 mm",
                                      "tolerance": tolerance})
        return suited_of(limit, nominal, builders.job(), {"block": slotted()}, both)

    assert (found("±0.1 mm"), found("±0.02 mm"), found("±0.001 mm")) == ("rough", "mic", "mic")
    assert found("±0.1 mm", 500.0) is None, "nothing reaches so far"
