"""Runs checks over cases, and keeps what was found by a key of all that it depends on.

finding key = hash(sources of checks and physics, every field of the case that a check may read, rows,
seed); beside the finding stand the columns that were asked for and their digest, so that a finding is
used again only where what was believed then is believed now.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, TypeVar

import numpy as np
from pydantic_core import from_json

from ..belief import LASTING, Belief, Key, Rows, watched
from ..checks._blunt import felt
from ..checks._left_by import digest_of_cut
from ..checks.base import Case, Check, Finding, Spread, cannot
from ..errors import NotBelieved, OutOfRange
from ..job.route import Operation
from ..kept import kept
from .keys import case_key, looks_back, past_key, touches, warmed, wear_digest
from .looking import Look, checks_named, checks_of

LASTING_ROWS: Final = 256     #: in which it is told how much of the doubt would last
FILE: Final = "findings.sqlite"       #: in the folder of the cache
KEPT_ON_DISK: Final = 9000    #: findings on disk; the oldest go first
KEPT_CASES: Final = 2000      #: of which the keys are kept in a run
SPARE: Final = 400            #: more than that, before it is worth while to look which go
R = TypeVar("R")


@dataclass(frozen=True)
class Kept:
    """A finding with the columns it stands on, and its chances if only lasting things were uncertain."""

    finding: Finding
    lasting_rows: Rows | None
    asked: tuple[Key, ...]
    digest: str
    told: bool = True          # with all words and its lasting chances; else only for a sum


class Findings:
    """Findings by key: in memory for this run, on disk between runs. `evaluate` computes what is missing.

    On disk each stands under its key and the digest of the figures that it was found with: book figures and own
    figures, gone to and fro between, do not push each other out.
    """

    def __init__(self, belief: Belief, folder: Path | None = None) -> None:
        self.belief = belief
        self.computed = 0
        self._kept: dict[str, list[Kept]] = {}
        self._cases: dict[tuple[int, ...], tuple[object, list[tuple[Check, str]]]] = {}     # a case with its keys
        self._applied: dict[str, bytes] = {}
        self._own_keys: dict[tuple[int, ...], tuple[object, str]] = {}
        self._digests: dict[tuple[Key, ...], str] = {}
        from .shelf import Shelf  # a database, which a look at one cut does without

        self._shelf = Shelf(folder / FILE if folder is not None else None)

    def of(self, case: Case, *, told: bool = True) -> tuple[Kept, ...]:
        """What every check that applies finds in this case.

        Args:
            case: to look at.
            told: whether a person will read it; else it is only for a sum.
        """
        keyed = self._keyed(case)
        return tuple(self._one(check, case, key, told=told) for check, key in keyed)

    def expect(self, cases: Sequence[Case]) -> None:
        """Take up at one go what was found last in some cases, as far as it was found with what is believed now."""
        applies = [self._applies_key(case) for case in cases if case.operation is not None]
        self._applied.update(self._shelf.latest(applies))
        keys = dict.fromkeys(key for case in cases for _, key in self._keyed(case) if key not in self._kept)
        for key, raw in self._shelf.latest(list(keys)):
            self._kept[key] = [kept for kept in (self._as_believed(raw),) if kept is not None]

    def key_of(self, case: Case) -> str:
        """The key of a case without the numbers of all cuts; that of the last ones is kept."""
        return _kept_by_case(self._own_keys, case, lambda: case_key(case, self.belief, cuts=False))

    def keys(self, case: Case) -> tuple[str, ...]:
        """What the findings of a case stand under: the same is found under the same, as far as a finding says itself
        what it `reads`."""
        return tuple(key for _, key in self._keyed(case))

    def alike(self, case: Case, other: Case) -> bool:
        """Whether the same is found in two cases: a case of two routes, changed elsewhere."""
        if case.limit is not None:
            return case_key(case, self.belief) == case_key(other, self.belief)
        return self._keyed(case) == self._keyed(other)

    def look(self, case: Case) -> Look:
        """The same check by check, for a sum, as far as it is asked for."""
        keyed = self._keyed(case)
        keys = {check.name: key for check, key in keyed}
        return Look(case, tuple(check for check, _ in keyed), self.belief.rows,
                    lambda check: self._one(check, case, keys[check.name], told=False).finding)

    def _keyed(self, case: Case) -> list[tuple[Check, str]]:
        return _kept_by_case(self._cases, case, lambda: self._keyed_anew(case))

    def _keyed_anew(self, case: Case) -> list[tuple[Check, str]]:
        key, past = self.key_of(case), past_key(case)
        checks = self._that_apply(case)
        wear = f"-{wear_digest(case)}" if any(c.feels_wear for c in checks) else ""
        return [(c, f"{key}-{c.name.replace(' ', '-')}{past if looks_back(c, case) else ''}"
                    f"{wear if c.feels_wear else ''}") for c in checks]

    def _applies_key(self, case: Case) -> str:
        return f"{self.key_of(case)}{past_key(case)}-applies"

    def _that_apply(self, case: Case) -> tuple[Check, ...]:
        """The checks that apply: for some of them it costs more to tell than to read what they found."""
        if case.operation is None:
            return checks_of(case)
        key = self._applies_key(case)
        known = self._applied.get(key) or next(self._shelf.under(key), None)
        if known is None:
            checks = checks_of(case)
            self._shelf.put(key, "", "|".join(check.name for check in checks).encode())
            return checks
        return checks_named(known.decode().split("|"))

    def _one(self, check: Check, case: Case, key: str, *, told: bool) -> Kept:
        here = self._kept.setdefault(key, [])
        found = self._fitting(here, case, told=told)
        if found is None:
            found = self._fitting(self._on_disk(key), case, told=told)
            if found is None:
                found = evaluate(check, case, self.belief, told=told)
                self.computed += 1
                self._shelf.put(key, _variant(found), _to_bytes(found))
            here.append(found)
        return found

    def _fitting(self, kept: Iterable[Kept], case: Case, *, told: bool) -> Kept | None:
        """Of what is kept under a key the first that stands on the cuts of this route, with all words if asked."""
        return next((one for one in kept if (one.told or not told) and all(
            name in case.route.operations and digest_of_cut(case, name) == digest
            for name, digest in one.finding.reads)), None)

    def _on_disk(self, key: str) -> Iterator[Kept]:
        """What was found before with what is believed now, the latest first."""
        for raw in self._shelf.under(key):
            if (found := self._as_believed(raw)) is not None:
                yield found

    def _as_believed(self, raw: bytes) -> Kept | None:
        """A finding as it was kept; None where it was found with other figures, or cannot be read."""
        found = _from_bytes(raw, self.belief.rows)
        return found if found is not None and found.digest == self._digest_of(found.asked) else None

    def _digest_of(self, asked: tuple[Key, ...]) -> str:
        if asked not in self._digests:
            self._digests[asked] = self.belief.digest_of(asked)
        return self._digests[asked]

    def prune(self) -> None:
        """Forget the oldest findings on disk beyond `KEPT_ON_DISK`, but for those that this run has used."""
        used = {(key, _variant(kept)) for key, found in self._kept.items() for kept in found}
        self._shelf.prune(KEPT_ON_DISK, SPARE, used)

    def close(self) -> None:
        """Let go of the disk."""
        self._shelf.close()


@kept(4096)
def _as_case(case: Case) -> tuple[object, ...]:
    """All that a key is of: of an operation nothing of the route but what was done before it."""
    if case.operation is None or case.run is not None:
        return (case,)
    return (case.name, case.operation, case.setting, case.state, case.windows, case.parts, case.job, case.shop,
            felt(case), *warmed(case))


def _kept_by_case(known: dict[tuple[int, ...], tuple[object, R]], case: Case, find: Callable[[], R]) -> R:
    """What was found of a case, which stands with it, so that no other case can come to have its number."""
    stands_on = _as_case(case)
    key = tuple(map(id, stands_on))
    there = known.get(key)
    if there is None:
        while len(known) >= KEPT_CASES:
            known.pop(next(iter(known)))
        there = known[key] = stands_on, find()
    return there[1]


def _own_operations(case: Case) -> dict[str, Operation]:
    """The operations that a limit or joint may look at."""
    settings = case.route.settings
    return {name: op for name, op in case.route.operations.items() if touches(case, settings[op.setting].workpiece)}


def _variant(kept: Kept) -> str:
    """What it was found with, of all that stands under one key."""
    stands_on = hashlib.blake2b(repr(kept.finding.reads).encode(), digest_size=4).hexdigest()
    return f"{kept.digest}{stands_on if kept.finding.reads else ''}"


def evaluate(check: Check, case: Case, belief: Belief, *, told: bool = True) -> Kept:
    """Run one check; physics asked outside its range becomes a finding that can't say why not.

    Args:
        check: to run.
        case: where.
        belief: what is believed.
        told: whether a person will read it: with all words, and how much of the doubt would last.
    """
    watch = watched(belief if told else belief.wordless())
    finding = found_by(check, case, watch)
    if case.limit is not None and finding.p_rows is None:      # it did not come so far as to say what it reads
        reads = tuple((name, digest_of_cut(case, name)) for name in _own_operations(case))
        finding = replace(finding, reads=reads)
    asked = tuple(sorted(watch.asked))
    lasting = _lasting(check, case, belief, finding, asked) if told else None
    return Kept(finding, lasting, asked, belief.digest_of(asked), told)


def _lasting(check: Check, case: Case, belief: Belief, finding: Finding, asked: tuple[Key, ...]) -> Rows | None:
    """The chances if only lasting things were uncertain, in some rows: only how many say good or no good counts."""
    passing = [key for key in belief.depends_on(asked) if belief.columns[key].level not in LASTING]
    if not passing or not _may_split(finding, case):
        return finding.p_rows
    return found_by(check, case, _what_lasts(belief)).p_rows


def _what_lasts(belief: Belief) -> Belief:
    """The same belief without words in a part of its rows, and all that does not last calm; the last is kept."""
    if not _calm or _calm[0] is not belief:
        few = belief.wordless()
        if belief.rows >= 2 * LASTING_ROWS:
            few = few.thinned(np.arange(0, belief.rows, belief.rows // LASTING_ROWS))
        passing = [key for key, column in belief.columns.items() if column.level not in LASTING]
        _calm[:] = belief, few.with_moved(dict.fromkeys(passing, np.zeros(few.rows)))
    return _calm[1]


_calm: list[Belief] = []


def _may_split(finding: Finding, case: Case) -> bool:
    """Whether it matters how much of the doubt would last: only where something could settle it."""
    return bool(finding.settle_by) and (finding.p_fail or 0.0) > case.shop.good


def found_by(check: Check, case: Case, belief: Belief) -> Finding:
    """What a check finds here and now."""
    try:
        finding = check.evaluate(case, belief)
    except OutOfRange as error:
        return cannot(check.name, case, check.at_risk, str(error))
    except NotBelieved as error:
        return cannot(check.name, case, check.at_risk, str(error), "write the figure into the shop, with its spread")
    if finding.p_rows is not None and not np.all(np.isfinite(finding.p_rows)):
        return cannot(check.name, case, check.at_risk, "the figures at hand give no number here")
    return finding


def _to_bytes(kept: Kept) -> bytes:
    f = kept.finding
    head = {
        "check": f.check, "subject": f.subject, "name": f.name, "at_risk": f.at_risk, "demand": f.demand,
        "capacity": f.capacity, "unit": f.unit, "because": f.because, "settle_by": f.settle_by,
        "joint_group": f.joint_group, "reads": f.reads, "to_try": f.to_try,
        "asked": kept.asked, "digest": kept.digest, "told": kept.told,
        "rows": 0 if f.p_rows is None else len(f.p_rows),
        "lasting": 0 if kept.lasting_rows is None else len(kept.lasting_rows),
        "same": kept.lasting_rows is f.p_rows,
    }
    text = json.dumps(head).encode() + b"\n"
    blocks = [_short(r).astype("<f8").tobytes() for r in (f.p_rows, None if head["same"] else kept.lasting_rows)
              if r is not None]
    return text + b"".join(blocks)


def _from_bytes(raw: bytes, rows: int) -> Kept | None:
    end = raw.find(b"\n")
    try:
        head: dict[str, Any] = from_json(raw[:end])
        many, lasts, same = head.pop("rows"), head.pop("lasting"), head.pop("same")
        values = np.frombuffer(raw, dtype="<f8", offset=end + 1) if end + 1 < len(raw) else np.zeros(0)
        if many not in (0, rows) or lasts > rows or many + lasts < 0:
            return None
        p_rows, rest = _long(values, many)
        lasting, rest = (p_rows, rest) if same else _long(rest, lasts)
        if len(rest):
            return None
        asked = tuple(map(tuple, head.pop("asked")))
        digest, told = head.pop("digest"), head.pop("told")
        head["reads"] = tuple((a, b) for a, b in head["reads"])
        spreads = {k: None if head[k] is None else Spread(*head.pop(k)) for k in ("demand", "capacity")}
        return Kept(Finding(**{**head, **spreads}, p_rows=p_rows), lasting, asked, digest, told)
    except (ValueError, KeyError, TypeError, AttributeError):
        return None      # a damaged or older file is only a missing one


def _short(rows: Rows) -> Rows:
    """Rows as they are kept: all of them, or how many and the one value that all have."""
    return np.array([-1.0, rows[0]]) if len(rows) > 2 and np.all(rows == rows[0]) else rows


def _long(values: Rows, many: int) -> tuple[Rows | None, Rows]:
    """So many rows from the front of what was kept, and what comes after them.

    Raises:
        ValueError: if there are not so many.
    """
    if many == 0:
        return None, values
    if len(values) >= 2 and values[0] == -1.0:       # a chance is never below nought
        return np.full(many, values[1]), values[2:]
    if len(values) < many:
        raise ValueError("half a file")
    return values[:many], values[many:]


def write_atomically(path: Path, data: bytes) -> None:
    """Write beside and rename, so that nothing is ever half-written."""
    import tempfile  # with all its kin 5 ms, of which a quick answer needs nothing

    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
