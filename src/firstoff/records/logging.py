"""From what a person says at the bench to a record: checked, raw, with the operation as it was."""

from __future__ import annotations

import re
import uuid
from collections.abc import Collection
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ..errors import FileError, NameUnknown, RecordError, UnitError
from ..holding.load_test import pull_of
from ..job.models import Job
from ..job.nominal import no_slip, nominal_size
from ..job.route import Route
from ..part.shapes import Part
from ..shop.models import Instrument, Shop
from ..units import parse
from .called import layered
from .reading import PARALLELS, SEEN, Reading
from .snapshot import keep_snapshot
from .store import Record

if TYPE_CHECKING:
    from .store import Store

WORDS: Final = ("ok", "sang", "squealed", "slowed", "moved", "broke")
#: endings of files that are kept, and the largest one [bytes]
RECORDINGS: Final = (".wav", ".flac", ".ogg", ".mp3", ".m4a", ".mp4", ".csv")
PICTURES: Final = (".jpg", ".jpeg", ".png", ".heic", ".webp")
LARGEST: Final = 100_000_000
#: a clock may be this far ahead of ours
AHEAD: Final = timedelta(minutes=5)
#: nothing was recorded before it
EARLIEST: Final = datetime(2000, 1, 1, tzinfo=UTC)
#: instruments that read a size, not how far it is from something
ABSOLUTE: Final = frozenset({"caliper", "micrometer", "depth_micrometer", "height_gauge", "scale"})
#: what a feed override can be
OVERRIDE: Final = (0.05, 2.5)
#: more than a hand pulls at a luggage scale [N], more than a jaw lifts a part [mm]
MOST_PULL: Final = 1000.0
MOST_LIFT: Final = 1.0
#: longest texts: of a name, and of a note
NAME_LENGTH, NOTE_LENGTH = 100, 10_000


def record_of(
    said: Reading, job: Job, shop: Shop, route: Route, parts: dict[str, Part], store: Store, when: datetime
) -> Record:
    """Check what was said and make a record of it; it is not kept yet.

    Raises:
        NameUnknown: if the operation, limit or instrument does not exist.
        RecordError: if there is no reading, more than one, or one that cannot be true.
        UnitError: if a number has no unit or a wrong one.
        FileError: if the recording or picture cannot be read.
    """
    when = _moment(said, when)
    said = _in_small_letters(_by_number(said, route))
    kind = _kind(said)
    if kind == "size":
        reading = _size(said, job, shop, parts)
    else:
        if said.subject or kind not in ("file", "note"):
            _operation(said, route, job.limits)
        reading = _reading(kind, said, shop, route, store)
    return Record(
        when=when, kind=kind, job=job.name, subject=said.subject, reading=reading,
        snapshot=keep_snapshot(store, job, shop, route, parts), replaces=_replaced(said, store),
        conditions=_conditions(said, shop, route), by=_plain(said.by, "--by", NAME_LENGTH), id=_own_id(said.id),
    )


def _moment(said: Reading, now: datetime) -> datetime:
    """When it was: a time without a zone is that of the shop's clock."""
    when = now
    if said.when is not None:
        try:
            when = datetime.fromisoformat(said.when)
        except ValueError:
            raise RecordError(f"{said.when!r} is no date", where=said.subject, right="2026-03-01 14:30") from None
        when = when.astimezone(UTC)
    if when > datetime.now(UTC) + AHEAD:
        raise RecordError(f"{when.astimezone():%Y-%m-%d %H:%M} has not come yet", where=said.subject)
    if when < EARLIEST:
        raise RecordError(f"{when:%Y-%m-%d} is too long ago", where=said.subject, right="2026-03-01 14:30")
    return when


def _kind(said: Reading) -> str:
    """What is recorded: one reading; what was seen may go with a word, a note with anything."""
    given = [kind for kind in ("word", "watts", "size", "pull", "lift", "parallels", "file")
             if getattr(said, kind) is not None]
    if given == ["word", "pull"]:
        return "pull"
    if given == ["parallels"]:
        return "lift"
    seen = any(getattr(said, name) is not None for name in SEEN)
    if seen and given in ([], ["word"]):
        return given[0] if given else "seen"
    if not given and said.note:
        return "note"
    if len(given) != 1 or seen:
        raise RecordError("give one of: a word, --watts, --size, --pull, --lift, --file, --note", where=said.subject,
                          right=f"words: {', '.join(WORDS)}")
    return given[0]


def _reading(kind: str, said: Reading, shop: Shop, route: Route, store: Store) -> dict[str, str]:
    if kind == "watts":
        return _watts(said, shop, route)
    if kind == "file":
        return _file(said, store)
    if kind in ("pull", "lift"):
        return tried(said)
    return {**(_word(said) if kind == "word" else {}), **_seen(said)}


def _seen(said: Reading) -> dict[str, str]:
    found = {name: getattr(said, name) for name in SEEN if getattr(said, name) is not None}
    for name, word in found.items():
        if word not in SEEN[name]:
            raise RecordError(f"{word!r} is not a word that is kept for {name.replace('_', ' ')}",
                              where=said.subject, right=", ".join(SEEN[name]))
    return found


def _conditions(said: Reading, shop: Shop, route: Route) -> dict[str, str]:
    out = {"note": _plain(said.note, "--note", NOTE_LENGTH)} if said.note else {}
    if said.feed is not None:
        share = parse(said.feed, "ratio", where="--feed")
        if not OVERRIDE[0] <= share <= OVERRIDE[1]:
            raise RecordError(f"{said.feed} is no override of the feed", where=said.subject, right='--feed "80 %"')
        if said.word is None and said.watts is None:
            raise RecordError("the feed belongs to a word or to watts of a cut", where=said.subject)
        out["feed"] = said.feed
    if said.depth is not None:
        _deep(said, shop, route)
        out["depth"] = said.depth
    if said.scrap:
        if not _of_a_cut(said):
            raise RecordError("a trial in scrap is told by a word, by watts or by what was seen of it",
                              where=said.subject or "--scrap", right=f"words: {', '.join(WORDS)}")
        out["scrap"] = "yes"
    return out


def _of_a_cut(said: Reading) -> bool:
    """Whether it tells how a cut went; a pull at the part with its word does not."""
    return said.pull is None and (said.word is not None or said.watts is not None
                                  or any(getattr(said, name) is not None for name in SEEN))


def _deep(said: Reading, shop: Shop, route: Route) -> None:
    """Refuse a depth that cannot have been cut: deeper than the flutes, or on the part than there is to take off."""
    depth = parse(said.depth or "", "length", where="--depth")
    operation = route.operations.get(said.subject)
    if operation is None or not _of_a_cut(said):
        raise RecordError("the depth belongs to a word, to watts or to what was seen of a cut",
                          where=said.subject or "--depth")
    tool = shop.tools.get(operation.tool or "")
    if operation.cut.depth_of_cut is None or tool is None:
        raise RecordError("this operation has no depth of cut that could be another", where=said.subject)
    if not 0.0 < depth <= tool.flute_length:
        raise RecordError(f"{said.depth} is no depth that the {tool.name} cuts", where="--depth",
                          right=f"its flutes are {tool.flute_length:g} mm long")
    if not said.scrap and layered(operation) and depth > max(operation.removes, operation.cut.depth_of_cut):
        raise RecordError(f"there are only {operation.removes:g} mm to take off", where="--depth",
                          right="in scrap, add --scrap")


def _plain(text: str, where: str, longest: int) -> str:
    """A text that any database and any file can hold."""
    if len(text) > longest:
        raise RecordError(f"{len(text)} letters are more than the {longest} that are kept", where=where)
    if any((ord(c) < 32 and c not in "\n\t") or 0xD800 <= ord(c) < 0xE000 for c in text):
        raise RecordError("there are signs in it that are no text", where=where)
    return text


def _own_id(given: str | None) -> str:
    if given is None:
        return uuid.uuid4().hex
    name = given.replace("-", "").lower()
    if not re.fullmatch(r"[0-9a-f]{32}", name):
        raise RecordError(f"{given[:40]!r} is no id", where="--id", right="a random UUID")
    return name


def _file(said: Reading, store: Store) -> dict[str, str]:
    """A recording or picture, kept by its contents beside the database."""
    path = Path(said.file or "")
    ending = path.suffix.lower()
    if ending not in (*RECORDINGS, *PICTURES):
        raise FileError("is neither a recording nor a picture", where=str(path),
                        right=", ".join((*RECORDINGS, *PICTURES)))
    if not path.is_file():
        raise FileError("there is no such file", where=str(path))
    size = path.stat().st_size
    if not 0 < size <= LARGEST:
        raise FileError(f"{size} bytes are {'none' if not size else 'too many'}", where=str(path),
                        right=f"at most {LARGEST // 1_000_000} MB")
    what = "picture" if ending in PICTURES else "recording"
    return {what: path.name[-NAME_LENGTH:], "file": store.keep_file(path.read_bytes(), ending)}


def _replaced(said: Reading, store: Store) -> str | None:
    """The record that is corrected: people copy the first eight letters of its id. Once; then its correction is."""
    if said.replaces is None:
        return None
    records, start = store.all(), said.replaces.strip().lower()
    found = [r.id for r in records if r.id.startswith(start)] if start else []
    if len(found) != 1:
        raise RecordError(f"{said.replaces!r} names {len(found)} records", right="give the id that log printed")
    own = None if said.id is None else _own_id(said.id)
    if later := next((r.id for r in records if r.replaces == found[0] and r.id != own), None):
        raise RecordError(f"{found[0][:8]} was corrected already", where=said.subject,
                          right=f"what stands instead of it is {later[:8]}: --replaces {later[:8]}")
    return found[0]


def _in_small_letters(said: Reading) -> Reading:
    """OK is ok: tablets begin with a capital."""
    found = {name: text.strip().lower() for name in ("word", "parallels", *SEEN)
             if (text := getattr(said, name)) is not None}
    return replace(said, **found)


def _by_number(said: Reading, route: Route) -> Reading:
    """Cards carry numbers: 330 is the operation of that number."""
    found = [key for key, op in route.operations.items() if str(op.number) == said.subject]
    return replace(said, subject=found[0]) if len(found) == 1 else said


def _operation(said: Reading, route: Route, limits: Collection[str]) -> None:
    if said.subject in limits:
        raise RecordError("this is a limit, not an operation", where=said.subject,
                          right='what was measured: --size "5.02 mm" --with an instrument')
    if said.subject not in route.operations:
        near = get_close_matches(said.subject, route.operations, n=3, cutoff=0.4)
        right = f"did you mean {' or '.join(near)}?" if near else "its number on the card, or its name in route.toml"
        raise NameUnknown(f"no operation {said.subject!r} in the route", right=right)


def _word(said: Reading) -> dict[str, str]:
    assert said.word is not None
    if said.word not in WORDS:
        raise RecordError(f"{said.word!r} is not a word that is kept", where=said.subject, right=", ".join(WORDS))
    return {"word": said.word}


def tried(said: Reading) -> dict[str, str]:
    """A test of the hold: a pull that held or moved the part, or its lift while it was tightened.

    Raises:
        RecordError: if it cannot be true.
        UnitError: if a number has no unit or a wrong one.
    """
    if said.pull is not None:
        force = force_of(said.pull)
        if not 0.0 < force <= MOST_PULL:
            raise RecordError(f"{said.pull} is no pull of a hand at a scale", where="--pull", right='like "12 kg"')
        if said.word not in (None, "ok", "moved"):
            raise RecordError(f"{said.word!r} does not go with a pull", where=said.subject, right="moved, or nothing")
        return {"value": said.pull, "word": "moved" if said.word == "moved" else "held"}
    if said.parallels is not None:
        if said.parallels not in PARALLELS:
            raise RecordError(f"{said.parallels!r} is no way that a parallel feels", where=said.subject,
                              right=" or ".join(PARALLELS))
        return {"word": said.parallels}
    assert said.lift is not None
    if abs(parse(said.lift, "length", where="--lift")) > MOST_LIFT:
        raise RecordError(f"{said.lift} is more than any jaw lifts", where="--lift", right='like "0.02 mm"')
    return {"value": said.lift}


def force_of(text: str) -> float:
    """A pull as a scale shows it, in kilograms or newtons [N].

    Raises:
        UnitError: if it is neither.
    """
    try:
        return parse(text, "force", where="--pull")
    except UnitError:
        return float(pull_of(parse(text, "mass", where="--pull")))


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
    _within(said, size, shop.instruments[name])
    return {"value": said.size, "instrument": name}


def _within(said: Reading, size: float, instrument: Instrument) -> None:
    """Refuse a size that this instrument cannot have read, where it reads sizes and not differences."""
    least, most = instrument.range
    if instrument.kind in ABSOLUTE and not least <= size <= most:
        raise RecordError(f"{said.size} is not within the range of the {instrument.name}", where=said.subject,
                          right=f"it reads {least:g} to {most:g} mm: --with another one")
