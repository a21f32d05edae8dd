"""How the work is held, in words: each that the route says names its key, and put together they are the sheet's."""

from __future__ import annotations

from firstoff.job.edits import apply_edits
from firstoff.sheets.held import held, held_pieces

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
