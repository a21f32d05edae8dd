"""The card of the nine tests: one page, every test with its cautions and a box for each reading."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from firstoff.errors import FileError
from firstoff.records.mill_tests import STILL, TESTS
from firstoff.sheets.mill_card import card, write_card
from firstoff.shop.library import load_shop

needs_reader = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler-utils) is not here")


def test_every_reading_has_a_box() -> None:
    printed = card(load_shop(None))
    for test, told in zip(TESTS, printed["tests"], strict=True):
        labels = " ".join(label for row in told["rows"] for label in row)
        for ask in test.asks:
            assert ask.quantity == "instrument" or ask.key.replace("_", " ") in labels
    assert len(printed["tests"][0]["rows"]) == 3, "three axes"


@needs_reader
def test_it_is_one_page_with_all_nine(tmp_path: Path) -> None:
    assert write_card(load_shop(None), tmp_path / "card.pdf") == 1
    done = subprocess.run(["pdftotext", "-raw", str(tmp_path / "card.pdf"), "-"], capture_output=True, text=True,
                          check=True)
    text = " ".join(done.stdout.split())
    for test in TESTS:
        assert test.title in text
    assert STILL in text and " safe" not in text.lower()


def test_where_it_cannot_be_written_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be written"):
        write_card(load_shop(None), tmp_path / "nowhere" / "card.pdf")
