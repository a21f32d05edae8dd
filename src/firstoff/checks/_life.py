"""How much of a tool's life cuts use."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.wear import life_by_chip, life_used, tool_life
from ._chance import discrepancy, known
from .base import Past
from .si import value

#: Arc of the tooth's way in the cut for which the books give milling speeds [rad]: a cut half as wide as the tool.
BOOK_ARC: Final = np.pi / 2.0


def book_speed(cut: Past, coating: str | None, belief: Belief) -> Rows:
    """Cutting speed at which this tool lasts the book's life, by row [m/s]."""
    usual = value(belief, f"material:{cut.material}", f"cutting_speed:{cut.tool_material}")
    lasts = value(belief, f"tool_material:{cut.tool_material}", "book_margin")
    coated = known(belief, f"coating:{coating}", "speed", 1.0)
    return usual * lasts * coated * known(belief, f"coolant:{cut.coolant}", "speed", 1.0)


def used(cuts: Sequence[Past], coating: str | None, belief: Belief) -> Rows:
    """Share of a tool's life that these cuts with it use, by row [1]; cuts of one kind are reckoned together."""
    kinds: dict[tuple[str, str, bool, str], list[Past]] = {}
    for cut in cuts:
        if cut.wears and belief.has(f"material:{cut.material}", f"cutting_speed:{cut.tool_material}"):
            kinds.setdefault((cut.material, cut.coolant, cut.notched, cut.law), []).append(cut)
    return np.asarray(sum(((_used_by_law if alike[0].law else _used_alike)(alike, coating, belief)
                           for alike in kinds.values()),
                          start=np.zeros(belief.rows)))


def _used_alike(cuts: list[Past], coating: str | None, belief: Belief) -> Rows:
    """The same for cuts in one material under one coolant."""
    first, exponent = cuts[0], value(belief, f"tool_material:{cuts[0].tool_material}", "taylor_exponent")
    made_of = f"tool_material:{first.tool_material}"
    spent: dict[tuple[float, float, float], float] = {}
    for cut in cuts:
        spent[cut.speed, cut.chip, cut.deep] = spent.get((cut.speed, cut.chip, cut.deep), 0.0) + cut.edge_time
    speeds, thick, deep = (np.array(column)[:, None] for column in zip(*spent, strict=True))
    times = np.array(list(spent.values()))[:, None]
    life = tool_life(speeds, book_speed(first, coating, belief), value(belief, "shop", "book_life"), exponent)
    life = life_by_chip(life, thicker(thick, belief), deeper(deep, belief), exponent,
                        known(belief, made_of, "life_by_feed", 0.0), known(belief, made_of, "life_by_depth", 0.0))
    notched = value(belief, "shop", "scale_abrasion") if first.notched else 1.0
    return np.asarray(life_used(times / BOOK_ARC, life, notched).sum(axis=0) * discrepancy(belief, "wear"))


def _used_by_law(cuts: list[Past], coating: str | None, belief: Belief) -> Rows:
    """The same for taps or reamers: for how long they last at which share of the usual speed."""
    law, coated = cuts[0].law, known(belief, f"coating:{coating}", "speed", 1.0)
    usual = value(belief, f"material:{cuts[0].material}", f"cutting_speed:{cuts[0].tool_material}")
    wet = known(belief, f"coolant:{cuts[0].coolant}", "speed", 1.0)
    reference = usual * coated * wet * value(belief, "shop", f"{law}_speed")
    lives = [tool_life(cut.speed, reference, value(belief, "shop", f"{law}_life"),
                       value(belief, "shop", f"{law}_exponent")) for cut in cuts]
    shares = [life_used(cut.edge_time / BOOK_ARC, life) for cut, life in zip(cuts, lives, strict=True)]
    return np.asarray(np.sum(shares, axis=0) * discrepancy(belief, "wear"))


def thicker(chip: Rows, belief: Belief) -> Rows:
    """Chips over those for which the books give their speeds [1]; thinner ones count as these: they rub for longer.

    A chip of nothing is that of a drill, which is fed as its book says.
    """
    book = known(belief, "shop", "book_feed", np.inf) * (1.0 - np.cos(BOOK_ARC)) / BOOK_ARC
    return np.asarray(np.maximum(chip / book, 1.0), dtype=np.float64)


def deeper(deep: Rows, belief: Belief) -> Rows:
    """Depth over that for which the books give their speeds [1]; a shallower cut counts as that: it wears less of the
    edge, and that as fast.
    """
    return np.asarray(np.maximum(deep / known(belief, "shop", "book_depth", np.inf), 1.0), dtype=np.float64)
