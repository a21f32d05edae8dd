"""Text with units: what goes in comes out, and nothing is read as what it is not."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff import units
from firstoff.errors import UnitError
from firstoff.units import KEPT_IN, parse, tell, tell_any, tell_rounded

TOLD = sorted(units._TOLD)
DIGITS = 6


@given(st.sampled_from(TOLD), st.sampled_from(["mm", "in"]), st.floats(-1e5, 1e5))
def test_what_is_told_is_read_back(quantity: str, system: str, number: float) -> None:
    _, factor, _ = units._TOLD[quantity][system]
    value = number / factor
    text = tell(value, quantity, system, decimals=DIGITS)
    assert parse(text, quantity) * factor == pytest.approx(number, abs=0.51 * 10**-DIGITS, rel=1e-12)


@pytest.mark.parametrize("quantity", sorted(KEPT_IN))
def test_the_example_of_each_quantity_is_right(quantity: str) -> None:
    for example in KEPT_IN[quantity][1].split(" or "):
        assert math.isfinite(parse(example, quantity))


@pytest.mark.parametrize(("text", "quantity", "kept"), [
    ("1/8 in", "length", 3.175),
    ("1 1/2 in", "length", 38.1),
    ("0,02 mm", "length", 0.02),
    ("20 µm", "length", 0.02),
    ("-.5 mm", "length", -0.5),
    ("22 deg", "angle", math.radians(22.0)),
    ("22°", "angle", math.radians(22.0)),
    ("18 m/min", "cutting_speed", 0.3),
    ("300 mm/min", "table_feed", 5.0),
    ("60 rpm", "rotation", 2.0 * math.pi),
    ("60/min", "rotation", 2.0 * math.pi),
    ("400 Hz", "frequency", 2.0 * math.pi * 400.0),
    ("1700 N/mm2", "pressure", 1.7e9),
    ("210 GPa", "pressure", 210e9),
    ("2 N/µm", "stiffness", 2e6),
    ("20 N/mm", "edge_force", 20e3),
    ("2 N m", "torque", 2.0),
    ("2 Nm", "torque", 2.0),
    ("20 %", "ratio", 0.2),
    ("0.2", "ratio", 0.2),
])
def test_readings(text: str, quantity: str, kept: float) -> None:
    assert parse(text, quantity) == pytest.approx(kept, rel=1e-12)


@given(st.floats(0.1, 1e5))
def test_a_turn_is_two_pi(number: float) -> None:
    assert parse(f"{number!r} Hz", "frequency") == pytest.approx(2.0 * math.pi * number, rel=1e-12)
    assert parse(f"{number!r} rpm", "rotation") == pytest.approx(2.0 * math.pi * number / 60.0, rel=1e-12)


@pytest.mark.parametrize(("text", "quantity"), [
    ("20 m/min", "rotation"), ("2400 rpm", "cutting_speed"), ("2400 rpm", "table_feed"), ("20 mm", "angle"),
    ("2 N", "torque"), ("5 kg", "force"), ("12", "length"), ("", "length"), ("mm", "length"), ("x mm", "length"),
    ("12 furlongs per", "length"), ("1/0 in", "length"), ("12 mm 3", "length"), ("1e999 mm", "length"),
    ("1e308 in", "length"), ("9" * 400 + "/1 mm", "length"), ("1/" + "0" * 5000 + " in", "length"),
])
def test_what_cannot_be_meant_is_refused(text: str, quantity: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, quantity, where="job.toml, line 3")
    message = str(caught.value)
    assert message.startswith("job.toml, line 3: ")
    assert "divides" in message or "write it like" in message


def test_one_over_a_minute_is_a_unit() -> None:
    assert parse("60 1/min", "rotation") == pytest.approx(2.0 * math.pi, rel=1e-12)


@pytest.mark.parametrize(("text", "quantity"), [("5 3 mm", "length"), ("20 %", "angle"), ("40 1/s", "rotation")])
def test_what_could_mean_two_things_is_refused(text: str, quantity: str) -> None:
    with pytest.raises(UnitError):
        parse(text, quantity)


@pytest.mark.parametrize(("value", "system", "figures", "text"), [
    (0.346, "mm", 2, "0.35 mm"), (0.346, "in", 2, "0.014 in"), (123.4, "mm", 2, "120 mm"), (0.0, "mm", 2, "0 mm"),
    (0.0999, "mm", 2, "0.1 mm"), (-2.04, "mm", 3, "-2.04 mm")])
def test_a_rough_value_has_the_figures_that_count(value: float, system: str, figures: int, text: str) -> None:
    assert tell_rounded(value, "length", system, figures) == text


def test_minus_nothing_is_nothing() -> None:
    assert tell(-1e-9, "length") == "0 mm"
    assert tell(0.02, "length") == "0.02 mm"
    assert tell(2.0 * math.pi * 40.0, "rotation") == "2400 rpm"


@pytest.mark.parametrize(("quantity", "unit"), [(q, u) for q, table in units.PLAIN.items() for u in table])
def test_plain_units_are_what_the_library_says(quantity: str, unit: str) -> None:
    by_library = units._by_library(f"3.7 {unit}", quantity, 3.7, unit)
    assert parse(f"3.7 {unit}", quantity) == pytest.approx(by_library, rel=1e-14)


def test_the_starter_shop_is_read_without_the_library() -> None:
    code = "import sys; from firstoff.shop.library import load_shop; load_shop(None); print('pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False"]


@pytest.mark.parametrize(("value", "told"), [
    (-1.0, "-1 mm"), (0.0, "0 mm"), (1e-30, "1e-30 mm"), (1e9, "1e+09 mm"), (123.456, "123.5 mm"), (0.05, "0.05 mm"),
    (math.nan, "that"), (-math.inf, "that"),
])
def test_what_cannot_be_is_told_as_it_was_given(value: float, told: str) -> None:
    assert tell_any(value, "length") == told
