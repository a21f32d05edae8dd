"""What the job, shop, route and parts were when a record was made: kept whole, by contents."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache

from ..job.models import Job
from ..job.route import Route
from ..part.digest import from_json, to_json
from ..part.shapes import Part
from ..shop.models import Shop
from ..tomlfile import KEPT
from .store import Store


@dataclass(frozen=True)
class Snapshot:
    """Everything that is needed to walk the route again as it was."""

    job: Job
    shop: Shop
    route: Route
    parts: dict[str, Part]


def keep_snapshot(store: Store, job: Job, shop: Shop, route: Route, parts: dict[str, Part]) -> dict[str, str]:
    """Keep all of it; returns the digests that go into the record."""
    models = {"job": job, "shop": shop, "route": route}
    digests = {name: store.keep(model.model_dump_json(exclude_unset=True)) for name, model in models.items()}
    by_part = {name: store.keep(to_json(part)) for name, part in parts.items()}
    return {**digests, "parts": store.keep(json.dumps(by_part))}


def read_snapshot(store: Store, digests: dict[str, str]) -> Snapshot:
    """The snapshot of a record.

    Raises:
        RecordError: if a piece is missing.
    """
    parts = json.loads(store.kept(digests["parts"]))
    return Snapshot(
        job=_job(store.kept(digests["job"])), shop=_shop(store.kept(digests["shop"])),
        route=_route(store.kept(digests["route"])),
        parts={name: from_json(store.kept(digest)) for name, digest in parts.items()},
    )


def read_plan(store: Store, digests: dict[str, str]) -> tuple[Job, Route]:
    """Job and route alone, as they were when a record was made: the shapes of the parts take long to read.

    Raises:
        RecordError: if one is missing.
    """
    return _job(store.kept(digests["job"])), _route(store.kept(digests["route"]))


def read_shop(store: Store, digests: dict[str, str]) -> Shop:
    """The shop alone, as it was when a record was made.

    Raises:
        RecordError: if it is missing.
    """
    return _shop(store.kept(digests["shop"]))


@lru_cache(maxsize=16)
def _job(text: str) -> Job:
    return Job.model_validate(json.loads(text), context=KEPT)


@lru_cache(maxsize=16)
def _shop(text: str) -> Shop:
    return Shop.model_validate(json.loads(text), context=KEPT)


@lru_cache(maxsize=16)
def _route(text: str) -> Route:
    return Route.model_validate(json.loads(text), context=KEPT)
