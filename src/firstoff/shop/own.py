"""Own figures in the place of book figures, for quick answers in closed form.

What was learned are rows of many columns at once. A closed form takes a middle and a spread for each figure, and
would count as several doubts what the records have narrowed together: so a force of cutting is taken with the
strength of its bar and with how wrong such physics was, as one figure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from ..belief import Belief, Choice, Key, Rows
from .columns import BY_BATCH, ENTITY
from .models import Axes, Figure, Machine, Material, Shop, Spindle

#: Force of a material -> the kind of physics that is wrong with it.
WRONG_BY: Final[Mapping[str, str]] = {"drilling_force": "drilling", "tapping_force": "tapping"}
SECTIONS: Final = ("materials", "machines", "tool_materials")
_LEAST: Final = 1e-6          #: of a spread that has all but gone


def with_own(shop: Shop, belief: Belief) -> Shop:
    """The shop with the figures that learning has moved.

    Args:
        shop: with book figures.
        belief: of this shop, with the own figures in it.

    Returns:
        The shop. Where a force of drilling or tapping moved it holds the strength of the bar and how wrong such
        physics is, too, and these stand no more beside it.
    """
    if not belief.moved:
        return shop
    found: dict[str, Any] = {section: {key: _with_own(ENTITY[section], key, model, belief)
                                       for key, model in getattr(shop, section).items()} for section in SECTIONS}
    found["machines"] = {key: _inherited(key, m, shop, belief) for key, m in found["machines"].items()}
    found["materials"] = {key: _of_one_bar(key, m, belief) for key, m in found["materials"].items()}
    told = {kind: off for kind, off in shop.discrepancies.items() if kind not in WRONG_BY.values()}
    return shop.model_copy(update=found | {"discrepancies": told})


def _with_own(word: str, key: str, model: Any, belief: Belief) -> Any:
    """A thing of the shop with its own figures where they moved."""
    update: dict[str, Any] = {}
    for name, value in model:
        if isinstance(value, Figure):
            update[name] = _moved(belief, (f"{word}:{key}", name), value)
        elif isinstance(value, Spindle):
            power = _moved(belief, (f"{word}:{key}", "power"), value.power)
            update[name] = value.model_copy(update={"power": power})
        elif isinstance(value, Axes):
            update[name] = value.model_copy(update={
                axis: _moved(belief, (f"{word}:{key}", f"{name}_{axis}"), figure) for axis, figure in value})
    return model.model_copy(update=update)


def _inherited(key: str, machine: Machine, shop: Shop, belief: Belief) -> Machine:
    """A machine with what it has of its class, where that moved."""
    book, entity = shop.classes[machine.like], f"machine:{key}"
    update: dict[str, Any] = {}
    if machine.axis_thrust is None and book.axis_thrust is not None:
        moved = _moved(belief, (entity, "axis_thrust"), book.axis_thrust)
        if moved is not book.axis_thrust:
            update["axis_thrust"] = moved
    if machine.stiffness is None and book.stiffness is not None:
        axes = {axis: _moved(belief, (entity, f"stiffness_{axis}"), figure) for axis, figure in book.stiffness}
        if any(axes[axis] is not figure for axis, figure in book.stiffness):
            update["stiffness"] = book.stiffness.model_copy(update=axes)
    return machine.model_copy(update=update)


def _of_one_bar(key: str, material: Material, belief: Belief) -> Material:
    """A material whose forces hold the strength of its bar and the error of their physics; a mixture by its rows."""
    entity = f"material:{key}"
    which = belief.columns.get((entity, "which"))
    if which is not None and isinstance(which.transform, Choice):
        index = which.transform.value(belief.z(which.key)).astype(np.intp)
        share = np.bincount(index, minlength=len(material.one_of)) / belief.rows
        return material.model_copy(update={"one_of": {name: float(part) for name, part in
                                                      zip(material.one_of, share, strict=True) if part > 0.0}})
    update: dict[str, Any] = {"batch": None}
    for name in BY_BATCH:
        if (entity, name) not in belief.columns:
            continue
        rows = belief.value(entity, name)
        off = f"discrepancy:{WRONG_BY.get(name)}"
        if belief.has(off, "factor"):
            rows = rows * belief.value(off, "factor")
        own = (entity, name) in belief.moved       # its bar alone may have moved, by words about cuts
        update[name] = _figure(rows, "measured" if own else belief.columns[entity, name].source)
    return material.model_copy(update=update)


def _moved(belief: Belief, key: Key, book: Figure) -> Figure:
    """A figure of the rows where learning moved them, else of the book."""
    if key not in belief.columns or not any(k in belief.moved for k in belief.depends_on([key])):
        return book
    return _figure(belief.value(*key), "measured")


def _figure(rows: Rows, source: str) -> Figure:
    """Middle and spread of rows."""
    if np.all(rows > 0.0):
        logs = np.log(rows)
        return Figure.model_construct(value=math.exp(float(logs.mean())), sd=None, source=source, note="",
                                      factor=math.exp(max(float(logs.std()), _LEAST)))
    return Figure.model_construct(value=float(rows.mean()), sd=max(float(rows.std()), _LEAST), factor=None,
                                  source=source, note="")
