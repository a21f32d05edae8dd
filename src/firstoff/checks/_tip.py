"""How the tip of a tool swings in its collet on its machine, and how the flanks damp it, by row."""

from __future__ import annotations

import hashlib
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chatter import Mode
from ..cutting.process_damping import flank_coefficient
from ..cutting.receptance import Section, clamped_modes, tip_modes
from ..medians import median
from ._chance import known
from ._forces import bends_as, machine_entity, material_entity, shank, sharp_coefficients, stickout
from .base import Case
from .si import metres, value

#: Share of the static give of a machine that its weakest mode has, where nothing is believed of it; judged.
MODE_SHARE: Final = 0.5
#: A shank shorter than this between collet and flutes bends as nothing does [mm].
_SHORT: Final = 0.2


class Tip(NamedTuple):
    """Modes at the tip along the feed and square to it: the machine's weakest, those of the rest of it as one (where
    anything is believed of them), the seat of the tool, the bending tool.
    """

    along: tuple[Mode, ...]
    square: tuple[Mode, ...]


def tip(case: Case, belief: Belief, heading: tuple[float, float, float]) -> Tip:
    """The modes at the tip, for this direction of feed.

    Args:
        case: an operation with a tool.
        belief: what is believed.
        heading: direction of feed in the setting's axes [1].
    """
    tool, key = case.tool, (machine_entity(case), case.op.collet, stickout(case), case.shop.tool_materials)
    found: tuple[Tip, object] = belief.derived(
        ("tip", id(tool), *map(id, key[3:]), *key[:3], *(round(abs(part), 6) for part in heading[:2])),
        lambda by: (_tip(case, _figures(case, by), heading), (tool, key)))      # what is named by id stands with it
    return found[0]


def middle_tip(case: Case, belief: Belief, heading: tuple[float, float, float]) -> Tip:
    """The modes at the tip for the median of each figure, as one row."""
    return _tip(case, {key: np.array([median(rows)]) for key, rows in _figures(case, belief).items()}, heading)


def _figures(case: Case, belief: Belief) -> dict[str, Rows]:
    """All that the modes depend on, by row."""
    machine, made_of = machine_entity(case), f"tool_material:{case.tool.material}"
    found = {name: value(belief, machine, name) for name in (
        "stiffness_x", "stiffness_y", "mode_damping", "mode_frequency", "nose_mass")}
    collet = f"collet:{case.op.collet}"
    if belief.has(machine, "rest_frequency") and belief.has(collet, "stiffness"):
        found |= {name: value(belief, machine, name) for name in ("rest_frequency", "rest_damping")}
    return found | {"mode_share": known(belief, machine, "mode_share", MODE_SHARE),
                    "young": value(belief, made_of, "young"), "own_damping": value(belief, made_of, "mode_damping"),
                    "collet": known(belief, collet, "stiffness", np.inf)}


def _tip(case: Case, figures: dict[str, Rows], heading: tuple[float, float, float]) -> Tip:
    across = np.hypot(heading[0], heading[1])
    x, y = (abs(heading[0] / across), abs(heading[1] / across)) if across > 0.0 else (1.0, 0.0)
    return Tip(_modes(case, figures, x, y), _modes(case, figures, y, x))


def _modes(case: Case, figures: dict[str, Rows], x: float, y: float) -> tuple[Mode, ...]:
    """The modes in one direction in the plane of the table; the last ones that were found are kept."""
    parts, density = sections(case), case.shop.tool_materials[case.tool.material].density
    hasher = hashlib.blake2b(repr((parts, density, round(x, 6), round(y, 6))).encode(), digest_size=16)
    for rows in figures.values():
        hasher.update(np.ascontiguousarray(rows).tobytes())
    key = hasher.digest()
    if key not in _recent:
        while len(_recent) >= _KEPT:
            _recent.pop(next(iter(_recent)))
        _recent[key] = _found(parts, density, figures, x, y)
    return _recent[key]


#: the key holds all that the modes depend on
_recent: dict[bytes, tuple[Mode, ...]] = {}
_KEPT: Final = 48


def _found(
    parts: tuple[Section, ...], density: float, figures: dict[str, Rows], x: float, y: float
) -> tuple[Mode, ...]:
    give = x**2 / figures["stiffness_x"] + y**2 / figures["stiffness_y"]
    share = figures["mode_share"]
    weakest = Mode(1.0 / (share * give), figures["mode_damping"], figures["mode_frequency"])
    others: tuple[Mode, ...] = ()
    at_the_seat = (1.0 - share) * give
    if "rest_frequency" in figures:      # what else gives in a machine is no lighter than its nose alone
        others = (Mode(1.0 / at_the_seat, figures["rest_damping"],
                       figures["mode_frequency"] * figures["rest_frequency"]),)
        at_the_seat = np.zeros_like(give)
    middle = median(figures["young"])
    first, *tool = tip_modes(clamped_modes(parts, middle, density), np.sqrt(figures["young"] / middle),
                             figures["own_damping"], 1.0 / (at_the_seat + 1.0 / figures["collet"]),
                             figures["nose_mass"], weakest)
    return (first, *others, *tool)


def sections(case: Case) -> tuple[Section, ...]:
    """The tool outside of its collet: shank, neck if it has one, flutes as the bar that bends as they do [m]."""
    out, tool = stickout(case), case.tool
    fluted = min(tool.flute_length, out)
    core = bends_as(case)
    if tool.neck is None:
        pieces = [(out - fluted, shank(case))]
    else:
        ends = min(tool.neck_length or fluted, out)
        pieces = [(out - ends, shank(case)), (ends - fluted, tool.neck)]
    parts = [Section(metres(length), metres(wide)) for length, wide in pieces if length > _SHORT]
    return (*parts, Section(metres(fluted), core))


def flank(case: Case, belief: Belief) -> Rows:
    """C, by which the flank damps a swing for each depth of cut and over the cutting speed, by row [N/m]."""
    made_of = f"tool_material:{case.tool.material}"

    def found(by: Belief) -> Rows:
        return flank_coefficient(sharp_coefficients(case, by).tangential, value(by, made_of, "flank_damping"))

    return belief.derived(("flank", made_of, material_entity(case)), found)
