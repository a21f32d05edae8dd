"""A job folder, read: where records belong, what a folder is called, a route that is not there."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.belief import Belief
from firstoff.errors import FileError
from firstoff.records.figures import book_digest, write_figures
from firstoff.records.learn import Learned
from firstoff.records.places import LATEST
from firstoff.route.asked_hole import hole_asked
from firstoff.route.meant import Meant
from firstoff.route.quick_hole import quick_hole
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop
from firstoff.telling_hole import hole_json, hole_lines
from firstoff.work import BOOK_ONLY, home, open_job, own_shop, records_folder, route_of


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


def test_a_hole_is_told_by_own_figures_where_there_are_some(tmp_path: Path) -> None:
    """A shop that has learned its steel to be hard to drill: more torque, and told by whose figures."""
    shop = load_shop(None)
    assert own_shop(shop, tmp_path) == (shop, BOOK_ONLY)
    book, key = Belief.of(columns_of(shop)), ("material:s275_hot_rolled", "drilling_force")
    moved, digest = {key: 0.1 * book.z(key) + 2.0}, book_digest(book, [key])
    write_figures(tmp_path, Learned(moved, (), 4, "abc", book.rows, book.seed, digest, True, ()))
    (tmp_path / LATEST).write_text("abc\n")
    own, note = own_shop(shop, tmp_path)
    before, after = (_torque(of) for of in (shop, own))
    assert note.startswith("own figures from 4 records") and after > 1.1 * before
    asked = hole_asked("M5", "mm"), Meant("drill_press"), Meant("s275_hot_rolled"), None, False
    found = replace(quick_hole(own, *asked), figures_note=note)
    said = " ".join(" ".join(hole_lines(found)).split())
    assert f"By {note}: force of drilling" in said and hole_json(found)["figures"] == note
    whose = {one["what"]: one["source"] for one in hole_json(found)["whose"]}
    assert whose["force of drilling"] == "measured" and whose["power at the drill"] != "measured"


def _torque(shop: Shop) -> float:
    found = quick_hole(shop, hole_asked("5", "mm"), Meant("knee"), Meant("s275_hot_rolled"), None, False)
    return float(hole_json(found)["torque_nm"])
