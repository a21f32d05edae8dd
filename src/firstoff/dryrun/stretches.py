"""The feed of a program by stretch: how fast each may be, and a copy of the file in which only F and S words
differ.

A stretch is what one F word feeds. It is looked at alone, on common thinned rows, by every check that a feed can
change; stretches of the same F word that are good together are not looked at one by one.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Belief
from ..checks._knobs import FEED_DOWN
from ..checks.base import Case, Check
from ..errors import FileError
from .findings import found_by
from .programs import fed
from .registry import all_checks

FEEDS: Final = (0.85, 0.7, 0.55, 0.4, 0.3, 0.2)      #: of the programmed feed, the mildest change first
ONE_BY_ONE: Final = 40                               #: stretches of one F word that are looked at alone
WORTH_IT: Final = 0.5                                #: a change that does not cure must at least halve the chance
FEED: Final = "cut.feed_per_tooth"
_WORDS: Final = {letter: re.compile(rf"(?P<letter>[{letter}{letter.lower()}])[ \t]*(?P<number>\d+\.?\d*|\.\d+)")
                 for letter in "FS"}
_REMARK: Final = re.compile(r"\([^)\n]*\)?|;.*")


@dataclass(frozen=True)
class Stretch:
    """What one F word feeds, or one S word turns.

    Fields:
        line: on which it stands.
        last: line before the next one.
        feed: as written; the speed of an S word.
        better: share of it that would be good [1]; 1 where it is good as it is.
        good: whether that share is at most close, not only the best there is.
        letter: F or S.
    """

    line: int
    last: int
    feed: float
    better: float
    good: bool
    letter: str = "F"

    @property
    def written(self) -> str:
        """The feed or speed that would be good, in three figures."""
        return f"{float(f'{self.feed * self.better:.3g}'):g}"


def words_of(lines: Sequence[str], letter: str = "F") -> list[tuple[int, float]]:
    """Every line with such a word outside its remarks, and the number of the last one on it."""
    found = []
    for number, line in enumerate(lines, 1):
        words = [match for match in _WORDS[letter].finditer(line) if not _in_remark(line, match.start())]
        if words:
            found.append((number, float(words[-1]["number"])))
    return found


def _in_remark(line: str, at: int) -> bool:
    return any(remark.start() <= at < remark.end() for remark in _REMARK.finditer(line))


def stretches(case: Case, file: Path, thin: Belief) -> tuple[Stretch, ...]:
    """How fast each stretch of a program may be fed.

    Args:
        case: an operation whose program was run.
        file: of the program.
        thin: few rows of what is believed.

    Returns:
        Stretches that cut, in the order of the file.
    """
    words = words_of(raw(file).split("\n"))
    owner, cuts = owners(case, words)
    starts = [line for line, _ in words]
    found: dict[int, tuple[float, bool]] = {}
    for feed in dict.fromkeys(feed for _, feed in words):
        own = [k for k, (_, each) in enumerate(words) if each == feed and bool((cuts & (owner == k)).any())]
        found |= _of_one_feed(case, own, owner, thin)
    ends = [*(line - 1 for line in starts[1:]), 1 << 40]
    return tuple(Stretch(words[k][0], ends[k], words[k][1], *found[k]) for k in sorted(found))


def owners(
    case: Case, words: Sequence[tuple[int, float]],
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Which word each window of a program stands under, -1 for none, and which of them cut: shapes (W,)."""
    windows = case.windows
    assert windows is not None
    starts = [line for line, _ in words]
    owner = np.array([bisect_right(starts, line) - 1 for line in windows.line.tolist()], dtype=np.int64)
    cuts = (windows.depth > 0.0) & (windows.feed_per_tooth > 0.0) & (windows.exit > windows.entry)
    return owner, np.asarray(cuts)


def _of_one_feed(
    case: Case, own: list[int], owner: NDArray[np.int64], thin: Belief,
) -> dict[int, tuple[float, bool]]:
    """The better feed of all stretches that are fed alike."""
    if not own:
        return {}
    together = _better(only(case, np.isin(owner, own)), thin)
    if together == (1.0, True) or len(own) > ONE_BY_ONE:
        return dict.fromkeys(own, together)
    return {k: _better(only(case, owner == k), thin) for k in own}


def only(case: Case, which: NDArray[np.bool_]) -> Case:
    """The case with some of its windows."""
    assert case.windows is not None
    return replace(case, windows=case.windows.take(which))


def _better(case: Case, thin: Belief) -> tuple[float, bool]:
    """The greatest share of a feed that makes good whatever a feed can make good; else the one of least risk."""
    return best_of(case, (1.0, *FEEDS), lambda share: _risks(case, share, thin))


def best_of(case: Case, shares: Sequence[float], risked: Callable[[float], dict[str, float]]) -> tuple[float, bool]:
    """The first share that makes good whatever a change can make good; else the one of least risk.

    Args:
        case: whose limits count.
        shares: the mildest first, 1 for no change before all.
        risked: the chance of failing at a share, by check.
    """
    risks: dict[float, dict[str, float]] = {}
    for share in shares:
        risks[share] = risked(share)
        if all(risk <= case.shop.close for risk in risks[share].values()):
            return share, True
    names = {name for found in risks.values() for name in found}
    curable = {name for name in names if min(found.get(name, 0.0) for found in risks.values()) <= case.shop.close}
    left = {share: sum(found.get(name, 0.0) for name in curable) for share, found in risks.items()}
    done = [share for share, found in risks.items() if all(found.get(n, 0.0) <= case.shop.close for n in curable)]
    best = done[0] if done else min(left, key=lambda share: (round(left[share], 3), abs(1.0 - share)))
    return (best if left[best] < WORTH_IT * left[1.0] else 1.0), False


def feeds(check: Check) -> bool:
    """Whether a check can be helped by another feed."""
    return any(knob.path == FEED for knob in check.knobs)


def too_hard(check: Check) -> bool:
    """Whether a check fails by cutting too hard, not too timidly."""
    return FEED_DOWN in check.knobs


def hardest_line(case: Case) -> int:
    """The line of a program where most comes off in a second; 0 where nothing does."""
    windows = case.windows
    if case.run is None or windows is None or not len(windows):
        return 0
    cuts = (windows.depth > 0.0) & (windows.feed_per_tooth > 0.0) & (windows.seconds > 0.0)
    rate = np.divide(windows.volume, windows.seconds, out=np.zeros(len(windows)), where=cuts)
    return int(windows.line[int(rate.argmax())]) if rate.any() else 0


def _risks(case: Case, share: float, thin: Belief) -> dict[str, float]:
    """The chance of failing by each check that a feed can change."""
    assert case.windows is not None
    per_tooth = (case.op.cut.feed_per_tooth or 0.0) * share
    cut = case.op.cut.model_copy(update={"feed_per_tooth": per_tooth})
    changed = replace(case, windows=fed(case.windows, share), operation=case.op.model_copy(update={"cut": cut}))
    return risks_of(changed, thin, feeds)


def risks_of(case: Case, thin: Belief, helps: Callable[[Check], bool]) -> dict[str, float]:
    """The chance of failing by each check that can be helped."""
    findings = [found_by(check, case, thin) for check in all_checks()
                if check.subject == "operation" and helps(check) and check.applies(case)]
    return {finding.check: finding.p_fail for finding in findings if finding.p_fail is not None}


def mended(text: str, changes: Sequence[Stretch]) -> Iterator[str]:
    """The lines of a program with other F and S words, each with a remark of what it was; nothing else is touched.

    Args:
        text: of the file.
        changes: stretches; those that are good as they are stay.
    """
    wanted: dict[int, list[Stretch]] = {}
    for stretch in changes:
        if stretch.better != 1.0:
            wanted.setdefault(stretch.line, []).append(stretch)
    for number, line in enumerate(text.split("\n"), 1):
        changed = line
        for stretch in wanted.get(number, ()):
            changed = _changed(changed, stretch)
        yield changed


def _changed(line: str, stretch: Stretch) -> str:
    found = _WORDS[stretch.letter].finditer(line)
    last = [match for match in found if not _in_remark(line, match.start())][-1]
    return f"{line[:last.start()]}{last['letter']}{stretch.written} (was {last[0]}){line[last.end():]}"


def write_mended(file: Path, out: Path, changes: Sequence[Stretch]) -> None:
    """Write the changed copy; never over the program itself.

    Raises:
        FileError: if the copy would replace a file, or cannot be written.
    """
    if out.exists():
        raise FileError(f"{out} is there already", right="a new name: a program is never changed in place")
    try:
        out.write_text("\n".join(mended(raw(file), changes)), encoding="latin-1", newline="")
    except OSError as error:
        raise FileError(f"{out} cannot be written: {error.strerror}") from None


def raw(file: Path) -> str:
    """The text of a program, byte by byte."""
    return file.read_bytes().decode("latin-1")
