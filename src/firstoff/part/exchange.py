"""The clear text of an exchange structure (ISO 10303-21, editions 1 to 3): statements, sections, instances.

A small reader of our own: it needs no kernel, takes instances apart only when they are asked for, and
writes odd but valid files (signed, anchored, folded, lower case, several data sections) as plain ones.
Names of faces and tolerances come out of it; shapes are the kernel's matter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from firstoff.errors import ModelError

DEEP = 50                                # lists in lists deeper than this are no model
_WORDS = re.compile(r"'[^']*+'|/\*.*?\*/|[^'/]++|/|'", re.DOTALL)
_STATEMENT = re.compile(r"((?:[^';]++|'[^']*+')*+);")
_NAMED = re.compile(r"#\s*(\d{1,18})\s*=\s*(.*)", re.DOTALL)
_TOKEN = re.compile(
    r"\s*(?:(?P<text>'(?:[^']|'')*+')|(?P<ref>[#@]\d{1,18})|(?P<word>!?[A-Z_][A-Z0-9_]*)"
    r"|(?P<number>[+-]?\d+(?:\.\d*)?(?:E[+-]?\d+)?)|(?P<flag>\.[A-Z_][A-Z0-9_]*\.)|(?P<raw>\"[0-9A-F]*\")"
    r"|(?P<link><[^>]*>)|(?P<mark>[(),$*]))"
)
_SECTIONS = ("HEADER", "ANCHOR", "REFERENCE", "DATA", "SIGNATURE")


class Ref(int):
    """The name of an instance: #12."""


class Flag(str):
    """An enumeration value without its dots."""

    __slots__ = ()


@dataclass(frozen=True)
class Typed:
    """A value with its type: LENGTH_MEASURE(35.)."""

    word: str
    values: tuple[Any, ...]


Record = dict[str, tuple[Any, ...]]      # keyword -> its values; several keywords in a complex instance


@dataclass
class Exchange:
    """What a file holds: its header's records, and its instances as text until asked for."""

    header: Record
    bodies: dict[int, str]
    sections: tuple[str, ...]            # in the order of the file
    outside: frozenset[int] = frozenset()      # instances that stand in another file (REFERENCE section)
    _read: dict[int, Record] = field(default_factory=dict)
    _index: dict[str, list[int]] = field(default_factory=dict)

    def record(self, number: Any) -> Record:
        """The instance of that name; empty where there is none or it cannot be read."""
        if not isinstance(number, Ref | int) or number not in self.bodies:
            return {}
        number = int(number)
        if number not in self._read:
            self._read[number] = _record(self.bodies[number])
        return self._read[number]

    def of(self, *words: str) -> list[int]:
        """The names of all instances that have one of these keywords, in the order of the file."""
        if not self._index:
            self._make_index()
        if len(words) == 1:
            return list(self._index.get(words[0], []))
        wanted = {number for word in words for number in self._index.get(word, [])}
        return [number for number in self.bodies if number in wanted]

    def _make_index(self) -> None:
        for number, body in self.bodies.items():
            words = self.record(number) if body.startswith("(") else (body.partition("(")[0].strip(),)
            for word in words:
                self._index.setdefault(word, []).append(number)

    def values(self, number: Any, *words: str) -> tuple[Any, ...]:
        """The values that an instance gives under the first of these keywords that it has; () for none."""
        record = self.record(number)
        return next((record[word] for word in words if word in record), ())

    def schema(self) -> str:
        """The first name in FILE_SCHEMA, without its object identifier; '' where it names none."""
        values = self.header.get("FILE_SCHEMA", ())
        names = values[0] if values and isinstance(values[0], tuple) else ()
        return names[0].partition("{")[0].strip() if names and isinstance(names[0], str) else ""


def text_of(content: bytes) -> str:
    """The file's bytes as text: byte order marks are taken off, UTF-8 where it is that, else ISO 8859-1."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return content.decode("utf-16", errors="replace")
    content = content.removeprefix(b"\xef\xbb\xbf")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def read(content: bytes) -> Exchange:
    """Take a file apart into sections and instances; what is not understood is left out, never an error."""
    header: Record = {}
    bodies: dict[int, str] = {}
    outside: set[int] = set()
    sections: list[str] = []
    for section, statement in statements(content):
        if not sections or statement == "":
            sections.append(section)
        if section == "HEADER":
            header.update(_record(statement))
        named = _NAMED.match(statement) if section in ("DATA", "REFERENCE") else None
        if named is None:
            continue
        if section == "DATA":
            bodies[int(named[1])] = named[2].strip()
        else:
            outside.add(int(named[1]))
    return Exchange(header, bodies, tuple(s for s in sections if s), frozenset(outside))


def statements(content: bytes) -> Iterator[tuple[str, str]]:
    """(section, statement) in the order of the file; a section begins with the empty statement.

    Comments are gone, everything outside strings is in upper case, and strings hold no line ends.
    """
    section = ""
    for found in _STATEMENT.finditer(_even(text_of(content))):
        statement = found[1].strip()
        word = re.match(r"[A-Z0-9-]*", statement)
        head = word[0] if word else ""
        if head in _SECTIONS and not section:
            section = head
            yield section, ""
        elif head == "ENDSEC":
            section = ""
        elif section:
            yield section, statement


def _even(text: str) -> str:
    return "".join(_even_word(found[0]) for found in _WORDS.finditer(text))


def _even_word(word: str) -> str:
    if word.startswith("'"):
        return re.sub(r"[\x00-\x1f]", "", word)
    return " " if word.startswith("/*") else word.upper()


def odd(content: bytes) -> bool:
    """Whether a file uses what the kernel may not know: see `plain`."""
    edges = content.find(b"DATA"), content.rfind(b"END-ISO-10303-21")
    head, tail = content[: edges[0]], content[edges[1] + 17:]
    return (
        not content.startswith(b"ISO-10303-21;") or b"ANCHOR" in head or b"REFERENCE" in head or tail.strip() != b""
        or b"/*" in content or re.search(rb"[^\x09\x0a\x0d\x20-\x7e]", content) is not None
        or len(re.findall(rb"ENDSEC\s*;\s*DATA\s*[;(]", content)) != 1
        or re.search(rb"=\s*[a-z]", content) is not None
        or re.search(rb"\n[^\n]{20000}", content) is not None
    )


def plain(content: bytes) -> bytes:
    """The same model in the plainest form: header and one data section, no comments, ASCII, one statement a line.

    Raises:
        ModelError: if the model leans on instances that stand in another file.
    """
    header, data, outside = [], [], []
    for section, statement in statements(content):
        if statement and section == "HEADER":
            header.append(statement)
        elif statement and section == "DATA":
            data.append(statement)
        elif statement and section == "REFERENCE":
            outside += re.findall(r"^#\s*(\d+)\s*=", statement)
    if outside and re.search(rf"#(?:{'|'.join(outside[:200])})\b", "\n".join(data)):
        raise ModelError("parts of the model stand in another file, which its REFERENCE section names",
                         right="export it as one file")
    body = ["ISO-10303-21;", "HEADER;", *(line + ";" for line in header), "ENDSEC;", "DATA;",
            *(_folded(line) + ";" for line in data), "ENDSEC;", "END-ISO-10303-21;", ""]
    return re.sub(r"[^\x00-\x7f]+", _escaped, "\n".join(body)).encode("ascii")


def _folded(line: str) -> str:
    """Lists that are very long are broken where one item ends."""
    return line if len(line) < 2000 else re.sub(r"(,#\d+){16}", lambda found: found[0] + "\n", line)


def _escaped(found: re.Match[str]) -> str:
    """Letters outside ASCII as the standard writes them."""
    return "\\X4\\" + "".join(f"{ord(letter):08X}" for letter in found[0]) + "\\X0\\"


def decoded(text: str) -> str:
    r"""A string's letters: '' and \\ taken singly, \S\ \X\ \X2\ \X4\ turned into what they stand for."""
    text = text.replace("''", "'")
    text = re.sub(r"\\X2\\((?:[0-9A-Fa-f]{4})*)\\X0\\", lambda found: _utf16(found[1]), text)
    text = re.sub(r"\\X4\\((?:[0-9A-Fa-f]{8})*)\\X0\\", lambda found: _utf32(found[1]), text)
    text = re.sub(r"\\X\\([0-9A-Fa-f]{2})", lambda found: chr(int(found[1], 16)), text)
    text = re.sub(r"\\S\\([\x20-\x7e])", lambda found: chr(ord(found[1]) + 128), text)
    return re.sub(r"\\P[A-I]\\", "", text).replace("\\\\", "\\")


def _utf16(digits: str) -> str:
    return bytes.fromhex(digits).decode("utf-16-be", errors="replace")


def _utf32(digits: str) -> str:
    return bytes.fromhex(digits).decode("utf-32-be", errors="replace")


def _record(body: str) -> Record:
    """The keywords of an instance with their values; {} where it cannot be read."""
    try:
        tokens = _tokens(body)
        if body.startswith("("):
            values, _ = _list(tokens, 1, 0)
            return {value.word: value.values for value in values if isinstance(value, Typed)}
        value, _ = _value(tokens, 0, 0)
    except (ValueError, IndexError):
        return {}
    return {value.word: value.values} if isinstance(value, Typed) else {}


def _tokens(body: str) -> list[tuple[str, str]]:
    out, at, body = [], 0, body.rstrip()
    while at < len(body):
        found = _TOKEN.match(body, at)
        if found is None:
            raise ValueError(body[at: at + 20])
        kind = found.lastgroup or ""
        out.append((kind, found[kind]))
        at = found.end()
    return out


def _list(tokens: list[tuple[str, str]], at: int, depth: int) -> tuple[tuple[Any, ...], int]:
    """The values up to the closing bracket. In a complex instance they follow each other without commas."""
    if depth > DEEP:
        raise ValueError("too deep")
    out = []
    while tokens[at] != ("mark", ")"):
        if tokens[at] == ("mark", ","):
            at += 1
            continue
        value, at = _value(tokens, at, depth)
        out.append(value)
    return tuple(out), at + 1


def _value(tokens: list[tuple[str, str]], at: int, depth: int) -> tuple[Any, int]:
    kind, text = tokens[at]
    if kind == "word":
        if tokens[at + 1] != ("mark", "("):
            raise ValueError(text)
        values, after = _list(tokens, at + 2, depth + 1)
        return Typed(text, values), after
    if (kind, text) == ("mark", "("):
        return _list(tokens, at + 1, depth + 1)
    return _single(kind, text), at + 1


def _single(kind: str, text: str) -> Any:
    if kind == "text":
        return decoded(text[1:-1])
    if kind == "ref":
        return Ref(text[1:])
    if kind == "number":
        return float(text)
    if kind == "flag":
        return Flag(text[1:-1])
    return None if text in ("$", "*") else text
