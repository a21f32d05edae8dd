"""The way round is a result: of play against chip, and of pull against what the slides hold."""

from __future__ import annotations

from typing import Any

import pytest

from firstoff.route.way_round import SURE, Band, Way, law_of, pull, upper, way_round
from firstoff.shop.models import Machine
from firstoff.tomlfile import KEPT
from tests.route.made import shop

SHOP = shop()
MILL, GANTRY = SHOP.machines["mill"], SHOP.classes["light_gantry"]
TOOL, STEEL = SHOP.tools["end_mill_6_3f"], SHOP.materials["s275_hot_rolled"]
ROUGH, FINE = Band(0.03, 2.0, 2.0), Band(0.02, 0.2, 0.05)


def measured(value: float) -> dict[str, Any]:
    return {"value": value, "sd": 0.1 * value, "source": "measured"}


def with_play(play: float, drag: float = 15.0) -> Machine:
    table = {**MILL.model_dump(exclude_unset=True), "lost_motion": measured(play), "slide_drag": measured(drag)}
    return Machine.model_validate(table, context=KEPT)


def way(machine: Machine, band: Band) -> Way:
    return way_round(machine, GANTRY, TOOL, STEEL, band)


@pytest.mark.parametrize(("play", "drag", "band", "wanted"), [
    (0.005, 15.0, ROUGH, "climb"),            # less than the chip: it may be pulled
    (0.1, 15.0, ROUGH, "conventional"),       # more than the chip, and the cut pulls
    (0.1, 4000.0, ROUGH, "climb"),            # more than the chip, but the slides hold
    (0.1, 150.0, FINE, "climb"),              # a light finish on heavy slides
])
def test_both_ways_are_computed(play: float, drag: float, band: Band, wanted: str) -> None:
    found = way(with_play(play, drag), band)
    assert found.direction == wanted
    assert found.because.startswith(wanted)


def test_the_reason_tells_both_ways() -> None:
    because = way(with_play(0.1), ROUGH).because
    assert because.startswith("conventional pushes back; a climb cut would pull the table with about")
    assert "0.12 mm of lost motion" in because
    assert "e+" not in way(with_play(0.5), Band(0.08, 6.0, 3.0)).because


def test_the_reason_is_told_in_the_shop_s_units() -> None:
    because = way_round(with_play(0.1), GANTRY, TOOL, STEEL, ROUGH, "in").because
    assert "0.0046 in of lost motion" in because and " mm" not in because


def test_what_is_not_known_is_taken_on_the_careful_side() -> None:
    unknown = SHOP.materials["unknown_bar"]
    assert law_of(unknown) is None
    found = way_round(with_play(0.1), GANTRY, TOOL, unknown, ROUGH)
    assert found.direction == "conventional" and "may pull" in found.because
    bare = Machine.model_validate({"name": "bare", "like": "light_gantry"}, context=KEPT)
    assert way_round(bare, None, TOOL, STEEL, ROUGH).direction == "conventional"


def test_a_climb_cut_pulls_and_a_conventional_one_does_not() -> None:
    law = law_of(STEEL)
    assert law is not None
    assert pull(law, TOOL, ROUGH, "climb") > 10.0
    assert pull(law, TOOL, ROUGH, "conventional") <= 0.0


def test_the_spread_of_a_figure_is_used() -> None:
    play, book = with_play(0.1).lost_motion, GANTRY.lost_motion
    assert play is not None and book is not None
    assert upper(play) == pytest.approx(0.1 + SURE * 0.01)
    assert upper(book) == pytest.approx(0.04 * 2.0**SURE)
    assert upper(book, -1.0) == pytest.approx(0.04 / 2.0**SURE)


def test_a_ball_is_reckoned_by_its_outline() -> None:
    """Shallow, most of a ball's edge stands under it and is pressed along the feed by turns, either way round."""
    ball, law, shallow = SHOP.tools["ball_6"], law_of(STEEL), Band(0.06, 0.1, 0.6)
    assert law is not None
    climb, other = (pull(law, ball, shallow, way) for way in ("climb", "conventional"))
    assert other > 0.0 and climb > 0.0
    found = way_round(with_play(0.1), GANTRY, ball, STEEL, shallow)
    assert found.direction == ("climb" if climb < other else "conventional")
    assert "either way" in found.because or "pulls with" in found.because


def test_the_same_ball_buried_pulls_as_a_slot_does() -> None:
    law, band = law_of(STEEL), Band(0.06, 3.0, 6.0)
    assert law is not None
    climb, other = (pull(law, SHOP.tools["ball_6"], band, way) for way in ("climb", "conventional"))
    assert climb == pytest.approx(other, rel=1e-6)
