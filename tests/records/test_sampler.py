"""The sampler against closed forms and against a well-kept MCMC library."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from firstoff.belief import Belief, Column, Level, LogNormal, Rows
from firstoff.records.sampler import APART, SETTLED, Index, Moved, Part, Trail
from firstoff.records.sampler import sample as by_parts


def sample(z: Rows, loglik: Callable[[Rows], Rows], generator: np.random.Generator) -> Moved:
    """All of the likelihood in one piece."""
    return by_parts(z, [Part((lambda q, _rows: loglik(q),))], generator)


def prior_rows(columns: int, rows: int = 2048) -> Rows:
    belief = Belief.of(
        [Column("test", f"c{i}", "1", Level.MACHINE, LogNormal(1.0, 2.0)) for i in range(columns)], rows=rows
    )
    return np.stack([belief.z(("test", f"c{i}")) for i in range(columns)], axis=1)


@pytest.mark.parametrize("columns", [1, 6, 40])
def test_a_measured_sum_gives_the_gaussian_closed_form(columns: int) -> None:
    """y = Σz + noise: the posterior of Σz is normal with the known mean and variance; differences stay free."""
    sd, y = 0.3, 2.0
    z = prior_rows(columns)
    moved = sample(z, lambda q: -0.5 * ((y - q.sum(axis=1)) / sd) ** 2, np.random.default_rng(1))
    variance = 1.0 / (1.0 / columns + 1.0 / sd**2)
    total = moved.z.sum(axis=1)
    assert total.mean() == pytest.approx(variance * y / sd**2, abs=5 * np.sqrt(variance / 1500))
    assert total.std() == pytest.approx(np.sqrt(variance), rel=0.12)
    if columns > 1:
        difference = moved.z[:, 0] - moved.z[:, 1]
        assert difference.std() == pytest.approx(np.sqrt(2.0), rel=0.1)
    assert moved.settled


@pytest.mark.parametrize("rows", [512, 2048])
def test_what_nothing_is_told_of_stays_as_wide_as_it_was(rows: int) -> None:
    """Fourteen readings of mixtures of 24 figures, beside 48 of which nothing is read: the closed form."""
    mix = np.random.default_rng(99).standard_normal((14, 24)) / np.sqrt(6.0)
    read = mix @ np.random.default_rng(5).standard_normal(24)
    covariance = np.linalg.inv(np.eye(24) + mix.T @ mix / 0.25**2)
    mean, sd = covariance @ (mix.T @ read) / 0.25**2, np.sqrt(np.diag(covariance))
    moved = sample(prior_rows(72, rows), lambda q: -0.5 * np.sum(((q[:, :24] @ mix.T - read) / 0.25) ** 2, axis=1),
                   np.random.default_rng(14))
    z, few = moved.z, np.sqrt(2048.0 / rows)
    assert np.abs((z[:, :24].mean(axis=0) - mean) / sd).max() < 0.1 * few
    assert (z[:, :24].std(axis=0) / sd).mean() == pytest.approx(1.0, abs=0.05)
    assert z[:, 24:].std(axis=0).mean() == pytest.approx(1.0, abs=0.03)
    assert np.abs(z[:, 24:].mean(axis=0)).max() < 0.1 * few
    assert moved.settled


def test_few_rows_that_walk_make_as_many_as_are_asked_for() -> None:
    """The closed form again, by rows that are kept at four times: as wide, and hardly remembering each other."""
    sd, y = 0.3, 2.0
    moved = by_parts(prior_rows(12), [Part((lambda q, _rows: -0.5 * ((y - q.sum(axis=1)) / sd) ** 2,), moves=60)],
                     np.random.default_rng(21), walkers=512)
    variance = 1.0 / (1.0 / 12.0 + 1.0 / sd**2)
    total = moved.z.sum(axis=1)
    assert moved.z.shape == (2048, 12)
    assert total.mean() == pytest.approx(variance * y / sd**2, abs=0.05)
    assert total.std() == pytest.approx(np.sqrt(variance), rel=0.12)
    assert moved.z.std(axis=0).mean() == pytest.approx(np.sqrt(1.0 - 1.0 / (12.0 + sd**2)), rel=0.04)
    one, next_one = moved.z[:512], moved.z[512:1024]
    assert np.mean([np.corrcoef(one[:, i], next_one[:, i])[0, 1] for i in range(12)]) < 0.35
    assert moved.settled


def test_what_was_left_is_exchanged_in_blocks() -> None:
    """Readings of two pairs that nothing ties, and a third reading that ties them and a column alone: Gaussian."""
    columns, sd = 5, 0.2
    rows = np.array([[1.0, 1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, -1.0, 0.0], [0.5, 0.0, 0.5, 0.0, 1.0]])
    read = np.array([1.2, -0.8, 0.9])

    def of(*which: int) -> Callable[[Rows, Index], Rows]:
        return lambda q, _rows: np.asarray(
            -0.5 * np.sum(((q @ rows[list(which)].T - read[list(which)]) / sd) ** 2, axis=1))

    z, blocks = prior_rows(columns), [np.array([0, 1]), np.array([2, 3]), np.array([4])]
    for which in (0, 1):
        def alone(q: Rows, _rows: Index, at: int = which) -> Rows:
            return np.asarray(-0.5 * ((q @ rows[at, blocks[at]] - read[at]) / sd) ** 2)

        z[:, blocks[which]] = by_parts(z[:, blocks[which]], [Part((alone,), moves=40)],
                                       np.random.default_rng(22 + which)).z
    moved = by_parts(z, [Part((of(0, 1),)), Part((of(2),), moves=60)], np.random.default_rng(24), 512, 1, blocks)
    covariance = np.linalg.inv(np.eye(columns) + rows.T @ rows / sd**2)
    mean, deviation = covariance @ (rows.T @ read) / sd**2, np.sqrt(np.diag(covariance))
    assert np.abs((moved.z.mean(axis=0) - mean) / deviation).max() < 0.15
    assert moved.z.std(axis=0) / deviation == pytest.approx(np.ones(columns), abs=0.1)
    assert moved.settled


def test_two_modes_both_stay() -> None:
    """A reading of |z| cannot tell the sign: half of the rows sit on each side."""
    z = prior_rows(3)
    moved = sample(z, lambda q: -0.5 * ((np.abs(q[:, 0]) - 1.5) / 0.1) ** 2, np.random.default_rng(2))
    assert 0.4 < np.mean(moved.z[:, 0] > 0) < 0.6
    assert np.abs(moved.z[:, 0]).mean() == pytest.approx(1.5, abs=0.05)


def test_no_evidence_changes_no_margin() -> None:
    z = prior_rows(5)
    moved = sample(z, lambda q: np.zeros(len(q)), np.random.default_rng(3))
    assert np.abs(moved.z.mean(axis=0)).max() < 0.12
    assert moved.z.std(axis=0) == pytest.approx(np.ones(5), abs=0.08)


def test_agrees_with_an_mcmc_library_on_a_bent_posterior() -> None:
    """Exponentials in the likelihood bend the posterior; mean and spread must agree with emcee's."""
    emcee = pytest.importorskip("emcee")

    def loglik(q: Rows) -> Rows:
        force, stiffness = np.exp(0.5 * q[:, 0]), np.exp(0.7 * q[:, 1])
        return np.asarray(-0.5 * ((force / stiffness - 2.0) / 0.2) ** 2 - 0.5 * ((force - 1.4) / 0.3) ** 2)

    moved = sample(prior_rows(2), loglik, np.random.default_rng(4))
    walkers = np.random.default_rng(5).standard_normal((40, 2))
    sampler = emcee.EnsembleSampler(40, 2, lambda q: float(loglik(q[None])[0] - 0.5 * q @ q))
    sampler.run_mcmc(walkers, 1500)
    chain = sampler.get_chain(discard=500, flat=True)
    for column in range(2):
        spread = chain[:, column].std()
        assert moved.z[:, column].mean() == pytest.approx(chain[:, column].mean(), abs=0.2 * spread)
        assert moved.z[:, column].std() == pytest.approx(spread, rel=0.15)


def test_same_generator_same_rows() -> None:
    z = prior_rows(4)
    one, two = (sample(z, lambda q: -(q[:, 0] - 1.0) ** 2, np.random.default_rng(9)).z for _ in range(2))
    assert np.array_equal(one, two)


def test_two_seeds_agree() -> None:
    """Means of two runs lie within a fifth of a standard deviation, and the halves of each know it beforehand."""
    def loglik(q: Rows) -> Rows:
        return np.asarray(-0.5 * ((np.exp(0.5 * q[:, 0] - 0.7 * q[:, 1]) - 2.0) / 0.2) ** 2 + np.log(
            0.05 + 0.9 / (1.0 + np.exp(3.0 * q[:, 2:12].sum(axis=1)))))

    one, two = (sample(prior_rows(30), loglik, np.random.default_rng(seed)) for seed in (6, 7))
    assert one.settled and two.settled
    between = np.abs(one.z.mean(axis=0) - two.z.mean(axis=0)) / one.z.std(axis=0)
    assert between.max() < 0.2


def test_halves_that_end_apart_are_said() -> None:
    """Far modes, each as narrow as can be, catch the two halves in different shares: that has not converged."""
    narrow = np.array([[5.0], [-5.0]]).repeat(20, axis=1)

    def loglik(q: Rows) -> Rows:
        return np.asarray(np.logaddexp(*(-0.5 * np.sum((q - at) ** 2, axis=1) / 0.1**2 for at in narrow)))

    assert not sample(prior_rows(20, 256), loglik, np.random.default_rng(8)).settled


def test_rows_that_had_no_moves_to_forget_in_have_not_converged() -> None:
    """However near to each other the halves are: both may remember the same."""
    def loglik(q: Rows, _which: Index) -> Rows:
        return np.asarray(-0.5 * np.sum((q - 1.0) ** 2, axis=1))

    few, many = (by_parts(prior_rows(3, 512), [Part((loglik,), moves=moves)], np.random.default_rng(4))
                 for moves in (1, 40))
    assert few.apart <= APART and few.accepted >= SETTLED
    assert not few.forgotten and not few.settled and many.forgotten and many.settled


def test_unequal_modes_keep_their_shares() -> None:
    """Two readings of |z|, one side likelier by three: exact shares by the closed form."""
    def loglik(q: Rows) -> Rows:
        return np.asarray(-0.5 * ((np.abs(q[:, 0]) - 1.5) / 0.2) ** 2 + np.where(q[:, 0] > 0, np.log(3.0), 0.0))

    moved = sample(prior_rows(8), loglik, np.random.default_rng(10))
    assert np.mean(moved.z[:, 0] > 0) == pytest.approx(0.75, abs=0.05)


def two_heaps(upper: float, rows: int, seed: int) -> Rows:
    """Rows of three columns in two narrow heaps along the first, so many of them in the upper one."""
    random = np.random.default_rng(seed)
    z = random.standard_normal((rows, 3))
    z[:, 0] = np.where(random.random(rows) < upper, 2.0, -2.0) + 0.3 * z[:, 0]
    return z


@pytest.mark.parametrize(("likelier", "worth"), [(3.0, True), (1.0, True), (3.0, False)])
def test_shares_of_heaps_are_told_by_draws_that_are_worth_something(likelier: float, worth: bool) -> None:
    """Draws of even heaps whose weights say that one is likelier; or say nothing, as one outweighs all others."""
    rows, draws = two_heaps(0.3, 1024, 41), two_heaps(0.5, 4000, 42)
    weights = np.where(draws[:, 0] > 0.0, np.log(likelier), 0.0)
    weights[:2] += 0.0 if worth else 30.0
    trail = Trail([rows], [], draws=[(draws, weights)])
    z = trail.balanced(rows, np.random.default_rng(43))
    assert (z is not None) == worth
    if z is None:
        return
    shares = [float(np.mean(z[start::2, 0] > 0.0)) for start in (0, 1)]
    assert shares == pytest.approx([likelier / (1.0 + likelier)] * 2, abs=0.04)
    early, late = (float(np.mean(part[:, 0] > 0.0)) for part in (z[:512], z[512:]))
    assert early == pytest.approx(late, abs=0.1), "the first rows are no other than the last"
    assert {tuple(row) for row in z[::2]} <= {tuple(row) for row in rows[::2]}, "halves know nothing of each other"


def test_a_tone_that_may_be_either_of_two_keeps_both() -> None:
    """A reading of the sum of eight figures that is one of two: in no column apart, and in exact shares."""
    def loglik(q: Rows) -> Rows:
        total = q[:, :8].sum(axis=1) / np.sqrt(8.0)
        one, other = (-0.5 * ((total - at) / 0.15) ** 2 for at in (-1.5, 1.5))
        return np.asarray(np.logaddexp(one, np.log(3.0) + other))

    moved = sample(prior_rows(20), loglik, np.random.default_rng(11))
    assert moved.heaps is not None
    assert np.abs(moved.heaps.way[:8].sum()) / np.sqrt(8.0) > 0.97         # the cosine with the way of the sum
    upper = moved.z[:, :8].sum(axis=1) > 0.0
    assert upper.mean() == pytest.approx(0.75, abs=0.06)
    assert moved.z[:, 12].std() == pytest.approx(1.0, abs=0.12)


def test_parts_and_pieces_give_what_the_whole_gives() -> None:
    """A reading, then words in two pieces of which the second is only asked where it may still matter."""
    asked: list[int] = []

    def reading(q: Rows, _rows: object) -> Rows:
        return np.asarray(-0.5 * ((np.hypot(q[:, 0], q[:, 1]) - 2.0) / 0.1) ** 2)

    def quick(q: Rows, _rows: object) -> Rows:
        return np.asarray(-np.log1p(np.exp(-4.0 * q[:, 2])))

    def dear(q: Rows, rows: Index) -> Rows:
        assert len(q) == len(rows)
        asked.append(len(q))
        return np.asarray(-np.log1p(np.exp(3.0 * (q[:, 1] + q[:, 3]))))

    apart = by_parts(prior_rows(6), [Part((reading,)), Part((quick, dear), 0.0)], np.random.default_rng(12))
    every = (reading, quick, dear)
    whole = sample(prior_rows(6), lambda q: np.asarray(sum(part(q, np.arange(len(q))) for part in every)),
                   np.random.default_rng(13))
    assert apart.z.mean(axis=0) == pytest.approx(whole.z.mean(axis=0), abs=0.25)
    assert apart.z.std(axis=0) == pytest.approx(whole.z.std(axis=0), abs=0.15)
    assert min(asked) < 0.75 * 2048
