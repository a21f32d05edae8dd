"""Every physics function scales as the units in its docstring say."""

from __future__ import annotations

import importlib
import typing
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.house import reading
from tests.house.stretch import NotScaled, check, factor
from tests.house.units import Dimensions, UnitUnknown, dimensions

Function = Callable[..., Any]

#: Stretches of length, mass, time and temperature: one base unit at a time, then all together.
STRETCHES = (
    Dimensions(1.7, 1.0, 1.0, 1.0), Dimensions(1.0, 0.6, 1.0, 1.0), Dimensions(1.0, 1.0, 2.3, 1.0),
    Dimensions(1.0, 1.0, 1.0, 1.3), Dimensions(1.7, 0.6, 2.3, 1.3), Dimensions(0.8, 1.9, 0.7, 0.9),
)
#: An empirical law may hold only in its own units; more than a few would empty this test.
MOST_EXEMPT = 0.1


def physics_functions(room: str) -> dict[str, Function]:
    """Public functions of a physics room by name, as the files define them."""
    found: dict[str, Function] = {}
    for path in reading.modules():
        if reading.inside(path).startswith(f"{room}/") and not path.name.startswith("_"):
            loaded = importlib.import_module(reading.dotted(path))
            for node in reading.public_functions(reading.tree(path)):
                found[f"{reading.dotted(path)}.{node.name}"] = getattr(loaded, node.name)
    return found


def examples(room: str) -> tuple[dict[Function, dict[str, Any]], dict[Function, str]]:
    """EXAMPLES of a room, and EMPIRICAL: functions that hold only in their own units, with the reason."""
    if not (reading.TESTS / room / "examples.py").exists():
        return {}, {}
    loaded = importlib.import_module(f"tests.{room}.examples")
    return dict(loaded.EXAMPLES), dict(getattr(loaded, "EMPIRICAL", {}))


CASES = [
    pytest.param(function, examples(room)[0][function], id=name)
    for room in reading.PHYSICS for name, function in physics_functions(room).items()
    if function in examples(room)[0] and function not in examples(room)[1]
]


@pytest.mark.parametrize("room", reading.PHYSICS)
def test_every_physics_function_has_an_example(room: str) -> None:
    shown, empirical = examples(room)
    functions = physics_functions(room)
    missing = [name for name, function in functions.items()
               if function not in shown and function not in empirical]
    assert missing == [], f"add keyword arguments to tests/{room}/examples.py"
    assert set(shown) <= set(functions.values()), "an example of what is not a public function of this room"
    assert all(reason.strip() for reason in empirical.values()), "an exception says why"
    assert len(empirical) <= max(1, MOST_EXEMPT * len(functions))


@pytest.mark.parametrize(("function", "arguments"), CASES)
def test_it_scales_as_its_units_say(function: Function, arguments: dict[str, Any]) -> None:
    compared = [check(function, arguments, stretch) for stretch in STRETCHES]
    assert min(compared) > 0 or not _returns_numbers(function), "a result that is all zero shows nothing"


def _returns_numbers(function: Function) -> bool:
    return reading.is_numeric(typing.get_type_hints(function).get("return"))


class Load(NamedTuple):
    """A force and where it acts.

    Fields:
        force: F [N].
        arm: l [m].
        name: what it is called.
    """

    force: float
    arm: float
    name: str = ""


@dataclass(frozen=True)
class Wrong:
    """A result whose unit is told wrongly.

    Fields:
        moment: M [N].
    """

    moment: float


def moment(load: Load, turns: float) -> float:
    """Args:
        load: what acts.
        turns: how often [1].

    Returns:
        Moment [N m].
    """
    return load.force * load.arm * turns


def hidden_constant(force: float, area: float) -> float:
    """Args:
        force: F [N].
        area: A [m2].

    Returns:
        Pressure [Pa].
    """
    return force / area + 5.0


def dropped_divisor(force: float, area: float) -> float:
    """Args:
        force: F [N].
        area: A [m2].

    Returns:
        Pressure [N/m2].
    """
    return force * area**0


def wrong_field(load: Load) -> Wrong:
    """Args:
        load: what acts.

    Returns:
        The moment.
    """
    return Wrong(load.force * load.arm)


def pair(speed: float, length: float) -> tuple[float, float]:
    """Args:
        speed: v [m/s].
        length: l [m], in 0 ... 5.

    Returns:
        Time [s] and acceleration [m/s2].
    """
    return length / speed, speed**2 / length


def threshold(length: float) -> bool:
    """Args:
        length: l [m].

    Returns:
        Whether it is long.
    """
    return length > 0.012


EVERYTHING = STRETCHES[4]
LOAD = Load(3.0, 0.2, "clamp")


def test_good_functions_pass() -> None:
    assert check(moment, {"load": LOAD, "turns": 2.0}, EVERYTHING) == 1
    assert check(moment, {"load": Load(np.array([3.0, 4.0]), 0.2), "turns": 2.0}, EVERYTHING) == 2  # type: ignore[arg-type]
    assert check(pair, {"speed": 2.0, "length": 0.5}, EVERYTHING) == 2


@pytest.mark.parametrize(("function", "arguments"), [
    (hidden_constant, {"force": 2.0, "area": 0.5}),
    (dropped_divisor, {"force": 2.0, "area": 0.5}),
    (wrong_field, {"load": LOAD}),
    (threshold, {"length": 0.01}),
])
def test_a_wrong_function_is_seen(function: Function, arguments: dict[str, Any]) -> None:
    with pytest.raises(NotScaled):
        check(function, arguments, EVERYTHING)


def test_a_number_without_unit_is_seen() -> None:
    def bare(force: float) -> float:
        """Returns: Force [N]."""
        return force

    with pytest.raises(NotScaled, match="no unit"):
        check(bare, {"force": 1.0}, EVERYTHING)


@pytest.mark.parametrize(("text", "powers"), [
    ("1", (0, 0, 0, 0)), ("rad", (0, 0, 0, 0)), ("m2", (2, 0, 0, 0)), ("N", (1, 1, -2, 0)),
    ("N/m2", (-1, 1, -2, 0)), ("N m", (2, 1, -2, 0)), ("1/s", (0, 0, -1, 0)), ("m3/s", (3, 0, -1, 0)),
    ("W/(m K)", (1, 1, -3, -1)), ("J/(kg K)", (2, 0, -2, -1)), ("rad/s", (0, 0, -1, 0)),
    ("kg/m3", (-3, 1, 0, 0)), ("m/s2", (1, 0, -2, 0)), ("1/K", (0, 0, 0, -1)), ("Pa m0.5", (-0.5, 1, -2, 0)),
])
def test_units_are_read(text: str, powers: tuple[float, ...]) -> None:
    assert dimensions(text) == powers


@pytest.mark.parametrize("text", ["mm", "N/mm2", "N/m s", "", "deg", "min", "N*m", "%", "N, M", "/s", "N//m"])
def test_other_units_are_refused(text: str) -> None:
    with pytest.raises(UnitUnknown):
        dimensions(text)


@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_a_newton_is_a_kilogram_metre_over_a_square_second(length: float, time: float) -> None:
    stretch = Dimensions(length, 0.6, time, 1.0)
    assert factor(dimensions("N"), stretch) == pytest.approx(factor(dimensions("kg m/s2"), stretch))
    assert factor(dimensions("W"), stretch) == pytest.approx(factor(dimensions("N m/s"), stretch))
