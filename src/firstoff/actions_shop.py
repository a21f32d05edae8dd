"""What stands in the shop of a job, as a person wants to see it: own figures beside the book's, life used, tries."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from .actions_start import place_of_shop
from .belief import Belief, Choice, Key, low_median_high
from .errors import RecordError
from .shop.columns import APART, columns_of, is_place
from .shop.library import find_shop, load_shop
from .work import Progress, believed, kept_records, quiet, records_folder

if TYPE_CHECKING:
    from .dryrun.result import Result
    from .records.history import Tried
    from .records.mill_hour import Mill
    from .shop.models import Shop

#: what has figures that a person knows by sight
KNOWN = ("machine", "collet", "material", "instrument", "device", "tool", "discrepancy")


@dataclass(frozen=True)
class Figure:
    """One figure by the book and as it was learned: its 5 %, 50 % and 95 % points, and the middles in words."""

    name: str
    book: tuple[float, float, float]
    own: tuple[float, float, float] | None
    book_says: str
    own_says: str
    records: int = 0                       # that speak of it


@dataclass(frozen=True)
class Behind:
    """A figure that a check stands on: what it is, whether it is an own one, and how many records speak of it.

    Records may speak of a figure of the book, too: they agree with it so far.
    """

    name: str
    own: bool
    records: int


@dataclass(frozen=True)
class Life:
    """Share of a cutter's life that the job has used so far, and uses to its end [1]; above 1 several are used up."""

    so_far: float
    whole: float


@dataclass(frozen=True)
class Standing:
    """A shop: what stands in it, its figures by entity, and what the last learning says of itself."""

    shop: Shop
    own: bool                              # a shop of the person's own, not the starter library
    note: str
    figures: Mapping[str, tuple[Figure, ...]]


def standing(folder: Path, *, shop: Path | None = None) -> Standing:
    """What stands in the shop of a job.

    Raises:
        InputError: if job or shop are missing or wrong.
    """
    from .records.words import quantities

    place = place_of_shop(folder, shop)
    stock = load_shop(place)
    book = Belief.of(columns_of(stock))
    own, note = believed(stock, records_folder(folder, place))
    spoken = _spoken(records_folder(folder, place), book)
    known = quantities(stock)
    found: dict[str, list[Figure]] = {}
    for key in _shown(book, own):
        found.setdefault(key[0], []).append(
            replace(_figure(key, book, own, stock, known), records=_many(key, book, spoken)))
    own_first = {entity: tuple(sorted(items, key=lambda item: item.own is None)) for entity, items in found.items()}
    return Standing(stock, place is not None, note, own_first)


def _shown(book: Belief, own: Belief) -> Iterator[Key]:
    """The keys of what people know by sight, as the book has them.

    What a cutter or a metal has apart is 1 until it is learned.
    """
    for key in book.columns:
        if is_place(key[1]) or (f"_{APART}:" in key[1] and key not in own.moved):
            continue
        if key[0].partition(":")[0] in KNOWN and not isinstance(book.columns[key].transform, Choice):
            yield key


def _figure(key: Key, book: Belief, own: Belief, stock: Shop, known: Mapping[Key, str]) -> Figure:
    from .records.words import name_of, quantity_of, tell_figure, worth_telling

    quantity = quantity_of(key, known)

    def says(points: tuple[float, float, float]) -> str:
        if points[0] < 0.0:              # an error of either sign: how far from nothing
            return f"within {tell_figure(max(-points[0], points[2]), quantity, stock)}"
        return tell_figure(points[1], quantity, stock)

    told = low_median_high(book.value(*key))
    learned = low_median_high(own.value(*key)) if worth_telling(key, book, own) else None
    name = name_of(key, stock).rpartition(": ")[2]
    return Figure(name, told, learned, says(told), says(learned) if learned else "")


def _spoken(folder: Path, book: Belief) -> Mapping[Key, int]:
    """How many records speak of each own figure."""
    from .records.figures import read_figures

    found = read_figures(folder, book)
    return {} if found is None else found.spoken


def _many(key: Key, book: Belief, spoken: Mapping[Key, int]) -> int:
    """Records that speak of a figure, or of what it goes by: its batch, its class."""
    return max((spoken.get(each, 0) for each in book.depends_on([key])), default=0)


def stood_on(
    checked: Result, folder: Path, *, shop: Path | None = None
) -> dict[tuple[str, str], tuple[Behind, ...]]:
    """The figures that each check stands on, by operation and check; own ones first, the most recorded before.

    Args:
        checked: what a check of the job found.
        folder: of the job.
        shop: another shop than the job names.
    """
    from .records.words import name_of, worth_telling

    place = records_folder(folder, find_shop(folder, checked.job.shop, shop))
    book = Belief.of(columns_of(checked.shop))
    own, spoken = believed(checked.shop, place)[0], _spoken(place, book)

    @cache
    def behind(key: Key) -> Behind:
        return Behind(name_of(key, checked.shop), worth_telling(key, book, own), _many(key, book, spoken))

    out = {}
    for check in checked.checks:
        keys = [key for key in check.figures if book.has(*key)]
        above = {parent for key in keys for parent in book.columns[key].parents}      # told by what goes by them
        known = {item.name: item for key in keys if key not in above and (item := behind(key))}
        out[check.operation, check.finding.check] = tuple(
            sorted(known.values(), key=lambda item: (not item.own, -item.records, item.name)))
    return out


def lives(checked: Result, done: frozenset[str]) -> dict[str, Life]:
    """Life used of each cutter that a job wears, by tool.

    Args:
        checked: what a check of the job found.
        done: operations of which something is recorded.
    """
    out: dict[str, Life] = {}
    last: dict[str, float] = {}
    found = {c.operation: c.finding.demand for c in checked.checks if c.finding.check == "wear"}
    for key, op in checked.route.in_order():
        used = found.get(key)
        if used is None or op.tool is None:
            continue
        before, earlier = out.get(op.tool, Life(0.0, 0.0)), last.get(op.tool, 0.0)
        own = used.median - earlier if used.median >= earlier else used.median      # less: a new one went in
        so_far = before.so_far + own if key in done else before.so_far
        out[op.tool], last[op.tool] = Life(so_far, before.whole + own), used.median
    return out


def tries(folder: Path, *, shop: Path | None = None) -> tuple[Tried, ...]:
    """What was cut with what in this shop, and how it went."""
    from .actions_kept import history

    return history(folder, shop=shop)


def was_right(folder: Path, *, shop: Path | None = None, progress: Progress = quiet) -> str:
    """How often cuts of which a word is recorded came as they were called then, in a sentence.

    Raises:
        RecordError: if no word was recorded yet.
    """
    from .records.learn import gather, words_heard
    from .records.scoreboard import score, told

    book = Belief.of(columns_of(load_shop(place_of_shop(folder, shop))))
    with kept_records(folder, shop) as store:
        words = [] if store is None else [record for record in store.valid() if record.kind == "word"]
        if store is None or not words:
            raise RecordError("no word was recorded yet", right="ok, or what was heard, at the bench")
        progress("reading the records", 0.1)
        evidence = gather(store, words, book)
    progress("asking the book", 0.5)
    return told(score(words_heard(evidence, words), book))


def mill(folder: Path, machine: str | None = None, *, shop: Path | None = None) -> Mill:
    """The mill of a job's shop that the nine tests are for.

    Raises:
        RecordError: if the job has no shop of the person's own to keep readings in.
        NameUnknown: if there is no such mill, or several and none is named.
    """
    from .records.mill_hour import mill_of

    place = place_of_shop(folder, shop)
    if place is None:
        raise RecordError("there is no shop of your own yet to keep the readings in", right="start one first")
    return mill_of(load_shop(place), machine, records_folder(folder, place))
