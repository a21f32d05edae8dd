"""Quick answers without a job: a cut for this cutter in this material; a hole or thread. Thin, and quick to start."""

from __future__ import annotations

from typing import Annotated

import typer

from .cli_words import AsJson, ShopOption, say, say_json

quick = typer.Typer()





@quick.command()
def cut(
    machine: Annotated[str, typer.Option(help="machine of the shop, or a class of machines")],
    tool: Annotated[str, typer.Option(help="cutter of the shop")],
    material: Annotated[str, typer.Option(help="material of the shop")],
    depth: Annotated[str | None, typer.Option(help='along the cutter: "1 mm"')] = None,
    width: Annotated[str | None, typer.Option(help='across it: "3 mm"; as wide as the cutter is a slot')] = None,
    speed: Annotated[str | None, typer.Option(help='of the spindle: "9000 rpm"')] = None,
    feed: Annotated[str | None, typer.Option(help='of the table: "600 mm/min"')] = None,
    direction: Annotated[str | None, typer.Option(help="climb or conventional")] = None,
    stickout: Annotated[str | None, typer.Option(help='out of the collet: "18 mm"')] = None,
    finish: Annotated[str | None, typer.Option(help='roughness Ra asked: "1.6 um"')] = None,
    within: Annotated[str | None, typer.Option(help='how far it may be pushed off: "0.03 mm"')] = None,
    raw: Annotated[str | None, typer.Option(help='a raw hot-rolled face, so uneven: "0.3 mm"')] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """A cut for this cutter in this material: what to key in, what limits it, what would be better."""
    from . import actions
    from .telling_cut import cut_json, cut_lines

    said = {"depth": depth, "width": width, "stickout": stickout, "roughness": finish, "within": within, "bow": raw}
    answer = actions.cut(machine, tool, material, said, speed=speed, feed=feed, direction=direction, shop=shop)
    if as_json:
        say_json(cut_json(answer))
        return
    say(cut_lines(answer))


@quick.command()
def hole(
    size: Annotated[str, typer.Argument(help='M5, M8x1, 1/4-20, 10, "1/4 in", "4 H7", "clearance M5", "csk M4"')],
    material: Annotated[str, typer.Option(help="material of the shop, or a word of its name: s275, brass")],
    machine: Annotated[str | None, typer.Option(help="machine of the shop; else its drill press")] = None,
    depth: Annotated[str | None, typer.Option("--depth", "--length",
                                              help='how deep; of a thread how long in full: "8 mm"')] = None,
    through: Annotated[bool, typer.Option("--through", help="it comes out at the far side")] = False,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """A hole or thread: drills in order, speeds, pecks, what machine, tap and thread bear, what can go wrong."""
    from . import actions
    from .telling_hole import hole_json, hole_lines

    answer = actions.hole(size, material, machine=machine, depth=depth, through=through, shop=shop)
    if as_json:
        say_json(hole_json(answer))
        return
    say(hole_lines(answer))
