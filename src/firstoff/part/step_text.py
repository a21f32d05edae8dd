"""What a STEP file's text tells without the kernel: whether it is one, whole, and what it holds."""

from __future__ import annotations

import re
from pathlib import Path

from firstoff.errors import FileError, ModelError
from firstoff.part import exchange

NOT_BUILT = "holds a solid that cannot be built: faces or edges of its shell are missing or broken"
_UNITS = {
    "millimetre": "mm", "metre": "m", "centimetre": "cm", "micrometre": "um", "kilometre": "km",
    "inch": "in", "foot": "ft", "mil": "mil", "microinch": "uin", "mile": "mi", "yard": "yd",
}
_SPELT = {"meter": "metre", "millimeter": "millimetre", "centimeter": "centimetre", "inches": "inch", "feet": "foot"}


def solid_of(path: Path) -> tuple[Path, str | None]:
    """A path as a person writes it, "file.step#name", as the file and the solid that is meant."""
    file, mark, only = path.name.partition("#")
    if not mark or not only.strip() or path.exists():
        return path, None
    return path.with_name(file), only.strip()


def check(path: Path) -> bytes:
    """The file's bytes, if it looks like a whole STEP file.

    Raises:
        FileError: if it is missing, empty, another kind of file, or cut short.
        ModelError: if it holds no data, or numbers that no part has.
    """
    where = str(path)
    if not path.exists():
        raise FileError("no such file", where=where, right="give the path of a STEP file (.step, .stp)")
    if not path.is_file():
        raise FileError("is not a file", where=where, right="give the path of a STEP file (.step, .stp)")
    try:
        content = path.read_bytes()
    except OSError as error:
        what = f"cannot be opened: {error.strerror}"
        raise FileError(what, where=where, right="check the file's permissions") from error
    if not content.strip():
        raise FileError("the file is empty", where=where, right="export the model again")
    _need_start(content, where)
    plain = content if content[:2] not in _WIDE else exchange.text_of(content).encode("utf-8")
    if b"END-ISO-10303-21" not in plain.upper():
        line = plain.count(b"\n") + 1
        raise FileError(
            "the file is cut short: END-ISO-10303-21 is missing", where=f"{where}, line {line}",
            right="copy or export it again",
        )
    _need_data(plain, where)
    _need_numbers(plain, where)
    return content


def _need_numbers(content: bytes, where: str) -> None:
    """Refuse numbers that no length, angle or parameter has: the kernel may think about them for ever."""
    for found in _VAST.finditer(content):
        if int(found[1]) > _MOST:
            line = content.count(b"\n", 0, found.start()) + 1
            raise ModelError(f"holds the number {found[0].decode('ascii')}, which no part has",
                             where=f"{where}, line {line}", right="export the model again")


_VAST, _MOST = re.compile(rb"(?<![\w'.])[-+]?\d+\.\d*[Ee]\+?(\d{3,18})"), 100    # some files write 1E100 for no end


def _need_start(content: bytes, where: str) -> None:
    """A STEP file in clear text, and in words what else it seems to be."""
    start = exchange.text_of(content[:400]).lstrip("\ufeff \t\r\n")
    start = re.sub(r"^(?:/\*.*?\*/\s*)+", "", start, flags=re.DOTALL)
    if start.upper().startswith("ISO-10303-21"):
        return
    told = next((told for mark, told in _OTHERS if content.lstrip().startswith(mark)), None)
    if told is not None:
        raise FileError(told[0], where=where, right=told[1])
    raise FileError(
        "is not a STEP file: it does not begin with ISO-10303-21", where=f"{where}, line 1",
        right="export the model as STEP (AP203, AP214 or AP242)",
    )


_WIDE = (b"\xff\xfe", b"\xfe\xff")
_OTHERS = (
    (b"PK\x03\x04", ("is packed (zip)", "unpack it, and give the STEP file inside")),
    (b"\x1f\x8b", ("is packed (gzip)", "unpack it, and give the STEP file inside")),
    (b"<?xml", ("is XML (STEP as ISO 10303-28, or another kind)", "export it as STEP in clear text (ISO 10303-21)")),
    (b"\x89HDF", ("is binary STEP (ISO 10303-26)", "export it as STEP in clear text (ISO 10303-21)")),
)


def _need_data(content: bytes, where: str) -> None:
    if re.search(rb"\bDATA\s*[;(]", content, re.IGNORECASE) is None or b"#" not in content:
        raise ModelError("holds no model: its DATA section is missing or empty", where=where,
                         right="export the model again")


def fault(path: Path) -> tuple[str, str]:
    """In words what is wrong with a text that the kernel could not bear, and where; empty where nothing is."""
    try:
        content = path.read_bytes()
    except OSError:
        return "", ""
    file = exchange.read(content)
    for number, body in file.bodies.items():
        said = "" if file.record(number) else f"instance #{number} cannot be read"
        names = [_LEADING.match(other) for other in _STRING.sub("", body).split("#")[1:]]
        lost = next((int(name[0]) for name in names if name is not None and int(name[0]) not in file.bodies), None)
        if lost is not None and not said:
            said = f"#{number} refers to #{lost}, which is not there"
        if said:
            return said, f"{path}, line {_line_of(content, number)}"
    return "", ""


def _line_of(content: bytes, number: int) -> int:
    found = re.search(rb"(?:^|[;\s])#\s*%d\s*=" % number, content)
    return 1 if found is None else content.count(b"\n", 0, found.end()) + 1


_STRING, _LEADING = re.compile(r"'[^']*'"), re.compile(r"\d{1,18}")


def why_no_solid(path: Path) -> str:
    """In words: what the file holds in place of a solid."""
    text = path.read_bytes()
    holds = {word: re.search(rb"\b" + word.encode() + rb"\b", text) is not None for word in _KINDS}
    if holds["MANIFOLD_SOLID_BREP"] or holds["BREP_WITH_VOIDS"] or holds["FACETED_BREP"]:
        return NOT_BUILT
    if holds["OPEN_SHELL"]:
        return "holds no solid, only an open shell (a surface model)"
    if holds["SHELL_BASED_SURFACE_MODEL"]:
        return "holds no solid, only a surface model"
    if any(holds[word] for word in _KINDS if word.startswith(("TESS", "TRIANG", "COMPLEX"))):
        return "holds no solid, only a tessellated (triangulated) shape"
    if holds["GEOMETRIC_CURVE_SET"] or holds["GEOMETRIC_SET"]:
        return "holds no solid, only curves or loose surfaces"
    return "holds no solid"


_KINDS = (
    "MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "FACETED_BREP", "OPEN_SHELL", "SHELL_BASED_SURFACE_MODEL",
    "TESSELLATED_SOLID", "TESSELLATED_SHELL", "TRIANGULATED_FACE", "TRIANGULATED_SURFACE_SET",
    "COMPLEX_TRIANGULATED_FACE", "GEOMETRIC_CURVE_SET", "GEOMETRIC_SET",
)


_CONVERTED = re.compile(r"CONVERSION_BASED_UNIT\s*\(\s*'([^']*)'\s*,\s*#(\d+)\s*\)")
_MEASURE = re.compile(r"LENGTH_MEASURE\s*\(\s*([\d.Ee+-]+)\s*\)\s*,\s*#(\d+)")
_ENTITY = re.compile(r"#(\d+)\s*=\s*([^;]*_UNIT\b[^;]*);")
_BY_SIZE = {25.4: "in", 304.8: "ft", 0.0254: "mil", 914.4: "yd", 1.0: "mm", 10.0: "cm", 1000.0: "m"}


def unit_by_text(text: str) -> str:
    """The unit of length that a file defines by conversion, by its name or else its size; '' if there is none."""
    entities = dict(_ENTITY.findall(text))
    for body in entities.values():
        named = _CONVERTED.search(body)
        if named is None or "LENGTH_UNIT" not in body:
            continue
        measure = _MEASURE.search(entities.get(named[2], ""))
        if named[1].strip():
            return short_unit(named[1])
        if measure is not None:
            size = float(measure[1]) * (1.0 if ".MILLI." in entities.get(measure[2], "") else 1000.0)
            return next((unit for known, unit in _BY_SIZE.items() if abs(size / known - 1) < 1e-6), "")
    return ""


def short_unit(name: str) -> str:
    """The usual sign of a unit of length that the file spells out ('millimetre' -> 'mm')."""
    spelt = name.strip().strip("'").lower()
    spelt = _SPELT.get(spelt, spelt)
    return _UNITS.get(spelt, spelt)
