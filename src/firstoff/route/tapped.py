"""A thread without a job: what its tap takes and bears, and from which length the screw breaks before it strips."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from ..checks._chance import OPERATION_SCATTER, spread
from ..checks._drills import log_sd, over, told_by_what_lasts
from ..checks._threads import Thread
from ..checks.si import metres
from ..checks.stripping import breaks_at, full_strength_length, strips_at, weak_strength
from ..checks.tapping import BENT, CORE, HOLE_SCATTER, SHEAR, factor_of
from ..cutting.strength import breaking_torque
from ..cutting.tap import tap_torque, turned_and_bent
from ..cutting.thread import thread_height_share
from .cuts import coolant
from .hole_bench import Bench
from .risk import Risk, undecided

LONGEST: Final = 2.5           #: diameters of full thread: deeper a hand tap jams in its chips; judged
WIDER: Final = 0.1             #: [mm] a drill that makes tapping easier
_STEPS: Final = 60             #: halvings of a length that is looked for
_FAR: Final = (0.05, 50.0)     #: diameters between which it is looked for


@dataclass(frozen=True)
class Tapped:
    """A thread: torque of its tap and what breaks it [N m], how likely by how it is turned; its length [mm].

    Torques and chances are None and empty where nothing is known of tapping the metal.
    """

    thread: Thread                               # with the drill that is taken
    share: float                                 # height of thread over H1 [1]
    torque: float | None
    breaks: float
    p_breaks: dict[str, float]
    undecided: bool                              # whether a trial would tell if it breaks, turned by hand
    full_length: float | None                    # from which a screw of class 8.8 breaks first, by the drawing
    sure_length: float | None = None             # the same with how threads come out, where it is close by the shop
    p_strips: float | None = None                # at the length that was asked, by a screw at full strength

    @property
    def drill(self) -> float:
        """Its tap drill [mm]."""
        return self.thread.tap_drill

    @property
    def long_enough(self) -> bool:
        """Whether a hand tap cuts so long a thread that the screw breaks first."""
        return self.full_length is not None and self.full_length <= LONGEST * self.thread.nominal


def with_drill(thread: Thread, drilled: float) -> Thread:
    """A thread that is drilled otherwise than by the standard [mm]."""
    if abs(drilled - thread.tap_drill) < 1e-6:
        return thread
    return replace(thread, sizes=thread.sizes._replace(tap_drill=metres(drilled)), drill_name="")


def tapped_of(thread: Thread, bench: Bench, length: float | None) -> Tapped:
    """What is to be said of a thread.

    Args:
        thread: with its tap drill.
        bench: where, and of what.
        length: of full thread [mm]; None where nobody says.
    """
    share = float(thread_height_share(thread.sizes.nominal, thread.sizes.pitch, metres(thread.tap_drill)))
    steel = bench.shop.tool_materials["hss"].rupture_strength
    breaks = float(breaking_torque(SHEAR * steel.value, CORE * thread.sizes.nominal))
    found = _torque(thread, bench)
    chances: dict[str, float] = {}
    split = False
    if found is not None:
        torque, asked_sd = found
        lasting, new = spread(asked_sd, log_sd(steel)), spread(HOLE_SCATTER, OPERATION_SCATTER["strength"])
        asked = {how: float(turned_and_bent(torque, bent * torque)) for how, bent in BENT.items()}
        chances = {how: over(one, breaks, spread(lasting, new)) for how, one in asked.items()}
        split = undecided(*told_by_what_lasts(asked["hand"], breaks, lasting, new, bench.shop))
    weak = weak_strength(bench.material, bench.shop)
    full = full_strength_length(thread, thread.tap_drill, weak) if weak else None
    return Tapped(thread, share, found[0] if found else None, breaks, chances, split, full,
                  _sure_length(thread, bench) if weak else None,
                  p_strips(thread, bench, length) if length and weak else None)


def _torque(thread: Thread, bench: Bench) -> tuple[float, float] | None:
    """Torque of a hand tap with oil [N m], and its log spread; of a mixture the mean and the spread between them."""
    off = bench.shop.discrepancies.get("tapping")
    found = []
    for material, share in bench.kinds():
        force = material.tapping_force
        if force is None:
            return None
        own = [force, *([material.batch] if material.batch else []), *([off.factor] if off else [])]
        torque = float(tap_torque(force.value, factor_of(material), thread.sizes.nominal, metres(thread.tap_drill)))
        found.append((math.log(torque), spread(*(log_sd(figure) for figure in own)), share))
    mean = sum(share * one for one, _, share in found)
    between = math.sqrt(sum(share * (one - mean) ** 2 for one, _, share in found))
    return math.exp(mean), spread(between, math.sqrt(sum(share * sd * sd for _, sd, share in found)))


def p_strips(thread: Thread, bench: Bench, length: float) -> float:
    """Chance that this length of full thread [mm] strips before a screw of class 8.8 breaks."""
    chances = []
    for kind, share in bench.kinds():
        if kind.tensile_strength is not None:
            load = float(strips_at(thread, thread.tap_drill, length, kind.tensile_strength.value))
            sd = spread(log_sd(kind.tensile_strength), OPERATION_SCATTER["thread"])
            chances.append(share * (over(breaks_at(thread), load, sd) if load > 0.0 else 1.0))
    return sum(chances)


def _sure_length(thread: Thread, bench: Bench) -> float | None:
    """Length of full thread from which it strips no more often than this shop calls close [mm]; None if none does."""
    low, high = (share * thread.nominal for share in _FAR)
    if p_strips(thread, bench, high) > bench.shop.close:
        return None
    for _ in range(_STEPS):
        middle = math.sqrt(low * high)
        low, high = (low, middle) if p_strips(thread, bench, middle) <= bench.shop.close else (middle, high)
    return high


# --- what can go wrong -----------------------------------------------------------------------------


def thread_risks(tapped: Tapped, bench: Bench, length: float | None, through: bool = False) -> Iterator[Risk]:
    """That the tap breaks, that the thread strips, that the drill is none for a tap.

    Args:
        tapped: the thread.
        bench: where, and of what.
        length: of full thread [mm]; None where nobody says.
        through: whether that is all the metal there is.
    """
    name, good = tapped.thread.name, bench.shop.good
    if tapped.torque is None:
        yield Risk(f"whether the {name} tap breaks is not told: no figure for tapping {bench.material.name}", None,
                   "write tapping_force under the material, from a book; oil, back often, feel for it")
    else:
        p, wet = tapped.p_breaks["hand"], "" if coolant(bench.material, "tap") == "dry" else "oil, "
        yield Risk(f"the {name} tap breaks, turned by hand", p,
                   f"{wet}back often, a sharp tap{_wider(tapped, bench)}" if p > good else "",
                   settle="tap one in a scrap of the same bar" if tapped.undecided else "")
    if tapped.share > 1.0:
        yield Risk(f"Ø{bench.size(tapped.drill)} is narrower than the core of {name}: the tap has to form what it "
                   "cannot cut, and jams", None, "a wider drill")
    if tapped.p_strips is not None and length is not None:
        yield Risk(f"{bench.said(length)} of full thread strip before a screw of class 8.8 breaks", tapped.p_strips,
                   _held_better(tapped, bench, through) if tapped.p_strips > bench.shop.close else "",
                   otherwise=True)                   # who pulls it so hard? nobody has to


def _held_better(tapped: Tapped, bench: Bench, through: bool) -> str:
    """What holds where the thread strips first."""
    if tapped.full_length is None:
        return ""
    if tapped.sure_length is None or tapped.sure_length > LONGEST * tapped.thread.nominal:
        return "an insert of steel wire, a nut behind it, or less pull"
    sure = long(tapped.sure_length, bench)
    return f"{sure} of metal, a nut behind it, or less pull" if through else f"make it {sure} of full thread"


def long(length: float, bench: Bench) -> str:
    """A length of thread, rounded up to what is worth telling: a tenth of a mm, a hundredth of an inch."""
    step = 0.254 if bench.shop.units == "in" else 0.1
    return bench.said(math.ceil(length / step - 1e-9) * step)


def _wider(tapped: Tapped, bench: Bench) -> str:
    """What the next drill would save."""
    wider = with_drill(tapped.thread, tapped.drill + WIDER)
    found = _torque(wider, bench)
    if found is None or tapped.torque is None or wider.tap_drill >= wider.nominal:
        return ""
    share = float(thread_height_share(wider.sizes.nominal, wider.sizes.pitch, wider.sizes.tap_drill))
    saved = 1.0 - found[0] / tapped.torque
    return (f"; a drill {bench.said(WIDER)} wider saves {100.0 * saved:.0f} % of the torque and leaves "
            f"{100.0 * share:.0f} % of the thread")
