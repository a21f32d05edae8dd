"""A part told in a few lines of text: what such a sketch holds, and reading it from a file. No kernel; lengths in mm.

The block stands with its left front bottom corner at the origin: x to the right, y to the back, z up. A place on a
face is told in the part's own coordinates that run along it: x, y on top and bottom; x, z on front and back; y, z on
left and right.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from firstoff.errors import FileError, TomlError
from firstoff.tomlfile import parse_table, place_of, read_text

#: name of a face -> (axis that it is square to, way out along that axis)
FACES: dict[str, tuple[int, int]] = {
    "left": (0, -1), "right": (0, 1), "front": (1, -1), "back": (1, 1), "bottom": (2, -1), "top": (2, 1),
}
UNITS = {"mm": 1.0, "in": 25.4}          # [mm]
MOST_LINES = 2000
DRILL_POINT = 118.0                      # of a common drill [degrees]
EXAMPLE = 'unit = "mm"\nlines = \'\'\'\nblock 110 x 34 x 24\n\'\'\''


class SketchError(TomlError):
    """A line of a sketch cannot be used; `so_far` is the sketch of the lines before it."""

    def __init__(self, what: str, *, where: str = "", right: str = "", so_far: Sketch | None = None) -> None:
        super().__init__(what, where=where, right=right)
        self.so_far = so_far


@dataclass(frozen=True)
class Size:
    """A size as a drawing tells it: mm, with the deviations allowed, or a fit such as H7."""

    value: float
    lower: float | None = None           # deviation [mm]
    upper: float | None = None           # [mm]
    fit: str = ""


NOTHING = Size(0.0)


@dataclass(frozen=True)
class Place:
    """A place on a face, from the block's low corner [mm]; with the deviations allowed, and from which sides."""

    u: float
    v: float
    limits: tuple[tuple[float, float] | None, tuple[float, float] | None] = (None, None)
    sides: tuple[str, str] = ("", "")    # names of the faces that it is measured from; '' from elsewhere


@dataclass(frozen=True)
class Block:
    """What the part is cut from: along x, y and z."""

    line: int
    sizes: tuple[Size, Size, Size]

    @property
    def size(self) -> tuple[float, float, float]:
        """Length, width, height [mm]."""
        x, y, z = self.sizes
        return x.value, y.value, z.value


@dataclass(frozen=True)
class Hole:
    """Equal round holes on one face. Without depth: through."""

    line: int
    face: str
    places: tuple[Place, ...]
    diameter: Size
    depth: Size | None = None            # to the end of the full diameter [mm]
    point: float = DRILL_POINT           # included angle of the bottom; 180 is flat [degrees]
    countersink: tuple[float, float] | None = None     # diameter [mm], angle [degrees]
    counterbore: tuple[float, float] | None = None     # diameter, depth [mm]
    thread: str = ""                     # M4, M4x0.5
    thread_depth: Size | None = None     # of full thread; None right through


@dataclass(frozen=True)
class Pocket:
    """Equal recesses with four walls, their middles at the places; without depth through."""

    line: int
    face: str
    places: tuple[Place, ...]
    sizes: tuple[Size, Size]             # along the face's first and second coordinate
    depth: Size | None
    corner: Size
    floor: Size = NOTHING                # radius between walls and floor


@dataclass(frozen=True)
class Slot:
    """A long recess along x, y or z between two ends; an end at or past the block's side is open."""

    line: int
    face: str
    along: int                           # axis
    ends: tuple[float, float]            # from the block's low corner [mm]
    middle: Place                        # u is its middle across, v is not used
    width: Size
    depth: Size | None
    corner: Size


@dataclass(frozen=True)
class Step:
    """A ledge cut from a face, all along one side."""

    line: int
    face: str
    side: str
    width: Size
    depth: Size


@dataclass(frozen=True)
class Slope:
    """A slanting flat over edges of the block: a chamfer, or a ramp.

    The width runs along the first face of each edge, where the angle is too, and is at most 45 degrees.
    """

    line: int
    verb: str                            # chamfer, ramp
    edges: tuple[tuple[str, str], ...]
    width: Size
    angle: float                         # [degrees]


@dataclass(frozen=True)
class Round:
    """Rounded edges of the block."""

    line: int
    edges: tuple[tuple[str, str], ...]
    radius: Size


@dataclass(frozen=True)
class Groove:
    """Equal rings sunk in a face, each about a core that stays."""

    line: int
    face: str
    places: tuple[Place, ...]
    diameter: Size                       # outer
    width: Size
    depth: Size


@dataclass(frozen=True)
class Boss:
    """Equal round bosses on a face: all of the face but for them is cut down by their height."""

    line: int
    face: str
    places: tuple[Place, ...]
    diameter: Size
    height: Size


@dataclass(frozen=True)
class Flat:
    """How flat a face must be."""

    line: int
    face: str
    zone: float                          # width of the zone [mm]


Cut = Hole | Pocket | Slot | Step | Slope | Round | Groove | Boss


@dataclass(frozen=True)
class Sketch:
    """What is understood of the lines so far."""

    name: str = "part"
    file: str = "sketch"
    unit: str = "mm"
    block: Block | None = None
    cuts: tuple[Cut, ...] = ()
    flats: tuple[Flat, ...] = ()
    datums: tuple[tuple[str, tuple[float, float, float]], ...] = ()
    texts: tuple[tuple[int, str], ...] = field(default=())      # the lines as they were written, with their numbers

    def upto(self, line: int) -> Sketch:
        """The sketch without this line and all after it."""
        return replace(
            self, block=self.block if self.block is not None and self.block.line < line else None,
            cuts=tuple(cut for cut in self.cuts if cut.line < line),
            flats=tuple(flat for flat in self.flats if flat.line < line),
            texts=tuple(text for text in self.texts if text[0] < line),
        )


def axes_of(face: str) -> tuple[int, int]:
    """The two axes that run along a face."""
    square = FACES[face][0]
    first, second = (axis for axis in range(3) if axis != square)
    return first, second


def read(path: Path) -> Sketch:
    """The sketch in a file, all lengths in mm.

    Raises:
        FileError: if the file cannot be read.
        TomlError: if it is not TOML, or a key is missing or wrong.
        SketchError: if a line cannot be used; it names file, line and word, and holds the sketch so far.
    """
    return parse(read_text(path), str(path), path.stem)


def parse(text: str, file: str, name: str = "part") -> Sketch:
    """The sketch in the text of a file; `file` stands in messages, `name` where the text gives none."""
    from firstoff.part import sketch_lines  # it needs what stands here

    table = parse_table(text, file)
    unit, told = _checked(table, text, file)
    sketch = Sketch(name=table.get("name", name), file=file, unit=unit)
    for number, line in _numbered(text, told):
        if number - _first(text) >= MOST_LINES:
            raise SketchError(f"more than {MOST_LINES} lines", where=f"{file}, line {number}",
                              right="a model of that many features is better read as STEP", so_far=sketch)
        sketch = sketch_lines.add(sketch, line, number)
    if sketch.block is None:
        raise SketchError("no block is told", where=f"{file}, line {_first(text)}",
                          right="begin with a line like: block 110 x 34 x 24", so_far=sketch)
    return sketch


def _checked(table: dict[str, Any], text: str, file: str) -> tuple[str, str]:
    for key in table:
        if key not in ("unit", "name", "lines"):
            raise TomlError(f"there is no key {key!r} in a sketch", where=place_of(file, text, (key,)),
                            right="known: unit, name, lines")
    for key in ("unit", "lines"):
        if key not in table:
            raise TomlError(f"{key!r} is missing", where=file, right=_LACKS[key])
    for key, value in table.items():
        if not isinstance(value, str):
            raise TomlError(f"{key} is no text: {value!r}", where=place_of(file, text, (key,)), right=_LACKS[key])
    if table["unit"] not in UNITS:
        raise TomlError(f"the unit {table['unit']!r} is not known", where=place_of(file, text, ("unit",)),
                        right=_LACKS["unit"])
    return table["unit"], table["lines"]


_LACKS = {"unit": 'write unit = "mm", or unit = "in"', "name": 'write name = "bracket"',
          "lines": "write the sketch between ''' and ''', its first line like: block 110 x 34 x 24"}
_OPENING = re.compile(r"^[ \t]*(?:lines|\"lines\"|'lines')[ \t]*=[ \t]*('''|\"\"\"|'|\")", re.MULTILINE)


def _first(text: str) -> int:
    """The number of the line on which the sketch begins."""
    found = _OPENING.search(text)
    if found is None:
        return 1
    after = text[found.end():]
    return text.count("\n", 0, found.end()) + 1 + (len(found[1]) == 3 and after.lstrip("\r").startswith("\n"))


def _numbered(text: str, told: str) -> Iterator[tuple[int, str]]:
    """The lines that say something, with their numbers in the file."""
    for number, line in enumerate(re.split(r"\r?\n", told), _first(text)):
        if line.partition("#")[0].strip():
            yield number, line.strip()


def write(sketch: Sketch) -> str:
    """The sketch as the text of a file, its lines as they were written.

    Raises:
        FileError: if it holds nothing.
    """
    if sketch.block is None:
        raise FileError("there is nothing to save: no block is told", right="block 110 x 34 x 24")
    name = re.sub(r"[^ -~]|[\"\\]", "_", sketch.name)
    lines = "\n".join(text.replace("'''", "'") for _, text in sketch.texts)
    return f'unit = "{sketch.unit}"\nname = "{name}"\nlines = \'\'\'\n{lines}\n\'\'\'\n'
