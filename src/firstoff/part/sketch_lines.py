"""The lines of a sketch: one function a verb, which turns its words into what is to be cut. Pure, lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from firstoff.part import sketch_check, sketch_threads
from firstoff.part.sketch import (
    DRILL_POINT,
    FACES,
    Block,
    Boss,
    Cut,
    Flat,
    Groove,
    Hole,
    Place,
    Pocket,
    Round,
    Size,
    Sketch,
    Slope,
    Slot,
    Step,
    axes_of,
)
from firstoff.part.sketch_words import Words

LETTERS = ("x", "y", "z")
MOST_PLACES = 1000
RUN_OUT = 4.0                            # pitches drilled beyond the full thread: the tap's taper, and chips


def add(sketch: Sketch, line: str, number: int) -> Sketch:
    """The sketch with one more line.

    Raises:
        SketchError: if the line cannot be used; it names the word, and holds the sketch without it.
    """
    words = Words(line, number, sketch)
    verb = words.word(VERBS, "what is to be made")
    if verb != "block" and sketch.block is None:
        words.fail("no block stands before it", "begin with a line like: block 110 x 34 x 24", at=verb)
    more = VERBS[verb](words, sketch)
    if words.more:
        words.fail("is too much on this line", "one cut a line", at=words.peek().text)
    return replace(more, texts=(*sketch.texts, (number, line)))


def _cut(sketch: Sketch, words: Words, cut: Cut) -> Sketch:
    sketch_check.check(sketch, cut, words)
    return replace(sketch, cuts=(*sketch.cuts, cut))


def _block(words: Words, sketch: Sketch) -> Sketch:
    if sketch.block is not None:
        words.fail(f"there is a block already, on line {sketch.block.line}", "one block a part")
    sizes = [words.size("length")]
    for what in ("width", "height"):
        if not words.skip("x", "X", "×", "by"):
            words.fail(f"'x' and the {what} of the block are missing", "block 110 x 34 x 24",
                       at=words.peek().text or None)
        sizes.append(words.size(what))
    return replace(sketch, block=Block(words.number, (sizes[0], sizes[1], sizes[2])))


@dataclass
class _Told:
    """What the clauses of a line say."""

    face: str = "top"
    deep: Size | None = None
    wide: Size | None = None
    through: bool = False
    corner: Size | None = None
    floor: Size | None = None
    high: Size | None = None
    point: float = DRILL_POINT
    drilled: Size | None = None
    countersink: tuple[float, float] | None = None
    counterbore: tuple[float, float] | None = None
    raw: list[tuple[Any, Any]] = field(default_factory=list)      # places before their datum is known
    origin: tuple[str, ...] = ()
    datum: str = ""
    along: str = ""
    start: list[tuple[float, ...]] = field(default_factory=list)
    middle: tuple[str, float, tuple[float, float] | None] | None = None


def _clauses(words: Words, told: _Told, known: tuple[str, ...]) -> _Told:
    """Read clauses to the end of the line; each may come once, in any order."""
    seen: set[str] = set()
    while words.more:
        if words.peek().kind == "number":
            size = words.size("size")
            name = words.word([word for word in ("deep", "wide", "high") if word in known], "what the number is")
            value: Size | None = size
        else:
            name, value = words.word((*known, "cbore", "csk", "r")[: None if "corner" in known else -1],
                                     "the next thing about it"), None
        name = {"cbore": "counterbored", "csk": "countersunk", "r": "corner"}.get(name, name)
        if name in seen and name != "from":
            words.fail("is said twice", "say it once")
        seen.add(name)
        _CLAUSES[name](words, told, value)
    if told.through and told.deep is not None:
        words.fail("is deep and through at once", "say 'through', or how deep", at="through")
    return told


def _deep(words: Words, told: _Told, value: Size | None) -> None:
    told.deep = value or words.size("depth")


def _wide(words: Words, told: _Told, value: Size | None) -> None:
    told.wide = value or words.size("width")


def _through(_words: Words, told: _Told, _value: Size | None) -> None:
    told.through = True


def _corner(words: Words, told: _Told, _value: Size | None) -> None:
    words.skip("R", "r", "radius")
    told.corner = words.size("corner radius", least=-1e-12)


def _floor(words: Words, told: _Told, _value: Size | None) -> None:
    words.skip("R", "r", "radius")
    told.floor = words.size("floor radius")


def _high(words: Words, told: _Told, value: Size | None) -> None:
    told.high = value or words.size("height")


def _point(words: Words, told: _Told, _value: Size | None) -> None:
    told.point = words.angle("drill point", 30.0, 180.0)


def _flat_bottom(_words: Words, told: _Told, _value: Size | None) -> None:
    told.point = 180.0


def _drilled(words: Words, told: _Told, _value: Size | None) -> None:
    words.skip("deep")
    told.drilled = words.size("drilled depth")


def _countersunk(words: Words, told: _Told, _value: Size | None) -> None:
    wide = words.length("countersink")
    told.countersink = wide, words.angle("countersink angle", 30.0, 170.0) if words.skip("x", "X", "×") else 90.0


def _counterbored(words: Words, told: _Told, _value: Size | None) -> None:
    wide = words.length("counterbore")
    if not words.skip("x", "X", "×", "deep"):
        words.fail("how deep the counterbore is, is missing", "counterbored 8 x 4", at=words.peek().text or None)
    told.counterbore = wide, words.length("depth of the counterbore")


def _on(words: Words, told: _Told, _value: Size | None) -> None:
    words.skip("the")
    told.face = _face(words, "a face")


def _face(words: Words, what: str) -> str:
    if words.skip("rear"):
        return "back"
    return words.word(FACES, what)


def _at(words: Words, told: _Told, _value: Size | None) -> None:
    while True:
        if words.peek().kind == "word" and words.peek().text.lower() in LETTERS:
            letter = words.take().text.lower()
            told.middle = letter, words.length("place", None), words.limits()
            return
        first = words.length("place", None), words.limits()
        if not words.skip(","):
            words.fail("a place has two numbers", "at 10, 7", at=words.peek().text or None)
        told.raw.append((first, (words.length("place", None), words.limits())))
        if len(told.raw) > MOST_PLACES:
            words.fail(f"more than {MOST_PLACES} places", "several lines")
        if not words.skip(";", "and"):
            return


def _from(words: Words, told: _Told, _value: Size | None) -> None:
    """A datum: 'from right front', 'from centre', 'from A'; or the two ends of a slot."""
    if words.peek().kind == "number" or words.is_word(*LETTERS):
        _ends(words, told)
        return
    names = dict(words.sketch.datums)
    if told.origin or told.datum:
        words.fail("a datum is told already", "one datum a line", at=words.peek().text)
    if words.peek().text in names:
        told.datum = words.take().text
        return
    known = (*FACES, "rear", "centre", "center", "middle")
    sides = [words.word((*known, *names), "a side, a corner or 'centre'")]
    while words.is_word(*known):
        sides.append(words.take().text.lower())
    told.origin = tuple({"rear": "back", "center": "centre", "middle": "centre"}.get(side, side) for side in sides)
    if words.peek(1).kind != "number" and not words.is_word("r", "radius", ahead=1):
        words.skip("corner", "side")


def _ends(words: Words, told: _Told) -> None:
    letter = words.take().text.lower() if words.is_word(*LETTERS) else ""
    if told.start:
        words.fail("both ends are told already", "one 'from … to …'")
    for k in range(2):
        if k and not words.skip("to"):
            words.fail("'to' and the other end are missing", "from x 10 to 50, or from 10, 17 to 50, 17",
                       at=words.peek().text or None)
        if k:
            words.skip(letter)
        one = words.length("end", None)
        if letter:
            told.start.append((one,))
        elif words.skip(","):
            told.start.append((one, words.length("end", None)))
        else:
            words.fail("an end has two numbers", "from 10, 17 to 50, 17, or from x 10 to 50",
                       at=words.peek().text or None)
    told.along = letter or told.along


def _along(words: Words, told: _Told, _value: Size | None) -> None:
    words.skip("the")
    told.along = words.word((*LETTERS, *FACES, "rear"), "a side, or x, y or z").replace("rear", "back")


_CLAUSES: dict[str, Callable[[Words, _Told, Size | None], None]] = {
    "deep": _deep, "wide": _wide, "high": _high, "through": _through, "corner": _corner, "floor": _floor,
    "point": _point, "flat": _flat_bottom, "drilled": _drilled, "countersunk": _countersunk,
    "counterbored": _counterbored, "on": _on, "at": _at, "from": _from, "along": _along,
}


def _places(words: Words, told: _Told) -> tuple[Place, ...]:
    if not told.raw:
        words.fail("where it is, is missing", "at 10, 7", at="")
    origins = [_origin(words, told, k) for k in range(2)]
    out = []
    for pair in told.raw:
        values = [start + way * value for (value, _), (start, way, _) in zip(pair, origins, strict=True)]
        limits = [None if allowed is None else allowed for _, allowed in pair]
        out.append(Place(values[0], values[1], (limits[0], limits[1]), (origins[0][2], origins[1][2])))
    return tuple(out)


def _origin(words: Words, told: _Told, which: int) -> tuple[float, float, str]:
    """Where one coordinate of a face begins, which way it counts, and the side that it begins at."""
    axis = axes_of(told.face)[which]
    length = _size_of(words.sketch)[axis]
    if told.datum:
        return dict(words.sketch.datums)[told.datum][axis], 1.0, ""
    for side in told.origin:
        if side != "centre" and FACES[side][0] not in axes_of(told.face):
            words.fail(f"nothing on {told.face} is measured from {side}", f"from {' or '.join(_beside(told.face))}",
                       at=side)
        if side != "centre" and FACES[side][0] == axis:
            return (length, -1.0, side) if FACES[side][1] > 0 else (0.0, 1.0, side)
    if "centre" in told.origin:
        return length / 2, 1.0, ""
    return 0.0, 1.0, next(name for name, way in FACES.items() if way == (axis, -1))


def _size_of(sketch: Sketch) -> tuple[float, float, float]:
    return sketch.block.size if sketch.block is not None else (0.0, 0.0, 0.0)


def _hole(words: Words, sketch: Sketch) -> Sketch:
    thread, pitch = "", 0.0
    if words.peek().kind == "thread":
        thread, pitch, diameter = sketch_threads.read(words)
        words.skip("x", "X", "×")
    else:
        diameter = words.size("diameter")
    told = _clauses(words, _Told(), ("deep", "through", "point", "flat", "drilled", "countersunk", "counterbored",
                                     "on", "at", "from"))
    if told.deep is None and not told.through:
        words.fail("how deep the hole is, is missing", "say 'through', or 'deep 9'", at="")
    depth, goes = told.deep, None
    if told.drilled is not None and (told.deep is None or not thread):
        words.fail("'drilled' is for tapped holes that are not through", "hole M4 deep 9 drilled 12", at="drilled")
    if thread and depth is not None:
        goes, depth = depth, told.drilled or Size(round(depth.value + RUN_OUT * pitch, 6))
        if depth.value < goes.value:
            words.fail("is drilled less deep than it is tapped", f"drilled {goes.value + RUN_OUT * pitch:g}",
                       at="drilled")
    return _cut(sketch, words, Hole(
        words.number, told.face, _places(words, told), diameter, depth, told.point, told.countersink,
        told.counterbore, thread, goes,
    ))


def _pocket(words: Words, sketch: Sketch) -> Sketch:
    length = words.size("length")
    if not words.skip("x", "X", "×", "by"):
        words.fail("'x' and the width are missing", "pocket 26.4 x 13.4", at=words.peek().text or None)
    width = words.size("width")
    told = _clauses(words, _Told(), ("deep", "through", "floor", "on", "at", "from", "corner"))
    if told.deep is None and not told.through:
        words.fail("how deep the pocket is, is missing", "say 'through', or 'deep 5'", at="")
    return _cut(sketch, words, Pocket(words.number, told.face, _places(words, told), (length, width), told.deep,
                                      told.corner or told.floor or Size(0.0), told.floor or Size(0.0)))


def _groove(words: Words, sketch: Sketch) -> Sketch:
    """groove 46 x 3 deep 2.5 at 30, 30: a ring, by its outer diameter and its width."""
    diameter = words.size("outer diameter")
    if not words.skip("x", "X", "×", "by"):
        words.fail("'x' and the width are missing", "groove 46 x 3 deep 2.5", at=words.peek().text or None)
    width = words.size("width")
    told = _clauses(words, _Told(), ("deep", "on", "at", "from"))
    if told.deep is None:
        words.fail("how deep the groove is, is missing", "deep 2.5", at="")
    return _cut(sketch, words, Groove(words.number, told.face, _places(words, told), diameter, width, told.deep))


def _boss(words: Words, sketch: Sketch) -> Sketch:
    """boss 20 high 8 at 30, 20: the face about it is cut down."""
    diameter = words.size("diameter")
    told = _clauses(words, _Told(), ("high", "on", "at", "from"))
    if told.high is None:
        words.fail("how high the boss is, is missing", "high 8", at="")
    return _cut(sketch, words, Boss(words.number, told.face, _places(words, told), diameter, told.high))


def _slot(words: Words, sketch: Sketch) -> Sketch:
    told = _clauses(words, _Told(), ("deep", "wide", "through", "corner", "on", "at", "from", "along"))
    if told.wide is None:
        words.fail("how wide the slot is, is missing", "slot 6 wide", at="")
    if told.deep is None and not told.through:
        words.fail("how deep the slot is, is missing", "say 'through', or 'deep 4'", at="")
    along, ends, middle = _run(words, told)
    return _cut(sketch, words, Slot(words.number, told.face, along, ends, middle, told.wide, told.deep,
                                    told.corner or Size(told.wide.value / 2)))


def _run(words: Words, told: _Told) -> tuple[int, tuple[float, float], Place]:
    """The axis along which a slot runs, its ends and its middle across, from the block's low corner."""
    first, second = axes_of(told.face)
    if told.start and len(told.start[0]) == 2:
        (a, b), (c, d) = told.start
        if (a == c) == (b == d):
            words.fail("the slot runs neither along one side nor the other", "two ends that share one number",
                       at="to")
        along, ends, across = (second, (b, d), a) if a == c else (first, (a, c), b)
        allowed = None
    else:
        along = _axis(words, told.along, told.face)
        other = LETTERS[second if along == first else first]
        if told.middle is None:
            words.fail("where its middle is, is missing", f"at {other} 17", at="")
        letter, across, allowed = told.middle
        if _axis(words, letter, told.face) == along:
            words.fail("is the way that the slot runs", f"at {other} …", at=letter)
        ends = (told.start[0][0], told.start[1][0]) if told.start else (-math.inf, math.inf)
    start, way, _ = _origin(words, told, (first, second).index(along))
    low, high = sorted(start + way * end for end in ends)
    begin, sense, side = _origin(words, told, (first, second).index(second if along == first else first))
    size = _size_of(words.sketch)[along]
    middle = Place(begin + sense * across, 0.0, (allowed, None), (side, ""))
    return along, (max(low, 0.0), min(high, size)), middle


def _axis(words: Words, letter: str, face: str) -> int:
    """The axis with this letter, which must run along the face."""
    known = [LETTERS[axis] for axis in axes_of(face)]
    if letter not in known:
        words.fail(f"{letter or 'which way it runs'} does not run along {face}" if letter else
                   "which way the slot runs is missing", f"along {known[0]}, or along {known[1]}", at=letter)
    return LETTERS.index(letter)


def _step(words: Words, sketch: Sketch) -> Sketch:
    told = _clauses(words, _Told(), ("deep", "wide", "on", "along"))
    if told.wide is None or told.deep is None:
        words.fail("a step has a width and a depth", "step 10 wide deep 5 along left", at="")
    if not told.along:
        words.fail("along which side the step runs is missing", "along left", at="")
    if told.along not in FACES or FACES[told.along][0] == FACES[told.face][0]:
        words.fail(f"is no side of {told.face}", f"along {' or '.join(_beside(told.face))}", at=told.along)
    return _cut(sketch, words, Step(words.number, told.face, told.along, told.wide, told.deep))


def _beside(face: str) -> list[str]:
    return [name for name, (axis, _) in FACES.items() if axis != FACES[face][0]]


def _ramp(words: Words, sketch: Sketch) -> Sketch:
    """ramp 22 deg from x 60 down to right [on top]: it falls from that line of the face towards the side."""
    angle = words.angle("angle", 0.0, 90.0)
    if not words.skip("from"):
        words.fail("where the ramp begins is missing", "from x 60 down to right", at=words.peek().text or None)
    letter = words.word(LETTERS, "x, y or z")
    start = words.length("start of the ramp", None)
    words.skip("down")
    if not words.skip("to", "towards"):
        words.fail("the side that it falls to is missing", "from x 60 down to right", at=words.peek().text or None)
    side = _face(words, "the side that it falls to")
    face = _face(words, "a face") if words.skip("on") else "top"
    axis, way = FACES[side]
    if axis == FACES[face][0] or LETTERS[axis] != letter:
        words.fail(f"a ramp on {face} that begins at {letter} cannot fall to {side}",
                   f"from {LETTERS[axis]} … down to {side}", at=side)
    size = _size_of(sketch)
    leg = size[axis] - start if way > 0 else start
    if not 0.0 < leg < size[axis]:
        words.fail("the ramp begins outside the block", f"between 0 and {size[axis]:g} mm", at=letter)
    slope = _slope(words.number, "ramp", ((face, side),), Size(leg), angle)
    return _cut(sketch, words, slope)


def _slope(line: int, verb: str, edges: tuple[tuple[str, str], ...], width: Size, angle: float) -> Slope:
    """The slope with its width on the face to which it lies nearer."""
    if angle > 45.0 + 1e-9:
        share = math.tan(math.radians(angle))
        edges = tuple((other, one) for one, other in edges)
        bounds = [None if bound is None else bound * share for bound in (width.lower, width.upper)]
        width, angle = Size(width.value * share, bounds[0], bounds[1]), 90.0 - angle
    return Slope(line, verb, edges, width, angle)


def _chamfer(words: Words, sketch: Sketch) -> Sketch:
    width = words.size("width")
    angle = words.angle("angle", 5.0, 85.0) if words.skip("x", "X", "×") else 45.0
    return _cut(sketch, words, _slope(words.number, "chamfer", _edges(words), width, angle))


def _fillet(words: Words, sketch: Sketch) -> Sketch:
    words.skip("R", "r", "radius")
    radius = words.size("radius")
    return _cut(sketch, words, Round(words.number, _edges(words), radius))


def _edges(words: Words) -> tuple[tuple[str, str], ...]:
    """'on top front edge', 'on top front, top back', 'on all top edges', 'on all edges'."""
    words.skip("on", "along")
    words.skip("the")
    out: list[tuple[str, str]] = []
    if words.skip("all"):
        one = None if words.is_word("edges") else _face(words, "a face, or 'edges'")
        every = [(a, b) for k, a in enumerate(FACES) for b in list(FACES)[k + 1:] if FACES[a][0] != FACES[b][0]]
        out = [(a, b) for a, b in every] if one is None else [(one, other) for other in _beside(one)]
    else:
        while not out or words.skip(",", ";", "and"):
            first = _face(words, "an edge, by its two faces,")
            second = _face(words, "the edge's other face")
            if FACES[first][0] == FACES[second][0]:
                words.fail(f"{first} and {second} meet in no edge", f"one of {', '.join(_beside(first))}", at=second)
            if any({first, second} == set(edge) for edge in out):
                words.fail("is said twice", "each edge once", at=f"{first} {second}")
            out.append((first, second))
            words.skip("edge", "edges")
    words.skip("edge", "edges")
    return tuple(out)


def _flat_line(words: Words, sketch: Sketch) -> Sketch:
    """flat 0.02 on bottom."""
    zone = words.length("zone")
    if not words.skip("on"):
        words.fail("which face is to be flat is missing", "flat 0.02 on bottom", at=words.peek().text or None)
    return replace(sketch, flats=(*sketch.flats, Flat(words.number, _face(words, "a face"), zone)))


def _datum(words: Words, sketch: Sketch) -> Sketch:
    """datum A at 55, 17 or 55, 17, 0: a place to measure from."""
    token = words.take()
    taken = (*FACES, *LETTERS, *VERBS, *_CLAUSES, "rear", "centre", "center", "middle", "corner", "side")
    if token.kind != "word" or token.text.lower() in taken:
        words.fail("is no name for a datum", "datum A at 55, 17", at=token.text)
    if token.text in dict(sketch.datums):
        words.fail("is the name of a datum already", "another letter", at=token.text)
    if not words.skip("at"):
        words.fail("where the datum is, is missing", "datum A at 55, 17", at=words.peek().text or None)
    values = [words.length("place", None)]
    while words.skip(",") and len(values) < 3:
        values.append(words.length("place", None))
    if len(values) < 2:
        words.fail("a datum has two or three numbers", "datum A at 55, 17, or at 55, 17, 0", at=token.text)
    x, y, z = (*values, 0.0)[:3]
    return replace(sketch, datums=(*sketch.datums, (token.text, (x, y, z))))


VERBS: dict[str, Callable[[Words, Sketch], Sketch]] = {
    "block": _block, "hole": _hole, "holes": _hole, "pocket": _pocket, "slot": _slot, "step": _step, "ramp": _ramp,
    "groove": _groove, "boss": _boss, "chamfer": _chamfer, "fillet": _fillet, "flat": _flat_line, "datum": _datum,
}
