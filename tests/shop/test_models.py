"""Figures must have a spread and a source; numbers must have a unit."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from firstoff.shop.models import Device, Figure, Instrument, Machine, MachineClass, Material, Spindle, Tool

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


MILL = {"name": "mill", "kind": "end_mill", "material": "carbide", "diameter": "6 mm", "flutes": 3,
        "flute_length": "12 mm", "overall_length": "57 mm"}


@pytest.mark.parametrize(("changed", "said"), [
    ({"helix": "-30 deg"}, "left-hand"), ({"helix": "85 deg"}, "from 0 to 80 deg"),
    ({"shank": "0 mm"}, "leave it out"), ({"flute_length": "80 mm"}, "flutes of 80 mm on a tool 57 mm long"),
    ({"stickout": "-2 mm"}, "some stays gripped"),
    ({"stickout": "57 mm"}, "some stays gripped"), ({"rated_speed": "0 rpm"}, "not above 0"),
    ({"corner_radius": "4 mm"}, "half the diameter, 3 mm"), ({"corner_radius": "-1 mm"}, "from 0 to half"),
    ({"point_angle": "175 deg"}, "at most 170 deg"), ({"point_angle": "0 deg"}, "the whole angle"),
    ({"kind": "drill", "point_angle": "200 deg"}, "at most 180 deg"), ({"kind": "chamfer"}, "needs its point_angle"),
    ({"tip_diameter": "-1 mm"}, "runs to a point"), ({"point_angle": "20 deg", "tip_diameter": "8 mm"}, "8 mm wide"),
    ({"kind": "ball", "point_angle": "20 deg"}, "as corner_radius"),
])
def test_a_tool_that_cannot_be_is_refused(changed: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        Tool.model_validate(MILL | changed)


def test_tools_that_can_be_are_read() -> None:
    for changed in ({}, {"helix": "0 deg"}, {"kind": "ball", "corner_radius": "3 mm"},
                    {"point_angle": "20 deg", "tip_diameter": "2 mm"}, {"kind": "drill", "point_angle": "180 deg"},
                    {"kind": "ball", "point_angle": "10 deg", "corner_radius": "1 mm"}):
        assert Tool.model_validate(MILL | changed).diameter == 6.0
