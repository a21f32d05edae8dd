"""Codes pair once; a cookie is believed only as it was given, and not for ever."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from firstoff.bench.keys import LASTS, LENGTH, TRIES, Codes, Seal, seal_of
from firstoff.errors import FileError


def test_a_code_is_good_once() -> None:
    codes = Codes()
    code = codes.new()
    assert len(code) == LENGTH
    assert codes.use(code)
    assert not codes.use(code)


def test_a_code_may_be_typed_with_capitals_and_gaps() -> None:
    codes = Codes()
    code = codes.new()
    assert codes.use(f" {code[:4].upper()}-{code[4:]} ")


def test_two_codes_are_good_side_by_side() -> None:
    codes = Codes()
    first, second = codes.new(), codes.new()
    assert codes.use(second)
    assert codes.use(first)


def test_guessing_withdraws_every_code() -> None:
    codes = Codes()
    code = codes.new()
    assert not any(codes.use("wrong") for _ in range(TRIES))
    assert not codes.use(code)


def test_nothing_is_no_code() -> None:
    assert not Codes().use("")


def test_a_cookie_is_believed_until_it_is_old() -> None:
    now = [1000.0]
    seal = Seal(b"k" * 32, lambda: now[0])
    cookie = seal.cookie()
    assert seal.holds(cookie)
    now[0] += LASTS - 1
    assert seal.holds(cookie)
    now[0] += 2
    assert not seal.holds(cookie)


@pytest.mark.parametrize("change", [
    lambda c: "", lambda c: c[:-1], lambda c: "9" + c, lambda c: c.replace(".", "", 1), lambda c: c + "é",
    lambda c: c.rpartition(".")[0] + "." + "0" * 64, lambda c: "no.cookie.at.all",
])
def test_a_changed_cookie_is_not_believed(change: object) -> None:
    seal = Seal(b"k" * 32, lambda: 1000.0)
    assert callable(change)
    assert not seal.holds(change(seal.cookie()))


def test_another_key_does_not_hold() -> None:
    assert not Seal(b"a" * 32).holds(Seal(b"b" * 32).cookie())


def test_the_key_is_kept_for_its_owner_and_outlives_a_restart(tmp_path: Path) -> None:
    cookie = seal_of(tmp_path).cookie()
    assert seal_of(tmp_path).holds(cookie)
    file = tmp_path / ".firstoff" / "pages.key"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_spoiled_key_is_made_anew(tmp_path: Path) -> None:
    seal_of(tmp_path)
    (tmp_path / ".firstoff" / "pages.key").write_bytes(b"short")
    assert len(seal_of(tmp_path).key) == 32


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / ".firstoff").write_text("a file where a folder should be", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be kept"):
        seal_of(tmp_path)
