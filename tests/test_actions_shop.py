"""The shop as a person wants to see it: book and own figures, life used, and how often the book was right."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff import actions
from firstoff.actions_shop import lives, mill, standing, stood_on, tries, was_right
from firstoff.errors import NameUnknown, RecordError
from firstoff.records.reading import Reading

TOP = "block-top-rough"


def test_the_book_alone_where_nothing_was_learned(planned_block: Path) -> None:
    found = standing(planned_block)
    assert not found.own and "book figures only" in found.note
    figures = found.figures["machine:light_gantry"]
    assert all(figure.own is None and figure.own_says == "" for figure in figures)
    assert all(figure.book[0] <= figure.book[1] <= figure.book[2] for figure in figures)
    assert any("stiffness" in figure.name and "N/um" in figure.book_says for figure in figures)
    assert any(figure.book_says.startswith("within ") for figure in figures if "error" in figure.name)
    assert not any("like" in figure.name for figure in figures), "a place among the cuts is nothing that anybody sets"


def test_own_figures_stand_beside_the_book_s(block: Path) -> None:
    for _ in range(3):
        actions.log(block, Reading(TOP, word="sang"))
    actions.learn(block)
    found = standing(block)
    machine = actions.check(block, instead=False).route.settings["block-1"].machine
    own = [figure for figure in found.figures[f"machine:{machine}"] if figure.own is not None]
    assert own and all(figure.own_says for figure in own)
    assert found.figures[f"machine:{machine}"][0].own is not None             # what was learned comes first
    assert [(item.words, item.worked) for item in tries(block)] == [({"sang": 3}, False)]
    assert was_right(block).startswith("of 3 cuts ")


def test_what_a_check_stands_on_is_told_with_its_records(block: Path) -> None:
    before = stood_on(actions.check(block, instead=False), block)
    names = [one.name for one in before[TOP, "chatter"]]
    assert sum("like" in name for name in names) == 1 and any("in cuts like this one" in name for name in names)
    assert before[TOP, "chatter"] and not any(one.own or one.records for one in before[TOP, "chatter"])
    for _ in range(3):
        actions.log(block, Reading(TOP, word="sang"))
    actions.learn(block)
    after = stood_on(actions.check(block, instead=False), block)[TOP, "chatter"]
    assert {one.name for one in after} == {one.name for one in before[TOP, "chatter"]}
    own = [one for one in after if one.own]
    assert own and own == list(after[:len(own)]), "own ones first"
    assert {one.records for one in own} == {3}
    assert {one.records for one in after if not one.own} <= {0, 3}, "recorded, and still as the book has it"
    figures = [one for each in standing(block).figures.values() for one in each]
    assert {one.records for one in figures if one.own} == {3}
    assert {one.records for one in figures if not one.own} == {0, 3}


def test_no_word_is_no_score(planned_block: Path) -> None:
    with pytest.raises(RecordError, match="no word"):
        was_right(planned_block)
    assert tries(planned_block) == ()


def test_life_is_added_up_over_what_was_done(planned_block: Path) -> None:
    checked = actions.check(planned_block, instead=False)
    none, all_of_it = lives(checked, frozenset()), lives(checked, frozenset(checked.route.operations))
    assert none.keys() == all_of_it.keys() and none
    for tool, life in all_of_it.items():
        assert life.so_far == pytest.approx(life.whole) and life.whole > 0.0
        assert none[tool].so_far == 0.0 and none[tool].whole == life.whole


def test_the_nine_tests_want_a_shop_of_one_s_own(tmp_path: Path, planned_block: Path) -> None:
    with pytest.raises(RecordError, match="no shop of your own"):
        mill(planned_block)
    (tmp_path / "shop.toml").write_text('name = "s"\n[machines.m]\nname = "a"\nlike = "knee"\n', encoding="utf-8")
    assert mill(planned_block, shop=tmp_path).machine == "m"
    with pytest.raises(NameUnknown):
        mill(planned_block, "press", shop=tmp_path)
