"""What worked before, by material, tool, machine and kind of operation."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.records.history import Way, _names, history_json, history_lines, tried
from firstoff.records.reading import Reading
from firstoff.records.store import open_store

from . import made
from .made import OTHER, ROUGH


def test_words_of_the_same_cut_are_counted_together(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        deep = made.place("1 mm")
        wrong, *_ = deep.log(store, Reading(ROUGH, word="moved"))
        deep.log(store, Reading(ROUGH, word="sang"), Reading(ROUGH, word="ok", replaces=wrong.id),
                 Reading("height", size="20.01 mm"), Reading(ROUGH, burr="none"))
        made.place("0.5 mm").log(store, Reading(ROUGH, word="ok"), Reading(ROUGH, word="ok"),
                                 Reading(ROUGH, word="ok", feed="50 %"), Reading(OTHER, word="ok"))
        found = tried(store)
    by_cut = {item.way.cut: item for item in found if "0.5 mm deep" in item.way.cut or "1 mm deep" in item.way.cut}
    half = [item for cut, item in by_cut.items() if cut.startswith("0.5 mm deep")]
    assert sorted(item.words["ok"] for item in half) == [1, 2], "another feed is another cut"
    both = next(item for item in found if "sang" in item.words)
    assert both.words["sang"] == 1 and both.words["ok"] >= 1 and "moved" not in both.words and not both.worked
    assert both.way.material == "steel" and both.way.machine == "mill"


def test_a_trial_in_scrap_is_told_at_its_own_depth(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        made.place("0.5 mm").log(store, Reading(ROUGH, word="sang", depth="1.5 mm", scrap=True))
        (found,) = tried(store)
    assert found.way.cut.startswith("1.5 mm deep, ") and found.cut.depth_of_cut == 1.5 and not found.worked


def test_what_was_seen_and_how_many_were_in_scrap_is_told_with_names(tmp_path: Path) -> None:
    place = made.place("0.5 mm")
    tool = place.route.operations[ROUGH].tool or ""
    named = replace(place, shop=place.shop.model_copy(update={
        "materials": {"steel": place.shop.materials["steel"].model_copy(update={"name": "mild steel S275"})},
        "tools": {**place.shop.tools, tool: place.shop.tools[tool].model_copy(update={"name": "a good end mill"})}}))
    with open_store(tmp_path) as store:
        named.log(store, Reading(ROUGH, word="ok", chip_colour="straw"), Reading(ROUGH, chip_colour="straw"),
                  Reading(ROUGH, word="ok", scrap=True, burr="light"))
        (found,) = tried(store)
    assert found.words == {"ok": 2} and found.scrap == 1 and found.way.tool == tool and found.way.material == "steel"
    head, line = history_lines([found])
    assert head == "mild steel S275, face rough, a good end mill in the mill:"
    assert line.partition(": ")[2] == (
        "ok 2 times; 1 of 2 in scrap; chip colour straw 2 times, burr light 1 time; last 2026-03-02")
    (told,) = history_json([found])
    assert told["seen"] == {"chip colour straw": 2, "burr light": 1} and told["scrap"] == 1
    assert told["names"] == {"material": "mild steel S275", "tool": "a good end mill",
                             "machine": named.shop.machines["mill"].name}


def test_what_the_shop_gave_no_name_is_told_by_its_key() -> None:
    way = Way("brass", "by hand", "mill", "face_rough", "1 mm deep")
    shop = made.place("0.5 mm").shop
    assert _names(way, shop) == ("brass", "by hand", shop.machines["mill"].name)


def test_told_in_lines_and_as_json(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        made.place("0.5 mm").log(store, Reading(ROUGH, word="ok"), Reading(ROUGH, word="ok"))
        found = tried(store)
    head, line = history_lines(found)
    assert head.startswith("steel, face rough, ") and head.endswith(" in the mill:")
    assert line.startswith("  0.5 mm deep, ") and line.endswith(": ok 2 times; last 2026-03-02")
    (told,) = history_json(found)
    assert told["words"] == {"ok": 2} and told["worked"] is True


def test_nothing_yet(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        assert "Nothing was recorded" in next(iter(history_lines(tried(store))))


def test_the_shapes_of_parts_are_not_read_for_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They took 40 ms a record, which the page of the shop waited for."""
    def never(*_: object) -> None:
        raise AssertionError("read")

    monkeypatch.setattr("firstoff.records.snapshot.from_json", never)
    with open_store(tmp_path) as store:
        made.place("1 mm").log(store, Reading(ROUGH, word="ok"))
        assert [item.words for item in tried(store)] == [{"ok": 1}]
