"""The PDF: pages, what can be read on them, any name, nothing half-written."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.dryrun.result import Result
from firstoff.errors import FileError
from firstoff.part.shapes import View
from firstoff.sheets.document import _in_order, content, typeset, write_pdf
from tests.sheets import made

needs_reader = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler-utils) is not here")


def views(result: Result) -> dict[str, tuple[View, ...]]:
    part = result.parts["body"]
    return {name: made.views(s.up, s.across, part) for name, s in result.route.settings.items()}


def read(path: Path) -> list[str]:
    """The text of each page."""
    done = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True)
    return done.stdout.split("\f")[:-1]


@needs_reader
def test_pages_and_what_stands_on_them(tmp_path: Path) -> None:
    result = made.result()
    pages = write_pdf(result, views(result), tmp_path / "sheets.pdf")
    texts = read(tmp_path / "sheets.pdf")
    assert len(texts) == pages >= 5
    assert "tool pushed off, about 1 in 10" in texts[0] and "0.3 mm deep, not 0.5 mm" in texts[0]
    assert "body: setting 1 of 2" in texts[1]
    assert all("setting" in text.splitlines()[-1] for text in texts[1:pages - 2]), "a page says where it belongs"
    whole = "\n".join(texts)
    for words in ("DON’T START: operation 30", "1900 rpm", "171 mm/min", "Inspection", "Joints", "screw bottoms",
                  "no ball cutter", "ISO 14253-1", "far edge", "if it sings"):
        assert words in whole, words
    assert all("a1b2c3d4e5f6" in text for text in texts)
    assert " safe" not in whole.lower()


def test_a_smaller_drawing_stands_where_it_saves_a_sheet() -> None:
    result = made.result()
    plain, both = (content(result, views(result), smaller=smaller) for smaller in (False, True))
    assert all(sheet["smaller"] is None for sheet in plain["settings"])
    for sheet in both["settings"]:
        assert sheet["smaller"]["height"] < sheet["drawing"]["height"]
    few, many = typeset(both)[1], typeset(plain)[1]
    assert few <= many
    # a setting of two cards, as long as two sheets with the one drawing and one with the other
    sheet = both["settings"][0]
    for words in range(5, 60):
        long = sheet["operations"][0] | {"notes": ["press " * words]}
        one = both | {"settings": [sheet | {"operations": [long, long]}], "inspection": [], "joints": []}
        large = one | {"settings": [one["settings"][0] | {"smaller": None}]}
        if typeset(one)[1] < typeset(large)[1]:
            return
    raise AssertionError("the smaller drawing never saved a sheet")


@needs_reader
def test_an_inch_job_prints_inches(tmp_path: Path) -> None:
    result = made.result(units="in")
    write_pdf(result, views(result), tmp_path / "sheets.pdf")
    whole = "\n".join(read(tmp_path / "sheets.pdf"))
    assert "0.9449 in" in whole and "6.7 in/min" in whole and "mm/min" not in whole


@given(st.text(max_size=60))
@settings(max_examples=25)
def test_a_job_may_be_called_anything(name: str) -> None:
    result = made.result(name)
    pdf, pages = typeset(content(result, {}))
    assert pdf.startswith(b"%PDF") and pages >= 4


@needs_reader
def test_a_name_is_never_read_as_the_typesetters_language(tmp_path: Path) -> None:
    name = '#pagebreak() *plane* _x_ @y $z$ "q" \\ #[1] <a> [b]'
    result = made.result(name)
    write_pdf(result, {}, tmp_path / "sheets.pdf")
    assert name in " ".join(read(tmp_path / "sheets.pdf")[0].split())


def test_nothing_is_left_where_it_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "sheets.pdf").mkdir()
    with pytest.raises(FileError, match="cannot be written"):
        write_pdf(made.result(), {}, tmp_path / "sheets.pdf")
    assert [path.name for path in tmp_path.iterdir()] == ["sheets.pdf"]
    with pytest.raises(FileError, match="cannot be written"):
        write_pdf(made.result(), {}, tmp_path / "nowhere" / "sheets.pdf")


def test_the_same_job_gives_the_same_bytes() -> None:
    result = made.result()
    data = content(result, views(result))
    assert typeset(data) == typeset(data)


def test_settings_stand_in_the_order_of_their_operations() -> None:
    assert _in_order(made.result()) == {"body-1": (1, 2), "body-2": (2, 2)}
