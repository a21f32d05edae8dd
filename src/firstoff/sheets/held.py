"""How the work of a setting is held and zeroed, in words, and which of them say what of the route."""

from __future__ import annotations

from typing import Final

from ..checks._tightened import book_force
from ..dryrun.result import Result
from ..job.route import Setting
from ..shop.models import Device
from ..units import tell
from .words import axis_name, roughly

#: what to try by hand before the spindle turns, and in which order to let go, by kind of device
_TRIED: Final = "wipe, tap down, try each parallel: one that moves has a chip beside it; push at the far end"
TRY: Final = {
    "vise": _TRIED, "angle_block": _TRIED,
    "v_block": "turn the part by hand, and pull it along: it must not stir in the vee",
    "collet_block": "turn the part by hand, and pull it out: it must not stir; then the block itself in the vise",
    "three_jaw": "turn the part by hand, and rock its end: all three jaws must bear",
    "edge_clamps": "push at the far end, and up at each edge: it must not stir",
    "clamps": "push at each corner between the clamps; packing right under each, no strap that points up at the part",
    "screws": "push at each corner; a screw that bottoms feels tight and clamps nothing: try its length first",
    "carrier": "pull sideways at the part, well away from the cutter; pick up a bore or an edge after gluing",
}
LET_GO: Final = {
    **dict.fromkeys(("vise", "angle_block", "v_block", "collet_block", "edge_clamps", "three_jaw"),
                    "spindle off; a hand on the part, then the handle; wipe chips before the part is turned"),
    "clamps": "spindle off; the clamp farthest from the last cut first; a bent part springs as the last one goes",
    "screws": "spindle off; crosswise, half a turn each first",
    "carrier": "warm the plate slowly in fresh air until the part slides off; gloves, no flame; never pry; measure "
               "nothing, and glue nothing on, before part and plate are cold",
}
#: tape is not warmed: it is pulled
TAPE_OFF: Final = "a plastic wedge under an edge, slowly; then along, never up; spirit for what stays, no flame"
NO_PARALLELS: Final = "no parallels"
#: words on a card, and the dotted key of the route below its setting that they tell; "" for words between
Piece = tuple[str, str]


def held(result: Result, setting: Setting) -> list[tuple[str, str]]:
    """How the work is held and zeroed, line by line: label and text.

    Args:
        result: what the dry run returned.
        setting: of its route.
    """
    return [(label, "".join(text for text, _ in pieces)) for label, pieces in held_pieces(result, setting)]


def held_pieces(result: Result, setting: Setting, every: bool = False) -> list[tuple[str, list[Piece]]]:
    """The same in pieces, so that each can be written anew where it stands.

    Args:
        result: what the dry run returned.
        setting: of its route.
        every: whether what is left out is told, too: no parallels, not tapped down, no stop.

    Returns:
        Label and pieces of each line.
    """
    holding, system = setting.holding, result.job.units
    device = result.shop.devices.get(holding.device)
    lines: list[tuple[str, list[Piece]]] = [
        ("up", [(f"{axis_name(setting.up)} of the model; {axis_name(setting.across)} to the right", "")]),
        ("held in", [(device.name if device else holding.device, "holding.device")]),
        ("tilt", [(holding.tilt, "holding.tilt")]), ("rests", _rest(setting, system, every)),
        ("grip", _grip(setting)), ("how deep", _how_deep(setting, system, every)),
        ("clamps", _clamps(setting, system)), ("how tight", _tight(setting, device, system)),
        ("stop", _stop(setting)), *_by_device(device),
        ("datums", _datums(setting)), ("zero", _zero(setting)), ("still on", _still_on(setting, system)),
    ]
    return [line for line in lines if any(text for text, _ in line[1])] + [
        ("note", [(note, "")]) for note in setting.notes]


def _rest(setting: Setting, system: str, every: bool) -> list[Piece]:
    holding = setting.holding
    pieces: list[Piece] = [(holding.rest, "holding.rest"), (" down", "")]
    if holding.parallels:
        pieces += [(", on parallels ", ""), (roughly(holding.parallels, system), "holding.parallels"), (" high", "")]
    elif every:
        pieces += [(", ", ""), (NO_PARALLELS, "holding.parallels")]
    if holding.tapped:
        pieces += [(", ", ""), ("tapped down until no parallel moves", "holding.tapped")]
    elif every:
        pieces += [(", ", ""), ("not tapped down", "holding.tapped")]
    return pieces


def _grip(setting: Setting) -> list[Piece]:
    if len(setting.holding.grip) != 2:
        return []
    fixed, moving = setting.holding.grip
    return [("fixed jaw ", ""), (fixed, "holding.grip.0"), (", moving jaw ", ""), (moving, "holding.grip.1")]


def _how_deep(setting: Setting, system: str, every: bool) -> list[Piece]:
    holding = setting.holding
    parts: list[list[Piece]] = []
    if holding.grip_height or (every and holding.grip):
        parts.append([(roughly(holding.grip_height, system), "holding.grip_height"), (" in the jaws", "")])
    if holding.stick_up or (every and holding.grip):
        parts.append([(roughly(holding.stick_up, system), "holding.stick_up"), (" stands above", "")])
    return [piece for i, some in enumerate(parts) for piece in ([(", ", "")] if i else []) + some]


def _clamps(setting: Setting, system: str) -> list[Piece]:
    """Where clamps or screws press, by the numbers on the drawing."""
    places = [f"K{number} at {roughly(across, system)}, {roughly(away, system)}"
              for number, (across, away) in enumerate(setting.holding.clamps, 1)]
    return [(f"{'; '.join(places)} from the left front corner", "")] if places else []


def _tight(setting: Setting, device: Device | None, system: str) -> list[Piece]:
    tightness = setting.holding.tightness
    presses = book_force(device, tightness) if device else None
    force = [] if presses is None else [(f": about {tell(presses, 'force', system)}", "")]
    return [(tightness, "holding.tightness"), *force]


def _stop(setting: Setting) -> list[Piece]:
    stop = setting.holding.stop
    return [("against ", ""), (stop, "holding.stop")] if stop else [("none", "holding.stop")]


def _by_device(device: Device | None) -> list[tuple[str, list[Piece]]]:
    kind = device.kind if device else ""
    let_go = TAPE_OFF if device is not None and device.creep is not None else LET_GO.get(kind, "")
    return [("try first", [(TRY.get(kind, ""), "")]), ("let go", [(let_go, "")])]


def _datums(setting: Setting) -> list[Piece]:
    pieces: list[Piece] = []
    for i, (letter, face) in enumerate(zip("ABCDEF", setting.datums, strict=False)):
        pieces += [(f"{', ' if i else ''}{letter} = ", ""), (face, f"datums.{i}")]
    return pieces


def _zero(setting: Setting) -> list[Piece]:
    zero = setting.zero
    return [("x at ", ""), (zero.x, "zero.x"), (", y at ", ""), (zero.y, "zero.y"), (", z at ", ""),
            (zero.z, "zero.z"), (", by ", ""), (zero.by, "zero.by")]


def _still_on(setting: Setting, system: str) -> list[Piece]:
    pieces: list[Piece] = []
    for face, value in setting.stock_left.items():
        if value:
            pieces += [(f"{', ' if pieces else ''}{face} ", ""),
                       (tell(value, "length", system), f"stock_left.{face}")]
    return pieces
