"""Turns records into own figures, through the checks' own likelihoods.

What a person would notice and did not is evidence too: 'ok' speaks for every check that has a word.
Columns that are new with every clamping or setting are drawn along with the rest, so that they
take their share of the blame, and are then forgotten: the next clamping is another one.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..belief import LASTING, SCATTER, Belief, Key, Rows
from ..checks.base import LAPSE, Case, Check, Observation, word_loglik
from ..dryrun.findings import evaluate, watched
from ..dryrun.registry import all_checks
from ..dryrun.walk import walk
from ..errors import RecordError
from ..units import parse
from .figures import book_digest
from .sampler import sample
from .snapshot import Snapshot, read_snapshot
from .store import Record, Store
from .words import sentences_for

Progress = Callable[[str, float], None]

#: one reading in twenty is a slip (a wrong line, a wrong sign): then it may be anything
SLIP: Final = 0.05
#: width over which a slip of a size may fall [mm], and of watts [W]
SLIP_WIDTH: Final = {"size": 2.0, "watts": 2000.0}
#: standard uncertainty of a plug-in watt meter's reading, and of reading it while it flickers [W]; judged
WATTMETER: Final = 8.0
#: evaluations of the likelihood that a usual sampling takes; only for the progress line
USUAL_EVALUATIONS: Final = 45


@dataclass(frozen=True)
class Evidence:
    """One record beside one check: what was observed in which case."""

    record: Record
    check: Check
    case: Case
    observation: Observation

    def loglik(self, belief: Belief) -> Rows | None:
        """Log likelihood by row [N], slips allowed for; None where the check can't tell."""
        if self.observation.kind == "word":
            return word_loglik(self.check, evaluate(self.check, self.case, belief).finding, self.observation.word)
        if self.check.loglik is None:
            return None
        plain = self.check.loglik(self.case, belief, self.observation)
        if plain is None:
            return None
        slip = math.log(SLIP / SLIP_WIDTH[self.observation.kind])
        return np.logaddexp(math.log1p(-SLIP) + plain, slip)

    def bounds(self) -> tuple[float, float]:
        """The likelihood if all is as it should be, and that of a slip."""
        if self.observation.kind == "word":
            return 1.0 - LAPSE, LAPSE
        peak = 1.0 / (math.sqrt(2.0 * math.pi) * self.observation.sd)
        return peak, SLIP / SLIP_WIDTH[self.observation.kind]


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


def learn_from(store: Store, book: Belief, progress: Progress) -> Learned:
    """Learn from every valid record of a shop.

    Args:
        store: the records.
        book: book figures.
        progress: told what is under way.

    Raises:
        RecordError: if there is no record yet.
    """
    records = store.valid()
    if not records:
        raise RecordError("there are no records yet", right="firstoff log JOB OPERATION ok")
    evidence = gather(store, records)
    keys = _touched(evidence, book)
    latest = records[-1].id
    everything = store.all()
    if everything:
        latest = everything[-1].id
    moved, settled = _posterior(evidence, keys, book, progress) if keys else ({}, True)
    after = book.with_moved(moved)
    lasting = {k: v for k, v in moved.items() if book.columns[k].level in LASTING}
    sentences, odd = sentences_for(evidence, lasting, book, after, settled, len(records))
    return Learned(lasting, tuple(sentences), len(records), latest, book.rows, book.seed,
                   book_digest(book, sorted(lasting)), settled, tuple(odd))


def gather(store: Store, records: Sequence[Record]) -> list[Evidence]:
    """Every record beside every check that it speaks to."""
    out: list[Evidence] = []
    walked: dict[str, tuple[Case, ...]] = {}
    for record in records:
        name = repr(sorted(record.snapshot.items()))
        snapshot = read_snapshot(store, record.snapshot)
        if name not in walked:
            walked[name] = walk(snapshot.job, snapshot.shop, snapshot.route, snapshot.parts)
        cases = [c for c in walked[name] if c.name == record.subject and c.subject == _subject(record)]
        for case in cases:
            out += _beside(record, case, snapshot)
    return out


def _subject(record: Record) -> str:
    return "limit" if record.kind == "size" else "operation"


def _beside(record: Record, case: Case, snapshot: Snapshot) -> list[Evidence]:
    observation = _observation(record, snapshot)
    checks = [c for c in all_checks() if c.subject == case.subject and c.applies(case)]
    if observation.kind == "word":
        spoken = [c for c in checks if c.word and observation.word in ("ok", c.word)]
    else:
        spoken = [c for c in checks if c.loglik is not None]
    return [Evidence(record, check, case, observation) for check in spoken]


def _observation(record: Record, snapshot: Snapshot) -> Observation:
    reading = record.reading
    if record.kind == "word":
        return Observation("word", word=reading["word"])
    if record.kind == "watts":
        above = parse(reading["value"], "power") - parse(reading["idle"], "power")
        return Observation("watts", value=above, sd=WATTMETER)
    limit = snapshot.job.limits[record.subject]
    nominal = limit.size if limit.size is not None else 0.0
    u = snapshot.shop.instruments[reading["instrument"]].uncertainty.value
    return Observation("size", value=parse(reading["value"], "length") - nominal, sd=u)


def _touched(evidence: Sequence[Evidence], book: Belief) -> list[Key]:
    """The columns that the evidence speaks about, scatter left out."""
    watch = watched(book)
    for item in evidence:
        item.loglik(watch)
        watch.asked.update(evaluate(item.check, item.case, book).asked)
    return [k for k in book.depends_on(watch.asked) if book.columns[k].level not in SCATTER]


def _posterior(
    evidence: Sequence[Evidence], keys: list[Key], book: Belief, progress: Progress
) -> tuple[dict[Key, Rows], bool]:
    calls = 0

    def loglik(z: Rows) -> Rows:
        nonlocal calls
        calls += 1
        progress("learning from the records", min(0.99, calls / USUAL_EVALUATIONS))
        belief = book.with_moved({key: z[:, i] for i, key in enumerate(keys)})
        total = np.zeros(book.rows)
        for item in evidence:
            part = item.loglik(belief)
            if part is not None:
                total += part
        return total

    prior = np.stack([book.z(key) for key in keys], axis=1)
    moved = sample(prior, loglik, np.random.default_rng(_seed(evidence, book)))
    return {key: moved.z[:, i] for i, key in enumerate(keys)}, moved.settled


def _seed(evidence: Sequence[Evidence], book: Belief) -> int:
    names = "|".join(item.record.id for item in evidence)
    return int.from_bytes(hashlib.blake2b(f"{book.seed}|{names}".encode(), digest_size=8).digest(), "big")


def learned_json(learned: Learned) -> dict[str, Any]:
    """What `learn --json` prints."""
    return {
        "records": learned.records, "sentences": list(learned.sentences), "settled": learned.settled,
        "moved": sorted(f"{a} {b}" for a, b in learned.moved), "disagreeing": list(learned.disagreeing),
    }

