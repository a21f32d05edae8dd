"""What stops a cut from being faster: the check that asks most for each step up, or the end of what can be set."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ..job.route import Cut
from .choosing import Candidate, Chooser, bounded, settable
from .cost import loss, wages
from .registry import checks_about

STEP: Final = 1.5          #: how far up a number is tried
NOTHING: Final = 0.02      #: of the wages saved: less dear than this a step up costs nothing


def limited_by(chooser: Chooser, best: Candidate) -> str:
    """The check that grows most in the next steps up of depth, width, feed and speed; else the bound that is met.

    Args:
        chooser: that found the cut; the numbers that a person settled are stepped up too, to learn what stops them.
        best: the cut that was chosen.
    """
    worse: dict[str, float] = {}
    saved = 0.0
    for cut in _faster(chooser, best.case.op.cut):
        candidate = chooser.look(cut)
        saved = max(saved, wages(best.minutes - candidate.minutes, best.case.shop))
        for check, more in _dearer(candidate, best).items():
            worse[check] = worse.get(check, 0.0) + more
    check = max(worse, key=lambda name: worse[name], default="")
    if not check or worse[check] <= NOTHING * saved:
        return _bound(chooser, best.case.op.cut)
    return next(c.title for c in checks_about("operation", program=best.case.run is not None) if c.name == check)


def _dearer(candidate: Candidate, best: Candidate) -> dict[str, float]:
    """By check, how much more is likely to be lost."""
    before = {f.check: (f.p_fail or 0.0) * loss(f, best.case) for f in best.findings}
    return {f.check: max(0.0, (f.p_fail or 0.0) * loss(f, candidate.case) - before.get(f.check, 0.0))
            for f in candidate.findings}


def _faster(chooser: Chooser, cut: Cut) -> Iterator[Cut]:
    """One step up of each number, as far as there is one."""
    case, search = chooser.case, chooser.search
    for name, most in (("depth_of_cut", search.deepest), ("width_of_cut", search.widest)):
        now = getattr(cut, name) or 0.0
        then = settable(min(now * STEP, most), case.job.units)
        if then > now and not (name == "width_of_cut" and cut.direction == "slot"):
            yield cut.model_copy(update={name: then})
    for name in ("feed_per_tooth", "spindle_speed"):
        changed = cut.model_copy(update={name: (getattr(cut, name) or 0.0) * STEP})
        if not bounded(case, changed):
            yield changed


def _bound(chooser: Chooser, cut: Cut) -> str:
    """Which end of what can be set stops it."""
    for name in ("spindle_speed", "feed_per_tooth"):
        found = bounded(chooser.case, cut.model_copy(update={name: (getattr(cut, name) or 0.0) * STEP}))
        if found:
            return found
    return "what is to be taken off"
