"""What stands in a shop: machines, tools, collets, materials, holding devices, instruments.

Data only. Lengths in mm (feed per tooth too), everything else SI. Every uncertain number is a
`Figure`: a value with its spread and its source; a figure that a person measured says so.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from ..errors import UnitError
from ..sources import BIBLIOGRAPHY
from ..tomlfile import Written, kept
from ..units import parse
from .no_tool import no_tool

JUDGED_FACTOR: Final = 2.0   #: a judged figure is at least this wide: × and ÷


def _reader(quantity: str) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> Any:
        if isinstance(value, str):
            try:
                return parse(value, quantity)
            except UnitError as error:
                raise ValueError(f"{error.what} ({error.right})") from None
        if isinstance(value, int | float) and quantity != "ratio" and not kept(info):
            raise ValueError(f"needs a unit: {quantity.replace('_', ' ')}")
        return value

    return BeforeValidator(read)


Length = Annotated[float, _reader("length")]
Angle = Annotated[float, _reader("angle")]
Time = Annotated[float, _reader("time")]
Rotation = Annotated[float, _reader("rotation")]
TableFeed = Annotated[float, _reader("table_feed")]
Force = Annotated[float, _reader("force")]
Torque = Annotated[float, _reader("torque")]
Power = Annotated[float, _reader("power")]
Pressure = Annotated[float, _reader("pressure")]
Mass = Annotated[float, _reader("mass")]
Density = Annotated[float, _reader("density")]
Ratio = Annotated[float, _reader("ratio")]


class Figure(Written):
    """An uncertain number: its value, one standard deviation, and where it comes from.

    `factor` is × and ÷ (one standard deviation of the log), `sd` is ±. A source is a key of the
    bibliography, 'judged' where none was found, or 'measured' by the person, with how.
    """

    value: float
    factor: float | None = Field(default=None, gt=1.0)
    sd: float | None = Field(default=None, gt=0.0)
    source: str
    note: str = ""

    @model_validator(mode="after")
    def _spread_and_source(self) -> Figure:
        if (self.factor is None) == (self.sd is None):
            raise ValueError("give either factor (× and ÷) or sd (±)")
        if self.factor is not None and self.value <= 0:
            raise ValueError(f"× and ÷ needs a value above nothing, not {self.value:g}")
        if self.source not in BIBLIOGRAPHY and self.source != "measured":
            raise ValueError(f"source {self.source!r} is not in the bibliography; else 'measured' or 'judged'")
        if self.source == "judged" and self.factor is not None and self.factor < JUDGED_FACTOR:
            raise ValueError("a judged figure is at least × and ÷ 2 wide")
        if self.source == "judged" and self.sd is not None and self.sd < 0.5 * abs(self.value):
            raise ValueError("a judged figure's sd is at least half its value")
        return self


#: quantities of which nothing at all is no figure, and those that may be nothing but not less
_ABOVE: Final = frozenset({"power", "stiffness", "frequency", "mass", "cutting_speed", "table_feed", "acceleration",
                           "heat_capacity", "conductivity", "expansion", "film"})
_NOT_BELOW: Final = frozenset({"length", "force", "torque", "pressure", "edge_force", "time"})


def _figure(quantity: str) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> Any:
        if isinstance(value, Figure):
            return value
        if not isinstance(value, dict):
            raise ValueError('write it like { value = "…", factor = 1.3, source = "…" }')
        table = dict(value)
        for key in ("value", "sd"):
            if isinstance(table.get(key), str):
                try:
                    table[key] = parse(table[key], quantity)
                except UnitError as error:
                    raise ValueError(f"{key}: {error.what} ({error.right})") from None
            elif table.get(key) is not None and quantity != "ratio" and not kept(info):
                raise ValueError(f"{key} needs a unit: {quantity.replace('_', ' ')}")
        _must_be_there(table.get("value"), quantity)
        return table

    return BeforeValidator(read)


def _must_be_there(value: Any, quantity: str) -> None:
    """Refuses a stiffness or power of nothing, and sizes or forces below it: no check could weigh by them."""
    if not isinstance(value, int | float):
        return
    if quantity in _ABOVE and value <= 0.0:
        raise ValueError(f"the value of a {quantity.replace('_', ' ')} must be above 0")
    if quantity in _NOT_BELOW and value < 0.0:
        raise ValueError(f"the value of a {quantity.replace('_', ' ')} must not be below 0")


LengthFigure = Annotated[Figure, _figure("length")]
AngleFigure = Annotated[Figure, _figure("angle")]
RatioFigure = Annotated[Figure, _figure("ratio")]
SpeedFigure = Annotated[Figure, _figure("cutting_speed")]
FeedFigure = Annotated[Figure, _figure("table_feed")]
ForceFigure = Annotated[Figure, _figure("force")]
TorqueFigure = Annotated[Figure, _figure("torque")]
PowerFigure = Annotated[Figure, _figure("power")]
PressureFigure = Annotated[Figure, _figure("pressure")]
EdgeForceFigure = Annotated[Figure, _figure("edge_force")]
StiffnessFigure = Annotated[Figure, _figure("stiffness")]
FrequencyFigure = Annotated[Figure, _figure("frequency")]
MassFigure = Annotated[Figure, _figure("mass")]
AccelerationFigure = Annotated[Figure, _figure("acceleration")]
TimeFigure = Annotated[Figure, _figure("time")]
RiseFigure = Annotated[Figure, _figure("temperature_difference")]
HeatCapacityFigure = Annotated[Figure, _figure("heat_capacity")]
ConductivityFigure = Annotated[Figure, _figure("conductivity")]
ExpansionFigure = Annotated[Figure, _figure("expansion")]
FilmFigure = Annotated[Figure, _figure("film")]

ToolMaterial = Literal["hss", "carbide", "carbon_steel"]


class CuttingSpeeds(Written):
    """Usual cutting speed by tool material; a start for planning, not a limit."""

    hss: SpeedFigure | None = None
    carbide: SpeedFigure | None = None


class Material(Written):
    """A workpiece material. `one_of` makes it a mixture: the bar in the rack that nobody knows."""

    name: str
    group: Literal["P", "M", "K", "N", "S", "H", "plastic", "wood"]     # ISO 513 and two of our own
    density: Density | None = None
    heat_capacity: HeatCapacityFigure | None = None   # rho c, of a unit of volume
    conductivity: ConductivityFigure | None = None
    expansion: ExpansionFigure | None = None
    build_up: RiseFigure | None = None                # above the shop: hotter than this nothing stays on an edge
    softens: RiseFigure | None = None                 # above the shop: a plastic smears
    young: PressureFigure | None = None
    yield_strength: PressureFigure | None = None
    tensile_strength: PressureFigure | None = None
    tangential: PressureFigure | None = None          # K_tc
    radial: PressureFigure | None = None              # K_rc
    axial: PressureFigure | None = None               # K_ac
    tangential_edge: EdgeForceFigure | None = None    # K_te
    radial_edge: EdgeForceFigure | None = None        # K_re
    axial_edge: EdgeForceFigure | None = None         # K_ae
    drilling_force: PressureFigure | None = None      # k_c1.1 of Kienzle, for holes
    drilling_exponent: Ratio = Field(default=0.2, ge=0.0, lt=1.0)      # m_c of Kienzle
    tapping_force: PressureFigure | None = None       # k_c of tapping
    batch: RatioFigure | None = None                  # bar to bar, multiplies every force
    cutting_speed: CuttingSpeeds = Field(default_factory=CuttingSpeeds)
    scale_thickness: LengthFigure | None = None       # crust on hot-rolled stock
    skin_stress: PressureFigure | None = None         # residual stress near a rolled or drawn skin
    one_of: dict[str, float] = Field(default_factory=dict)
    welds_to_tool: bool = False                       # gums up an edge that rubs: most aluminium
    grabs: bool = False                               # pulls a drill in by its rake: brass, bronze, acrylic
    cautions: tuple[str, ...] = ()                    # dust, fumes, fire, long chips


class Axes(Written):
    """A figure for each axis as seen from in front: x across, y in and out, z up and down."""

    x: StiffnessFigure
    y: StiffnessFigure
    z: StiffnessFigure


class Spindle(Written):
    """Speeds and power of a spindle: a range, or the steps of a belt or gear box."""

    slowest: Rotation
    fastest: Rotation
    steps: tuple[Rotation, ...] = ()
    power: PowerFigure                                # at the cutter, at base speed and above
    base_speed: Rotation | None = None                # below it the torque is constant

    @model_validator(mode="after")
    def _faster_than_slowest(self) -> Spindle:
        if not 0.0 < self.slowest <= self.fastest:
            raise ValueError("the slowest speed must be above nothing and not above the fastest")
        if self.base_speed is not None and self.base_speed <= 0.0:
            raise ValueError("the base speed must be above nothing: leave it out where nobody says it")
        if any(step <= 0.0 for step in self.steps):
            raise ValueError("the steps of a belt or gear box must be above nothing")
        return self


class MachineFigures(Written):
    """What must be believed of a machine, or was measured. None: the class's book figure is used."""

    stiffness: Axes | None = None                     # at the spindle nose, against the table [N/m]
    mode_frequency: FrequencyFigure | None = None     # of the weakest mode at the tool [rad/s]
    mode_damping: RatioFigure | None = None           # damping ratio of it [1]
    mode_share: RatioFigure | None = None             # of the give of the nose at rest that it has [1]
    rest_frequency: RatioFigure | None = None         # of its stiffer modes, as one, over that of the weakest [1]
    rest_damping: RatioFigure | None = None           # damping ratio of them [1]
    nose_mass: MassFigure | None = None               # spindle nose, collet and nut: what swings with the tool
    lost_motion: LengthFigure | None = None
    positioning: LengthFigure | None = None           # repeat of a position, per axis
    axis_scale: RatioFigure | None = None             # error of travel, mm per mm
    squareness: RatioFigure | None = None             # mm per mm between axes
    tram: RatioFigure | None = None                   # tilt of the spindle, mm per mm
    axis_thrust: ForceFigure | None = None            # what stalls an axis
    slide_drag: ForceFigure | None = None             # what moves the table within its lost motion
    efficiency: RatioFigure | None = None             # power at the cutter over power at the plug above idle
    touch_off: LengthFigure | None = None             # repeat of setting a zero, per axis
    table_speed: FeedFigure | None = None             # rapid
    acceleration: AccelerationFigure | None = None    # of the table, along each axis [mm/s2]


    @model_validator(mode="after")
    def _shares(self) -> MachineFigures:
        for name in ("mode_damping", "mode_share", "rest_damping", "efficiency"):
            figure = getattr(self, name)
            if figure is not None and not 0.0 < figure.value < 1.0:
                raise ValueError(f"{name} is a share: above 0 and below 1, not {figure.value:g}")
        return self


class MachineClass(MachineFigures):
    """Book figures of a class of machine."""

    name: str
    kind: Literal["mill", "drill_press", "hand"]


class Machine(MachineFigures):
    """A machine of this shop."""

    name: str
    like: str                                          # its class
    spindle: Spindle | None = None
    travel: tuple[Length, Length, Length] | None = None
    collets: tuple[str, ...] = ()                      # collets or chuck that fit its spindle
    setup_time: Time = 600.0                           # to set a part up and find its zero
    tool_change_time: Time = 120.0

    @model_validator(mode="after")
    def _travels(self) -> Machine:
        if self.travel is not None and min(self.travel) <= 0.0:
            raise ValueError("travel along each axis is above nothing: leave it out where nobody measured it")
        return self


ToolKind = Literal[
    "end_mill", "ball", "corner_radius", "face_mill", "chamfer", "drill", "spot_drill", "countersink",
    "tap", "reamer", "file", "saw", "t_slot", "dovetail",
]
UNDERCUT: Final = frozenset({"t_slot", "dovetail"})     #: kinds of tools whose teeth are wider than their neck


class Tool(Written):
    """A cutting tool. Lengths in mm; angles in rad."""

    name: str
    kind: ToolKind
    material: ToolMaterial
    diameter: Length = Field(gt=0)
    flutes: int = Field(default=1, ge=1)
    flute_length: Length = Field(gt=0)
    overall_length: Length = Field(gt=0)
    shank: Length | None = None                        # diameter; the tool's where not given
    stickout: Length | None = None                     # out of the collet, as usually held
    helix: Angle = 0.5236
    corner_radius: Length = 0.0
    point_angle: Angle | None = None                   # included: drill, countersink, chamfer; makes a mill tapered
    tip_diameter: Length = 0.0                         # flat at the tip of a chamfer cutter or tapered mill
    neck: Length | None = Field(default=None, gt=0)    # diameter above the teeth of a T-slot or dovetail cutter
    neck_length: Length | None = Field(default=None, gt=0)      # from its end to where the shank begins
    edge_radius: LengthFigure | None = None            # of the cutting edge; else by tool material
    thread: str | None = None                          # of a tap: "M4"
    coating: str | None = None                         # one of the shop's coatings; bare where not given
    centre_cutting: bool = True
    rated_speed: Rotation | None = None                # the maker's limit, where one is given
    price: float = Field(default=0.0, ge=0)            # in the shop's money

    @model_validator(mode="after")
    def _possible(self) -> Tool:
        wrong = next(no_tool(self), None)
        if wrong is not None:
            raise ValueError(wrong)
        return self

    @model_validator(mode="after")
    def _neck(self) -> Tool:
        if self.kind not in UNDERCUT:
            if self.neck is not None or self.neck_length is not None:
                raise ValueError(f"a neck is told of a t_slot or dovetail cutter, not of a {self.kind}")
        elif self.neck is None or self.neck_length is None:
            raise ValueError(f"a {self.kind} cutter needs its neck (a diameter) and its neck_length (from its end)")
        elif self.neck >= self.diameter or self.neck_length <= self.flute_length:
            raise ValueError("the neck must be thinner than the teeth, and end above them")
        return self


class Collet(Written):
    """What holds a tool: a collet, drill chuck or tap wrench."""

    name: str
    kind: Literal["collet", "chuck", "wrench"] = "collet"
    grips: tuple[Length, Length]                       # smallest and largest shank
    runout: LengthFigure                               # at the tool's edge, total indicator reading / 2
    stiffness: StiffnessFigure | None = None
    grip: ForceFigure | None = None                    # pull at which a shank slides out
    nut_diameter: Length | None = Field(default=None, gt=0)

    @model_validator(mode="after")
    def _grips_something(self) -> Collet:
        if not 0.0 <= self.grips[0] <= self.grips[1] or self.grips[1] <= 0.0:
            low, high = self.grips
            raise ValueError(f"grips from {low:g} to {high:g} mm: the smallest shank, then the largest")
        return self


class Device(Written):
    """A holding device: vise, clamps, carrier, angle block, by hand."""

    name: str
    kind: Literal["vise", "clamps", "carrier", "angle_block", "v_block", "collet_block", "three_jaw", "edge_clamps",
                  "screws", "hand", "bench_vise"]
    soft: bool = False                                 # jaws softer than the work: they leave no marks
    width: Length | None = None                        # of jaws
    opening: Length | None = None
    jaw_height: Length | None = None
    jaw_thickness: Length | None = Field(default=None, gt=0)  # away from the work, with what stands behind the jaw
    parallels: tuple[Length, ...] = ()                 # heights at hand
    squeeze: dict[str, ForceFigure] = Field(default_factory=dict)   # by what a person does
    lead: Length | None = Field(default=None, gt=0)    # way of the jaw or clamp for one turn of its screw
    efficiency: RatioFigure | None = None              # work at the jaw over work at the handle
    hand: RatioFigure | None = None                    # how hard a person pulls, over a usual one
    way: Length | None = Field(default=None, gt=0)     # that jaw or clamp moves from open to its stop
    thread_depth: Length | None = Field(default=None, gt=0)   # of the plate's tapped holes that screws go into
    pull_down: Angle = Field(default=0.0, ge=0, lt=0.8)       # below level, at which a wedge clamp presses
    friction: RatioFigure | None = None
    seating: LengthFigure | None = None                # how a part comes to rest, per clamping
    jaw_lift: LengthFigure | None = None
    glue_strength: PressureFigure | None = None        # of a carrier: in shear
    glue_share: RatioFigure | None = None              # of the patch that the glue wets
    glue_pull: RatioFigure | None = None               # strength square to the patch over that along it
    glue_half: RiseFigure | None = None                # above the shop: half of its strength is left
    glue_line: LengthFigure | None = None              # thickness that glue or tape adds below the part
    glue_conductivity: ConductivityFigure | None = None    # through it the part gives its heat to the carrier
    glue_peel: StiffnessFigure | None = None           # energy to part it by its area: peel force over width
    creep: RatioFigure | None = None                   # of tape: slope of log strength by log time under load
    machines: tuple[str, ...] = ()                     # kinds of machine it goes on


class Instrument(Written):
    """Something to measure with."""

    name: str
    kind: Literal["caliper", "micrometer", "depth_micrometer", "indicator", "height_gauge", "square", "feeler",
                  "pin_gauge", "protractor", "scale"]
    range: tuple[Length, Length]
    resolution: Length
    uncertainty: LengthFigure                          # standard uncertainty u of one reading


class ToolMaterialFigures(Written):
    """Book figures by tool material."""

    rupture_strength: PressureFigure
    young: PressureFigure
    edge_radius: LengthFigure
    density: Density
    mode_damping: RatioFigure                         # of a cutter's own swing in its collet
    flank_damping: LengthFigure                       # damping of the flank over the cutting coefficient
    conductivity: ConductivityFigure | None = None
    hot_limit: RiseFigure | None = None                # above the shop: hotter than this the edge gives way
    taylor_exponent: RatioFigure | None = None         # n of v T^n = C
    book_margin: RatioFigure | None = None             # speed at which an edge lasts `book_life` / usual speed
    life_by_feed: RatioFigure | None = None            # y of v T^n d^x f^y = C
    life_by_depth: RatioFigure | None = None           # x of it, with n as here


class Coating(Written):
    """What a coating does for an edge."""

    name: str
    speed: RatioFigure                                 # cutting speed for the same life, over the bare tool's


class Coolant(Written):
    """What is put on a cut, dry included."""

    name: str
    film: FilmFigure                                   # heat that leaves a surface under it
    cooling: RatioFigure                               # a rise at the edge is divided by 1 + this
    speed: RatioFigure | None = None                   # cutting speed for the same life, over a dry cut's
    build_up: RatioFigure | None = None                # fragments left on the work, over a dry cut's


class Discrepancy(Written):
    """How wrong a kind of physics usually is: multiplies its demand, learned like the rest.

    Where it leans with the direction of the cut, each mill has its own: see `shop.columns`.
    """

    factor: RatioFigure
    lean: RatioFigure | None = None      # demand of a conventional cut over a climb one, both narrow, else alike
    apart: RatioFigure | None = None     # with one cutter, and in one metal, beyond what is the mill's
    like: RatioFigure | None = None      # in cuts of one kind, alike in speed, depth and width, beyond that
    note: str = ""


class Rates(Written):
    """What the person pays, in the shop's own money."""

    hour: float = Field(default=20.0, ge=0)
    money: str = "money"


class Shop(Written):
    """Everything that stands in a shop, joined with the library that it uses."""

    name: str
    units: Literal["mm", "in"] = "mm"
    good: float = Field(default=0.01, gt=0, lt=1)      # chance of failing at most: good
    close: float = Field(default=0.05, gt=0, lt=1)     # at most: close; above: no good
    rates: Rates = Field(default_factory=Rates)
    classes: dict[str, MachineClass] = Field(default_factory=dict)
    machines: dict[str, Machine] = Field(default_factory=dict)
    tools: dict[str, Tool] = Field(default_factory=dict)
    tool_materials: dict[str, ToolMaterialFigures] = Field(default_factory=dict)
    collets: dict[str, Collet] = Field(default_factory=dict)
    materials: dict[str, Material] = Field(default_factory=dict)
    devices: dict[str, Device] = Field(default_factory=dict)
    instruments: dict[str, Instrument] = Field(default_factory=dict)
    coatings: dict[str, Coating] = Field(default_factory=dict)
    coolants: dict[str, Coolant] = Field(default_factory=dict)
    discrepancies: dict[str, Discrepancy] = Field(default_factory=dict)
    rubbing_ratio: RatioFigure | None = None           # least chip / edge radius
    chip_ratio: RatioFigure | None = None              # thickness before / after the cut
    friction_ratio: RatioFigure | None = None          # energy of friction / of shearing
    book_life: TimeFigure | None = None                # in the cut, for which cutting speeds are given
    book_feed: LengthFigure | None = None              # per tooth, for which cutting speeds are given
    tap_speed: RatioFigure | None = None               # at which a tap lasts its life, over the usual cutting speed
    tap_life: TimeFigure | None = None
    tap_exponent: RatioFigure | None = None            # n of v T^n = C, of taps
    ream_speed: RatioFigure | None = None              # the same of reamers
    ream_life: TimeFigure | None = None
    ream_exponent: RatioFigure | None = None
    book_depth: RatioFigure | None = None              # along the cutter over its diameter, the same
    end_wear: LengthFigure | None = None               # flank land of a worn-out edge
    scale_abrasion: RatioFigure | None = None          # wear in scale / in clean metal
    build_up_roughness: LengthFigure | None = None     # Ra of fragments, dry
    jaw_contact: FilmFigure | None = None              # heat through pressed faces
    file: str = ""
