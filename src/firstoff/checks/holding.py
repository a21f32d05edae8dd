"""The part moves: forces of the cut against what jaws, clamps, screws or glue hold it by.

A cutter's force turns with it, so its peak is let act every way in the plane, at the ends of the path and at the
top of the cut; a right-hand helix lifts the work. A drill presses down, turns, and pulls up as it comes through.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..errors import OutOfRange
from ..job.faces import DIRECTIONS
from ..medians import median, medians
from ..units import tell
from ._blunt import on_a_step
from ._chance import OPERATION_SCATTER, discrepancy, figure, known, middle, spread, weighed
from ._contacts_left import Stage, as_left, is_held, milled_before, stages, standing
from ._forces import is_milling, loads, machine_entity, worst
from ._gives_way import TURNS, Array, Cutting, Way, at_most, gives_way, loose_way, push_borne
from ._glued import glued, on_glue
from ._hold_tests import lift_loglik, pull_loglik, pulled
from ._knobs import DEPTH, DIRECTION, FEED_DOWN, WIDTH
from ._patches import Patch
from ._placed_otherwise import OTHER_JAWS, STOP, TURNED
from ._round import ROUND, round_face
from ._tightened import book_force, squeeze, turning
from ._told import coarse, fine
from ._touching import JAWS, PRESSED, contacts_of, device_of, grip_said, missing, touching
from .base import Case, Check, Finding, Knob, Observation, cannot
from .breakthrough import torque_of_coming_out
from .drilling import load as drill_load
from .si import metres, millimetres
from .tapping import load as tap_load

NAME = "holding"

#: Steps to ten times as much in which torque over thrust is told (ISO 3, R 80): within 1.5 %, what the table of what
#: is borne is found to, so that it serves for another feed, too.
ARMS: Final = 80
LEVER: Final = 0.02           #: at which a torque on the part is told as a force [m]
NEAR: Final = 0.7             #: share of what is borne from which limit analysis is asked, too
MORE_TORQUE: Final = (1.25, 1.6, 2.0, 3.0)    #: on the wrench, times what it is set to
LEAST_TOLD: Final = 0.001     #: of how far a part gives in its hold [mm]
LEAST_GONE: Final = 0.05      #: of a contact, that is told
NOTHING: Final = 0.1          #: [N] what bears less bears nothing
LEAST_BORNE: Final = 1e-3     #: by a part that nothing holds any more [N]
_TILTS: Final = "tilt out of its hold"


class Hold(NamedTuple):
    """What a part bears by row [N], how it gives way, and how far it moves before [mm]; None where not computed."""

    bears: Rows
    how: str
    moves: float | None
    most: float = math.inf        # by limit analysis nothing of this kind bears more, at the middle of the rows [N]
    first: str = ""               # the contact that gives way first
    stays: float = 0.0            # how much of its move is left when the cut is over [mm]


def milled(case: Case, belief: Belief) -> Cutting:
    """The peak of a milling cut, every way in the plane, at both ends of its path and the top of the cut."""
    found = loads(case, belief)
    side, lift = worst(found, "peak_side"), worst(found, "peak_z")
    assert case.windows is not None
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    axes = np.stack([across, np.cross(up, across), up])
    turns = 2.0 * np.pi * np.arange(TURNS) / TURNS
    ways = np.stack([np.cos(turns), np.sin(turns), np.zeros(TURNS)], axis=1) @ axes
    places = _ends(case.windows.point, axes)
    each = np.repeat(places, TURNS, axis=0)
    return Cutting(side, np.tile(ways, (len(places), 1)), up, np.maximum(lift, 0.0) / side, metres(each),
                   np.zeros_like(each))


def _ends(points: Array, axes: Array) -> Array:
    """Both ends of a path along its longer way in the plane, at its highest [mm]."""
    here = points @ axes.T
    reach = np.ptp(here[:, :2], axis=0)
    long = int(np.argmax(reach))
    middle_ = medians(here, 0)
    ends = np.tile(np.array([middle_[0], middle_[1], here[:, 2].max()]), (2, 1))
    ends[:, long] = here[:, long].min(), here[:, long].max()
    return np.asarray((ends if reach[long] > 0.0 else ends[:1]) @ axes)


def drilled(case: Case, belief: Belief) -> tuple[Cutting, ...]:
    """A drill's thrust with its torque at every hole; where it comes through, its pull as a screw of its helix."""
    found = drill_load(case, belief)
    up = np.array(case.setting.up)
    mouths = [f.axis_point for f in case.features if f.axis_point is not None]
    points = metres(np.array(mouths)) if mouths else np.zeros((0, 3))
    none = np.zeros(len(found.thrust))

    def along(way: Array, push: Rows) -> Cutting:
        arm = on_a_step(median(found.torque / push), ARMS)
        ways = np.tile(way, (len(points), 1))
        return Cutting(push, ways, up, none, points, np.tile(-up * arm, (len(points), 1)))

    made = [along(-up, found.thrust)] if len(points) else []
    if len(points) and any(f.through for f in case.features):
        pull = 2.0 * found.torque * math.tan(case.tool.helix) / metres(case.tool.diameter)
        made.append(along(up, pull))
        if belief.has(machine_entity(case), "stiffness_z"):      # where it grabs as it comes through
            screws = torque_of_coming_out(case, belief) / _arm(case)
            made.append(replace(along(up, screws), arm=np.tile(-up * _arm(case), (len(points), 1))))
    return tuple(made)


def _arm(case: Case) -> float:
    """Torque over pull of a drill that screws itself in, by the slope of its helix [m]."""
    return metres(case.tool.diameter) / (2.0 * math.tan(case.tool.helix))


def tapped(case: Case, belief: Belief) -> tuple[Cutting, ...]:
    """A tap turns the part: no push to speak of, a torque about each hole, given as a force at a usual lever."""
    torque = tap_load(case, belief)
    mouths = [f.axis_point for f in case.features if f.axis_point is not None]
    if torque is None or not mouths:
        return ()
    up, points = np.array(case.setting.up), metres(np.array(mouths))
    none = np.zeros((len(points), 3))
    return (Cutting(torque / LEVER, none, up, np.zeros(len(torque)), points, np.tile(-up * LEVER, (len(points), 1))),)


def _by_contacts(
    case: Case, belief: Belief, cutting: Cutting, left: tuple[Patch, ...] | None = None
) -> Hold | str:
    holding, name = case.setting.holding, device_of(case).name
    if not grip_said(case):
        return "the setting does not say which faces are gripped, and how high"
    clamp = squeeze(case, belief)
    if clamp is None:
        return f"nothing is known of {name} tightened by {holding.tightness!r}"
    patches = standing(case) if left is None else left
    if lacks := missing(case, patches):
        return lacks
    contacts = contacts_of(patches)
    if (free := loose_way(contacts)) is not None:
        return f"nothing keeps it from moving {_towards(free[:3]) if np.abs(free[:3]).max() > 0.1 else 'round'}"
    friction = known(belief, f"device:{holding.device}", "friction", 0.0)
    if not belief.words:
        return Hold(push_borne(contacts, friction, clamp, cutting), "", None)
    found = gives_way(contacts, friction, clamp, cutting)
    moves, most = float(millimetres(found.moves)), math.inf
    if median(cutting.push) > NEAR * median(found.bears):
        most = at_most(contacts, median(friction), median(clamp), cutting, found.load)
    return Hold(found.bears, _how(case, patches, cutting, found), moves, most, _first(patches, found),
                float(millimetres(found.stays)))


def _how(case: Case, patches: tuple[Patch, ...], cutting: Cutting, way: Way) -> str:
    """In words, how the part goes when it gives way: it turns about some line, or it goes some way."""
    points = metres(np.concatenate([patch.points for patch in patches]))
    centre = points.mean(axis=0)
    size = float(np.linalg.norm(points - centre, axis=1).max())
    go = way.shift - np.cross(way.turn, cutting.points[way.load] - centre)
    up = np.array(case.setting.up)
    jaws = device_of(case).kind in JAWS
    where = "in the jaws" if jaws else "under the clamps"
    if np.linalg.norm(way.turn) * size > np.linalg.norm(go):
        turn = way.turn / np.linalg.norm(way.turn)
        if abs(turn @ up) > 0.7:
            return f"twist {where}"
        fixed = next((patch.normal for patch in patches if patch.name == "fixed jaw"), None)
        return "turn between the jaws" if fixed is not None and abs(turn @ fixed) > 0.7 else _TILTS
    go = go / max(float(np.linalg.norm(go)), 1e-300)
    if go @ up > 0.7:
        return "lift off its rest"
    return f"slide {where} {_towards(go)}"


def _first(patches: tuple[Patch, ...], way: Way) -> str:
    """The thing of whose grip most is used just before the part gives way; empty where nothing pressed."""
    names = np.array([patch.name for patch in patches for _ in patch.areas])
    uses = {name: float(way.used[names == name].max()) for name in dict.fromkeys(names.tolist())}
    best = max(uses, key=lambda name: uses[name], default="")
    return best if best and uses[best] > 0.0 else ""


def _towards(way: Array) -> str:
    """The direction of the part that is nearest to a way."""
    return f"towards {max(DIRECTIONS, key=lambda side: float(np.array(DIRECTIONS[side]) @ way))}"


def _by_glue(case: Case, belief: Belief, cutting: Cutting) -> Hold | str:
    found = glued(case, belief, cutting)
    return found if isinstance(found, str) else Hold(found.bears, found.how, None)


def _held(case: Case, belief: Belief, cutting: Cutting, left: tuple[Patch, ...] | None = None) -> Hold | str:
    kind = device_of(case).kind
    if kind in JAWS or kind in PRESSED:
        return _by_contacts(case, belief, cutting, left)
    if kind == "carrier":
        return _by_glue(case, belief, cutting)
    return "no holding by hand is computed: clamp it"


def _applies(case: Case) -> bool:
    return is_milling(case) or _drills(case) or _taps(case)


def _taps(case: Case) -> bool:
    return (case.operation is not None and case.op.role == "tap" and case.op.tool is not None
            and case.tool.kind == "tap" and device_of(case).kind != "hand")


def _drills(case: Case) -> bool:
    return (case.operation is not None and case.op.role == "drill" and case.op.tool is not None
            and case.tool.kind == "drill" and bool(case.op.cut.feed_per_tooth) and device_of(case).kind != "hand")


class _Found(NamedTuple):
    """The worst of what an operation does: load, hold, and the stretch of the program in which it is."""

    cutting: Cutting
    held: Hold
    stage: Stage | None = None
    barest: Stage | None = None          # the stretch in which the least is left of some contact


def _worst(case: Case, belief: Belief) -> _Found | str:
    """The load that comes nearest to what the part bears, or why it cannot be told."""
    found = []
    for cutting, stage in _loads(case, belief):
        held = _held(case, belief, cutting, stage.patches if stage else None)
        if isinstance(held, str):
            if stage is None or not (stage.line or stage.before):
                return held
            held = Hold(np.full(belief.rows, LEAST_BORNE), held, None)
        found.append(_Found(cutting, held, stage))
    if not found:
        raise OutOfRange("no place is known of what is drilled or tapped", right="holes of the model")
    worst_ = max(found, key=lambda item: median(
        item.cutting.push / np.maximum(item.held.bears, LEAST_BORNE)))
    seen = [item.stage for item in found if item.stage is not None]
    return worst_._replace(barest=min(seen, key=lambda stage: stage.least[1], default=None))


def _loads(case: Case, belief: Belief) -> Iterator[tuple[Cutting, Stage | None]]:
    """What the operation does to the part, and with which contacts."""
    held = is_held(case)
    if not is_milling(case):
        for cutting in (tapped if _taps(case) else drilled)(case, belief):
            yield cutting, as_left(case, done=comes_out(cutting)) if held else None
        return
    if not held:
        yield milled(case, belief), None
        return
    for stage in stages(case):
        if _cuts(stage.case):
            yield milled(stage.case, belief), stage


def _cuts(case: Case) -> bool:
    """Whether anything is taken off in these windows."""
    windows = case.windows
    return windows is not None and bool(
        ((windows.depth > 0.0) & (windows.exit > windows.entry) & (windows.feed_per_tooth > 0.0)).any())


def _evaluate(case: Case, belief: Belief) -> Finding:
    found = _worst(case, belief)
    if isinstance(found, str):
        return cannot(NAME, case, "part", found, "pull at the part with a luggage scale before the cut")
    force, held = found.cutting.push, found.held
    bears = held.bears / np.maximum(discrepancy(belief, "holding"), 1e-9)
    return weighed(NAME, case, "part", force, np.maximum(bears, 1e-9),
                   spread(OPERATION_SCATTER["holding"], OPERATION_SCATTER["force"]), unit="N",
                   because=_because(case, found, bears) if belief.words else NAME,
                   settle_by="pull at the clamped part with a luggage scale, an indicator against it")


def _because(case: Case, found: _Found, bears: Rows) -> str:
    force, held, holding, units = found.cutting.push, found.held, case.setting.holding, case.job.units
    tight = f" tightened by {holding.tightness}" if holding.tightness else ""
    moves = ""
    if held.moves is not None and held.moves >= LEAST_TOLD and median(force) < median(held.bears):
        moves = f"; it gives {fine(held.moves, units)} before"
        if held.stays >= LEAST_TOLD:
            moves += f", and {fine(held.stays, units)} of it stay"
    pushes = f"{_acts(case, found.cutting)} about {middle(force)} N"
    stage = found.stage
    if stage is not None and (stage.line or stage.before) and float(held.bears.max()) <= LEAST_BORNE:
        since = f"from line {stage.line} on" if stage.line else "after what was milled before it here"
        return f"{pushes}; {since} it comes loose: {held.how}"
    lever = f" {tell(float(millimetres(LEVER)), 'length', units)} out would" if _taps(case) else ""
    most = f"at about {middle(bears)} N" if median(bears) >= NOTHING else "at once"
    return (f"{pushes}{lever}; in the {device_of(case).name}{tight} the part "
            f"would {held.how} {most}{_height(case)}{moves}{_proved(force, held)}"
            + (f"; first at the {held.first}" if held.first else "") + _cut_off(found.barest))


def _acts(case: Case, cutting: Cutting) -> str:
    """What the cut does to the part, before the force is told."""
    if _taps(case):
        return "the tap turns it as"
    if not is_milling(case):
        return "coming through, the drill pulls with up to" if comes_out(cutting) else "the drill presses with up to"
    return "the cut pushes with up to"


def comes_out(cutting: Cutting) -> bool:
    """Whether a drill pulls itself up as it comes out at the other side."""
    return float(np.max(cutting.ways @ cutting.lift, initial=0.0)) > 0.0


def _cut_off(stage: Stage | None) -> str:
    """From which line on what has gone of the contacts; or that it went before."""
    if stage is None or stage.least[1] > 1.0 - LEAST_GONE or not (stage.line or stage.before):
        return ""
    name, share = stage.least
    left = f"{figure(100.0 * share)} % of the {name}"
    if not stage.line:
        return f"; {left} is left for it, the rest was milled away before"
    return f"; from line {stage.line} on {left} is left, the rest is milled away"


def _proved(force: Rows, held: Hold) -> str:
    """What limit analysis proves: beyond it the part moves, however the pressure lies."""
    if median(force) <= held.most:
        return ""
    return f"; however the pressure lies, these contacts bear no more than {figure(held.most)} N: it moves"


def _height(case: Case) -> str:
    holding = case.setting.holding
    if holding.stick_up <= 0.0 or holding.grip_height <= 0.0:
        return ""
    units = case.job.units
    above, within = (coarse(high, units)
                     for high in (holding.stick_up, holding.grip_height))
    return f", {above} above and {within} in it"


def _tighter(case: Case) -> list[object]:
    """What a person can do that presses harder, the mildest first: more on the wrench, else the device's words."""
    device, now = device_of(case), case.setting.holding.tightness
    words = sorted(device.squeeze.items(), key=lambda item: item[1].value)
    turned = turning(now)
    if turned is None or now in device.squeeze:
        least = device.squeeze[now].value if now in device.squeeze else 0.0
        return [word for word, figure in words if figure.value > least]
    harder = (tell(turned.torque * more, "torque", case.job.units) for more in MORE_TORQUE)
    return [f"torque wrench at {torque}" for torque in harder]


def _looks_back(case: Case) -> bool:
    return on_glue(case) or (case.operation is not None and milled_before(case))


def _no_bead(case: Case) -> bool:
    return device_of(case).kind == "carrier" and not case.setting.holding.bead


def _loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """What a pull at the clamped part, or an indicator on it while it was tightened, says of the rows."""
    if seen.kind == "lift":
        return lift_loglik(case, belief, seen)
    if seen.kind != "pull":
        return None
    held = _held(case, belief, pulled(case, belief))
    return None if isinstance(held, str) else pull_loglik(held.bears, belief, seen)


def _say_tighter(case: Case, word: object) -> str:
    """With what it then presses with, since that marks a soft face."""
    presses = book_force(device_of(case), str(word))
    on_lines = device_of(case).kind in ROUND and round_face(case) is not None
    pressing = [] if on_lines else [patch.area for patch in touching(case) if patch.clamp >= 0]
    marks = f" (some {figure(presses / min(pressing))} N/mm2 on its faces)" if pressing and presses else ""
    return f"tightened by {word}, not {case.setting.holding.tightness or 'nothing'}{marks}"


TIGHTER = Knob("holding.tightness", _tighter, _say_tighter)
BEAD = Knob("holding.bead", lambda case: ["true"] if _no_bead(case) else [],
            lambda case, _value: "a bead of glue round its foot, as well: more area")

CHECK = Check(NAME, "part moves in its holding", "part", "operation", _applies, _evaluate,
              knobs=(DEPTH, FEED_DOWN, WIDTH, DIRECTION, TIGHTER, OTHER_JAWS, STOP, TURNED, BEAD), word="moved",
              loglik=_loglik, feels_wear=True, looks_back_at=_looks_back)
