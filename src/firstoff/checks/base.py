"""What a check is: one way in which one operation, setting, limit or joint can go wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal, NamedTuple

import numpy as np

from ..belief import Belief, Rows, low_median_high
from ..job.models import Job, Joint, Limit, PartWanted
from ..job.route import Operation, Route, Setting
from ..part.shapes import Feature, Part
from ..removal.standing import Standing
from ..removal.windows import Windows
from ..shop.models import Machine, Material, Shop, Tool
from ._run import Run

AtRisk = Literal["finish", "size", "tool", "part"]
Subject = Literal["operation", "setting", "limit", "joint", "assembly"]

#: a person misses, or misnames, about one thing in twenty; it keeps one wrong word from ruling all
LAPSE: Final = 0.05


@dataclass(frozen=True)
class State:
    """How a workpiece stands: what has been cut, and what is still left on each feature [mm]."""

    workpiece: str
    cut: frozenset[str] = frozenset()              # features finished
    left: tuple[tuple[str, float], ...] = ()       # feature -> allowance still on it [mm]
    key: str = ""                                  # names all that was done to the workpiece so far

    def left_on(self, feature: str) -> float:
        """What is left on a feature [mm]; 0 if it is finished."""
        return dict(self.left).get(feature, 0.0)


@dataclass(frozen=True)
class Past:
    """What an operation does to its tool and to the heat of its part: enough for those that come after it. SI.

    Fields:
        setting: in which it is made.
        tool: with which; None for none.
        tool_material: of that tool.
        material: of the part.
        coolant: on the cut.
        notched: whether it cuts through scale.
        fresh: whether a new or reground tool goes in before it.
        seconds: that it runs [s].
        cooling: that the part is left to cool after it [s].
        volume: milled off [m3]; 0 where nothing is milled.
        edge_time: angle in the cut x time in the cut, of one tooth [rad s].
        chip: mean thickness where it is thickest [m].
        depth: of cut there [m].
        deep: the same over the diameter of the cutter [1].
        law: of life, of tools that have their own: tap or ream; empty for cutters and drills.
        gone: small squares of what holds the part in its setting that its program mills away [mm].
        speed: of the edge there [m/s].
        operation: its id.
    """

    setting: str
    tool: str | None
    tool_material: str
    material: str
    coolant: str
    notched: bool
    fresh: bool
    seconds: float
    cooling: float
    volume: float = 0.0
    edge_time: float = 0.0
    chip: float = 0.0
    depth: float = 0.0
    speed: float = 0.0
    operation: str = ""
    deep: float = 0.0
    law: str = ""
    gone: tuple[tuple[float, float, float], ...] = ()

    @property
    def wears(self) -> bool:
        """Whether its edge wears by what is known of it: it mills or drills."""
        return self.mills or self.edge_time > 0.0

    @property
    def mills(self) -> bool:
        """Whether it takes chips off with a milling cutter."""
        return self.chip > 0.0 and self.volume > 0.0

    @property
    def blunts(self) -> tuple[object, ...]:
        """All of it that tells how it wears a tool."""
        return (self.tool, self.tool_material, self.material, self.coolant, self.notched, self.fresh, self.mills,
                self.wears, self.speed, self.chip, self.deep, self.edge_time, self.law)


@dataclass(frozen=True)
class Case:
    """What a check looks at. Fields that do not apply are None."""

    subject: Subject
    name: str                                      # id of the operation, setting, limit or joint
    job: Job
    shop: Shop
    route: Route
    parts: dict[str, Part]                         # all digests of the job, by part name
    part_name: str | None = None
    setting_name: str | None = None
    operation: Operation | None = None
    windows: Windows | None = None
    run: Run | None = None                         # of its NC program, where it has one
    standing: Standing | None = None               # the stock after that program, from above
    state: State | None = None                     # before the operation
    limit: Limit | None = None
    joint: Joint | None = None
    minutes_so_far: float = 0.0                    # spent on this part when the operation begins
    before: tuple[Past, ...] = ()                  # what the operations before it did, in order

    @property
    def part(self) -> Part:
        """The digest of the part."""
        return self.parts[_there(self.part_name, "part")]

    @property
    def wanted(self) -> PartWanted:
        """What the job says of the part."""
        return self.job.parts[_there(self.part_name, "part")]

    @property
    def setting(self) -> Setting:
        """The setting of the operation."""
        return self.route.settings[_there(self.setting_name, "setting")]

    @property
    def op(self) -> Operation:
        """The operation."""
        assert self.operation is not None
        return self.operation

    @property
    def machine_name(self) -> str:
        """The machine of the setting."""
        return self.setting.machine

    @property
    def machine(self) -> Machine:
        """The machine of the setting."""
        return self.shop.machines[self.setting.machine]

    @property
    def machine_kind(self) -> str:
        """mill, drill_press or hand."""
        return self.shop.classes[self.machine.like].kind

    @property
    def tool(self) -> Tool:
        """The tool of the operation."""
        return self.shop.tools[_there(self.op.tool, "tool")]

    @property
    def material_name(self) -> str:
        """The material of the part."""
        return self.wanted.material

    @property
    def material(self) -> Material:
        """The material of the part."""
        return self.shop.materials[self.wanted.material]

    @property
    def features(self) -> tuple[Feature, ...]:
        """The features that the operation works on."""
        return tuple(self.part.feature(name) for name in self.op.features)


def _there(name: str | None, what: str) -> str:
    assert name is not None, f"this case has no {what}"
    return name


class Spread(NamedTuple):
    """Low, median and high of rows: the 5 %, 50 % and 95 % points."""

    low: float
    median: float
    high: float

    @classmethod
    def of(cls, rows: Rows | float) -> Spread:
        """The spread of rows, or of a certain number."""
        return cls(*low_median_high(np.atleast_1d(np.asarray(rows, dtype=np.float64))))


@dataclass(frozen=True)
class Finding:
    """What a check found: chances by row, demand against capacity, and why."""

    check: str
    subject: Subject
    name: str
    at_risk: AtRisk
    p_rows: Rows | None                            # None: can't be computed; `because` says why
    demand: Spread | None
    capacity: Spread | None
    unit: str                                      # a unit that people use; demand and capacity are in it
    because: str
    settle_by: str = ""                            # the test or measurement that would tell
    joint_group: str = ""                          # findings whose chance is counted once, together
    reads: tuple[tuple[str, str], ...] = ()        # operations whose cuts it stands on, each with a digest
    to_try: str = ""                               # what to set instead when it happens all the same, as far as known

    @cached_property
    def p_fail(self) -> float | None:
        """The chance of failing; None where it cannot be computed."""
        return None if self.p_rows is None else float(self.p_rows.mean())


@dataclass(frozen=True)
class Remedy:
    """A change of the route that was applied and checked in full before it is told."""

    text: str
    edits: tuple[tuple[str, str], ...]             # (dotted key of route.toml, value as text with unit)
    p_after: float                                 # chance that anything in that operation is spoiled
    minutes: float                                 # change of time at the machine
    money: float = 0.0
    breaks: str = ""                               # the first to go after it


@dataclass(frozen=True)
class Knob:
    """Something that can be turned against a failing check.

    `path` is relative to the operation ("cut.depth_of_cut", "stickout", "tool") or, for a joint, to the joint.
    `values(case)` gives candidates from the mildest change to the strongest, in the route's kept unit;
    `say(case, value)` words the change: "0.6 mm deep, not 1". `also(case, value)` are edits that must go with it; a
    change that has them, or that `ends` what the check looks at, may leave it nothing to look at, which cures it.
    """

    path: str
    values: Callable[[Case], list[object]]
    say: Callable[[Case, object], str]
    also: Callable[[Case, object], tuple[tuple[str, str], ...]] | None = None     # (path as above, value as text)
    ends: bool = False


@dataclass(frozen=True)
class Observation:
    """What a person saw, heard or read: a word, watts at the plug, a size, a pull at the clamped part, its lift, the
    colour or form of the chips, what the face looks like.
    """

    kind: Literal["word", "watts", "size", "pull", "lift", "colour", "form", "face"]
    word: str = ""                                 # of a pull: held or moved; the colour; the form; the face
    value: float = 0.0                             # watts above idle [W]; size: reading minus nominal [mm]; pull [N];
    #                                                lift of the part while it is tightened [mm]
    sd: float = 0.0                                # standard uncertainty of it, same unit


@dataclass(frozen=True)
class Check:
    """One way to go wrong. `word` is what a person would say if it did."""

    name: str
    title: str                                     # in the trade's words: "tool bends or breaks"
    at_risk: AtRisk
    subject: Subject
    applies: Callable[[Case], bool]
    evaluate: Callable[[Case, Belief], Finding]
    knobs: tuple[Knob, ...] = ()
    word: str = ""                                 # sang, squealed, slowed, moved, broke
    loglik: Callable[[Case, Belief, Observation], Rows | None] | None = None   # of watts or a size
    looks_back: bool = False                       # whether it reads what was done in its setting before
    looks_back_at: Callable[[Case], bool] | None = None   # the same, for some cases only
    feels_wear: bool = False                       # whether it reads what its tool has cut before


@dataclass(frozen=True)
class Rule:
    """A rule about persons: met or not, never a chance."""

    name: str
    applies: Callable[[Case], bool]
    met: Callable[[Case], bool]
    because: Callable[[Case], str]                 # why it is not met, or what meeting it means


def word_loglik(check: Check, finding: Finding, word: str) -> Rows | None:
    """Log likelihood by row of a word (or 'ok'), for one check, with lapses.

    Args:
        check: the check.
        finding: what it finds for the operation as it was run.
        word: ok, or what was said.

    Returns:
        [N], or None where the word says nothing about this check.
    """
    if finding.p_rows is None or not check.word:
        return None
    if word == check.word:
        return np.asarray(np.log(LAPSE + (1.0 - 2.0 * LAPSE) * finding.p_rows))
    if word == "ok":
        return np.asarray(np.log(1.0 - LAPSE - (1.0 - 2.0 * LAPSE) * finding.p_rows))
    return None


def cannot(check: str, case: Case, at_risk: AtRisk, because: str, settle_by: str = "") -> Finding:
    """A finding that cannot be computed here."""
    return Finding(check, case.subject, case.name, at_risk, None, None, None, "", because, settle_by)


@dataclass(frozen=True)
class Found:
    """Findings of one case, in the order of the checks."""

    case: Case
    findings: tuple[Finding, ...] = field(default_factory=tuple)
