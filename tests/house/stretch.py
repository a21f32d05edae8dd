"""Stretching of units: arguments scaled as their [unit] says must give results that scale as theirs.

Catches a hidden constant, a dropped divisor, a mm among metres. It cannot see a pure factor (2 or 2 pi):
for that each formula has a closed form in its own test.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from tests.house.reading import brackets, read_docstring
from tests.house.units import Dimensions, UnitUnknown, dimensions

Function = Callable[..., Any]
RTOL = 1e-6   # solvers that iterate stop short of the last digits


class NotScaled(AssertionError):
    """A result does not scale as its unit says."""


def factor(unit: Dimensions, stretch: Dimensions) -> float:
    """By how much a number in this unit grows when the base units are stretched."""
    return float(np.prod([scale**power for scale, power in zip(stretch, unit, strict=True)]))


def check(function: Function, arguments: Mapping[str, Any], stretch: Dimensions) -> int:
    """Compares the stretched result with the result of stretched arguments.

    Returns how many numbers other than zero were compared; NotScaled where one differs.
    """
    doc = read_docstring(function.__doc__)
    scaled = {name: _stretched(value, _units(doc.args.get(name, "")), stretch)
              for name, value in arguments.items()}
    plain, other = function(**arguments), function(**scaled)
    return _compare(_stretched(plain, _units(doc.returns), stretch), other, function.__name__)


def _units(text: str) -> list[Dimensions]:
    """The units of a text, in order; brackets that hold no unit (a range, a shape) are passed over."""
    found = []
    for bracket in brackets(text):
        try:
            found.append(dimensions(bracket))
        except UnitUnknown:
            continue
    return found


def members(value: Any) -> dict[str, Any] | None:
    """Fields of a NamedTuple or dataclass; None for anything else."""
    if isinstance(value, tuple) and hasattr(value, "_fields"):
        return {name: getattr(value, name) for name in value._fields}
    if is_dataclass(value) and not isinstance(value, type):
        return {item.name: getattr(value, item.name) for item in fields(value) if item.init}
    return None


def _stretched(value: Any, units: Sequence[Dimensions], stretch: Dimensions) -> Any:
    """The value as it reads when the base units are stretched."""
    inner = members(value)
    if inner is not None:
        told = read_docstring(inspect.getdoc(type(value))).fields
        return type(value)(**{name: _stretched(item, _units(told.get(name, "")), stretch)
                              for name, item in inner.items()})
    if isinstance(value, tuple | list):
        each = [units] * len(value) if len(units) != len(value) else [[unit] for unit in units]
        return type(value)(_stretched(item, unit, stretch) for item, unit in zip(value, each, strict=True))
    if not is_number(value):
        return value
    if not units:
        raise NotScaled(f"{value!r} has no unit in its docstring")
    scale = factor(units[0], stretch)
    return value if scale == 1.0 else value * scale


def is_number(value: Any) -> bool:
    """True for an int, a float or an array of them; not for bool, words and None."""
    if isinstance(value, bool | np.bool_) or value is None:
        return False
    return np.asarray(value).dtype.kind in "ifc"


def _compare(wanted: Any, got: Any, place: str) -> int:
    inner, other = members(wanted), members(got)
    if inner is not None and other is not None:
        return sum(_compare(inner[name], other[name], f"{place}.{name}") for name in inner)
    if isinstance(wanted, tuple | list):
        if len(wanted) != len(got):
            raise NotScaled(f"{place}: {len(got)} results, not {len(wanted)}")
        pairs = zip(wanted, got, strict=True)
        return sum(_compare(a, b, f"{place}[{i}]") for i, (a, b) in enumerate(pairs))
    if not is_number(wanted):
        if not np.array_equal(wanted, got):
            raise NotScaled(f"{place}: {got!r}, not {wanted!r}")
        return 0
    largest = float(np.max(np.abs(wanted), initial=0.0, where=np.isfinite(wanted)))
    if not np.allclose(got, wanted, rtol=RTOL, atol=RTOL * largest * 1e-3):
        raise NotScaled(f"{place}: {got!r}, not {wanted!r}: is a constant hidden, or a unit wrong?")
    return int(np.count_nonzero(np.isfinite(wanted) & (np.asarray(wanted) != 0)))
