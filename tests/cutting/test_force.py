"""Milling forces: published coefficients, closed-form means, mirror, and an integral done by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.force import (
    Coefficients,
    Engagement,
    Forces,
    check_engagement,
    milling_forces,
    normal_force,
    specific_force,
)
from firstoff.errors import OutOfRange
from tests.cutting.shared import table
from tests.published import agrees

# cjme2021, table 5: 7075-T6, carbide, dry
LAW = Coefficients(767.01e6, 168.8e6, 222.0e6, 27.7e3, 26.6e3, 0.7e3)
SLOT = Engagement(0.010, 2, float(np.radians(30)), 0.002, 0.0, float(np.pi))
FEED = 0.05e-3


def cut(direction: str, helix: float, teeth: int = 4, depth: float = 0.003) -> Engagement:
    """Quarter of a turn of a 12 mm cutter."""
    angles = engagement_angles(0.006, 0.012, direction)  # type: ignore[arg-type]
    return Engagement(0.012, teeth, helix, depth, float(angles.entry), float(angles.exit))


def closed_means(law: Coefficients, e: Engagement, feed: float) -> tuple[float, float, float]:
    """Mean forces in closed form: altintas2012, ch. 2."""
    k = Coefficients(*(float(item) for item in law))
    edge = e.teeth * e.depth_of_cut / (2 * np.pi)
    chip = edge * feed / 4

    def at(p: float) -> np.ndarray:
        return np.array([
            chip * (k.tangential * np.cos(2 * p) - k.radial * (2 * p - np.sin(2 * p)))
            + edge * (-k.tangential_edge * np.sin(p) + k.radial_edge * np.cos(p)),
            chip * (k.tangential * (2 * p - np.sin(2 * p)) + k.radial * np.cos(2 * p))
            - edge * (k.tangential_edge * np.cos(p) + k.radial_edge * np.sin(p)),
            -4 * chip * k.axial * np.cos(p) + edge * k.axial_edge * p,
        ])

    return tuple(at(e.exit) - at(e.entry))


def test_published_slot() -> None:
    # formulas of altintas2012; two independent methods agreed to 5 digits
    got = milling_forces(LAW, SLOT, FEED, 0.0)
    for what, published, ours, unit, within in (
        ("mean force along the feed", -42.3082, got.mean_x, "N", 1e-4),
        ("mean force square to the feed", 73.6192, got.mean_y, "N", 1e-4),
        ("mean force along the tool", 15.533, got.mean_z, "N", 1e-4),
        ("largest side force", 149.04, got.peak_side, "N", 1e-3),
        ("mean torque", 0.521147, got.mean_torque, "N m", 1e-4),
        ("peak torque", 0.659653, got.peak_torque, "N m", 1e-3),
    ):
        agrees("force", f"{what}: slot, D10, 2 flutes, 2 mm deep, 0.05 mm a tooth, 7075 (table 5)", "cjme2021",
               published, float(ours), unit, within=within)


def test_whole_table_of_forces() -> None:
    # coefficients of cjme2021
    for number, case in enumerate(table("forces.json"), 1):
        k = case["coeffs"]
        law = Coefficients(*(k[name] * 1e6 for name in ("Ktc", "Krc", "Kac")),
                           *(k[name] * 1e3 for name in ("Kte", "Kre", "Kae")))
        e = Engagement(case["D"] * 1e-3, case["N"], np.radians(case["helix_deg"]), case["axial_mm"] * 1e-3,
                       np.radians(case["phi_st_deg"]), np.radians(case["phi_ex_deg"]))
        got = milling_forces(law, e, case["feed_mm_tooth"] * 1e-3, 0.0)
        for axis, published, ours in zip("xyz", case["mean_closed_form_N"], (got.mean_x, got.mean_y, got.mean_z),
                                         strict=True):
            agrees("force", f"mean force in {axis}, closed form (ch. 2), case {number}: D{case['D']:g}, "
                   f"{case['N']} flutes, {case['axial_mm']:g} mm deep", "altintas2012", published, float(ours), "N",
                   within=1e-4)
        ends = [max(abs(high), abs(low)) for high, low in zip(case["max"], case["min"], strict=True)]
        assert (got.peak_x, got.peak_y, got.peak_z) == pytest.approx(ends, rel=1e-3)
        torques = [case["mean_torque_Nmm"] * 1e-3, case["peak_torque_Nmm"] * 1e-3]
        assert (got.mean_torque, got.peak_torque) == pytest.approx(torques, rel=1e-3)
        assert got.peak_side == pytest.approx(case["peak_xy"], rel=1e-3)


@given(st.floats(0.02, 1.0), st.floats(0.0, 1.2), st.integers(1, 6), st.floats(1e-4, 2e-2),
       st.sampled_from(["climb", "conventional", "slot"]))
def test_means_are_the_closed_form_whatever_the_helix(
    share: float, helix: float, teeth: int, depth: float, direction: str
) -> None:
    angles = engagement_angles(share, 1.0, direction)  # type: ignore[arg-type]
    e = Engagement(0.01, teeth, helix, depth, float(angles.entry), float(angles.exit))
    got, wanted = milling_forces(LAW, e, FEED, 0.0), closed_means(LAW, e, FEED)
    assert (got.mean_x, got.mean_y, got.mean_z) == pytest.approx(wanted, rel=1e-6, abs=1e-6 * max(map(abs, wanted)))
    for mean, peak in ((got.mean_x, got.peak_x), (got.mean_y, got.peak_y), (got.mean_torque, got.peak_torque)):
        assert abs(mean) <= peak * (1 + 1e-3)


@given(st.floats(0.05, 1.0), st.floats(0.0, 1.0))
def test_mean_force_does_the_work_of_the_torque(share: float, helix: float) -> None:
    # cutting part of the mean torque: K_tc x volume of a turn / 2 pi, whatever the engagement
    angles = engagement_angles(share * 0.01, 0.01, "climb")
    e = Engagement(0.01, 3, helix, 0.004, float(angles.entry), float(angles.exit))
    bare = Coefficients(8e8, 0.0, 0.0, 0.0, 0.0, 0.0)
    volume = share * 0.01 * 0.004 * 3 * FEED
    assert milling_forces(bare, e, FEED, 0.0).mean_torque == pytest.approx(8e8 * volume / (2 * np.pi))


@given(st.floats(1e-7, 3e-4), st.integers(1, 5), st.floats(0.1, 1.0))
def test_runout_takes_no_more_and_no_less_metal(offset: float, teeth: int, share: float) -> None:
    angles = engagement_angles(share, 1.0, "climb")
    e = Engagement(0.01, teeth, 0.5, 0.004, float(angles.entry), float(angles.exit))
    bare = Coefficients(8e8, 0.0, 0.0, 0.0, 0.0, 0.0)
    even, uneven = (milling_forces(bare, e, FEED, r) for r in (0.0, offset))
    assert uneven.mean_torque == pytest.approx(even.mean_torque, rel=2e-3)
    assert uneven.peak_torque >= even.peak_torque * (1 - 1e-3)


def test_large_runout_leaves_one_tooth_cutting() -> None:
    # two teeth, offset far above the feed: one tooth takes both chips
    one = milling_forces(LAW, SLOT._replace(teeth=1), 2 * FEED, 0.0)
    two = milling_forces(LAW, SLOT, FEED, 10 * FEED)
    for name in ("mean_x", "mean_y", "mean_torque", "peak_side", "peak_torque"):
        assert getattr(two, name) == pytest.approx(getattr(one, name), rel=2e-3)


def test_small_runout_adds_twice_the_offset_to_the_larger_chip_of_two() -> None:
    # kline1983: the tooth that stands out takes f + 2 r; straight flute, so the peak is K_tc a (f + 2 r) R
    bare = Coefficients(8e8, 0.0, 0.0, 0.0, 0.0, 0.0)
    got = milling_forces(bare, SLOT._replace(helix=0.0), FEED, 5e-6)
    assert got.peak_torque == pytest.approx(8e8 * 0.002 * (FEED + 1e-5) * 0.005, rel=1e-3)


def test_straight_flute_is_the_limit_of_a_small_helix() -> None:
    straight, slight = (milling_forces(LAW, cut("climb", h), FEED, 0.0) for h in (0.0, 1e-4))
    for name in Forces._fields:
        assert getattr(straight, name) == pytest.approx(getattr(slight, name), rel=1e-3)


def test_straight_flute_peak_by_hand() -> None:
    # one straight tooth in a quarter immersion, conventional: at exit phi = pi/2, F_x = -(K_rc f + K_re) a
    got = milling_forces(LAW, cut("conventional", 0.0, teeth=1), FEED, 0.0)
    assert got.peak_y == pytest.approx((767.01e6 * FEED + 27.7e3) * 0.003, rel=1e-4)
    assert got.peak_torque == pytest.approx((767.01e6 * FEED + 27.7e3) * 0.003 * 0.006, rel=1e-4)


def test_up_and_down_are_mirrors_in_the_radial_part() -> None:
    # turning the engagement about pi/2 mirrors y: tangential force alone in x, radial alone in y change sign
    t, r = (Coefficients(*(k * on for k, on in zip(LAW, mask, strict=True)))
            for mask in ((1, 0, 0, 1, 0, 0), (0, 1, 0, 0, 1, 0)))
    for law, sign in ((t, (-1, 1)), (r, (1, -1))):
        up, down = (milling_forces(law, cut(d, 0.5), FEED, 0.0) for d in ("conventional", "climb"))
        assert up.mean_x == pytest.approx(sign[0] * down.mean_x)
        assert up.mean_y == pytest.approx(sign[1] * down.mean_y)
        assert up.peak_side == pytest.approx(down.peak_side, rel=1e-3)


@pytest.mark.parametrize("varied", [False, True])
def test_rows_equal_single_calls(varied: bool) -> None:
    rng = np.random.default_rng(3)
    law = Coefficients(*(float(item) * rng.lognormal(0, 0.3, 20) for item in LAW))
    offset = 5e-6 * rng.lognormal(0, 0.6, 20) if varied else np.full(20, 5e-6)
    rows = milling_forces(law, cut("climb", 0.5), FEED, offset)
    for i in range(20):
        one = milling_forces(Coefficients(*(np.asarray(k)[i] for k in law)), cut("climb", 0.5), FEED, offset[i])
        for name in Forces._fields:
            # rows of unequal runout are interpolated over offset / feed; a mean may be a small difference
            scale = one.peak_torque if "torque" in name else one.peak_side
            off = abs(getattr(rows, name)[i] - getattr(one, name))
            assert off <= scale * (5e-3 if varied else 1e-9), name


def test_normal_force_at_a_moment_by_hand() -> None:
    # one tooth, straight, at phi: F_y = a [(K_tc h + K_te) sin - (K_rc h + K_re) cos], h = f sin
    e, phi = cut("climb", 0.0, teeth=1), np.array([1.8, 2.4, 3.0])
    h = FEED * np.sin(phi)
    wanted = 0.003 * ((767.01e6 * h + 27.7e3) * np.sin(phi) - (168.8e6 * h + 26.6e3) * np.cos(phi))
    assert normal_force(LAW, e, FEED, phi) == pytest.approx(wanted, rel=1e-5)
    assert normal_force(LAW, e, FEED, np.array([0.5])) == pytest.approx(0.0)


def test_power_law_of_mild_steel() -> None:
    # read from a safety sheet
    table = {0.16: 2600.0, 0.25: 2400.0, 0.4: 2200.0, 0.63: 2050.0, 1.0: 1900.0, 1.6: 1800.0}
    for feed, published in table.items():
        kc = specific_force(1811e6, 0.162, feed * 1e-3 * np.sin(np.pi / 4), 1e-3)
        agrees("force", f"specific force of St 42 at 45 degrees, {feed} mm a turn", "vdi3206", published,
               float(kc) / 1e6, "N/mm2", within=0.03)


@pytest.mark.parametrize(("change", "message"), [
    ({"teeth": 0}, "number of teeth is 0"), ({"depth_of_cut": -1e-3}, "depth of cut is -0.001"),
    ({"diameter": 0.0}, "diameter is 0"), ({"helix": 2.0}, "helix is 2"), ({"exit": 0.0}, "not above entry"),
    ({"entry": -0.1}, "angle of entry is -0.1"), ({"depth_of_cut": float("nan")}, "depth of cut is nan"),
])
def test_impossible_cuts_are_refused(change: dict[str, float], message: str) -> None:
    with pytest.raises(OutOfRange, match=message):
        check_engagement(SLOT._replace(**change))  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match=message):
        milling_forces(LAW, SLOT._replace(**change), FEED, 0.0)  # type: ignore[arg-type]


def test_impossible_chips_are_refused() -> None:
    with pytest.raises(OutOfRange, match="feed per tooth is 0"):
        milling_forces(LAW, SLOT, 0.0, 0.0)
    with pytest.raises(OutOfRange, match="coefficient is nan"):
        milling_forces(LAW._replace(radial=float("nan")), SLOT, FEED, 0.0)


def test_the_mean_along_the_tool_alone_is_the_same() -> None:
    from firstoff.cutting.force import mean_axial_force
    from tests.cutting.examples import _CUT, _LAW, _RUNOUT, _SLICES

    for edge in (_CUT, _SLICES):
        whole = milling_forces(_LAW, edge, 3e-5, _RUNOUT).mean_z
        assert mean_axial_force(_LAW, edge, 3e-5, _RUNOUT) == pytest.approx(whole, rel=1e-12)
