"""The text reader: statements, strings, sections; and that odd but valid files give the same part as plain ones."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.errors import ModelError
from firstoff.part import exchange, reading
from firstoff.part.exchange import Flag, Ref, Typed
from tests.part import models

WHOLE = (models.PARTS / "cap.step").read_bytes()
TEXT = WHOLE.decode("ascii")


def data(*lines: str) -> exchange.Exchange:
    """An exchange structure with these instances."""
    body = "\n".join(lines)
    return exchange.read(f"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n{body}\nENDSEC;\nEND-ISO-10303-21;\n".encode())


def test_values_of_every_kind() -> None:
    file = data("#1=SOME_THING('it''s',#2,(1.,-2.5E-3),.T.,$,*,LENGTH_MEASURE(3.),\"0A\");",
                "#2=(FIRST('a')SECOND(#1)\nTHIRD());")
    values = file.values(Ref(1), "SOME_THING")
    assert values == ("it's", Ref(2), (1.0, -0.0025), "T", None, None, Typed("LENGTH_MEASURE", (3.0,)), '"0A"')
    assert isinstance(values[1], Ref)
    assert isinstance(values[3], Flag)
    assert file.record(2) == {"FIRST": ("a",), "SECOND": (Ref(1),), "THIRD": ()}
    assert file.of("SECOND") == [2]
    assert file.of("THIRD", "SOME_THING") == [1, 2]


def test_strings_hide_what_looks_like_text() -> None:
    file = data("#1=A('x; #9=B(); /* no comment */ '' ENDSEC;');", "/* #3=C(); */", "#2=B('y');")
    assert file.values(1, "A") == ("x; #9=B(); /* no comment */ ' ENDSEC;",)
    assert sorted(file.bodies) == [1, 2]


@pytest.mark.parametrize("body", ["A(", "A(1.", "A(()", "A('x", "(A(1.)", "A(1 . 2)", "A" + "(" * 500, ")", ""])
def test_a_broken_instance_is_empty_and_no_error(body: str) -> None:
    assert data(f"#1={body};").record(1) == {}


@settings(max_examples=20)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_without_an_error(junk: bytes) -> None:
    middle = len(WHOLE) // 2
    for content in (junk, WHOLE[:middle] + junk + WHOLE[middle:]):
        file = exchange.read(content)
        assert all(isinstance(file.record(number), dict) for number in file.bodies)
        assert isinstance(exchange.plain(b"ISO-10303-21;HEADER;ENDSEC;DATA;" + junk), bytes)


@pytest.mark.parametrize(("text", "means"), [
    (r"M\X2\00E40074\X0\rz", "M\u00e4tr" + "z"), (r"\X\E4", "ä"), (r"\S\d", "ä"), ("a''b", "a'b"), (r"a\\b", "a\\b"),
    (r"\X4\0001F600\X0\!", "\U0001F600!"), (r"\PA\x", "x"),
])
def test_encoded_strings(text: str, means: str) -> None:
    assert exchange.decoded(text) == means


def test_a_plain_file_is_left_alone_and_plain_changes_nothing_but_its_layout() -> None:
    assert not exchange.odd(WHOLE)
    one, two = exchange.read(WHOLE), exchange.read(exchange.plain(WHOLE))
    assert one.header == two.header
    assert {n: one.record(n) for n in one.bodies} == {n: two.record(n) for n in two.bodies}
    assert all(one.record(n) for n in one.bodies)


def test_the_reader_agrees_with_a_plain_search() -> None:
    file = exchange.read(WHOLE)
    assert len(file.of("ADVANCED_FACE")) == len(re.findall("ADVANCED_FACE", TEXT)) == len(models.example("cap").faces)
    assert len(file.bodies) == len(re.findall(r"^#\d+ ?=", TEXT, re.MULTILINE))


def lower(text: str) -> str:
    """Every keyword of the data section in lower case."""
    head, start, rest = text.partition("DATA;")
    return head + start + re.sub(r"[A-Z_]{4,}(?=\()", lambda found: found[0].lower(), rest)


def split(text: str) -> str:
    """The data section as two."""
    middle = text.index("\n#", len(text) // 2)
    head = text[:middle].replace("DATA;", "DATA('one',('X'));", 1)
    return head + "\nENDSEC;\nDATA('two',('X'));" + text[middle:]


ODD: dict[str, Callable[[str], str]] = {
    "signed": lambda text: text + "SIGNATURE;\n" + "MIIG/9cG+a=\n" * 900 + "ENDSEC;\n",
    "anchored": lambda text: text.replace("DATA;", "ANCHOR;\n<top>=#10;\nENDSEC;\nDATA;", 1),
    "refers without need": lambda text: text.replace("DATA;", "REFERENCE;\n#999999=<a.stp#b>;\nENDSEC;\nDATA;", 1),
    "byte order mark": lambda text: "\ufeff" + text,
    "line ends of two": lambda text: text.replace("\n", "\r\n"),
    "line ends of old": lambda text: text.replace("\n", "\r"),
    "comments": lambda text: "/* before; */" + text.replace("\n#", "/* #7=X('; */\n#").replace("DATA;", "DATA;/*'*/"),
    "lower case": lower,
    "one line": lambda text: text.replace("\n", ""),
    "folded": lambda text: re.sub(r",(?=#)", ",\n   ", text),
    "two data sections": split,
    "letters": lambda text: text.replace("CLOSED_SHELL(''", "CLOSED_SHELL('Gehäuse µ'"),
    "encoded letters": lambda text: text.replace("CLOSED_SHELL(''", r"CLOSED_SHELL('\X2\00E4\X0\ \X\E4 \S\d'"),
}


@pytest.mark.parametrize("how", ODD)
def test_an_odd_file_gives_the_part_of_the_plain_one(how: str, tmp_path: Path) -> None:
    path = tmp_path / "cap.step"
    path.write_bytes(ODD[how](TEXT).encode("utf-8"))
    assert path.read_bytes() != WHOLE
    there, part = models.example("cap"), models.by_worker(path)
    assert part.faces == there.faces
    assert part.features == there.features
    assert (part.name, part.names, part.schema) == (there.name, there.names, there.schema)


def test_letters_in_latin_1_are_no_stumbling_block(tmp_path: Path) -> None:
    path = tmp_path / "cap.step"
    path.write_bytes(TEXT.replace("CLOSED_SHELL(''", "CLOSED_SHELL('Gehäuse'").encode("latin-1"))
    assert models.by_worker(path).faces == models.example("cap").faces


def test_a_model_that_stands_in_another_file_is_told(tmp_path: Path) -> None:
    """The shell's first face is named in the REFERENCE section and taken out of the data."""
    number = re.findall(r"#(\d+)", TEXT[TEXT.index("CLOSED_SHELL('',("):])[0]
    text = re.sub(rf"\n#{number} ?=[^;]*;", "", TEXT, count=1)
    path = tmp_path / "cap.step"
    path.write_text(text.replace("DATA;", f"REFERENCE;\n#{number}=<other.stp#face>;\nENDSEC;\nDATA;", 1))
    with pytest.raises(ModelError, match="another file") as caught:
        reading.read(path)
    assert str(path) in caught.value.where
