"""A person without a job: an empty folder, a shop from the nameplate, a part from lines drawn as they grow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

from firstoff.actions_start import new_shop
from firstoff.bench.looking import MOST
from firstoff.job.reading import load_job
from firstoff.records.ringing import heard

from ..bench.test_looking import RECORDED
from ..part import models
from ..records.test_ringing import ring, write
from ..test_actions_start import SHOP
from .browser import (
    MARKS,
    Server,
    Tablet,
    contrasts,
    names_and_outlines,
    small_taps,
    tablet,
    too_wide,
)
from .flac import flac
from .reader import complaints

pytestmark = MARKS


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Pages of a folder in which nothing is yet."""
    one = Server(tmp_path_factory.mktemp("empty"))
    one.start()
    yield one
    one.kill()


def fill(page: Tablet, field: str, text: str) -> None:
    """Into a field, instead of what stands there."""
    there = page.one(field)
    there.send_keys(Keys.CONTROL, "a")
    there.send_keys(text)


def grown(page: Tablet, lines: str) -> None:
    """Lines pasted, until the drawing is theirs."""
    page.script("const e = document.querySelector('#part-lines'); e.value = arguments[0];"
                "e.dispatchEvent(new Event('input'))", lines)
    page.wait(lambda: page.flag("grown") == lines)


def test_a_job_is_started_from_a_sketch_whose_drawing_grows(page: Tablet, server: Server) -> None:
    assert "There is no job in this folder yet" in page.text()
    page.one("#new-shop").find_element("xpath", "..").find_element("css selector", "summary").click()
    for key, text in SHOP.items():
        if key not in ("like", "units"):
            fill(page, f"#shop-{key}", text)
    Select(page.one("#shop-like")).select_by_value(SHOP["like"])
    page.tap("start the shop")
    page.wait(lambda: "my shop is used" in page.text() and page.flag("ready") == "yes")
    lines = "block 60 x 40 x 12\nhole M5 through at 10, 20"
    grown(page, lines)
    before = len(page.driver.find_elements("css selector", "#seen svg path"))
    page.one("#part-lines").send_keys("\npocket 20 x 10 deep 4 corner 2 at 40, 20\npokket")
    page.wait(lambda: "line 4" in page.one("#understood").text)
    assert len(page.driver.find_elements("css selector", "#seen svg path")) > before
    assert page.one("#part-z").get_attribute("value") == "14 mm"
    page.picture("start")
    page.one("#part-lines").send_keys(Keys.BACKSPACE * 7)
    fill(page, "#part-job", "a bracket")
    fill(page, "#part-part", "bracket")
    fill(page, "#part-x", "wide")
    page.tap("keep this part")
    page.wait(lambda: page.one("#new-part").get_attribute("data-answered") == "wrong")
    assert "wide" in page.one("#new-part .wrong").text
    assert page.one("#part-job").get_attribute("value") == "a bracket"            # nothing of what was typed is lost
    fill(page, "#part-x", "62 mm")
    page.tap("keep this part")
    page.wait(lambda: "Parts so far: bracket" in page.text())
    assert load_job(server.folder).parts["bracket"].model == "bracket.toml"
    assert small_taps(page, 88) == []


def test_a_size_that_must_come_right_is_written_by_form(page: Tablet, server: Server) -> None:
    page.open(server.at("/start"))
    wanted = page.one("#wanted")
    next(e for e in page.all("summary") if e.text == "a size that must come right").click()
    form = wanted.find_element("css selector", '[data-what="limits"]')
    for key, text in (("name", "thick"), ("between", "-Z, +Z"), ("tolerance", "0.05")):
        form.find_element("name", key).send_keys(text)
    page.tap("keep this size")
    page.wait(lambda: page.all('[data-what="limits"] .wrong'))
    assert form.find_element("name", "name").get_attribute("value") == "thick"
    assert form.find_element("css selector", "[name=tolerance] + .wrong").is_displayed()
    form.find_element("name", "tolerance").clear()
    form.find_element("name", "tolerance").send_keys("±0.05 mm")
    page.tap("keep this size")
    page.wait(lambda: "thick" in page.text() and page.all("[data-out=thick]"))
    next(e for e in page.all("summary") if e.text == "what the faces of bracket are called").click()
    page.wait(lambda: page.all(".named svg"))
    page.picture("start-wanted")
    assert load_job(server.folder).limits["thick"].between == ("-Z", "+Z")
    assert small_taps(page, 88) == []


def test_what_is_no_model_gets_a_word_beside_it_and_a_model_is_drawn(
    page: Tablet, server: Server, tmp_path: Path
) -> None:
    page.open(server.at("/start"))
    wrong = tmp_path / "wrong.step"
    wrong.write_bytes(b"#!/bin/sh")
    page.one("#model").send_keys(str(wrong))
    page.wait(lambda: page.flag("dropped") == "wrong.step")
    assert "no STEP file" in page.one("#drop .wrong").text
    models.write(models.box(60.0, 40.0, 6.0), tmp_path / "Lid 2.step")
    page.one("#model").send_keys(str(tmp_path / "Lid 2.step"))
    page.wait(lambda: page.flag("dropped") == "Lid 2.step")
    assert page.all("#seen svg")
    assert "Lid_2.step" in page.one("#understood").text
    assert page.one("#part-part").get_attribute("value") == "lid_2"
    page.tap("keep this part")
    page.wait(lambda: "Parts so far: bracket, lid_2" in page.text())


def test_planning_tells_how_far_it_is_and_can_be_stopped(page: Tablet, server: Server) -> None:
    page.open(server.at("/start"))
    page.one("#plan").click()
    page.wait(lambda: page.all("#stop"))
    page.one("#stop").click()
    page.wait(lambda: "stopped" in page.one("#doing").text)
    assert not (server.folder / "route.toml").exists()


def test_a_tap_of_the_cutter_is_listened_to(page: Tablet, server: Server, tmp_path: Path) -> None:
    page.open(server.at("/hour/tap"))
    assert small_taps(page, 88) == []
    (tmp_path / "talk.m4a").write_bytes(b"1234ftypM4A ")
    page.one("#recording").send_keys(str(tmp_path / "talk.m4a"))
    page.wait(lambda: page.all(".readings .wrong"))
    assert ".wav" in page.one(".readings .wrong").text
    (tmp_path / "tap.flac").write_bytes(flac(ring(1200.0, 0.02, 44100.0)))
    page.one("#recording").send_keys(str(tmp_path / "tap.flac"))      # no .wav: opened by the browser, as a .m4a is
    page.wait(lambda: "tap.flac is here" in page.one("#listened").text)
    kept = next(server.folder.glob(".firstoff/recording-*/tap.wav"))
    assert heard(kept).natural == pytest.approx(2.0 * math.pi * 1200.0, rel=0.01)
    page.one("#recording").send_keys(str(RECORDED))                        # of a phone's recorder, AAC
    page.wait(lambda: "tap.m4a is here" in page.one("#listened").text)
    found = [heard(file) for file in server.folder.glob(".firstoff/recording-*/tap.wav")]
    assert len(found) == 2
    for one in found:
        assert one.natural == pytest.approx(2.0 * math.pi * 1200.0, rel=0.01)
        assert one.damping == pytest.approx(0.02, rel=0.1)
    big = tmp_path / "long.wav"
    with big.open("wb") as file:
        file.truncate(MOST["recording"] + 1)
    page.one("#recording").send_keys(str(big))
    page.wait(lambda: page.all(".readings .wrong"))
    assert "at most 40" in page.one(".readings .wrong").text
    page.one("#recording").send_keys(str(write(tmp_path / "tap.wav", ring(1200.0, 0.02, 44100.0), 2)))
    page.wait(lambda: "tap.wav is here" in page.one("#listened").text)
    page.picture("hour-tap")
    page.tap("keep it")
    page.wait(lambda: page.one(".readings").get_attribute("data-answered") == "yes")
    if page.all(".readings .answer .tap"):
        page.tap("keep it as it is")
    page.wait(lambda: "Hz" in page.one(".readings .answer").text)


@pytest.mark.parametrize("path", ["/start", "/hour", "/hour/pull", "/hour/tap", "/shop", "/ask"])
def test_the_pages_of_a_shop_are_read_heard_and_gone_through_by_keyboard(
    page: Tablet, server: Server, path: str
) -> None:
    page.open(server.at(path))
    for summary in page.all("main summary"):
        page.script("arguments[0].parentElement.open = true", summary)
    assert complaints(page) == []
    assert min(contrasts(page))[0] >= 4.5
    assert names_and_outlines(page) == []
    assert too_wide(page) == []


def test_a_page_that_cannot_be_shown_reads_well_too(page: Tablet, server: Server) -> None:
    """A shop with a slip in its file, and a name that nothing has."""
    file = server.folder / "shop" / "shop.toml"
    if not file.exists():
        new_shop(server.folder, SHOP)
    was = file.read_text(encoding="utf-8")
    pages = (("/shop", was + "\nwhat = 1\n", "what"), ("/hour/nothing", was, "nothing of that name"))
    for path, text, words in pages:
        try:
            file.write_text(text, encoding="utf-8")
            page.open(server.at(path))
        finally:
            file.write_text(was, encoding="utf-8")
        assert "cannot be shown" in page.one("h1").text and words in page.text()
        assert complaints(page) == [] and names_and_outlines(page) == [] and too_wide(page) == []
        assert min(contrasts(page))[0] >= 4.5


def test_what_stands_there_before_there_is_a_route_reads_well_too(page: Tablet, server: Server) -> None:
    page.driver.get(server.at("/"))
    page.wait(lambda: page.one("#trouble").is_displayed())
    assert "no route yet" in page.one("#trouble").text
    assert complaints(page) == []
    assert min(contrasts(page))[0] >= 4.5
    assert names_and_outlines(page) == []
    assert small_taps(page, 88) == []


def test_the_code_that_pairs_a_device_is_typed_on_a_page_that_reads_well(
    server: Server, tmp_path: Path
) -> None:
    other = tablet(tmp_path / "profile")
    try:
        other.driver.get(server.at("/pair"))
        assert complaints(other) == []
        assert min(contrasts(other))[0] >= 4.5
    finally:
        other.driver.quit()


def test_a_test_of_the_mill_is_a_guided_card(page: Tablet, server: Server) -> None:
    page.open(server.at("/hour"))
    assert small_taps(page, 88) == []
    page.one('a[href^="/hour/runout"]').click()
    page.wait(lambda: page.flag("ready") == "yes" and page.all(".readings"))
    assert "isolated" in page.one(".dont").text
    fill(page, "#ask-high", "0.02")
    fill(page, "#ask-low", "-0.01 mm")
    page.tap("keep it")
    page.wait(lambda: page.all(".readings .wrong"))
    assert "unit" in page.one(".readings .wrong").text
    assert page.one("#ask-low").get_attribute("value") == "-0.01 mm"
    page.picture("hour")
    fill(page, "#ask-high", "0.02 mm")
    page.tap("keep it")
    page.wait(lambda: "runout" in page.one(".readings .answer").text)
    page.open(server.at("/shop"))
    assert "own 0.0" in page.one("#collets").text
    assert "(1 record)" in page.one("#collets").text
    page.picture("shop")
