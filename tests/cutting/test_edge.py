"""Outlines of cutters in slices: closed forms of circle and cone, the volume they take, plunging by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.chisel import drill_load
from firstoff.cutting.edge import (
    Edge,
    Profile,
    check_profile,
    edge_in_cut,
    edge_of_slices,
    lead_angle,
    profile_radius,
    slice_outline,
)
from firstoff.cutting.engagement import ball_diameter, chamfer_diameter, corner_diameter
from firstoff.cutting.force import Coefficients, Engagement, Forces, milling_forces
from firstoff.cutting.force_law import ThinChips
from firstoff.cutting.hole import drill_chip
from firstoff.errors import OutOfRange

LAW = Coefficients(767.01e6, 168.8e6, 222.0e6, 27.7e3, 26.6e3, 0.7e3)  # cjme2021, table 5
TANGENTIAL = Coefficients(8e8, 0.0, 0.0, 0.0, 0.0, 0.0)
FEED = 0.03e-3
FLAT = Profile(0.006, 0.0, 0.0, 0.006)
BALL = Profile(0.006, 0.003, 0.0, 0.0)
BULL = Profile(0.006, 0.001, 0.0, 0.004)
CONE = Profile(0.006, 0.0, np.pi / 4, 0.001)
TAPER = Profile(0.006, 0.001, 0.1, 0.0)
TEE = Profile(0.012, 0.0, 0.0, 0.012, 0.003, 0.005)
TAIL = Profile(0.012, 0.0, -np.arctan2(3.0, 4.0), 0.012, 0.004, 0.006)
ALL = pytest.mark.parametrize("profile", [FLAT, BALL, BULL, CONE, TAPER],
                              ids=["flat", "ball", "bull", "cone", "taper"])


@given(st.floats(0.0, 0.004))
def test_radius_is_that_of_the_working_diameters(height: float) -> None:
    assert 2 * profile_radius(BALL, height) == pytest.approx(ball_diameter(height, 0.006))
    assert 2 * profile_radius(BULL, height) == pytest.approx(corner_diameter(height, 0.006, 0.001))
    assert 2 * profile_radius(CONE, height) == pytest.approx(chamfer_diameter(height, 0.001, np.pi / 4, 0.006))


def test_a_tapered_ball_runs_smoothly_into_its_flank() -> None:
    turn = 0.001 * (1 - np.sin(0.1))
    just = np.array([-1e-9, 0.0, 1e-9])
    below, above = np.diff(profile_radius(TAPER, turn + just)) / 1e-9
    assert below == pytest.approx(np.tan(0.1), rel=1e-3) and above == pytest.approx(np.tan(0.1), rel=1e-3)
    assert profile_radius(TAPER, 0.02 + turn) == pytest.approx(min(0.003, 0.001 * np.cos(0.1) + 0.02 * np.tan(0.1)))


@ALL
def test_slices_are_the_outline(profile: Profile) -> None:
    got = slice_outline(profile, np.array([0.0, 1e-3]), np.array([1e-3, 2e-3]))
    assert np.all(got.length >= 1e-3 - 1e-12)
    assert got.length * np.sin(got.lead_angle) == pytest.approx([1e-3, 1e-3])


@ALL
def test_the_lead_is_that_of_the_outline(profile: Profile) -> None:
    heights, just = np.array([1e-4, 4e-4, 1.1e-3, 2.2e-3]), 1e-9
    out = np.array([float(profile_radius(profile, h + just) - profile_radius(profile, h - just)) for h in heights])
    assert np.tan(np.pi / 2 - lead_angle(profile, heights)) == pytest.approx(out / (2.0 * just), abs=1e-5)


def test_a_ball_leads_by_its_chord() -> None:
    deep = np.array([0.0, 3e-4, 3e-3])
    assert np.sin(lead_angle(BALL, deep)) == pytest.approx(ball_diameter(deep, 0.006) / 0.006)
    assert lead_angle(TEE, 1e-3) == pytest.approx(np.pi / 2) and lead_angle(CONE, 3e-3) == pytest.approx(np.pi / 2)


@ALL
@pytest.mark.parametrize("depth", [0.0004, 0.002, 0.004])
def test_a_slot_takes_the_work_of_its_cross_section(profile: Profile, depth: float) -> None:
    # K_tc x (feed x teeth x area of the slot's cross-section) is the work of a turn, whatever the outline
    edge = edge_in_cut(profile, 2, 0.5, depth, 0.0, float(np.pi))
    z = depth * (np.arange(20000) + 0.5) / 20000
    area = 2 * profile_radius(profile, z).sum() * depth / 20000
    torque = milling_forces(TANGENTIAL, edge, FEED, 0.0).mean_torque
    assert 2 * np.pi * torque == pytest.approx(8e8 * FEED * 2 * area, rel=6e-3)


@given(st.sampled_from([(0.0, 1.2), (2.2, np.pi), (0.0, np.pi)]), st.floats(2e-4, 4e-3), st.sampled_from([0.0, 4e-6]))
def test_a_cylinder_in_slices_is_a_cylinder(arc: tuple[float, float], depth: float, offset: float) -> None:
    whole = milling_forces(LAW, Engagement(0.006, 3, 0.5, depth, *arc), FEED, offset)
    n = 6
    heights, thick = depth * (np.arange(n) + 0.5) / n, np.full(n, depth / n)
    edge = edge_of_slices(FLAT, 3, 0.5, heights, thick, np.full(n, arc[0]), np.full(n, arc[1]))
    sliced = milling_forces(LAW, edge, FEED, offset)
    for name in Forces._fields:
        scale = whole.peak_torque if "torque" in name else whole.peak_side
        assert abs(getattr(sliced, name) - getattr(whole, name)) < 2e-2 * scale, name


def test_a_straight_plunge_by_hand() -> None:
    # all of the end cuts chips of the feed; the side has none: z teeth x (K_rc f + K_re) R, against the collet
    edge = edge_in_cut(FLAT, 2, 0.5, 0.002, 0.0, float(np.pi), np.pi / 2)
    got = milling_forces(LAW, edge, FEED, 0.0)
    assert got.mean_z == pytest.approx(-2 * (168.8e6 * FEED + 26.6e3) * 0.003, rel=1e-6)
    assert got.mean_torque == pytest.approx(2 * (767.01e6 * FEED + 27.7e3) * 0.003**2 / 2, rel=1e-6)
    assert abs(got.mean_x) < 1e-6 * got.mean_torque / 0.003


def test_a_ramp_is_between_level_and_plunge() -> None:
    ramps = [milling_forces(LAW, edge_in_cut(FLAT, 2, 0.5, 0.002, 0.0, float(np.pi), a), FEED, 0.0)
             for a in (0.0, 0.05, 0.3, np.pi / 2)]
    push = [-float(r.mean_z) for r in ramps]
    assert push == sorted(push)
    assert push[0] < 0.0 < push[1]      # level the helix pulls, the end pushes back at once
    level = milling_forces(LAW, Engagement(0.006, 2, 0.5, 0.002, 0.0, float(np.pi)), FEED, 0.0)
    assert ramps[0].mean_z == pytest.approx(level.mean_z, rel=1e-6)


DISHED = FLAT._replace(dish=np.radians(2.0))
THIN = ThinChips(FEED, 767.01e6, 27.7e3, 1.5e-6, 1e-5, 1e-4)


@pytest.mark.parametrize("dish", [0.0, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("slope", [0.3, 1.0, 2.0, 3.0, 10.0, 45.0, 90.0])
def test_a_way_down_takes_all_that_it_sweeps(dish: float, slope: float) -> None:
    """K_tc x what a turn sweeps is its work: side and end, whatever part of a dished end is in the metal."""
    profile, down = FLAT._replace(dish=np.radians(dish)), np.radians(slope)
    edge = edge_in_cut(profile, 2, 0.5, 1e-3, 0.0, float(np.pi), down)
    swept = 2 * FEED * (np.cos(down) * 0.006 * 1e-3 + np.sin(down) * np.pi * 0.003**2)
    torque = milling_forces(TANGENTIAL, edge, FEED, 0.0).mean_torque
    assert 2 * np.pi * torque == pytest.approx(8e8 * swept, rel=0.02)


def test_a_shallow_way_down_is_nearly_a_level_one() -> None:
    level = milling_forces(LAW, Engagement(0.006, 2, 0.5, 5e-4, 0.0, float(np.pi)), FEED, 0.0)
    near = [milling_forces(LAW, edge_in_cut(DISHED, 2, 0.5, 5e-4, 0.0, float(np.pi), np.radians(a), THIN), FEED, 0.0)
            for a in (1.0, 0.1, 0.01)]
    for name in ("mean_torque", "mean_z", "peak_side"):
        off = [abs(float(getattr(one, name) - getattr(level, name))) for one in near]
        assert off[0] > off[1] > off[2], name
        assert off[2] < 0.02 * float(level.peak_side if name != "mean_torque" else level.mean_torque), name


def test_straight_down_a_dished_end_is_an_end() -> None:
    flat, dished = (milling_forces(LAW, edge_in_cut(p, 2, 0.5, 0.002, 0.0, float(np.pi), np.pi / 2, THIN), FEED, 0.0)
                    for p in (FLAT, DISHED))
    for name in ("mean_z", "mean_torque"):
        assert getattr(dished, name) == pytest.approx(getattr(flat, name), rel=1e-2), name
    assert flat.mean_z == pytest.approx(-2 * (168.8e6 * FEED + 26.6e3) * 0.003, rel=1e-6)   # its chips are not thin


def test_down_in_a_hole_the_end_cuts_what_is_left_round_it() -> None:
    hole = DISHED._replace(hole=0.004)
    whole, ring = (milling_forces(TANGENTIAL, edge_in_cut(p, 2, 0.5, 0.002, 0.0, float(np.pi), np.pi / 2), FEED, 0.0)
                   for p in (DISHED, hole))
    assert ring.mean_torque / whole.mean_torque == pytest.approx(1.0 - (2.0 / 3.0) ** 2, rel=1e-6)
    free = edge_in_cut(DISHED._replace(hole=0.006), 2, 0.5, 0.002, 0.0, float(np.pi), np.pi / 2)
    assert milling_forces(TANGENTIAL, free, FEED, 0.0).mean_torque < 1e-6 * whole.mean_torque
    with pytest.raises(OutOfRange, match="hole is"):
        check_profile(DISHED._replace(hole=0.007))


def test_thin_chips_of_the_end_have_their_share_of_the_edge_and_the_side_has_all() -> None:
    edge = edge_in_cut(DISHED, 2, 0.5, 1e-3, 0.0, float(np.pi), np.radians(1.0), THIN)
    side = [share for share, high in zip(edge.edge_share, edge.high, strict=True) if high > 0.0]
    end = [share for share, high in zip(edge.edge_share, edge.high, strict=True) if high == 0.0]
    assert side == [1.0] and end and all(0.2 < share < 0.6 for share in end)
    steep = edge_in_cut(DISHED, 2, 0.5, 1e-3, 0.0, float(np.pi), 1.0, THIN)
    assert steep.edge_share == pytest.approx([1.0] * len(steep.low))
    assert set(edge_in_cut(DISHED, 2, 0.5, 1e-3, 0.0, float(np.pi), 0.01).edge_share) == {1.0}     # of no law


def test_on_a_slope_less_than_its_dish_an_end_cuts_behind_its_axis_near_the_corner() -> None:
    edge = edge_in_cut(DISHED, 2, 0.5, 1e-3, 0.0, float(np.pi), np.radians(0.5), THIN)
    every = zip(edge.radius, edge.entry, edge.exit, edge.high, strict=True)
    end = [(radius, entry, leave) for radius, entry, leave, high in every if high == 0.0]
    over = np.tan(np.radians(2.0)) / np.tan(np.radians(0.5))
    assert min(r for r, _, _ in end) > 0.003 * (over - 1.0) / (over + 1.0)
    ahead = np.pi / 2.0
    assert not [arc for _, *arc in end if arc[0] < ahead < arc[1]]


@pytest.mark.parametrize(("law", "specific"), [
    (Coefficients(652e6, 202e6, 222e6, 14.8e3, 15.4e3, 1.58e3), 625e6),        # al_6082 of the starter library
    (Coefficients(2564e6, 1026e6, 641e6, 17e3, 17e3, 1.7e3), 1780e6)])         # s275_hot_rolled
def test_straight_down_is_as_the_lips_of_a_drill(law: Coefficients, specific: float) -> None:
    """The laws of milling and of drilling, published apart, for two flat lips."""
    feed, exponent = 4e-5, 0.2 if specific < 1e9 else 0.17
    mill = milling_forces(law, edge_in_cut(DISHED, 2, 0.5, 0.002, 0.0, float(np.pi), np.pi / 2), feed, 0.0)
    chip = float(drill_chip(2 * feed, np.pi))
    lips = drill_load(specific * (chip / 1e-3) ** -exponent, 0.006, 2 * feed, 0.0, 0.0, 1e-6)
    assert 1 / 1.5 < float(mill.mean_torque / lips.torque) < 1.5
    assert 0.5 < float(-mill.mean_z / lips.thrust) < 2.0


def test_a_leaning_edge_pushes_the_tool_into_its_collet() -> None:
    radial = Coefficients(0.0, 8e8, 0.0, 0.0, 0.0, 0.0)
    for profile in (BALL, BULL, CONE):
        assert milling_forces(radial, edge_in_cut(profile, 2, 0.0, 5e-4, 0.0, 1.5), FEED, 0.0).mean_z < 0.0
    assert milling_forces(radial, edge_in_cut(FLAT, 2, 0.0, 5e-4, 0.0, 1.5), FEED, 0.0).mean_z == pytest.approx(0.0)


def test_a_cone_by_hand() -> None:
    # one straight tooth, slot: chip f sin(k) sin(phi) over half a turn, edge a / sin k, F_z = F_a sin k - F_r cos k
    edge = edge_in_cut(CONE, 1, 0.0, 0.001, 0.0, float(np.pi))
    led = np.sin(np.pi / 4)
    got = milling_forces(LAW, edge, FEED, 0.0)
    mean = 0.001 * ((222e6 - 168.8e6) * FEED * led / np.pi + (0.7e3 - 26.6e3) / 2)
    assert got.mean_z == pytest.approx(mean, rel=1e-6)
    assert got.peak_torque == pytest.approx((767.01e6 * FEED * led + 27.7e3) * 0.001 / led * 0.001, rel=2e-3)


def test_a_narrow_slice_sees_only_its_part_of_the_band() -> None:
    # a ball beside a wall: band of 0.5 mm at 1 mm depth; the tip does not reach it
    wide = float(ball_diameter(1e-3, 0.006))
    edge = edge_in_cut(BALL, 2, 0.5, 1e-3, 0.0, float(np.arccos(1 - 2 * 5e-4 / wide)))
    assert min(edge.low) > 2e-4
    assert min(edge.radius) >= wide / 2 - 5e-4 - 1e-4


@ALL
@pytest.mark.parametrize("step", [2e-5, 4e-4, 1e-3])
@pytest.mark.parametrize("climb", [True, False])
def test_a_row_beside_a_row_takes_all_between_the_two(profile: Profile, step: float, climb: bool) -> None:
    """K_tc x what a turn takes off, depth x step but for the ridge left, is its work: also of a narrow row."""
    deep, wide = 1e-3, 2.0 * float(profile_radius(profile, 1e-3))
    free = float(np.arccos(2.0 * step / wide - 1.0))
    arc = (free, float(np.pi)) if climb else (0.0, float(np.pi) - free)
    edge = edge_in_cut(profile, 2, 0.5, deep, *arc, beside="row")
    z = deep * (np.arange(20000) + 0.5) / 20000
    area = np.minimum(2.0 * profile_radius(profile, z), step).sum() * deep / 20000
    torque = milling_forces(TANGENTIAL, edge, FEED, 0.0).mean_torque
    assert 2 * np.pi * torque == pytest.approx(8e8 * FEED * 2 * area, rel=1e-2)


def test_a_slot_has_no_row_beside_it() -> None:
    wall, row = (edge_in_cut(BALL, 2, 0.5, 1e-3, 0.0, float(np.pi), beside=at) for at in ("wall", "row"))
    assert wall == row


@pytest.mark.parametrize("climb", [True, False])
def test_a_band_narrower_than_a_slice_is_a_wedge(climb: bool) -> None:
    """Of a ball 1 mm deep beside a wall 2 um away: what its edge, leaning there by 2 mm in 2.24, takes of it."""
    wide, band = float(ball_diameter(1e-3, 0.006)), 2e-6
    free = float(np.arccos(2.0 * band / wide - 1.0))
    edge = edge_in_cut(BALL, 2, 0.5, 1e-3, *((free, float(np.pi)) if climb else (0.0, float(np.pi) - free)))
    taken = band**2 / 2.0 * (wide / 2.0) / 2e-3
    torque = milling_forces(TANGENTIAL, edge, FEED, 0.0).mean_torque
    assert 2 * np.pi * torque == pytest.approx(8e8 * FEED * 2 * taken, rel=0.05)


def test_uphill_the_tip_cuts_nothing() -> None:
    up, down = (milling_forces(LAW, edge_in_cut(BALL, 2, 0.5, 5e-4, 0.0, float(np.pi), s), FEED, 0.0)
                for s in (-0.3, 0.3))
    assert up.mean_z > down.mean_z


RADIAL = Coefficients(9e8, 8e8, 0.0, 1.5e4, 1.2e4, 0.0)


@given(st.floats(0.1, 1.2), st.floats(0.2, 1.0), st.floats(0.4, np.pi / 2))
def test_a_dovetail_cutter_is_a_cone_upside_down(angle: float, share: float, arc: float) -> None:
    """Side force and torque as of the cone; what pushes that into its collet pulls this out of it."""
    head = 0.003 / np.tan(angle) * 0.9 * share
    top = 0.012 - 2.0 * head * np.tan(angle)
    cone, tail = Profile(0.012, 0.0, angle, top), Profile(0.012, 0.0, -angle, 0.012, head, top)
    one, other = (milling_forces(RADIAL, edge_in_cut(p, 3, 0.0, head, np.pi - arc, np.pi), FEED, 0.0)
                  for p in (cone, tail))
    for name in ("mean_x", "mean_y", "peak_side", "mean_torque", "peak_torque"):
        near = 2e-3 if name.startswith("peak") else 1e-6            # as near as peaks are looked for
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=near), name
    assert one.mean_z < 0.0 and other.mean_z == pytest.approx(-float(one.mean_z), rel=1e-6)


def test_a_dovetail_edge_by_hand() -> None:
    """One straight tooth at both walls under a slot: torque by the local radius, integrated over the flank."""
    n, head, mouth, led = 400, 0.004, 0.003, float(np.cos(np.arctan2(3.0, 4.0)))
    z = head * (np.arange(n) + 0.5) / n
    r = np.asarray(profile_radius(TAIL, z))
    reach = np.arccos(mouth / r)
    zero, half = np.zeros(n), np.full(n, np.pi)
    edge = edge_of_slices(TAIL, 1, 0.0, np.tile(z, 2), np.full(2 * n, head / n), np.concatenate([zero, half - reach]),
                          np.concatenate([reach, half]))
    got = milling_forces(RADIAL, edge, FEED, 0.0)
    each = r * (RADIAL.tangential * FEED * led * (1.0 - np.cos(reach)) + RADIAL.tangential_edge * reach) / led
    assert got.mean_torque == pytest.approx(2.0 * each.sum() * head / n / (2.0 * np.pi), rel=1e-4)
    assert got.mean_z > 0.0 and got.mean_x == pytest.approx(float(got.mean_x))


def test_both_sides_of_a_t_slot_add_their_torque_and_not_their_push() -> None:
    """Two arcs of a cylinder: means are sums of those of each; along the slot they push the same way, across not."""
    reach = float(np.arccos(0.5))
    arcs = ((0.0, reach), (np.pi - reach, np.pi))
    sides = [milling_forces(RADIAL, Engagement(0.012, 4, 0.2, 0.003, *arc), FEED, 0.0) for arc in arcs]
    height, thick = np.full(2, 0.0015), np.full(2, 0.003)
    both = milling_forces(RADIAL, edge_of_slices(TEE, 4, 0.2, height, thick, *np.transpose(arcs)), FEED, 0.0)
    for name in ("mean_x", "mean_y", "mean_torque"):
        assert getattr(both, name) == pytest.approx(sum(getattr(side, name) for side in sides), rel=1e-6, abs=1e-9)
    assert abs(float(both.mean_x)) < abs(float(sides[0].mean_x)) and both.mean_torque > 1.9 * sides[0].mean_torque


def test_the_upper_side_of_a_head_cuts_on_the_way_up() -> None:
    """One straight tooth, straight up: the chip on the top is the feed, all round; the tool is pulled out."""
    level, up = (edge_in_cut(TEE, 1, 0.0, 0.003, 0.0, float(np.pi), slope) for slope in (0.0, -np.pi / 2))
    assert max(level.lead_angle) <= np.pi / 2 + 1e-9 and max(up.lead_angle) == np.pi
    top = [length for length, lead in zip(up.length, up.lead_angle, strict=True) if lead > 3.0]
    assert sum(top) == pytest.approx(2.0 * (0.006 - 0.0025))        # before and behind the axis
    got = milling_forces(RADIAL, up, FEED, 0.0)
    assert got.mean_z == pytest.approx((RADIAL.radial * FEED + RADIAL.radial_edge) * 0.0035, rel=1e-6)
    assert max(edge_in_cut(TEE, 1, 0.0, 0.002, 0.0, np.pi, -0.1).lead_angle) < 3.0      # the top is in the air


@pytest.mark.parametrize("wrong", [
    Profile(0.012, 0.0, 0.0, 0.012, 0.003, 0.0), Profile(0.012, 0.0, 0.0, 0.012, 0.003, 0.012),
    Profile(0.012, 0.0, -0.5, 0.012), Profile(0.012, 0.001, 0.0, 0.01, 0.003, 0.005),
    Profile(0.012, 0.0, 0.2, 0.01, 0.003, 0.005)])
def test_an_undercut_that_cannot_be_is_refused(wrong: Profile) -> None:
    with pytest.raises(OutOfRange, match="undercut"):
        check_profile(wrong)


def test_teeth_no_narrower_than_the_neck() -> None:
    with pytest.raises(OutOfRange, match="at the top of the head"):
        check_profile(Profile(0.012, 0.0, -1.0, 0.012, 0.003, 0.006))


def test_impossible_edges_are_refused() -> None:
    with pytest.raises(OutOfRange, match="tip and corner are"):
        check_profile(Profile(0.006, 0.003, 0.0, 0.001))
    with pytest.raises(OutOfRange, match=r"dish is 0\.5"):
        check_profile(FLAT._replace(dish=0.5))
    with pytest.raises(OutOfRange, match="half angle is 2"):
        check_profile(Profile(0.006, 0.0, 2.0, 0.0))
    one = np.array([1e-3])
    with pytest.raises(OutOfRange, match="no slice of the cutter"):
        edge_of_slices(FLAT, 2, 0.5, one, one, np.array([1.0]), np.array([1.0]))
    with pytest.raises(OutOfRange, match="below the tip"):
        edge_of_slices(FLAT, 2, 0.5, one, 3 * one, np.array([0.0]), np.array([1.0]))
    with pytest.raises(OutOfRange, match="slope is 2"):
        edge_in_cut(FLAT, 2, 0.5, 1e-3, 0.0, 1.0, 2.0)
    with pytest.raises(OutOfRange, match="depth of cut is -"):
        edge_in_cut(FLAT, 2, 0.5, -1e-3, 0.0, 1.0)
    assert isinstance(edge_in_cut(FLAT, 2, 0.5, 1e-3, 0.0, 1.0), Edge)
