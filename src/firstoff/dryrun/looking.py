"""A look at candidates: check by check, those that are quick to compute first, and no further than it is worth.

Chances only add up: a candidate that is too risky, or too dear, after some of its checks stays so. What is settled
in this way is the same as if all checks had run.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from typing import Final

import numpy as np

from ..belief import Rows
from ..checks.base import Case, Check, Finding
from .registry import all_checks, checks_about
from .totals import chance_spoiled, log_survival

#: checks that take longest, the longest last (benchmarks/test_cut.py)
DEAR: Final = ("push-off", "axis thrust", "squeezed", "wander", "size", "holding")
#: what most candidates that are too risky are too risky by: it comes first, and nothing else need be computed
TELLING: Final = "chatter"


class Look:
    """The findings of one candidate, as far as they were asked for."""

    def __init__(self, case: Case, checks: tuple[Check, ...], rows: int, find: Callable[[Check], Finding]) -> None:
        self.case, self.rows = case, rows
        self._checks, self._find = checks, find
        self._left = sorted((c.name for c in checks), key=_dearness)
        self._found: dict[str, Finding] = {}
        self._survival = np.zeros(rows)      # log chance that nothing goes wrong, of what counts by itself

    def of(self, name: str) -> Finding | None:
        """What one check finds; None where it does not apply."""
        if name in self._left:
            self._add(name)
        return self._found.get(name)

    def __iter__(self) -> Iterator[Finding]:
        """One finding after the other, computed as it is asked for."""
        yield from tuple(self._found.values())
        while self._left:
            yield self._add(self._left[0])

    def whole(self) -> list[Finding]:
        """What every check finds, in the order of the checks."""
        for _ in self:
            pass
        return [self._found[check.name] for check in self._checks]

    @property
    def p_spoil(self) -> float:
        """The chance that anything is spoiled."""
        return chance_spoiled(self.whole(), self.rows)

    def beside(self, name: str) -> Rows:
        """The chance by row that nothing goes wrong but for what one check finds."""
        return np.asarray(np.exp(log_survival([f for f in self.whole() if f.check != name], self.rows)))

    def within(self, most: float) -> bool:
        """Whether the chance that anything is spoiled is at most this."""
        while self._left:
            if self._so_far() > most:
                return False
            self._add(self._left[0])
        return self.p_spoil <= most

    def _add(self, name: str) -> Finding:
        self._left.remove(name)
        finding = self._found[name] = self._find(next(c for c in self._checks if c.name == name))
        if not finding.joint_group:
            self._survival += log_survival([finding], self.rows)
        return finding

    def _so_far(self) -> float:
        """At least so likely is it that something is spoiled."""
        return float(-np.expm1(self._survival).mean()) * (1.0 - 1e-9)


def _dearness(name: str) -> int:
    return -2 if name == TELLING else DEAR.index(name) if name in DEAR else -1


def checks_of(case: Case) -> tuple[Check, ...]:
    """The checks that apply."""
    return tuple(c for c in checks_about(case.subject, program=case.run is not None) if c.applies(case))


def checks_named(names: Collection[str]) -> tuple[Check, ...]:
    """The checks of these names."""
    return tuple(check for check in all_checks() if check.name in names)
