"""What operations make a feature: rough and finish, spot and drill and ream or tap, chamfer, ball, file.

A step is an operation before it has a number: its role, its features, its tool and how much it takes off.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from ..dryrun.seen import seen, span
from ..job.faces import DIRECTIONS
from ..job.route import Role
from ..part.mouth import mouth_slope
from ..part.shapes import Feature
from ..shop.models import Machine, Material, Shop, ToolKind
from . import holes
from .blank import WORDS, Blank
from .cuts import Removal
from .drills import drill_for_reamer, drilling_chance, pilots_for
from .hard import SLOPE
from .proof import Now
from .settings import LEFT_FOR_LAST, Draft, Work
from .tools import MILLS, Held, Need, find, too_fast

ROUGH_LEAVES: Final = 0.3      #: [mm] left on walls and floors for a finishing cut
FACE_LEAVES: Final = 0.2       #: [mm] left on a face for a finishing cut
ONE_CUT: Final = 0.35          #: [mm] a face with less than this on it is cleaned up at once
LEAST_CUT: Final = 0.1         #: [mm] a thinner pass of an end mill is not planned: it rubs
ROOM: Final = 0.9              #: of a pocket's width is the widest cutter that works in it
CORNER: Final = 1.0            #: cutter radius / corner radius at most; less is better, but then it is a longer way
DRILLED: Final = frozenset({"drill", "ream", "tap", "countersink"})
STAIRS: Final = 1.0            #: [mm] steps that are left above a ramp when the passage over it was cut from above
ROWS: Final = 0.2              #: of a ball nose's diameter between rows of a rough
TIP: Final = 0.5               #: [mm] a chamfer cutter's point and its rim stay this far out of the chamfer
SAME_DRILL: Final = 0.011      #: [mm] drills that differ less are the same
STEEPEST: Final = 1.2          #: [rad] of a slope on which a flat is still milled
OVER: Final = 1.0              #: [mm] a flank cut goes this far past a free lower edge


@dataclass(frozen=True)
class Step:
    """An operation to be: `key` is what its id ends in."""

    key: str
    role: Role
    features: tuple[str, ...]
    removes: float
    leaves: float
    removal: Removal
    held: Held | None
    notes: tuple[str, ...] = ()
    pitch: float = 0.0
    aside: bool = False            # at the drill press, to the spots that the mill has set
    opens: bool = False            # a pilot: before all other drills
    pilot: float = 0.0             # hole that an earlier drill has left [mm]
    height: float = 0.0            # how far down a flank goes here, where the rest is cut from the other side [mm]


@dataclass(frozen=True)
class Missing:
    """Something that cannot be made, why, and the tool that would."""

    feature: str
    because: str


@dataclass(frozen=True)
class Here:
    """Where steps are made: the part, the setting, the workpiece at that moment, the machine and the shop."""

    blank: Blank
    draft: Draft
    now: Now
    shop: Shop
    machine: Machine
    material: Material
    named: Mapping[str, holes.Wish]
    press: Machine | None = None                   # a drill press that can hold it the same way
    limited: frozenset[str] = frozenset()          # features whose last cut is set by what is measured

    def tool(self, role: Role, need: Need) -> Held | None:
        """The best tool here, None where none fits."""
        return find(self.shop, self.machine, self.material, role, need)

    def below(self) -> float:
        """How far a through hole goes into what is still on the side below [mm]: far enough to be open when
        that comes off."""
        return min(self.now.left.get(self.draft.rest, 0.0), OVER)

    def at_press(self, role: Role, need: Need) -> Held | None:
        """The best tool at the drill press."""
        return find(self.shop, self.press, self.material, role, need) if self.press and role in DRILLED else None


Made = tuple[list[Step], list[Missing]]


def steps_of(here: Here, work: Work) -> Made:
    """The steps of one piece of work."""
    if work.what == "face":
        return _face(here, work)
    if work.what == "flank":
        return _flank(here, work)
    feature = here.blank.part.feature(work.name)
    if work.stage == "hand":
        return _by_hand(here, feature)
    maker = {"hole": _hole, "chamfer": _chamfer, "free_form": _form, "ramp": _ramp, "fillet": _corner}
    made = maker.get(feature.kind)
    return made(here, work, feature) if made else _pocket(here, work, feature)


def _lacks(feature: str, what: str) -> Made:
    return [], [Missing(feature, what)]


def _scaly(sawn_ends: bool) -> tuple[str, ...]:
    """Words of care for the first pass on a raw rolled face."""
    clean = ("start it at a sawn end, where the edge meets clean metal",) if sawn_ends else ()
    return ("first pass beneath the scale: on the scale an edge is gone in one pass", *clean)


def _face(here: Here, work: Work) -> Made:
    """A side from above: rough and finish, or one light cut; beneath the scale at the first pass."""
    blank, word = here.blank, WORDS[work.name]
    owner = blank.sides[work.name]
    features = blank.flats(work.name) or tuple(_dome_ids(blank, work.name))
    scale = blank.wanted.stock.bow if blank.wanted.stock.condition in ("hot_rolled", "cast") else 0.0
    scale = scale if here.now.left[work.name] >= blank.allowance[work.name] else 0.0
    square = here.tool("face_rough", Need(MILLS))
    if square is None:
        return _lacks(owner or word, f"no end mill that {here.machine.name} holds can face {word}")
    rough_leaves = work.leaves + (FACE_LEAVES if work.stage == "all" else ROUGH_LEAVES)
    scaly = _scaly(blank.wanted.stock.sawn_ends) if scale > 0.0 else ()
    by_size = not here.limited.isdisjoint(blank.flats(work.name)) and work.stage == "all"
    if by_size and work.leaves == 0.0 and work.removes >= 2.0 * LEAST_CUT:
        rough_leaves = min(rough_leaves, work.removes / 2.0)
    elif work.removes <= ONE_CUT and work.leaves == 0.0 and work.stage == "all":
        return [Step(f"{word}-finish", "face_finish", features, work.removes, 0.0,
                     Removal(work.removes, 0.0, scale), square, scaly)], []
    if work.leaves > 0.0:
        return [Step(f"{word}-rough", "face_rough", features, work.removes, work.leaves,
                     Removal(work.removes, 0.0, scale), square, scaly)], []
    rough = work.removes - rough_leaves
    first = Removal(rough, 0.0, scale)
    key = f"{word}-{'rough' if here.now.left[work.name] >= blank.allowance[work.name] else 'semi'}"
    out = [Step(key, "face_rough", features, rough, rough_leaves, first, square, scaly)]
    if work.stage == "all":
        out.append(Step(f"{word}-finish", "face_finish", features, rough_leaves, 0.0, Removal(rough_leaves), square))
    return out, []


def _dome_ids(blank: Blank, side: str) -> list[str]:
    return [f.id for f in blank.features() if f.kind == "free_form"
            and any(sum(a * b for a, b in zip(way, DIRECTIONS[side], strict=True)) > 0.99 for way in f.access)]


def _flank(here: Here, work: Work) -> Made:
    """A side by the flank of an end mill, where it sticks out of the jaws or stands free on a carrier."""
    blank, word = here.blank, WORDS[work.name]
    owner = blank.sides[work.name]
    features = blank.flats(work.name)
    low, high = blank.part.low, blank.part.high
    height = span(low, high, here.draft.up)[1] - span(low, high, here.draft.up)[0]
    deep = work.deep or height + (here.draft.below or 0.0)
    held = here.tool("side_finish", Need(MILLS, cuts=deep, reach=deep + OVER, square=True))
    if held is None:
        return _lacks(owner or word, f"no end mill reaches {deep:.1f} mm down {word}")
    half = f"{deep:g} mm deep here, the rest from the other side" if work.deep else ""
    note = tuple(n for n in (held.note, half) if n)
    again = "-half" if work.deep and here.now.left[work.name] == 0.0 else ""
    finish = min(ROUGH_LEAVES, work.removes)
    rough = work.removes - finish
    out = []
    if rough > 0.0:
        first = Removal(deep, rough)
        out.append(Step(f"{word}-rough{again}", "side_rough", features, rough, finish, first, held, note,
                        height=work.deep))
    last = Removal(deep, finish)
    out.append(Step(f"{word}-finish{again}", "side_finish", features, finish, 0.0, last, held, note,
                    height=work.deep))
    return out, []


def _pocket(here: Here, work: Work, feature: Feature) -> Made:
    """A pocket, passage, slot, step or boss: rough with what is stiff, finish with what goes into the corners."""
    at = seen(here.blank.part, feature, here.draft.up)
    closed = feature.kind in ("pocket", "passage", "slot", "groove", "hole")
    widest = ROOM * at.width if closed else math.inf
    if at.width <= 0.0 and closed:
        widest = ROOM * feature.size.get("width", 0.0)
    fits = 2.0 * at.corner * CORNER if at.corner > 0.0 else math.inf
    whole = at.depth + (OVER + here.below() if feature.through else 0.0)
    ready = here.tool("pocket_finish", Need(MILLS, min(widest, fits), cuts=at.depth, reach=at.reach, square=True))
    if ready is None:
        return _lacks(feature.id, _too_deep(feature, at.depth, min(widest, fits)))
    rough = here.tool("pocket_rough", Need(MILLS, widest, cuts=at.depth, reach=at.reach, centre=closed)) or ready
    leaves = work.leaves if work.stage == "rough" else ROUGH_LEAVES
    kind: tuple[Role, Role] = ("pocket_rough", "pocket_finish") if closed else ("side_rough", "side_finish")
    out = []
    if work.stage != "finish":
        first = Removal(whole, 0.0, 0.0, closed)
        notes = tuple(n for n in (_way_in(feature) if closed else "", rough.note) if n)
        out.append(Step(f"{feature.id}-rough", kind[0], (feature.id,), whole, leaves, first, rough, notes))
    if work.stage != "rough":
        takes = LEFT_FOR_LAST if work.stage == "finish" else leaves
        if work.stage == "all" and feature.id in here.limited and rough.name != ready.name:
            takes, semi = takes / 2.0, takes / 2.0
            out.append(Step(f"{feature.id}-semi", kind[1], (feature.id,), semi, takes, Removal(whole, semi), ready,
                            ("all round, so that it can be measured before the last cut",)))
        out.append(Step(f"{feature.id}-finish", kind[1], (feature.id,), takes, 0.0, Removal(whole, takes), ready,
                        (ready.note,) if ready.note else ()))
    return out, []


def _way_in(feature: Feature) -> str:
    """How the cutter gets to its depth at each pass."""
    if feature.open:
        return "starts beside the work, at the open end"
    way = "round and round" if feature.kind in ("hole", "groove") else "along a slant from end to end"
    return f"goes in {way} down to the depth of the pass, then level: not straight down"


def _too_deep(feature: Feature, depth: float, widest: float) -> str:
    size = f"at most {widest:.1f} mm in diameter and " if widest < math.inf else ""
    return f"no end mill of the shop is {size}long enough for {depth:.1f} mm: one would make the {feature.kind}"


def _ramp(here: Here, _work: Work, feature: Feature) -> Made:
    """A slanting flat, square to the tool in a tilted setting: what stairs are left, then the finish."""
    at = seen(here.blank.part, feature, here.draft.up)
    opened = _opened(here, feature)
    deep = STAIRS if opened else _above(here, feature)
    widest = ROOM * feature.size.get("width", at.width) if opened else math.inf
    held = here.tool("ramp_rough", Need(MILLS, widest, cuts=0.0, reach=at.reach, square=True))
    if held is None:
        return _lacks(feature.id, _too_deep(feature, at.reach, widest))
    rough = deep - ROUGH_LEAVES
    note = ("the stairs that the passage left",) if opened else ()
    return [
        Step(f"{feature.id}-rough", "ramp_rough", (feature.id,), rough, ROUGH_LEAVES, Removal(rough), held, note),
        Step(f"{feature.id}-finish", "ramp_finish", (feature.id,), ROUGH_LEAVES, 0.0, Removal(ROUGH_LEAVES), held),
    ], []


def _opened(here: Here, feature: Feature) -> bool:
    """Whether a passage or pocket over the ramp is already cut."""
    faces = {n for f in here.blank.part.faces if f.number in feature.faces for n in f.neighbours}
    return any(faces & set(here.blank.part.feature(name).faces) for name in here.now.cut
               if here.blank.part.feature(name).kind in ("pocket", "passage", "slot"))


def _above(here: Here, feature: Feature) -> float:
    at = seen(here.blank.part, feature, here.draft.up)
    return max(at.reach, ROUGH_LEAVES * 2.0)


def _hole(here: Here, work: Work, feature: Feature) -> Made:
    wish = here.named.get(feature.id, holes.Wish())
    reach = seen(here.blank.part, feature, here.draft.up).reach
    below = here.below() if feature.through else 0.0
    plan = holes.plan_hole(feature, wish, reach, below, _ream_leaves(here, feature))
    steps: list[Step] = _flat(here, feature)
    missing: list[Missing] = []
    aside = False
    for stage in plan.stages:
        held = (None if aside and stage.role in DRILLED else here.tool(stage.role, stage.need))
        other = here.at_press(stage.role, stage.need)
        if held is None or (other is not None and _wrong_machine(here, held, other, stage)):
            held, aside = other or held, aside or other is not None
        if held is None and stage.role == "spot":
            continue
        if held is None and stage.role == "drill" and not (wish.thread or wish.ream):
            bored, lacking = _pocket(here, work, feature)
            steps, missing = steps + bored, missing + lacking
            continue
        if held is None:
            missing.append(Missing(feature.id, stage.lacking))
            continue
        led = _pilots(here, feature, stage, held, aside) if stage.role == "drill" else {}
        steps += led.values()
        steps.append(Step(f"{feature.id}-{stage.key}", stage.role, (feature.id,), stage.depth, stage.leaves,
                          Removal(stage.depth, stage.width), held, stage.notes, stage.pitch,
                          aside and stage.role in DRILLED, pilot=max(led, default=0.0)))
    return steps, missing


def _ream_leaves(here: Here, feature: Feature) -> float:
    """What the drill before a reamer leaves on the diameter, by the drills of the shop [mm]."""
    diameter = feature.size.get("diameter", 0.0)
    sizes = [t.diameter for t in here.shop.tools.values() if t.kind == "drill"]
    return round(diameter - drill_for_reamer(diameter, here.material, sizes), 3) if diameter > 0.0 else 0.0


def _flat(here: Here, feature: Feature) -> list[Step]:
    """A flat for the drill by an end mill, where the hole opens on a slope."""
    slope = mouth_slope(feature, here.blank.part, here.draft.up)
    diameter = feature.size.get("diameter", 0.0)
    if slope is None or slope <= SLOPE or diameter <= 0.0:
        return []
    deep = round(math.tan(min(slope, STEEPEST)) * diameter / 2.0 + LEAST_CUT, 2)
    reach = seen(here.blank.part, feature, here.draft.up).reach - feature.size.get("depth", 0.0)
    held = here.tool("spot", Need(MILLS, widest=diameter, cuts=deep, reach=max(reach, 0.0), centre=True, square=True))
    if held is None:
        return []
    note = (f"a flat on a slope of {math.degrees(slope):.0f}°, straight down and slowly: a drill would skid",)
    left = feature.size.get("depth", 0.0)
    return [Step(f"{feature.id}-flat", "spot", (feature.id,), deep, left, Removal(deep), held, note)]


def _pilots(here: Here, feature: Feature, stage: holes.Stage, held: Held, aside: bool) -> dict[float, Step]:
    """Smaller drills first, by their size [mm], where the machine would stall or an arm would tire in one go."""
    machine = here.press if aside and here.press else here.machine
    tool = here.at_press if aside else here.tool
    able = {t.diameter for t in here.shop.tools.values() if t.kind == "drill" and t.diameter < held.tool.diameter}
    needs = {size: replace(stage.need, diameter=size, within=SAME_DRILL) for size in able}
    fits = {size: found for size, need in needs.items() if (found := tool("drill", need))}
    sizes = pilots_for(here.shop, machine, here.material, held.tool, sorted(fits))
    return {size: Step(f"{feature.id}-pilot{'' if i == 0 else f'-{i + 1}'}", "drill", (feature.id,), stage.depth,
                 round((feature.size.get("diameter", held.tool.diameter) - size) / 2.0, 3),
                 Removal(stage.depth, size / 2.0), fits[size],
                 (f"pilot for {held.tool.diameter:g} mm, which would stall in one go",), aside=aside, opens=True,
                 pilot=sizes[i - 1] if i else 0.0)
            for i, size in enumerate(sizes)}


def _wrong_machine(here: Here, held: Held, other: Held, stage: holes.Stage) -> bool:
    """Whether the mill would burn the tool, or a drill would sooner stall it than the press."""
    if too_fast(here.machine, held.tool, here.material, stage.role):
        return True
    if stage.role != "drill" or here.press is None:
        return False
    removal = Removal(stage.depth, stage.width)
    at_mill, at_press = (drilling_chance(here.shop, machine, drill.tool, here.material, removal)
                         for machine, drill in ((here.machine, held), (here.press, other)))
    return at_mill > max(here.shop.close, at_press)


def _chamfer(here: Here, _work: Work, feature: Feature) -> Made:
    """A chamfer by the flank of a chamfer cutter; by file where the shop has none."""
    width = feature.size.get("width", 0.5)
    kinds: tuple[ToolKind, ...] = ("chamfer",)
    angle = math.radians(2.0 * feature.size.get("angle", 45.0))
    held = here.tool("chamfer", Need(kinds, narrowest=2.0 * width + TIP, angle=angle))
    if held is None or held.tool.diameter / 2.0 - held.tool.tip_diameter / 2.0 < width:
        return _by_hand(here, feature)
    flank = Removal(round(width, 3), round(width, 3))
    return [Step(f"{feature.id}-chamfer", "chamfer", (feature.id,), width, 0.0, flank, held,
                 ("burr on the side where the cutter leaves",))], []


def _corner(here: Here, _work: Work, feature: Feature) -> Made:
    """A round upright corner of the outline, by the flank; stepped round with the sides beside it."""
    at = seen(here.blank.part, feature, here.draft.up)
    deep = at.depth + here.draft.below
    held = here.tool("side_finish", Need(MILLS, cuts=deep, reach=deep + OVER, square=True))
    if held is None:
        return _lacks(feature.id, _too_deep(feature, deep, math.inf))
    corner = feature.size.get("radius", 0.0) * (math.sqrt(2.0) - 1.0)
    rough = max(corner - ROUGH_LEAVES, 0.0)
    out = [Step(f"{feature.id}-rough", "side_rough", (feature.id,), rough, ROUGH_LEAVES, Removal(deep, rough), held)]
    out.append(Step(f"{feature.id}-finish", "side_finish", (feature.id,), ROUGH_LEAVES, 0.0,
                    Removal(deep, ROUGH_LEAVES), held))
    return out[0 if rough > 0.0 else 1:], []


def _form(here: Here, _work: Work, feature: Feature) -> Made:
    """A curved face by a ball nose, in rows that leave the cusp that `cuts.CUSP` says."""
    at = seen(here.blank.part, feature, here.draft.up)
    kinds: tuple[ToolKind, ...] = ("ball",)
    hollow = any(f.hollow for f in here.blank.part.faces if f.number in feature.faces)
    widest = 2.0 * feature.size.get("smallest_radius", math.inf) if hollow else math.inf
    held = here.tool("form", Need(kinds, widest, reach=at.depth))
    if held is None:
        return _lacks(feature.id, f"no ball nose of at most {widest:g} mm in the shop: one would make it")
    note = ("in rows along the shallow way; the first row at the crown",)
    fine = ROUGH_LEAVES / 2.0
    takes = at.depth + ROUGH_LEAVES - fine
    return [
        Step(f"{feature.id}-rough", "form", (feature.id,), takes, fine, Removal(takes, ROWS * held.tool.diameter),
             held, note),
        Step(f"{feature.id}-finish", "form", (feature.id,), fine, 0.0, Removal(fine), held, note),
    ], []


def _by_hand(here: Here, feature: Feature) -> Made:
    """By file, to a line or a template."""
    kinds: tuple[ToolKind, ...] = ("file",)
    names = sorted(n for n, t in here.shop.tools.items() if t.kind in kinds)
    small = seen(here.blank.part, feature, here.draft.up).width < 20.0
    able = [n for n in names if (here.shop.tools[n].diameter < 8.0) == small] or names
    if not able:
        return _lacks(feature.id, "no file in the shop: a needle file would do")
    held = Held(able[0], here.shop.tools[able[0]], None, 0.0)
    return [Step(f"{feature.id}-file", "file", (feature.id,), 0.0, 0.0, Removal(0.0), held)], []
