"""Quick answers without a job: a cut for this cutter in this material; a hole or thread. Thin, and quick to start."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .cli_plain import Told, cut_told, hole_told
from .cli_words import AsJson, ShopOption, say, say_json

quick = typer.Typer()


@quick.command()
def cut(
    machine: Annotated[str, typer.Option(help="machine of the shop, or a class of machines")],
    tool: Annotated[str, typer.Option(help="cutter of the shop")],
    material: Annotated[str, typer.Option(help="material of the shop, or a word of its name: s275, brass")],
    depth: Annotated[str | None, typer.Option(help='along the cutter: "1 mm"')] = None,
    width: Annotated[str | None, typer.Option(help='across it: "3 mm"; as wide as the cutter is a slot')] = None,
    speed: Annotated[str | None, typer.Option(help='of the spindle: "9000 rpm"')] = None,
    feed: Annotated[str | None, typer.Option(help='of the table: "600 mm/min"')] = None,
    direction: Annotated[str | None, typer.Option(help="climb or conventional")] = None,
    coolant: Annotated[str | None, typer.Option(help="on the cut: dry, air, brushed, mist or flood")] = None,
    stickout: Annotated[str | None, typer.Option(help='out of the collet: "18 mm"')] = None,
    finish: Annotated[str | None, typer.Option(help='roughness Ra asked: "1.6 um"')] = None,
    within: Annotated[str | None, typer.Option(help='how far it may be pushed off: "0.03 mm"')] = None,
    raw: Annotated[str | None, typer.Option(help='a raw hot-rolled face, so uneven: "0.3 mm"')] = None,
    down: Annotated[str | None, typer.Option(
        help='the way down, below level: "3 deg" on a ramp or helix, "90 deg" straight down')] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """A cut for this cutter in this material: what to key in, what limits it, what would be better."""
    said = {"machine": machine, "tool": tool, "material": material, "depth": depth, "width": width, "speed": speed,
            "feed": feed, "direction": direction, "stickout": stickout, "finish": finish, "within": within,
            "raw": raw, "down": down, "coolant": coolant}
    _say(cut_told(_given(said, shop), {"json"} if as_json else ()))


@quick.command()
def hole(
    size: Annotated[str, typer.Argument(help='M5, M8x1, 1/4-20, 10, "1/4 in", "4 H7", "clearance M5", "csk M4"')],
    material: Annotated[str, typer.Option(help="material of the shop, or a word of its name: s275, brass")],
    machine: Annotated[str | None, typer.Option(help="machine of the shop; else its drill press")] = None,
    depth: Annotated[str | None, typer.Option("--depth", "--length",
                                              help='how deep; of a thread how long in full: "8 mm"')] = None,
    through: Annotated[bool, typer.Option("--through", help="it comes out at the far side")] = False,
    drills: Annotated[str | None, typer.Option(
        help='your own, in order: "6 mm, 10 mm"; the last one is tapped or reamed')] = None,
    speed: Annotated[str | None, typer.Option(help='your own, of the last drill: "500 rpm"')] = None,
    feed: Annotated[str | None, typer.Option(help='the same: "0.1 mm" a turn, or "90 mm/min"')] = None,
    slope: Annotated[str | None, typer.Option(help='of the face, off square to the drill: "20 deg"')] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """A hole or thread: drills in order, speeds, pecks, what machine, tap and thread bear, what can go wrong."""
    said = {"size": size, "material": material, "machine": machine, "depth": depth, "drills": drills, "speed": speed,
            "feed": feed, "slope": slope}
    flags = [name for name, given in (("through", through), ("json", as_json)) if given]
    _say(hole_told(_given(said, shop), flags))


def _given(said: dict[str, str | None], shop: Path | None) -> dict[str, str]:
    """The options that were given."""
    every = said | {"shop": None if shop is None else str(shop)}
    return {name: text for name, text in every.items() if text is not None}


def _say(told: Told) -> None:
    if isinstance(told, dict):
        say_json(told)
    else:
        say(told)


@quick.command()
def joint(
    what: Annotated[str, typer.Argument(help='"M4 x 12", "1/4-20 x 3/4 in"; or wedge, or lever')],
    into: Annotated[str | None, typer.Option(help="material with the thread; of a lever the bar's")] = None,
    through: Annotated[str | None, typer.Option(help="material of what is clamped, else the same")] = None,
    grade: Annotated[str | None, typer.Option(help="4.8, 8.8, 10.9, 12.9, A2-70 or brass")] = None,
    head: Annotated[str | None, typer.Option(help="socket, hex, countersunk or thumb")] = None,
    torque: Annotated[str | None, typer.Option(help='by a torque wrench: "1.5 N m"')] = None,
    by: Annotated[str | None, typer.Option(help="or by fingers, thumbscrew, key")] = None,
    lubricated: Annotated[bool, typer.Option("--lubricated", help="thread and head are greased or oiled")] = False,
    load: Annotated[str | None, typer.Option(help='that it must hold, or press with: "200 N"')] = None,
    along: Annotated[bool, typer.Option("--along/--across", help="the load along the screws, or across")] = False,
    screws: Annotated[int, typer.Option(help="how many share the load")] = 1,
    length: Annotated[str | None, typer.Option(help='full thread in the hole: "9 mm"')] = None,
    thick: Annotated[str | None, typer.Option(help="what is clamped; of a lever the bar")] = None,
    screw: Annotated[str | None, typer.Option(help="of a wedge or lever: M6")] = None,
    angle: Annotated[str | None, typer.Option(help='of a wedge: "7 deg"')] = None,
    gap: Annotated[str | None, typer.Option(help="that a wedge has to close")] = None,
    way: Annotated[str | None, typer.Option(help="that its screw can draw it")] = None,
    arms: Annotated[str | None, typer.Option(help='of a lever, fulcrum to screw and to tip: "14 mm, 26 mm"')] = None,
    width: Annotated[str | None, typer.Option(help="of a lever's bar")] = None,
    bore: Annotated[str | None, typer.Option(help="hole through the bar at its fulcrum")] = None,
    held: Annotated[str | None, typer.Option(help='a luggage scale showed this, and it held: "20 kg"')] = None,
    slipped: Annotated[str | None, typer.Option(help='or it slipped there: "25 kg"')] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """A screw, wedge or lever: how tight, what it holds, what gives way first, what would be better."""
    from . import actions
    from .telling_joint import joint_json, joint_lines

    said = {"into": into, "through": through, "grade": grade, "head": head, "torque": torque, "by": by, "load": load,
            "length": length, "thick": thick, "screw": screw, "angle": angle, "gap": gap, "way": way, "arms": arms,
            "width": width, "bore": bore, "held": held, "slipped": slipped}
    answer = actions.joint(what, said, along=along, lubricated=lubricated, screws=screws, shop=shop)
    if as_json:
        say_json(joint_json(answer))
        return
    say(joint_lines(answer))
