"""A program that was made for another zero, or in the other unit: by where it cuts against where the stock is."""

from __future__ import annotations

import itertools
from typing import Final

from ..belief import Belief
from ..part.shapes import Vector
from ..units import tell
from ._chance import decided
from ._run import Run
from .base import Case, Check, Finding

NAME = "program fit"
INCH: Final = 25.4           #: [mm]
LEAST: Final = 0.5           #: of what a cut spans in plan lies over the stock, or the zero is another one
BEYOND: Final = 1.5          #: diameters that a tool goes beside the stock at each end, to come in and go out; judged
ODD: Final = 0.8             #: or less than this, where it would lie there wholly with the zero at another corner
NAMES: Final = (("left", "middle", "right"), ("front", "middle", "back"), ("bottom", "middle", "top"))


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0 and bool(case.run.unit) and case.run.cutting > 0.0


def over_stock(run: Run, diameter: float, shift: Vector = (0.0, 0.0, 0.0), scale: float = 1.0) -> float:
    """How much of the room that the cuts span lies over the stock and above its foot [1]: 1 where all of it does.

    Args:
        run: of the program.
        diameter: of the tool [mm]; so far beside the stock nothing is odd.
        shift: of the zero [mm].
        scale: of its lengths.
    """
    share = 1.0
    for axis in range(2):
        low, high = (scale * end[axis] + shift[axis] for end in (run.low, run.high))
        room = BEYOND * diameter
        inside = min(high, run.stock_high[axis] + room) - max(low, run.stock_low[axis] - room)
        share *= max(0.0, inside) / (high - low) if high > low else float(inside >= 0.0)
    lowest, foot = scale * run.low[2] + shift[2], run.stock_low[2] - diameter
    return share * float(foot <= lowest < run.stock_high[2])


def _evaluate(case: Case, belief: Belief) -> Finding:
    run = case.run
    assert run is not None
    share = over_stock(run, case.tool.diameter)
    nothing, elsewhere = run.removed <= 0.0, _other_zero(case, run)
    bad, most = 1.0 - (0.0 if nothing else share), 1.0 - (ODD if elsewhere else LEAST)
    because = "what it cuts lies over the stock"
    if bad > most:
        because = (f"{run.file} takes nothing off the stock" if nothing else
                   f"{run.file} cuts beside or below the stock") + f": {_guess(case, run)}"
    return decided(NAME, case, belief, "part", bad, most, unit="of it beside the stock", because=because)


def _guess(case: Case, run: Run) -> str:
    """The slip that would explain it: a unit, or a zero at another corner of the stock."""
    for scale, words in ((INCH, "its lengths fit if they are inches that were read as mm"),
                         (1.0 / INCH, "its lengths fit if they are mm that were read as inches")):
        if over_stock(run, case.tool.diameter, scale=scale) > LEAST and not _alike(run, scale):
            return words
    other = _other_zero(case, run)
    if other:
        return f"it would fit with zero at the {other} of the stock, not as the setting has it"
    span = (tell(end, "length", case.job.units, 1) for k in range(2) for end in (run.low[k], run.high[k]))
    return "X {} to {}, Y {} to {} from the setting's zero".format(*span)


def _other_zero(case: Case, run: Run) -> str:
    """The corner, edge or middle of the stock at which the zero would have to be; empty where none fits."""
    low, high = run.stock_low, run.stock_high
    found = []
    for places in itertools.product((0, 1, 2), repeat=3):
        corner = [low[k] + (high[k] - low[k]) * place / 2.0 for k, place in enumerate(places)]
        if over_stock(run, case.tool.diameter, (corner[0], corner[1], corner[2])) > 1.0 - 1e-9:
            others = sum(abs(along) > 1.0 for along in corner)      # the fewer axes are wrong the likelier
            found.append((others, ", ".join(NAMES[k][place] for k, place in enumerate(places))))
    return min(found, default=(0, ""))[1]


def _alike(run: Run, scale: float) -> bool:
    """Whether a change of unit would leave next to nothing of the cut: then it explains nothing."""
    return all(scale * (run.high[k] - run.low[k]) < 0.1 * (run.stock_high[k] - run.stock_low[k]) for k in range(2))


CHECK = Check(NAME, "program does not fit the stock", "part", "operation", _applies, _evaluate)
