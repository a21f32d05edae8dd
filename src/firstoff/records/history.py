"""What was tried in this shop and how it went: by material, tool and kind of operation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from ..job.models import Job
from ..job.route import Cut, Operation, Route
from ..units import tell
from .called import as_cut
from .snapshot import read_plan
from .store import Record, Store


class Way(NamedTuple):
    """How a cut was made; two records of the same way are counted together."""

    material: str
    tool: str
    machine: str
    role: str
    cut: str               # as a person keys it in


@dataclass(frozen=True)
class Tried:
    """A way of cutting, and what was said of it."""

    way: Way
    words: dict[str, int]          # ok, sang, ... and how often
    last: str                      # day of the newest record
    cut: Cut                       # its numbers, as it was cut

    @property
    def worked(self) -> bool:
        """Whether nothing but 'ok' was said."""
        return set(self.words) == {"ok"}


def tried(store: Store) -> tuple[Tried, ...]:
    """Every way of cutting that a word was recorded of; what worked most often comes first."""
    words: dict[Way, dict[str, int]] = {}
    last: dict[Way, str] = {}
    cuts: dict[Way, Cut] = {}
    for record in store.valid():
        if record.kind != "word":
            continue
        job, route = read_plan(store, record.snapshot)
        way = _way(record, job, route)
        if way is None:
            continue
        counts = words.setdefault(way, {})
        counts[record.reading["word"]] = counts.get(record.reading["word"], 0) + 1
        last[way] = f"{record.when.astimezone():%Y-%m-%d}"
        cuts[way] = _cut(record, route)
    found = [Tried(way, counts, last[way], cuts[way]) for way, counts in words.items()]
    return tuple(sorted(found, key=lambda t: (t.way[:4], -t.words.get("ok", 0), t.way.cut)))


def _cut(record: Record, route: Route) -> Cut:
    """The numbers of a cut, as it was made."""
    return as_cut(route, record).operations[record.subject].cut


def _way(record: Record, job: Job, route: Route) -> Way | None:
    operation = as_cut(route, record).operations.get(record.subject)
    if operation is None:
        return None
    setting = route.settings[operation.setting]
    part = job.parts.get(setting.workpiece.split("+")[0])
    if part is None:
        return None
    return Way(part.material, operation.tool or "by hand", setting.machine, operation.role,
               cut_told(operation, 1.0, job.units))


def cut_told(operation: Operation, share: float, units: str) -> str:
    """A cut as a person keys it in: "1 mm deep, 5 mm wide, 0.02 mm a tooth, 9000 rpm"."""
    cut = operation.cut
    feed = None if cut.feed_per_tooth is None else share * cut.feed_per_tooth
    said = [(cut.depth_of_cut, "length", " deep"), (cut.width_of_cut, "length", " wide"),
            (feed, "length", " a tooth"), (cut.spindle_speed, "rotation", "")]
    told = [tell(value, quantity, units) + word for value, quantity, word in said if value is not None]
    return ", ".join([*told, *([cut.direction] if cut.direction else [])])


def history_lines(found: Iterable[Tried]) -> Iterator[str]:
    """As the terminal prints it."""
    head = None
    for item in found:
        way = item.way
        if head != way[:4]:
            head = way[:4]
            yield f"{way.material}, {way.role.replace('_', ' ')}, {way.tool} in the {way.machine}:"
        said = ", ".join(f"{word} {many} time{'s' if many > 1 else ''}" for word, many in sorted(item.words.items()))
        yield f"  {way.cut}: {said}; last {item.last}"
    if head is None:
        yield "Nothing was recorded of any cut yet: firstoff log JOB OPERATION ok"


def history_json(found: Iterable[Tried]) -> list[dict[str, Any]]:
    """As `log --history --json` prints it."""
    return [{**item.way._asdict(), "words": item.words, "last": item.last, "worked": item.worked} for item in found]
