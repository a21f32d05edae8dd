"""What was seen of a cut, watts and how it is held, keyed in at the bench with one hand, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver.support.ui import Select

from firstoff import actions

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
    too_wide,
)
from .reader import complaints, spoken

pytestmark = MARKS


@pytest.fixture(scope="module")
def server(planned_block: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The block, served."""
    yield from served(planned_block, tmp_path_factory.mktemp("pages"))


@pytest.fixture
def bench(page: Tablet, server: Server) -> Iterator[Tablet]:
    """The bench, at its first operation; what the browser complains of is a fault, but for a server that is gone."""
    page.open(server.at("/ask"))
    page.script("localStorage.clear()")
    page.complaints()
    page.open(server.at("/bench"))
    yield page
    assert [text for text in page.complaints() if "ERR_" not in text] == []


def valid(server: Server) -> list[dict[str, str]]:
    """What stands in the records: neither replaced nor a note."""
    kept = actions.records(server.folder)
    return [r.reading for r in kept if r.reading and r.id not in {one.replaces for one in kept}]


def choose(bench: Tablet, **words: str) -> None:
    """Choose from the lists of what was seen."""
    for name, word in words.items():
        Select(bench.one(f"#seen-{name}")).select_by_visible_text(word)


def test_what_was_seen_is_added_to_the_word_or_told_what_is_wrong(bench: Tablet, server: Server) -> None:
    bench.tap("sang")
    sent(bench)
    bench.tap("what you saw")
    choose(bench, chip_colour="blue", chip_form="long", burr="light", scrap="scrap")
    for field, number in (("depth", "500"), ("feed", "80")):
        bench.one(f"#seen-{field}").click()
        bench.type(number)
        bench.tap("keep")
    bench.picture("bench-seen")
    bench.tap("keep")
    bench.wait(lambda: "500 mm is no depth" in bench.one("#seen-said").text)
    assert bench.one("#seen-depth").text == "500 mm" and not bench.one("article").is_displayed()
    before = actions.records(server.folder)[-1]
    bench.one("#seen-depth").click()
    bench.type("0.1")
    bench.tap("keep")
    bench.tap("keep")
    bench.wait(lambda: bench.flag("row") == "noted")
    last = actions.records(server.folder)[-1]
    assert last.reading == {"word": "sang", "chip_colour": "blue", "chip_form": "long", "burr": "light"}
    assert (last.replaces, before.reading) == (before.id, {"word": "sang"})
    assert [last.conditions[key] for key in ("feed", "depth", "scrap")] == ["80 %", "0.1 mm", "yes"]
    bench.reload()
    told = "sang, chip colour blue, chip form long, burr light at 80 % of the feed, 0.1 mm deep, in scrap"
    assert told in bench.text()
    fits(bench)


def test_what_was_added_is_taken_back_whole_and_never_said_twice(bench: Tablet, server: Server) -> None:
    before = valid(server)
    for words in ("other", "more", "what you saw"):
        bench.tap(words)
    choose(bench, finish="waves")
    bench.tap("keep")
    bench.wait(lambda: bench.flag("row") == "noted")
    bench.tap("what you saw")                       # more of the same is one record, not two
    choose(bench, word="slowed")
    bench.tap("keep")
    bench.wait(lambda: "slowed, finish waves" in bench.one("#state").text)
    assert valid(server) == [*before, {"word": "slowed", "finish": "waves"}]
    bench.tap("undo")
    sent(bench)
    assert valid(server) == before
    for words in ("other", "more", "what you saw"):
        bench.tap(words)
    assert bench.one("#seen-finish").get_attribute("value") == ""
    choose(bench, burr="none")
    bench.tap("keep")
    bench.wait(lambda: bench.flag("row") == "noted")
    assert valid(server) == [*before, {"burr": "none"}]


def test_watts_and_how_it_is_held_are_keyed_in(bench: Tablet, server: Server) -> None:
    for words in ("other", "more", "what you saw", "watts"):
        bench.tap(words)
    for number in ("150", "190"):
        bench.type(number)
        bench.tap("keep")
    bench.wait(lambda: "less than 190 W running free" in bench.one("#pad-said").text)
    keyed: tuple[tuple[list[str], list[str], dict[str, str]], ...] = (
        (["watts"], ["210", "190"], {"value": "210 W", "idle": "190 W"}),
        (["how it is held", "pulled, it moved"], ["12"], {"value": "12 kg", "word": "moved"}),
        (["how it is held", "lifted"], ["0.02"], {"value": "0.02 mm"}),
        (["how it is held", "parallels", "loose"], [], {"word": "loose"}))
    for ways, numbers, want in keyed:
        bench.tap("back" if bench.flag("row") == "number" else "what you saw")
        for words in ways:
            bench.tap(words)
        for typed in numbers:
            bench.type(typed)
            bench.tap("keep")
        bench.wait(lambda: bench.flag("row") == "noted")
        assert actions.records(server.folder)[-1].reading == want


def test_what_was_seen_waits_for_the_connection(bench: Tablet, server: Server) -> None:
    server.kill()
    for words in ("other", "more", "what you saw"):
        bench.tap(words)
    bench.tap("keep")
    assert "something first" in bench.one("#seen-said").text
    choose(bench, finish="torn")
    bench.tap("keep")
    bench.wait(lambda: "kept in this tablet" in bench.one("#state").text)
    assert bench.flag("row") == "noted"
    server.start()
    sent(bench)
    assert actions.records(server.folder)[-1].reading == {"finish": "torn"}


@pytest.mark.parametrize("aside", [False, True])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_you_saw_can_be_read_heard_and_reached(bench: Tablet, scheme: str, aside: bool) -> None:
    size = ASIDE if aside else TABLET
    media = {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    bench.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", media)
    as_wide(bench, size)
    try:
        bench.tap("ok")
        bench.tap("what you saw")
        bench.script("document.querySelector('#seen-said').innerHTML = '<p class=\"wrong\">two<br>lines</p>'")
        fits(bench, size)
        ends = bench.script(
            "const box = (e) => document.querySelector(e).getBoundingClientRect();"
            "return [box('#seen-said').bottom, box('footer').top]")
        assert ends[0] <= ends[1], "what is wrong stands above the taps"
        fields = bench.all("#seen form [name]")
        assert len(fields) == 9 and all(min(e.size.values()) >= TAP for e in fields)
        assert min(contrasts(bench))[0] >= 4.5
        assert complaints(bench) == [] and "seen-said" in spoken(bench)
        assert names_and_outlines(bench) == [] and too_wide(bench) == []
    finally:
        as_wide(bench, TABLET)
        bench.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
