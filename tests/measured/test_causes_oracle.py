"""Causes that were planted by simulators of other habits, scored against one who knows the simulator."""

from __future__ import annotations

from functools import cache
from typing import Final, NamedTuple

import numpy as np
import pytest

from firstoff.dryrun.causes import OPEN, SURE
from firstoff.stack.causes import explain
from tests.stack.test_causes import LINES, READ_SD, SD

PARTS = 500
READ: Final = ([0], [0, 1], [0, 2], [0, 1, 2])     #: which of three sizes are read


class Habit(NamedTuple):
    """How far planted causes are off, in usual spreads, how often each, and how often there is none."""

    far: np.ndarray
    weights: np.ndarray
    none: float


_TAIL = np.linspace(2.0, 20.0, 361)
HABITS: Final = {
    "evenly from 3 to 7": Habit(np.linspace(3.0, 7.0, 81), np.ones(81), 0.5),
    "evenly by size from 4 to 20": Habit(np.geomspace(4.0, 20.0, 161), np.ones(161), 0.5),
    "seldom, from 2.5 to 5": Habit(np.linspace(2.5, 5.0, 81), np.ones(81), 0.75),
    "often, from 4 to 8": Habit(np.linspace(4.0, 8.0, 81), np.ones(81), 0.35),
    "small ones mostly, a tail": Habit(_TAIL, np.exp(-_TAIL / 3.0), 0.5),
}


class Scored(NamedTuple):
    """True causes, our chances, the surest under any habit, the oracle's chances."""

    cause: np.ndarray
    ours: np.ndarray
    surest: np.ndarray
    best: np.ndarray


def simulated(habit: Habit, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Causes (3 for none) and readings of three sizes."""
    cause = rng.choice(4, PARTS, p=[(1.0 - habit.none) / 3.0] * 3 + [habit.none])
    sources = rng.standard_normal((PARTS, 3)) * SD
    planted = rng.choice([-1.0, 1.0], PARTS) * rng.choice(habit.far, PARTS, p=habit.weights / habit.weights.sum())
    hit = cause < 3
    sources[hit, cause[hit]] = planted[hit] * SD[cause[hit]]
    return cause, sources @ LINES.T + rng.standard_normal((PARTS, 3)) * READ_SD


def oracle(read: np.ndarray, which: list[int], habit: Habit) -> np.ndarray:
    """Chances of each cause for one who knows how the simulator plants them (N, 4)."""
    lines, far = LINES[which], np.concatenate([-habit.far, habit.far])
    weights, logs = np.tile(habit.weights / habit.weights.sum() / 2.0, 2), []
    for cause in (0, 1, 2, None):
        spread, shift, each = SD.copy(), np.zeros((1, 3)), np.ones(1)
        if cause is not None:
            spread[cause], shift, each = 0.0, np.zeros((len(far), 3)), weights
            shift[:, cause] = far * SD[cause]
        covariance = (lines * spread**2) @ lines.T + np.diag(READ_SD[which] ** 2)
        missed = read[:, None, which] - shift @ lines.T
        quadratic = np.einsum("ngi,ij,ngj->ng", missed, np.linalg.inv(covariance), missed)
        density = np.exp(-0.5 * quadratic) @ each / np.sqrt(np.linalg.det(covariance))
        logs.append(np.log(density + 1e-300) + np.log(habit.none if cause is None else (1.0 - habit.none) / 3.0))
    weight = np.exp(np.array(logs).T - np.max(logs, axis=0)[:, None])
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


@cache
def scored(name: str, at: int) -> Scored:
    """All parts of one simulator, with some of the sizes read."""
    habit, which = HABITS[name], READ[at]
    cause, read = simulated(habit, np.random.default_rng(11))
    found = [explain(r[which], LINES[which], np.zeros(3), np.diag(SD**2), READ_SD[which], [0, 1, 2], LINES)
             for r in read]
    return Scored(cause, np.array([f.chance for f in found]), np.array([f.surest for f in found]),
                  oracle(read, which, habit))


def together(names: list[str]) -> Scored:
    """Parts of several simulators, each with one size read, two, or three."""
    each = [scored(name, at) for name in names for at in range(len(READ))]
    return Scored(*(np.concatenate(column) for column in zip(*each, strict=True)))


@pytest.mark.parametrize("name", HABITS)
def test_the_log_score_is_near_that_of_one_who_knows(name: str) -> None:
    """With one size read, two and three."""
    none, at = HABITS[name].none, np.arange(PARTS)
    for which in range(len(READ)):
        cause, ours, _, best = scored(name, which)
        mine, theirs = (float(np.log(p[at, cause] + 1e-12).mean()) for p in (ours, best))
        blind = float(np.log(np.array([(1.0 - none) / 3.0] * 3 + [none])[cause]).mean())
        assert theirs >= mine - 0.01 and mine > theirs - 0.12 and mine > blind + 0.6 * (theirs - blind)


def test_what_it_is_sure_of_is_right_as_often_as_it_says() -> None:
    cause, ours, _, _ = together(list(HABITS))
    sure = ours.max(axis=1) >= SURE
    right = ours.argmax(axis=1)[sure] == cause[sure]
    assert right.mean() > ours.max(axis=1)[sure].mean() - 0.03 and sure.mean() > 0.7


def test_it_says_it_cannot_tell_only_where_the_oracle_is_in_doubt_too() -> None:
    """Of three causes it seldom cannot tell; with 0.58 for OPEN it was said ten times as often, and where things
    often go far wrong the oracle was surer in four of five."""
    _, _, surest, best = together(list(HABITS))
    cannot, doubts = surest < OPEN, best.max(axis=1) < SURE
    assert cannot.sum() > 15 and doubts[cannot].mean() >= 0.95


def test_where_the_oracle_is_in_doubt_it_is_not_sure_either() -> None:
    """In seven of ten, and in the others it is sure by little."""
    _, ours, _, best = together(list(HABITS))
    doubts = best.max(axis=1) < SURE
    assert (ours.max(axis=1) < SURE)[doubts].mean() > 0.7 and ours.max(axis=1)[doubts].mean() < 0.65
