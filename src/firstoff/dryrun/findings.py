"""Runs checks over cases, and keeps what was found by a key of all that it depends on.

finding key = hash(sources of checks and physics, every field of the case that a check may read, rows,
seed); beside the finding stand the columns that were asked for and their digest, so that a finding is
used again only where what was believed then is believed now.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from ..belief import LASTING, Belief, Key, Rows, watched
from ..checks._blunt import felt
from ..checks._left_by import digest_of_cut
from ..checks.base import Case, Check, Finding, Past, Spread, cannot
from ..errors import NotBelieved, OutOfRange
from ..job.route import Cut, Operation
from .looking import Look, checks_named, checks_of

ROOMS: Final = ("cutting", "holding", "stack", "checks", "dryrun", "removal", "program", "job", "shop", "part")
#: all else that those use
BESIDE: Final = ("belief", "errors", "kept", "medians", "normal", "quadrature", "sources", "tomlfile", "units")
LASTING_ROWS: Final = 256     #: in which it is told how much of the doubt would last
FILE: Final = "findings.sqlite"       #: in the folder of the cache
KEPT_ON_DISK: Final = 9000    #: findings on disk; the oldest go first
KEPT_CASES: Final = 2000      #: of which the keys are kept in a run
SPARE: Final = 400            #: more than that, before it is worth while to look which go


@dataclass(frozen=True)
class Kept:
    """A finding with the columns it stands on, and its chances if only lasting things were uncertain."""

    finding: Finding
    lasting_rows: Rows | None
    asked: tuple[Key, ...]
    digest: str
    told: bool = True          # with all words and its lasting chances; else only for a sum


@cache
def sources_digest() -> str:
    """A hash of every source file whose change could change a finding."""
    root = Path(__file__).parent.parent
    hasher = hashlib.blake2b(digest_size=12)
    beside = [root / f"{name}.py" for name in BESIDE]
    for file in sorted([*(f for room in ROOMS for f in (root / room).rglob("*.py")), *beside]):
        hasher.update(file.read_bytes())
    return hasher.hexdigest()


def case_key(case: Case, belief: Belief, *, cuts: bool = True) -> str:
    """The key of a case: all that a check may read of it, but for the belief's contents.

    Args:
        case: of a walk.
        belief: its rows and seed count.
        cuts: whether that of a limit, setting or joint has the numbers of all cuts in it; not where a finding says
            itself which it reads.
    """
    hasher = hashlib.blake2b(digest_size=16)
    told = (case.job.units, case.shop.good, case.shop.close)     # words and remedies go by them
    for piece in (sources_digest(), case.subject, case.name, repr((belief.rows, belief.seed, told))):
        hasher.update(piece.encode() + b"\0")
    for piece in _contents(case, cuts):
        hasher.update(piece.encode() + b"\0")
    if case.windows is not None:
        hasher.update(case.windows.digest)
    if case.run is not None:
        hasher.update(case.run.as_text().encode())
    return hasher.hexdigest()


def _contents(case: Case, cuts: bool) -> list[str]:
    shop, job, wanted = case.shop, case.job, case.job.parts.get(case.part_name or "")
    if case.operation is not None:
        setting = case.setting
        return [
            repr(case.operation.model_copy(update={"number": 1})), said(setting), said(wanted), _state(case),
            said(case.machine), said(shop.classes[case.machine.like]), case.part.sha256,
            said(shop.tools.get(case.operation.tool or "")), said(shop.collets.get(case.operation.collet or "")),
            said(shop.devices.get(setting.holding.device)), said(wanted and shop.materials.get(wanted.material)),
            said(job.limits), *_screwed(case),
        ]
    # settings, limits and joints look at the whole way that their parts went
    own = [name for name, s in case.route.settings.items() if touches(case, s.workpiece)]
    # no check of how a setting holds or what a joint bears reads the numbers of a cut
    words = said if cuts else planned
    return [
        said(job.limits) if case.subject == "setting" else said(case.limit),
        repr(case.joint), repr(case.setting_name), said(job.parts), said(job.bought),
        *(part.sha256 for part in case.parts.values()),
        *(said(case.route.settings[name]) for name in own),
        *(f"{key} {words(op)}" for key, op in case.route.in_order() if op.setting in own),
        repr([past.blunts for past in case.before] if cuts else ()),
        *map(said, (shop.instruments, shop.machines, shop.classes, shop.tools, shop.collets, shop.devices,
                     shop.materials)),
    ]


def said(thing: object) -> str:
    """The contents of a frozen model, or of a table of them, in the order of its names; the last ones are kept."""
    return _kept_words(thing, lambda: repr(sorted(thing.items())) if isinstance(thing, dict) else repr(thing))


def planned(operation: Operation) -> str:
    """The contents of an operation but for the numbers of its cut: of those a limit says itself which it reads."""
    update = {"cut": Cut(), "stickout": None, "collet": None}
    return _kept_words(operation, lambda: repr(operation.model_copy(update=update)), "planned")


def _kept_words(thing: object, words: Callable[[], str], kind: str = "") -> str:
    known = _recent.get((id(thing), kind))
    if known is not None and known[0] is thing:
        return known[1]
    while len(_recent) >= _KEPT:
        _recent.pop(next(iter(_recent)))
    _recent[id(thing), kind] = thing, words()
    return _recent[id(thing), kind][1]


#: words cost more than what they are looked up for; each stands with its thing, so that a number is its own
_recent: dict[tuple[int, str], tuple[object, str]] = {}
_KEPT: Final = 4096


def _past(case: Case) -> str:
    """What was done before in the same setting and warmed the part, for checks that look back."""
    return hashlib.blake2b(repr(_warmed(case)).encode(), digest_size=8).hexdigest()


def _looks_back(check: Check, case: Case) -> bool:
    return check.looks_back or (check.looks_back_at is not None and check.looks_back_at(case))


def _warmed(case: Case) -> list[Past]:
    return [p for p in case.before if p.setting == case.setting_name]


def _wear(case: Case) -> str:
    """What its tool has cut before as it stands in the spindle, for checks that feel how blunt it is."""
    return hashlib.blake2b(repr([p.blunts for p in felt(case)]).encode(), digest_size=8).hexdigest()


def _screwed(case: Case) -> list[str]:
    """What is screwed to what, and the parts that it goes through: how far a hole may lie off depends on it."""
    if case.op.role not in ("spot", "drill", "tap") or not case.job.joints:
        return []
    return [said(case.job.joints), *(part.sha256 for part in case.parts.values())]


def _state(case: Case) -> str:
    """The state before; a set has no order of its own, so it is sorted."""
    return "" if case.state is None else repr((sorted(case.state.cut), case.state.left, case.state.key))


def touches(case: Case, workpiece: str) -> bool:
    """Whether a limit or joint looks at this workpiece."""
    places = list(case.limit.between) if case.limit else []
    if case.joint is not None and case.joint.kind == "screw":
        places += [case.joint.through, case.joint.into]
    names = {case.part_name, *(place.partition(".")[0] for place in places)}
    return bool(names & set(workpiece.split("+")))


class Findings:
    """Findings by key: in memory for this run, on disk between runs. `evaluate` computes what is missing.

    On disk each stands under its key and the digest of the figures that it was found with: book figures and own
    figures, gone to and fro between, do not push each other out.
    """

    def __init__(self, belief: Belief, folder: Path | None = None) -> None:
        self.belief = belief
        self.computed = 0
        self._kept: dict[str, list[Kept]] = {}
        self._cases: dict[int, tuple[Case, list[tuple[Check, str]]]] = {}     # a case stands with its keys
        self._digests: dict[tuple[Key, ...], str] = {}
        from .shelf import Shelf  # a database, which a look at one cut does without

        self._shelf = Shelf(folder / FILE if folder is not None else None)

    def of(self, case: Case, *, told: bool = True, like: Case | None = None) -> tuple[Kept, ...]:
        """What every check that applies finds in this case.

        Args:
            case: to look at.
            told: whether a person will read it; else it is only for a sum.
            like: the same case on a route that was looked at, so that what was not edited is not looked up anew.
        """
        keyed = self._keyed(case if like is None or not _untouched(case, like) else like)
        return tuple(self._one(check, case, key, told=told) for check, key in keyed)

    def keys(self, case: Case) -> tuple[str, ...]:
        """What the findings of a case stand under: the same is found under the same, as far as a finding says itself
        what it `reads`."""
        return tuple(key for _, key in self._keyed(case))

    def alike(self, case: Case, other: Case) -> bool:
        """Whether the same is found in two cases: a case of two routes, changed elsewhere."""
        if _untouched(case, other):
            return True
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
        known = self._cases.get(id(case))
        if known is None:
            while len(self._cases) >= KEPT_CASES:
                self._cases.pop(next(iter(self._cases)))
            known = self._cases[id(case)] = case, self._keyed_anew(case)
        return known[1]

    def _keyed_anew(self, case: Case) -> list[tuple[Check, str]]:
        key, past = case_key(case, self.belief, cuts=False), f"-{_past(case)}" if case.operation is not None else ""
        checks = self._that_apply(case, key + past)
        wear = f"-{_wear(case)}" if any(c.feels_wear for c in checks) else ""
        return [(c, f"{key}-{c.name.replace(' ', '-')}{past if _looks_back(c, case) else ''}"
                    f"{wear if c.feels_wear else ''}") for c in checks]

    def _that_apply(self, case: Case, key: str) -> tuple[Check, ...]:
        """The checks that apply: for some of them it costs more to tell than to read what they found."""
        if case.operation is None:
            return checks_of(case)
        kept = next(self._shelf.under(f"{key}-applies"), None)
        if kept is None:
            checks = checks_of(case)
            self._shelf.put(f"{key}-applies", "", "|".join(check.name for check in checks).encode())
            return checks
        return checks_named(kept.decode().split("|"))

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
            found = _from_bytes(raw, self.belief.rows)
            if found is not None and found.digest == self._digest_of(found.asked):
                yield found

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


def _own_operations(case: Case) -> dict[str, Operation]:
    """The operations that a limit or joint may look at."""
    settings = case.route.settings
    return {name: op for name, op in case.route.operations.items() if touches(case, settings[op.setting].workpiece)}


def _untouched(case: Case, other: Case) -> bool:
    """Whether nothing of an operation differs, nor of what came before it: quick to see where a route was edited."""
    if case.operation is None or case.operation is not other.operation or case.run or other.run:
        return False
    return (case.setting == other.setting and case.state == other.state and felt(case) == felt(other)
            and _warmed(case) == _warmed(other))


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
        head: dict[str, Any] = json.loads(raw[:end])
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
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
