"""Heat of a milling cut by row: how hot edge and chip become, and what goes into the part."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief, Rows, low_median_high
from ..cutting.heat import Chip, Solid, Temperatures, temperatures
from ..medians import median
from ._chance import discrepancy
from .base import Case, Past
from .si import value

#: The shop's own temperature [K]: what is told in degrees C is a rise above 20.
SHOP_KELVIN: Final = 293.15
SHOP_CELSIUS: Final = 20.0


#: What a book has to tell of a metal before heat can be reckoned, and how people call it.
CARRIES: Final = ("conductivity", "heat_capacity")


def untold(case: Case, belief: Belief, *more: str) -> tuple[str, str] | None:
    """Why the heat of a cut cannot be told and what would settle it, where the material has no such figure.

    Args:
        case: with the material.
        belief: with what is known of it.
        more: further figures that are needed.
    """
    lacks = [name for name in (*CARRIES, *more) if not belief.has(f"material:{case.material_name}", name)]
    if not lacks:
        return None
    return (f"nothing is known of how {case.material.name} takes and carries heat",
            f"write {' and '.join(lacks)} under the material, from a book")


def specific_energy(cut: Past, belief: Belief) -> Rows:
    """Energy that a unit of volume takes at the chip thickness of a cut, by row [J/m3]."""
    entity = f"material:{cut.material}"
    law = value(belief, entity, "tangential") + value(belief, entity, "tangential_edge") / cut.chip
    return np.asarray(law * discrepancy(belief, "force"))


def hot(cut: Past, belief: Belief) -> Temperatures:
    """Temperatures of the thickest chip of a cut, by row, as far as this kind of physics is right."""
    work, tool = f"material:{cut.material}", f"tool_material:{cut.tool_material}"
    ratio = value(belief, "shop", "friction_ratio")
    found = temperatures(
        Solid(value(belief, work, "conductivity"), value(belief, work, "heat_capacity")),
        Solid(value(belief, tool, "conductivity"), 1.0),
        Chip(cut.chip, cut.depth, cut.speed, value(belief, "shop", "chip_ratio")),
        specific_energy(cut, belief), ratio / (1.0 + ratio))
    off = discrepancy(belief, "heat") / (1.0 + value(belief, f"coolant:{cut.coolant}", "cooling"))
    return found._replace(shear_rise=found.shear_rise * off, interface_rise=found.interface_rise * off,
                          chip_rise=found.chip_rise * off)


def heat_into_part(cut: Past, belief: Belief) -> Rows:
    """Heat that a cut leaves in its part, by row [J]."""
    if not cut.mills:
        return np.zeros(belief.rows)
    sheared = specific_energy(cut, belief) / (1.0 + value(belief, "shop", "friction_ratio")) * cut.volume
    return np.asarray(hot(cut, belief).work_share * sheared)


def celsius(rise: Rows) -> str:
    """The median of a rise above the shop as a temperature in degrees C, for a sentence: to the next five."""
    return _to_five(median(rise))


def celsius_known(rise: Rows) -> str:
    """The same with how well it is known: 90 times in 100 it lies between the two."""
    low, middle, high = (_to_five(edge) for edge in low_median_high(rise))
    return f"{middle} C, anywhere from {low} to {high},"


def _to_five(rise: float) -> str:
    return f"{5.0 * round((rise + SHOP_CELSIUS) / 5.0):.0f}"
