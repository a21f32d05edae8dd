"""A tiny shop with a block to face, its records, and learning from them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from firstoff.belief import Belief, LogNormal
from firstoff.checks.base import Case, Check
from firstoff.dryrun.registry import all_checks
from firstoff.dryrun.walk import walk
from firstoff.job.models import Job
from firstoff.job.route import Route
from firstoff.part.shapes import Part
from firstoff.records.learn import Learned, learn_from
from firstoff.records.logging import record_of
from firstoff.records.reading import Reading
from firstoff.records.store import Record, Store, open_store
from firstoff.shop.models import Shop

from ..checks import builders

ROWS = 1024
BEGAN = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
ROUGH, FINISH, OTHER = "top-rough", "top-finish", "bottom-rough"


@dataclass(frozen=True)
class Place:
    """A shop with a job in it."""

    job: Job
    shop: Shop
    route: Route
    parts: dict[str, Part]

    def cases(self) -> dict[str, Case]:
        """The cases of a walk, by name."""
        return {case.name: case for case in walk(self.job, self.shop, self.route, self.parts)}

    def log(self, store: Store, *readings: Reading) -> list[Record]:
        """Log readings a minute apart."""
        out = []
        for said in readings:
            when = BEGAN + timedelta(minutes=len(store.all()))
            record = record_of(said, self.job, self.shop, self.route, self.parts, store, when)
            store.add(record)
            out.append(record)
        return out


def book(**factors: float) -> Belief:
    """Book figures on enough rows to learn from; `factors` maps 'entity__parameter' (':' as '_') to a spread."""
    columns = builders.columns()
    for name, factor in factors.items():
        at = next(i for i, c in enumerate(columns) if f"{c.entity}__{c.parameter}".replace(":", "_") == name)
        law = columns[at].transform
        assert isinstance(law, LogNormal)
        columns[at] = replace(columns[at], transform=LogNormal(law.median, factor))
    return Belief.of(columns, rows=ROWS)


def limits(**height: Any) -> dict[str, Any]:
    """The height of the block, and how flat its top is."""
    return {
        "height": {"kind": "distance", "part": "block", "between": ["-Z", "+Z"], "size": "20 mm",
                   "tolerance": "±0.05 mm", "instrument": "mic", **height},
        "flat": {"kind": "flatness", "part": "block", "between": ["+Z"], "tolerance": "+0.03 mm / 0 mm"},
    }


def place(depth: str = "1 mm", *, job: dict[str, Any] | None = None) -> Place:
    """Face the top in one setting, the bottom in another."""
    def face(number: int, setting: str, feature: str, role: str, **more: Any) -> dict[str, Any]:
        return builders.operation(number=number, setting=setting, features=[feature], role=role, **more)

    turned = builders.setting(up=[0, 0, -1], across=[-1, 0, 0], datums=["+Z", "-Y", "-X"],
                              holding={"rest": "+Z"}, zero={"x": "-X", "y": "-Y", "z": "+Z"})
    route = Route.model_validate({
        "settings": {"first": turned, "second": builders.setting(zero={"x": "-X", "y": "-Y", "z": "-Z"})},
        "operations": {
            OTHER: face(10, "first", "stock-5", "face_rough", removes="1 mm", leaves="0 mm"),
            ROUGH: face(20, "second", "stock-6", "face_rough", removes="1 mm", leaves="0.2 mm",
                        cut={"depth_of_cut": depth}),
            FINISH: face(30, "second", "stock-6", "face_finish", removes="0.2 mm", leaves="0 mm",
                         cut={"depth_of_cut": "0.2 mm"}),
        }})
    wanted = builders.job(**{"limits": limits(), **(job or {})})
    return Place(wanted, builders.shop(), route, {"block": builders.block()})


@cache
def check(name: str) -> Check:
    """A check by its name."""
    return next(c for c in all_checks() if c.name == name)


def chance(name: str, case: Case, belief: Belief) -> float:
    """The chance that a check fails."""
    p = check(name).evaluate(case, belief).p_fail
    assert p is not None
    return p


def learn(folder: Path, *readings: Reading, at: Place | None = None, by: Belief | None = None) -> Learned:
    """Log readings in a new database and learn from them."""
    where = at or place()
    folder.mkdir(exist_ok=True)
    with open_store(folder) as store:
        where.log(store, *readings)
        return learn_from(store, by or book(), where.shop, lambda _what, _share: None)


def shift(learned: Learned, entity: str, parameter: str) -> float:
    """How far a column has moved, in standard deviations by the book."""
    rows = learned.moved.get((entity, parameter))
    return 0.0 if rows is None else float(rows.mean())


def width(learned: Learned, entity: str, parameter: str) -> float:
    """What is left of a column's spread."""
    rows = learned.moved.get((entity, parameter))
    return 1.0 if rows is None else float(rows.std())


def after(learned: Learned, by: Belief | None = None) -> Belief:
    """What is believed afterwards."""
    return (by or book()).with_moved(learned.moved)
