"""What the commands say, in words and lines for a terminal. No arithmetic here."""

from __future__ import annotations

import sys
import textwrap
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any

from .dryrun.result import Checked, Result, check_json, odds

if TYPE_CHECKING:
    from .actions import Planned
    from .records.learn import Learned
    from .route.hard import Hard

WIDTH = 100
_width = ContextVar("width", default=WIDTH)
TOGETHER = 3      #: this many of a kind are told together
CHANGES = 8       #: so many are told without --all


@contextmanager
def on_a_page() -> Iterator[None]:
    """What is told within is broken into lines by the page that shows it."""
    token = _width.set(sys.maxsize)
    try:
        yield
    finally:
        _width.reset(token)


def wrapped(text: str, indent: int = 0, hang: int = 2) -> Iterator[str]:
    """A sentence in lines of the terminal's width, or in one where a page breaks it."""
    yield from textwrap.wrap(text, _width.get(), initial_indent=" " * indent, subsequent_indent=" " * (indent + hang),
                             break_long_words=False) or [""]


def several(count: int, thing: str) -> str:
    """So many of a thing."""
    return f"{count} {thing}{'' if count == 1 else 's'}"


def result_lines(result: Result, everything: bool = False) -> Iterator[str]:
    """The answer of `check`: first to go, what to do instead, then the rest."""
    yield from headline(result)
    yield ""
    yield from _rules(result)
    for word in ("no good", "can't say"):
        yield from _by_verdict(result, word)
    yield from _by_verdict(result, "close") if everything else _close(result)
    yield from _changes(result, everything)
    good = sum(c.verdict == "good" for c in result.checks)
    yield f"Good: {good} other checks."
    yield from _not_counted(result, everything)


def headline(result: Result) -> Iterator[str]:
    """The first screen's top: the job, what is most likely to spoil it, the sums."""
    settings = {op.setting for op in result.route.operations.values()}
    hours = result.seconds / 3600.0
    yield (f"{result.job.name}: {several(len(result.parts), 'part')}, {several(len(settings), 'setting')}, "
           f"{several(len(result.route.operations), 'operation')}, about {hours:.1f} hours at the machine.")
    if result.route.no_way:
        yield from wrapped(f"NO WAY FOUND for {len(result.route.no_way)} features: what follows does not count them "
                           f"(--all says why). The part cannot be finished by this route.")
    for remark in result.remarks:
        yield from wrapped(sentence(remark))
    yield ""
    first = result.first_to_go
    if first is None:
        yield ("Nothing that is counted is likely to go." if result.route.operations
               else "There is no operation to check: this says nothing of the job.")
    else:
        yield from wrapped(f"FIRST TO GO: {place(first)}: {first.title}, {odds(first.finding.p_fail)}: "
                           f"{first.finding.at_risk} at risk.")
        yield from wrapped(sentence(first.finding.because), 4, 0)
        yield from _instead(first, result)
    yield ""
    yield from wrapped(f"Chance that anything is spoiled: {_at_least(result)}{odds(result.p_spoil)}. "
                       f"That a part is lost: {_at_least(result)}{odds(result.p_part_lost)} "
                       f"(you allow {odds(result.job.budget).removeprefix('about ')}).")
    yield from _mended(result)
    yield f"By {result.figures_note or 'book figures only'}."


def _mended(result: Result) -> Iterator[str]:
    mended = result.mended
    if mended is None:
        return
    many = "the change" if mended.changes == 1 else f"the {mended.changes} changes"
    titles = {c.finding.check: c.title for c in result.checks}
    then = ""
    if mended.first_to_go is not None:
        first = mended.first_to_go
        then = f"; then first to go: {first.name}, {titles.get(first.check, first.check)}, {odds(first.p_fail)}"
    yield from wrapped(f"With {many} that it knows: spoiled {odds(mended.p_spoil)}, a part lost "
                       f"{odds(mended.p_part_lost)}{then}.", 0)
    if mended.settle_by:
        yield from wrapped(f"What would bring it in: {mended.settle_by}.", 0)


def _at_least(result: Result) -> str:
    return "at least " if result.not_counted and result.p_spoil < 0.95 else ""


def place(checked: Checked) -> str:
    """Where something goes wrong: the operation's number and name."""
    number = f"{checked.number} " if checked.number is not None else ""
    return f"{number}{checked.operation}"


def sentence(text: str) -> str:
    """A text as a sentence; one that begins with the name of a file keeps it as it is."""
    first = text.partition(" ")[0].rstrip(":,")
    begin = text[:1] if "." in first else text[:1].upper()
    return begin + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def _instead(checked: Checked, result: Result) -> Iterator[str]:
    for remedy in checked.instead:
        minutes = f", {remedy.minutes:+.0f} min" if abs(remedy.minutes) >= 0.5 else ""
        this = "size" if checked.finding.subject == "limit" else "operation"
        yield from wrapped(f"instead: {remedy.text}: then {odds(remedy.p_after)} for this {this}"
                           f"{_as_it_is(checked, result)}{minutes}", 4, 9)
    if not checked.instead and checked.verdict in ("no good", "can't say") and checked.finding.settle_by:
        yield from wrapped(f"to settle it: {checked.finding.settle_by}", 4, 9)


def _as_it_is(checked: Checked, result: Result) -> str:
    """The chance that anything in the whole operation is spoiled as it is, where that is not what was just said."""
    now = result.operations.get(checked.finding.name) if checked.finding.subject == "operation" else None
    said = odds(checked.finding.p_fail)
    return "" if now is None or odds(now.p_spoil) == said else f", which is {odds(now.p_spoil)} as it is"


def _changes(result: Result, everything: bool) -> Iterator[str]:
    """The first change of each operation, joint or size, the worst first: to write into the route, or to tick."""
    known = [c for c in result.checks if c.instead]
    known.sort(key=lambda c: -(c.finding.p_fail or 0.0))
    first: dict[str, Checked] = {}
    for checked in known:
        first.setdefault(f"{place(checked)}: {checked.instead[0].text}", checked)
    if not first:
        return
    shown = list(first) if everything else list(first)[:CHANGES]
    yield f"CHANGES THAT IT KNOWS ({len(first)}; write them into route.toml, or tick them: firstoff bench)"
    for text in shown:
        yield from wrapped(text, 2)
    if len(shown) < len(first):
        yield f"  and {len(first) - len(shown)} more (--all tells each)"
    yield ""


def _by_verdict(result: Result, word: str) -> Iterator[str]:
    found = [c for c in result.checks if c.verdict == word and c.finding.p_rows is not None]
    found.sort(key=lambda c: -(c.finding.p_fail or 0.0))
    if not found:
        return
    yield f"{word.upper()} ({len(found)})"
    for alike in _alike(found):
        if len(alike) < TOGETHER:
            for checked in alike:
                yield from _alone(checked, result)
        else:
            yield from _together(alike, result)
    yield ""


def _close(result: Result) -> Iterator[str]:
    """What is close, in a line a kind."""
    found = [c for c in result.checks if c.verdict == "close" and c.finding.p_rows is not None]
    if not found:
        return
    found.sort(key=lambda c: -(c.finding.p_fail or 0.0))
    yield f"CLOSE ({len(found)}; --all tells each)"
    for alike in _alike(found):
        worst = alike[0]
        what = "limits" if alike[0].finding.subject == "limit" else "operations"
        many = f"{len(alike)} {what}, at worst " if len(alike) > 1 else ""
        yield from wrapped(f"{worst.title}: {many}{place(worst)}, {odds(worst.finding.p_fail)}", 2)
    yield ""


def _alike(found: list[Checked]) -> list[list[Checked]]:
    """Checks that go wrong in the same way, the worst way first."""
    ways: dict[str, list[Checked]] = {}
    for checked in found:
        ways.setdefault(checked.finding.check, []).append(checked)
    return list(ways.values())


def _alone(checked: Checked, result: Result) -> Iterator[str]:
    yield from wrapped(f"{place(checked)}: {checked.title}, {odds(checked.finding.p_fail)}. "
                       f"{sentence(checked.finding.because)}", 2)
    yield from _instead(checked, result)


def _together(alike: list[Checked], result: Result) -> Iterator[str]:
    """One thing that many operations share: the worst in words, the others by number."""
    worst, *others = alike
    many = "limits" if worst.finding.subject == "limit" else "operations"
    yield from wrapped(f"{worst.title} in {len(alike)} {many}; worst in {place(worst)}, "
                       f"{odds(worst.finding.p_fail)}. {sentence(worst.finding.because)}", 2)
    yield from _instead(worst, result)
    yield from wrapped("and in " + ", ".join(f"{place(c)} ({_short(c)})" for c in others), 4, 0)
    settle = dict.fromkeys(c.finding.settle_by for c in alike if c.finding.settle_by and not c.instead)
    if settle and (worst.instead or not worst.finding.settle_by):
        yield from wrapped(f"to settle it: {next(iter(settle))}", 4, 9)


def _short(checked: Checked) -> str:
    """Odds in few letters, and whether a change is known."""
    return odds(checked.finding.p_fail).removeprefix("about ") + (": can be mended" if checked.instead else "")


def _rules(result: Result) -> Iterator[str]:
    broken = [r for r in result.rules if r.verdict == "don't start"]
    if not broken:
        return
    yield f"DON'T START ({len(broken)})"
    for rule in broken:
        yield from wrapped(f"{rule.operation}: {sentence(rule.because)}", 2)
    yield ""


def _not_counted(result: Result, everything: bool) -> Iterator[str]:
    if not result.not_counted:
        return
    unbuilt = sum(text.startswith("not built yet") for text in result.not_counted)
    yield f"Not counted: {len(result.not_counted)} things, {unbuilt} of them not built yet" + (
        ":" if everything else " (--all lists them).")
    if everything:
        for text in result.not_counted:
            yield from wrapped(text, 2)


def result_json(result: Result) -> dict[str, Any]:
    """The object that `check --json` prints."""
    return {
        "job": result.job.name,
        "first_to_go": None if result.first_to_go is None else check_json(result.first_to_go),
        "p_spoil": result.p_spoil, "p_part_lost": result.p_part_lost,
        "not_counted": list(result.not_counted),
        "checks": [check_json(c) for c in result.checks],
        "rules": [
            {"rule": r.rule, "operation": r.operation, "setting": r.setting, "verdict": r.verdict,
             "because": r.because}
            for r in result.rules
        ],
        "settings": [
            {"setting": name, "workpiece": s.workpiece, "up": list(s.up), "machine": s.machine,
             "device": s.holding.device,
             "operations": [key for key, _ in result.route.of_setting(name)]}
            for name, s in result.route.settings.items()
        ],
        "mended": None if result.mended is None else {
            "changes": result.mended.changes, "p_spoil": result.mended.p_spoil,
            "p_part_lost": result.mended.p_part_lost, "settle_by": result.mended.settle_by,
        },
        "time_s": result.seconds, "money": result.money, "samples": result.rows, "seed": result.seed,
        "figures": result.figures,
    }


def hard_lines(shop: str, found: Sequence[Hard]) -> Iterator[str]:
    """What `part` says of what is hard to make, and apart from it what is not understood; alike ones together."""
    unclear = [h for h in found if h.feature.startswith("not_understood")]
    yield ""
    yield f"hard to make in this shop ({shop})"
    alike: dict[tuple[str, str], list[str]] = {}
    for h in found:
        if h not in unclear:
            alike.setdefault((h.why, h.instead), []).append(h.feature)
    for (why, instead), features in alike.items():
        yield from wrapped(f"{', '.join(features)}: {why}", 2)
        yield from wrapped(f"instead: {instead}", 4, 9)
    if not alike:
        yield "  nothing that is looked at: corners, depths, cutters, walls and floors, undercuts, slopes under holes"
    if unclear:
        yield ""
        yield f"not understood ({len(unclear)})"
    for h in unclear:
        yield from wrapped(f"{h.feature}: {h.why}: {h.instead}", 2)


def hard_json(found: Sequence[Hard]) -> list[dict[str, str]]:
    """What is hard to make, as `part --json` prints it."""
    return [{"feature": h.feature, "why": h.why, "instead": h.instead} for h in found]


def planned_lines(planned: Planned) -> Iterator[str]:
    """What `plan` says: settings and operations, in short."""
    route = planned.route
    counts = Counter(op.setting for op in route.operations.values())
    for name, setting in route.settings.items():
        yield from wrapped(f"{name}: {setting.workpiece} on {setting.machine}, {setting.holding.device}, "
                           f"resting on {setting.holding.rest}"
                           f"{', gripped on ' + ' and '.join(setting.holding.grip) if setting.holding.grip else ''}"
                           f": {counts[name]} operation{'' if counts[name] == 1 else 's'}", 2)
    for missing in route.no_way:
        yield from wrapped(f"no way found for {missing.part} {missing.feature}: {missing.because}", 2)
    for text in planned.kept:
        yield from wrapped(f"kept as you wrote it: {text}", 2)
    for text in planned.unproved:
        yield from wrapped(text, 2)


def learned_lines(learned: Learned) -> Iterator[str]:
    """What `learn` says: a sentence for each thing that changed."""
    for text in learned.sentences:
        yield from wrapped(text, 2)


def changed_verdicts(before: Result, after: Result) -> list[str]:
    """Which verdicts changed between two checks of the same job."""
    was = {(c.operation, c.finding.check): c for c in before.checks}
    out = []
    for now in after.checks:
        old = was.get((now.operation, now.finding.check))
        if old is not None and old.verdict != now.verdict:
            then, since = odds(old.finding.p_fail), odds(now.finding.p_fail)
            chances = f"{then}, now {since}" if since != then else f"{then}, hardly changed"
            out.append(f"{place(now)}: {now.title}: {old.verdict}, now {now.verdict} ({chances})")
    return out


def indent(lines: Iterable[str], by: int = 2) -> Iterator[str]:
    """Lines moved to the right."""
    for line in lines:
        yield " " * by + line if line else line
