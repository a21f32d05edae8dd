"""Ways of working: a block squared, a plate turned over, a dome glued; every feature given once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.job.faces import DIRECTIONS, dot
from firstoff.part.shapes import Feature
from firstoff.route.blank import Blank, blank_of
from firstoff.route.settings import GRIP, LEFT_FOR_LAST, SPRING, TO_SUIT, Draft, main_side, reached, ways_of
from tests.route.made import blank, block, example_job, example_parts, moved

VISE, REACH = 100.0, 22.0


def first_way(laid: Blank) -> list[Draft]:
    return ways_of(laid, VISE, REACH)[0]


def of_example(name: str) -> Blank:
    return blank_of(name, example_job().parts[name], example_parts()[name])


def cut(drafts: list[Draft]) -> list[str]:
    return [w.name for d in drafts for w in d.work]


def test_the_main_side_is_where_the_pocket_is() -> None:
    assert main_side(blank()) == "+Z"
    below = moved(block(), "pocket-1", access=((0.0, 0.0, -1.0),))
    assert main_side(blank(below)) == "-Z"


def test_a_block_is_squared_before_anything_is_cut_in_it() -> None:
    drafts = first_way(blank())
    assert [w.name for d in drafts[:3] for w in d.work] == ["+Z", "+Y", "-Y"]
    assert drafts[1].grip[0] == drafts[2].grip[0] == "+Z", "the first side goes to the fixed jaw"
    assert drafts[2].rest == "+Y", "the second edge sits on the first"
    first_feature = min(i for i, d in enumerate(drafts) if any(w.what == "feature" for w in d.work))
    assert first_feature >= 3


def test_short_parts_have_their_ends_milled_standing() -> None:
    ends = [d for d in first_way(blank()) if any(w.name in ("+X", "-X") for w in d.work)]
    assert [d.rest for d in ends] == ["-X", "+X"]
    assert all(w.what == "face" for d in ends for w in d.work)


def test_ends_that_stick_out_of_the_jaws_are_milled_by_the_flank() -> None:
    drafts = first_way(of_example("body"))
    flanks = [w for d in drafts for w in d.work if w.what == "flank"]
    assert {w.name for w in flanks} == {"+X", "-X"}
    assert all(w.deep > of_example("body").extent("Z") / 2.0 for w in flanks), "flutes of 22 cut 24 from both sides"


def test_holes_come_while_the_block_is_whole() -> None:
    drafts = first_way(blank())
    hole = next(i for i, d in enumerate(drafts) if any(w.name == "hole-1" for w in d.work))
    pocket = next(i for i, d in enumerate(drafts) if any(w.name == "pocket-1" for w in d.work))
    assert hole < pocket


@pytest.mark.parametrize("name", ["body", "sole", "cap"])
def test_every_feature_is_given_to_a_setting_that_reaches_it(name: str) -> None:
    laid = of_example(name)
    drafts = ways_of(laid, VISE, REACH)[-1]
    given = [w.name for d in drafts for w in d.work if w.what == "feature" and w.stage in ("all", "rough")]
    assert sorted(given) == sorted(f.id for f in laid.features())
    for draft in drafts:
        for work in draft.work:
            feature = laid.part.feature(work.name) if work.what == "feature" else None
            if feature is not None and feature.kind != "fillet" and work.stage != "hand":
                assert reached(feature, draft.up), (work, draft.up)


def test_a_sprung_plate_is_turned_over_twice() -> None:
    drafts = first_way(of_example("sole"))
    faces = [(w.name, w.leaves) for d in drafts for w in d.work if w.what == "face"]
    assert faces == [("-Z", SPRING), ("+Z", 0.0), ("+Y", 0.0), ("-Y", 0.0), ("-Z", 0.0)]


def test_what_is_cut_last_comes_last() -> None:
    drafts = first_way(of_example("sole"))
    rough = [i for i, d in enumerate(drafts) for w in d.work if w.name == "passage-1" and w.stage == "rough"]
    finish = [i for i, d in enumerate(drafts) for w in d.work if w.name == "passage-1" and w.stage == "finish"]
    assert len(rough) == len(finish) == 1
    assert all(w.leaves == LEFT_FOR_LAST for d in drafts for w in d.work if w.stage == "rough")
    assert drafts[finish[0]].notes == (TO_SUIT,)
    assert [d.way for d in drafts[finish[0]:]] == ["vise", "bench"]


def test_a_dome_is_glued_by_the_flat_across_from_it() -> None:
    for way in ways_of(of_example("cap"), VISE, REACH):
        carrier = way[-1]
        assert (carrier.way, carrier.rest, carrier.up) == ("carrier", "-Z", DIRECTIONS["+Z"])
        assert "free_form-1" in cut([carrier])
        assert "free_form-1" not in cut(way[:-1])


def test_a_round_corner_goes_with_the_outline() -> None:
    below, edge = ways_of(of_example("cap"), VISE, REACH)
    assert {"fillet-1", "fillet-2"} <= set(cut(below[:1])), "held below: outline with the holes"
    assert {"fillet-1", "fillet-2"} <= set(cut(edge[-1:])), "on edge: outline on the carrier"


def test_a_slanting_hole_has_a_tilted_setting() -> None:
    way = (0.6, 0.0, 0.8)
    slanting = Feature("hole-2", "hole", (12,), axis=way, access=(way,), size={"diameter": 5.0, "depth": 6.0})
    tilted = [d for d in first_way(blank(block(extra=(slanting,)))) if d.way == "tilted"]
    assert len(tilted) == 1
    assert tilted[0].up == way
    assert tilted[0].grip == ("+Y", "-Y"), "the sides that stand upright when it is tilted"
    assert tilted[0].rest == "-Z"


def test_a_cross_hole_has_a_setting_of_its_own() -> None:
    side = (1.0, 0.0, 0.0)
    across = Feature("hole-2", "hole", (12,), axis=side, access=(side,), size={"diameter": 5.0, "depth": 6.0})
    part = block(extra=(across,))
    draft = next(d for d in first_way(blank(part)) if "hole-2" in cut([d]))
    assert draft.up == side
    assert draft.rest == "-X"
    assert all(abs(dot(DIRECTIONS[g], draft.up)) < 1e-9 for g in draft.grip)


def test_stock_without_allowance_needs_no_squaring() -> None:
    bare = blank(stock={"size": ["60 mm", "40 mm", "20 mm"], "condition": "milled"})
    assert set(cut(first_way(bare))) == {"pocket-1", "hole-1"}


def test_a_chamfer_by_file_is_not_milled_too() -> None:
    edge = Feature("chamfer-1", "chamfer", (0,), access=((0.0, 0.0, 1.0),), size={"width": 0.5, "angle": 45.0})
    laid = blank(block(extra=(edge,)), by_hand={"chamfer-1": "file"})
    works = [(d.way, w.stage) for d in first_way(laid) for w in d.work if w.name == "chamfer-1"]
    assert works == [("bench", "hand")]
    milled = blank(block(extra=(edge,)))
    assert [(d.way, w.stage) for d in first_way(milled) for w in d.work if w.name == "chamfer-1"] == [("vise", "all")]


def test_held_below_leaves_the_jaws_something() -> None:
    laid = of_example("cap")
    thick = replace(laid, allowance={**laid.allowance, "+Z": GRIP + 1.0})
    assert ways_of(thick, VISE, REACH)[0][0].below > 0.0
