"""A lone operation: one straight cut in a plain block, so that every check works on it as on a job's own.

The block is as long as `LENGTH`; what is taken off it is a slot, a step along its side or a layer of its top. How it
is held and how far the tool must reach belong to a job: those checks have nothing to say here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from ..checks.base import Case, State
from ..dryrun.nominal import nominal_windows
from ..job.models import Job, Limit, PartWanted, Stock
from ..job.route import Cut, Holding, Operation, Role, Route, Setting, Zero
from ..part.shapes import Face, Feature, Part, Vector
from ..shop.models import Device, Shop, Tool
from ..tomlfile import own

LENGTH: Final = 100.0           #: [mm] of the pass
NAME: Final = "cut"
ASKED: Final = "what you ask"  #: a limit, as sentences name it
HELD: Final = "as you hold it"  #: a device that nothing is known of
TOP: Final[Vector] = (0.0, 0.0, 1.0)


@dataclass(frozen=True)
class Block:
    """What is to be taken off: so deep along the tool and so wide across it [mm].

    Fields:
        depth: in all, along the tool [mm].
        width: in all, across the tool [mm].
        roughness: Ra wanted [mm]; None where nothing is asked.
        within: how far a wall or floor may be off, to either side [mm]; None where nothing is asked.
        bow: of a raw hot-rolled face: how far its lowest spot may lie below its highest [mm]; None where it is clean.
        down: of the cutter's way below level [rad].
    """

    depth: float
    width: float
    roughness: float | None = None
    within: float | None = None
    bow: float | None = None
    down: float = 0.0


def role_of(tool: Tool, block: Block) -> Role:
    """What such a cut is called in a route."""
    fine = block.roughness is not None or block.within is not None
    if tool.kind == "chamfer":
        return "chamfer"
    if block.down > 0.0:
        return "slot"
    if tool.kind == "ball":
        return "form"
    if tool.kind == "face_mill" or block.bow is not None:
        return "face_finish" if fine else "face_rough"
    if block.width >= tool.diameter:
        return "slot"
    return "side_finish" if fine else "side_rough"


def lone_case(
    shop: Shop, machine: str, tool: str, material: str, collet: str | None, block: Block, cut: Cut,
    stickout: float | None = None,
) -> Case:
    """The case of one operation that stands alone.

    Args:
        shop: with the machine in it.
        machine: its name there.
        tool: name of the cutter.
        material: name of the material.
        collet: what holds the cutter; None where nothing fits.
        block: what is taken off.
        cut: its numbers.
        stickout: how far the cutter stands out [mm]; None for as usually held.
    """
    shop = shop.model_copy(update={"devices": {**shop.devices, HELD: own(Device, name=HELD, kind="screws")}})
    role = role_of(shop.tools[tool], block)
    part = _part(role, block)
    removes = block.width if role.startswith("side") else block.depth
    operation = own(Operation, number=10, setting="only", features=(part.features[0].id,), role=role, tool=tool,
                    collet=collet, stickout=stickout, removes=removes, cut=cut, down=block.down)
    route = own(Route, settings={"only": _setting(machine)}, operations={NAME: operation})
    job = _job(material, block, role, shop.units)
    case = Case("operation", NAME, job, shop, route, {"block": part}, part_name="block", setting_name="only",
                operation=operation, state=State("block"))
    return replace(case, windows=nominal_windows(case))


def _setting(machine: str) -> Setting:
    return own(Setting, workpiece="block", up=TOP, across=(1.0, 0.0, 0.0), machine=machine, datums=("-Z",),
               holding=own(Holding, device=HELD, rest="-Z"), zero=own(Zero, x="-X", y="-Y", z="+Z"))


def _job(material: str, block: Block, role: Role, units: str) -> Job:
    condition = "milled" if block.bow is None else "hot_rolled"
    stock = own(Stock, size=(LENGTH, block.width, block.depth), condition=condition, bow=block.bow or 0.0)
    part = own(PartWanted, model="none", material=material, stock=stock, roughness=block.roughness)
    limits: dict[str, Limit] = {}
    if block.within is not None:
        face = "+Z" if role.startswith(("face", "form")) else "-Y"
        limits = {ASKED: own(Limit, kind="size", between=(face,), tolerance=(-block.within, block.within))}
    return own(Job, name="a lone cut", units=units, parts={"block": part}, limits=limits)


def _part(role: Role, block: Block) -> Part:
    """A block, and as its feature the wall, the top or the slot that the cut makes."""
    a, b, c = LENGTH, block.width, block.depth
    wall = _flat(0, (0.0, -1.0, 0.0), (0.0, 0.0, 0.0), (a, 0.0, c))
    top = _flat(1, TOP, (0.0, 0.0, c), (a, b, c))
    floor = _flat(2, TOP, (0.0, 0.0, 0.0), (a, b, 0.0))
    other = _flat(3, (0.0, 1.0, 0.0), (0.0, b, 0.0), (a, b, c))
    if role == "slot":
        feature = Feature("slot-1", "slot", (0, 2, 3), axis=TOP, size={"length": a, "width": b, "depth": c})
    elif role.startswith(("face", "form")):
        feature = Feature("stock-1", "stock", (1,), axis=TOP)
    else:
        feature = Feature("stock-1", "stock", (0,), axis=(0.0, -1.0, 0.0))
    return Part("block", "none", "", "mm", 1, (0.0, 0.0, 0.0), (a, b, c), a * b * c, (wall, top, floor, other), (),
                (replace(feature, access=(TOP,)),))


def _flat(number: int, normal: Vector, low: Vector, high: Vector) -> Face:
    sizes = [end - start for start, end in zip(low, high, strict=True) if end > start]
    x, y, z = ((start + end) / 2.0 for start, end in zip(low, high, strict=True))
    return Face(number, 0, "plane", sizes[0] * sizes[1], (x, y, z), normal, low, high)
