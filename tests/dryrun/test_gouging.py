"""Distances of a program to finished faces: only where the tool passes along them, inside their outline."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.dryrun.gouging import Faces, _shares, _within
from firstoff.dryrun.placing import Placed
from firstoff.removal.cutters import Cutter
from tests.checks.builders import case
from tests.dryrun import milled
from tests.removal.paths import along

SQUARE = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)])


def faces(finished: frozenset[int] = frozenset()) -> Faces:
    this = case(part=milled.parts()["block"])
    placed = Placed(this.part, this.wanted, this.setting, None)
    return Faces(placed, (0.0, 0.0, 20.0), Cutter.end_mill(6.0), finished)


def test_over_the_mouth_of_a_pocket_the_top_is_not_cut_into() -> None:
    looked = faces()
    looked.look(along((30.0, 20.0, 5.0), (30.0, 20.0, -7.0), (35.0, 20.0, -7.0)))
    assert looked.gouged == {}


@pytest.mark.parametrize("deep", [0.03, 0.5])
def test_a_cut_across_the_top_is_told_to_the_micrometre(deep: float) -> None:
    looked = faces()
    looked.look(along((5.0, 5.0, -deep), (5.0, 35.0, -deep)))
    assert looked.gouged[5].size == pytest.approx(deep, abs=1e-6)
    assert looked.gouged[5].what == "face 5 (+Z)"
    looked.look(along((30.0, 20.0, 5.0), (30.0, 20.0, -8.05), (35.0, 20.0, -8.05)))
    assert "pocket" in next(spot.what for number, spot in looked.gouged.items() if number != 5)


@pytest.mark.parametrize("deep", [0.0, 0.3, 2.0])
def test_a_wall_is_cut_into_no_deeper_than_below_its_edge(deep: float) -> None:
    """A pass over the top, along the pocket and 1.5 mm over its wall: what is too deep is the top, not the wall."""
    looked = faces()
    looked.look(along((25.0, 11.5, -deep), (35.0, 11.5, -deep)))
    size = max((spot.size for spot in looked.gouged.values()), default=0.0)
    assert size == pytest.approx(min(deep, 1.5), abs=1e-6)


def test_what_lies_behind_a_wall_is_another_face_s_work() -> None:
    looked = faces()
    looked.look(along((8.0, 20.0, -4.0), (9.0, 20.0, -4.0)))     # in the wall beside the pocket, deep in its top
    assert set(looked.gouged) == set()                          # deeper than a radius: not this face's pass


def test_the_nearest_pass_says_what_is_left() -> None:
    looked = faces(frozenset({5}))
    looked.look(along((5.0, 5.0, 0.4), (5.0, 35.0, 0.4)))
    looked.look(along((5.0, 5.0, 0.1), (5.0, 35.0, 0.1)))
    assert [spot.size for spot in looked.left] == pytest.approx([0.1])


def test_points_on_an_edge_are_not_inside() -> None:
    points = np.array([(2.0, 2.0), (0.0, 2.0), (5.0, 2.0), (3.99, 2.0), (1.0, 1.0)])
    hole = SQUARE * 0.25 + 0.5
    assert _within(points, [SQUARE, hole], upright=False).tolist() == [True, False, False, False, False]


@pytest.mark.parametrize("deep", [0.03, 0.5])
def test_a_pass_that_comes_in_over_one_edge_and_leaves_over_another_is_seen(deep: float) -> None:
    """All across the part and beyond, also over the mouth of the pocket; not where it runs in the air beside it."""
    for y in (5.0, 20.0):
        looked = faces()
        looked.look(along((-20.0, y, -deep), (120.0, y, -deep)))
        assert looked.gouged[5].size == pytest.approx(deep, abs=1e-6)
    beside = faces()
    beside.look(along((-20.0, -9.0, -deep), (120.0, -9.0, -deep)))
    assert 5 not in beside.gouged


def test_a_pass_that_dives_is_as_deep_as_where_it_leaves() -> None:
    looked = faces()
    looked.look(along((5.0, 5.0, 0.3), (5.0, 35.0, -0.3)))
    assert looked.gouged[5].size == pytest.approx(0.3, abs=1e-6)
    shares = _shares(np.array([(-1.0, 2.0)]), np.array([(5.0, 2.0)]), [SQUARE])[1]
    assert {round(float(share), 3) for share in shares} >= {0.183, 0.5, 0.817}
