"""A pocket of the small block, milled by a program: right, and with one slip after the other."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from firstoff.checks.base import Case
from firstoff.dryrun.walk import walk
from firstoff.part.shapes import Face, Part, Vector
from tests.dryrun import small
from tests.dryrun.small import POCKET

FILE = "pocket.nc"
HEAD = ("G21 G17 G90 G94", "S6000 M3", "G0 Z5", "G0 X30 Y20")
TAIL = ("G0 Z5", "M5", "M30")


def rings(bottom: float = -8.0, step: float = 1.0, size: tuple[float, float] = (24.0, 14.0)) -> list[str]:
    """Layers of rings from the middle outwards; the last leaves what lies a cutter's radius beside `size`."""
    lines, z = [], 0.0
    while z > bottom + 1e-9:
        z = max(bottom, z - step)
        lines += ["G0 X30 Y20", f"G1 Z{z:g} F60"]
        for k in range(1, 8):
            x, y = min(size[0] / 2.0, 5.0 + 1.4 * k), size[1] / 2.0 * k / 7.0
            lines += [f"G1 X{30 - x:g} Y{20 - y:g} F360", f"X{30 + x:g}", f"Y{20 + y:g}", f"X{30 - x:g}",
                      f"Y{20 - y:g}"]
    return lines


def program(body: Iterable[str], head: Iterable[str] = HEAD) -> str:
    """A whole program."""
    return "\n".join([*head, *body, *TAIL]) + "\n"


GOOD = program(rings())
SHALLOW = program(rings(bottom=-2.0))


def outlined(part: Part) -> Part:
    """The part, its flat faces with an outline; the top with the mouth of the pocket in it."""
    mouth = _loop((15.0, 10.0, 20.0), (45.0, 30.0, 20.0))
    return replace(part, faces=tuple(_outlined(face, mouth) for face in part.faces))


def _outlined(face: Face, mouth: tuple[Vector, ...]) -> Face:
    if face.kind != "plane":
        return face
    holes = (mouth,) if face.number == 5 else ()
    return replace(face, outlines=(_loop(face.low, face.high), *holes))


def _loop(low: Vector, high: Vector) -> tuple[Vector, ...]:
    flat = next(k for k in range(3) if low[k] == high[k])
    one, other = (k for k in range(3) if k != flat)
    corners = []
    for a, b in ((0, 0), (1, 0), (1, 1), (0, 1)):
        point = list(low)
        point[one], point[other] = (low, high)[a][one], (low, high)[b][other]
        corners.append((point[0], point[1], point[2]))
    return tuple(corners)


@cache
def parts() -> dict[str, Part]:
    """The parts of the small job, with outlines."""
    return {name: outlined(part) for name, part in small.parts().items()}


def cases(folder: Path, text: str = GOOD, edits: tuple[tuple[str, str], ...] = (), **more: Any) -> dict[str, Case]:
    """Every case of the small job, its pocket by a program in this folder."""
    (folder / FILE).write_text(text)
    keys = ((f"operations.{POCKET}.program", FILE), (f"operations.{POCKET}.cut.depth_of_cut", "2.2 mm"), *edits)
    route = small.route(keys).model_copy(update={"file": str(folder / "route.toml")})
    shop = more.pop("shop", None) or small.shop()
    return {case.name: case for case in walk(small.job(), shop, route, parts(), **more)}


def pocket(folder: Path, text: str = GOOD, *edits: tuple[str, str], **more: Any) -> Case:
    """The pocket's case; keys of `edits` are those of its operation."""
    return cases(folder, text, tuple((f"operations.{POCKET}.{key}", said) for key, said in edits), **more)[POCKET]
