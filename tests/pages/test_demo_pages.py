"""The demo at the desk, in a real browser: what is first to go is read, an 'instead' ticked, checked and inked in."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from selenium.webdriver.common.keys import Keys

from firstoff import actions
from firstoff.records.reading import Reading

from ..conftest import DemoRun
from .browser import ASIDE, MARKS, TABLET, Server, Tablet, as_wide, fits, served

pytestmark = MARKS


@pytest.fixture(scope="module")
def server(demo_run: DemoRun, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The demo, served."""
    yield from served(demo_run.folder, tmp_path_factory.mktemp("pages"))


@pytest.fixture
def desk(page: Tablet, server: Server) -> Iterator[Tablet]:
    """Its desk, on a tablet that stands upright."""
    page.open(server.at("/"))
    yield page
    as_wide(page, TABLET)


@pytest.mark.parametrize("size", [TABLET, ASIDE])
def test_no_operation_has_to_be_scrolled_however_much_was_noted(
    desk: Tablet, server: Server, size: tuple[int, int]
) -> None:
    """A caution hung behind the taps where a tablet lay on its side."""
    actions.log(server.folder, Reading(
        "10", "squealed", chip_colour="purple", chip_form="commas", burr="heavy", finish="rough", feed="120 %",
        scrap=True))
    desk.open(server.at("/bench#op-10"))
    as_wide(desk, size)
    many = len(desk.driver.find_elements("css selector", "article.operation"))
    (told,) = (e.text for e in desk.all(".noted"))
    assert told.startswith("noted: squealed, ") and many > 70
    desk.script("const told = document.querySelector('.noted');"
                "for (const place of document.querySelectorAll('article .place'))"
                " if (!place.parentElement.contains(told)) place.before(told.cloneNode(true))")
    for _ in range(many):
        fits(desk, size)
        desk.one("body").send_keys(Keys.ARROW_RIGHT)


def test_the_desk_tells_what_is_first_to_go_and_checks_what_is_ticked(desk: Tablet, server: Server) -> None:
    assert "sole_screws" in desk.one(".first").text
    assert "about 1 in" in desk.one(".instead").text
    desk.picture("desk")
    before = (server.folder / "route.toml").read_text(encoding="utf-8")
    desk.one(".instead input").click()
    desk.wait(lambda: desk.flag("draft") == "checked")
    said = desk.one("#draft").text
    assert re.search(r"Then first to go: (?!sole_screws)", said)
    assert "screw bottoms" in said
    assert (server.folder / "route.toml").read_text(encoding="utf-8") == before
    desk.picture("desk-draft")
    desk.tap("ink in")
    desk.wait(lambda: "M4 x 12" in (server.folder / "route.toml").read_text(encoding="utf-8"))
    desk.wait(lambda: desk.flag("ready") == "yes" and "sole_screws" not in desk.one(".first").text)
