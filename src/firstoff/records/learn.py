"""Turns records into own figures, through the checks' own likelihoods.

What a person would notice and did not is evidence too: 'ok' speaks for every check that has a word.
Columns that are new with every clamping or setting are drawn along with the rest, so that they
take their share of the blame, and are then forgotten: the next clamping is another one.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any, Final, NamedTuple

import numpy as np

from ..belief import LASTING, SCATTER, Belief, Key, Level, Rows, watched
from ..checks.base import Case, Check, Finding, Observation, word_loglik
from ..checks.si import metres
from ..dryrun.keys import case_key
from ..dryrun.registry import all_checks
from ..dryrun.walk import walk
from ..errors import NameUnknown, OutOfRange, RecordError
from ..job.nominal import nominal_size
from ..shop.models import Shop
from ..units import parse
from .called import MOVED, as_cut, found, in_scrap
from .depths import sentences as depth_sentences
from .figures import book_digest
from .groups import groups
from .logging import force_of
from .mill_learn import KIND, Tested, tested
from .noise import LIFT_READ, SLIP, WATTMETER
from .sampler import Index, LogLikelihood, Matrix, Moved, Part, sample
from .scoreboard import score, told
from .snapshot import Snapshot, read_snapshot
from .store import CALLED, Record, Store, record_line
from .turns import in_turn, walking
from .words import Change, Flags, sentences_for

Progress = Callable[[str, float], None]

#: width over which a slip may fall: of a size [m], of watts in their logarithm (a thousandfold) [1]
#: of a pull too, of which one that held has no width
SLIP_WIDTH: Final = {"size": metres(2.0), "watts": math.log(1000.0), "pull": math.log(1000.0), "lift": metres(2.0)}
#: kinds of records that a check can weigh; what else was seen, notes, recordings and pictures are for people
SPEAKING: Final = ("word", "seen", "watts", "size", "pull", "lift", KIND)
#: fewer words than this make no score
WORTH_SCORING: Final = 5
#: evaluations of the likelihood that a usual sampling takes; only for the progress line
USUAL_EVALUATIONS: Final = 12
#: columns that are new each time: each clamping or setting that a record speaks of has its own
PASSING: Final = frozenset({Level.CLAMPING, Level.SETTING})
#: evidence of which all rows of the book say the same within this logarithm moves nothing
SAME: Final = 1e-4
#: and every so many-th row tells whether they do
SAME_BY: Final = 4
#: rows that are enough to see which columns a check asks for
FEW_ROWS: Final = 32
#: what tells a cut from the one that was planned
AS_CUT: Final = ("feed", "depth", "scrap")
#: a depth that is so much of the case's is the same
DEEP_ENOUGH: Final = 1.01
#: every so many-th row is enough to see whether a record disagrees
EVERY: Final = 7      # odd: rows of both halves of the sampler
#: a record disagrees when what was learned gives it no more than this many times what a slip would give
ODD: Final = 1.5


@dataclass(frozen=True)
class Evidence:
    """One check of one case, and all that was observed of it, by record."""

    check: Check
    case: Case
    seen: tuple[tuple[str, Observation], ...]      # id of the record, what it says
    scrap: bool = False                            # a trial in scrap: another clamping

    lasts = False                                  # what is new each time is drawn each time

    @property
    def told(self) -> str:
        """What was observed, the same in every database."""
        return "|".join(f"{self.check.name}:{self.case.name}:{observation!r}" for _, observation in self.seen)

    @staticmethod
    def floor(observation: Observation) -> float:
        """What a slip gives an observation."""
        return slip(observation)

    @property
    def scope(self) -> str:
        """Which clamping or setting it speaks of."""
        return f"{self.case.job.name}|{self.case.setting_name or self.case.name}{'|scrap' * self.scrap}"

    def each(self, belief: Belief) -> dict[Observation, Rows]:
        """Log likelihood by row of each different observation, slips allowed for; none where it can't tell."""
        seen = found(self.check, self.case, belief) if any(o.kind == "word" for _, o in self.seen) else None
        out = {}
        for observation in dict.fromkeys(o for _, o in self.seen):
            rows = self._one(observation, seen, belief)
            if rows is not None:
                out[observation] = rows
        return out

    def _one(self, observation: Observation, finding: Finding | None, belief: Belief) -> Rows | None:
        if observation.kind == "word":
            return None if finding is None else word_loglik(self.check, finding, observation.word)
        if self.check.loglik is None:
            return None
        try:
            plain = self.check.loglik(self.case, belief, observation)
        except (OutOfRange, NameUnknown):
            return None
        if plain is None or not np.all(np.isfinite(plain)):
            return None
        return np.logaddexp(math.log1p(-SLIP) + plain, math.log(slip(observation)))

    def total(self, belief: Belief) -> Rows:
        """Log likelihood by row of all that was observed."""
        each = self.each(belief)
        parts = [each[o] for _, o in self.seen if o in each]
        return np.sum(parts, axis=0) if parts else np.zeros(belief.rows)


Witness = Evidence | Tested


def slip(observation: Observation) -> float:
    """What a slip of the pen or the ear gives an observation: the least likelihood that it can have."""
    if observation.kind in ("word", "colour", "form") or observation.word in ("held", "tight", "loose"):
        return SLIP
    return SLIP / SLIP_WIDTH[observation.kind]


@dataclass(frozen=True)
class Learned:
    """Own figures and what changed, a sentence each."""

    moved: Mapping[Key, Rows]
    sentences: tuple[str, ...]
    records: int
    latest: str
    rows: int
    seed: int
    book: str
    settled: bool
    disagreeing: tuple[str, ...]       # ids of records that the rest speaks against
    spoken: Mapping[Key, int] = field(default_factory=dict)     # how many records speak of each figure


def learn_from(store: Store, book: Belief, shop: Shop, progress: Progress) -> Learned:
    """Learn from every valid record of a shop.

    Args:
        store: the records.
        book: book figures.
        shop: whose they are; for names and units.
        progress: told what is under way.

    Raises:
        RecordError: if there is no record yet.
    """
    records = [record for record in store.valid()
               if record.kind in SPEAKING and (record.kind != "seen" or _sights(record))]
    if not records:
        raise RecordError("there are no records yet", right="firstoff log JOB OPERATION ok")
    evidence: list[Witness] = [*gather(store, [r for r in records if r.kind != KIND], book), *tested(store, records)]
    posterior = posterior_of(evidence, book, progress)
    whole = _whole(evidence, _Asks(book))
    lasting = {k: v for k, v in posterior.moved.items() if book.columns[k].level in LASTING or k in whole}
    after = book.with_moved(lasting)
    further = _further(evidence, records, book, after)
    change = Change(book, after, posterior.speaking, shop, posterior.settled, posterior.odd, len(records), further,
                    posterior.two, {r.id: _named(r) for r in records if r.id in posterior.odd})
    return Learned(lasting, tuple(sentences_for(change)), len(records), store.mark(), book.rows, book.seed,
                   book_digest(book, sorted(lasting)), posterior.settled, posterior.odd,
                   {key: len(posterior.speaking[key]) for key in lasting if key in posterior.speaking})


def _named(record: Record) -> str:
    """What a record says, without its id: "2026-03-02 09:30 top-rough: sang"."""
    return " ".join(record_line(record).split()[1:])


def _further(evidence: Sequence[Witness], records: Sequence[Record], book: Belief, after: Belief) -> tuple[str, ...]:
    """How deep a cut may be now, and how often what was called good was."""
    words = words_heard(evidence, records)
    lines = depth_sentences([case for case, _, _ in words], book, after, found)
    return tuple(lines + ([told(score(words, book))] if len(words) >= WORTH_SCORING else []))


def words_heard(
    evidence: Sequence[Witness], records: Sequence[Record]
) -> list[tuple[Case, Observation, float | None]]:
    """Each cut with each word that was recorded of it, and the chance that was told of it then."""
    then = {r.id: float(r.conditions[CALLED]) for r in records if CALLED in r.conditions}
    return [(e.case, o, then.get(name)) for e in _once(evidence) for name, o in e.seen]


def _once(evidence: Sequence[Witness]) -> list[Evidence]:
    """Words with each record once, though one speaks to several checks."""
    out, heard = [], set[str]()
    for item in evidence:
        if isinstance(item, Evidence):
            seen = tuple((name, o) for name, o in item.seen if o.kind == "word" and name not in heard)
            heard |= {name for name, _ in seen}
            out.append(replace(item, seen=seen))
    return out


def gather(store: Store, records: Sequence[Record], book: Belief) -> list[Evidence]:
    """Every record beside every check that it speaks to; what was observed of one case is put together."""
    walked: dict[str, tuple[Case, ...]] = {}
    together: dict[tuple[str, str, bool], Evidence] = {}
    for record in records:
        made = tuple(record.conditions.get(key) for key in AS_CUT)
        name = repr((sorted(record.snapshot.items()), *((made, record.subject) if any(made) else ())))
        snapshot = read_snapshot(store, record.snapshot)
        if name not in walked:
            route = as_cut(snapshot.route, record)
            walked[name] = walk(snapshot.job, snapshot.shop, route, snapshot.parts)
        subject = "limit" if record.kind == "size" else "operation"
        cases = [case for case in walked[name] if case.name == record.subject and case.subject == subject
                 and _so_deep(case, record)]
        for case, observation in product(cases, _observations(record, snapshot)):
            for check in _spoken(case, observation, in_scrap(record)):
                key = check.name, case_key(case, book), in_scrap(record)
                before = together.get(key, Evidence(check, case, (), in_scrap(record)))
                together[key] = replace(before, seen=(*before.seen, (record.id, observation)))
    return list(together.values())


def _so_deep(case: Case, record: Record) -> bool:
    """Whether the case is cut as deep as the record says: a wall is no deeper than it is high, whatever scrap was."""
    told = record.conditions.get("depth")
    if told is None or case.windows is None:
        return True
    return bool(parse(told, "length") <= DEEP_ENOUGH * np.max(case.windows.depth))


def _spoken(case: Case, observation: Observation, scrap: bool) -> list[Check]:
    """The checks that an observation speaks to; one in scrap says nothing of how the part is held."""
    checks = [c for c in all_checks() if c.subject == case.subject and c.applies(case)
              and not (scrap and c.word == MOVED)]
    if observation.kind == "word":
        return [c for c in checks if c.word and observation.word in ("ok", c.word)]
    return [c for c in checks if c.loglik is not None]


def _observations(record: Record, snapshot: Snapshot) -> list[Observation]:
    """What a record says: of a cut perhaps what its chips and its face are like beside the word."""
    sights = _sights(record)
    return sights if record.kind == "seen" else [_observation(record, snapshot), *sights]


def _sights(record: Record) -> list[Observation]:
    """What its chips and its face are like, as far as a check weighs it; what says the same twice counts once."""
    colour, form, face = (record.reading.get(name) for name in ("chip_colour", "chip_form", "finish"))
    seen = [Observation("colour", word=colour)] if colour is not None else []
    if form == "welded" or (form == "dust" and record.reading.get("word") != "squealed"):
        seen.append(Observation("form", word=form))
    if face == "torn" and form != "welded":
        seen.append(Observation("face", word=face))
    return seen


def _observation(record: Record, snapshot: Snapshot) -> Observation:
    reading = record.reading
    if record.kind == "word":
        return Observation("word", word=reading["word"])
    if record.kind == "watts":
        above = parse(reading["value"], "power") - parse(reading["idle"], "power")
        return Observation("watts", value=above, sd=WATTMETER)
    if record.kind == "pull":
        return Observation("pull", word=reading["word"], value=force_of(reading["value"]))
    if record.kind == "lift" and "word" in reading:
        return Observation("lift", word=reading["word"])
    if record.kind == "lift":
        return Observation("lift", value=parse(reading["value"], "length"), sd=LIFT_READ)
    nominal = nominal_size(record.subject, snapshot.job, snapshot.parts)
    u = snapshot.shop.instruments[reading["instrument"]].uncertainty.value
    return Observation("size", value=parse(reading["value"], "length") - nominal, sd=u)


class _Asks:
    """What each piece of evidence asks for, looked at once."""

    def __init__(self, book: Belief) -> None:
        self.book = book
        self._known: dict[int, tuple[Witness, tuple[set[str], tuple[Key, ...]]]] = {}

    def of(self, item: Witness) -> tuple[set[str], tuple[Key, ...]]:
        """As `asked_of`."""
        if id(item) not in self._known:
            self._known[id(item)] = item, asked_of(item, self.book)
        return self._known[id(item)][1]


def _speaking(evidence: Sequence[Witness], asks: _Asks) -> dict[Key, set[str]]:
    """The columns that the evidence speaks about, and the records that speak about each.

    Scatter is left out, but for a test that was made to tell how far something scatters.
    """
    out: dict[Key, set[str]] = {}
    for item in evidence:
        names, keys = asks.of(item)
        for key in keys:
            if item.lasts or asks.book.columns[key].level not in SCATTER:
                out.setdefault(key, set()).update(names)
    return {key: names for key, names in sorted(out.items()) if names}


def asked_of(item: Witness, book: Belief) -> tuple[set[str], tuple[Key, ...]]:
    """The records that can tell something here, and the columns that they ask for."""
    watch = watched(book.wordless().thinned(np.linspace(0, book.rows - 1, min(FEW_ROWS, book.rows)).astype(np.intp)))
    heard: Collection[object] = item.each(watch)
    return {name for name, o in item.seen if o in heard}, book.depends_on(watch.asked)


def _whole(evidence: Sequence[Witness], asks: _Asks) -> set[Key]:
    """Columns of which a test tells the figure itself, which lasts, whatever is new each time."""
    return {key for item in evidence if item.lasts for key in asks.of(item)[1]}


class _Slot(NamedTuple):
    """A column of the sampler: one that lasts, or what one clamping or setting drew of one that does not."""

    key: Key
    scope: str

    def prior(self, book: Belief) -> Rows:
        """Its rows by the book: another clamping is another draw."""
        entity, parameter = self.key
        return book.z(self.key if not self.scope else (f"{entity}|{self.scope}", parameter))


class Posterior(NamedTuple):
    """Rows after evidence of the columns that it speaks about, and what tells whether to trust them."""

    speaking: dict[Key, set[str]]      # records that speak about each column
    moved: dict[Key, Rows]             # of the first scope, where a column has several
    settled: bool
    odd: tuple[str, ...]
    two: tuple[Key, Flags] | None = None     # the figure in which two explanations differ most, rows of the upper one


def posterior_of(evidence: Sequence[Witness], book: Belief, progress: Progress) -> Posterior:
    """Rows after all of the evidence.

    Args:
        evidence: what was observed, by case.
        book: book figures.
        progress: told what is under way.
    """
    asks, some_rows = _Asks(book), book.wordless().thinned(np.arange(0, book.rows, SAME_BY))
    speaking = _speaking(evidence, asks)
    telling = [item for item in evidence if _tells(item, some_rows)]
    slots = _slots(telling, _speaking(telling, asks), asks)
    if not slots:
        return Posterior(speaking, {}, True, ())
    found, z, tell = list[Moved](), np.zeros((book.rows, len(slots))), _Telling(progress)
    generator = np.random.default_rng(_seed(evidence, book))
    two = None
    for items, which in _together(telling, slots, asks):
        some = [slots[i] for i in which]
        moved = _moved(items, some, asks, generator, tell)
        z[:, which] = moved.z
        two = two or _two(moved, some)
        found.append(moved)
    first = {slot.key: z[:, i] for i, slot in reversed(list(enumerate(slots)))}
    settled = all(moved.settled for moved in found)
    return Posterior(speaking, first, settled, tuple(_odd(evidence, z, slots, book)), two)


def _tells(item: Witness, prior: Belief) -> bool:
    """Whether rows differ at all in what it says: 'ok' of what can't fail in any of them is no news."""
    few = prior.some(FEW_ROWS)
    return bool(np.ptp(item.total(few)) > SAME or np.ptp(item.total(prior)) > SAME)


class _Telling:
    """Tells how far it is."""

    def __init__(self, progress: Progress) -> None:
        self.progress, self.calls = progress, 0

    def more(self) -> None:
        """Another evaluation of a piece of the likelihood."""
        self.progress("learning from the records", min(0.99, self.calls / USUAL_EVALUATIONS))
        self.calls += 1


def _together(
    evidence: Sequence[Witness], slots: Sequence[_Slot], asks: _Asks
) -> Iterator[tuple[list[Witness], list[int]]]:
    """Evidence that hangs together by the columns that it asks for, and which slots these are."""
    items: list[Witness] = []
    for item in evidence:
        items += item.apart() if isinstance(item, Tested) else [item]
    by_key: dict[Key, list[int]] = {}
    for i, slot in enumerate(slots):
        by_key.setdefault(slot.key, []).append(i)
    asked = [[i for key in asks.of(item)[1] for i in by_key.get(key, [])
              if slots[i].scope in ("", item.scope)] for item in items]
    for group in groups(asked):
        yield [items[i] for i in group], sorted({slot for i in group for slot in asked[i]})


def _moved(
    items: Sequence[Witness], slots: Sequence[_Slot], asks: _Asks, generator: np.random.Generator, tell: _Telling
) -> Moved:
    """Rows of some slots after all evidence that speaks of them."""
    asked = {key for item in items for key in asks.of(item)[1]}
    book = replace(asks.book, columns={key: column for key, column in asks.book.columns.items() if key in asked})

    def piece(some: Sequence[Witness]) -> LogLikelihood:
        def loglik(z: Matrix, rows: Index) -> Rows:
            tell.more()
            at = {scope: _at(scope, z, rows, slots, book) for scope in {item.scope for item in some}}
            return np.asarray(np.sum([item.total(at[item.scope]) for item in some], axis=0))
        return loglik

    turns = in_turn(items)
    parts = [Part(tuple(piece(some) for some in turn.pieces), turn.most, turn.moves(book.rows)) for turn in turns]
    z, apart, blocks = np.stack([slot.prior(book) for slot in slots], axis=1), 0.0, list[Index]()
    readings = [item for turn in turns[:-1] if turn.endless for some in turn.pieces for item in some]
    for some, which in _together(readings, slots, asks):       # before words tie them together
        before = _moved(some, [slots[i] for i in which], asks, generator, tell)
        z[:, which], apart = before.z, max(apart, before.apart)
        blocks.append(np.array(which, dtype=np.intp))
    if blocks:
        blocks += [np.array([i]) for i in sorted(set(range(len(slots))) - set(np.concatenate(blocks)))]
    moved = sample(z, parts, generator, walking(items, book.rows), int(bool(blocks)), blocks)
    return moved if math.isfinite(apart) else replace(moved, apart=apart)       # shares of heaps that nothing told


def _two(moved: Moved, slots: Sequence[_Slot]) -> tuple[Key, Flags] | None:
    """Where rows lie in two heaps: the column along which mostly, and which rows lie in the upper one."""
    if moved.heaps is None:
        return None
    way = moved.heaps.way
    most = int(np.argmax(np.abs(way)))
    above = moved.heaps.above(moved.z)
    return slots[most].key, above if way[most] > 0.0 else ~above


def _slots(evidence: Sequence[Witness], speaking: Mapping[Key, set[str]], asks: _Asks) -> list[_Slot]:
    scopes, whole = sorted({item.scope for item in evidence}), _whole(evidence, asks)
    return [_Slot(key, scope) for key in speaking
            for scope in (scopes if asks.book.columns[key].level in PASSING and key not in whole else [""])]


def _at(scope: str, z: Matrix, rows: Index, slots: Sequence[_Slot], book: Belief) -> Belief:
    """The belief at some rows of the sampler, as evidence of one clamping or setting sees it."""
    moved = {s.key: z[:, i] for i, s in enumerate(slots) if s.scope in ("", scope)}
    if not np.array_equal(rows, np.arange(book.rows)):
        book = book.thinned(rows)
    return book.wordless().with_moved(moved)


def _odd(evidence: Sequence[Witness], z: Matrix, slots: Sequence[_Slot], book: Belief) -> list[str]:
    """Records that what was learned from all of them still finds hardly likelier than a slip."""
    out: dict[str, None] = {}
    few = np.arange(0, book.rows, EVERY)
    for item in evidence:
        heard: Mapping[Any, Rows] = item.each(_at(item.scope, z[few], few, slots, book))
        for observation, rows in heard.items():
            if float(np.mean(np.exp(rows))) < ODD * item.floor(observation):
                out |= dict.fromkeys(name for name, o in item.seen if o == observation)
    return list(out)


def _seed(evidence: Sequence[Witness], book: Belief) -> int:
    """By what was observed, so that the same readings give the same figures in another database, too."""
    seen = "|".join(item.told for item in evidence)
    return int.from_bytes(hashlib.blake2b(f"{book.seed}|{seen}".encode(), digest_size=8).digest(), "big")


def learned_json(learned: Learned) -> dict[str, Any]:
    """What `learn --json` prints."""
    return {
        "records": learned.records, "sentences": list(learned.sentences), "settled": learned.settled,
        "moved": sorted(f"{a} {b}" for a, b in learned.moved), "disagreeing": list(learned.disagreeing),
    }
