"""Readings of a file are taken whole or not at all, kept, and own figures at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.errors import InputError
from firstoff.records.figures import read_figures
from firstoff.records.mill_hour import Mill, keep, mill_of, read_readings
from firstoff.records.store import open_store

from .person import MILL, ROWS, Person, Truth, shop

GOOD = """
[[pull]]
axis = "x"
force = "10.2 kg"
pulled = "0.07 mm"
released = "0.02 mm"
pushed = "-0.07 mm"
released_back = "-0.02 mm"

[thrust]
stall = ["45 kg", "47 kg"]
"""


def mill(folder: Path) -> Mill:
    return Mill(shop(), MILL, folder, ROWS)


def test_a_file_of_readings_becomes_own_figures(tmp_path: Path) -> None:
    file = tmp_path / "readings.toml"
    file.write_text(GOOD, encoding="utf-8")
    where = mill(tmp_path)
    done = keep(where, read_readings(file, where), lambda _what, _share: None)
    assert done.tests == ("pull", "thrust") and done.strange == ()
    assert any("stiffness left to right" in line for line in done.lines)
    assert any("axis thrust" in line for line in done.lines)
    figures = read_figures(tmp_path, where.book)
    assert figures is not None and "own figures from 2 records" in figures.note
    assert (f"machine:{MILL}", "stiffness_x") in figures.moved
    with open_store(tmp_path) as store:
        assert [record.kind for record in store.all()] == ["mill_test", "mill_test"]


@pytest.mark.parametrize(("text", "said"), [
    ("", "holds no reading"),
    ("[nonsense]\n", "no test 'nonsense'"),
    ("pull = 3\n", "no table of readings"),
    (GOOD.replace('"0.07 mm"', "0.07"), "has no unit"),
    (GOOD.replace('"0.07 mm"', '"0.07"'), "readings.toml: pull 1, pulled: '0.07' has no unit"),
    (GOOD.replace('"10.2 kg"', '"102 kg"'), "readings.toml: pull 1, force: 102 kg"),
    (GOOD.replace('axis = "x"\n', ""), "pull 1, axis: there is no answer"),
    ("[thrust\n", "line 1"),
])
def test_a_wrong_file_is_refused_with_its_place(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "readings.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as error:
        read_readings(file, mill(tmp_path))
    assert said in str(error.value)
    assert not (tmp_path / "records.sqlite").exists()


def test_a_strange_reading_is_kept_and_named(tmp_path: Path) -> None:
    where = mill(tmp_path)
    found = mill_of(shop(), MILL, tmp_path)
    assert (found.machine, found.folder) == (MILL, tmp_path)
    from firstoff.records.mill_answers import checked

    done = keep(where, [checked("pull", Person(Truth()).pull(unit="in"), shop(), MILL)], lambda _what, _share: None)
    assert "were they mm and not in?" in " ".join(done.strange)
