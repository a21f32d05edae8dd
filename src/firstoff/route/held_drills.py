"""Drills that a machine holds and drives; where it does neither, what brings the hole to its size instead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from ..checks._drills import BY_HAND, PUSH, Drill
from ..errors import InputError
from ..shop.models import Machine, Material, Shop, Tool
from ..units import tell, tell_rounded
from .drills import DrillStep, in_order, worst
from .tools import collet_for, too_fast

HOPELESS: Final = 0.5          #: chance of failing from which a drill is not driven, and leaning lighter no advice
ALIKE: Final = 0.011           #: [mm] a drill of the shop is of a size
NARROWER: Final = 0.9          #: of the hole: a wider drill before it leaves nothing to mill or bore
ROUND: Final = 0.8             #: of the hole: the widest cutter that goes round in it and lets its chips out; judged
LEAST_ROUND: Final = 0.3       #: of the hole: a thinner one takes long
MOST: Final = 2                #: drills, where something else brings the hole to its size
LEAST_BORED: Final = 8.0       #: [mm] the least hole that a boring head's bar goes into; judged


@dataclass(frozen=True)
class Beyond:
    """A drill that this machine does not hold or drive: why, and what makes the hole instead."""

    diameter: float
    because: str
    ways: tuple[str, ...]


def held_row(
    shop: Shop, machine: Machine, material_key: str, diameter: float, sizes: Sequence[float],
) -> tuple[tuple[DrillStep, ...], Beyond | None]:
    """The drills in order, as far as the machine holds and drives them.

    Args:
        shop: with book figures.
        machine: that drills.
        material_key: of the work.
        diameter: of the last drill [mm].
        sizes: of the drills that there are [mm].

    Returns:
        One to three drills; and where the last one is not among them why, and what makes the hole instead.

    Raises:
        InputError: if the machine holds and drives no drill for such a hole at all.
    """
    material = shop.materials[material_key]
    row = in_order(shop, machine, material, Drill(diameter), sizes, shop.close)
    held = holds(shop, machine, diameter)
    if held and row[-1].load.p <= HOPELESS:
        usable = [size for size in sizes if holds(shop, machine, size)]
        return _gripped(shop, machine, material, diameter, usable), None
    before = _before(shop, machine, material, diameter, sizes)
    beyond = Beyond(diameter, _because(shop, machine, row[-1], held),
                    tuple(_ways(shop, machine, material_key, row[-1], before[-1].diameter if before else 0.0)))
    if before:
        return before, beyond
    raise InputError(f"Ø{_size(shop, diameter)}: {beyond.because}", where="hole",
                     right="; or ".join(beyond.ways) or "another machine")


def _gripped(
    shop: Shop, machine: Machine, material: Material, diameter: float, usable: Sequence[float],
) -> tuple[DrillStep, ...]:
    """The drills in order; pilots that want a pin chuck only where those that are gripped are not enough."""
    thick = [size for size in usable if too_thin(shop, machine, size) is None]
    row = in_order(shop, machine, material, Drill(diameter), thick, shop.close)
    if worst(row) <= shop.close or len(thick) == len(usable):
        return row
    other = in_order(shop, machine, material, Drill(diameter), usable, shop.close)
    return other if worst(other) <= shop.close else row


def _before(
    shop: Shop, machine: Machine, material: Material, diameter: float, sizes: Sequence[float],
) -> tuple[DrillStep, ...]:
    """The widest hole that the machine drills easily, with one pilot at most, before something else widens it."""
    usable = sorted((size for size in set(sizes) if holds(shop, machine, size)), reverse=True)
    for size in usable:
        if size <= NARROWER * diameter:
            row = in_order(shop, machine, material, Drill(size), usable, shop.close)
            if len(row) <= MOST and worst(row) <= shop.close:
                return row
    return ()


def holds(shop: Shop, machine: Machine, diameter: float) -> bool:
    """Whether a chuck or collet of the machine opens to a drill of this size, by the shop's own where it has one.

    Where nobody wrote down what grips there, it is taken to hold; a thin drill is held by a pin chuck in it.
    """
    grips = _grips(shop, machine)
    drill = _drill(shop, diameter)
    return not grips or (drill.shank or drill.diameter) <= max(high for _, high in grips) + ALIKE


def too_thin(shop: Shop, machine: Machine, diameter: float) -> float | None:
    """The least shank that is gripped, where a drill is thinner than that [mm]; else None."""
    grips, drill = _grips(shop, machine), _drill(shop, diameter)
    least = min((low for low, _ in grips), default=0.0)
    return least if (drill.shank or drill.diameter) < least - ALIKE else None


def _drill(shop: Shop, diameter: float) -> Tool:
    """The shop's drill of this size, with its own shank; else one as thick all along."""
    own = [t for t in shop.tools.values() if t.kind == "drill" and abs(t.diameter - diameter) <= ALIKE]
    return min(own, key=lambda t: t.shank or t.diameter) if own else Tool.model_construct(
        name="drill", kind="drill", material="hss", diameter=diameter, shank=None)


def _grips(shop: Shop, machine: Machine) -> list[tuple[float, float]]:
    press = shop.classes[machine.like].kind == "drill_press"
    chucks = [name for name, collet in shop.collets.items() if collet.kind == "chuck"] if press else []
    return [shop.collets[name].grips for name in machine.collets or chucks if name in shop.collets]


def _size(shop: Shop, diameter: float) -> str:
    return tell(diameter, "length", shop.units)


def _because(shop: Shop, machine: Machine, last: DrillStep, held: bool) -> str:
    """Why the last drill is none for this machine."""
    words = []
    if not held:
        grips = _grips(shop, machine)
        words.append(f"what grips on the {machine.name} opens to {_size(shop, max(high for _, high in grips))}")
    first = last.load.first
    if first is not None and last.load.p > HOPELESS:
        quantity = "force" if first.name in (BY_HAND, PUSH) else "torque"
        asked, bears = (tell_rounded(number, quantity, shop.units) for number in (first.asked, first.bears))
        words.append(f"{asked} is asked, about {bears} would {first.name}")
    return ", and ".join(words)


def _ways(shop: Shop, machine: Machine, material_key: str, last: DrillStep, drilled: float) -> Iterator[str]:
    """What makes a hole of that size instead, by what the shop has and how wide it is drilled before."""
    material, size = shop.materials[material_key], last.diameter
    grips = _grips(shop, machine)
    if last.load.p <= HOPELESS and grips and size > max(high for _, high in grips):
        yield f"a drill of {_size(shop, size)} with a shank of at most {_size(shop, max(high for _, high in grips))}"
    yield from elsewhere(shop, machine, material, size)
    yield from _round(shop, machine, material_key, size, drilled)
    if size >= LEAST_BORED:
        yield "bored out with a boring head on a mill"


def elsewhere(shop: Shop, machine: Machine, material: Material, size: float) -> Iterator[str]:
    """Another machine of the shop that holds and drives a drill, if any.

    Args:
        shop: with its machines.
        machine: that does not.
        material: to drill.
        size: of the drill [mm].
    """
    for other in shop.machines.values():
        if (other is not machine and other.spindle is not None and holds(shop, other, size)
                and worst(in_order(shop, other, material, Drill(size), (), shop.close)) <= shop.close):
            yield f"drilled on the {other.name}, which holds and drives it"
            return


def _round(shop: Shop, here: Machine, material_key: str, size: float, drilled: float) -> Iterator[str]:
    """The widest cutter that this mill, or else another, holds and turns slowly enough, led round in the hole."""
    material = shop.materials[material_key]
    found = [(machine is here, tool.diameter, _power(machine), key, name)
             for key, machine in shop.machines.items()
             if shop.classes[machine.like].kind == "mill" and machine.spindle is not None
             for name, tool in shop.tools.items() if tool.kind == "end_mill"
             and LEAST_ROUND * size <= tool.diameter <= ROUND * size
             and (tool.centre_cutting or tool.diameter < drilled)
             and collet_for(shop, machine, tool) is not None and not too_fast(machine, tool, material, "slot")]
    if found:
        *_, key, name = max(found)
        yield (f"milled round on the {shop.machines[key].name} with the {shop.tools[name].name}, on a helix down in "
               f"what is drilled: firstoff cut --machine {key} --tool {name} --material {material_key} "
               f"--down \"1 deg\"")


def _power(machine: Machine) -> float:
    """Of the spindle [W]; 0 where nobody says."""
    return machine.spindle.power.value if machine.spindle and machine.spindle.power else 0.0
