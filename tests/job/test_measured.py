from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import InputError, NameUnknown, RecordError, TomlError, UnitError
from firstoff.job.measured import Measured, read_measured
from tests.dryrun import stacked


def read(folder: Path, text: str, name: str = "measured.toml") -> tuple[Measured, ...]:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return read_measured(file, stacked.job(), stacked.SHOP)


def test_sizes_plain_with_an_instrument_and_read_twice(tmp_path: Path) -> None:
    found = read(tmp_path, '[measured]\nwidth = "40.02 mm"\nheight = { size = "0.79 in", with = "mic" }\n'
                           'length = ["60.01 mm", "60.02 mm"]\n')
    assert [(m.limit, round(m.size, 3)) for m in found] == [
        ("width", 40.02), ("height", 20.066), ("length", 60.01), ("length", 60.02)]
    assert {m.instrument for m in found} == {"mic"}
    assert read(tmp_path, 'width = "40.02 mm"') == (Measured("width", 40.02, "mic"),)


def test_lines_of_a_table(tmp_path: Path) -> None:
    found = read(tmp_path, "limit,size,instrument\nwidth, 40.02 mm, mic\n# later\nheight,19.99 mm\n", "measured.csv")
    assert [m.limit for m in found] == ["width", "height"]


def test_how_much_warmer_it_was(tmp_path: Path) -> None:
    (found,) = read(tmp_path, 'width = { size = "40.02 mm", warmer = "8 K" }')
    assert found.warmer == 8.0 and found.instrument == "mic"
    (line,) = read(tmp_path, "width, 40.02 mm, mic, -3 K\n", "measured.csv")
    assert line.warmer == -3.0


@pytest.mark.parametrize(("text", "error", "words"), [
    ('width = { size = "40 mm", warmer = "300 K" }', RecordError, "nobody measures"),
    ('width = { size = "40 mm", warmer = "8" }', UnitError, "unit"),
    ('width = { size = "40 mm", wamer = "8 K" }', RecordError, "nothing is called wamer"),
    ('depth = "3 mm"', NameUnknown, "no limit 'depth'"), ("width = 40.02", UnitError, "width"),
    ('width = { size = "40.02 mm", with = "laser" }', NameUnknown, "no instrument 'laser'"),
    ("", RecordError, "nothing is measured"), ("width = ", TomlError, "line 1"),
    ('width = "90 mm"', RecordError, "outside what the micrometer can measure"),
    ("measured = 3", RecordError, "table"), ('widht = "40 mm"', NameUnknown, "did you mean width?"),
    ('width = { size = "40.02 mm", with = "mci" }', NameUnknown, "did you mean mic?"),
])
def test_what_is_wrong_is_told_with_its_place(
    tmp_path: Path, text: str, error: type[InputError], words: str
) -> None:
    with pytest.raises(error, match=words) as caught:
        read(tmp_path, text)
    assert "measured.toml" in str(caught.value)
