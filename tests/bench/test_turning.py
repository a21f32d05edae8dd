"""A part that can be turned: every flat face is there, and knows which operations make it."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff import actions
from firstoff.bench.turning import limits_of, makers, solid
from firstoff.dryrun.result import Result


@pytest.fixture(scope="module")
def checked(planned_block: Path) -> Result:
    """The block, checked; nothing is written."""
    return actions.check(planned_block, instead=False)


def test_every_face_is_there_with_its_outline(checked: Result) -> None:
    found = solid(checked, "block")
    assert [face["number"] for face in found["faces"]] == list(range(6))
    assert all(len(loop) % 3 == 0 and len(loop) >= 12 for face in found["faces"] for loop in face["loops"])
    assert len(found["edges"]) == 12


def test_outlines_lie_on_the_part(checked: Result) -> None:
    found = solid(checked, "block")
    for face in found["faces"]:
        for loop in face["loops"]:
            for axis in range(3):
                assert all(found["low"][axis] - 0.01 <= v <= found["high"][axis] + 0.01 for v in loop[axis::3])


def test_a_face_knows_its_limits_and_what_endangers_it(checked: Result) -> None:
    top = next(face.number for face in checked.parts["block"].faces if face.normal[2] > 0.9)
    side = next(face.number for face in checked.parts["block"].faces if face.normal[0] > 0.9)
    limits = limits_of(checked, "block")
    assert limits[top][0].startswith("height: ") and "out " in limits[top][0]
    assert side not in limits
    face = next(face for face in solid(checked, "block")["faces"] if face["number"] == top)
    bad = [c for c in checked.checks if c.verdict != "good" and c.operation.startswith("block-top")]
    assert bool(face["dangers"]) == bool(bad) and all(" in " in text for text in face["dangers"])


def test_a_face_knows_its_operations_in_their_order(checked: Result) -> None:
    made = makers(checked, "block")
    top = next(face.number for face in checked.parts["block"].faces if face.normal[2] > 0.9)
    wanted = [op.number for key, op in checked.route.in_order() if key.startswith("block-top")]
    assert made[top] == wanted
    assert wanted
