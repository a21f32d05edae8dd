"""Quick looks at candidates, on few rows: to compare them, never for a verdict."""

from __future__ import annotations

from ..belief import Belief
from ..checks.base import Case, Finding
from ..job.route import Setting
from ..kept import kept
from .findings import found_by
from .looking import Look, checks_of


class Quick:
    """A quick look at candidates of one job on few rows; what was looked at once is remembered.

    Candidates differ by their route alone: what stood before each operation stays.
    """

    def __init__(self, belief: Belief) -> None:
        self.belief = belief
        self._looks: dict[object, Look] = {}

    def look(self, case: Case) -> Look:
        """The candidate, its checks not yet run."""
        key = (case.subject, case.name, *self._key(case))
        if key not in self._looks:
            self._looks[key] = look_now(case, self.belief)
        return self._looks[key]

    def of(self, case: Case) -> list[Finding]:
        """What every check that applies finds in this candidate."""
        return self.look(case).whole()

    @staticmethod
    def _key(case: Case) -> tuple[object, ...]:
        if case.operation is None:     # limits and joints look at the whole way that their parts went
            route = case.route
            return repr(case.joint), repr(route.joints), repr(route.settings), tuple(route.operations.items())
        return case.operation, _said(case.setting), case.windows and case.windows.digest


@kept(16)
def _said(setting: Setting) -> str:
    """A setting in words that differ where it does: they are long."""
    return repr(setting)


def look_now(case: Case, belief: Belief) -> Look:
    """A candidate whose checks are computed here and now and not kept."""
    return Look(case, checks_of(case), belief.rows, lambda check: found_by(check, case, belief))


def found_now(case: Case, belief: Belief) -> list[Finding]:
    """What every check that applies finds, computed here and now and not kept."""
    return look_now(case, belief).whole()
