"""What is quick to compute is asked first, what tells most of what is dear next, and few rows walk by that."""

from __future__ import annotations

import math
from pathlib import Path

from firstoff.records.learn import Evidence, gather
from firstoff.records.reading import Reading
from firstoff.records.store import open_store
from firstoff.records.turns import DEAR, MOVES, QUICK_MOVES, WALKERS, in_turn, walking

from . import made


def evidence_of(folder: Path, *cuts: tuple[str, str], more: tuple[Reading, ...] = ()) -> list[Evidence]:
    """Words of cuts of several depths, and other readings of the last of them."""
    with open_store(folder) as store:
        for depth, word in cuts:
            made.place(depth).log(store, Reading(made.ROUGH, word=word))
        made.place().log(store, *more)
        return gather(store, store.valid(), made.book())


def test_readings_come_first_then_words_the_dear_ones_last(tmp_path: Path) -> None:
    watts = Reading(made.ROUGH, watts="120 W", idle="60 W")
    found = evidence_of(tmp_path, ("0.3 mm", "ok"), ("0.6 mm", "ok"), ("0.5 mm", "sang"), more=(watts,))
    readings, words = in_turn(found)
    assert readings.endless and not words.endless
    assert {o.kind for item in readings.pieces[0] if isinstance(item, Evidence) for _, o in item.seen} == {"watts"}
    names = [[item.check.name for item in piece if isinstance(item, Evidence)] for piece in words.pieces]
    assert not DEAR & set(names[0])
    assert all(set(piece) <= DEAR for piece in names[1:])
    assert sum(map(len, names)) + len(readings.pieces[0]) == len(found)
    assert all(most <= 0.0 for most in words.most) and len(words.most) == len(words.pieces)


def test_what_sang_and_what_was_deep_is_asked_before_what_was_shallow(tmp_path: Path) -> None:
    found = evidence_of(tmp_path, *((f"0.{i} mm", "ok") for i in range(1, 9)), ("0.45 mm", "sang"))
    dear = [item for piece in in_turn(found)[0].pieces[1:] for item in piece]
    chatter = [item for item in dear if isinstance(item, Evidence) and item.check.name == "chatter"]
    assert chatter[0].seen[0][1].word == "sang"
    depths = [item.case.op.cut.depth_of_cut or math.nan for item in chatter[1:]]
    assert depths == sorted(depths, reverse=True)


def test_few_rows_walk_by_what_is_dear_and_not_for_long(tmp_path: Path) -> None:
    watts = Reading(made.ROUGH, watts="120 W", idle="60 W")
    found = evidence_of(tmp_path, *((f"0.{i} mm", "ok") for i in range(1, 9)), more=(watts,))
    _, words = in_turn(found)
    quick = [item for item in found if item.check.name not in DEAR]
    assert walking(found, 4 * WALKERS) == WALKERS and walking(found, 100) == 100
    assert walking(quick, 4 * WALKERS) == 4 * WALKERS
    assert in_turn(quick)[0].moves(2048) == QUICK_MOVES
    assert MOVES[0] <= words.moves(2048) <= MOVES[1]
    assert words.moves(2048) == words.moves(WALKERS), "by the rows that walk, not by those that are wanted"
