"""The speeds of a program: another S word where no feed makes a stretch good.

A feed is changed more readily than a speed, so S words are looked at only where F words alone do not help. The feed
of the table stays then, so that the chip gets thicker as the spindle goes slower; feeds are looked at again then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log
from pathlib import Path
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks._knobs import fastest
from ..checks.base import Case, Check
from ..units import parse
from .programs import fed
from .stretches import Stretch, best_of, feeds, only, owners, raw, risks_of, stretches, words_of

SPEEDS: Final = (0.9, 1.1, 0.8, 1.2, 0.7, 1.35, 0.6, 1.5, 0.5)      #: of the programmed speed, the mildest first
SPEED: Final = "cut.spindle_speed"
ALIKE: Final = 0.01                      #: a step of a belt so near the programmed speed is that


def turns(case: Case, file: Path, thin: Belief) -> tuple[Stretch, ...]:
    """How fast each S word of a program should turn, at the feeds as they are.

    Args:
        case: an operation whose program was run.
        file: of the program.
        thin: few rows of what is believed.

    Returns:
        Stretches of S words that cut, in the order of the file.
    """
    words = words_of(raw(file).split("\n"), "S")
    owner, cuts = owners(case, words)
    ends = [*(line - 1 for line, _ in words[1:]), 1 << 40]
    found: dict[float, tuple[float, bool]] = {}
    out = []
    for k, (line, turned) in enumerate(words):
        if turned <= 0.0 or not (cuts & (owner == k)).any():
            continue
        if turned not in found:
            own = [n for n, (_, each) in enumerate(words) if each == turned]
            found[turned] = _better(only(case, np.isin(owner, own)), radians_a_second(turned), thin)
        out.append(Stretch(line, ends[k], turned, *found[turned], "S"))
    return tuple(out)


def radians_a_second(turned: float) -> float:
    """The number of an S word [1/min] as a speed [rad/s]."""
    return parse(f"{turned} rpm", "rotation")


def _better(case: Case, speed: float, thin: Belief) -> tuple[float, bool]:
    """The mildest share of a speed [rad/s] that makes good whatever a speed can make good."""
    return best_of(case, _shares(case, speed), lambda share: risks_of(turning(case, speed, share), thin, helped))


def helped(check: Check) -> bool:
    """Whether a check can be helped by another speed or feed."""
    return feeds(check) or any(knob.path == SPEED for knob in check.knobs)


def _shares(case: Case, speed: float) -> tuple[float, ...]:
    """Shares of a speed [rad/s] that the spindle has; of a belt its steps alone."""
    spindle = case.machine.spindle
    least = spindle.slowest if spindle else 0.0
    if spindle is not None and spindle.steps:
        steps = sorted((step / speed for step in spindle.steps), key=lambda share: abs(log(share)))
        return (1.0, *(share for share in steps if abs(share - 1.0) > ALIKE))
    return (1.0, *(share for share in SPEEDS if least <= share * speed <= fastest(case)))


def turning(case: Case, speed: float, share: float) -> Case:
    """The case at a share of a speed [rad/s], its table as fast as before."""
    assert case.windows is not None
    windows = replace(fed(case.windows, 1.0 / share), seconds=case.windows.seconds)
    feed = (case.op.cut.feed_per_tooth or 0.0) / share
    cut = case.op.cut.model_copy(update={"spindle_speed": speed * share, "feed_per_tooth": feed})
    return replace(case, operation=case.op.model_copy(update={"cut": cut}), windows=windows)


def better_words(case: Case, file: Path, thin: Belief) -> tuple[Stretch, ...]:
    """F words that would be good and, where no feed is, S words with the feeds for them; in the order of the file.

    Args:
        case: an operation whose program was run.
        file: of the program.
        thin: few rows of what is believed.
    """
    as_turned = stretches(case, file, thin)
    if all(stretch.good for stretch in as_turned):
        return as_turned
    speeds = turns(case, file, thin)
    if all(stretch.better == 1.0 for stretch in speeds):
        return as_turned
    again = stretches(turned_as(case, speeds), file, thin)
    if _bad(again) >= _bad(as_turned):
        return as_turned
    return tuple(sorted((*speeds, *again), key=lambda stretch: (stretch.line, stretch.letter)))


def _bad(found: Sequence[Stretch]) -> int:
    return sum(not stretch.good for stretch in found)


def turned_as(case: Case, speeds: Sequence[Stretch]) -> Case:
    """The case with every window at the speed of its S word; its operation at that under which most comes off."""
    windows = case.windows
    assert windows is not None
    share, volumes = np.ones(len(windows)), []
    for stretch in speeds:
        own = (windows.line >= stretch.line) & (windows.line <= stretch.last)
        share[own] = stretch.better
        volumes.append(float(windows.volume[own].sum()))
    most = speeds[int(np.argmax(volumes))]
    slices = windows.slices
    chip = slices.chip_max / np.repeat(share, np.diff(slices.offsets))
    changed = replace(windows, feed_per_tooth=windows.feed_per_tooth / share, slices=replace(slices, chip_max=chip))
    return replace(turning(case, radians_a_second(most.feed), most.better), windows=changed)
