"""A person at the pages, in a real browser: the desk read and answered, the bench tapped, a server that dies."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import Select

from firstoff import actions
from firstoff.bench.looking import MOST

from ..bench.test_looking import RECORDED, wav
from .browser import (
    ASIDE,
    MARKS,
    TABLET,
    TAP,
    Server,
    Tablet,
    as_wide,
    contrasts,
    fits,
    names_and_outlines,
    sent,
    served,
    small_taps,
    too_wide,
)
from .reader import complaints, spoken, tree

pytestmark = MARKS
FIRST = "block-top-rough"
PAGES = ("/", "/bench", "/ask", "/shop", "/hour", "/start", f"/behind/operation/{FIRST}", "/behind/setting/block-1",
         "/behind/size/height")
#: what is heard by itself when it changes, of each page on which something does
HEARD = {"/": {"aloud", "touched"}, "/bench": {"state"}, "/ask": {"answer"}, "/shop": {"answer"},
         "/start": {"understood", "doing", "answer"}}


@pytest.fixture(scope="module")
def server(planned_block: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The block, served."""
    yield from served(planned_block, tmp_path_factory.mktemp("pages"))


@pytest.fixture(autouse=True)
def nothing_wrong_on_the_console(page: Tablet) -> Iterator[None]:
    """What the browser complains of is a fault, but for a server that was killed on purpose."""
    page.complaints()
    yield
    assert [text for text in page.complaints() if "ERR_" not in text and "422" not in text] == []


@pytest.fixture
def desk(page: Tablet, server: Server) -> Tablet:
    """The desk, opened."""
    page.open(server.at("/"))
    return page


@pytest.fixture
def bench(page: Tablet, server: Server) -> Tablet:
    """The bench, at its first operation."""
    page.open(server.at("/ask"))
    page.script("localStorage.clear()")
    page.open(server.at("/bench"))
    return page


def kept(server: Server) -> list[tuple[str, str]]:
    """What is recorded of the job: subject, and what was said."""
    return [(r.subject, next(iter(r.reading.values()), r.conditions.get("note", "")))
            for r in actions.records(server.folder)]


def test_a_number_is_rubbed_out_and_an_impossible_one_gets_a_word_beside_it(desk: Tablet) -> None:
    number = desk.one(f'[data-path="operations.{FIRST}.cut.depth_of_cut"]')
    was = number.text
    number.click()
    field = desk.one(".number-field")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys("much", Keys.ENTER)
    desk.wait(lambda: desk.flag("draft") == "wrong")
    assert "much" in desk.one(".wrong").text
    number = desk.one(f'[data-path="operations.{FIRST}.cut.depth_of_cut"]')
    assert number.text == "much"
    number.click()
    field = desk.one(".number-field")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys("0.21 mm", Keys.ENTER)
    desk.wait(lambda: desk.flag("draft") == "checked")
    assert not desk.all(".wrong")
    desk.tap("rub out")
    assert desk.one(f'[data-path="operations.{FIRST}.cut.depth_of_cut"]').text == was


def write_anew(desk: Tablet, path: str, text: str) -> None:
    """Rub out what stands there, clear of the ink at the bottom, and write."""
    number = desk.one(f'.number[data-path="{path}"]')
    desk.script("arguments[0].scrollIntoView({ block: 'center' })", number)
    number.click()
    field = desk.one(".number-field")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys(text, Keys.ENTER)


def test_what_is_wanted_is_written_anew_where_it_stands(desk: Tablet, server: Server) -> None:
    for path, text in (("job.budget", "1 in 50"), ("job.limits.height.tolerance", "±0.2 mm")):
        write_anew(desk, path, text)
        desk.wait(lambda: desk.flag("draft") == "checked")
    write_anew(desk, "job.parts.block.stock.size.0", "wide")
    desk.wait(lambda: desk.flag("draft") == "wrong")
    assert "wide" in desk.one(".wrong").text
    write_anew(desk, "job.parts.block.stock.size.0", "64 mm")
    desk.wait(lambda: desk.flag("draft") == "checked" and not desk.all(".wrong"))
    write_anew(desk, "job.limits.height.low", "20.5 mm")
    desk.wait(lambda: desk.flag("draft") == "wrong")
    beside = desk.one('.number[data-path="job.limits.height.low"] + .wrong')
    assert "low end" in beside.text
    write_anew(desk, "job.limits.height.low", "19.7 mm")
    desk.wait(lambda: desk.flag("draft") == "checked" and not desk.all(".wrong"))
    assert "0.3 mm" in desk.one('.number[data-path="job.limits.height.tolerance"]').text
    desk.tap("rub out")
    assert "64" not in (server.folder / "job.toml").read_text(encoding="utf-8")


def test_a_wide_screen_shows_how_it_stands_beside_what_is_done(desk: Tablet) -> None:
    as_wide(desk, (1680, 1050))
    try:
        up, cards = (desk.one(f".setting {part}").rect for part in (".up", ".cards"))
        assert up["x"] + up["width"] <= cards["x"] and abs(up["y"] - cards["y"]) < 20
        front, part = desk.one("#front").rect, desk.one("#turning").rect
        assert front["x"] + front["width"] <= part["x"] and front["y"] == part["y"]
        assert too_wide(desk) == [] and min(contrasts(desk))[0] >= 4.5
        desk.picture("desk-wide")
    finally:
        as_wide(desk, TABLET)


def test_tool_feed_direction_and_holding_are_written_anew(desk: Tablet) -> None:
    def blank(path: str) -> WebElement:
        return desk.one(f'.number[data-path="{path}"]')

    top, held = f"operations.{FIRST}", "settings.block-1"
    was = {path: blank(path).text for path in (f"{top}.feed", f"{top}.cut.feed_per_tooth", f"{top}.cut.direction")}
    blank(f"{top}.feed").click()
    field = desk.one(".number-field")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys("234 mm/min", Keys.ENTER)
    desk.wait(lambda: desk.flag("draft") == "checked")
    assert blank(f"{top}.feed").text == "234 mm/min"
    assert blank(f"{top}.cut.feed_per_tooth").text != was[f"{top}.cut.feed_per_tooth"]      # what hangs on it, too
    blank(f"{top}.cut.direction").click()
    chosen = Select(desk.one("select.number-field"))
    other = next(o.text for o in chosen.options if o.text not in (was[f"{top}.cut.direction"], "slot"))
    chosen.select_by_visible_text(other)
    desk.wait(lambda: desk.flag("draft") == "checked")
    blank(f"{held}.holding.tapped").click()
    Select(desk.one("select.number-field")).select_by_value("false")
    desk.wait(lambda: desk.flag("draft") == "checked")
    desk.picture("desk-pencil")
    desk.reload()                                        # what was written outlives a page that is read anew
    desk.wait(lambda: desk.flag("draft") == "checked")
    assert blank(f"{top}.cut.direction").text == other
    assert blank(f"{top}.feed").text == "234 mm/min"
    number = blank(f"{held}.holding.grip_height")
    number.click()
    field = desk.one(".number-field")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys("deep", Keys.ENTER)
    desk.wait(lambda: desk.flag("draft") == "wrong")
    beside = desk.one(f'.number[data-path="{held}.holding.grip_height"] + .wrong')
    assert "deep" in beside.text
    desk.tap("rub out")
    assert [blank(path).text for path in was] == list(was.values())


def test_the_part_is_turned_and_a_touched_face_leads_to_its_operation(desk: Tablet) -> None:
    solid = desk.one("#solid")
    desk.script("arguments[0].scrollIntoView({block: 'center'})", solid)
    before = desk.script("return document.querySelector('#solid .edge').getAttribute('d')")
    ActionChains(desk.driver).drag_and_drop_by_offset(solid, 60, 20).perform()
    desk.wait(lambda: desk.script("return document.querySelector('#solid .edge').getAttribute('d')") != before)
    ActionChains(desk.driver).move_to_element_with_offset(solid, 0, 40).click().perform()
    desk.wait(lambda: "Made by" in desk.one("#touched").text)
    number = desk.one("#touched a:last-of-type").text
    assert "turned" in str(desk.one(f"#op-{number}").get_attribute("class"))
    assert "What endangers it" in desk.one("#touched").text
    drawn = desk.script("return Number(document.querySelector('#solid').dataset.drawn)")
    solid.send_keys(Keys.ARROW_LEFT)
    desk.wait(lambda: desk.script("return Number(document.querySelector('#solid').dataset.drawn)") > drawn)


def test_the_bench_keeps_a_word_and_takes_it_back(bench: Tablet, server: Server) -> None:
    assert [e.text for e in bench.all("#taps .tap")] == ["ok", "sang", "slowed", "moved", "other"]
    bench.picture("bench")
    bench.tap("sang")
    sent(bench)
    assert (FIRST, "sang") in kept(server)
    bench.tap("undo")
    sent(bench)
    assert kept(server)[-1][1] == "undone at the bench"
    valid = {r.id for r in actions.records(server.folder)} - {r.replaces for r in actions.records(server.folder)}
    assert not any(r.id in valid and r.reading == {"word": "sang"} and r.subject == FIRST
                   for r in actions.records(server.folder))


def test_a_size_is_keyed_in_and_decided_at_once(bench: Tablet, server: Server) -> None:
    number = bench.script("return [...document.querySelectorAll('article')]"
                          ".find((a) => a.dataset.limits.includes('height')).dataset.number")
    bench.open(server.at("/ask"))
    bench.open(server.at(f"/bench#op-{number}"))
    assert "Stop here and measure" in bench.one("article:not([hidden])").text
    bench.picture("bench-measure")
    for words in ("other", "more", "measure"):
        bench.tap(words)
    bench.type("20.2")
    bench.picture("bench-pad")
    bench.tap("keep")
    bench.wait(lambda: "does not conform" in bench.one("#pad-said").text)
    assert "0.2 mm" in bench.one("#pad-said").text
    assert "deeper" in bench.one("#pad-said").text
    sent(bench)
    assert ("height", "20.2 mm") in kept(server)
    bench.tap("measure again")
    bench.one("body").send_keys("2", "0", "3")
    bench.tap("keep")
    bench.wait(lambda: bench.all("#pad-said .wrong"))
    assert "203 mm" in bench.one("#pad-said").text
    assert "203 mm" in bench.one("#pad-shown").text


def test_what_was_tapped_survives_a_server_that_is_killed(bench: Tablet, server: Server, tmp_path: Path) -> None:
    bench.tap("slowed")
    sent(bench)
    server.kill()
    bench.tap("next")
    bench.tap("moved")
    bench.wait(lambda: "kept in this tablet" in bench.one("#state").text)
    bench.picture("bench-no-connection")
    sound = tmp_path / "kept.wav"
    sound.write_bytes(wav())
    bench.one("#file").send_keys(str(sound))
    bench.wait(lambda: "kept.wav is kept in this tablet" in (bench.flag("file") or ""))
    second = bench.script("return document.querySelector('article:not([hidden])').dataset.key")
    assert (second, "moved") not in kept(server)
    server.start()
    sent(bench)
    bench.wait(lambda: bench.flag("files") == "0")
    assert [who for who, said in kept(server) if said.endswith(".wav")] == [second]
    assert kept(server).count((second, "moved")) == 1
    assert kept(server).count((FIRST, "slowed")) == 1


def test_a_tap_whose_answer_was_lost_is_kept_once(bench: Tablet, server: Server) -> None:
    bench.script("""
        const real = window.fetch;
        window.fetch = async (...said) => { const answer = await real(...said);
          if (said[0] !== "/records") return answer;
          window.fetch = real;
          throw new TypeError("lost on the way back"); };
    """)
    bench.tap("moved")
    sent(bench)
    assert kept(server).count((FIRST, "moved")) == 1


def test_a_recording_is_kept(bench: Tablet, server: Server, tmp_path: Path) -> None:
    sound = tmp_path / "mill.wav"
    sound.write_bytes(wav())
    bench.one("#file").send_keys(str(sound))
    bench.wait(lambda: "kept: mill.wav" in (bench.flag("file") or ""))
    assert any(text.endswith(".wav") for _, text in kept(server))
    bench.one("#file").send_keys(str(RECORDED))
    bench.wait(lambda: "kept: tap.m4a" in (bench.flag("file") or ""))
    assert any(text.endswith(".m4a") for _, text in kept(server))
    assert [file.read_bytes() for file in server.folder.rglob("*.m4a")] == [RECORDED.read_bytes()]
    with (tmp_path / "film.wav").open("wb") as file:
        file.truncate(MOST["record"] + 1)
    bench.one("#file").send_keys(str(tmp_path / "film.wav"))
    bench.wait(lambda: "at most 40" in (bench.flag("file") or ""))
    sound.write_bytes(b"#!/bin/sh")
    bench.one("#file").send_keys(str(sound))
    bench.wait(lambda: "neither a photo nor a recording" in (bench.flag("file") or ""))


def test_never_more_than_five_taps_and_none_is_small(bench: Tablet) -> None:
    ways: tuple[list[str], ...] = ([], ["other"], ["other", "more"], ["other", "more", "another operation"], ["ok"],
            ["other", "stop and think"], ["other", "more", "not as planned"], ["other", "more", "what you saw"],
            ["ok", "what you saw", "how it is held"], ["ok", "what you saw", "how it is held", "parallels"])
    for way in ways:
        bench.reload()
        for words in way:
            bench.tap(words)
        taps = bench.all(".tap")
        assert 1 <= len(taps) <= 5, way
        assert all(e.size["width"] >= TAP and e.size["height"] >= TAP for e in taps), way
        fits(bench)
        assert min(contrasts(bench))[0] >= 4.5, way


def test_no_operation_of_the_job_has_to_be_scrolled(bench: Tablet) -> None:
    many = len(bench.driver.find_elements("css selector", "article.operation"))
    assert many > 5
    for _ in range(many):
        fits(bench)
        bench.one("body").send_keys(Keys.ARROW_RIGHT)


def test_a_tablet_on_its_side_has_drawing_and_text_beside_each_other(bench: Tablet) -> None:
    as_wide(bench, ASIDE)
    try:
        for _ in range(len(bench.driver.find_elements("css selector", "article.operation"))):
            fits(bench, ASIDE)
            drawn, told = bench.script(
                "const a = document.querySelector('article:not([hidden])');"
                "return ['.place', '.told'].map((e) => { const r = a.querySelector(e).getBoundingClientRect();"
                "return [r.left, r.right, r.height]; })")
            assert drawn[1] <= told[0] and drawn[2] > 300
            bench.one("body").send_keys(Keys.ARROW_RIGHT)
    finally:
        as_wide(bench, TABLET)


def test_not_as_planned_and_a_changed_feed_are_kept_in_words(bench: Tablet, server: Server) -> None:
    for words in ("other", "more", "not as planned"):
        bench.tap(words)
    bench.one("#words-text").send_keys("the bar was bowed")
    bench.tap("keep")
    for words in ("undo", "other", "changed feed to"):
        bench.tap(words)
    bench.type("250")
    bench.tap("keep")
    sent(bench)
    assert (FIRST, "the bar was bowed") in kept(server)
    assert (FIRST, "changed feed to 250 mm/min") in kept(server)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", PAGES)
def test_it_can_be_read_in_bright_and_dark(page: Tablet, server: Server, path: str, scheme: str) -> None:
    media = {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", media)
    try:
        page.open(server.at(path))
        worst = min(contrasts(page))
        if scheme == "dark" and path == "/bench":
            page.picture("bench-dark")
        assert worst[0] >= 4.5, worst
    finally:
        page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


@pytest.mark.parametrize("path", PAGES)
def test_everything_is_reached_by_the_keyboard_and_has_a_name(page: Tablet, server: Server, path: str) -> None:
    page.open(server.at(path))
    assert names_and_outlines(page) == []
    assert small_taps(page, TAP) == []
    assert too_wide(page) == []


@pytest.mark.parametrize("path", PAGES)
def test_it_can_be_heard(page: Tablet, server: Server, path: str) -> None:
    page.open(server.at(path))
    assert complaints(page) == []
    assert HEARD.get(path, set()) <= spoken(page)


def test_a_new_verdict_is_heard(desk: Tablet) -> None:
    desk.one(f'[data-path="operations.{FIRST}.cut.depth_of_cut"]').click()
    field = desk.one(".number-field")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys("0.22 mm", Keys.ENTER)
    desk.wait(lambda: desk.flag("draft") == "checked")
    assert "first to go" in str(desk.one("#aloud").get_property("textContent"))
    said = [node for node in tree(desk) if node.get("live") == "polite" and node["role"] == "status"]
    assert said
    assert "in pencil: 0.22 mm" in next(node["name"] for node in tree(desk) if "0.22 mm" in node["name"])
    assert complaints(desk) == []
    desk.tap("rub out")


def test_whoever_has_no_finger_stays_among_the_taps(bench: Tablet) -> None:
    bench.one("#taps .tap").send_keys(Keys.ENTER)
    assert bench.flag("row") == "noted"
    assert bench.script("return document.activeElement.textContent") == "next"
    assert complaints(bench) == []


def test_a_hole_is_asked_as_a_sentence(page: Tablet, server: Server) -> None:
    page.open(server.at("/ask"))
    form = page.one("#hole")
    form.find_element("css selector", "[name=size]").send_keys("M5")
    form.find_element("css selector", "[name=depth]").send_keys("nine")
    form.find_element("css selector", "button").click()
    page.wait(lambda: page.all("#hole .wrong"))
    assert "nine" in page.one("#hole .wrong").text
    field = form.find_element("css selector", "[name=depth]")
    assert field.get_attribute("value") == "nine"
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys("9 mm", Keys.ENTER)
    page.wait(lambda: "4.2 mm" in page.one("#hole .answer").text)
    page.picture("ask")
