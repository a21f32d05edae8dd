"""A browser for the pages of whatever server a file starts."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from .browser import Server, Tablet, tablet


@pytest.fixture(scope="module")
def page(server: Server, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tablet]:
    """A browser, paired by the address that was printed."""
    one = tablet(tmp_path_factory.mktemp("profile"))
    one.open(server.link)
    yield one
    one.driver.quit()
