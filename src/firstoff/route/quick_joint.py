"""A screw that clamps, without a job: how tight, what it holds, what gives way first, what would be better.

By book figures alone, in closed form, so that the answer is there before the person has found the key.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..checks._chance import spread
from ..checks._clamped import NINE_IN_TEN, Clamp, Metal, Wide, plain
from ..checks._drills import log_sd
from ..checks._hands import SPREAD, Turned, turned
from ..checks._joints import DEPTH_SD
from ..errors import InputError
from ..holding.load_test import held_loglik, slipped_loglik
from ..normal import normal_cdf, normal_quantile
from ..shop.models import Shop
from ..units import tell
from .asked_joint import ScrewAsked, Tight
from .meant import Meant

ENGAGED: Final = 1.5        #: diameters of thread where nobody says how long it is
#: One standard deviation of the log of one pull with a luggage scale: its reading, and how it is pulled; judged.
TEST_SD: Final = 0.08
#: A remedy is told where it holds this much more, or where this share of the chance is left.
MORE, LESS = 1.1, 0.5
STRONGER: Final = {"brass": "A2-70", "4.8": "8.8", "A2-70": "10.9", "8.8": "10.9", "10.9": "12.9"}
_GRID: Final = 801


@dataclass(frozen=True)
class Yields:
    """One way to give way while it is tightened: its name, in words, at which pull, and how likely."""

    name: str
    what: str
    at: Wide | None                       # [N]; None where it is no matter of pull
    p: float


@dataclass(frozen=True)
class Other:
    """What would be better, with what it holds [N] and the chance that anything goes wrong then."""

    text: str
    torque: float
    holds: float
    p: float


@dataclass(frozen=True)
class JointAnswer:
    """All that is said of a screw that clamps: N, N m."""

    asked: ScrewAsked
    shop: Shop
    clamp: Clamp
    turn: Turned
    best: float                           # torque that is not too much, by a wrench
    pull: Wide                            # right after tightening
    kept: Wide                            # bedded in
    slips: Wide                           # force across at which the parts slip, of all screws
    opens: Wide                           # force along at which they open, of all screws
    ways: tuple[Yields, ...]
    p_load: float | None                  # that the load moves it; None without one
    assumed: tuple[str, ...]
    instead: tuple[Other, ...] = ()
    figures_note: str = "book figures only"

    @property
    def first(self) -> Yields:
        """What gives way first if it is tightened further: what is likely, else what comes at the least pull."""
        sure = [way for way in self.ways if way.at is None and way.p > 0.5]
        return sure[0] if sure else min((way for way in self.ways if way.at), key=lambda way: _middle(way.at))

    @property
    def p(self) -> float:
        """Chance that anything goes wrong: the likeliest way while tightening, or the load."""
        return 1.0 - (1.0 - max(way.p for way in self.ways)) * (1.0 - (self.p_load or 0.0))

    @property
    def holds(self) -> Wide:
        """Force that it holds, the way that was asked [N]."""
        return self.slips if self.asked.way == "across" else self.opens


def _middle(at: Wide | None) -> float:
    return math.inf if at is None else at.middle


def quick_joint(shop: Shop, asked: ScrewAsked) -> JointAnswer:
    """A screw that clamps.

    Raises:
        InputError: if the screw does not reach, or nothing is known of a material's strength.
    """
    answer = _answer(shop, asked)
    return replace(answer, instead=tuple(_instead(answer)))


def metal_of(meant: Meant, shop: Shop, where: str) -> Metal:
    """Strength and stiffness of a material; of a mixture the middle, with the spread between its kinds.

    Raises:
        InputError: if no strength or stiffness of it is known.
    """
    material = shop.materials[meant.key]
    return Metal(plain(material.name), strength_of(meant, shop, "tensile_strength", where),
                 strength_of(meant, shop, "young", where).middle, material.group)


def strength_of(meant: Meant, shop: Shop, name: str, where: str) -> Wide:
    """A figure of a material [N/m2]; of a mixture its middle, with the spread between its kinds.

    Raises:
        InputError: if it is not known.
    """
    whole = shop.materials[meant.key]
    kinds = [(shop.materials[each], share) for each, share in whole.one_of.items()] or [(whole, 1.0)]
    known = [(figure, share) for kind, share in kinds if (figure := getattr(kind, name)) is not None]
    if not known:
        raise InputError(f"no {name.replace('_', ' ')} of {whole.name} is known", where=where,
                         right=f"{name} under the material, from a book, or a material that has one")
    total = sum(share for _, share in known)
    mean = sum(share * math.log(figure.value) for figure, share in known) / total
    between = sum(share * (math.log(figure.value) - mean) ** 2 for figure, share in known) / total
    own = sum(share * log_sd(figure) ** 2 for figure, share in known) / total
    return Wide(math.exp(mean), math.sqrt(between + own))


def weighed(holds: Wide, tight: Tight) -> Wide:
    """What it holds after it held or slipped at what a luggage scale showed: the same figures, weighed."""
    if tight.held is None and tight.slipped is None:
        return holds
    if holds.middle <= 0.0:
        raise InputError("nothing clamps here, so that a load test says nothing", where="--held",
                         right="mend that first")
    logs = math.log(holds.middle) + holds.sd * normal_quantile((np.arange(_GRID) + 0.5) / _GRID)
    weight = np.zeros(_GRID)
    if tight.held is not None:
        weight += held_loglik(np.exp(logs), tight.held, TEST_SD)
    if tight.slipped is not None:
        weight += slipped_loglik(np.exp(logs), tight.slipped, TEST_SD)
    share = np.exp(weight - weight.max())
    share /= share.sum()
    mean = float(share @ logs)
    return Wide(math.exp(mean), math.sqrt(float(share @ (logs - mean) ** 2)))


# --- the answer ------------------------------------------------------------------------------------


def _answer(shop: Shop, asked: ScrewAsked) -> JointAnswer:
    clamp, bottoms, assumed = _clamped(shop, asked)
    capacities = list(_capacities(clamp))
    best = _best(shop, clamp, [at for _, _, at in capacities])
    turn = _turn(asked, best)
    pull = clamp.pull(*turn)
    ways = (*(Yields(name, what, at, pull.above(at)) for name, what, at in capacities), *bottoms)
    kept = clamp.kept(pull) if all(way.p <= 0.5 for way in bottoms) else Wide(0.0, 0.0)
    slips, opens = clamp.slips(kept, asked.number), clamp.opens(kept, asked.number)
    if asked.way == "across":
        slips = weighed(slips, asked.tight)
    else:
        opens = weighed(opens, asked.tight)
    load = asked.tight.load
    p_load = None if load is None else Wide(load, 0.0).above(slips if asked.way == "across" else opens)
    return JointAnswer(asked, shop, clamp, turn, best, pull, kept, slips, opens, ways, p_load, assumed)


def _turn(asked: ScrewAsked, best: float) -> Turned:
    tight = asked.tight
    if tight.by is not None and tight.by != "wrench":
        return turned(tight.by, asked.thread)
    return Turned(tight.torque if tight.torque is not None else best, SPREAD["wrench"])


def _capacities(clamp: Clamp) -> Iterator[tuple[str, str, Wide]]:
    yield "stretches", "the screw stretches", clamp.stretches
    yield "strips", f"the thread in {clamp.into.name} strips", clamp.strips
    yield "crushes", f"the head sinks into {clamp.plate.name}", clamp.crushes


def _best(shop: Shop, clamp: Clamp, capacities: list[Wide]) -> float:
    """Torque at which the likeliest of all ways is as likely as this shop still calls close [N m]."""
    far = -float(normal_quantile(shop.close))
    least = min(at.middle * math.exp(-far * spread(at.sd, clamp.arm.sd, SPREAD["wrench"])) for at in capacities)
    return _rounded_down(clamp.arm.middle * least)


def _rounded_down(torque: float) -> float:
    """To two figures."""
    step = 10.0 ** (math.floor(math.log10(torque)) - 1)
    return float(f"{math.floor(torque / step + 1e-9) * step:.2g}")


def _clamped(shop: Shop, asked: ScrewAsked) -> tuple[Clamp, list[Yields], tuple[str, ...]]:
    """The joint itself, how it may bottom, and what nobody said of it."""
    thread = asked.thread
    thick, usable, reach, assumed = _lengths(asked)
    bottoms = []
    if asked.length and asked.engaged and asked.thick:
        what = f"the screw bottoms: it reaches {tell(reach, 'length')} into {tell(usable, 'length')} of thread"
        bottoms.append(Yields("bottoms", what, None, float(normal_cdf((reach - usable) / DEPTH_SD))))
    full = min(usable, reach) - thread.pitch                          # the first turn of a screw is not full
    if full <= 0.0:
        raise InputError(f"{tell(max(full + thread.pitch, 0.0), 'length')} of thread engage: less than a turn counts",
                         where="--thick", right="a longer screw, or a thinner part")
    hole = thread.clearance[1] if thread.clearance else 1.1 * thread.nominal
    plate, into = metal_of(asked.through, shop, "--through"), metal_of(asked.into, shop, "--into")
    clamp = Clamp(thread, asked.grade, asked.head, thick, full, hole, thread.tap_drill, plate, into,
                  asked.tight.lubricated)
    if clamp.cone_depth() > thick:
        what = (f"the head bottoms: its cone is {tell(clamp.cone_depth(), 'length', decimals=1)} deep and comes "
                f"through the part")
        bottoms.append(Yields("head_bottoms", what, None, 1.0))
    return clamp.sunk(), bottoms, tuple(assumed)


def _lengths(asked: ScrewAsked) -> tuple[float, float, float, list[str]]:
    """Clamped thickness, thread that is there, how far the screw reaches in [mm]; and what was assumed."""
    size, length, thick, usable = asked.thread.nominal, asked.length, asked.thick, asked.engaged
    assumed = []
    if usable is None and not (thick is not None and length is not None):
        usable = ENGAGED * size if length is None else min(ENGAGED * size, 0.6 * length)
        assumed.append(f"{tell(usable, 'length', decimals=1)} of thread engaged (--length)")
    if thick is None:
        thick = size if length is None else length - (usable or 0.0)
        assumed.append(f"{tell(thick, 'length', decimals=1)} thick is what it clamps (--thick)")
    if thick <= 0.0:
        raise InputError(f"a screw {tell(length or 0.0, 'length')} long and {tell(usable or 0.0, 'length')} of "
                         f"thread: nothing is left to clamp", where="--length",
                         right="less thread, or --thick of the part")
    reach = (usable or 0.0) if length is None else length - thick
    if reach <= 0.0:
        raise InputError(f"a screw {tell(length or 0.0, 'length')} long does not come through "
                         f"{tell(thick, 'length')}", where="--thick", right="a longer screw")
    return thick, reach if usable is None else usable, reach, assumed


# --- instead ---------------------------------------------------------------------------------------


def _instead(now: JointAnswer) -> Iterator[Other]:
    """Changes that hold more, or go wrong less, each tightened as it may be."""
    for text, asked in _changes(now):
        try:
            other = _answer(now.shop, asked)
        except InputError:
            continue                     # no such joint: a screw that would not reach
        if (other.p < LESS * now.p and now.p > now.shop.good) or (
                other.p <= max(now.p, now.shop.close) and other.holds.low > MORE * now.holds.low):
            yield Other(text, other.turn.torque, other.holds.low, other.p)


def _changes(now: JointAnswer) -> Iterator[tuple[str, ScrewAsked]]:
    """What a person could do otherwise, as joints of their own."""
    asked = now.asked
    free = replace(asked, tight=replace(asked.tight, torque=None, by=None, held=None, slipped=None))
    if asked.tight.torque is not None or asked.tight.by is not None:
        yield "by a torque wrench", free
    if any(way.at is None and way.p > now.shop.close for way in now.ways) and asked.length and asked.engaged:
        yield _shorter(now, free)
    if not asked.tight.lubricated:
        yield "grease thread and head", replace(free, tight=replace(free.tight, lubricated=True))
    longer = _full_strength(now)
    if longer > now.clamp.engaged + now.asked.thread.pitch:
        length = round(longer + asked.thread.pitch, 1)
        yield (f"{tell(length, 'length')} of thread engaged",
               replace(free, engaged=length, length=None, thick=asked.thick or now.clamp.thick))
    if asked.grade in STRONGER:
        yield f"a screw of class {STRONGER[asked.grade]}", replace(free, grade=STRONGER[asked.grade])
    yield f"{asked.number + 1} screws", replace(free, number=asked.number + 1)


def _shorter(now: JointAnswer, free: ScrewAsked) -> tuple[str, ScrewAsked]:
    """The longest usual screw that does not bottom."""
    from ..checks._screws import LENGTHS

    thick = (now.asked.length or 0.0) - _lengths(now.asked)[2]
    most = thick + (now.asked.engaged or 0.0) - 2.0 * DEPTH_SD
    length = max((each for each in LENGTHS if each <= most), default=most)
    return f"{now.asked.thread.name} x {length:g}", replace(free, length=length, thick=thick)


def _full_strength(now: JointAnswer) -> float:
    """Full thread at which it strips no sooner than anything else gives [mm], bars one in twenty weaker."""
    others = min(now.clamp.stretches.middle, now.clamp.crushes.middle)
    strips = now.clamp.strips
    return now.clamp.engaged * others / (strips.middle * math.exp(-NINE_IN_TEN * strips.sd))
