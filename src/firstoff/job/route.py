"""What is planned: settings in order, numbered operations, each with a tool and a cut. Data only; mm, SI.

`route.toml` is written by `plan` and edited by people; values there are texts with units.
"""

from __future__ import annotations

from math import pi
from typing import Final, Literal

from pydantic import Field

from ..kept import kept
from ..shop.models import Angle, Length, Ratio, Rotation, Time
from ..tomlfile import Written

Direction = Literal["climb", "conventional", "slot"]
Role = Literal[
    "face_rough", "face_finish", "side_rough", "side_finish", "pocket_rough", "pocket_finish", "slot",
    "ramp_rough", "ramp_finish", "spot", "drill", "ream", "tap", "countersink", "chamfer", "form", "file",
    "saw", "lap", "measure",
]
#: below level [rad]: steeper than this a way is straight down, and the end of the cutter cuts, not its side; judged
STRAIGHT_DOWN: Final = 1.0
#: what a person does, not a spindle
BY_HAND: Final = frozenset({"tap", "file", "saw", "lap", "measure"})


class Holding(Written):
    """How the workpiece sits: what rests, what is gripped, how tight."""

    device: str
    rest: str                                  # face that sits on parallels, table or carrier
    grip: tuple[str, ...] = ()                 # faces between the jaws: (fixed jaw, moving jaw)
    grip_height: Length = 0.0                  # of the part below the jaw's top
    stick_up: Length = 0.0                     # of the part above the jaw's top
    parallels: Length = 0.0
    tightness: str = ""                        # what the person does: a key of the device's `squeeze`
    tapped: bool = False                       # tapped down while it is tightened, until no parallel moves
    filled: bool = False                       # a block fills the hollow between the jaws
    stop: str | None = None                    # face against the stop
    rod: bool = False                          # a round rod between the moving jaw and the part, to square it
    clamps: tuple[tuple[Length, Length], ...] = ()   # where clamps or screws press: across and away from the left
    #                                            front corner of the piece, as one stands before the machine
    screw: str = ""                            # of what holds it: "M6 x 25", through the part or its strap
    clamped: Length = 0.0                      # thickness that this screw goes through; the part's where not given
    gap: Length = 0.0                          # that a jaw or clamp has to close before it touches
    bead: bool = False                         # a bead of glue round the foot of a part on a carrier
    tilt: str = ""                             # for a tilted setting: how the angle is made


class Zero(Written):
    """Where zero is set, axis by axis: a face of the part, and with what."""

    x: str
    y: str
    z: str
    by: str = "edge finder"


class Setting(Written):
    """One clamping of a workpiece."""

    workpiece: str                             # a part, or an assembly "body+sole"
    up: tuple[float, float, float]             # the part's direction that looks up
    across: tuple[float, float, float]         # the part's direction that points right (machine +x)
    machine: str
    datums: tuple[str, ...]                    # the faces that place it: rest, then side, then end
    holding: Holding
    zero: Zero
    stock_left: dict[str, Length] = Field(default_factory=dict)   # face -> allowance when this setting begins
    program: str | None = None                 # NC file of all its operations, one tool each, from the job's folder
    notes: tuple[str, ...] = ()


class Cut(Written):
    """The numbers that go on the machine. What is not used by an operation is left out."""

    spindle_speed: Rotation | None = None
    feed_per_tooth: Length | None = None       # a revolution, for drills, reamers and taps: × flutes
    depth_of_cut: Length | None = None         # a_p along the axis
    width_of_cut: Length | None = None         # a_e across
    peck_depth: Length | None = None
    direction: Direction | None = None
    coolant: Literal["dry", "air", "mist", "brushed", "flood"] = "dry"


class Operation(Written):
    """One numbered operation. Its key in the route is feature + role and never changes; `number` is order only."""

    number: int = Field(ge=1)
    setting: str
    features: tuple[str, ...]                  # of the part, of an assembly's first part
    through: tuple[str, ...] = ()              # what the same cut makes in its other parts, in order: "sole.hole-1"
    role: Role
    tool: str | None = None
    collet: str | None = None
    stickout: Length | None = None
    fresh: bool = False                        # a new or reground tool goes in before it
    removes: Length = 0.0                      # thickness taken off in all, across or along the axis
    leaves: Length = 0.0                       # allowance left for a later operation
    height: Length = 0.0                       # of a wall that is cut here, where not all of it is
    down: Angle = Field(default=0.0, ge=0.0, le=pi / 2.0)     # of its way below level: a ramp, a helix, straight down
    pilot: Length = Field(default=0.0, ge=0.0) # width of the hole that is there where a cutter goes straight down
    measure: tuple[str, ...] = ()              # limits to measure after it
    suits: tuple[str, ...] = ()                # limits that it is set for by the other parts as measured
    cooling: Time = 0.0                        # that the part is left to cool before it is measured [s]
    pickled: bool = False                      # the scale is pickled or ground off the stock before it
    locked: bool = False
    program: str | None = None                 # NC file, from the job's folder; else that of the setting
    program_tool: int | None = Field(default=None, ge=1)    # its T word; without T words which tool by its stops
    program_unit: Literal["mm", "in"] | None = None           # where the file does not say it
    program_feed: Ratio = Field(default=1.0, gt=0.0, le=2.0)  # feed override that the person sets at the machine
    cut: Cut = Field(default_factory=Cut)
    notes: tuple[str, ...] = ()


class NoWay(Written):
    """A feature that no operation makes, and why."""

    part: str
    feature: str
    because: str


class Route(Written):
    """The whole route. `joints` overrides what the job says of a joint: another screw, for instance."""

    settings: dict[str, Setting] = Field(default_factory=dict)
    operations: dict[str, Operation] = Field(default_factory=dict)
    joints: dict[str, dict[str, str]] = Field(default_factory=dict)
    no_way: tuple[NoWay, ...] = ()
    file: str = ""

    def in_order(self) -> tuple[tuple[str, Operation], ...]:
        """Operations by number."""
        return _in_order(self)

    def program_of(self, operation: Operation) -> str | None:
        """The NC file of an operation: its own, or that of its setting where a tool of it is named."""
        shared = self.settings[operation.setting].program
        return operation.program or (shared if operation.program_tool is not None else None)

    def of_setting(self, setting: str) -> list[tuple[str, Operation]]:
        """The operations of one setting, in order."""
        return [(key, op) for key, op in self.in_order() if op.setting == setting]


@kept(16)
def _in_order(route: Route) -> tuple[tuple[str, Operation], ...]:
    return tuple(sorted(route.operations.items(), key=lambda item: (item[1].number, item[0])))
