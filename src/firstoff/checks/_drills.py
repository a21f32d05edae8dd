"""What a drill asks of a machine and what both bear, by book figures: for plans and quick answers."""

from __future__ import annotations

import math
from functools import cache
from math import radians
from typing import Final, NamedTuple

from ..cutting.chisel import CHISEL, DrillLoad, drill_load
from ..cutting.force import specific_force
from ..cutting.hole import drill_chip
from ..cutting.power import spindle_torque
from ..cutting.strength import breaking_torque
from ..errors import OutOfRange
from ..normal import normal_quantile
from ..shop.models import Figure, Machine, Material, Shop, Tool, ToolMaterial
from ._chance import OPERATION_SCATTER, spread
from .power import spindle_base
from .si import metres, square_metres

#: Core that bears the twist over diameter of a drill, and shear over rupture strength; judged.
CORE: Final = 0.55
SHEAR: Final = 0.5
POINT: Final = radians(118.0)
#: A face this little off square is flat to a drill: its lips lead it by themselves [rad]; judged.
FLAT: Final = radians(1.0)
REFERENCE_CHIP: Final = 1.0      #: thickness of chip that k_c1.1 refers to [mm]
REFERENCE_AREA: Final = 1.0      #: feed times diameter that the press of the chisel edge refers to [mm2]
#: A feed that the arm gives, one sd of the log of its force from moment to moment; judged.
BY_ARM: Final = 0.25

STALL, TWIST, PUSH = "stall the spindle", "twist the drill off", "stall the feed"
BY_HAND: Final = "be all that an arm gives"


class Drill(NamedTuple):
    """A drill by its size [mm], what it is made of, and its point [rad]."""

    diameter: float
    material: ToolMaterial = "hss"
    point: float = POINT

    @classmethod
    def of(cls, tool: Tool) -> Drill:
        """A drill of the shop."""
        return cls(tool.diameter, tool.material, tool.point_angle or POINT)


class Way(NamedTuple):
    """One way in which a drill fails: what is asked, what is borne (SI), and the chance that it is too much.

    `good` and `bad` are the shares of what lasts, of metals and machines that it may be, by which it would be good
    and no good: where both are large a trial decides.
    """

    name: str
    asked: float
    bears: float
    p: float
    good: float = 1.0
    bad: float = 0.0


class BookLoad(NamedTuple):
    """A drill by book figures: medians of torque [N m] and thrust [N], the log spread of both, the ways to fail."""

    torque: float
    thrust: float
    log_sd: float
    ways: tuple[Way, ...]

    @property
    def first(self) -> Way | None:
        """The likeliest way to fail; None where nothing is known of the machine."""
        return max(self.ways, key=lambda way: way.p, default=None)

    @property
    def p(self) -> float:
        """Its chance; 0 where nothing is known."""
        return self.first.p if self.first else 0.0


def load_of(force: Figure | float, material: Material, drill: Drill, feed: float, pilot: float) -> DrillLoad:
    """Torque and thrust at a figure of the specific force; lengths in mm, the rest SI."""
    k11 = force.value if isinstance(force, Figure) else force
    by_turn = metres(feed)
    lips = specific_force(k11, material.drilling_exponent, drill_chip(by_turn, drill.point), metres(REFERENCE_CHIP))
    return drill_load(lips, metres(drill.diameter), by_turn, metres(pilot), CHISEL, square_metres(REFERENCE_AREA))


def twist_off(strength: float, diameter: float) -> float:
    """Torque that twists a drill of a diameter [mm] off [N m]."""
    return float(breaking_torque(SHEAR * strength, CORE * metres(diameter)))


def hand_fed(shop: Shop, machine: Machine) -> bool:
    """Whether an arm gives the feed."""
    return machine.like in shop.classes and shop.classes[machine.like].kind == "drill_press"


def book_load(
    shop: Shop, machine: Machine, material: Material, drill: Drill, feed: float, turn: float, pilot: float = 0.0,
) -> BookLoad:
    """What a drill asks by book figures alone.

    Args:
        shop: with the figures of tool materials and of how wrong drilling forces are.
        machine: the machine; where nothing is known of its spindle only the drill can fail.
        material: the workpiece; of a mixture the mean of what it may be.
        drill: the drill.
        feed: a revolution [mm].
        turn: spindle speed [rad/s].
        pilot: hole that is there already [mm].

    Returns:
        BookLoad.

    Raises:
        OutOfRange: if the material has no figure for drilling.
    """
    if material.one_of:
        kinds = [(shop.materials[name], share) for name, share in material.one_of.items()]
        return _mixed([(book_load(shop, machine, m, drill, feed, turn, pilot), share) for m, share in kinds])
    force = material.drilling_force
    if force is None:
        raise OutOfRange(f"no figure for drilling {material.name}", right="drilling_force under the material")
    torque, thrust = (float(item) for item in load_of(force, material, drill, feed, pilot))
    own = [force, *([material.batch] if material.batch else [])]
    off = shop.discrepancies.get("drilling")
    shared = spread(*(log_sd(figure) for figure in [*own, *([off.factor] if off else [])]))
    hand = BY_ARM if hand_fed(shop, machine) else 0.0
    ways = _ways(shop, machine, drill, turn, torque, thrust, (shared, spread(OPERATION_SCATTER["force"], hand)))
    return BookLoad(torque, thrust, shared, ways)


def _ways(
    shop: Shop, machine: Machine, drill: Drill, turn: float, torque: float, thrust: float, sd: tuple[float, float]
) -> tuple[Way, ...]:
    """The ways to fail; `sd` are the log spreads of what is asked: of what lasts, and of what is new each time."""
    found: list[tuple[str, float, float, float, float]] = []
    figures = shop.tool_materials.get(drill.material)
    if figures is not None:
        found.append((TWIST, torque, twist_off(figures.rupture_strength.value, drill.diameter),
                      log_sd(figures.rupture_strength), OPERATION_SCATTER["strength"]))
    if machine.spindle is not None and turn > 0.0:
        power = machine.spindle.power
        holds = float(spindle_torque(power.value, spindle_base(machine.spindle), turn))
        found.append((STALL, torque, holds, log_sd(power), 0.0))
    book = shop.classes.get(machine.like)
    push = machine.axis_thrust or (book.axis_thrust if book else None)
    if push is not None:
        found.append((BY_HAND if hand_fed(shop, machine) else PUSH, thrust, push.value, log_sd(push), 0.0))
    return tuple(Way(name, asked, bears, over(asked, bears, spread(*sd, own, new)), *told_by_what_lasts(
        asked, bears, spread(sd[0], own), spread(sd[1], new), shop)) for name, asked, bears, own, new in found)


def told_by_what_lasts(asked: float, bears: float, lasting: float, scatter: float, shop: Shop) -> tuple[float, float]:
    """In what share of what lasts more is asked than is borne no more often than is good, and oftener than is close.

    Args:
        asked: in the middle.
        bears: the same unit.
        lasting: log spread of what is the same all day: metal, machine, tool.
        scatter: of what is new each time.
        shop: with its limits.
    """
    if asked <= 0.0:
        return 1.0, 0.0
    away = -math.log(asked / bears)
    good, close = (_cdf((away + _quantile(limit) * scatter) / lasting) for limit in (shop.good, shop.close))
    return good, 1.0 - close


@cache
def _quantile(chance: float) -> float:
    return float(normal_quantile(chance))


def _cdf(x: float) -> float:
    """As `normal_cdf`, of one number: a row of drills is looked for among hundreds."""
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


def over(asked: float, bears: float, sd: float) -> float:
    """Chance that more is asked than is borne, their ratio lognormal with this spread [1]."""
    return _cdf(math.log(asked / bears) / sd) if asked > 0.0 else 0.0


def _mixed(found: list[tuple[BookLoad, float]]) -> BookLoad:
    """The mean of what a mixture may be; its spread is that between them, too."""
    whole = sum(share for _, share in found)
    parts = [(load, share / whole) for load, share in found]
    torque, thrust = (math.exp(sum(share * math.log(max(getattr(load, name), 1e-12)) for load, share in parts))
                      for name in ("torque", "thrust"))
    between = math.sqrt(sum(share * math.log(load.torque / torque) ** 2 for load, share in parts))
    inner = math.sqrt(sum(share * load.log_sd**2 for load, share in parts))
    first = parts[0][0]
    ways = tuple(Way(way.name, sum(share * load.ways[i].asked for load, share in parts), way.bears,
                     *(sum(share * getattr(load.ways[i], field) for load, share in parts)
                       for field in ("p", "good", "bad"))) for i, way in enumerate(first.ways))
    return BookLoad(torque, thrust, spread(between, inner), ways)


def log_sd(figure: Figure) -> float:
    """One standard deviation of the log of a figure."""
    if figure.factor is not None:
        return math.log(figure.factor)
    return math.log1p((figure.sd or 0.0) / abs(figure.value))


#: A drill of 3 to 25 mm without a bush cuts larger by so much and a share of its diameter: usual and most [mm, 1];
#: machinery, from memory of its table (0.002 + 0.005 D and 0.005 + 0.005 D in inches). The table is of drills as
#: they run: uneven lips, and how far chuck and drill run out, are in it.
USUAL: Final = (0.051, 0.005)
MOST: Final = (0.127, 0.005)
TABLED: Final = (3.0, 25.0)     #: [mm] the drills that it is of


def oversize(diameter: float) -> tuple[float, float]:
    """How much wider than the drill its hole comes out, usually and at most [mm].

    Args:
        diameter: of the drill [mm].
    """
    usual, most = (base + share * diameter for base, share in (USUAL, MOST))
    return usual, most
