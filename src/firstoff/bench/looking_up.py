"""Cut, hole and joint without a job, asked as a sentence with blanks, since nobody opens a shell at a mill."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, Final

from ..errors import InputError, NameUnknown
from ..telling import on_a_page

#: what the commands add for those who type them
_OPTION: Final = re.compile(r" \(--[a-z-]+\)")
_NAMED: Final = re.compile(r"--([a-z-]+)")


def blanks(folder: Path, shop: Path | None) -> dict[str, Any]:
    """What can stand in the blanks: machines, tools and materials of the shop, by key and name."""
    from ..actions_start import place_of_shop
    from ..route.asked_cut import MILLS
    from ..shop.library import load_shop

    stock = load_shop(place_of_shop(folder, shop))
    cutters = {key: tool.name for key, tool in stock.tools.items() if tool.kind in MILLS}
    mills = {key: machine.name for key, machine in stock.machines.items()
             if stock.classes[machine.like].kind == "mill"}
    return {"machines": {key: machine.name for key, machine in stock.machines.items()}, "mills": mills,
            "tools": cutters, "materials": {key: material.name for key, material in stock.materials.items()},
            "coolants": {key: wet.name for key, wet in stock.coolants.items()}, "units": stock.units}


def answer(what: str, said: dict[str, str], folder: Path, shop: Path | None) -> list[str]:
    """The answer in lines.

    Args:
        what: cut, hole or joint.
        said: what stands in the blanks; an empty one is left open.
        folder: of the job, whose shop is asked.
        shop: another shop.

    Raises:
        InputError: if a blank cannot be understood.
    """
    from ..actions_start import place_of_shop

    place = place_of_shop(folder, shop)
    filled = {key: text.strip() for key, text in said.items() if text.strip()}
    asked = {"cut": _cut, "hole": _hole, "joint": _joint}.get(what)
    if asked is None:
        raise NameUnknown(f"nothing is asked by {what!r}", right="cut, hole or joint")
    with on_a_page():
        lines = list(asked(filled, place))
    return [_NAMED.sub(r"'\1'", _OPTION.sub("", line)) for line in lines]


def _cut(filled: dict[str, str], shop: Path | None) -> list[str]:
    from .. import actions
    from ..telling_cut import cut_lines

    _needed(filled, "machine", "tool", "material")
    lengths = {key: filled.get(blank) for key, blank in (
        ("depth", "depth"), ("width", "width"), ("stickout", "stickout"), ("roughness", "finish"),
        ("within", "within"), ("bow", "raw"))}
    found = actions.cut(filled["machine"], filled["tool"], filled["material"], lengths, shop=shop,
                        speed=filled.get("speed"), feed=filled.get("feed"), direction=filled.get("direction"),
                        down=filled.get("down"), coolant=filled.get("coolant"))
    return list(cut_lines(found))


def _hole(filled: dict[str, str], shop: Path | None) -> list[str]:
    from .. import actions
    from ..telling_hole import hole_lines

    _needed(filled, "size", "material")
    found = actions.hole(filled["size"], filled["material"], machine=filled.get("machine"), depth=filled.get("depth"),
                         through=filled.get("through") == "yes", shop=shop,
                         own={key: filled.get(key) for key in ("drills", "speed", "feed")})
    return list(hole_lines(found))


def _joint(filled: dict[str, str], shop: Path | None) -> list[str]:
    from .. import actions
    from ..telling_joint import joint_lines

    _needed(filled, "screw", "into")
    said = {key: filled.get(key) for key in ("into", "through", "by", "load")}
    return list(joint_lines(actions.joint(filled["screw"], said, shop=shop)))


def _needed(filled: dict[str, str], *names: str) -> None:
    for name in names:
        if name not in filled:
            raise InputError("this blank must be filled", where=name)
