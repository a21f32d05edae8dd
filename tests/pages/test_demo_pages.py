"""The demo at the desk, in a real browser: what is first to go is read, an 'instead' ticked, checked and inked in."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from ..conftest import DemoRun
from .browser import BROWSER, DRIVER, Server, Tablet, tablet

pytestmark = [
    pytest.mark.skipif(not (BROWSER and DRIVER), reason="apt-get install chromium chromium-driver"),
    pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning"),       # the driver's own sockets
]


@pytest.fixture(scope="module")
def server(demo_run: DemoRun, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The demo, served."""
    one = Server(Path(shutil.copytree(demo_run.folder, tmp_path_factory.mktemp("pages") / "plane")))
    one.start()
    yield one
    one.kill()


@pytest.fixture
def desk(server: Server, tmp_path: Path) -> Iterator[Tablet]:
    """Its desk, opened by the address that was printed."""
    one = tablet(tmp_path / "profile")
    one.open(server.link)
    yield one
    one.driver.quit()


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
