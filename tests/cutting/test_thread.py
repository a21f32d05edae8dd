"""Threads: tables of the standards, and when the screw breaks before the thread strips."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.thread import (
    COARSE,
    COUNTERSUNK,
    ShearAreas,
    breaking_load,
    countersink_diameter,
    length_to_break,
    metric_profile,
    stripping_load,
    thread_height_share,
    thread_shear_areas,
)
from firstoff.errors import OutOfRange
from tests.cutting.shared import table
from tests.published import agrees

STEEL, ALUMINIUM = 0.6 * 410e6, 0.6 * 310e6   # least strengths of S275 and 6082-T6, shear at 0.6 (vdi2230)
SCREW = 800e6                                 # class 8.8 (iso898)


def areas(name: str, length: float | np.ndarray) -> ShearAreas:
    """Shear areas of a coarse thread, 6H/6g."""
    size = COARSE[name]
    return thread_shear_areas(size.pitch, length, size.least_major, size.least_pitch, size.most_pitch,
                              size.most_minor)


def test_m5_of_the_standard() -> None:
    got = metric_profile(0.005, 0.0008)
    for what, source, published, ours in (
        ("pitch diameter of M5", "iso724", 4.4804e-3, got.pitch_diameter),
        ("root diameter of an M5 screw", "iso898", 4.0185e-3, got.root_diameter),
        ("minor diameter of an M5 nut", "iso724", 4.134e-3, got.minor_diameter),
    ):
        agrees("threads", what, source, 1e3 * published, 1e3 * float(ours), "mm", within=1e-4, absolute=True)
    agrees("threads", "stress area of M5", "iso898", 14.2, 1e6 * float(got.stress_area), "mm2", within=2e-3)


def test_whole_table_of_threads() -> None:
    # TH-01: iso724, iso2306, iso898, iso10642
    given_sizes = table("threads.json")
    assert set(given_sizes) == set(COARSE)
    for name, size in given_sizes.items():
        got, ours = metric_profile(size["d"] * 1e-3, size["P"] * 1e-3), COARSE[name]
        wanted = [size[key] * 1e-3 for key in ("d2", "d3", "D1")]
        assert (got.pitch_diameter, got.root_diameter, got.minor_diameter) == pytest.approx(wanted, abs=1e-7)
        assert got.stress_area == pytest.approx(size["As_formula"] * 1e-6, rel=1e-3)
        assert (ours.nominal, ours.pitch, ours.tap_drill) == pytest.approx(
            [size["d"] * 1e-3, size["P"] * 1e-3, size["tap_drill_mm"] * 1e-3])
        if "iso10642_dk_theoretical_k" in size:
            assert COUNTERSUNK[name] == pytest.approx([item * 1e-3 for item in size["iso10642_dk_theoretical_k"]])
        if "As_iso898" in size:
            load = breaking_load(SCREW, got.stress_area)           # 8.8 has 830 N/mm2 above M16
            agrees("threads", f"load at which {name} of class 8.8 breaks at least", "iso898",
                   size["min_ultimate_N"]["8.8"], float(load), "N", within=0.005)


@pytest.mark.parametrize("name", list(COARSE))
def test_limits_follow_the_formulas_of_the_standard(name: str) -> None:
    # iso965: allowance 15 + 11 P; grade 6: 180 P^(2/3) - 3.15 / sqrt P on d, 90 P^0.4 d^0.1 on d2, 1.32 times that
    # on D2, 433 P - 190 P^1.22 (from 1 mm 230 P^0.7) on D1, in um of mm, then rounded by up to 5 in 100
    size = COARSE[name]
    basic = metric_profile(size.nominal, size.pitch)
    p, d = size.pitch * 1e3, size.nominal * 1e3
    span = next(low for low in (1.4, 2.8, 5.6, 11.2) if low < d <= 2 * low) * np.sqrt(2.0)
    on_pitch = 90 * p**0.4 * span**0.1
    on_minor = 230 * p**0.7 if p >= 1.0 else 433 * p - 190 * p**1.22
    allowance = 15 + 11 * p
    got = [size.nominal - size.least_major, basic.pitch_diameter - size.least_pitch,
           size.most_pitch - basic.pitch_diameter, size.most_minor - basic.minor_diameter]
    wanted = [180 * p ** (2 / 3) - 3.15 / np.sqrt(p) + allowance, on_pitch + allowance, 1.32 * on_pitch, on_minor]
    assert np.array(got) * 1e6 == pytest.approx(np.array(wanted), rel=0.05)
    assert size.tap_drill < size.most_minor + 5e-5


def test_tap_drill_of_m5_leaves_92_in_100() -> None:
    agrees("threads", "height of thread over H1, M5 in a 4.2 mm hole", "iso724", 0.924,
           float(thread_height_share(0.005, 0.0008, 0.0042)), "1", within=1e-3, absolute=True)
    assert thread_height_share(0.005, 0.0008, metric_profile(0.005, 0.0008).minor_diameter) == pytest.approx(1.0)
    assert thread_height_share(0.005, 0.0008, 0.0052) == pytest.approx(0.0)


def test_shear_areas_of_m10() -> None:
    got = areas("M10", 0.010)
    agrees("threads", "shear area of an M10 screw over 10 mm, 6g in 6H (appendix B)", "asmeb1", 155.796,
           1e6 * float(got.external), "mm2", within=1e-3)
    agrees("threads", "shear area of an M10 nut over 10 mm, 6g in 6H (appendix B)", "asmeb1", 214.769,
           1e6 * float(got.internal), "mm2", within=1e-3)


def test_length_of_engagement_of_the_handbook() -> None:
    # M10 of class 10.9, 1200 N/mm2 at most, in aluminium of 130 N/mm2 in shear; a close screw, d at least 9.968
    stripping = stripping_load(thread_shear_areas(0.0015, 0.010, 9.968e-3, 8.862e-3, 9.206e-3, 8.676e-3), 1e12, 130e6)
    length = length_to_break(1200e6 * 58e-6, stripping, 0.010)
    agrees("threads", "length of M10 10.9 in aluminium from which the screw breaks first (example)", "boltbook", 21.6,
           1e3 * float(length), "mm", within=0.005)


@pytest.mark.parametrize(("strength", "length"), [(STEEL, 4.5e-3), (ALUMINIUM, 6e-3)])
def test_m5_breaks_before_it_strips_from(strength: float, length: float) -> None:
    load = breaking_load(SCREW, metric_profile(0.005, 0.0008).stress_area)
    stripping = stripping_load(areas("M5", 3e-3), 0.6 * SCREW, strength)
    assert stripping < load
    assert length_to_break(load, stripping, 3e-3) == pytest.approx(length, rel=0.05)


@given(st.floats(1e-3, 1e-2), st.sampled_from(sorted(COARSE)))
def test_stripping_grows_with_the_length(length: float, name: str) -> None:
    once, twice = (stripping_load(areas(name, part), 0.6 * SCREW, STEEL) for part in (length, 2 * length))
    assert twice == pytest.approx(2 * once)
    assert areas(name, length).internal > areas(name, length).external


def test_a_hole_wider_than_the_screw_holds_nothing() -> None:
    got = thread_shear_areas(0.0008, 0.005, 0.0048, 0.0044, 0.0046, 0.0049)
    assert (float(got.external), float(got.internal)) == (0.0, 0.0)


def test_countersink_for_a_head_below_the_surface() -> None:
    # 90 degrees: twice the sink wider
    assert countersink_diameter(8.96e-3, np.array([0.3e-3, 0.0]), np.pi / 4) == pytest.approx([9.56e-3, 8.96e-3])


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match=r"pitch is 0\.003"):
        metric_profile(0.005, 0.003)
    with pytest.raises(OutOfRange, match="hole diameter is 0"):
        thread_height_share(0.005, 0.0008, 0.0)
    with pytest.raises(OutOfRange, match=r"length of engagement is -0\.001"):
        areas("M5", -1e-3)
    with pytest.raises(OutOfRange, match="shear strength of the nut is 0"):
        stripping_load(areas("M5", 3e-3), SCREW, 0.0)
    with pytest.raises(OutOfRange, match="tensile strength is -1"):
        breaking_load(-1.0, 1e-5)
    with pytest.raises(OutOfRange, match="stripping load is 0"):
        length_to_break(1e4, 0.0, 3e-3)
    with pytest.raises(OutOfRange, match="half angle is 2"):
        countersink_diameter(0.009, 0.0, 2.0)
