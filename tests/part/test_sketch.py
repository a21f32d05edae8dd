"""Reading a file: unit, name, lines with their numbers; every mistake names file, line and word."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.errors import FileError, FirstoffError, TomlError
from firstoff.part import sketch
from firstoff.part.sketch import SketchError
from tests.part import sketches

_VERBS = "block hole pocket slot step ramp chamfer fillet flat datum deep wide through at from on to down along"
_MORE = "corner countersunk counterbored point drilled top bottom left right front back centre all edges x y z , ; ×"
_NUMBERS = "± H7 M4 M5x0.5 +0.1/-0 1/4 1/0 0 -5 3 17 40 1e9 99999999 in mm deg A Ø # é ' 0/-0.1"
WORDS = tuple(f"{_VERBS} {_MORE} {_NUMBERS}".split(" "))


def test_all_is_read_in_mm() -> None:
    inch = sketches.told("\nblock 4 x 2 ±0.001 x 1/2\nhole 6mm through at 1, 1 from right\n", "in")
    assert inch.block is not None
    assert inch.block.size == pytest.approx((101.6, 50.8, 12.7))
    assert inch.block.sizes[1].upper == pytest.approx(0.0254)
    (hole,) = inch.cuts
    assert (hole.diameter.value, hole.places[0].u) == pytest.approx((6.0, 101.6 - 25.4))  # type: ignore[union-attr]


def test_the_name_is_the_files_or_what_it_says(tmp_path: Path) -> None:
    path = tmp_path / "bracket.toml"
    path.write_text('unit = "mm"\nlines = "block 10 x 10 x 10"\n')
    assert sketch.read(path).name == "bracket"
    path.write_text('unit = "mm"\nname = "foot"\nlines = "block 10 x 10 x 10"\n')
    assert sketch.read(path).name == "foot"


@pytest.mark.parametrize(("text", "place", "says", "right"), [
    ("lines = 'block 1 x 1 x 1'", "part.toml", "'unit' is missing", 'unit = "mm"'),
    ('unit = "mm"', "part.toml", "'lines' is missing", "block 110 x 34 x 24"),
    ('unit = "cm"\nlines = ""', "part.toml, line 1", "unit 'cm' is not known", 'unit = "in"'),
    ('unit = "mm"\nlines = 3', "part.toml, line 2", "lines is no text: 3", "'''"),
    ('unit = "mm"\nlines = ""\nholes = 3', "part.toml, line 3", "no key 'holes'", "unit, name, lines"),
    ('unit = "mm"\nlines = ""', "part.toml, line 2", "no block is told", "block 110 x 34 x 24"),
    ('unit = "mm"\nlines = "', "part.toml", "Unterminated string", "toml"),
])
def test_a_wrong_file_is_told(text: str, place: str, says: str, right: str) -> None:
    with pytest.raises(TomlError) as caught:
        sketch.parse(text, "part.toml")
    assert caught.value.where.startswith(place)
    assert says in caught.value.what
    assert right in caught.value.right


@pytest.mark.parametrize(("head", "line"), [
    ("lines = '''\n", 3), ("lines='''\n# remark\n\n", 5), ('# first\nlines = """\n', 4), ("lines = '''", 2),
])
def test_lines_are_counted_in_the_file(head: str, line: int) -> None:
    end = '"""' if '"' in head else "'''"
    with pytest.raises(SketchError) as caught:
        sketch.parse(f'unit = "mm"\n{head}hole 4 through at 1, 1\n{end}\n', "part.toml")
    assert caught.value.where == f"part.toml, line {line}, at 'hole'"


def test_what_is_understood_so_far_comes_with_the_mistake() -> None:
    with pytest.raises(SketchError) as caught:
        sketches.told(sketches.SOLE + "pocket 5 x 5 deep 9 at 20, 17\nhole 3 through at 30, 17\n")
    so_far = caught.value.so_far
    assert so_far is not None
    assert so_far.cuts == sketches.told(sketches.SOLE).cuts
    assert so_far.upto(5).cuts == so_far.cuts[:1], "without the lines from the fifth of the file on"
    assert so_far.upto(3).block is None


def test_what_is_written_is_read_again() -> None:
    drawn = sketches.told(sketches.MANY)
    again = sketch.parse(sketch.write(drawn), "part.toml")
    assert [cut.__class__ for cut in again.cuts] == [cut.__class__ for cut in drawn.cuts]
    assert [text for _, text in again.texts] == [text for _, text in drawn.texts]
    with pytest.raises(FileError, match="nothing to save"):
        sketch.write(sketch.Sketch())


@settings(max_examples=300, deadline=None)
@given(st.lists(st.lists(st.sampled_from(WORDS), max_size=14).map(" ".join), max_size=4), st.booleans())
def test_words_in_any_order_are_understood_or_told(lines: list[str], begun: bool) -> None:
    try:
        plain = [line.replace("'", "’") for line in lines]
        sketches.told("\n".join(["", *["block 60 x 40 x 20"] * begun, *plain, ""]))
    except SketchError as error:
        assert error.where.startswith("part.toml, line ")
        assert error.what


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_understood_or_told(text: str) -> None:
    for whole in (text, f"unit = \"mm\"\nlines = '''\nblock 9 x 9 x 9\n{text}\n'''"):
        try:
            sketch.parse(whole, "part.toml")
        except FirstoffError as error:
            assert error.where.startswith("part.toml")


@settings(max_examples=200, deadline=None)
@given(st.sampled_from([line for line in sketches.MANY.split("\n") if line]), st.data())
def test_a_damaged_line_is_understood_or_told(line: str, data: st.DataObject) -> None:
    start, end = sorted(data.draw(st.tuples(*[st.integers(0, len(line))] * 2)))
    damaged = line[:start] + data.draw(st.sampled_from(["", "x", "-", "9", ",", " ", "/", "1/0"])) + line[end:]
    try:
        sketches.told(f"\nblock 120 x 60 x 40\n{damaged}\n")
    except SketchError as error:
        assert error.where.startswith("part.toml, line 4")
