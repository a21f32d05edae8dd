from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks._gives_way import Cutting, at_most, gives_way, loose_way
from firstoff.checks._touching import contacts_of, touching
from firstoff.holding.contact import Contacts, limit_factor
from tests.checks.builders import case, setting

ROWS = 40


def held() -> Contacts:
    return contacts_of(touching(case(place=setting(holding={"parallels": "6 mm"}))))


def cutting(rows: int = ROWS) -> Cutting:
    rng = np.random.default_rng(3)
    turns = np.linspace(0.0, 2.0 * np.pi, 5)[:4]
    ways = np.stack([np.cos(turns), np.sin(turns), 0.0 * turns], axis=1)
    points = np.tile([0.05, 0.02, 0.02], (4, 1))
    push, share = rng.lognormal(5.0, 0.2, rows), rng.uniform(0.1, 0.6, rows)
    return Cutting(push, ways, np.array([0.0, 0.0, 1.0]), share, points, np.zeros((4, 3)))


def test_the_table_says_what_each_row_would() -> None:
    rng, cut = np.random.default_rng(5), cutting()
    friction, clamp = rng.lognormal(np.log(0.12), 0.3, ROWS), rng.lognormal(np.log(6000.0), 0.4, ROWS)
    found = gives_way(held(), friction, clamp, cut)
    load = cut.unit(cut.share)
    load = load._replace(force=load.force * (friction * clamp)[:, None, None])
    direct = limit_factor(held(), friction[:, None], clamp[:, None], load).min(axis=1) * friction * clamp
    assert np.abs(np.log(found.bears / direct)).max() < 0.06
    assert np.median(np.abs(np.log(found.bears / direct))) < 0.03


def test_clamp_and_push_scale_together() -> None:
    one = gives_way(held(), np.full(ROWS, 0.1), np.full(ROWS, 3000.0), cutting())
    two = gives_way(held(), np.full(ROWS, 0.1), np.full(ROWS, 6000.0), cutting())
    assert two.bears == pytest.approx(2.0 * one.bears, rel=1e-6)
    assert two.moves == pytest.approx(one.moves, rel=0.05)      # while nothing slides it gives like a spring


def test_what_slid_stays_and_what_only_gave_comes_back() -> None:
    mu = np.full(ROWS, 0.1)
    gentle, hard = (gives_way(held(), mu, np.full(ROWS, force), cutting()) for force in (50e3, 1500.0))
    assert gentle.stays < 0.02 * gentle.moves, "far from sliding it springs back"
    nearly = replace(cutting(), push=0.97 * hard.bears)
    near = gives_way(held(), mu, np.full(ROWS, 1500.0), nearly)
    assert near.stays > 0.1 * near.moves


def test_the_contact_that_lets_go_first_has_its_friction_used_up() -> None:
    found = gives_way(held(), np.full(ROWS, 0.1), np.full(ROWS, 3000.0), cutting())
    jaws = held().clamp == 0
    assert found.used.shape == (len(held().point),) and (found.used >= 0.0).all()
    assert found.used.max() > 0.9, "just before it goes, something is at its end"
    rests = np.array([patch.name == "rest" for patch in touching(case(place=setting(holding={"parallels": "6 mm"})))
                      for _ in patch.areas])
    assert (found.used[rests] == 0.0).all() and found.used[jaws].max() > 0.5, "nothing had pressed it on its rests"


def test_a_part_that_nothing_keeps_is_told() -> None:
    full = held()
    assert loose_way(full) is None
    jaws = full.clamp != -1
    alone = Contacts(*(field[jaws] for field in full))._replace(side_stiffness=np.zeros(int(jaws.sum())))
    assert loose_way(alone) is not None


def test_a_weak_hold_is_no_stronger_than_limit_analysis_lets_it() -> None:
    """A push far above it is borne at a hundredth of 2 mu C: it was told as a tenth, where the search begins."""
    contacts = held()
    far = replace(cutting(), points=np.tile([0.05, 0.02, 3.0], (4, 1)), share=np.zeros(ROWS))
    found = gives_way(contacts, np.full(ROWS, 0.1), np.full(ROWS, 3000.0), far)
    most = at_most(contacts, 0.1, 3000.0, far, found.load)
    assert most < 0.1 * 2.0 * 0.1 * 3000.0, "less than where the search begins"
    assert found.bears == pytest.approx(np.full(ROWS, float(found.bears[0])))
    assert 0.3 * most < float(found.bears[0]) <= 1.03 * most
