"""Reading a STEP file or a sketch in lines into the digest of a part, without the geometry kernel in this process."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from firstoff.part import digest, process, step_text
from firstoff.part.shapes import Part


def read(path: Path, cache: Path | None = None, heard: process.Heard | None = None) -> Part:
    """What is understood of the solid model in a STEP file, or of a sketch in lines; all lengths in mm.

    Args:
        path: the STEP file; one of its solids as "file.step#name" or "file.step#2"; or a sketch (.toml).
        cache: folder where answers are kept by the file's contents; None for no cache.
        heard: told what is under way in a STEP file and the share done; reading ends when it raises.

    Raises:
        FileError: if the file is missing, empty, not STEP or cut short.
        SketchError: if a line of a sketch cannot be used; it holds the sketch of the lines before.
        ModelError: if it holds no closed solid, or the kernel cannot use it.
        NameUnknown: if it has no solid of that name.
        MissingPackage: if the geometry kernel is not installed.
    """
    if path.suffix.lower() == ".toml":
        from firstoff.part import sketch_reading

        return sketch_reading.read(path, cache)
    answer, sha256 = process.ask(path, {}, cache, heard=heard)
    part, (file, only) = digest.part_of(answer), step_text.solid_of(path)
    name = file.stem if only is None else part.names[0]
    return replace(part, name=name, file=path.name, sha256=sha256)
