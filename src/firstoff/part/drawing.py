"""Hidden-line drawings of a part as plain lines, made by the worker and kept like its digest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from firstoff.errors import InputError
from firstoff.part import digest, process
from firstoff.part.shapes import Vector, View
from firstoff.part.vectors import dot, norm, unit

NAMES = ("plan", "front", "side", "pictorial")
Wanted = Sequence[tuple[str, Vector, Vector]]
#: all of them, of a part as it lies in its own coordinates
UPRIGHT: Wanted = tuple((name, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)) for name in NAMES)


def views(
    path: Path, wanted: Wanted, cache: Path | None = None, upto: int | None = None,
    heard: process.Heard | None = None,
) -> tuple[View, ...]:
    """Exact hidden-line drawings of the solids in a STEP file, or of a sketch in lines.

    'plan' looks down along -up; 'front' from in front of the machine; 'side' from the right; 'pictorial' is
    isometric, from in front of the machine, to the right and above. Smooth edges are not drawn.

    Args:
        path: the STEP file, or a sketch (.toml).
        wanted: (name, up, across) of each: up points up in the setting, across to the right for a person
            in front of the machine; both in the part's coordinates, at right angles.
        cache: folder where answers are kept; None for no cache.
        upto: a line of a sketch: what it and those after it say is left out; None for all lines.
        heard: told what is under way and the share done; drawing ends when it raises.

    Raises:
        InputError: if a name is not a drawing, or up and across are not at right angles.
        FileError, TomlError, ModelError: as `reading.read`.
    """
    order = [[name, list(unit(up)), list(unit(across))] for name, up, across in wanted if _fit(name, up, across)]
    answer, _ = process.ask(path, {"views": order} | ({} if upto is None else {"upto": upto}), cache,
                            heard=heard)
    return digest.views_of(answer)


def _fit(name: str, up: Vector, across: Vector) -> bool:
    if name not in NAMES:
        raise InputError(f"no drawing is called '{name}'", right=f"one of {', '.join(NAMES)}")
    lengths = norm(up), norm(across)
    if not all(math.isfinite(length) and length > 0 for length in lengths):
        raise InputError(f"up {up} or across {across} is no direction", right="a vector that is not null")
    if abs(dot(unit(up), unit(across))) > 1e-6:
        what = f"up {up} and across {across} are not square to each other"
        raise InputError(what, right="two directions at 90 degrees")
    return True
