"""A snapshot comes back as it was: every model, to the last bit."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import RecordError
from firstoff.job.reading import load_job
from firstoff.part.reading import read
from firstoff.records.snapshot import Snapshot, keep_snapshot, read_snapshot
from firstoff.records.store import open_store
from firstoff.shop.columns import columns_of
from firstoff.shop.library import find_shop, load_shop

from ..sheets import made as sheet
from . import made

EXAMPLE = Path(__file__).resolve().parents[2] / "src" / "firstoff" / "example" / "block_plane"


def there_and_back(folder: Path, place: made.Place) -> Snapshot:
    with open_store(folder) as store:
        digests = keep_snapshot(store, place.job, place.shop, place.route, place.parts)
    with open_store(folder) as store:
        return read_snapshot(store, digests)


def same(place: made.Place, found: Snapshot) -> None:
    assert found.job == place.job and found.shop == place.shop
    assert found.route == place.route and found.parts == place.parts
    assert repr(found.job) == repr(place.job), "inner values too"
    assert columns_of(found.shop) == columns_of(place.shop)


@pytest.mark.parametrize("place", [
    made.place(),
    made.place(job={"limits": made.limits(size=None, tolerance="+0.1 mm / -0.0254 mm", gain=2.475)}),
    made.Place(sheet.job(), sheet.shop(), sheet.route(), {"body": sheet.part()}),
    made.Place(sheet.job(units="in"), sheet.shop(), sheet.route(), {"body": sheet.part()}),
], ids=["block", "odd tolerance", "joints and prose", "inch"])
def test_lossless(tmp_path: Path, place: made.Place) -> None:
    same(place, there_and_back(tmp_path, place))


def test_the_example_is_lossless(tmp_path: Path) -> None:
    job = load_job(EXAMPLE)
    parts = {name: read(EXAMPLE / wanted.model) for name, wanted in job.parts.items()}
    shop = load_shop(find_shop(EXAMPLE, job.shop, None))
    place = made.Place(job, shop, made.place().route, parts)
    same(place, there_and_back(tmp_path, place))


def test_a_tolerance_and_a_figure_come_back_as_they_were(tmp_path: Path) -> None:
    found = there_and_back(tmp_path, made.place())
    assert found.job.limits["height"].tolerance == (-0.05, 0.05)
    assert found.job.limits["flat"].tolerance == (0.0, 0.03)
    spindle = found.shop.machines["mill"].spindle
    assert spindle is not None and (spindle.power.value, spindle.power.factor) == (500.0, 1.1)


def test_what_is_the_same_is_kept_once(tmp_path: Path) -> None:
    place = made.place()
    with open_store(tmp_path) as store:
        one = keep_snapshot(store, place.job, place.shop, place.route, place.parts)
        other = made.place("0.7 mm")
        two = keep_snapshot(store, other.job, other.shop, other.route, other.parts)
    assert one["job"] == two["job"] and one["shop"] == two["shop"] and one["parts"] == two["parts"]
    assert one["route"] != two["route"]


def test_a_missing_piece_is_said(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        place = made.place()
        digests = keep_snapshot(store, place.job, place.shop, place.route, place.parts)
        with pytest.raises(RecordError, match="missing"):
            read_snapshot(store, {**digests, "job": "0" * 40})
