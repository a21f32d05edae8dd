"""The cut chatters: depth of cut against the depth at which the machine begins to sing, at that speed."""

from __future__ import annotations

import hashlib
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chatter import Mode, better_speeds, depth_limit, directional_factors
from ..cutting.force import Coefficients
from ..shop.columns import columns_of
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, middle, weighed
from ._forces import Load, coefficients, is_milling, loads, machine_entity, material_entity, side_stiffness, speed
from ._knobs import DEPTH, SPEED_DOWN, SPEED_UP, STICKOUT, WIDTH, fastest
from .base import Case, Check, Finding, Knob
from .si import millimetres, value

NAME = "chatter"

#: Share of the static give of a machine that its weakest mode has; the rest lies in stiffer modes and joints; judged.
MODE_SHARE: Final = 0.5
#: Engagements whose use in the median row is at least this share of the worst are computed by rows.
_NEAR: Final = 0.5
_BOOK_ROWS: Final = 33       #: odd, so that the median row is there


def _modes(case: Case, belief: Belief, load: Load) -> tuple[Mode, Mode]:
    """The weakest mode at the tip, along the feed and square to it.

    It is the machine's; tool and collet give way with it as springs, so that a slender tool lowers the limit
    (its own mode, far higher, is not computed yet).
    """
    machine = machine_entity(case)
    damping = np.clip(value(belief, machine, "mode_damping"), 1e-3, 0.5)
    natural = value(belief, machine, "mode_frequency")
    x, y, _ = load.heading
    along = side_stiffness(case, belief, (-y, x, 0.0), MODE_SHARE)
    across = side_stiffness(case, belief, (x, y, 0.0), MODE_SHARE)
    return Mode(along, damping, natural), Mode(across, damping, natural)


def _limit(case: Case, law: Coefficients, modes: tuple[Mode, Mode], load: Load) -> Rows:
    """Depth of cut at which this engagement begins to chatter, by row [m]."""
    factors = directional_factors(law.radial / law.tangential, load.engagement.entry, load.engagement.exit)
    hasher = hashlib.blake2b(repr((case.tool.flutes, speed(case))).encode(), digest_size=16)
    for rows in (law.tangential, *factors, *modes[0], *modes[1]):
        hasher.update(np.ascontiguousarray(rows).tobytes())
    key = hasher.digest()
    if key not in _recent:
        while len(_recent) >= _KEPT:
            _recent.pop(next(iter(_recent)))
        _recent[key] = depth_limit(law.tangential, case.tool.flutes, factors, *modes, speed(case))
    return _recent[key]


#: the last few limits, since operations of a part are often alike; the key holds all they depend on
_recent: dict[bytes, Rows] = {}
_KEPT = 64


def _worst_kinds(case: Case, belief: Belief, found: tuple[Load, ...]) -> list[Load]:
    """The engagements that sing first in the median row: of each arc the deepest, of these the worst and its like."""
    deepest: dict[tuple[float, float], Load] = {}
    for load in found:
        arc = (round(load.engagement.entry, 2), round(load.engagement.exit, 2))
        if arc not in deepest or load.depth > deepest[arc].depth:
            deepest[arc] = load
    kinds = list(deepest.values())
    if len(kinds) == 1:
        return kinds
    law = Coefficients(*(np.median(rows, keepdims=True) for rows in coefficients(case, belief)))

    def use(load: Load) -> float:
        modes = [Mode(*(np.median(rows, keepdims=True) for rows in mode)) for mode in _modes(case, belief, load)]
        return float(load.engagement.depth_of_cut / _limit(case, law, (modes[0], modes[1]), load)[0])

    uses = [use(load) for load in kinds]
    return [load for load, used in zip(kinds, uses, strict=True) if used >= _NEAR * max(uses)]


def _evaluate(case: Case, belief: Belief) -> Finding:
    found = loads(case, belief)
    depth = max(load.depth for load in found)
    law = coefficients(case, belief)
    ratios = [load.engagement.depth_of_cut / _limit(case, law, _modes(case, belief, load), load)
              for load in _worst_kinds(case, belief, found)]
    ratio = np.max(ratios, axis=0) * discrepancy(belief, "chatter")
    # a cut that never sings is told as one as deep as the tool is long
    limit = depth / np.maximum(ratio, depth / case.tool.overall_length)
    because = (f"the cut is {tell(depth, 'length', case.job.units)} deep; at {tell(speed(case), 'rotation')} "
               f"the machine begins to sing at about {middle(limit)} mm, anywhere from "
               f"{np.percentile(limit, 5):.2g} to {np.percentile(limit, 95):.2g} mm as its stiffness and damping are "
               f"believed")
    return weighed(NAME, case, "finish", np.full(belief.rows, depth), limit, OPERATION_SCATTER["stability"],
                   unit="mm", because=because,
                   settle_by="the ten-minute test cut in scrap: deeper and deeper until it sings; "
                             "or tap the cutter with a phone recording beside it")


def _candidates(case: Case) -> list[object]:
    """Speeds at which the book's machine bears most, then shares of the present one; steps of a belt as they are.

    Only candidates: what is told afterwards was computed with what is believed.
    """
    shares = [value for pair in zip(SPEED_DOWN.values(case), SPEED_UP.values(case), strict=False) for value in pair]
    spindle, now = case.machine.spindle, case.op.cut.spindle_speed or 0.0
    if spindle is None or spindle.steps:
        return [*SPEED_DOWN.values(case), *SPEED_UP.values(case)]
    book = Belief.of(columns_of(case.shop), rows=_BOOK_ROWS)
    machine = machine_entity(case)
    asked = ((material_entity(case), "tangential"), (machine, "stiffness_x"), (machine, "mode_frequency"))
    if not all(book.has(*key) for key in asked):
        return shares
    best = [speed for speed, _ in quiet_speeds(case, book) if abs(speed / now - 1.0) > 0.05]
    return [*best[:3], *shares]


def quiet_speeds(case: Case, belief: Belief) -> list[tuple[float, float]]:
    """Speeds within the range of spindle and cutter at which the median machine bears the deepest cut.

    Returns:
        (speed [rad/s], depth limit [mm]), best first.
    """
    spindle = case.machine.spindle
    if spindle is None or spindle.slowest >= fastest(case):
        return []
    load = max(loads(case, belief), key=lambda item: item.depth)
    law = coefficients(case, belief)
    factors = directional_factors(law.radial / law.tangential, load.engagement.entry, load.engagement.exit)
    along, across = _modes(case, belief, load)
    best = better_speeds(law.tangential, case.tool.flutes, factors, along, across, spindle.slowest,
                         fastest(case))
    deep = millimetres(best.depth_limit)
    return [(float(n), float(d)) for n, d in zip(best.spindle_speed, deep, strict=True)]


SPEED = Knob("cut.spindle_speed", _candidates, SPEED_DOWN.say)

CHECK = Check(
    NAME, "cut chatters", "finish", "operation", is_milling, _evaluate,
    knobs=(SPEED, DEPTH, WIDTH, STICKOUT), word="sang",
)
