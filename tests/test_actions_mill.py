"""What can be asked of the tests of a mill: what each needs, what it refuses."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from firstoff import actions_mill
from firstoff.errors import FileError, NameUnknown
from tests.records import made
from tests.records.test_next_test import checked


def test_a_mill_is_one_of_the_persons_own_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FileError, match="no shop of your own"):
        actions_mill.mill()
    shop = 'name = "s"\n[machines.m]\nname = "my mill"\nlike = "knee"\n'
    (tmp_path / "shop.toml").write_text(shop, encoding="utf-8")
    found = actions_mill.mill(shop=tmp_path)
    assert (found.machine, found.folder) == ("m", tmp_path)
    with pytest.raises(NameUnknown, match="no mill"):
        actions_mill.mill("other", shop=tmp_path)


def test_the_card_needs_no_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert actions_mill.mill_card(tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


def test_the_next_test_and_its_cut(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result, belief = checked()
    monkeypatch.setattr(actions_mill, "check", lambda *_a, **_k: result)
    monkeypatch.setattr(actions_mill, "open_job", lambda *_a, **_k: SimpleNamespace(belief=belief))
    found = actions_mill.next_tests(tmp_path, tmp_path / "cut.nc")
    assert found and made.place().job.name == result.job.name
    assert (tmp_path / "cut.nc").read_text(encoding="ascii").startswith("%\n(TEST CUT: ")
