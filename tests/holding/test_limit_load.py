from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from firstoff.errors import OutOfRange
from firstoff.holding.contact import Contacts, Push, limit_factor
from firstoff.holding.limit_load import limit_load
from firstoff.holding.wedge import wedge_gain
from tests.holding.test_contact import GRIP, HALF, table, vise
from tests.published import agrees

Array = npt.NDArray[np.float64]


ORIGIN = (0.0, 0.0, 0.0)


def one(force: npt.ArrayLike, point: npt.ArrayLike = ORIGIN, moment: npt.ArrayLike = ORIGIN) -> Push:
    return Push(np.asarray(force, float), np.asarray(point, float), np.asarray(moment, float))


def limit(contacts: Contacts, mu: float, clamp: list[float], push: Push) -> float:
    return limit_load(contacts, np.full(len(contacts.point), mu), np.array(clamp), push)


def test_a_block_on_a_plane() -> None:
    # the clamp's tip rubs here too, so that 2 mu C hold; pulled up, the clamp's own force
    agrees("holding", "limit load: clamped block on a plane, mu 0.2, 500 N: side push, 2 mu C by hand", "own", 200.0,
           limit(table(), 0.2, [500.0], one((1.0, 0.0, 0.0))), "N", within=0.01)
    assert limit(table(), 0.2, [500.0], one((0.0, 0.0, 1.0))) == pytest.approx(500.0, rel=1e-6)
    assert limit(table(), 0.2, [500.0], one((0.0, 0.0, -1.0))) == np.inf


def test_a_vise_couple() -> None:
    # no rest: pressure moves to the edges of both grips, h/4 from its middle, and friction makes a couple
    contacts, mu, clamp = vise(rests=False), 0.1, 1000.0
    turn = limit(contacts, mu, [clamp], one((0.0, 0.0, 0.0), moment=(1.0, 0.0, 0.0)))
    agrees("holding", "limit load: couple that tilts a block out of a vise, mu 0.1, 1000 N, by hand", "own",
           2 * clamp * GRIP / 4 + 2 * mu * clamp * 0.02, turn, "N m", within=0.01)
    agrees("holding", "limit load: push along the jaws of the same vise, 2 mu C by hand", "own", 200.0,
           limit(contacts, mu, [clamp], one((1.0, 0.0, 0.0), (0.0, 0.0, GRIP / 2))), "N", within=0.01)


def test_three_jaws() -> None:
    radius, angles = 0.02, np.radians([90.0, 210.0, 330.0])
    out = np.stack([np.cos(angles), np.sin(angles), 0.0 * angles], axis=1)
    contacts = Contacts(radius * out, -out, np.ones(3), np.ones(3), np.arange(3))
    most = limit(contacts, 0.12, [900.0] * 3, one((0.0, 0.0, 0.0), moment=(0.0, 0.0, 1.0)))
    agrees("holding", "limit load: torque on a bar of 40 mm in three jaws of 900 N, mu 0.12: 3 mu C r by hand", "own",
           3 * 0.12 * 900.0 * radius, most, "N m", within=1e-6)


def test_a_wedge() -> None:
    # between a floor and a slope pressed by a force across it, like wedge_gain without a guide
    angle, mu, load = np.radians(8.0), 0.1, 400.0
    normals = np.array([[0.0, 0.0, 1.0], [-np.sin(angle), 0.0, -np.cos(angle)]])
    contacts = Contacts(np.zeros((2, 3)), normals, np.ones(2), np.ones(2), np.array([-1, 0]))
    # pressing N and rubbing mu N on the slope, both against the load, is load upwards
    press = load / (np.cos(angle) - mu * np.sin(angle))
    drive = limit(contacts, mu, [press], one((1.0, 0.0, 0.0)))
    wanted = load / float(wedge_gain(float(angle), mu, mu, 0.0))
    agrees("holding", "limit load: wedge of 8 degrees, mu 0.1, under 400 N: push, as by wedge gain", "beer",
           wanted, drive, "N", within=0.01)


def independent(contacts: Contacts, mu: float, clamp: float, push: Push) -> float:
    """The same bound from the other side: forces as sums of the cone's edges, columns instead of rows."""
    columns, presses = [], []
    helper = np.array([0.3, 0.5, 0.8])
    for point, normal, which in zip(contacts.point, contacts.normal, contacts.clamp, strict=True):
        a = np.cross(normal, helper)
        a /= np.linalg.norm(a)
        b = np.cross(normal, a)
        for angle in np.linspace(0.0, 2.0 * np.pi, 64, endpoint=False):
            force = normal + mu * (np.cos(angle) * a + np.sin(angle) * b)
            columns.append(np.r_[force, np.cross(point, force) / HALF])
            presses.append(float(which == 0))
    outer = np.r_[push.force, (np.cross(push.point, push.force) + push.moment) / HALF]
    equal = np.c_[np.array(columns).T, outer]
    equal = np.r_[equal, [np.r_[presses, 0.0]]]
    found = linprog(np.r_[np.zeros(len(columns)), -1.0], A_eq=equal, b_eq=np.r_[np.zeros(6), clamp], method="highs")
    assert found.x is not None
    return float(found.x[-1])


def test_the_worst_of_many_loads_against_an_independent_programme() -> None:
    """Sixteen pushes round a block in a vise, lifted or not: the one in which the two differ most is kept."""
    found = []
    for turn in np.linspace(0.0, 2.0 * np.pi, 8, endpoint=False):
        for lift in (0.0, 0.4):
            push = one((np.cos(turn), np.sin(turn), lift), (0.02, 0.0, 0.02))
            found.append((independent(vise(), 0.15, 1000.0, push), limit(vise(), 0.15, [1000.0], push)))
    theirs, ours = max(found, key=lambda pair: abs(np.log(pair[1] / pair[0])))
    agrees("holding", "limit load: block in a vise against another linear programme, worst of 16", "own",
           theirs, ours, "N", within=0.01)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.05, 0.4), st.floats(0.0, 6.28), st.floats(0.0, 0.6), st.floats(-0.03, 0.03))
def test_an_independent_programme_agrees(mu: float, turn: float, lift: float, along: float) -> None:
    push = one((np.cos(turn), np.sin(turn), lift), (along, 0.0, 0.02))
    ours = limit(vise(), mu, [1000.0], push)
    assert ours == pytest.approx(independent(vise(), mu, 1000.0, push), rel=0.01)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.05, 0.4), st.floats(0.0, 6.28), st.floats(0.0, 0.6), st.floats(-0.03, 0.03))
def test_nothing_holds_more_than_the_bound(mu: float, turn: float, lift: float, along: float) -> None:
    push = one((np.cos(turn), np.sin(turn), lift), (along, 0.0, 0.02))
    most = limit(vise(), mu, [1000.0], push)
    many = Push(push.force[None, None], push.point, push.moment)
    held = limit_factor(vise(), np.full((1, 1), mu), np.full((1, 1), 1000.0), many, up_to=4096.0, stages=5)
    assert held[0, 0] <= most * 1.01


def test_nothing_touches_and_nothing_clamps() -> None:
    bare = Contacts(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.intp))
    assert limit_load(bare, np.zeros(0), np.zeros(0), one((1.0, 0.0, 0.0))) == 0.0
    assert limit(vise(), 0.1, [0.0], one((0.0, -1.0, 0.0))) == pytest.approx(0.0, abs=1e-9)
    with pytest.raises(OutOfRange, match="friction"):
        limit(vise(), -0.1, [10.0], one((1.0, 0.0, 0.0)))
