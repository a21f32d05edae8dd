"""Every mistake in a TOML file is told with its file, its line and its key."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import FileError, TomlError
from firstoff.job.models import Job
from firstoff.shop.models import Tool
from firstoff.tomlfile import Written, line_of, load, parse_table, validate, write_text

TOOL = '''name = "end mill"
kind = "end_mill"
material = "carbide"
diameter = "6 mm"
flute_length = "13 mm"
overall_length = "57 mm"
'''
JOB = '''name = "bracket"
[parts.plate]
model = "plate.step"
material = "c45"
[parts.plate.stock]
size = ["10 mm", "10 mm", "10 mm"]

[joints.lid]
kind = "screw"
screw = "M4 x 12"
through = "plate.hole-1"
into = "plate.hole-2"
'''


def message(tmp_path: Path, text: str, model: type[Written]) -> str:
    """What a person is told about this text."""
    path = tmp_path / "written.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TomlError) as caught:
        load(path, model)
    return str(caught.value).replace(str(path), "FILE")


def test_a_good_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "tool.toml"
    path.write_text(TOOL, encoding="utf-8")
    assert load(path, Tool).diameter == 6.0


@pytest.mark.parametrize(("wrong", "line", "key", "said"), [
    ('diametre = "6 mm"', 7, "diametre", "did you mean 'diameter'?"),
    ('stickout = "20 rpm"', 7, "stickout", "'20 rpm' is not a length"),
    ("stickout = 20", 7, "stickout", "needs a unit: length"),
    ('stickout = "20 mmm"', 7, "stickout", "'mmm' is not known"),
    ('flutes = "three"', 7, "flutes", "'three'"),
    ("flutes = 0", 7, "flutes", "greater than or equal to 1"),
    ("price = nan", 7, "price", "nan"),
    ("price = inf", 7, "price", "inf"),
    ('edge_radius = "0.01 mm"', 7, "edge_radius", "factor = 1.3"),
    ('edge_radius = { value = "0.01 mm", source = "judged" }', 7, "edge_radius", "factor (× and ÷) or sd"),
    ('edge_radius = { value = "0.01 mm", factor = 1.2, source = "judged" }', 7, "edge_radius", "at least × and ÷ 2"),
    ('edge_radius = { value = "0.01 mm", factor = 1.2, source = "hearsay" }', 7, "edge_radius", "'hearsay'"),
    ('edge_radius = { value = "5 N", factor = 1.2, source = "measured" }', 7, "edge_radius", "not a length"),
    ('edge_radius = { value = "0.01 mm", faktor = 1.2, source = "judged" }', 7, "edge_radius.faktor", "factor"),
])
def test_a_wrong_line_is_named(tmp_path: Path, wrong: str, line: int, key: str, said: str) -> None:
    told = message(tmp_path, TOOL + wrong + "\n", Tool)
    assert told.startswith(f"FILE, line {line}, {key}: ")
    assert said in told


def test_what_is_missing_is_named(tmp_path: Path) -> None:
    assert message(tmp_path, TOOL.replace('diameter = "6 mm"\n', ""), Tool) == "FILE, diameter: 'diameter' is missing"


def test_what_is_missing_in_a_table_is_told_at_the_table(tmp_path: Path) -> None:
    told = message(tmp_path, JOB.replace('material = "c45"\n', ""), Job)
    assert told == "FILE, line 2, parts.plate.material: 'material' is missing"


@pytest.mark.parametrize("text", ["name = ", "name = 'x", "[a\nb = 1", "a = 1\na = 2\n"])
def test_what_is_not_toml_is_told_with_its_line(tmp_path: Path, text: str) -> None:
    told = message(tmp_path, text, Tool)
    assert told.startswith("FILE")
    assert "toml.io" in told or ("Invalid value" in told and "in quotes" in told)


def test_text_without_quotes_is_told_so(tmp_path: Path) -> None:
    assert "text stands in quotes" in message(tmp_path, "name = Depth stop", Tool)


def test_a_word_that_is_none_of_those_known_is_told_with_all_of_them(tmp_path: Path) -> None:
    told = message(tmp_path, TOOL.replace('kind = "end_mill"', 'kind = "end mill"'), Tool)
    assert "kind is none of 'end_mill', 'ball'," in told and told.endswith(": 'end mill'")


def test_the_kind_of_a_joint_is_not_taken_for_a_key(tmp_path: Path) -> None:
    told = message(tmp_path, JOB + "below = 3\n", Job)
    assert told.startswith("FILE, line 13, joints.lid.below: ")
    told = message(tmp_path, JOB + 'heat = "socket"\n', Job)
    assert told == "FILE, line 13, joints.lid.heat: there is no key 'heat' here (did you mean 'head'?)"


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        load(tmp_path / "none.toml", Tool)
    with pytest.raises(FileError, match="cannot be read"):
        load(tmp_path, Tool)
    (tmp_path / "picture.toml").write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(FileError, match="not a text file"):
        load(tmp_path / "picture.toml", Tool)


def test_a_table_inside_a_file_has_its_own_place() -> None:
    text = f"# a shop\n\n[tools.six]\n{TOOL}flutes = 0\n"
    with pytest.raises(TomlError) as caught:
        validate(parse_table(text, "shop.toml")["tools"]["six"], Tool, text, "shop.toml", ("tools", "six"))
    assert caught.value.where == "shop.toml, line 10, tools.six.flutes"


NAMES = st.lists(st.from_regex(r"[a-z][a-z0-9_-]{0,6}", fullmatch=True), min_size=1, max_size=5, unique=True)


@given(NAMES, NAMES, st.data())
def test_the_line_of_a_key_is_where_it_stands(tables: list[str], keys: list[str], data: st.DataObject) -> None:
    lines = [line for table in tables for line in (f"[things.{table}]", *(f"{key} = 1" for key in keys))]
    table, key = data.draw(st.sampled_from(tables)), data.draw(st.sampled_from(keys))
    expected = tables.index(table) * (len(keys) + 1) + keys.index(key) + 2
    assert line_of("\n".join(lines), ("things", table, key)) == expected


def test_quoted_keys_and_lists_of_tables_have_lines() -> None:
    text = '[vise."my squeeze"]\n"arm on the handle" = 1\n[[way]]\na = 1\n[[way]]\na = 2\n'
    assert line_of(text, ("vise", "my squeeze", "arm on the handle")) == 2
    assert line_of(text, ("way", "1", "a")) == 6
    assert line_of(text, ("nothing",)) is None


def test_a_file_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    file = tmp_path / "new" / "a.toml"
    write_text(file, "a = 1\n")
    assert file.read_text(encoding="utf-8") == "a = 1\n" and [f.name for f in file.parent.iterdir()] == ["a.toml"]
    (tmp_path / "taken").mkdir()
    with pytest.raises(FileError, match="cannot be written"):
        write_text(tmp_path / "taken", "a = 2\n")
    assert sorted(f.name for f in tmp_path.iterdir()) == ["new", "taken"]


def test_what_is_wrong_with_a_whole_table_is_told_at_the_table(tmp_path: Path) -> None:
    """As of a cutter whose flutes are longer than it is: no single key is wrong."""
    text = '''[tools.mill]
name = "mill"
kind = "end_mill"
material = "carbide"
diameter = "6 mm"
flute_length = "80 mm"
overall_length = "57 mm"
'''
    table = parse_table(text, "shop.toml")["tools"]["mill"]
    with pytest.raises(TomlError, match="flutes of 80 mm") as caught:
        validate(table, Tool, text, "shop.toml", ("tools", "mill"))
    assert caught.value.where == "shop.toml, line 1, tools.mill"
