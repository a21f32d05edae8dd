"""From what is wanted and what stands in the shop to a route: settings, proved; operations, numbered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final, TypeVar

from ..errors import InputError
from ..job.models import Job
from ..job.route import BY_HAND, Cut, Holding, NoWay, Operation, Route, Setting, Zero
from ..part.shapes import Part
from ..shop.models import Device, Machine, MachineFigures, Shop
from ..tomlfile import KEPT, Written
from . import holes
from .blank import Blank, blank_of, opposite, too_small
from .cuts import direction_note, first_cut
from .drills import borne
from .limits import limited_features, measured_after
from .proof import Now, Seat, across_of, why_not
from .settings import Draft, ways_of
from .steps import Here, Missing, Step, steps_of
from .to_suit import offered_up
from .tools import MILLS, collet_for
from .writing import canonical

#: in which order work is done in one setting: what places comes first, what leaves a burr or is weak last
ORDER: Final = {role: rank for rank, role in enumerate((
    "saw", "face_rough", "face_finish", "side_rough", "pocket_rough", "slot", "ramp_rough", "side_finish",
    "pocket_finish", "ramp_finish", "form", "spot", "drill", "countersink", "ream", "tap", "chamfer", "file",
    "measure",
))}
TEN: Final = 10


W = TypeVar("W", bound=Written)


def _made(model: type[W], **values: object) -> W:
    """A model from values in their kept units."""
    return model.model_validate(values, context=KEPT)


@dataclass
class Planned:
    """What is planned of one part so far."""

    settings: dict[str, Setting] = field(default_factory=dict)
    operations: list[tuple[str, Operation]] = field(default_factory=list)
    missing: list[NoWay] = field(default_factory=list)
    limited: frozenset[str] = frozenset()          # features whose last cut is set by what is measured


def plan(job: Job, shop: Shop, parts: Mapping[str, Part]) -> Route:
    """Plan the route of all parts of a job, part after part in the job's order.

    Raises:
        NameUnknown: if the job names a face, feature or material that does not exist.
        InputError: if the shop has no mill.
    """
    mill = _machine(shop, "mill")
    if mill is None:
        raise InputError("the shop has no mill", where=shop.file, right="add one under [machines]")
    settings: dict[str, Setting] = {}
    operations: dict[str, Operation] = {}
    missing: list[NoWay] = []
    for name, wanted in job.parts.items():
        done = _plan_part(blank_of(name, wanted, parts[name]), shop, mill, limited_features(job, name, parts))
        settings |= done.settings
        missing += done.missing
        for key, operation in done.operations:
            number = TEN * (len(operations) + 1)
            operations[key] = operation.model_copy(update={"number": number})
    route = Route(settings=settings, operations=operations, no_way=tuple(missing))
    return canonical(measured_after(job, offered_up(job, shop, route, parts), parts, shop))


def _machine(shop: Shop, kind: str) -> str | None:
    """The stiffest machine of a kind."""
    able = [n for n, m in shop.machines.items() if m.like in shop.classes and shop.classes[m.like].kind == kind]
    return max(able, key=lambda n: _stiffness(shop, n), default=None)


def _stiffness(shop: Shop, name: str) -> float:
    machine = shop.machines[name]
    known = machine.stiffness or shop.classes[machine.like].stiffness
    return min(known.x.value, known.y.value) if known else 0.0


def _device(shop: Shop, kinds: tuple[str, ...], machine_kind: str) -> str | None:
    for kind in kinds:
        for name, device in shop.devices.items():
            if device.kind == kind and (not device.machines or machine_kind in device.machines):
                return name
    return None


DEVICES: Final = {"vise": ("vise",), "tilted": ("angle_block", "vise"), "carrier": ("carrier",),
                  "bench": ("bench_vise", "hand")}


def _plan_part(blank: Blank, shop: Shop, mill: str, limited: frozenset[str]) -> Planned:
    small = too_small(blank)
    if small:
        return Planned(missing=[NoWay(part=blank.name, feature=f.id, because=small) for f in blank.part.features])
    vise = _device(shop, ("vise",), "mill")
    width = (shop.devices[vise].width or 0.0) if vise else 0.0
    tried = [_follow(blank, way, shop, mill, limited) for way in ways_of(blank, width, _flank_reach(shop, mill))]
    return min(tried, key=lambda d: len(d.missing))


def _follow(blank: Blank, way: list[Draft], shop: Shop, mill: str, limited: frozenset[str]) -> Planned:
    """Go through the settings of one way of working, proving each as it comes."""
    done, now, wishes = Planned(limited=limited), Now(dict(blank.allowance)), _wishes(blank)
    for draft in way:
        now = _set_up(blank, draft, now, shop, mill, wishes, done)
    done.missing += [NoWay(part=blank.name, feature=f, because=why) for f, why in _forgotten(blank, done)]
    return done


def _flank_reach(shop: Shop, mill: str) -> float:
    """How deep the end mills that the mill can hold cut with their flanks [mm]."""
    machine = shop.machines[mill]
    return max((t.flute_length for t in shop.tools.values() if t.kind in MILLS and collet_for(shop, machine, t)),
               default=0.0)


def _wishes(blank: Blank) -> dict[str, holes.Wish]:
    threads = {blank.owner(n): text for n, text in blank.wanted.threads.items()}
    reams = {blank.owner(n): text for n, text in blank.wanted.ream.items()}
    return {n: holes.wish_of(threads.get(n, ""), reams.get(n, "")) for n in threads.keys() | reams.keys()}


def _set_up(blank: Blank, draft: Draft, now: Now, shop: Shop, mill: str, wishes: dict[str, holes.Wish],
            done: Planned) -> Now:
    """Prove one setting and plan its operations; what cannot be held is told with its reason."""
    machine = _machine(shop, "hand") if draft.way == "bench" else mill
    device = _device(shop, DEVICES[draft.way], "hand" if draft.way == "bench" else "mill")
    if machine is None or device is None:
        lacking = "machine" if machine is None else f"device ({' or '.join(DEVICES[draft.way])})"
        return _refuse(blank, draft, f"the shop has no {lacking} for it", done, now)
    why, seat = why_not(blank, draft, now, shop.devices[device])
    if why:
        return _refuse(blank, draft, f"it cannot be held: {why}", done, now)
    here = Here(blank, draft, now, shop, shop.machines[machine], shop.materials[blank.wanted.material], wishes,
                _press(shop, draft), done.limited)
    steps: list[Step] = []
    for work in draft.work:
        made, missing = steps_of(here, work)
        steps += made
        done.missing += [_no_way(blank.name, m) for m in missing]
    steps = _in_order(_together(here, steps))
    if steps:
        _write_down(here, machine, device, seat, steps, done)
    return now.after(blank, draft)


def _press(shop: Shop, draft: Draft) -> Machine | None:
    """The drill press, where it can hold the part the same way."""
    name = _machine(shop, "drill_press")
    if name is None or draft.way not in ("vise", "tilted"):
        return None
    return shop.machines[name] if _device(shop, DEVICES[draft.way], "drill_press") else None


def _no_way(part: str, missing: Missing) -> NoWay:
    return NoWay(part=part, feature=missing.feature, because=missing.because)


def _refuse(blank: Blank, draft: Draft, why: str, done: Planned, now: Now) -> Now:
    for work in draft.work:
        of_side = () if work.what == "feature" else blank.flats(work.name)
        done.missing += [NoWay(part=blank.name, feature=feature, because=why) for feature in of_side or (work.name,)]
    return now


def _together(here: Here, steps: list[Step]) -> list[Step]:
    """Equal holes are done one after the other with each tool: one operation for all of them."""
    out: dict[object, Step] = {}
    for step in steps:
        feature = step.features[0] if len(step.features) == 1 else ""
        kind = here.blank.part.feature(feature).kind if feature else ""
        alike = (step.role, step.held and step.held.name, round(step.removes, 3), step.notes)
        same: object = alike if kind == "hole" else step.key
        if same in out:
            out[same] = replace(out[same], features=(*out[same].features, *step.features))
        else:
            out[same] = step
    return list(out.values())


def _in_order(steps: list[Step]) -> list[Step]:
    """By role, pilots before other drills, and then without changing a tool twice."""
    first: dict[tuple[int, bool, str], int] = {}

    def kind(step: Step) -> tuple[int, bool, str]:
        return ORDER[step.role], not step.opens, step.held.name if step.held else ""

    for i, step in enumerate(steps):
        first.setdefault(kind(step), i)
    return sorted(steps, key=lambda s: (*kind(s)[:2], first[kind(s)]))


def _write_down(here: Here, machine: str, device: str, seat: Seat, steps: list[Step], done: Planned) -> None:
    """The setting, and one at the drill press after it for holes that the mill cannot drill."""
    stay, aside = [s for s in steps if not s.aside], [s for s in steps if s.aside]
    if stay:
        name = _name(here.blank, done)
        done.settings[name] = _setting(here, machine, device, seat)
        done.operations += [_operation(here, here.machine, name, s) for s in stay]
    if aside and here.press:
        name = _name(here.blank, done)
        press = _machine(here.shop, "drill_press") or machine
        there = _device(here.shop, DEVICES[here.draft.way], "drill_press") or device
        setting = _setting(replace(here, now=here.now.after(here.blank, _cuts_only(here.draft))), press, there, seat)
        done.settings[name] = setting.model_copy(update={"notes": (PRESS_NOTE, *_clear(here))})
        done.operations += [_operation(here, here.press, name, s) for s in aside]


PRESS_NOTE: Final = "at the drill press, each drill led by its spot; clamp the vise against turning"


def _cuts_only(draft: Draft) -> Draft:
    """What the mill has done of a setting before the press takes over."""
    return replace(draft, work=tuple(w for w in draft.work if w.what != "feature"))


def _name(blank: Blank, done: Planned) -> str:
    return f"{blank.name}-{len(done.settings) + 1}"


def _setting(here: Here, machine: str, device: str, seat: Seat) -> Setting:
    draft, blank = here.draft, here.blank
    long = blank.by_size[2] if blank.by_size[2] != draft.rest[1] else blank.by_size[1]
    end = f"-{long}" if not draft.grip or draft.grip[0][1] != long else f"-{blank.by_size[1]}"
    side = draft.grip[0] if draft.grip else f"-{blank.by_size[1]}"
    cuts_end = any(w.name[1:] == end[1:] for w in draft.work if w.what == "flank")
    return _made(
        Setting,
        workpiece=blank.name, up=draft.up, across=across_of(blank, draft), machine=machine,
        datums=(draft.rest, side, end),
        holding=_made(
            Holding, device=device, rest=draft.rest, grip=draft.grip, grip_height=round(seat.grip_height, 3),
            stick_up=round(seat.stick_up, 3), parallels=seat.parallels,
            tightness=_tightness(here.shop.devices[device]), stop=None if cuts_end else end,
            tilt=_tilt(draft), tapped=seat.parallels > 0.0,
        ),
        zero=Zero(x=end, y=side, z=draft.rest), stock_left={k: v for k, v in here.now.left.items() if v > 0.0},
        notes=(*draft.notes, *_hollow(here), *_clear(here)),
    )


def _tightness(device: Device) -> str:
    """What a person does: by the arm; by hand alone where the device knows nothing else."""
    words = [w for w in device.squeeze if w.startswith("arm")]
    return (words or list(device.squeeze) or [""])[0]


def _tilt(draft: Draft) -> str:
    import math

    from ..job.faces import DIRECTIONS, dot

    if draft.way != "tilted":
        return ""
    angle = math.degrees(math.acos(min(1.0, dot(draft.up, DIRECTIONS[opposite(draft.rest)]))))
    return f"{angle:.1f} deg: angle block under {draft.rest}, proved with an indicator along the slope"


def _hollow(here: Here) -> tuple[str, ...]:
    """A word of care when the jaws squeeze walls that a pocket has left thin."""
    hollow = [n for n in sorted(here.now.cut) if here.blank.part.feature(n).kind in ("pocket", "passage", "slot")]
    if here.draft.way in ("carrier", "bench") or not hollow:
        return ()
    return (f"hollow between the jaws ({', '.join(hollow)}): a block that fits the gap, or squeeze gently",)


def _clear(here: Here) -> tuple[str, ...]:
    """Parallels must not lie under what goes right through."""
    through = [w.name for w in here.draft.work if w.what == "feature" and here.blank.part.feature(w.name).through]
    if here.draft.way != "vise" or not through:
        return ()
    return (f"parallels clear of {', '.join(through)}",)


def _operation(here: Here, machine: Machine, setting: str, step: Step) -> tuple[str, Operation]:
    figures: MachineFigures | None = here.shop.classes.get(machine.like)
    cut, notes = Cut(), list(step.notes)
    if step.held:
        cut = first_cut(machine, step.held.tool, here.material, step.role, step.removal, figures, step.pitch)
        if step.role == "drill":
            cut = borne(here.shop, machine, step.held.tool, here.material, cut, step.pilot)
        if cut.direction and step.role not in BY_HAND and step.role != "chamfer":
            notes.append(direction_note(machine, figures, step.held.tool, here.material, cut, here.shop.units))
    collet = step.held.collet if step.held else None
    if step.role == "tap":
        collet = next((n for n in here.shop.collets if "wrench" in n), collet)
    return f"{here.blank.name}-{step.key}", _made(
        Operation, number=1, setting=setting, features=step.features, role=step.role,
        tool=step.held.name if step.held else None, collet=collet,
        stickout=step.held.stickout if step.held and step.role != "file" else None,
        removes=round(step.removes, 3), leaves=round(step.leaves, 3), height=round(step.height, 3),
        cut=cut, notes=tuple(n for n in notes if n),
    )


def _forgotten(blank: Blank, done: Planned) -> list[tuple[str, str]]:
    """Features that nothing makes and nothing has told of."""
    told = {f for _, op in done.operations for f in op.features} | {m.feature for m in done.missing}
    as_bought = {flat for side, over in blank.allowance.items() if over <= 0.0 for flat in blank.flats(side)}
    return [(f.id, _why(f.kind)) for f in blank.part.features if f.id not in told | as_bought]


def _why(kind: str) -> str:
    return {
        "not_understood": "the shape is not understood",
        "fillet": "a round edge wants a form cutter that is not planned here: file it, and say so under by_hand",
        "stock": "no setting mills this side",
    }.get(kind, "no direction reaches it")
