"""The chisel edge: tables of the handbook, a maker's course and catalogue, what was measured, and balances."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import Belief, Column, Level, LogNormal
from firstoff.cutting.chisel import (
    CHISEL,
    chisel_press,
    chisel_thrust_factor,
    chisel_torque_factor,
    drill_load,
    land_of_lips,
    pilot_thrust_factor,
    pilot_torque_factor,
)
from firstoff.cutting.force import specific_force
from firstoff.cutting.hole import drill_chip, drill_power
from firstoff.cutting.power import power_of_removal
from firstoff.errors import OutOfRange
from firstoff.shop.library import load_shop
from firstoff.shop.models import Material
from tests.cutting.shared import FOLDER
from tests.published import agrees, predicted

POINT = np.radians(118)
ONE_MM2 = 1e-6
KGF = 9.80665


@pytest.mark.parametrize(("ratio", "torque", "thrust", "press"), [
    (0.03, 1.000, 1.100, 0.001), (0.10, 1.020, 1.235, 0.010), (0.18, 1.085, 1.355, 0.030),
    (0.25, 1.155, 1.445, 0.065), (0.40, 1.395, 1.620, 0.160),
])
def test_factors_of_the_handbook(ratio: float, torque: float, thrust: float, press: float) -> None:
    where = f"chisel edge {ratio:g} of the diameter (table 7)"
    for what, published, ours in (("torque factor A", torque, chisel_torque_factor(ratio)),
                                  ("thrust factor B", thrust, chisel_thrust_factor(ratio))):
        agrees("holes", f"{what}, {where}", "machinery", published, float(ours), "1", within=0.01)
    assert ratio**2 == pytest.approx(press, rel=0.1, abs=1e-3)          # J of the table


def handbook(constant: float, diameter: float, feed: float) -> tuple[float, float]:
    """Torque [N m] and thrust [N] by the handbook's formulas and factors, N and mm."""
    factor = feed**0.8
    return (0.000025 * constant * factor * diameter**1.8 * 1.085,
            0.05 * constant * factor * diameter**0.8 * 1.355 + 0.007 * constant * diameter**2 * 0.030)


@pytest.mark.parametrize(("diameter", "feed"), [(4.0, 0.08), (8.0, 0.15), (12.5, 0.25)])
def test_whole_load_of_the_handbook(diameter: float, feed: float) -> None:
    # the handbook's K is a specific force at 0.2 K (f D)^-0.2; feed and diameter factors are its tables 8 and 9
    torque, thrust = handbook(24000.0, diameter, feed)
    ours = drill_load(0.2 * 24000e6 * (feed * diameter) ** -0.2, diameter * 1e-3, feed * 1e-3, 0.0, CHISEL, ONE_MM2)
    which = f"of a {diameter:g} mm drill, {feed:g} mm a turn, K 24000 (tables 7 to 9)"
    agrees("holes", f"torque {which}", "machinery", torque, float(ours.torque), "N m", within=0.01)
    agrees("holes", f"thrust {which}", "machinery", thrust, float(ours.thrust), "N", within=0.02)


@pytest.mark.parametrize(("table", "of", "is_"), [
    (0.276, 0.20, "feed"), (0.158, 0.10, "feed"), (5.28, 8.0, "diameter")])
def test_powers_of_the_handbooks_tables(table: float, of: float, is_: str) -> None:
    assert of**0.8 == pytest.approx(table, rel=0.01), is_


def test_torque_from_unit_power_and_from_hardness() -> None:
    torque = drill_load(0.5e9, 0.01, 0.2e-3, 0.0, 0.0, ONE_MM2).torque
    agrees("holes", "torque of a 10 mm drill, 0.2 mm a turn, 0.5 W s/mm3 (ex. 22.2)", "kalpakjian", 1.25,
           float(torque), "N m", within=0.002)
    torque = drill_load(200 * KGF * 1e6, 12.7e-3, 0.254e-3, 0.0, 0.0, ONE_MM2).torque
    agrees("holes", "torque of a 12.7 mm drill, 0.254 mm a turn, HB 200 (ex. 15.4)", "sharma", 1024.2e-3 * KGF,
           float(torque), "N m", within=0.01)


def book(material: str) -> Material:
    """A material of the starter library."""
    return load_shop(None).materials[material]


def lips(material: Material, feed: float) -> float:
    """Specific force at the chip of the lips [N/m2]; feed in m."""
    assert material.drilling_force is not None
    chip = drill_chip(feed, POINT)
    return float(specific_force(material.drilling_force.value, material.drilling_exponent, chip, 1e-3))


def test_order_of_size_in_steel() -> None:
    ours = drill_load(lips(book("c45"), 0.3e-3), 0.01, 0.3e-3, 0.0, CHISEL, ONE_MM2)
    agrees("holes", "torque of a 10 mm drill, 0.3 mm a turn, steel", "toolcourse", 15.0, float(ours.torque), "N m",
           within=0.35)
    agrees("holes", "thrust of a 10 mm drill, 0.3 mm a turn, steel", "toolcourse", 2500.0, float(ours.thrust), "N",
           within=0.4)


@pytest.mark.parametrize(("material", "constant", "what"), [
    ("cast_iron_gg25", 1.39, "cast iron of 198 HB"), ("free_cutting_steel", 1.42, "free-cutting steel"),
    ("s275_cold_drawn", 2.22, "low-carbon steel of 160 HB"),
])
def test_a_makers_formula(material: str, constant: float, what: str) -> None:
    # thrust 570 K D f^0.85, torque K D^2 (0.63 + 16.84 f) / 100 in N, N m, mm
    ours = drill_load(lips(book(material), 0.15e-3), 0.008, 0.15e-3, 0.0, CHISEL, ONE_MM2)
    agrees("holes", f"torque of an 8 mm drill, 0.15 mm a turn, {what}", "drillcatalogue",
           constant * 64 * (0.63 + 16.84 * 0.15) / 100, float(ours.torque), "N m", within=0.35)
    agrees("holes", f"thrust of an 8 mm drill, 0.15 mm a turn, {what}", "drillcatalogue",
           570 * constant * 8 * 0.15**0.85, float(ours.thrust), "N", within=0.35)


def measured() -> list[dict[str, str]]:
    """The rows of the public drilling data, or a skipped test."""
    path = FOLDER.parent / "measured" / "drilling_thrust.csv"
    if not path.exists():
        pytest.skip("drilling_thrust.csv is not there: set FIRSTOFF_SHARED to the folder of measured tables")
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


BOOKS = {"cast iron": "cast_iron_gg25", "mild steel": "s275_hot_rolled"}


def forecast(row: dict[str, str], off: LogNormal) -> np.ndarray:
    """Rows of thrust for a measured row [N], with book figures and the discrepancy of drilling."""
    name = BOOKS[row["material"]]
    material = book(name)
    assert material.drilling_force is not None and material.drilling_force.factor is not None
    assert material.batch is not None and material.batch.factor is not None
    belief = Belief.of([
        Column("material", "force", "Pa", Level.SHOP,
               LogNormal(material.drilling_force.value, material.drilling_force.factor)),
        Column("material", "batch", "1", Level.BATCH, LogNormal(1.0, material.batch.factor)),
        Column("law", "off", "1", Level.SHOP, off)])
    feed, diameter = float(row["f_mm_rev"]) * 1e-3, float(row["D_mm"]) * 1e-3
    chip = drill_chip(feed, POINT)
    force = specific_force(belief.value("material", "force"), material.drilling_exponent, chip, 1e-3)
    off_rows = belief.value("law", "off") * belief.value("material", "batch")
    return drill_load(force * off_rows, diameter, feed, 0.0, CHISEL, ONE_MM2).thrust


def spread_of(rows: list[dict[str, str]]) -> float:
    """Root mean square of the log of measured over forecast."""
    off = LogNormal(1.0, 1.0001)
    logs = [np.log(float(row["thrust_N"]) / np.median(forecast(row, off))) for row in rows]
    return float(np.sqrt(np.mean(np.square(logs))))


def test_thrust_that_was_measured() -> None:
    # even rows set the discrepancy's spread; odd rows judge it
    rows = [row for row in measured() if row["material"] in BOOKS]
    kind = load_shop(None).discrepancies["drilling"].factor
    assert kind.factor is not None
    even = [row for row in rows if int(row["no"]) % 2 == 0]
    assert np.exp(spread_of(even)) == pytest.approx(kind.factor, rel=0.05)
    inside = []
    for row in rows:
        if int(row["no"]) % 2:
            low, median, high = np.percentile(forecast(row, LogNormal(kind.value, kind.factor)), (5, 50, 95))
            inside.append(predicted(
                "holes", f"thrust in {row['material']}: {row['D_mm']} mm, {row['f_mm_rev']} mm a turn, "
                f"row {row['no']}", "drilldata", (low, median, high), float(row["thrust_N"]), "N"))
    assert np.mean(inside) >= 0.8


@given(st.floats(1e-3, 2e-2), st.floats(1e-5, 5e-4), st.floats(1.0, 300.0))
def test_torque_does_the_work_of_the_chips(diameter: float, feed: float, speed: float) -> None:
    # lips to the middle, no size effect: torque times speed is specific energy times volume
    rate = np.pi / 4 * diameter**2 * feed * speed / (2 * np.pi)
    power = drill_power(drill_load(2e9, diameter, feed, 0.0, 0.0, ONE_MM2).torque, speed)
    assert power == pytest.approx(power_of_removal(2e9, rate))


@given(st.floats(0.18, 1.0), st.floats(0.18, 1.0))
def test_a_wider_pilot_leaves_less(one: float, other: float) -> None:
    less, more = (drill_load(2e9, 0.01, 1e-4, pilot * 0.01, CHISEL, ONE_MM2) for pilot in sorted((one, other)))
    assert less.torque >= more.torque and less.thrust >= more.thrust


def test_a_pilot_as_wide_as_the_chisel_edge_takes_half_the_thrust_and_little_torque() -> None:
    # drillmaker and others: the chisel edge makes 40 to 60 in 100 of the thrust
    solid, bored = (drill_load(2.7e9, 0.01, 1.2e-4, pilot, CHISEL, ONE_MM2) for pilot in (0.0, 0.0018))
    agrees("holes", "share of the thrust that a pilot as wide as the chisel edge saves", "drillmaker", 0.5,
           float(1.0 - bored.thrust / solid.thrust), "1", within=0.1, absolute=True)
    assert bored.torque / solid.torque == pytest.approx(0.86, abs=0.02)
    narrow = drill_load(2.7e9, 0.01, 1.2e-4, 0.0015, CHISEL, ONE_MM2)
    assert narrow == solid


def test_nothing_is_left_where_all_is_drilled() -> None:
    load = drill_load(2e9, 0.01, 1e-4, 0.01, CHISEL, ONE_MM2)
    assert (float(load.torque), float(load.thrust)) == (0.0, 0.0)


def test_the_press_is_by_the_square_of_the_chisel_edge() -> None:
    press = chisel_press(2e9, 0.01, 1e-4, np.array([0.1, 0.2]), ONE_MM2)
    assert press[1] == pytest.approx(4.0 * press[0])
    assert pilot_torque_factor(0.0) == pilot_thrust_factor(0.0) == 1.0


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="pilot diameter is"):
        drill_load(2e9, 0.01, 1e-4, 0.011, CHISEL, ONE_MM2)
    with pytest.raises(OutOfRange, match="chisel ratio is 1"):
        chisel_thrust_factor(1.2)
    with pytest.raises(OutOfRange, match="pilot ratio is -0"):
        pilot_torque_factor(-0.1)
    with pytest.raises(OutOfRange, match="reference area is 0"):
        chisel_press(2e9, 0.01, 1e-4, 0.18, 0.0)
    with pytest.raises(OutOfRange, match="diameter is nan"):
        drill_load(2e9, float("nan"), 1e-4, 0.0, CHISEL, ONE_MM2)


def test_a_land_along_flat_lips_by_hand() -> None:
    """At a point of 180 degrees: two strips from 2 to 5 mm radius, 0.1 mm wide, 300 N/mm2; drag at their middle."""
    more = land_of_lips(1e-4, 3e8, 0.5, 0.01, 0.004, np.pi)
    assert more.thrust == pytest.approx(2 * 3e-3 * 1e-4 * 3e8)
    assert more.torque == pytest.approx(0.5 * 2 * 3e-3 * 1e-4 * 3e8 * 3.5e-3)
    assert land_of_lips(0.0, 3e8, 0.5, 0.01, 0.0, 2.06).thrust == 0.0


def test_a_worn_drill_presses_some_tenths_harder() -> None:
    """At a land of 0.3 mm a 10 mm drill in mild steel at 0.2 mm a turn wants a third to two thirds more thrust."""
    sharp = drill_load(1.9e9, 0.01, 2e-4, 0.0, CHISEL, 1e-6)
    more = land_of_lips(3e-4, 2.75e8, 3**-0.5, 0.01, CHISEL * 0.01, np.radians(118.0))
    assert 0.2 < float(more.thrust / sharp.thrust) < 0.7 and 0.05 < float(more.torque / sharp.torque) < 0.5


def test_an_impossible_land_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"pilot diameter is 0\.02"):
        land_of_lips(1e-4, 3e8, 0.5, 0.01, 0.02, 2.0)
    with pytest.raises(OutOfRange, match="land is -1"):
        land_of_lips(-1.0, 3e8, 0.5, 0.01, 0.0, 2.0)
