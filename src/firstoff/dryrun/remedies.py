"""What to do instead: a change of the route, solved on common rows, applied, and checked in full.

Candidates are compared on thinned rows. What is told was computed on all rows: every check of that
operation, and every limit and joint of its part, after the change.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from ..checks._knobs import PROGRAM_FEED
from ..checks.base import Case, Check, Finding, Knob, Remedy
from ..checks.si import minutes as minutes_of
from ..checks.si import takes
from ..errors import FirstoffError
from ..job.edits import apply_edits, as_text
from ..job.route import Operation, Route
from ..units import tell
from .choosing import SAID, Chooser, choosable, follows, most_feed, with_operation
from .cost import expected_loss, wages
from .findings import Findings
from .looking import Look
from .nominal import table_feed
from .quick import Quick
from .registry import all_checks
from .totals import chance_spoiled
from .walk import joint_as_routed

MOST: Final = 3            #: remedies told for one check
LOOKED: Final = 3          #: values of how a part is held that are checked in full, one after the other
ROOM: Final = 0.95         #: of that, on few rows: what only just halves it there may not do so on all
WORTH_IT: Final = 0.5      #: a remedy that does not cure its check must at least halve the chance of spoiling
RISK: Final = 3.0          #: how much dearer than wages people hold what may go wrong; judged
NO_LOSS: Final = 1.0       #: one that does must not make the operation worse

Edits = tuple[tuple[str, str], ...]
#: other cases that a change may make worse, each with the operations whose cuts it stands on; none: look at it anyway
Others = tuple[tuple[Case, frozenset[str]], ...]


@dataclass(frozen=True)
class Trial:
    """A change that may help."""

    case: Case
    edits: Edits
    text: str
    check: str
    p_check: float          # chance that its check still fails
    look: Look

    @property
    def p_spoil(self) -> float:
        """The chance that anything in the operation is spoiled."""
        return self.look.p_spoil


def remedies_for(
    check: Check, case: Case, before: list[Finding], findings: Findings, thin: Quick, others: Others,
) -> tuple[Remedy, ...]:
    """Changes that would make a check good (or at least halve the chance), the best first.

    Args:
        check: the failing check.
        case: where it fails.
        before: all findings of that operation, limit or joint.
        findings: the store that full checks go through.
        thin: few rows, for looking at candidates.
        others: limits of the same part, and what else is done in the same setting: they must not become worse.
    """
    p_before = chance_spoiled(before, findings.belief.rows)
    risk = RISK * expected_loss([(f, case) for f in before])
    changes = [t for knob in knobs_of(check, case) if (t := _least_changes(check, case, knob, thin, p_before))]
    if case.operation is not None and choosable(case) and not any(t[0].p_spoil <= case.shop.close for t in changes):
        changes += [[t] for t in _all_numbers(check, case, thin, p_before)]
    # a change that costs more than all that it could save is not looked at in full
    found = [r for some in changes if (r := next((r for t in some if _money(t, case) <= risk and (
        r := _in_full(t, case, findings, p_before, others, thin))), None))]
    worth = [r for r in found if r.money <= risk * (1.0 - r.p_after / max(p_before, r.p_after))]
    worth.sort(key=lambda r: r.money + risk * r.p_after / p_before)
    return tuple(worth[:MOST])


def knobs_of(check: Check, case: Case) -> tuple[Knob, ...]:
    """What can be turned: of an operation with a program its feed override alone, where a feed helps at all."""
    if case.run is None:
        return check.knobs
    from .stretches import feeds  # programs are loaded where there are any

    return (PROGRAM_FEED,) if feeds(check) else ()


def _least_changes(check: Check, case: Case, knob: Knob, thin: Quick, p_before: float) -> list[Trial]:
    """The mildest value that makes the check good and the operation at most close; else the best there is.

    Of how a part is held some more are kept, the best first: what just cures on few rows may not on all.
    """
    goal, good, better = case.shop.good, [], []
    most_looked = LOOKED if knob.path.startswith("holding.") else 1
    for trial in trials(check, case, knob, thin):
        cured = trial.p_check <= goal
        if cured and trial.look.within(max(case.shop.close, WORTH_IT * p_before)):
            good.append(trial)
        elif trial.look.within(_most_after(p_before, cured=cured) * (1.0 if cured else ROOM)):
            better.append(trial)
        if len(good) == most_looked:
            break
    return (good or sorted(better, key=lambda t: t.p_spoil))[:most_looked]


def _most_after(p_before: float, *, cured: bool) -> float:
    """Above this chance of spoiling anything a change is no gain."""
    return (NO_LOSS if cured else WORTH_IT) * p_before


def trials(check: Check, case: Case, knob: Knob, thin: Quick) -> Iterator[Trial]:
    """Each value of a knob, the mildest first."""
    root = f"joints.{case.name}" if case.subject == "joint" else f"operations.{case.name}"
    if knob.path.startswith("holding."):
        root = f"settings.{case.setting_name}"
    for value in knob.values(case):
        also = knob.also(case, value) if knob.also else ()
        pairs = ((knob.path, as_text(knob.path, value)), *also)
        edits = tuple((f"{root}.{path}", text) for path, text in pairs)
        try:
            changed = changed_case(case, apply_edits(case.route, edits))
        except FirstoffError:
            continue     # this candidate cannot stand in a route at all
        if case.operation is not None and (_too_fast(case, changed) or _leaves_ridges(case, changed)):
            continue
        gone = not check.applies(changed)
        if gone and not also and not knob.ends:
            continue
        look = thin.look(changed)
        own = None if gone else look.of(check.name)
        p_check = 0.0 if gone else None if own is None else own.p_fail
        if p_check is not None:
            yield Trial(changed, edits, knob.say(case, value), check.name, p_check, look)


def _too_fast(case: Case, changed: Case) -> bool:
    """Whether the table would not follow, and less so than it does now."""
    if case.op.tool is None or changed.op.tool is None:
        return False
    return not follows(changed, max(most_feed(changed), table_feed(case)))


def _leaves_ridges(case: Case, changed: Case) -> bool:
    """Whether a ball or a taper would leave ridges as high as its pass, where it does not now."""
    if case.op.tool is None or changed.op.tool is None:
        return False
    now, then = case.op.cut, changed.op.cut
    return (takes(case.tool, now.depth_of_cut or 0.0, now.width_of_cut or 0.0)
            and not takes(changed.tool, then.depth_of_cut or 0.0, then.width_of_cut or 0.0))


def changed_case(case: Case, route: Route) -> Case:
    """The same operation or joint on another route; what stood before it does not change."""
    if case.operation is not None:     # its passes too go by how the part lies there
        return replace(with_operation(replace(case, route=route), route.operations[case.name]), route=route)
    if case.joint is not None:
        return replace(case, route=route, joint=joint_as_routed(case.name, case.job.joints[case.name], route))
    return replace(case, route=route)


def _all_numbers(check: Check, case: Case, thin: Quick, p_before: float) -> list[Trial]:
    """All numbers of the cut chosen anew together, where no single one helps enough."""
    best = Chooser(case, thin).best(case.shop.good)
    edits, text = cut_changes(case, best.case.op)
    if not edits or best.p_spoil > WORTH_IT * p_before:
        return []
    told = changed_case(case, apply_edits(case.route, edits))     # as it will stand in the route, rounded to be set
    return [Trial(told, edits, text, check.name, 0.0, best.look)]


def cut_changes(case: Case, operation: Operation) -> tuple[Edits, str]:
    """The edits that turn the cut of a case into another, and how they are said."""
    edits, said = [], []
    for name, quantity, word in SAID:
        now, then = getattr(case.op.cut, name), getattr(operation.cut, name)
        if then is not None and then != now:
            edits.append((f"operations.{case.name}.cut.{name}", as_text(name, then)))
            said.append(f"{tell(then, quantity, case.job.units)} {word}".strip())
    if operation.cut.direction != case.op.cut.direction:
        edits.append((f"operations.{case.name}.cut.direction", str(operation.cut.direction)))
        said.append(f"{operation.cut.direction} milling")
    return tuple(edits), ", ".join(said)


def _in_full(
    trial: Trial, case: Case, findings: Findings, p_before: float, others: Others, thin: Quick
) -> Remedy | None:
    """The change checked on all rows, limits too; None if it is no gain."""
    look = findings.look(trial.case)
    own = look.of(trial.check)
    cured = own is None or (own.p_fail or 0.0) <= case.shop.good
    if not look.within(_most_after(p_before, cured=cured)) or _others_worse(trial, others, thin):
        return None
    now, p_after = look.whole(), look.p_spoil
    worst = max(now, key=lambda f: f.p_fail or 0.0, default=None)
    titles = {c.name: c.title for c in all_checks()}
    return Remedy(
        text=trial.text, edits=trial.edits, p_after=p_after, minutes=_minutes(trial.case) - _minutes(case),
        money=_money(trial, case),
        breaks=titles[worst.check] if worst and (worst.p_fail or 0.0) > case.shop.good else "",
    )


def _money(trial: Trial, case: Case) -> float:
    """What a change costs: minutes, and a new tool."""
    minutes = _minutes(trial.case) - _minutes(case)
    return wages(minutes, case.shop) + _new_tool(trial.case) - _new_tool(case)


def _new_tool(case: Case) -> float:
    """Money for a new tool that goes in before the operation."""
    return case.tool.price if case.operation is not None and case.op.fresh and case.op.tool else 0.0


def _others_worse(trial: Trial, others: Others, thin: Quick) -> bool:
    """Whether a limit of the part, or what else is done in a changed setting, became clearly likelier to fail."""
    worse, setting = 0.0, any(path.startswith("settings.") for path, _ in trial.edits)
    own = all(path.startswith(f"operations.{trial.case.name}.") for path, _ in trial.edits)
    for other, stands_on in others:
        if not setting and (other.limit is None or (own and stands_on and trial.case.name not in stands_on)):
            continue
        was = sum(f.p_fail or 0.0 for f in thin.of(other))
        now = sum(f.p_fail or 0.0 for f in thin.of(changed_case(other, trial.case.route)))
        worse += max(0.0, now - was)
        if worse > trial.case.shop.good:
            return True
    return False


def _minutes(case: Case) -> float:
    """Running, and waiting for the part to cool."""
    if case.operation is None:
        return 0.0
    return (case.windows.minutes if case.windows is not None else 0.0) + minutes_of(case.op.cooling)
