"""A tool in its collet on a machine: closed forms of beams, and limits where one part is stiff."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import Belief
from firstoff.cutting.chatter import Mode, depth_limit, directional_factors
from firstoff.cutting.process_damping import flank_coefficient, mean_flank_damping
from firstoff.cutting.push_off import tool_stiffness
from firstoff.cutting.receptance import Section, clamped_modes, compliance, tip_modes
from firstoff.errors import OutOfRange
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from tests.cutting.shared import FOLDER
from tests.published import agrees, predicted

Array = npt.NDArray[np.float64]

CARBIDE, HEAVY = 6e11, 14500.0
MACHINE = Mode(4e6, 0.03, 2 * np.pi * 150.0)


@pytest.mark.parametrize(("which", "published"), [(0, 1.87510407), (1, 4.69409113)])
def test_a_slender_cantilever_has_the_frequencies_of_the_tables(which: int, published: float) -> None:
    length, diameter = 0.2, 0.002
    beam = clamped_modes((Section(length, diameter),), CARBIDE, HEAVY)
    ours = np.sqrt(beam.natural[which] * length**2 / (diameter / 4 * np.sqrt(CARBIDE / HEAVY)))
    agrees("chatter", f"clamped and free bar, frequency parameter of mode {which + 1}", "blevins1979", published,
           float(ours), "1", within=1e-3)


def test_shear_makes_a_stout_tool_softer() -> None:
    length, diameter = 0.02, 0.012
    natural = clamped_modes((Section(length, diameter),), CARBIDE, HEAVY).natural[0]
    slender = 1.87510407**2 / length**2 * diameter / 4 * np.sqrt(CARBIDE / HEAVY)
    assert 0.75 * slender < natural < 0.97 * slender


@given(st.floats(0.004, 0.03), st.floats(0.004, 0.03), st.floats(0.4, 1.0))
def test_the_modes_give_way_as_the_bent_beam_does(shank: float, flutes: float, core: float) -> None:
    # slender, so that shear is small; two modes hold nearly all of the static give
    thick = 0.002
    beam = clamped_modes((Section(shank, thick), Section(flutes, core * thick)), CARBIDE, HEAVY)
    static = 1.0 / tool_stiffness(CARBIDE, shank + flutes, flutes, thick, core * thick)
    modal = np.sum(beam.tip**2 / beam.natural**2)
    assert modal == pytest.approx(static, rel=0.15)


def test_the_whole_mass_is_carried_by_all_modes() -> None:
    beam = clamped_modes((Section(0.03, 0.006),), CARBIDE, HEAVY)
    assert beam.mass == pytest.approx(HEAVY * np.pi * 0.003**2 * 0.03)
    assert 0.75 < np.sum(beam.carried**2) / beam.mass < 1.0   # 61 % and 19 % in the first two


def test_a_tool_on_a_rigid_seat_keeps_its_own_modes() -> None:
    beam = clamped_modes((Section(0.04, 0.006),), CARBIDE, HEAVY)
    modes = tip_modes(beam, 1.0, 0.02, 1e13, 1e4, Mode(1e13, 0.01, 1e4))
    own = min(modes, key=lambda mode: abs(float(np.asarray(mode.natural)[0]) - beam.natural[0]))
    assert np.asarray(own.natural)[0] == pytest.approx(beam.natural[0], rel=1e-3)
    assert np.asarray(own.stiffness)[0] == pytest.approx((beam.natural[0] / beam.tip[0]) ** 2, rel=1e-2)
    assert np.asarray(own.damping)[0] == pytest.approx(0.02, rel=1e-2)


def test_a_stiff_light_tool_moves_with_the_machine() -> None:
    beam = clamped_modes((Section(0.01, 0.006),), CARBIDE, HEAVY)
    first = tip_modes(beam, 1.0, 0.02, 1e10, 0.001, MACHINE)[0]
    assert np.asarray(first.natural)[0] == pytest.approx(MACHINE.natural, rel=2e-3)
    assert np.asarray(first.stiffness)[0] == pytest.approx(MACHINE.stiffness, rel=5e-3)
    assert np.asarray(first.damping)[0] == pytest.approx(MACHINE.damping, rel=1e-2)


def test_at_rest_the_springs_are_in_a_row() -> None:
    beam = clamped_modes((Section(0.02, 0.006),), CARBIDE, HEAVY)
    modes = tip_modes(beam, 1.0, 0.02, 2e7, 0.2, MACHINE)
    static = 1 / 2e7 + 1 / MACHINE.stiffness + np.sum(beam.tip**2 / beam.natural**2)
    assert compliance(modes, 0.0)[0] == pytest.approx(static, rel=0.01)


@given(st.floats(0.015, 0.045), st.floats(1.1, 1.6))
def test_the_longer_the_stickout_the_lower_and_softer_the_tool_s_own_mode(out: float, more: float) -> None:
    short, long = (tip_modes(clamped_modes((Section(reach, 0.006),), CARBIDE, HEAVY), 1.0, 0.02, 2e7, 0.2, MACHINE)[2]
                   for reach in (out, more * out))
    assert np.asarray(long.natural)[0] < np.asarray(short.natural)[0]


def test_a_stiffer_material_is_a_stretch_of_all_frequencies() -> None:
    sections = (Section(0.02, 0.006), Section(0.02, 0.0048))
    one, other = clamped_modes(sections, CARBIDE, HEAVY), clamped_modes(sections, 1.44 * CARBIDE, HEAVY)
    assert other.natural == pytest.approx(1.2 * one.natural)
    plain = tip_modes(other, 1.0, 0.02, 2e7, 0.2, MACHINE)
    wanted = tip_modes(one, 1.2, 0.02, 2e7, 0.2, MACHINE)
    assert [float(m.stiffness[0]) for m in plain] == pytest.approx(  # type: ignore[index]
        [float(m.stiffness[0]) for m in wanted])                     # type: ignore[index]


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="no section"):
        clamped_modes((), CARBIDE, HEAVY)
    with pytest.raises(OutOfRange, match="length is 0"):
        clamped_modes((Section(0.0, 0.006),), CARBIDE, HEAVY)
    beam = clamped_modes((Section(0.02, 0.006),), CARBIDE, HEAVY)
    with pytest.raises(OutOfRange, match="stiffness of the seat is 0"):
        tip_modes(beam, 1.0, 0.02, 0.0, 0.2, MACHINE)
    with pytest.raises(OutOfRange, match="damping ratio is 1"):
        tip_modes(beam, 1.0, 1.2, 2e7, 0.2, MACHINE)


def book_limits(overhang: float, fluted: float, rpm: float, rows: int = 256) -> Array:
    """Depth limits of a slot in 6061 by a carbide cutter 10 mm, two flutes, by book figures alone [mm].

    The machine is a big one, of which nothing is printed: 30 N/um and 200 Hz, collet and nose as in the library.
    """
    rng = np.random.default_rng(9)

    def believed(middle: float, factor: float) -> Array:
        return np.asarray(middle * np.exp(np.log(factor) * rng.standard_normal(rows)))

    by = Belief.of(columns_of(load_shop(None)), rows=rows)
    law = [by.value("material:al_6082", name) for name in ("tangential", "radial")]
    beam = clamped_modes((Section(overhang - fluted, 0.010), Section(fluted, 0.008)), CARBIDE, HEAVY)
    machine = Mode(believed(30e6, 2.0), by.value("class:knee", "mode_damping"), believed(2 * np.pi * 200.0, 2.0))
    modes = tip_modes(beam, 1.0, by.value("tool_material:carbide", "mode_damping"),
                      by.value("collet:collet_10", "stiffness"), by.value("class:knee", "nose_mass"), machine)
    speed = rpm * 2 * np.pi / 60
    rub = flank_coefficient(law[0], by.value("tool_material:carbide", "flank_damping") * 1e-3)
    flanks = mean_flank_damping(rub, 0.010, 2, 0.0, np.pi)
    factors = directional_factors(law[1] / law[0], 0.0, np.pi)
    limit = depth_limit(law[0], 2, factors, modes, modes, speed)
    for _ in range(4):  # the flanks rub at the limit itself
        limit = np.sqrt(limit * depth_limit(law[0], 2, factors, modes, modes, speed, flanks, np.minimum(limit, 0.03)))
    return np.asarray(limit * by.value("discrepancy:chatter", "factor") * 1e3)


def measured(name: str) -> Any:
    """A measured set of the folder beside the published tables, or a skipped test."""
    path = FOLDER.parent / "measured" / name
    if not path.exists():
        pytest.skip(f"{name} is not there: set FIRSTOFF_SHARED to the folder of published tables")
    return json.loads(path.read_text(encoding="utf-8"))


def quantiles(limits: Array) -> tuple[float, float, float]:
    """5, 50 and 95 % of rows."""
    low, middle, high = np.percentile(limits, (5, 50, 95))
    return float(low), float(middle), float(high)


def test_measured_slots_in_6061_by_book_figures() -> None:
    # a cutter 80 mm out of its holder, brackets of the depth at which a slot began to sing on a slope; and one of
    # which only its ringing is printed, 2068 Hz: as far out as a cutter must be that rings so
    inside = []
    for row in measured("stability_chenz2020_6061.json")["data.csv"]:
        depth = (float(row["ap_from_mm"]) + float(row["ap_to_mm"])) / 2
        inside.append(predicted(
            "chatter", f"slot in 6061, carbide 10 mm, 80 mm out, {row['rpm']}/min, by the book (middle of a bracket)",
            "chenz2020", quantiles(book_limits(0.080, 0.030, float(row["rpm"]))), depth, "mm"))
    tests = measured("stability_zhang2020_6061.json")["data.csv"]
    quiet, loud = (float(next(row["ap_mm"] for row in tests if row["state"].startswith(state)))
                   for state in ("stable", "slight"))
    inside.append(predicted(
        "chatter", "slot in 6061, carbide 10 mm ringing at 2068 Hz, 6600/min, by the book (middle of a bracket)",
        "zhang2020", quantiles(book_limits(rings_at(2068.0), 0.025, 6600.0)), (quiet + loud) / 2, "mm"))
    # at 80 mm the book is far on the careful side: a bending bar of that length bears a tenth of what was measured
    assert inside == [False, False, False, False, True]


def rings_at(hertz: float) -> float:
    """How far a carbide cutter 10 mm is out of its holder that rings at this frequency, held rigidly [m]."""
    low, high = 0.03, 0.12
    for _ in range(40):
        out = (low + high) / 2
        beam = clamped_modes((Section(out - 0.025, 0.010), Section(0.025, 0.008)), CARBIDE, HEAVY)
        low, high = (out, high) if beam.natural[0] > 2 * np.pi * hertz else (low, out)
    return low
