from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.contact import LEAKS, UNHELD, Contacts, Push, Settled, free_way, limit_factor, settle, tangents

Array = npt.NDArray[np.float64]
HALF, WIDE, GRIP = 0.03, 0.02, 0.01          #: of the block along the jaws and across them, height of the grip [m]


def vise(rests: bool = True, per_jaw: int = 4) -> Contacts:
    """A block between two jaws, y towards the fixed one, on rests below."""
    along = HALF * np.linspace(-0.8, 0.8, per_jaw // 2)
    points, normals, clamp = [], [], []
    for side, which in ((1.0, -1), (-1.0, 0)):
        for z in (0.25 * GRIP, 0.75 * GRIP):
            points += [(x, side * WIDE, z) for x in along]
            normals += [(0.0, -side, 0.0)] * len(along)
            clamp += [which] * len(along)
    if rests:
        points += [(x, y, 0.0) for x in (-0.02, 0.02) for y in (-0.015, 0.015)]
        normals += [(0.0, 0.0, 1.0)] * 4
        clamp += [-1] * 4
    stiff = np.full(len(points), 10e6)
    return Contacts(np.array(points), np.array(normals), stiff, 0.8 * stiff, np.array(clamp))


def table() -> Contacts:
    """A block on four feet, pressed down by one clamp on its middle from above."""
    points = [(x, y, 0.0) for x in (-0.02, 0.02) for y in (-0.01, 0.01)] + [(0.0, 0.0, 0.02)]
    normals = [(0.0, 0.0, 1.0)] * 4 + [(0.0, 0.0, -1.0)]
    stiff = np.full(5, 10e6)
    side = np.array([8e6] * 4 + [1.0])        # the clamp's tip swivels: it holds nothing sideways
    return Contacts(np.array(points), np.array(normals), stiff, side, np.array([-1] * 4 + [0]))


def push(force: npt.ArrayLike, point: npt.ArrayLike = (0.0, 0.0, 0.0)) -> Push:
    loads = np.atleast_2d(np.asarray(force, dtype=float))[None]
    return Push(loads, np.asarray(point, dtype=float), np.zeros(3))


def balance(contacts: Contacts, found: Settled, load: Push) -> Array:
    """What of force and moment about the origin is not balanced, by row and load."""
    ways = tangents(contacts.normal)
    force = found.pressing[..., None] * contacts.normal + np.einsum("...ck,kcx->...cx", found.rubbing, ways)
    outer = np.broadcast_to(load.force, (*found.unheld.shape, 3))
    total = force.sum(axis=-2) + outer
    moment = np.cross(contacts.point, force).sum(axis=-2) + np.cross(load.point, outer) + load.moment
    return np.concatenate([total, moment / HALF], axis=-1)


@settings(max_examples=40, deadline=None)
@given(st.floats(200.0, 8000.0), st.floats(0.03, 0.4), st.floats(0.0, 6.28), st.floats(-0.5, 0.5),
       st.floats(0.01, 1.0))
def test_forces_balance_press_and_rub_as_they_may(
    clamp: float, friction: float, turn: float, lift: float, share: float
) -> None:
    contacts = vise()
    mu, tight = np.full((1, 1), friction), np.full((1, 1), clamp)
    before = settle(contacts, mu, tight)
    force = share * clamp * friction * np.array([np.cos(turn), np.sin(turn), lift])
    load = push(force, (0.01, 0.0, 0.02))
    found = settle(contacts, mu, tight, load, before)
    assert (found.pressing >= 0.0).all()
    rub = np.linalg.norm(found.rubbing, axis=-1)
    assert (rub <= friction * found.pressing * (1.0 + 1e-6) + 1e-6 * clamp).all()
    held = found.unheld < UNHELD
    assert (np.abs(balance(contacts, found, load))[held] <= 2.0 * UNHELD * np.abs(force).max() + 1e-3 * clamp).all()
    # a jaw that keeps its force, up to what the weak springs take
    assert found.pressing[0, 0, 4:8].sum() == pytest.approx(clamp, rel=0.02)


def test_within_the_hold_the_balance_is_close() -> None:
    contacts, mu, tight = vise(), np.full((1, 1), 0.15), np.full((1, 1), 4000.0)
    load = push((100.0, -80.0, 60.0), (0.01, 0.0, 0.02))
    found = settle(contacts, mu, tight, load, settle(contacts, mu, tight))
    assert np.abs(balance(contacts, found, load)).max() < 1e-3 * 100.0
    assert found.unheld.max() < 1e-3


def test_a_block_on_a_plane_slides_at_friction_times_weight() -> None:
    contacts, mu, tight = table(), np.full((1, 1), 0.2), np.full((1, 1), 500.0)
    factor = limit_factor(contacts, mu, tight, push([(1.0, 0.0, 0.0), (0.0, 1.0, 0.0)]), up_to=4096.0, stages=5)
    assert factor[0] == pytest.approx([100.0, 100.0], rel=0.002)


def test_a_block_on_a_plane_tips_before_it_slides() -> None:
    # pushed at height h it tips about its far feet at F h = C b/2
    contacts, mu, tight = table(), np.full((1, 1), 0.9), np.full((1, 1), 500.0)
    factor = limit_factor(contacts, mu, tight, push((0.0, 1.0, 0.0), (0.0, 0.0, 0.02)), up_to=4096.0, stages=5)
    assert factor[0, 0] == pytest.approx(500.0 * 0.01 / 0.02, rel=0.002)


def test_a_vise_couple() -> None:
    # two jaws, no rest: along them 2 mu C hold, at the height of the grip's middle
    contacts, mu, tight = vise(rests=False), np.full((1, 1), 0.1), np.full((1, 1), 1000.0)
    factor = limit_factor(contacts, mu, tight, push((1.0, 0.0, 0.0), (0.0, 0.0, GRIP / 2)), up_to=4096.0, stages=5)
    assert factor[0, 0] == pytest.approx(2.0 * 0.1 * 1000.0, rel=0.002)
    pulled = limit_factor(contacts, mu, tight, push((0.0, -1.0, 0.0), (0.0, 0.0, GRIP / 2)), up_to=4096.0, stages=5)
    assert pulled[0, 0] == pytest.approx(1000.0, rel=0.002)      # off the fixed jaw: the screw's force


def test_three_jaws_hold_a_turn_by_friction_on_their_radius() -> None:
    radius, angles = 0.02, np.radians([90.0, 210.0, 330.0])
    out = np.stack([np.cos(angles), np.sin(angles), 0.0 * angles], axis=1)
    points = np.concatenate([radius * out + [0.0, 0.0, z] for z in (-0.005, 0.005)])
    normals = np.concatenate([-out, -out])
    stiff = np.full(6, 10e6)
    contacts = Contacts(points, normals, stiff, 0.8 * stiff, np.array([0, 1, 2] * 2))
    torque = Push(np.zeros((1, 1, 3)), np.zeros(3), np.array([0.0, 0.0, 1.0]))
    factor = limit_factor(contacts, np.full((1, 1), 0.12), np.full((1, 3), 900.0), torque, up_to=4096.0, stages=5)
    assert factor[0, 0] == pytest.approx(3 * 0.12 * 900.0 * radius, rel=0.002)


def test_a_wedge_slides_out_where_its_half_angle_is_above_friction() -> None:
    # pressed into a groove of two slopes: it stays while tan(half angle) <= mu, and is thrown out above
    half = np.radians(10.0)
    across = np.array([[np.cos(half), 0.0, np.sin(half)], [-np.cos(half), 0.0, np.sin(half)]])
    points = np.array([[-0.01, y, 0.0] for y in (-0.01, 0.01)] + [[0.01, y, 0.0] for y in (-0.01, 0.01)])
    normals = np.repeat(across, 2, axis=0)
    stiff = np.full(4, 10e6)
    contacts = Contacts(points, normals, stiff, 0.8 * stiff, np.array([-1, -1, 0, 0]))
    for ratio, stays in ((1.05, True), (0.95, False)):
        found = settle(contacts, np.full((1, 1), ratio * np.tan(half)), np.full((1, 1), 500.0))
        assert (found.unheld[0] < UNHELD) is np.bool_(stays)


def test_more_clamp_and_less_load_is_the_same_question() -> None:
    contacts, mu = vise(), np.full((1, 1), 0.1)
    load = push((100.0, 60.0, 30.0), (0.01, 0.0, 0.02))
    one = limit_factor(contacts, mu, np.full((1, 1), 1000.0), load)
    two = limit_factor(contacts, mu, np.full((1, 1), 3000.0), Push(3.0 * load.force, load.point, load.moment))
    assert two == pytest.approx(one, rel=0.01)


def test_order_counts() -> None:
    # loaded and let go, a part that slid stays away; one that did not comes back
    contacts, mu, tight = vise(), np.full((1, 1), 0.1), np.full((1, 1), 2000.0)
    before, end = settle(contacts, mu, tight), (0.0, 0.0, 0.05)
    most = float(limit_factor(contacts, mu, tight, push((1.0, 0.0, 0.2), end), up_to=4096.0, stages=5)[0, 0])
    for share, back in ((0.1, True), (0.97, False)):
        pushed = settle(contacts, mu, tight, push((share * most, 0.0, 0.2 * share * most), end), before)
        freed = settle(contacts, mu, tight, push((0.0, 0.0, 0.0)), pushed)
        away, went = (np.linalg.norm(f.moved(end) - before.moved(end)) for f in (freed, pushed))
        assert (away < 1e-3 * went) is np.bool_(back)


def test_quick_is_as_good_as_slow() -> None:
    contacts, mu, tight = vise(), np.full((3, 1), [[0.08], [0.12], [0.2]]), np.array([[500.0], [2000.0], [8000.0]])
    load = push([(100.0, -80.0, 40.0), (0.0, 90.0, -30.0)], (0.01, 0.0, 0.02))
    slow = settle(contacts, mu, tight, load, settle(contacts, mu, tight))
    fast = settle(contacts, mu, tight, load, settle(contacts, mu, tight), quick=True)
    where = (0.01, 0.0, 0.02)
    assert np.abs(fast.moved(where) - slow.moved(where)).max() < 1e-3 * np.abs(slow.moved(where)).max()


def test_a_free_way_is_named() -> None:
    feet = table()
    way = free_way(feet._replace(side_stiffness=np.zeros(5)))
    assert way is not None and abs(way[2]) < 1e-6
    with pytest.raises(OutOfRange, match="can move"):
        settle(feet._replace(side_stiffness=np.zeros(5)), np.full((1, 1), 0.1), np.full((1, 1), 10.0))
    nothing = Contacts(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.intp))
    assert free_way(nothing) is not None


def test_no_clamp_force_holds_nothing() -> None:
    contacts = vise(rests=False)
    found = settle(contacts, np.full((1, 1), 0.2), np.zeros((1, 1)), push((10.0, 0.0, 0.0)))
    assert found.unheld[0, 0] > 0.5


def test_bad_shapes_are_refused() -> None:
    contacts = vise()
    with pytest.raises(OutOfRange, match="one each clamp"):
        settle(contacts, np.full((1, 1), 0.1), np.zeros((1, 2)))
    with pytest.raises(OutOfRange, match="the load has shape"):
        settle(contacts, np.full((2, 1), 0.1), np.zeros((2, 1)), Push(np.ones((3, 1, 3)), np.zeros(3), np.zeros(3)))
    with pytest.raises(OutOfRange, match="length 1"):
        tangents(np.array([[0.0, 0.0, 2.0]]))


def cornered() -> Contacts:
    """A long part on a rest, gripped by two small pieces of each jaw at one end."""
    rest = [(x, y, 0.0) for x, *ys in ((94.4, 7.7, 26.3), (55.0, 8.5, 25.5), (18.5, 8.4, 25.6)) for y in ys]
    corner = [(3.2, 0.6), (5.1, 2.2)]
    points = [*rest, *((x, 34.0, z) for x, z in corner), *((x, 0.0, z) for x, z in corner)]
    normals = [(0.0, 0.0, 1.0)] * 6 + [(0.0, -1.0, 0.0)] * 2 + [(0.0, 1.0, 0.0)] * 2
    stiff = 2e8 * np.array([*np.array([448.0, 448.0, 623.3, 623.3, 610.3, 610.3]) / 3363.2, *[0.171, 0.829] * 2])
    return Contacts(np.array(points) / 1000.0, np.array(normals), stiff, 0.82 * stiff,
                    np.array([-1] * 8 + [0, 0], dtype=np.intp))


def test_a_part_gripped_at_one_corner_comes_to_rest_in_its_jaws() -> None:
    """Small contacts far from the middle of a long rest: between 0.05 and 0.15 of friction it went to and fro."""
    friction = np.linspace(0.02, 0.3, 15)[:, None]
    found = settle(cornered(), friction, np.full((15, 1), 600.0))
    assert (found.unheld < UNHELD).all()
    for jaw in (slice(6, 8), slice(8, None)):
        assert found.pressing[:, jaw].sum(axis=1) == pytest.approx(np.full(15, 600.0), rel=0.01)


def test_what_open_contacts_leak_is_no_sliding() -> None:
    """Lifted far from its grip, a fiftieth of any load lies on the weak springs of the rest, and nothing slides."""
    load = Push(np.array([[[0.0, 0.0, 1.0]]]), np.array([0.068, 0.017, 0.004]), np.zeros((1, 1, 3)))
    mu, clamp = np.array([[0.1]]), np.array([[600.0]])
    tiny = settle(cornered(), mu, clamp, load._replace(force=load.force / 100.0), settle(cornered(), mu, clamp))
    assert UNHELD < float(tiny.unheld[0, 0]) < LEAKS
    # the light piece rubs about the heavy one: 2 mu x 0.171 C x its distance, over the distance of the load
    apart = np.hypot(5.1 - 3.2, 2.2 - 0.6)
    by_hand = 2.0 * 0.1 * 0.171 * 600.0 * apart / (68.0 - 5.1)
    held = limit_factor(cornered(), mu, clamp, load, up_to=10.0, patient=True)[0, 0]
    assert 0.7 * by_hand < held < 1.1 * by_hand
