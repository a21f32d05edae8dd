"""A wedge or a lever without a job: what it presses with for a torque, whether it stays, whether it gets there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from ..checks._chance import spread
from ..checks._clamped import Wide
from ..checks._hands import SPREAD, By, Turned, turned
from ..checks._press import bar_bears, draws_wedge, point_pushes, slides_out
from ..checks.si import metres
from ..errors import InputError
from ..holding.wedge import wedge_rise
from ..normal import normal_quantile
from ..shop.models import Shop
from ..units import tell
from .asked_joint import Asked, LeverAsked, WedgeAsked
from .quick_joint import strength_of, weighed

MORE: Final = 1.1


@dataclass(frozen=True)
class PressAnswer:
    """All that is said of a wedge or lever: N, N m, mm."""

    asked: WedgeAsked | LeverAsked
    shop: Shop
    turn: Turned
    screw: Wide                           # force of the screw
    out: Wide                             # what it presses with
    p_less: float | None                  # that it presses less than wanted; None where nothing is wanted
    p_slides: float | None = None         # that the wedge slides out by itself when the screw is off
    efficiency: float | None = None       # work out over work in, of screw and wedge [1]
    rise: float | None = None             # that the way of the screw gives
    short: bool = False                   # whether that is less than the gap
    bends: Wide | None = None             # force of the screw at which the bar yields
    p_bends: float | None = None
    instead: tuple[tuple[str, float, float], ...] = ()     # text, torque, what it presses with at least
    figures_note: str = "book figures only"


def quick_press(shop: Shop, asked: Asked) -> PressAnswer:
    """What a wedge or lever does."""
    assert isinstance(asked, WedgeAsked | LeverAsked)
    answer = _answer(shop, asked)
    return replace(answer, instead=tuple(_instead(answer)))


def _answer(shop: Shop, asked: WedgeAsked | LeverAsked) -> PressAnswer:
    tight = asked.tight
    turn = _turn(asked)
    answer = _wedge(shop, asked, turn) if isinstance(asked, WedgeAsked) else _lever(shop, asked, turn)
    out = weighed(answer.out, tight)
    p_less = None if tight.load is None else Wide(tight.load, 0.0).above(out)
    return replace(answer, out=out, p_less=p_less)


def _turn(asked: WedgeAsked | LeverAsked) -> Turned:
    tight = asked.tight
    if tight.torque is not None:
        return Turned(tight.torque, SPREAD["wrench"])
    if tight.by is None:
        raise InputError("it does not say how it is tightened", where="--by",
                         right='--by fingers, thumbscrew or key, or --torque "2 N m"')
    return turned(tight.by, asked.thread)


def _wedge(shop: Shop, asked: WedgeAsked, turn: Turned) -> PressAnswer:
    tight = asked.tight
    drawn = draws_wedge(asked.thread, asked.angle, turn, tight.lubricated)
    rise = None if asked.way is None else float(wedge_rise(asked.way, asked.angle))
    short = rise is not None and asked.gap is not None and rise <= asked.gap
    work = drawn.out.middle * float(wedge_rise(metres(asked.thread.pitch), asked.angle))
    return PressAnswer(asked, shop, turn, drawn.screw, Wide(0.0, 0.0) if short else drawn.out, None,
                       slides_out(asked.angle, tight.lubricated), work / (2.0 * math.pi * turn.torque), rise, short)


def _lever(shop: Shop, asked: LeverAsked, turn: Turned) -> PressAnswer:
    screw = point_pushes(asked.thread, turn, asked.tight.lubricated)
    answer = PressAnswer(asked, shop, turn, screw, screw.times(asked.arms[0] / asked.arms[1]), None)
    if asked.bar is None or asked.width is None or asked.thick is None:
        return answer
    strength = strength_of(asked.bar, shop, "yield_strength", "--into")
    bends = bar_bears(strength, asked.arms, asked.width - asked.bore, asked.thick)
    return replace(answer, bends=bends, p_bends=screw.above(bends))


def _instead(now: PressAnswer) -> Iterator[tuple[str, float, float]]:
    """What presses harder where that is wanted, and a bar that bears it where it bends."""
    close = now.shop.close
    if now.p_less is None or now.p_less > close:
        for text, asked in _harder(now):
            other = _answer(now.shop, asked)
            if other.out.low > MORE * now.out.low and (other.p_bends or 0.0) <= max(now.p_bends or 0.0, close):
                yield text, other.turn.torque, other.out.low
    if now.p_bends is not None and now.p_bends > close and isinstance(now.asked, LeverAsked):
        thick = _thick_enough(now, now.asked)
        other = _answer(now.shop, replace(now.asked, thick=thick))
        yield f"a bar {tell(thick, 'length', now.shop.units)} thick", other.turn.torque, other.out.low
        gentle = replace(now.asked, tight=replace(_untried(now.asked).tight, by="wrench", torque=_borne(now)))
        other = _answer(now.shop, gentle)
        if other.p_bends is not None and other.p_bends <= close:
            yield "by a torque screwdriver", other.turn.torque, other.out.low


def _untried(asked: WedgeAsked | LeverAsked) -> WedgeAsked | LeverAsked:
    """The same without what a scale showed: that was tightened otherwise."""
    return replace(asked, tight=replace(asked.tight, held=None, slipped=None))


def _borne(now: PressAnswer) -> float:
    """Torque of a wrench at which a lever bends no more often than this shop calls close [N m], to two figures."""
    assert now.bends is not None
    wrench = spread(now.screw.sd if now.asked.tight.torque else _answer(now.shop, replace(
        now.asked, tight=replace(_untried(now.asked).tight, by="wrench", torque=now.turn.torque))).screw.sd,
        now.bends.sd)
    most = now.turn.torque * now.bends.middle / now.screw.middle * math.exp(
        float(normal_quantile(now.shop.close)) * wrench)
    step = 10.0 ** (math.floor(math.log10(most)) - 1)
    return math.floor(most / step) * step


def _harder(now: PressAnswer) -> Iterator[tuple[str, WedgeAsked | LeverAsked]]:
    asked = now.asked
    free = _untried(asked)
    if asked.tight.by in ("fingers", "thumbscrew"):
        stronger: By = "thumbscrew" if asked.tight.by == "fingers" else "key"
        yield f"by {stronger}", replace(free, tight=replace(free.tight, by=stronger))
    if not asked.tight.lubricated:
        yield "grease it", replace(free, tight=replace(free.tight, lubricated=True))


def _thick_enough(now: PressAnswer, asked: LeverAsked) -> float:
    """Thickness at which it bends no more often than this shop calls close [mm]; strength grows with its square."""
    assert now.bends is not None and asked.thick is not None
    far = -float(normal_quantile(now.shop.close)) * spread(now.screw.sd, now.bends.sd)
    need = asked.thick * math.sqrt(now.screw.middle / now.bends.middle * math.exp(far))
    return math.ceil(2.0 * need) / 2.0
