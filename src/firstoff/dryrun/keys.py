"""Keys of cases: a hash of all that a check may read of one, so that the same is found under the same key."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection
from functools import cache
from pathlib import Path
from typing import Final

from pydantic import BaseModel

from ..belief import Belief
from ..checks._blunt import felt
from ..checks.base import Case, Check, Past
from ..job.route import Cut, Operation
from ..kept import kept

ROOMS: Final = ("cutting", "holding", "stack", "checks", "dryrun", "removal", "program", "job", "shop", "part")
#: all else that those use
BESIDE: Final = ("belief", "errors", "kept", "medians", "normal", "quadrature", "sources", "tomlfile", "units")
KEPT_WAYS: Final = 64         #: of parts through their settings, of which a digest is kept


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
            unnumbered(case.operation), said(setting), said(wanted), _state(case),
            said(case.machine), said(shop.classes[case.machine.like]), case.part.sha256,
            said(shop.tools.get(case.operation.tool or "")), said(shop.collets.get(case.operation.collet or "")),
            said(shop.devices.get(setting.holding.device)), said(wanted and shop.materials.get(wanted.material)),
            said(job.limits), *_screwed(case),
        ]
    # settings, limits and joints look at the whole way that their parts went
    own = "|".join(name for name, s in case.route.settings.items() if touches(case, s.workpiece))
    return [
        said(job.limits) if case.subject == "setting" else said(case.limit),
        repr(case.joint), repr(case.setting_name), _way_of(case, own, cuts),
    ]


def _way_of(case: Case, own: str, cuts: bool) -> str:
    """A digest of the settings of these names, what is done in them, and with what; the last ones are kept."""
    stands_on = (case.route, case.job, case.shop, case.parts, case.before if cuts else None)
    key = (own, *map(id, stands_on))
    if key not in _ways:
        while len(_ways) >= KEPT_WAYS:
            _ways.pop(next(iter(_ways)))
        hasher = hashlib.blake2b(digest_size=16)
        for piece in _words_of_way(case, own.split("|"), cuts):
            hasher.update(piece.encode() + b"\0")
        _ways[key] = stands_on, hasher.hexdigest()
    return _ways[key][1]


_ways: dict[tuple[object, ...], tuple[tuple[object, ...], str]] = {}


def _words_of_way(case: Case, own: Collection[str], cuts: bool) -> list[str]:
    shop, job = case.shop, case.job
    # no check of how a setting holds or what a joint bears reads the numbers of a cut
    words = said if cuts else planned
    return [
        said(job.parts), said(job.bought), *(part.sha256 for part in case.parts.values()),
        *(said(case.route.settings[name]) for name in own if name),
        *(f"{key} {words(op)}" for key, op in case.route.in_order() if op.setting in own),
        repr([past.blunts for past in case.before] if cuts else ()),
        *map(said, (shop.instruments, shop.machines, shop.classes, shop.tools, shop.collets, shop.devices,
                     shop.materials)),
    ]


def said(thing: object) -> str:
    """The contents of a frozen model, or of a table of them, in the order of its names; the last ones are kept."""
    return _kept_words(thing, lambda: _words(thing))


def _words(thing: object) -> str:
    if isinstance(thing, dict):
        return repr([(name, _words(item)) for name, item in sorted(thing.items())])
    # several times as quick as its repr, and as whole: no figure that is written is infinite
    return thing.model_dump_json() if isinstance(thing, BaseModel) else repr(thing)


def unnumbered(operation: Operation) -> str:
    """The contents of an operation wherever it stands in the route."""
    return _kept_words(operation, lambda: _words(operation.model_copy(update={"number": 1})), "unnumbered")


def planned(operation: Operation) -> str:
    """The contents of an operation but for the numbers of its cut: of those a limit says itself which it reads."""
    update = {"cut": Cut(), "stickout": None, "collet": None}
    return _kept_words(operation, lambda: _words(operation.model_copy(update=update)), "planned")


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


@kept(1024, by=lambda case: tuple(warmed(case)))
def past_digest(case: Case) -> str:
    """What was done before in the same setting and warmed the part, for checks that look back."""
    return hashlib.blake2b(repr(warmed(case)).encode(), digest_size=8).hexdigest()


def past_key(case: Case) -> str:
    """The same as the end of a key; of what is no operation nothing."""
    return f"-{past_digest(case)}" if case.operation is not None else ""


def looks_back(check: Check, case: Case) -> bool:
    """Whether a check looks here at what was done before in the setting."""
    return check.looks_back or (check.looks_back_at is not None and check.looks_back_at(case))


def warmed(case: Case) -> list[Past]:
    """What was done before in the same setting."""
    return [p for p in case.before if p.setting == case.setting_name]


@kept(1024, by=lambda case: (felt(case),))
def wear_digest(case: Case) -> str:
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
    return not _looked_at(case).isdisjoint(workpiece.split("+"))


@kept(1024)
def _looked_at(case: Case) -> frozenset[str]:
    """The parts that a limit or joint looks at."""
    places = list(case.limit.between) if case.limit else []
    if case.joint is not None and case.joint.kind == "screw":
        places += [case.joint.through, case.joint.into]
    return frozenset({case.part_name or "", *(place.partition(".")[0] for place in places)})
