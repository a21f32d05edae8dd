from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks._makers import Broken
from firstoff.checks._orientations import OCTAGON, oriented
from firstoff.checks._sizes import Spreads, spreads
from firstoff.checks.size import CHECK
from firstoff.part.shapes import Face, Feature
from tests.checks.builders import HEIGHT, WIDTH, belief, block, chance, rises
from tests.checks.size_cases import BOTH_WALLS, TURNED, made, op

ZONE = {"tolerance": "+0.03 mm / 0 mm"}
ENDS = {"end": op(10, "stock-2"), "side": op(20, "stock-3")}


def of(kind: str, ops: dict[str, dict[str, Any]], *between: str, **believed: float) -> Spreads:
    this, limit = made(ops, *between, kind=kind, **ZONE)
    about = belief(**believed)
    found = oriented(this, limit, about)
    return spreads(found, about, (found.middle, *found.corners))


def test_turned_over_a_face_is_as_parallel_as_the_part_sat() -> None:
    found = of("parallelism", TURNED, "-Z", "+Z")
    assert set(found.shares()) == {"how the part sits", "lift by the jaw"}, "heights drop out"


def test_two_floors_of_one_setting_are_parallel() -> None:
    ops = {"top": op(10, "stock-6", role="face_finish"), "again": op(20, "stock-6", role="face_finish")}
    this, limit = made(ops, "+Z", "+Z", kind="parallelism", **ZONE)
    found = oriented(this, limit, belief())
    assert found.names() == ()


def test_a_lift_of_the_jaw_tilts_by_its_full_amount_over_the_width() -> None:
    """With nothing else, the zone over the face is the lift's share between the rests, drawn out to the edges."""
    found = of("parallelism", TURNED, "-Z", "+Z")
    lift = found.lines[0, found.labels.index("lift by the jaw")]
    assert abs(lift) == pytest.approx(1.0, rel=0.01), "from jaw to jaw it is the whole lift"


def test_squareness_in_one_setting_is_the_machines() -> None:
    """Walls of one clamping: the axes' angle over the height of the face that is measured along the other."""
    this, limit = made(ENDS, "+X", "-Y", kind="squareness", **ZONE)
    about = belief()
    found = oriented(this, limit, about)
    assert {found.sources[name].label for name in found.names()} == {"axes out of square"}
    assert abs(found.middle["squareness:mill"]) == pytest.approx(WIDTH * 1e-3)


def test_squareness_of_side_to_top_counts_seat_and_tram() -> None:
    found = of("squareness", {**BOTH_WALLS, "top": op(30, "stock-6", role="face_finish")}, "-Y", "+Z")
    assert np.abs(found.offset[:, 0]).max() > 0.0, "tram leans the wall"


def test_position_of_a_hole_both_ways() -> None:
    bore = Face(6, 0, "cylinder", 300.0, (20.0, 10.0, HEIGHT / 2), (1.0, 0.0, 0.0), (17.0, 7.0, 0.0),
                (23.0, 13.0, HEIGHT), axis_point=(20.0, 10.0, 0.0), axis=(0.0, 0.0, 1.0), radius=3.0, hollow=True)
    part = block(Feature("hole-1", "hole", (6,), axis=(0.0, 0.0, 1.0), size={"diameter": 6.0}), faces=(bore,))
    ops = {"end": op(10, "stock-1"), "side": op(20, "stock-3"), "spot": op(30, "hole-1", role="spot"),
           "drill": op(40, "hole-1", role="drill")}
    this, limit = made(ops, "hole-1", "-X", "-Y", kind="position", tolerance="+0.2 mm / 0 mm")
    this = replace(this, parts={"block": part})
    about = belief()
    found = oriented(this, limit, about)
    across, away = found.corners[0], found.corners[2]
    assert across["wander:spot:6:x"] == pytest.approx(-1.0 / OCTAGON) and "wander:spot:6:y" in away
    assert 0.0 < chance(CHECK, this) < 0.5
    rises(CHECK, [replace(this, limit=limit.model_copy(update={"tolerance": (0.0, t)})) for t in (0.3, 0.15, 0.05)])


def test_the_octagon_is_as_likely_as_the_circle() -> None:
    draws = np.random.default_rng(1).standard_normal((200_000, 2))
    ways = np.array([[np.cos(k * np.pi / 4), np.sin(k * np.pi / 4)] for k in range(4)])
    for reach in (1.5, 2.5):
        circle = (np.hypot(*draws.T) > reach).mean()
        octagon = (np.abs(draws @ ways.T / OCTAGON) > reach).any(axis=1).mean()
        assert octagon == pytest.approx(circle, rel=0.06)


@pytest.mark.parametrize(("kind", "between", "words"), [
    ("parallelism", ("-Z", "+X"), "not parallel"), ("squareness", ("-Z", "+Z"), "not square"),
    ("angle", ("-Z", "+Z"), "write a parallelism"), ("position", ("+Z", "-X", "-Y"), "a hole and two flat faces"),
])
def test_what_does_not_suit_is_told(kind: str, between: tuple[str, ...], words: str) -> None:
    ops = {**TURNED, **{f"s{k}": op(30 + k, f"stock-{k}") for k in (1, 2, 3, 4)}}
    with pytest.raises(Broken, match=words):
        of(kind, ops, *between)

