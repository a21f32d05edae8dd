"""What was tried in this shop and how it went: by material, tool and kind of operation."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from ..job.models import Job
from ..job.route import Cut, Operation, Route
from ..shop.models import Shop
from ..units import tell
from .called import as_cut, in_scrap
from .reading import SEEN
from .snapshot import read_plan, read_shop
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
    names: tuple[str, str, str]    # of material, tool and machine, as the shop called them then
    seen: dict[str, int] = field(default_factory=dict)      # "chip colour blue", ... and how often
    scrap: int = 0                 # how many of the words are of trials in scrap

    @property
    def worked(self) -> bool:
        """Whether nothing but 'ok' was said."""
        return set(self.words) == {"ok"}


def tried(store: Store) -> tuple[Tried, ...]:
    """Every way of cutting that a word was recorded of; what worked most often comes first."""
    records: dict[Way, list[Record]] = {}
    for record in store.valid():
        if record.kind in ("word", "seen"):
            job, route = read_plan(store, record.snapshot)
            way = _way(record, job, route)
            if way is not None:
                records.setdefault(way, []).append(record)
    found = [_counted(way, some, store) for way, some in records.items() if any(r.kind == "word" for r in some)]
    return tuple(sorted(found, key=lambda t: (t.way[:4], -t.words.get("ok", 0), t.way.cut)))


def _counted(way: Way, records: list[Record], store: Store) -> Tried:
    """The records of one way of cutting, oldest first, as one."""
    words, newest = [record for record in records if record.kind == "word"], records[-1]
    said = Counter(record.reading["word"] for record in words)
    seen = Counter(f"{name.replace('_', ' ')} {record.reading[name]}"
                   for name in SEEN for record in records if name in record.reading)
    _, route = read_plan(store, words[-1].snapshot)
    return Tried(way, dict(said), f"{newest.when.astimezone():%Y-%m-%d}", _cut(words[-1], route),
                 _names(way, read_shop(store, newest.snapshot)), dict(seen), sum(map(in_scrap, words)))


def _names(way: Way, shop: Shop) -> tuple[str, str, str]:
    """Material, tool and machine as a person calls them; by their keys where the shop has none of that name."""
    material, tool, machine = (section.get(key) for section, key in (
        (shop.materials, way.material), (shop.tools, way.tool), (shop.machines, way.machine)))
    return (material.name if material else way.material, tool.name if tool else way.tool,
            machine.name if machine else way.machine)


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
        way, (material, tool, machine) = item.way, item.names
        if head != way[:4]:
            head = way[:4]
            yield f"{material}, {way.role.replace('_', ' ')}, {tool} in the {machine}:"
        said = ", ".join(_times(word, many) for word, many in sorted(item.words.items()))
        yield f"  {way.cut}: {'; '.join([said, *besides(item), f'last {item.last}'])}"
    if head is None:
        yield "Nothing was recorded of any cut yet: firstoff log JOB OPERATION ok"


def besides(item: Tried) -> list[str]:
    """What is told beside the words: how many of them are of scrap, and what was seen."""
    all_words = sum(item.words.values())
    scrap = "in scrap" if item.scrap == all_words else f"{item.scrap} of {all_words} in scrap"
    seen = ", ".join(text if all_words == 1 else _times(text, many) for text, many in item.seen.items())
    return [text for text in (scrap if item.scrap else "", seen) if text]


def _times(text: str, many: int) -> str:
    return f"{text} {many} time{'s' if many > 1 else ''}"


def history_json(found: Iterable[Tried]) -> list[dict[str, Any]]:
    """As `log --history --json` prints it."""
    return [{**item.way._asdict(), "words": item.words, "last": item.last, "worked": item.worked,
             "names": dict(zip(("material", "tool", "machine"), item.names, strict=True)), "seen": item.seen,
             "scrap": item.scrap} for item in found]
