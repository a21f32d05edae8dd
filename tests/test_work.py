"""A job folder, read: where records belong, what a folder is called, a route that is not there."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import FileError
from firstoff.work import home, open_job, records_folder, route_of


def test_records_belong_to_the_shop(tmp_path: Path) -> None:
    job, shop = tmp_path / "job", tmp_path / "shop"
    shop.mkdir()
    (shop / "shop.toml").touch()
    assert records_folder(job, shop) == shop
    assert records_folder(job, shop / "shop.toml") == shop
    assert records_folder(job, None) == job


def test_naming_the_file_itself_is_understood(tmp_path: Path) -> None:
    assert home(tmp_path / "job.toml") == home(tmp_path) == tmp_path


def test_without_a_route_the_next_command_is_told(block: Path) -> None:
    assert route_of(open_job(block)).operations
    (block / "route.toml").unlink()
    with pytest.raises(FileError, match="firstoff plan"):
        route_of(open_job(block))
