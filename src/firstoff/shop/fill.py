"""Force figures of a material that has none of its own: from its k_c1.1, else from its ISO 513 group and strength."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Final, Literal

from ..cutting.force_law import line_of_power
from ..tomlfile import Written, parse_table, read_text, validate
from ..units import parse
from .models import Figure, Material, Pressure, PressureFigure, Ratio

FILE: Final = Path(__file__).parent / "data" / "groups.toml"
#: chips over which the straight line is fitted, and the chip that k_c1.1 refers to [m]
SPAN: Final = (1e-5, 1e-4)
REFERENCE: Final = 1e-3
#: share of the tangential figure, times and divided by 2, as in the starter library; judged
RATIOS: Final = {"radial": 0.4, "axial": 0.25, "radial_edge": 1.0, "axial_edge": 0.1}
EDGE_FACTOR: Final = 1.5       #: × and ÷ of an edge force that comes from a power law
NO_STRENGTH: Final = 1.2       #: × and ÷ more where the strength is not known
RATIO_FACTOR: Final = 2.0


class GroupRow(Written):
    """One row of the published list."""

    name: str
    group: Literal["P", "M", "K", "N", "S", "H", "plastic", "wood"]
    tensile_strength: Pressure | None = None
    kc11: PressureFigure
    exponent: Ratio


@cache
def group_rows() -> tuple[GroupRow, ...]:
    """The published list by group."""
    text, name = read_text(FILE), FILE.name
    return tuple(validate(table, GroupRow, text, name, (key,)) for key, table in parse_table(text, name).items())


def filled(material: Material) -> Material:
    """The material with every figure of milling forces that it lacks; a mixture has those of its materials.

    Args:
        material: as it was written.

    Returns:
        The same where nothing was missing.
    """
    if material.one_of or all(getattr(material, name) is not None for name in _NAMES):
        return material
    force, exponent = _specific(material)
    given = {name: getattr(material, name) for name in _NAMES}
    made = {name: figure if given[name] is None else given[name]
            for name, figure in _figures(force, exponent, material).items()}
    change = {**made, "drilling_force": material.drilling_force or force, "drilling_exponent": exponent}
    return material.model_copy(update=change)


_NAMES: Final = ("tangential", "radial", "axial", "tangential_edge", "radial_edge", "axial_edge")


def _specific(material: Material) -> tuple[Figure, float]:
    """k_c1.1 and its exponent: the material's own, else that of its group."""
    if material.drilling_force is not None:
        return material.drilling_force, material.drilling_exponent
    return _by_group(material)


def _by_group(material: Material) -> tuple[Figure, float]:
    rows = [row for row in group_rows() if row.group == material.group]
    strength = material.tensile_strength.value if material.tensile_strength else None
    if strength is not None and any(row.tensile_strength for row in rows):
        near = _nearest([row for row in rows if row.tensile_strength], strength)
        told, wider = f"{material.group} at {strength / parse('1 N/mm2', 'pressure'):.0f} N/mm2", 1.0
    else:
        near, told, wider = rows, f"{material.group}, strength not known", NO_STRENGTH
    logs = [math.log(row.kc11.value) for row in near]
    middle = sum(logs) / len(logs)
    apart = max(abs(log - middle) for log in logs)
    own = max(math.log(row.kc11.factor or RATIO_FACTOR) for row in near)
    factor = math.exp(math.hypot(own, apart)) * wider
    figure = Figure(value=math.exp(middle), factor=factor, source=near[0].kc11.source, note=f"ISO 513 group {told}")
    return figure, sum(row.exponent for row in near) / len(near)


def _nearest(rows: Sequence[GroupRow], strength: float) -> list[GroupRow]:
    """The two rows nearest in strength: between them lies what the list cannot tell apart."""
    return sorted(rows, key=lambda row: abs(math.log((row.tensile_strength or strength) / strength)))[:2]


def _figures(force: Figure, exponent: float, material: Material) -> dict[str, Figure]:
    line = line_of_power(force.value, exponent, *SPAN, REFERENCE)
    spread = math.log(force.factor) if force.factor else math.log1p((force.sd or 0.0) / force.value)
    factor = math.exp(math.hypot(spread, float(line.departure)))
    note = f"straight line through {force.note or 'its own k_c1.1'}, exponent {exponent:.2g}"
    edge = Figure(value=max(float(line.edge), math.ulp(1.0)), factor=max(factor, EDGE_FACTOR), source=force.source,
                  note=note)
    along = Figure(value=float(line.cutting), factor=factor, source=force.source, note=note)
    whole = {"tangential": material.tangential or along, "tangential_edge": material.tangential_edge or edge}
    for name, share in RATIOS.items():
        base = whole["tangential_edge" if name.endswith("_edge") else "tangential"]
        whole[name] = Figure(value=share * base.value, factor=RATIO_FACTOR, source="judged",
                             note=f"{share:g} of the tangential")
    return whole
