"""Which settings, in which order: how a block is squared, a plate turned over, a dome glued to a carrier.

A draft says which way looks up, what it rests on, what grips it and what is cut there. Whether its
datum and grip faces exist at that moment is proved in `proof.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from ..job.faces import DIRECTIONS, PARALLEL, dot
from ..part.shapes import Feature, Vector
from .blank import Blank, opposite

Way = Literal["vise", "tilted", "carrier", "bench"]
Stage = Literal["all", "rough", "finish", "hand"]

#: [mm] left on the first side of a plate that springs 0.02-0.05: two cuts, the first to measure by
SPRING: Final = 0.3
LEFT_FOR_LAST: Final = 0.3  #: [mm] left where a feature is cut last, to suit
GRIP: Final = 3.0           #: [mm] the least that jaws should hold of a part
BELOW: Final = 0.3          #: [mm] an outline goes this far below the finished part
EDGES: Final = frozenset({"chamfer", "fillet"})    #: what a file makes alone, when the job says by hand
TO_SUIT: Final = "last, to suit: offer the parts up and measure first"
BAR: Final = ("a round bar between the moving jaw and the side not yet milled",)
MEET: Final = 0.5           #: [mm] two flanks cut from both sides overlap by twice this
CURVED: Final = frozenset({"free_form"})


@dataclass(frozen=True)
class Work:
    """Something to cut in a setting: an outer side (from above or by the flank) or a feature."""

    what: Literal["face", "flank", "feature"]
    name: str                                      # side such as "+Z", or id of the feature
    removes: float = 0.0                           # of a side [mm]
    leaves: float = 0.0                            # [mm]
    deep: float = 0.0                              # how far down a flank goes; 0: all of it [mm]
    stage: Stage = "all"


@dataclass(frozen=True)
class Draft:
    """A setting before it is proved."""

    way: Way
    up: Vector
    rest: str
    grip: tuple[str, ...]
    work: tuple[Work, ...]
    notes: tuple[str, ...] = ()
    below: float = 0.0                             # side cuts end this far below the finished part [mm]
    last: bool = False
    takes: bool = False                            # whether features may be cut here: all that places it is there


def ways_of(blank: Blank, vise_width: float, flank_reach: float) -> list[list[Draft]]:
    """The ways of working a part, best first: each is all its settings, in order.

    `flank_reach` is how deep the shop's end mills cut with their flanks [mm].
    """
    dome = _domed_side(blank)
    if dome:
        ways = [_domed_held_below(blank, dome), _domed_on_edge(blank, dome)]
    elif blank.is_thin:
        ways = [_plate(blank, vise_width)]
    else:
        ways = [_block(blank, vise_width, flank_reach)]
    return [_filled(blank, [d for d in way if d is not None]) for way in ways]


def _filled(blank: Blank, drafts: list[Draft]) -> list[Draft]:
    """With the features, what is cut last, and what is done by hand."""
    made = _assign(blank, drafts)
    return _cut_last(blank, [d for d in made if d.work]) + _by_hand(blank)


def main_side(blank: Blank) -> str:
    """The side of the thickness that only one way of working reaches most of: pockets, chamfers."""
    thin = blank.by_size[0]
    return max((f"+{thin}", f"-{thin}"), key=lambda side: (_only_from(blank, side), side[0] == "+"))


def _only_from(blank: Blank, side: str) -> int:
    """How much can only be cut from a side; what needs an end mill counts more than a hole."""
    return sum(1 if f.kind == "hole" else 3 for f in blank.features()
               if reached(f, DIRECTIONS[side]) and not reached(f, DIRECTIONS[opposite(side)]))


def reached(feature: Feature, up: Vector) -> bool:
    """Whether a tool reaches the feature when this direction looks up."""
    return any(dot(way, up) > 1.0 - PARALLEL for way in feature.access)


def _face(blank: Blank, side: str, up_rest: str, grip: tuple[str, ...], leaves: float = 0.0,
          notes: tuple[str, ...] = ()) -> Draft | None:
    """A setting that mills the side that looks up; none where nothing is to come off."""
    over = blank.allowance[side]
    if over <= leaves:
        return None
    work = Work("face", side, removes=over - leaves, leaves=leaves)
    return Draft("vise", DIRECTIONS[side], up_rest, grip, (work,), notes)


def _empty(up: str, grip: tuple[str, ...]) -> Draft:
    """A setting for features alone."""
    return Draft("vise", DIRECTIONS[up], opposite(up), grip, (), takes=True)


def _block(blank: Blank, vise_width: float, flank_reach: float) -> list[Draft | None]:
    """A block: the main side first, the two edges against it, the other side to thickness, then the features.

    The side of the holes is worked while the block is whole; what weakens it comes after.
    """
    thin, wide, long = blank.by_size
    main = main_side(blank)
    other = opposite(main)
    edges = _edges(blank)
    back = _face(blank, other, main, edges, notes=(f"to thickness: {blank.extent(thin):g} mm",))
    ends = _ends(blank)
    drafts = [
        _face(blank, main, other, edges, notes=("first side: packing under what rocks",)),
        _face(blank, edges[0], edges[1], (main, other), notes=BAR),
        _face(blank, edges[1], edges[0], (main, other), notes=(*BAR, f"to width: {blank.extent(wide):g} mm")),
    ]
    back = replace(back or _empty(other, edges), takes=True)
    if ends and _overhangs(blank, vise_width):
        if blank.extent(thin) > flank_reach:
            half = blank.extent(thin) / 2.0 + MEET
            ends = tuple(replace(w, deep=half) for w in ends)
            return [*drafts, replace(back, work=back.work + ends), replace(_empty(main, edges), work=ends)]
        return [*drafts, replace(back, work=back.work + ends), _empty(main, edges)]
    upright = [_face(blank, f"{s}{long}", f"{opposite(s + long)}", edges) for s in "+-"]
    return [*drafts, *upright, back, _empty(main, edges)]


def _plate(blank: Blank, vise_width: float) -> list[Draft | None]:
    """A plate: one side, the other, the edges on end, the first side again lightly with all that is cut from it."""
    thin, wide, long = blank.by_size
    main = main_side(blank)
    other = opposite(main)
    edges = _edges(blank)
    leaves = min(SPRING, blank.allowance[main] / 2.0) if blank.springs else 0.0
    again = tuple(w for w in (Work("face", main, removes=leaves),) if leaves > 0.0)
    ends = _ends(blank)
    first = ("let it lie free between the sides: it springs when a skin comes off",) if leaves else ()
    overhang = _overhangs(blank, vise_width)
    notes = (f"lightly, to thickness: {blank.extent(thin):g} mm",) if leaves else ()
    return [
        _face(blank, main, other, edges, leaves, first),
        _face(blank, other, main, edges),
        _face(blank, edges[0], edges[1], (main, other)),
        _face(blank, edges[1], edges[0], (main, other), notes=(f"to width: {blank.extent(wide):g} mm",)),
        *([] if overhang else [_face(blank, f"{s}{long}", opposite(s + long), (main, other)) for s in "+-"]),
        Draft("vise", DIRECTIONS[main], other, edges, again + (ends if overhang else ()), notes, takes=True),
        _empty(other, edges),
    ]


def _domed_held_below(blank: Blank, dome: str) -> list[Draft | None]:
    """A part with no flat on one side, from stock so thick that the jaws hold what the dome will lose.

    Flat side, holes and outline in one setting; then glued by the flat on a carrier for the dome.
    """
    flat, edges = opposite(dome), _edges(blank)
    face = _face(blank, flat, dome, edges) or _empty(flat, edges)
    held = replace(face, work=face.work + _outline(blank, dome), below=BELOW, takes=True,
                   notes=("the jaws hold only what comes off later, below the outline",))
    return [held, Draft("carrier", DIRECTIONS[dome], flat, (), _crown(blank, dome), takes=True)]


def _domed_on_edge(blank: Blank, dome: str) -> list[Draft | None]:
    """The same from thinner stock: flat side, the two edges standing on end, holes; ends and dome on the carrier."""
    flat, edges = opposite(dome), _edges(blank)
    ends = tuple(w for w in _outline(blank, dome) if w.name not in edges)
    return [
        _face(blank, flat, dome, edges), _face(blank, edges[0], edges[1], (flat, dome), notes=BAR),
        _face(blank, edges[1], edges[0], (flat, dome), notes=(*BAR, f"to width: {blank.extent(edges[0][1]):g} mm",)),
        _empty(flat, edges), Draft("carrier", DIRECTIONS[dome], flat, (), ends + _crown(blank, dome), takes=True),
    ]


def _edges(blank: Blank) -> tuple[str, str]:
    """The two long edges; the first is the one that goes to the fixed jaw."""
    wide = blank.by_size[1]
    return f"+{wide}", f"-{wide}"


def _outline(blank: Blank, dome: str) -> tuple[Work, ...]:
    return tuple(Work("flank", s, removes=blank.allowance[s]) for s in DIRECTIONS
                 if s[1] != dome[1] and blank.allowance[s] > 0.0)


def _crown(blank: Blank, dome: str) -> tuple[Work, ...]:
    """What stands above the dome comes off with an end mill first."""
    over = blank.allowance[dome]
    return (Work("face", dome, removes=over, stage="rough"),) if over > 0.0 else ()


def _domed_side(blank: Blank) -> str | None:
    for side, way in DIRECTIONS.items():
        curved = any(f.kind in CURVED and reached(f, way) for f in blank.features())
        if curved and not blank.is_flat(side) and blank.is_flat(opposite(side)):
            return side
    return None


def _ends(blank: Blank) -> tuple[Work, ...]:
    long = blank.by_size[2]
    return tuple(Work("flank", f"{s}{long}", removes=blank.allowance[f"{s}{long}"]) for s in "-+"
                 if blank.allowance[f"{s}{long}"] > 0.0)


def _overhangs(blank: Blank, vise_width: float) -> bool:
    """Whether both ends stick out of the jaws, so that the flank of an end mill passes them."""
    return blank.extent(blank.by_size[2]) > vise_width + 2.0


def _assign(blank: Blank, drafts: list[Draft]) -> list[Draft]:
    """Give every feature to a setting that reaches it; settings are added for what none reaches."""
    by_file = {blank.owner(name) for name in blank.wanted.by_hand}
    waiting = [f for f in blank.features() if f.kind != "not_understood" and f.access
               and not (f.id in by_file and f.kind in EDGES)]
    for feature in waiting:
        if feature.kind == "fillet" and not any(_outlined(feature, d) for d in drafts):
            continue
        at = _best(blank, feature, drafts)
        if at is None:
            drafts.append(_extra(blank, feature))
            at = len(drafts) - 1
        drafts[at] = replace(drafts[at], work=(*drafts[at].work, Work("feature", feature.id)))
    return _join_tilted(drafts)


def _best(blank: Blank, feature: Feature, drafts: list[Draft]) -> int | None:
    """The setting for a feature: with its neighbours; holes early, while the block is whole; else the latest."""
    able = [i for i, d in enumerate(drafts) if d.takes and (reached(feature, d.up) or _outlined(feature, d))]
    if feature.kind == "fillet":
        able = [i for i in able if _outlined(feature, drafts[i])]
    if not able:
        return None
    if feature.kind in ("hole", "fillet"):
        return min(able, key=lambda i: (drafts[i].way == "tilted", i))
    tilted = [i for i in able if drafts[i].way == "tilted"]
    return tilted[-1] if tilted else able[0 if blank.is_thin else -1]


def _outlined(feature: Feature, draft: Draft) -> bool:
    """A round corner between two sides is milled where the outline is, whichever end looks up."""
    flanks = [w for w in draft.work if w.what == "flank"]
    upright = abs(dot(feature.axis or (0.0, 0.0, 0.0), draft.up)) < PARALLEL
    return feature.kind == "fillet" and upright and len(flanks) >= 2


def _extra(blank: Blank, feature: Feature) -> Draft:
    """A setting of its own for a direction that none has: from an edge, an end, or tilted."""
    up = feature.access[0]
    thin, wide, _ = blank.by_size
    for side, way in DIRECTIONS.items():
        if dot(up, way) > 1.0 - PARALLEL:
            across = thin if side[1] != thin else wide
            across = wide if side[1] == blank.by_size[2] else across
            return Draft("vise", way, opposite(side), (f"+{across}", f"-{across}"), (), takes=True)
    grips = [a for a in (wide, thin, blank.by_size[2]) if abs(dot(up, DIRECTIONS[f"+{a}"])) < 1e-3]
    rest = min(DIRECTIONS, key=lambda s: dot(up, DIRECTIONS[s]))
    pair = (f"+{grips[0]}", f"-{grips[0]}") if grips else ()
    return Draft("tilted", up, rest, pair, (), takes=True)


def _join_tilted(drafts: list[Draft]) -> list[Draft]:
    """Settings with the same way up, rest and grip become one when they were added one by one."""
    out: list[Draft] = []
    for draft in drafts:
        same = next((i for i, d in enumerate(out) if d.way == "tilted" == draft.way
                     and dot(d.up, draft.up) > 1.0 - PARALLEL), None)
        if same is None:
            out.append(draft)
        else:
            out[same] = replace(out[same], work=out[same].work + draft.work)
    return out


def _cut_last(blank: Blank, drafts: list[Draft]) -> list[Draft]:
    """What the job wants last is roughed in its setting and finished in a setting of its own at the end."""
    wanted = [blank.owner(name) for name in blank.wanted.last]
    out, last = [], []
    for draft in drafts:
        mine = [w for w in draft.work if w.what == "feature" and w.name in wanted]
        if not mine:
            out.append(draft)
            continue
        rough = tuple(replace(w, stage="rough", leaves=LEFT_FOR_LAST) if w in mine and not _hole(blank, w.name) else w
                      for w in draft.work if w not in mine or not _hole(blank, w.name))
        out.append(replace(draft, work=rough))
        finish = tuple(replace(w, stage="all" if _hole(blank, w.name) else "finish") for w in mine)
        last.append(replace(draft, last=True, below=0.0, work=finish, notes=(TO_SUIT,)))
    return [d for d in out if d.work] + last


def _hole(blank: Blank, name: str) -> bool:
    return blank.part.feature(name).kind == "hole"


def _by_hand(blank: Blank) -> list[Draft]:
    """One setting in the bench vise for all that is filed."""
    names = [blank.owner(name) for name in blank.wanted.by_hand]
    if not names:
        return []
    main = main_side(blank)
    work = tuple(Work("feature", name, stage="hand") for name in dict.fromkeys(names))
    return [Draft("bench", DIRECTIONS[main], opposite(main), _edges(blank), work,
                  ("soft jaws",), last=True)]
