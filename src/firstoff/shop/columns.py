"""Prior columns of a belief for every figure of a shop.

Some figures are one standard deviation of an error that is new each time (`positioning`, `touch_off`,
`seating`, an instrument's `uncertainty`): the column's value is that standard deviation, always above
zero, and its level says how often the error is new. `axis_scale`, `squareness` and `tram` are errors
themselves, of either sign.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, get_args, get_type_hints

from ..belief import Choice, Column, Key, Level, LogNormal, Normal, Share
from ..kept import kept
from ..units import KEPT_IN
from . import models
from .models import Axes, CuttingSpeeds, Figure, Machine, MachineClass, Material, Shop, Spindle

#: one standard deviation of the log, between machines of one class beyond the class's own spread
MACHINE_SCATTER: Final = 1.25

#: section of the shop -> word that an entity begins with
ENTITY: Final[Mapping[str, str]] = {
    "materials": "material", "classes": "class", "machines": "machine", "tools": "tool",
    "tool_materials": "tool_material", "collets": "collet", "devices": "device",
    "instruments": "instrument", "coatings": "coating", "coolants": "coolant", "discrepancies": "discrepancy",
}
#: figures of the shop as a whole
SHOP_WIDE: Final = ("rubbing_ratio", "chip_ratio", "friction_ratio", "book_life", "book_feed", "book_depth",
                    "tap_speed", "tap_life", "tap_exponent", "ream_speed", "ream_life", "ream_exponent",
                    "end_wear", "scale_abrasion", "build_up_roughness", "jaw_contact")

#: parameters that a bar's own strength multiplies
BY_BATCH: Final = frozenset({
    "tangential", "radial", "axial", "tangential_edge", "radial_edge", "axial_edge", "drilling_force",
    "tapping_force",
})
#: ratios that stay below 1 however wide their spread
BELOW_ONE: Final = frozenset({"mode_damping", "rest_damping", "mode_share", "efficiency"})
#: how far a kind of physics is out with one cutter or one metal, beyond what it is on this mill
APART: Final = "apart"
#: how far it is out in cuts that are alike, and how many such columns a mill has: far more than its records speak of
LIKE: Final = "like"
KINDS: Final = 48
#: cutters that have a share of their own: those that mill
MILLS_WITH: Final = frozenset({"end_mill", "ball", "corner_radius", "face_mill", "chamfer"})
SIGNED: Final = frozenset({"axis_scale", "squareness", "tram"})

_LEVELS: Final[Mapping[str, Level]] = {
    "materials": Level.SHOP, "classes": Level.SHOP, "machines": Level.MACHINE, "tools": Level.SHOP,
    "tool_materials": Level.SHOP, "collets": Level.MACHINE, "devices": Level.CLAMPING,
    "instruments": Level.SHOP, "coatings": Level.SHOP, "coolants": Level.SHOP, "discrepancies": Level.SHOP,
    "": Level.SHOP,
}
_LEVELS_OF: Final[Mapping[tuple[str, str], Level]] = {
    ("materials", "batch"): Level.BATCH, ("materials", "scale_thickness"): Level.BATCH,
    ("materials", "skin_stress"): Level.BATCH,
    ("machines", "touch_off"): Level.SETTING, ("machines", "positioning"): Level.OPERATION,
    ("devices", "jaw_lift"): Level.MACHINE,          # how much this vise lifts; each lift is an error of its own
}
_QUANTITIES: Final[Mapping[Any, str]] = {
    models.LengthFigure: "length", models.AngleFigure: "angle", models.RatioFigure: "ratio",
    models.SpeedFigure: "cutting_speed", models.FeedFigure: "table_feed",
    models.AccelerationFigure: "acceleration", models.ForceFigure: "force",
    models.TorqueFigure: "torque", models.PowerFigure: "power", models.PressureFigure: "pressure",
    models.EdgeForceFigure: "edge_force", models.StiffnessFigure: "stiffness",
    models.FrequencyFigure: "frequency", models.TimeFigure: "time", models.MassFigure: "mass",
    models.RiseFigure: "temperature_difference", models.HeatCapacityFigure: "heat_capacity",
    models.ConductivityFigure: "conductivity", models.ExpansionFigure: "expansion", models.FilmFigure: "film",
}


@dataclass(frozen=True)
class Believed:
    """A figure and where it stands: section and id in the shop, parameter as columns name it."""

    section: str
    id: str
    parameter: str
    quantity: str
    figure: Figure

    @property
    def entity(self) -> str:
        """As columns name it: 'material:c45', or 'shop'."""
        return f"{ENTITY[self.section]}:{self.id}" if self.section else "shop"

    @property
    def unit(self) -> str:
        """The unit that it is kept in: mm for lengths, coherent SI for the rest."""
        return KEPT_IN[self.quantity][0] or "1"

    @property
    def dotted(self) -> str:
        """Dotted name for people."""
        return ".".join(piece for piece in (self.section, self.id, self.parameter) if piece)


def figures(shop: Shop) -> Iterator[Believed]:
    """Every figure of the shop."""
    for section in ENTITY:
        for key, model in getattr(shop, section).items():
            for parameter, quantity, figure in _figures_of(model):
                yield Believed(section, key, parameter, quantity, figure)
    hints = _hints(Shop)
    for parameter in SHOP_WIDE:
        figure = getattr(shop, parameter)
        if figure is not None:
            yield Believed("", "", parameter, _quantity(hints[parameter]), figure)


def judged(shop: Shop) -> list[str]:
    """Dotted names of all figures for which no published source was found."""
    return [item.dotted for item in figures(shop) if item.figure.source == "judged"]


@kept(2)
def columns_of(shop: Shop) -> tuple[Column, ...]:
    """The prior columns of a shop.

    Args:
        shop: the shop.

    Returns:
        One column for each figure (what cutters, metals and kinds of cuts have apart: one for each of them), one for
        each figure that a machine takes from its class, and a choice for each material that is a mixture.
    """
    found = [_column(item, shop) for item in figures(shop) if item.parameter not in (APART, LIKE)]
    for key, machine in shop.machines.items():
        found += _inherited(shop, key, machine)
        found += _own_discrepancies(shop, key, machine)
    for key, material in shop.materials.items():
        if material.one_of:
            names = tuple(f"material:{name}" for name in material.one_of)
            choice = Choice(names, tuple(material.one_of.values()))
            found.append(Column(f"material:{key}", "which", "1", Level.BATCH, choice, source="judged"))
    return tuple(found)


@cache
def _hints(model: Any) -> dict[str, Any]:
    return get_type_hints(model, include_extras=True)


@cache
def _quantity(annotation: Any) -> str:
    """The quantity of a field that holds a figure."""
    if annotation in _QUANTITIES:
        return _QUANTITIES[annotation]
    for piece in get_args(annotation):
        found = _quantity(piece)
        if found:
            return found
    return ""


def _figures_of(model: Any) -> Iterator[tuple[str, str, Figure]]:
    kind: Any = type(model)
    hints = _hints(kind)
    for name, value in model:
        quantity = _quantity(hints[name])
        if isinstance(value, Figure):
            yield name, quantity, value
        elif isinstance(value, dict) and quantity:
            yield from ((f"{name}:{key}", quantity, figure) for key, figure in value.items())
        elif isinstance(value, Axes):
            yield from ((f"{name}_{axis}", what, figure) for axis, what, figure in _figures_of(value))
        elif isinstance(value, CuttingSpeeds):
            yield from ((f"{name}:{by}", what, figure) for by, what, figure in _figures_of(value))
        elif isinstance(value, Spindle):
            yield from _figures_of(value)


def _level(section: str, parameter: str) -> Level:
    return _LEVELS_OF.get((section, parameter), _LEVELS[section])


def _transform(figure: Figure, parameter: str) -> LogNormal | Normal:
    """× and ÷ as it stands; ± of what cannot be negative as the LogNormal of same mean and deviation."""
    if figure.factor is not None:
        return (Share if parameter in BELOW_ONE else LogNormal)(figure.value, figure.factor)
    sd = figure.sd or 0.0
    if parameter in SIGNED or figure.value <= 0.0:
        return Normal(figure.value, sd)
    grown = 1.0 + (sd / figure.value) ** 2
    kind = Share if parameter in BELOW_ONE else LogNormal
    return kind(figure.value / math.sqrt(grown), math.exp(math.sqrt(math.log(grown))))


def _column(item: Believed, shop: Shop) -> Column:
    parents: tuple[Key, ...] = ()
    if item.section == "materials" and item.parameter in BY_BATCH:
        material: Material = shop.materials[item.id]
        parents = ((item.entity, "batch"),) if material.batch is not None else ()
    return Column(item.entity, item.parameter, item.unit, _level(item.section, item.parameter),
                  _transform(item.figure, item.parameter), parents, item.figure.source)


def off_name(kind: str, parameter: str) -> str:
    """What a machine's own share of a discrepancy is called: 'chatter_lean'."""
    return f"{kind}_{parameter}"


def apart_name(kind: str, of: str) -> str:
    """What the share of a cutter or a metal on a machine is called: 'chatter_apart:tool:end_mill_6_2f'."""
    return f"{off_name(kind, APART)}:{of}"


def like_name(kind: str, number: int) -> str:
    """What the share of some of the cuts on a machine is called: 'chatter_like:7'."""
    return f"{off_name(kind, LIKE)}:{number}"


def is_place(parameter: str) -> bool:
    """Whether a parameter is the share of some of the cuts: a place on a grid, of which nobody knows the name."""
    return f"_{LIKE}:" in parameter


def _own_discrepancies(shop: Shop, key: str, machine: Machine) -> list[Column]:
    """How far physics that leans with the direction is out on this mill, beyond what all mills share, and there with
    each cutter, in each metal and in cuts that are alike: what was heard of one says less of another.
    """
    if shop.classes[machine.like].kind != "mill":
        return []
    with_these = [f"tool:{name}" for name, tool in shop.tools.items() if tool.kind in MILLS_WITH]
    in_these = [f"material:{name}" for name in shop.materials]
    apart = [Column(f"machine:{key}", apart_name(kind, of), "1", Level.MACHINE, _transform(model.apart, APART), (),
                    model.apart.source)
             for kind, model in shop.discrepancies.items() if model.apart is not None
             for of in (*with_these, *in_these)]
    alike = [Column(f"machine:{key}", like_name(kind, number), "1", Level.MACHINE, _transform(model.like, LIKE), (),
                    model.like.source)
             for kind, model in shop.discrepancies.items() if model.like is not None for number in range(KINDS)]
    return [*apart, *alike, *_by_machine(shop, key)]


def _by_machine(shop: Shop, key: str) -> list[Column]:
    return [Column(f"machine:{key}", off_name(kind, parameter), "1", Level.MACHINE, LogNormal(1.0, MACHINE_SCATTER),
                   ((f"discrepancy:{kind}", parameter),), "judged")
            for kind, model in shop.discrepancies.items() if model.lean is not None
            for parameter, _, _ in _figures_of(model) if parameter not in (APART, LIKE)]


def _inherited(shop: Shop, key: str, machine: Machine) -> list[Column]:
    """Columns of a machine for what it has no figure of its own for: those of its class."""
    own = {parameter for parameter, _, _ in _figures_of(machine)}
    book: MachineClass = shop.classes[machine.like]
    found = []
    for parameter, quantity, figure in _figures_of(book):
        if parameter in own:
            continue
        item = Believed("machines", key, parameter, quantity, figure)
        level, law = _level("machines", parameter), _transform(figure, parameter)
        if isinstance(law, Normal):
            found.append(Column(item.entity, parameter, item.unit, level, law, (), figure.source))
        else:
            parent = (f"class:{machine.like}", parameter)
            own_scatter = Share(0.5, MACHINE_SCATTER) if isinstance(law, Share) else LogNormal(1.0, MACHINE_SCATTER)
            found.append(Column(item.entity, parameter, item.unit, level, own_scatter,
                                (parent,), figure.source))
    return found
