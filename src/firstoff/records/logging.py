"""From what a person says at the bench to a record: checked, raw, with the operation as it was."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from difflib import get_close_matches
from typing import TYPE_CHECKING, Final

from ..errors import NameUnknown, RecordError
from ..job.models import Job
from ..job.nominal import no_slip, nominal_size
from ..job.route import Route
from ..part.shapes import Part
from ..shop.models import Shop
from ..units import parse
from .reading import Reading
from .snapshot import keep_snapshot
from .store import Record

if TYPE_CHECKING:
    from .store import Store

WORDS: Final = ("ok", "sang", "squealed", "slowed", "moved", "broke")


def record_of(
    said: Reading, job: Job, shop: Shop, route: Route, parts: dict[str, Part], store: Store, when: datetime
) -> Record:
    """Check what was said and make a record of it; it is not kept yet.

    Raises:
        NameUnknown: if the operation, limit or instrument does not exist.
        RecordError: if there is no reading, more than one, or one that cannot be true.
        UnitError: if a number has no unit or a wrong one.
    """
    if when > datetime.now(UTC) + timedelta(minutes=5):
        raise RecordError(f"{when:%Y-%m-%d %H:%M} has not come yet", where=said.subject)
    said = _by_number(said, route)
    given = [kind for kind in ("word", "watts", "size") if getattr(said, kind) is not None]
    if len(given) != 1:
        raise RecordError("give one of: a word, --watts, --size", where=said.subject,
                          right=f"words: {', '.join(WORDS)}")
    if said.size is not None:
        reading = _size(said, job, shop, parts)
    else:
        _operation(said, route)
        reading = _word(said) if said.word is not None else _watts(said, shop, route)
    return Record(
        when=when, kind=given[0], job=job.name, subject=said.subject, reading=reading,
        snapshot=keep_snapshot(store, job, shop, route, parts), replaces=_whole_id(said.replaces, store),
        conditions={"note": said.note} if said.note else {},
    )


def _whole_id(start: str | None, store: Store) -> str | None:
    """People copy the first eight letters of an id."""
    if start is None:
        return None
    found = [r.id for r in store.all() if r.id.startswith(start)]
    if len(found) != 1:
        raise RecordError(f"{start!r} names {len(found)} records", right="give the id that log printed")
    return found[0]


def _by_number(said: Reading, route: Route) -> Reading:
    """Cards carry numbers: 330 is the operation of that number."""
    found = [key for key, op in route.operations.items() if str(op.number) == said.subject]
    return replace(said, subject=found[0]) if len(found) == 1 else said


def _operation(said: Reading, route: Route) -> None:
    if said.subject not in route.operations:
        near = get_close_matches(said.subject, route.operations, n=3, cutoff=0.4)
        right = f"did you mean {' or '.join(near)}?" if near else "its number on the card, or its name in route.toml"
        raise NameUnknown(f"no operation {said.subject!r} in the route", right=right)


def _word(said: Reading) -> dict[str, str]:
    assert said.word is not None
    if said.word not in WORDS:
        raise RecordError(f"{said.word!r} is not a word that is kept", where=said.subject, right=", ".join(WORDS))
    return {"word": said.word}


def _watts(said: Reading, shop: Shop, route: Route) -> dict[str, str]:
    assert said.watts is not None
    if said.idle is None:
        raise RecordError("watts say nothing without the watts running free", where=said.subject,
                          right='--watts "310 W" --idle "190 W"')
    cutting, idle = parse(said.watts, "power", where="--watts"), parse(said.idle, "power", where="--idle")
    if idle < 0 or cutting < idle:
        raise RecordError(f"{said.watts} while cutting is less than {said.idle} running free", where=said.subject)
    spindle = shop.machines[route.settings[route.operations[said.subject].setting].machine].spindle
    if spindle is not None and cutting > 10 * spindle.power.value:
        raise RecordError(f"{said.watts} is more than ten times the spindle's power", where=said.subject)
    return {"value": said.watts, "idle": said.idle}


def _size(said: Reading, job: Job, shop: Shop, parts: dict[str, Part]) -> dict[str, str]:
    limit = job.limits.get(said.subject)
    if limit is None:
        raise NameUnknown(f"no limit {said.subject!r} in the job", right=", ".join(job.limits))
    assert said.size is not None
    size = parse(said.size, "length", where="--size")
    no_slip(said.size, size, nominal_size(said.subject, job, parts), said.subject)
    name = said.instrument or limit.instrument
    if name is None or name not in shop.instruments:
        raise NameUnknown(f"no instrument {name!r} in the shop", where=said.subject,
                          right=f"--with one of {', '.join(sorted(shop.instruments))}")
    return {"value": said.size, "instrument": name}
