"""How far a drill goes before it is drawn out for its chips, by depth and by how the chips of a material come."""

from __future__ import annotations

from typing import Final

from ..shop.models import Material

#: Diameters at once, then again and again, by how the chips come (drillmaker: 2 to 3 at once; the rest judged).
PECKS: Final = {"short": (4.0, 1.5), "usual": (3.0, 1.0), "long": (2.0, 0.75)}


def chips(material: Material) -> str:
    """How the chips of a material come: short, usual or long."""
    if material.group == "K" or (material.group == "N" and not material.welds_to_tool):
        return "short"
    return "long" if material.welds_to_tool or material.group in ("M", "S", "plastic") else "usual"


def pecks_of(material: Material, diameter: float, depth: float) -> tuple[float, float] | None:
    """How deep at first, and then each time, before the drill is drawn out for its chips [mm]; None for in one go."""
    first, then = (share * diameter for share in PECKS[chips(material)])
    return None if depth <= first else (_settable(first), _settable(then))


def _settable(length: float) -> float:
    """To half a mm, below 2 mm to a tenth [mm]."""
    return round(length * 2.0) / 2.0 if length >= 2.0 else max(round(length, 1), 0.1)
