"""Heat: worked examples of the books, limits of the models, measured temperatures, cooling in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import Belief, low_median_high
from firstoff.checks.si import value
from firstoff.cutting.heat import (
    COLOURS,
    Chip,
    Solid,
    chip_colour,
    colour_chance,
    cooling_time,
    growth,
    part_rise,
    patch_factor,
    rise_by_similarity,
    shear_strain,
    temperatures,
    work_share,
)
from firstoff.errors import OutOfRange
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from tests.published import agrees, predicted

STEEL, CARBIDE = Solid(50.0, 3.6e6), Solid(85.0, 4e6)
#: measured mean temperature of the shear zone by m/min [degrees C]: figure 6.18, read off
SHEAR_ZONE = {"1018 steel": (120, 170, 225, 270), "2024 aluminium": (60, 80, 100, 110),
              "CA330 brass": (80, 120, 165, 195)}
SPEEDS = (50.0, 100.0, 200.0, 300.0)


def test_similarity_of_the_book() -> None:
    # TE-01: u 1.038 N m/mm3, 100 m/min, 0.5 mm, rho c 3.0 J/(cm3 K), K 50 mm2/s
    got = rise_by_similarity(1.038e9, 3.0e6, 50e-6, 100.0 / 60.0, 0.5e-3)
    agrees("heat", "rise at the edge, 100 m/min, chip 0.5 mm (worked example on Cook's law)", "groover", 353.0,
           float(got), "K", within=5e-3)
    second = 22.0 + rise_by_similarity(1180.0 / (0.28e-3 * 2.6e-3), 2.9e6, 0.8e-4, 3.5, 0.28e-3)
    agrees("heat", "temperature at the edge, 3.5 m/s, chip 0.28 mm, 1180 N (problem on Cook's law)", "groover", 537.0,
           float(second), "C", within=5e-3)


def test_mild_steel_of_the_book() -> None:
    # rake 0, 890 N and 667 N, 2 m/s, 0.25 x 2.5 mm, ratio 0.3, contact 0.75 mm: shear zone 275 K, face 372 K more
    found = temperatures(Solid(43.6, 7200.0 * 502.0), Solid(60.0, 4e6), Chip(0.25e-3, 2.5e-3, 2.0, 0.3),
                         890.0 / (0.25e-3 * 2.5e-3), 667.0 * 0.3 / 890.0)
    agrees("heat", "rise at the shear plane, mild steel, 2 m/s, chip 0.25 mm (worked example)", "boothroyd", 275.0,
           float(found.shear_rise), "K", within=0.1,
           miss="another partition: ours leaves 28 % of the heat of shearing in the work, theirs 10 %")
    agrees("heat", "largest rise on the tool's face, the same cut (worked example; ours is the mean)", "boothroyd",
           647.0, float(found.interface_rise), "K", within=0.15)


def _prior() -> Belief:
    return Belief.of(columns_of(load_shop(None)), rows=2048)


@pytest.mark.parametrize(("name", "material", "scored"), [
    ("1018 steel", "s275_hot_rolled", False), ("2024 aluminium", "al_7075", False),
    ("CA330 brass", "brass_cz121", True),
])
def test_measured_shear_zones(name: str, material: str, scored: bool) -> None:
    """TE-04. The discrepancy was fitted on steel and aluminium; only brass, which was not, is kept for the page."""
    belief, inside = _prior(), 0
    feed = np.exp(np.log(0.15e-3) + np.log(1.6) * np.linspace(-2.0, 2.0, belief.rows))     # not stated there
    feed = np.random.default_rng(4).permutation(feed)
    rub = value(belief, "shop", "friction_ratio")
    work = f"material:{material}"
    for speed, measured in zip(SPEEDS, SHEAR_ZONE[name], strict=True):
        energy = value(belief, work, "tangential") + value(belief, work, "tangential_edge") / feed
        found = temperatures(
            Solid(value(belief, work, "conductivity"), value(belief, work, "heat_capacity")), CARBIDE,
            Chip(feed, 2e-3, speed / 60.0, value(belief, "shop", "chip_ratio")), energy, rub / (1.0 + rub))
        told = low_median_high(20.0 + found.shear_rise * value(belief, "discrepancy:heat", "factor"))
        what = f"shear zone of {name} at {speed:.0f} m/min, feed not stated"
        inside += (predicted("heat", what, "stephenson", told, float(measured), "C") if scored
                   else told[0] <= measured <= told[2])
    assert inside >= 3


@given(st.floats(0.2, 0.9), st.floats(-0.2, 0.4))
def test_strain_is_that_of_the_triangle(ratio: float, rake: float) -> None:
    plane = np.arctan2(ratio * np.cos(rake), 1.0 - ratio * np.sin(rake))
    assert shear_strain(ratio, rake) == pytest.approx(np.cos(rake) / np.sin(plane) / np.cos(plane - rake))


def test_strain_at_no_rake_is_ratio_and_its_inverse() -> None:
    assert shear_strain(0.4) == pytest.approx(0.4 + 1.0 / 0.4)


def test_share_of_the_work_falls_with_speed_and_chip() -> None:
    share = work_share(3.0, 1.4e-5, np.array([1e-6, 0.5, 1.0, 1e6]), 1e-4)
    assert np.all(np.diff(share) < 0.0)
    assert share[0] == pytest.approx(1.0, abs=2e-3) and share[-1] == pytest.approx(0.0, abs=2e-3)


def test_patch_by_summing_points() -> None:
    # a square of side 1 at the edge of a quarter space: with its mirror an oblong 2 x 1 on a half space
    number = 60
    x, y = np.meshgrid((np.arange(number) + 0.5) / number * 2.0, (np.arange(number) + 0.5) / number)

    def corner(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return np.asarray(a * np.arcsinh(b / a) + b * np.arcsinh(a / b))

    rise = sum(corner(a, b) for a in (x, 2.0 - x) for b in (y, 1.0 - y)) / (2.0 * np.pi)
    assert patch_factor(1.0) == pytest.approx(np.mean(rise), rel=2e-3)


def test_heat_is_kept() -> None:
    energy, rubbed = 2.5e9, 0.3
    found = temperatures(STEEL, CARBIDE, Chip(5e-5, 1e-3, 1.5, 0.4), energy, rubbed)
    into_work = found.work_share * (1.0 - rubbed) * energy
    into_tool = (1.0 - found.chip_share) * rubbed * energy
    assert into_work + into_tool + 3.6e6 * found.chip_rise == pytest.approx(energy)


def test_chip_and_tool_are_equally_warm_where_they_touch() -> None:
    chip = Chip(5e-5, 1e-3, 1.5, 0.4)
    found = temperatures(STEEL, CARBIDE, chip, 2.5e9, 0.3)
    contact = 5e-5 / 0.4
    tool = (1.0 - found.chip_share) * 0.3 * 2.5e9 * 5e-5 * 1.5 * patch_factor(1e-3 / contact) / 85.0
    assert tool == pytest.approx(found.interface_rise)


@given(st.floats(1e-7, 1e-4), st.floats(1e-3, 0.3), st.floats(0.05, 0.6))
def test_a_slow_thin_chip_is_no_colder_than_the_shop(thick: float, speed: float, rubbed: float) -> None:
    """A tool that takes heat of shearing as well cools it, to no less than it is itself where the two touch."""
    found = temperatures(STEEL, CARBIDE, Chip(thick, 3e-4, speed, 0.4), 4e9, rubbed)
    assert found.chip_rise > 0.0 and found.interface_rise > 0.0
    assert found.chip_share >= 0.0 or found.chip_rise >= found.interface_rise


def test_no_friction_makes_no_heat_on_the_face() -> None:
    found = temperatures(STEEL, CARBIDE, Chip(5e-5, 1e-3, 1.5, 0.4), 2.5e9, 0.0)
    assert found.interface_rise == pytest.approx(found.shear_rise) == pytest.approx(found.chip_rise)


def test_hotter_with_speed_and_thicker_chips_and_worse_tools() -> None:
    speeds = temperatures(STEEL, CARBIDE, Chip(5e-5, 1e-3, np.array([0.5, 1.0, 3.0]), 0.4), 2.5e9, 0.25)
    assert np.all(np.diff(speeds.interface_rise) > 0.0)
    tools = temperatures(STEEL, Solid(np.array([85.0, 22.0]), 4e6), Chip(5e-5, 1e-3, 1.0, 0.4), 2.5e9, 0.25)
    assert tools.interface_rise[1] > tools.interface_rise[0]


def test_a_part_warms_and_cools() -> None:
    assert part_rise(20.0, 2.0, 200.0, 1e9) == pytest.approx(10.0)
    assert part_rise(20.0, 2.0, 200.0, 1e-3) == pytest.approx(20.0 * 1e-3 / 200.0, rel=1e-4)
    assert part_rise(0.0, 2.0, 200.0, cooling_time(16.0, 2.0, 2.0, 200.0), 16.0) == pytest.approx(2.0)
    assert cooling_time(1.0, 2.0, 2.0, 200.0) == 0.0
    twice = part_rise(5.0, 2.0, 200.0, 30.0, part_rise(5.0, 2.0, 200.0, 30.0))
    assert twice == pytest.approx(part_rise(5.0, 2.0, 200.0, 60.0))


def test_growth_goes_with_length_and_heat() -> None:
    assert growth(0.1, 12e-6, 10.0) == pytest.approx(12e-6)
    assert growth(0.1, 12e-6, -10.0) < 0.0


def test_colours_of_the_table() -> None:
    for name, celsius in (("pale yellow", 212), ("straw", 235), ("purple", 275), ("dark blue", 295), ("grey", 400)):
        assert COLOURS[int(chip_colour(273.15 + celsius))][0] == name
    assert COLOURS[int(chip_colour(300.0))][0] == "bright"


def test_chances_of_colours_add_up() -> None:
    heat = np.array([300.0, 500.0, 560.0, 700.0])
    chances = np.array([colour_chance(heat, word, 25.0) for word, _ in COLOURS])
    assert np.allclose(chances.sum(axis=0), 1.0)
    assert COLOURS[int(chances[:, 3].argmax())][0] == "grey"


@pytest.mark.parametrize(("call", "says"), [
    (lambda: rise_by_similarity(1e9, 3e6, 5e-5, -1.0, 1e-4), "cutting speed is -1"),
    (lambda: rise_by_similarity(1e9, 3e6, 0.0, 1.0, 1e-4), "diffusivity is 0"),
    (lambda: shear_strain(0.0), "chip ratio is 0"),
    (lambda: work_share(3.0, 1e-5, float("nan"), 1e-4), "cutting speed is nan"),
    (lambda: patch_factor(0.0), "aspect is 0"),
    (lambda: temperatures(STEEL, CARBIDE, Chip(0.0, 1e-3, 1.0, 0.4), 1e9, 0.2), "thickness is 0"),
    (lambda: temperatures(STEEL, CARBIDE, Chip(1e-4, 1e-3, 1.0, 0.4), 1e9, 1.2), "friction share is 1.2"),
    (lambda: temperatures(Solid(0.0, 1.0), CARBIDE, Chip(1e-4, 1e-3, 1.0, 0.4), 1e9, 0.2), "conductivity is 0"),
    (lambda: part_rise(-1.0, 2.0, 200.0, 1.0), "power is -1"),
    (lambda: cooling_time(5.0, 0.0, 2.0, 200.0), "wanted rise is 0"),
    (lambda: growth(-0.1, 1e-5, 1.0), "length is -0.1"),
    (lambda: chip_colour(0.0), "temperature is 0"),
    (lambda: colour_chance(500.0, "mauve", 25.0), "the colour is 'mauve'"),
])
def test_impossible_things_are_refused(call: object, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        call()  # type: ignore[operator]
