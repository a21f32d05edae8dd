"""Tightened joints under load: published compliances, shares and pressures; limits that must hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.clamped import (
    bedded_preload,
    cone_compliance,
    crushing_load,
    head_face,
    load_share,
    opening_load,
    screw_compliance,
)
from firstoff.holding.screw import proof_load, torque_by_factor
from tests.published import agrees

INCH, POUND = 0.0254, 4.4482216152605
PSI = POUND / INCH**2
RATE = 1e6 * POUND / INCH         # [N/m] a million pounds an inch
ANGLE = np.pi / 6.0
COMPLIANCE = st.floats(1e-10, 1e-7)

# Two plates under a 1/2 in bolt: height and narrow end of each cone [in], modulus [psi], stiffness [Mlbf/in].
CONES = [(0.595, 0.75, 30e6, 30.80, "steel"), (0.0775, 1.437, 14.5e6, 285.5, "cast iron, its upper part"),
         (0.6725, 0.75, 14.5e6, 14.15, "cast iron")]


@pytest.mark.parametrize(("length", "face", "modulus", "published", "what"), CONES)
def test_published_stiffness_of_cones(
    length: float, face: float, modulus: float, published: float, what: str,
) -> None:
    give = cone_compliance(length * INCH, face * INCH, 0.5 * INCH, modulus * PSI, ANGLE)
    agrees("joints", f"stiffness of the cone under a 1/2 in bolt, {what} (ex. 8-2)", "shigley", published,
           float(1.0 / give) / RATE, "Mlbf/in", within=0.005)


def test_published_stiffness_of_a_joint() -> None:
    mixed = sum(float(cone_compliance(t * INCH, d * INCH, 0.5 * INCH, e * PSI, ANGLE)) for t, d, e, _, _ in CONES)
    agrees("joints", "stiffness of a steel on a cast iron plate under a 1/2 in bolt (ex. 8-2)", "shigley", 9.378,
           1.0 / mixed / RATE, "Mlbf/in", within=0.005)
    steel = 2.0 * cone_compliance(0.6725 * INCH, 0.75 * INCH, 0.5 * INCH, 30e6 * PSI, ANGLE)
    agrees("joints", "stiffness of two steel plates under a 1/2 in bolt (ex. 8-2)", "shigley", 14.64,
           float(1.0 / steel) / RATE, "Mlbf/in", within=0.005)


def test_published_joint_of_a_pressure_vessel() -> None:
    share = load_share(1.0 / (5.21 * RATE), 1.0 / (8.95 * RATE))
    agrees("joints", "share of the load that a 5/8 in bolt takes (ex. 8-4)", "shigley", 0.368, float(share), "1",
           within=0.003)
    preload = 0.75 * proof_load(0.226 * INCH**2, 85000.0 * PSI)
    agrees("joints", "preload of a 5/8-11 bolt of grade 5, 75 % of proof (ex. 8-4)", "shigley", 14.4,
           float(preload) / (1e3 * POUND), "kip", within=0.003)
    agrees("joints", "load at which its joint opens over 6 kip a bolt (ex. 8-4)", "shigley", 3.80,
           float(opening_load(preload, share)) / (6e3 * POUND), "1", within=0.003)
    agrees("joints", "torque of a 5/8-11 bolt, lubricated, K 0.18 (ex. 8-4)", "shigley", 1620.0,
           float(torque_by_factor(0.18, 0.625 * INCH, preload)) / (POUND * INCH), "lbf in", within=0.005)


@pytest.mark.parametrize(("strength", "pressure", "hardness"), [
    (340.0, 490.0, 1.45), (470.0, 710.0, 1.45), (510.0, 760.0, 1.45),       # S235, E295, S355
    (290.0, 260.0, 0.87), (260.0, 230.0, 0.87), (250.0, 900.0, 3.5),        # AW-6082 twice, cast iron 250
])
def test_hardness_is_that_of_the_table(strength: float, pressure: float, hardness: float) -> None:
    """Table A9 of vdi2230: what the shares were taken from, so no row of the page of published values."""
    assert crushing_load(1.0, strength, hardness) == pytest.approx(pressure, rel=0.06)


def test_compliance_of_a_long_free_thread_is_hookes() -> None:
    # Very long: head and nut vanish beside the core, delta = l/(E A).
    long = screw_compliance(10.0, 4e-3, 3.141e-3, 205e9, 70e9)
    assert long == pytest.approx(10.0 / (205e9 * np.pi / 4.0 * 3.141e-3**2), rel=2e-3)


@given(COMPLIANCE, COMPLIANCE, st.floats(1.0, 1e5), st.floats(0.0, 1.0))
def test_load_is_shared_and_none_lost(screw: float, parts: float, preload: float, where: float) -> None:
    share = float(load_share(screw, parts, where))
    assert 0.0 <= share < 1.0
    load = float(opening_load(preload, share))
    # At opening the parts bear nothing: the screw's pull has grown to the whole load.
    assert preload + share * load == pytest.approx(load)


@given(COMPLIANCE, COMPLIANCE, st.floats(0.0, 2e-5))
def test_bedding_in_takes_what_the_faces_flatten(screw: float, parts: float, bedding: float) -> None:
    left = float(bedded_preload(3000.0, bedding, 4000.0, screw, parts))
    assert 0.0 < left <= 3000.0
    assert (3000.0 - left) * (screw + parts) == pytest.approx(bedding * left / 4000.0, abs=1e-15)


def test_softer_parts_give_more() -> None:
    soft, hard = (float(cone_compliance(5e-3, 6.5e-3, 4.5e-3, e, ANGLE)) for e in (70e9, 210e9))
    assert soft == pytest.approx(3.0 * hard)
    assert head_face(6.5e-3, 4.5e-3) == pytest.approx(np.pi / 4.0 * (6.5e-3**2 - 4.5e-3**2))


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="a head of"):
        cone_compliance(5e-3, 4e-3, 4.5e-3, 70e9, ANGLE)
    with pytest.raises(OutOfRange, match=r"half_angle is 1\.6"):
        cone_compliance(5e-3, 6e-3, 4.5e-3, 70e9, 1.6)
    with pytest.raises(OutOfRange, match="a head of"):
        head_face(4e-3, 4e-3)
    with pytest.raises(OutOfRange, match="introduction is 2"):
        load_share(1e-9, 1e-9, 2.0)
    with pytest.raises(OutOfRange, match="share is 1"):
        opening_load(100.0, 1.0)
    with pytest.raises(OutOfRange, match="preload holds nan"):
        bedded_preload(np.nan, 1e-6, 1e3, 1e-9, 1e-9)
    with pytest.raises(OutOfRange, match="clamp_length is 0"):
        screw_compliance(0.0, 4e-3, 3e-3, 205e9, 70e9)
