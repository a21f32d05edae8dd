"""Readings of the nine tests as records, and as evidence beside that of the cuts: one learning takes both."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks.si import millimetres
from ..errors import InputError, NameUnknown, OutOfRange
from ..shop.models import Shop
from ..units import tell
from .mill_answers import Answers, split
from .mill_models import Term, terms
from .mill_tests import MillTest, the_test
from .noise import TABLE
from .snapshot import read_shop
from .store import Record, Store

KIND: Final = "mill_test"
#: a reading is strange when what is believed gives it no more than this many times what a slip would give
STRANGE: Final = 1.0
#: tests in which the spindle is turned: readings of a free indicator that touches are hardly ever all the same
_TURNED: Final = {"runout": ("high", "low"), "circle": ("left", "right", "front", "back")}
#: means of opposite readings of a circle that differ by so many of their spreads are not those of a plane; judged
FLAT: Final = 4.0
#: what people mix up: a text in the first unit is tried in the second
_SWAPS: Final = (("mm", "in"), ("in", "mm"), ("um", "mm"), ("mm", "um"), ("N", "kg"), ("kg", "N"), ("kg", "lb"),
                 ("lb", "kg"), ("lb", "N"), ("lbf", "N"))
_UNIT: Final = re.compile(r"(?<=[\d.\s])([A-Za-zµ\"]+)\s*$")


def record_of_test(found: Answers, store: Store, when: datetime) -> Record:
    """A record of one test; the shop as it was is kept with it."""
    shop = store.keep(found.shop.model_dump_json(exclude_unset=True))
    reading = {"test": found.test.name, **found.texts}
    if "file" in reading:                      # what was heard in it stands beside its name
        path = Path(reading["file"])
        reading |= {"recording": path.name, "file": store.keep_file(path.read_bytes(), path.suffix)}
    return Record(when=when, kind=KIND, job="", subject=found.machine, snapshot={"shop": shop}, reading=reading)


def answers_of(record: Record, store: Store) -> Answers:
    """The readings of a record, as they were checked then."""
    texts = {"file" if key == "recording" else key: text for key, text in record.reading.items()
             if key not in ("test", "file")}
    return Answers(the_test(record.reading["test"]), texts, read_shop(store, record.snapshot), record.subject)


@dataclass(frozen=True)
class Tested:
    """All terms of one test that was done: evidence like that of a cut, but of figures that last."""

    record: str
    told: str                                  # what was read, the same in every database
    terms: tuple[Term, ...]

    scope = ""
    lasts = True

    @property
    def seen(self) -> tuple[tuple[str, Term], ...]:
        """Id of the record, what it says."""
        return tuple((self.record, term) for term in self.terms)

    def apart(self) -> list[Tested]:
        """Each term by itself: what it asks for is its own."""
        return [replace(self, terms=(term,)) for term in self.terms]

    def each(self, belief: Belief) -> dict[Term, Rows]:
        """Log likelihood by row of each term; none where it can't tell."""
        out = {}
        for term in self.terms:
            try:
                rows = term.rows(belief)
            except (OutOfRange, NameUnknown):
                continue
            if np.all(np.isfinite(rows)):
                out[term] = rows
        return out

    def total(self, belief: Belief) -> Rows:
        """Log likelihood by row of all terms."""
        return np.asarray(np.sum([np.zeros(belief.rows), *self.each(belief).values()], axis=0))

    @staticmethod
    def floor(term: Term) -> float:
        """What a slip gives a term."""
        return math.pow(term.floor, term.weight)


def tested(store: Store, records: Sequence[Record]) -> list[Tested]:
    """The evidence of all tests that were done."""
    out = []
    for record in records:
        if record.kind == KIND:
            found = answers_of(record, store)
            out.append(Tested(record.id, f"{record.subject}:{sorted(record.reading.items())!r}", terms(found)))
    return out


def strange(found: Answers, belief: Belief) -> list[str]:
    """Readings that hardly fit what is believed, in words, with the unit that may have been meant."""
    alone = _still(found) or _bent(found)
    odd = [] if alone else _odd(found, belief)
    if not odd:
        return alone
    said = [f"{found.test.title}: {', '.join(odd)}: far from what this machine should give; read it again"]
    return said + [f"were they {unit} and not {was}? {example} would be usual"
                   for was, unit, example in _meant(found, belief, len(odd))][:1]


def _still(found: Answers) -> list[str]:
    """An indicator that did not move at all is stuck, or it does not touch; a perfect pin or table is rare."""
    if len({found.number(key) for key in _TURNED.get(found.test.name, ())}) != 1:
        return []
    return [f"{found.test.title}: all readings are the same: is the indicator free, does it touch, is it "
            "fine enough?"]


def _bent(found: Answers) -> list[str]:
    """On a plane opposite readings have one mean, left and right as front and back."""
    if found.test.name != "circle":
        return []
    left, front = ((found.number(a) + found.number(b)) / 2.0 for a, b in (("left", "right"), ("front", "back")))
    if abs(left - front) <= FLAT * np.hypot(found.uncertainty(), TABLE):
        return []
    one, other = (tell(float(millimetres(mean)), "length", found.shop.units) for mean in (left, front))
    return [f"{found.test.title}: the mean of left and right is {one}, of front and back {other}; on a plane they "
            "are the same: is a sign wrong, or was a slot under the tip?"]


def _odd(found: Answers, belief: Belief) -> list[str]:
    return [term.name for term in terms(found) if term.strange(belief, STRANGE)]


def _meant(found: Answers, belief: Belief, now: int) -> list[tuple[str, str, str]]:
    """Other units with which fewer readings would be strange: unit, other, an answer in it."""
    out = []
    for was, unit in _SWAPS:
        texts = {key: _in_unit(text, was, unit) for key, text in found.texts.items()}
        changed = [text for key, text in texts.items() if text != found.texts[key]]
        if changed and _fewer(found, texts, belief, now):
            out.append((was, unit, changed[0]))
    return out


def _in_unit(text: str, was: str, unit: str) -> str:
    """A text, or each of several, with another unit."""
    pieces = split(text) or [text]
    return "; ".join(_UNIT.sub(unit, piece) if (m := _UNIT.search(piece)) and m[1] == was else piece
                     for piece in pieces)


def _fewer(found: Answers, texts: Mapping[str, str], belief: Belief, now: int) -> bool:
    try:
        return len(_odd(Answers(found.test, texts, found.shop, found.machine), belief)) < now
    except (InputError, OutOfRange):
        return False


def machines_of(shop: Shop) -> list[str]:
    """The mills of a shop, for which the tests are made."""
    return [name for name, machine in shop.machines.items() if shop.classes[machine.like].kind == "mill"]


def machine_meant(name: str | None, shop: Shop) -> str:
    """The mill that is named, or the only one.

    Raises:
        NameUnknown: if there is none of that name, or several and none is named.
    """
    mills = machines_of(shop)
    if name is None and len(mills) == 1:
        return mills[0]
    if name not in mills:
        what = "say which mill" if name is None else f"there is no mill {name!r} in the shop"
        raise NameUnknown(what, where="--machine", right=f"one of {', '.join(mills) or 'none: add one in shop.toml'}")
    return name


def lacking(test: MillTest, shop: Shop) -> str:
    """What the shop lacks for a test; empty where nothing."""
    wanted = {ask.otherwise for ask in test.asks if ask.quantity == "instrument"}
    missing = sorted(name for name in wanted if name not in shop.instruments)
    return f"the shop has no {' and no '.join(missing)}" if missing else ""
