"""A block made by hand, with a pocket and a hole, and the example job: what the planner is tried on."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from firstoff.job.models import Job
from firstoff.job.reading import load_job
from firstoff.part.reading import read
from firstoff.part.shapes import Face, Feature, Part, Vector
from firstoff.route.blank import Blank, blank_of
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop

EXAMPLE = Path(__file__).resolve().parents[2] / "src" / "firstoff" / "example" / "block_plane"
SIZE: Vector = (60.0, 40.0, 20.0)
UP: Vector = (0.0, 0.0, 1.0)


def block(size: Vector = SIZE, corner: float = 5.0, extra: tuple[Feature, ...] = ()) -> Part:
    """A block with six sides, a blind pocket 30 x 20 x 8 from +Z and a through hole of 5 mm."""
    x, y, z = size
    faces = [*_sides(size), *_pocket(x / 2.0, y / 2.0, z, corner), _bore(12, (6.0, 6.0), 2.5, z)]
    features = [
        *(Feature(f"stock-{i + 1}", "stock", (i,), axis=face.normal, access=(face.normal,))
          for i, face in enumerate(faces[:6])),
        Feature("pocket-1", "pocket", tuple(range(6, 12)), axis=UP, access=(UP,),
                size={"length": 30.0, "width": 20.0, "depth": 8.0, "corner_radius": corner}),
        Feature("hole-1", "hole", (12,), through=True, axis=UP, axis_point=(6.0, 6.0, z),
                access=(UP, (0.0, 0.0, -1.0)), size={"diameter": 5.0, "depth": z}),
    ]
    return Part("block", "block.step", "0" * 64, "mm", 1, (0.0, 0.0, 0.0), size, x * y * z, tuple(faces), (),
                (*features, *extra))


def _sides(size: Vector) -> list[Face]:
    out: list[Face] = []
    for axis in range(3):
        for sign in (-1.0, 1.0):
            normal, at = [0.0, 0.0, 0.0], 0.0 if sign < 0.0 else size[axis]
            normal[axis] = sign
            low, high = [0.0, 0.0, 0.0], list(size)
            low[axis] = high[axis] = at
            out.append(_flat(len(out), _v(normal), _v(low), _v(high)))
    return out


def _pocket(x: float, y: float, top: float, corner: float) -> list[Face]:
    """Floor and four walls, and one round corner that stands for the four."""
    low, high, floor = (x - 15.0, y - 10.0), (x + 15.0, y + 10.0), top - 8.0
    walls = [
        _flat(6, UP, (*low, floor), (*high, floor)),
        _flat(7, (1.0, 0.0, 0.0), (low[0], low[1], floor), (low[0], high[1], top)),
        _flat(8, (-1.0, 0.0, 0.0), (high[0], low[1], floor), (high[0], high[1], top)),
        _flat(9, (0.0, 1.0, 0.0), (low[0], low[1], floor), (high[0], low[1], top)),
        _flat(10, (0.0, -1.0, 0.0), (low[0], high[1], floor), (high[0], high[1], top)),
    ]
    at = (low[0] + corner, low[1] + corner, floor)
    round_corner = Face(11, 0, "cylinder", 1.57 * corner * 8.0, at, (0.7071, 0.7071, 0.0), (*low, floor),
                        (at[0], at[1], top), axis_point=at, axis=UP, radius=corner, sweep=1.5708, hollow=True)
    return [*walls, round_corner]


def _bore(number: int, at: tuple[float, float], radius: float, height: float) -> Face:
    x, y = at
    return Face(number, 0, "cylinder", 6.2832 * radius * height, (x, y, height / 2.0), (1.0, 0.0, 0.0),
                (x - radius, y - radius, 0.0), (x + radius, y + radius, height), axis_point=(x, y, 0.0), axis=UP,
                radius=radius, sweep=6.2832, hollow=True)


def _flat(number: int, normal: Vector, low: Vector, high: Vector) -> Face:
    spans = [b - a for a, b in zip(low, high, strict=True)]
    one, other = sorted(spans)[1:]
    middle = tuple((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    return Face(number, 0, "plane", one * other, _v(list(middle)), normal, low, high)


def _v(values: list[float]) -> Vector:
    return values[0], values[1], values[2]


def wanted(**changed: Any) -> dict[str, Any]:
    """What a job says of the block; `changed` adds or replaces."""
    return {"model": "block.step", "material": "al_6082", "threads": {}, "ream": {},
            "stock": {"size": ["62 mm", "44 mm", "22 mm"], "condition": "extruded"}, **changed}


def job(**changed: Any) -> Job:
    """A job of one block."""
    return Job.model_validate({"name": "one block", "parts": {"block": wanted(**changed)}})


def blank(part: Part | None = None, **changed: Any) -> Blank:
    """The block in its stock."""
    return blank_of("block", job(**changed).parts["block"], part or block())


@cache
def shop() -> Shop:
    """The shop of the example: a light gantry mill, a drill press, a bench."""
    return load_shop(EXAMPLE / "shop")


def shop_without(*tools: str) -> Shop:
    """The same shop with some tools lost."""
    return shop().model_copy(update={"tools": {n: t for n, t in shop().tools.items() if n not in tools}})


@cache
def _example_job() -> Job:
    return load_job(EXAMPLE)


def example_job() -> Job:
    """The block plane; its limits and parts may be changed, the next test has its own."""
    job = _example_job()
    return job.model_copy(update={"limits": dict(job.limits), "parts": dict(job.parts)})


@cache
def example_parts() -> dict[str, Part]:
    """Its three digests."""
    return {name: read(EXAMPLE / wanted.model) for name, wanted in example_job().parts.items()}


def moved(part: Part, feature: str, **changed: Any) -> Part:
    """The part with one feature changed."""
    return replace(part, features=tuple(replace(f, **changed) if f.id == feature else f for f in part.features))
