"""Figures must have a spread and a source; numbers must have a unit."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from firstoff.shop.models import Collet, Device, Figure, Instrument, Machine, MachineClass, Material, Spindle, Tool

STEEL = {"name": "steel", "group": "P"}


def material(**fields: Any) -> Material:
    return Material.model_validate(STEEL | fields)


def test_a_figure_is_kept_in_si_and_lengths_in_mm() -> None:
    made = material(
        young={"value": "210 GPa", "factor": 1.02, "source": "measured"},
        scale_thickness={"value": "30 um", "sd": "20 um", "source": "judged"},
    )
    assert made.young is not None and made.young.value == pytest.approx(210e9)
    assert made.scale_thickness is not None and made.scale_thickness.value == pytest.approx(0.03)
    assert made.scale_thickness.sd == pytest.approx(0.02)


@pytest.mark.parametrize(("figure", "said"), [
    ({"value": 210e9, "factor": 1.02, "source": "measured"}, "value needs a unit: pressure"),
    ({"value": "210 GPa", "sd": 5e9, "source": "measured"}, "sd needs a unit: pressure"),
    ({"value": "210 mm", "factor": 1.02, "source": "measured"}, "is not a pressure"),
    ({"value": "210 GPa", "source": "measured"}, "either factor"),
    ({"value": "210 GPa", "factor": 1.1, "sd": "5 GPa", "source": "measured"}, "either factor"),
    ({"value": "210 GPa", "factor": 0.9, "source": "measured"}, "greater than 1"),
    ({"value": "210 GPa", "factor": 1.1}, "Field required"),
    ("210 GPa", "write it like"),
])
def test_a_figure_that_says_too_little_is_refused(figure: Any, said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        material(young=figure)


@given(st.floats(1.0001, 5.0))
def test_a_judged_factor_is_at_least_two(factor: float) -> None:
    table = {"value": 1.0, "factor": factor, "source": "judged"}
    if factor >= 2.0:
        assert Figure.model_validate(table).factor == factor
    else:
        with pytest.raises(ValidationError, match="at least"):
            Figure.model_validate(table)


@given(st.floats(-10.0, 10.0), st.floats(0.001, 10.0))
def test_a_judged_deviation_is_at_least_half_the_value(value: float, sd: float) -> None:
    table = {"value": value, "sd": sd, "source": "judged"}
    if sd >= 0.5 * abs(value):
        assert Figure.model_validate(table).sd == sd
    else:
        with pytest.raises(ValidationError, match="half its value"):
            Figure.model_validate(table)


@pytest.mark.parametrize("model", [Material, MachineClass, Tool, Device, Instrument])
def test_an_unknown_key_is_refused(model: type[Any]) -> None:
    with pytest.raises(ValidationError, match="Extra inputs"):
        model.model_validate({"colour": "grey"})


def test_what_was_read_cannot_be_changed() -> None:
    made = material()
    with pytest.raises(ValidationError, match="frozen"):
        made.name = "brass"


def test_a_spindle_is_not_slower_at_its_fastest() -> None:
    from firstoff.shop.models import Spindle

    power = {"value": "800 W", "factor": 1.3, "source": "measured"}
    with pytest.raises(ValueError, match="slowest speed"):
        Spindle.model_validate({"slowest": "9000 rpm", "fastest": "3000 rpm", "power": power})


@pytest.mark.parametrize(("model", "table", "said"), [
    (Machine, {"stiffness": {"x": "0 N/um", "y": "2 N/um", "z": "4 N/um"}}, "stiffness must be above 0"),
    (Machine, {"lost_motion": "-0.03 mm"}, "length must not be below 0"),
    (Machine, {"mode_damping": 1.5}, "is a share"),
    (Machine, {"efficiency": 0.0}, "is a share"), (Machine, {"nose_mass": "0 kg"}, "mass must be above 0"),
    (Material, {"conductivity": "-3 W/m/K"}, "conductivity must be above 0"),
    (Material, {"radial": "-1 MPa"}, "below 0"),
    (Material, {"drilling_exponent": 1.0}, "less than 1"),
])
def test_a_figure_that_cannot_be_is_refused(model: type[Any], table: dict[str, Any], said: str) -> None:
    """By ± it may be written: no check could weigh by it, and a cut would be told without that check."""
    def figures(part: Any) -> Any:
        if isinstance(part, dict):
            return {key: figures(inner) for key, inner in part.items()}
        return {"value": part, "sd": 0.1 if isinstance(part, float) else part.replace("-", "").replace("0 ", "0.1 "),
                "source": "measured"}

    bare = {"name": "mill", "like": "knee"} if model is Machine else STEEL
    written = table if "drilling_exponent" in table else figures(table)
    with pytest.raises(ValidationError, match=said):
        model.model_validate(bare | written)


@pytest.mark.parametrize(("changed", "said"), [
    ({"base_speed": "0 rpm"}, "base speed"), ({"steps": ["-5 rpm"]}, "steps")])
def test_a_spindle_has_speeds_above_nothing(changed: dict[str, Any], said: str) -> None:
    power = {"value": "450 W", "sd": "70 W", "source": "measured"}
    with pytest.raises(ValidationError, match=said):
        Spindle.model_validate({"slowest": "3000 rpm", "fastest": "9000 rpm", "power": power} | changed)


@pytest.mark.parametrize("travel", [["0 mm", "250 mm", "90 mm"], ["400 mm", "-250 mm", "90 mm"]])
def test_a_machine_that_goes_nowhere_is_refused(travel: list[str]) -> None:
    with pytest.raises(ValidationError, match="above nothing"):
        Machine.model_validate({"name": "mill", "like": "knee", "travel": travel})


@pytest.mark.parametrize(("changed", "said"), [
    ({"grips": ["6 mm", "5 mm"]}, "then the largest"), ({"grips": ["-1 mm", "6 mm"]}, "then the largest"),
    ({"grips": ["0 mm", "0 mm"]}, "then the largest"), ({"nut_diameter": "0 mm"}, "greater than 0")])
def test_a_collet_that_grips_nothing_is_refused(changed: dict[str, Any], said: str) -> None:
    runout = {"value": "0.01 mm", "sd": "0.01 mm", "source": "measured"}
    with pytest.raises(ValidationError, match=said):
        Collet.model_validate({"name": "collet", "grips": ["5 mm", "6 mm"], "runout": runout} | changed)
