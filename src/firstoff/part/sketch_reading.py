"""From the file of a sketch to its part, by way of the worker; and what is understood up to a mistake."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path

from firstoff.errors import FirstoffError, ModelError
from firstoff.part import digest, dots, drawing, process, report, sketch, sketch_limits, sketch_text
from firstoff.part.shapes import Part, View
from firstoff.part.sketch import Sketch, SketchError

_LINE = re.compile(r", line (\d+)")


def read(path: Path, cache: Path | None = None) -> Part:
    """What is understood of the solid that a sketch makes, with the sketch's limits; all lengths in mm.

    Args:
        path: the file with unit and lines.
        cache: folder where answers are kept by the file's contents; None for no cache.

    Raises:
        FileError, TomlError: if the file cannot be used.
        SketchError: if a line cannot be used; it holds the sketch of the lines before.
        MissingPackage: if the geometry kernel is not installed.
    """
    told = sketch.read(path)
    try:
        return _part(told, path, {}, cache)
    except ModelError as error:
        line = _LINE.search(error.where)
        if line is None:
            raise
        raise SketchError(error.what, where=error.where, right=error.right, so_far=told.upto(int(line[1]))) from None


def _part(told: Sketch, path: Path, job: dict[str, int], cache: Path | None) -> Part:
    answer, sha256 = process.ask(path, job, cache)
    part = replace(digest.part_of(answer), name=told.name, file=path.name, sha256=sha256, names=(told.name,))
    found = sketch_limits.limits(told, part)
    lost = [f"the {limit.kind} {limit.text}".strip() + " has no face: other lines took it away"
            for limit in found if not limit.faces]
    return replace(part, limits=tuple(limit for limit in found if limit.faces), remarks=(*part.remarks, *lost))


def so_far(error: SketchError, path: Path, cache: Path | None = None) -> Part | None:
    """The part of the lines before the one that cannot be used; None where there is no block yet."""
    line = _LINE.search(error.where)
    if error.so_far is None or error.so_far.block is None or line is None:
        return None
    return _part(error.so_far, path, {"upto": int(line[1])}, cache)


def so_far_views(error: SketchError, path: Path, cache: Path | None = None) -> tuple[View, ...]:
    """Drawings of the part of the lines before the one that cannot be used; none where there is no block yet."""
    line = _LINE.search(error.where)
    if error.so_far is None or error.so_far.block is None or line is None:
        return ()
    return drawing.views(path, drawing.UPRIGHT, cache, upto=int(line[1]))


def drawn(told: Sketch) -> list[str]:
    """A sketch that stands in no file yet, drawn for the terminal; nothing where it cannot be drawn."""
    if told.block is None:
        return []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sketch.toml"
        path.write_text(sketch.write(told), encoding="utf-8")
        try:
            return dots.picture(drawing.views(path, drawing.UPRIGHT))
        except FirstoffError:
            return []


def so_far_lines(error: SketchError, path: Path, cache: Path | None = None) -> list[str]:
    """What is understood up to a mistake, for a person: a drawing and the table of the part.

    In words where there is no kernel.
    """
    if error.so_far is None or error.so_far.block is None:
        return ["nothing is understood so far"]
    try:
        part, views = so_far(error, path, cache), so_far_views(error, path, cache)
    except FirstoffError:
        part, views = None, ()
    if part is None:
        return ["understood so far:", *(f"  {line}" for line in sketch_text.lines_of(error.so_far))]
    return ["understood so far:", *dots.picture(views), "", *report.as_lines(part)]
