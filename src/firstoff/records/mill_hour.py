"""An hour with a mill: readings are kept as records and become own figures at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ..belief import Belief
from ..errors import FirstoffError, InputError, RecordError
from ..shop.columns import columns_of
from ..shop.models import Shop
from ..tomlfile import read_table
from .figures import write_figures
from .learn import Learned, asked_of, learn_from
from .mill_answers import Answers, checked
from .mill_learn import machine_meant, record_of_test, strange, tested
from .mill_tests import TESTS, names
from .mill_words import figure_lines, seen_lines
from .store import open_store

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Mill:
    """A mill of a shop, and where the shop's records are.

    Fields:
        shop: that it stands in.
        machine: its name there.
        folder: of the records.
        rows: of the belief.
    """

    shop: Shop
    machine: str
    folder: Path
    rows: int = Belief.of(()).rows

    @property
    def book(self) -> Belief:
        """Book figures of the shop."""
        return Belief.of(columns_of(self.shop), rows=self.rows)


@dataclass(frozen=True)
class Done:
    """Tests that were done, and what they changed.

    Fields:
        machine: whose.
        tests: their names, in order.
        lines: a sentence for each figure.
        strange: readings to look at again.
        learned: own figures of the whole shop.
    """

    machine: str
    tests: tuple[str, ...]
    lines: tuple[str, ...]
    strange: tuple[str, ...]
    learned: Learned


def keep(mill: Mill, done: Sequence[Answers], progress: Progress, when: datetime | None = None) -> Done:
    """Keep readings for ever, and learn from them and all that is kept besides."""
    book, moment = mill.book, when or datetime.now(UTC)
    odd = [line for found in done for line in strange(found, book)]
    with open_store(mill.folder) as store:
        records = [record_of_test(found, store, moment) for found in done]
        for record in records:
            store.add(record)
        learned = learn_from(store, book, mill.shop, progress)
        keys = [key for item in tested(store, records) for key in asked_of(item, book)[1]]
    write_figures(mill.folder, learned)
    seen = [line for found in done for line in seen_lines(found)]
    lines = seen + figure_lines(keys, book, book.with_moved(learned.moved), mill.shop)
    odd += [f"{found.test.title}: disagrees with what else is known; it was given little weight"
            for found, record in zip(done, records, strict=True) if record.id in learned.disagreeing and not odd]
    return Done(mill.machine, tuple(found.test.name for found in done), tuple(lines), tuple(odd), learned)


def mill_of(shop: Shop, machine: str | None, folder: Path) -> Mill:
    """The mill that is meant.

    Raises:
        NameUnknown: if there is none of that name, or several and none is named.
    """
    return Mill(shop, machine_meant(machine, shop), folder)


def read_readings(path: Path, mill: Mill) -> list[Answers]:
    """All readings of a file: a table for each test, several of a test as [[pull]].

    Raises:
        FileError: if it cannot be read.
        TomlError: if it is no TOML.
        RecordError: naming file and key, if a reading is missing or cannot be true; nothing is kept then.
    """
    table = read_table(path)
    out: list[Answers] = []
    for name, done in table.items():
        for index, texts in enumerate(done if isinstance(done, list) else [done]):
            place = f"{path.name}: {name}{f' {index + 1}' if isinstance(done, list) else ''}"
            try:
                out.append(checked(name, _texts(texts), mill.shop, mill.machine))
            except InputError as error:
                raise _placed(error, place) from None
    if not out:
        raise RecordError("holds no reading", where=str(path), right=f"tables named {names(TESTS)}")
    return out


def _placed(error: FirstoffError, place: str) -> RecordError:
    key = error.where.partition(".")[2]
    return RecordError(error.what, where=f"{place}, {key}" if key else place, right=error.right)


def _texts(table: Any) -> dict[str, str]:
    """Texts by key; several readings may be a list."""
    if not isinstance(table, dict):
        raise RecordError(f"{table!r} is no table of readings", right='[pull] and under it lines like axis = "x"')
    out = {}
    for key, value in table.items():
        pieces = value if isinstance(value, list) else [value]
        wrong = next((piece for piece in pieces if not isinstance(piece, str)), None)
        if wrong is not None:
            raise RecordError(f"{wrong!r} has no unit", where=f".{key}", right='a text such as "0.05 mm"')
        out[key] = "; ".join(pieces)
    return out
