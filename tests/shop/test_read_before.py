"""A shop that was read before is the same one, and nothing that is kept is trusted or needed blindly."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.shop import library, read_before
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop
from firstoff.shop.read_before import SHOPS, recall, remember

TEXT = 'name = "two mills"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of its own; where its shops will be kept."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path / "firstoff" / "shops"


@pytest.fixture
def shop(folder: Path) -> Shop:
    """The starter shop, read from its files."""
    assert not folder.exists()
    return load_shop(None)


def test_what_is_recalled_is_what_was_read(shop: Shop, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(list(folder.glob("*.shop"))) == 1
    monkeypatch.setattr(library, "_joined", None)        # nothing is read or checked again
    again = load_shop(None)
    assert again == shop and again is not shop
    assert again.materials["al_6082"] == shop.materials["al_6082"]
    assert again.model_dump() == shop.model_dump()


def test_another_text_place_or_reader_is_another_shop(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    remember("shop.toml", TEXT, shop)
    assert recall("shop.toml", TEXT) == shop
    assert recall("shop.toml", TEXT + "\n") is None and recall("other.toml", TEXT) is None
    monkeypatch.setattr(read_before, "_reader", lambda: b"another version")
    assert recall("shop.toml", TEXT) is None


def test_the_reader_is_the_library_and_all_that_reads_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = read_before._reader.__wrapped__()
    room = tmp_path / "firstoff" / "shop"
    (room / "data").mkdir(parents=True)
    for file in (*read_before.HERE.glob("*.py"), *(read_before.HERE / "data").glob("*.toml"),
                 *(read_before.HERE.parent / name for name in read_before.READERS)):
        copy = room.parent / file.relative_to(read_before.HERE.parent)
        copy.parent.mkdir(exist_ok=True)
        copy.write_bytes(file.read_bytes())
    monkeypatch.setattr(read_before, "HERE", room)
    assert read_before._reader.__wrapped__() == before
    for name in ("data/tools.toml", "models.py", "../units.py"):
        with (room / name).open("a") as written:
            written.write("\n# another\n")
        after = read_before._reader.__wrapped__()
        assert after != before, name
        before = after


@pytest.mark.parametrize("damage", [b"", b"no shop", b"\x80\x05K\x01.", b"cos\nno_such_thing\n."])
def test_what_is_damaged_is_read_anew(shop: Shop, folder: Path, damage: bytes) -> None:
    kept, = folder.glob("*.shop")
    kept.write_bytes(damage)
    assert load_shop(None) == shop
    assert kept.read_bytes() != damage


def test_what_others_may_have_written_is_not_read(shop: Shop, folder: Path) -> None:
    remember("shop.toml", TEXT, shop)
    folder.chmod(0o777)
    assert recall("shop.toml", TEXT) is None
    folder.chmod(0o700)
    assert recall("shop.toml", TEXT) == shop
    for kept in folder.iterdir():
        kept.chmod(0o666)
    assert recall("shop.toml", TEXT) is None


def test_a_few_stay_and_where_none_can_be_kept_none_is(shop: Shop, folder: Path, tmp_path: Path,
                                                      monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(SHOPS + 3):
        remember("shop.toml", TEXT + f"# {number}\n", shop)
    assert len(list(folder.iterdir())) == SHOPS
    blocked = tmp_path / "a file"
    blocked.write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    remember("shop.toml", TEXT, shop)
    assert recall("shop.toml", TEXT) is None and load_shop(None) == shop
