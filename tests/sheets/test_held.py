"""How the work is held, in words: each that the route says names its key, and put together they are the sheet's."""

from __future__ import annotations

from firstoff.job.edits import apply_edits
from firstoff.sheets.held import LET_GO, TAPE_OFF, TRY, _by_device, held, held_pieces
from firstoff.shop.models import RatioFigure

from .made import result

RESULT = result()
SETTING = RESULT.route.settings["body-2"]


def test_pieces_put_together_are_what_the_sheet_says() -> None:
    told = dict(held(RESULT, SETTING))
    assert told["rests"] == "-Z down, on parallels 10 mm high"
    assert told["datums"] == "A = -Z, B = +Y, C = -X"
    assert [label for label, _ in held_pieces(RESULT, SETTING)] == [label for label, _ in held(RESULT, SETTING)]


def test_every_piece_with_a_key_is_there_in_the_route() -> None:
    keys = [(f"settings.body-2.{key}", text) for _, pieces in held_pieces(RESULT, SETTING) for text, key in pieces
            if key and not key.endswith("device")]
    assert len(keys) > 10
    assert apply_edits(RESULT.route, keys).settings["body-2"].datums == SETTING.datums


def test_what_is_left_out_is_told_where_it_can_be_written() -> None:
    bare = SETTING.model_copy(update={"holding": SETTING.holding.model_copy(
        update={"parallels": 0.0, "tapped": False, "stop": None})})
    every = {label: "".join(text for text, _ in pieces) for label, pieces in held_pieces(RESULT, bare, every=True)}
    assert every["rests"] == "-Z down, no parallels, not tapped down"
    assert every["stop"] == "none"
    assert dict(held(RESULT, bare))["rests"] == "-Z down"


def test_each_holding_says_what_to_try_and_how_to_let_go() -> None:
    for kind in ("vise", "angle_block", "v_block", "collet_block", "three_jaw", "edge_clamps", "clamps", "screws",
                 "carrier"):
        assert TRY[kind] and LET_GO[kind]
    device = next(d for d in RESULT.shop.devices.values())
    figure = RatioFigure.model_validate({"value": 0.2, "factor": 2.0, "source": "judged"})
    glue, tape = (device.model_copy(update={"kind": "carrier", "creep": creep}) for creep in (None, figure))
    told = [dict(_by_device(d))["let go"][0][0] for d in (glue, tape)]
    assert "cold" in told[0] and told[1] == TAPE_OFF


def test_clamps_are_told_by_their_numbers_on_the_drawing() -> None:
    placed = SETTING.model_copy(update={"holding": SETTING.holding.model_copy(
        update={"clamps": ((45.0, 8.0), (45.0, 52.0))})})
    assert dict(held(RESULT, placed))["clamps"] == "K1 at 45 mm, 8 mm; K2 at 45 mm, 52 mm from the left front corner"
    assert "clamps" not in dict(held(RESULT, SETTING))
