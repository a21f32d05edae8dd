"""How each surface lies against where the model has it: what every source of error does to it.

The model of the manufactured part: a setting places the part by datum surfaces that lie as they were cut before; the
cutter makes a surface where the machine's axes really are; in the part's own axes the new surface is off by the
difference. Everything is linear, a torsor for each source, in the part's axes about the model's origin.

What is the same all day (push-off, errors of travel, of squareness, of tram) enters by row; what comes anew with each
clamping, touching or operation is a scatter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..errors import NameUnknown, OutOfRange
from ..job.faces import outermost, resolve
from ..job.route import Setting
from ..part.shapes import Face
from ..stack.torsor import located
from ._chance import known
from ._forms import Form, Moves, about, along, plus, shifted
from ._lapped import LAPPED_SD, by_three_points, measured_from
from ._left_by import WALKS, digest_of_cut, left_by, nothing, of_one_walk
from ._locators import Array, locators
from ._makers import Broken, Made, is_wall, last_before
from ._push import Side, operation_case
from .base import Case
from .si import metres

#: One standard deviation of a cutter's radius against what was reckoned with [mm]: makers' tolerance of the
#: diameter of some 0.03 mm, taken off by a trial cut at best; judged.
RADIUS_SD: Final = 0.006
#: of the height of parallels, and of chips that one has not seen under the work [mm]; judged
PARALLELS_SD: Final = 0.004
#: how far a drill led by its spot has gone aside where it comes in [mm]; judged
WANDER_SD: Final = 0.03
#: how true a part is laid where no face places it, by eye along an edge [mm]; judged
BY_EYE_SD: Final = 0.2
#: how raw stock lies, where the job does not say how bowed it is [mm]; judged
RAW_SD: Final = 0.1
#: how true parts lie on each other, knocked flush along a straight edge, when they are cut together [mm]; judged
LAID_SD: Final = 0.03
#: of a tilted setting's angle, by an angle block or a protractor [rad]; judged
TILT_SD: Final = 0.0005
#: share of the lift by the jaw that is left when the part was tapped down until no parallel moved; judged
TAPPED: Final = 0.2
_AXES: Final = ("x", "y", "z")
_ALONG: Final = 0.9          #: cosine from which a face places a part along an axis

#: the same by name, those left out that do nothing
Line = dict[str, float]


@dataclass(frozen=True)
class Source:
    """One source of error.

    Fields:
        label: what a person calls it.
        where: the setting or operation that it belongs to; empty for the machine's own.
        rows: tells of a belief its standard deviation by row, or its value where it is the same all day [m, or rad].
        lasting: whether it is the same all day.
        reads: the operation whose cut it is computed from, and a digest of that; None for none.
    """

    label: str
    where: str
    rows: Callable[[Belief], Rows]
    lasting: bool = False
    reads: tuple[str, str] | None = None


@dataclass
class Surfaces:
    """All surfaces of a job's parts as its route makes them.

    Fields:
        case: one of the job and route.
        belief: tells which parameters are believed at all (all stem from the shop); what they come to is asked of
            each source, with the belief of the day.
        sources: what the names of errors mean.
    """

    case: Case
    belief: Belief
    sources: dict[str, Source] = field(default_factory=dict)
    _made: dict[tuple[str, str, int], Form] = field(default_factory=dict)
    _placed: dict[str, Form] = field(default_factory=dict)
    _at: dict[str, int] = field(default_factory=dict)

    def made(self, made: Made) -> Form:
        """How a face lies when an operation has cut it.

        Raises:
            Broken: if it is made by hand, to what is measured.
        """
        key = (made.op_name, made.part, made.face.number)
        if key not in self._made and made.lead is not None:
            self._made[key] = self._together(made, made.lead)
        if key not in self._made and made.op.role == "lap":
            self._made[key] = self._lapped(made)
        if key not in self._made:
            if made.op.role in ("file", "saw") or not self.belief.has(_machine(made), "positioning"):
                raise Broken(f"{made.op_name} is done by hand, to what is measured")
            self._made[key] = plus((self._own(made), 1.0), (self._zeroed(made), 1.0), (self.placed(made), -1.0))
        return self._made[key]

    def _lapped(self, made: Made) -> Form:
        """Lapped by hand, where it is thick more, until it reads right: it lies as the face that it is measured from.

        Where nothing is measured it lies as it was cut, and truer.
        """
        face, form = made.face, self.as_found(made.part, made.face, made.op.number)
        if face.kind == "cylinder":
            return form                                 # a lap follows the bore
        for name in made.op.measure:
            limit = self.case.job.limits[name]
            other = measured_from(self.case, made, limit)
            if limit.kind == "chain":
                from ._lapped_together import to_a_chain  # which follows a chain over the surfaces here
                form = to_a_chain(self, made, limit)
                break
            if other is not None and limit.instrument is not None:
                read = shifted(self.moves({self.reading(limit.instrument): 1.0}), np.array(face.normal))
                form = plus((self.as_found(made.part, other, made.op.number), 1.0), (read, 1.0))
                break
        return plus((form, 1.0), (self.lapped_true(made), 1.0))

    def lapped_true(self, made: Made) -> Form:
        """How far a lapped face may stand off where it should lie."""
        names = [self._source(f"lap:{made.op_name}:{made.face.number}:{k}", "how true it is lapped", made.op_name,
                              metres(LAPPED_SD)) for k in range(3)]
        return self.form(dict(zip(names, by_three_points(made.face), strict=True)))

    def reading(self, instrument: str, of: str = "") -> str:
        """The source that a reading adds: the same for all sizes, or of one size alone."""
        name = self.case.shop.instruments[instrument].name
        return self._known(f"reading:{instrument}{of and ':'}{of}", f"the {name}", "",
                           (f"instrument:{instrument}", "uncertainty"))

    def _together(self, made: Made, lead: Face) -> Form:
        """Cut in one go with a face of the first part: it lies as that does, less how the parts lay on each other.

        They are laid flush at the faces that place the first part, as far as the other has such faces; the axes of
        their models are taken to be parallel, as those of an assembly are.
        """
        first = replace(made, part=made.setting.workpiece.split("+")[0], face=lead, lead=None)
        laid = self.form({})
        for way, axis in zip(_ways(made.setting)[:2], _AXES, strict=False):
            key = self._source(f"laid:{made.setting_name}:{made.part}:{axis}", "how the parts lay on each other",
                               made.setting_name, metres(LAID_SD))
            aside = plus((self.moves({key: 1.0}), 1.0), (self._flush(first, made.part, way), 1.0))
            laid = plus((laid, 1.0), (shifted(aside, way), 1.0))
        return plus((self.made(first), 1.0), (laid, -1.0))

    def _flush(self, first: Made, other: str, way: Array) -> Moves:
        """How far the other part stands aside along an axis since both are laid flush: of faces as they then are."""
        aside = self.moves({})
        for name in first.setting.datums:
            try:
                one = self.case.parts[first.part].faces[
                    resolve(name, self.case.parts[first.part], self.case.job.parts[first.part].names)[0]]
            except NameUnknown:
                continue
            if one.kind != "plane" or abs(float(np.array(one.normal) @ way)) < _ALONG:
                continue
            for two in outermost(self.case.parts[other], one.normal)[:1]:
                for part, face, sign in ((first.part, one, 1.0), (other, two, -1.0)):
                    form = self.as_found(part, face, first.op.number)
                    aside = plus((aside, 1.0), (along(form, metres(np.array(face.centroid)), way), sign))
            break
        return aside

    def placed(self, made: Made) -> Form:
        """How the part sits in a setting, against where it should."""
        name = made.setting_name
        if name not in self._placed:
            self._placed[name] = self._located(made)
        return self._placed[name]

    def as_found(self, part: str, face: Face, order: int) -> Form:
        """How a face lies before the operation of this number: as last cut, or raw."""
        before = last_before(self.case, part, face.number, order)
        return self.made(before) if before is not None else self._raw(part, face)

    # --- sums over sources by their number --------------------------------------------------------------------------

    def known_as(self, key: str, source: Source) -> str:
        """A source that is known by this name from now on, if it was not before."""
        if key not in self._at:
            self._at[key] = len(self._at)
            self.sources[key] = source
        return key

    def form(self, moved: Mapping[str, Array]) -> Form:
        """What some sources do to a surface."""
        form = np.zeros((len(self._at), 6))
        for name, torsor in moved.items():
            form[self._at[name]] = torsor
        return form

    def moves(self, sizes: Mapping[str, float]) -> Moves:
        """What some sources do to a length."""
        line = np.zeros(len(self._at))
        for name, size in sizes.items():
            line[self._at[name]] = size
        return line

    def table(self, lines: Iterable[Moves]) -> Array:
        """Some lengths in one table, shape (K, S)."""
        return np.array([plus((self.moves({}), 1.0), (line, 1.0)) for line in lines])

    def named(self, lines: Iterable[Moves]) -> tuple[Line, ...]:
        """The same by name; a source that does nothing to any of them is left out of all."""
        table = self.table(lines)
        counts = np.flatnonzero(np.any(table != 0.0, axis=0))
        names = list(self._at)
        return tuple({names[k]: float(row[k]) for k in counts} for row in table)

    # --- how a part is placed ------------------------------------------------------------------------------------

    def _located(self, made: Made) -> Form:
        part, setting = self.case.parts[made.part], made.setting
        order = self._first(made)
        points = locators(setting, part, self.case.job.parts[made.part].names)
        lines = []
        for index, point in enumerate(points):
            line = self._against(made, index, point.kind, point.face is None, point.far)
            if point.face is not None:
                lies = along(self.as_found(made.part, point.face, order), point.point, point.normal)
                line = plus((line, 1.0), (lies, -1.0))
            lines.append(line)
        try:
            torsor = located(np.array([p.point for p in points]), np.array([p.normal for p in points]),
                             self.table(lines))
        except OutOfRange as reason:
            raise Broken(f"setting {made.setting_name}: {reason.what}") from None
        return plus((np.vstack(torsor).T, 1.0), (self._tilt(made), 1.0))

    def _against(self, made: Made, index: int, kind: str, by_eye: bool, far: float) -> Moves:
        """What makes one point of a setting stand off: along the outward normal there."""
        setting, name = made.setting, made.setting_name
        device = f"device:{setting.holding.device}"
        if by_eye:
            key = self._source(f"eye:{name}:{index}", "laying it true by eye", name, metres(BY_EYE_SD))
            return self.moves({key: 1.0})
        if kind != "rest" and self.case.shop.devices[setting.holding.device].kind == "carrier":
            key = self._source(f"eye:{name}:{index}", "placing it by hand on its glue", name, metres(BY_EYE_SD))
            return self.moves({key: 1.0})
        seat = self._known(f"seat:{name}:{index}", "how the part sits", name, (device, "seating"))
        line = {seat: 1.0}
        if kind == "rest" and setting.holding.parallels > 0.0:
            line[self._source(f"parallels:{name}:{index}", "parallels", name, metres(PARALLELS_SD))] = 1.0
        if kind == "rest" and self.belief.has(device, "jaw_lift"):
            # the moving jaw rises as it is tightened, and lifts its side of the part more or less
            share = 0.5 * (TAPPED if setting.holding.tapped else 1.0)
            line[self._known(f"lift:{name}", "lift by the jaw", name, (device, "jaw_lift"), share)] = -far
        return self.moves(line)

    def _tilt(self, made: Made) -> Form:
        """The angle of a tilted setting, about a horizontal line through the middle of the part."""
        up = np.array(made.setting.up)
        if np.abs(up).max() > 1.0 - 1e-6:
            return self.form({})
        part = self.case.parts[made.part]
        level = np.cross(up, np.eye(3)[int(np.argmax(np.abs(up)))])
        turn = level / np.linalg.norm(level)
        key = self._source(f"tilt:{made.setting_name}", "the set angle", made.setting_name, TILT_SD)
        return self.form({key: about(turn, metres(np.array([part.low, part.high])).mean(axis=0))})

    def _raw(self, part: str, face: Face) -> Form:
        """Raw stock: three points of it lie as they happen to."""
        sd = metres(self.case.job.parts[part].stock.bow / 2.0 or RAW_SD)
        names = [self._source(f"raw:{part}:{face.number}:{k}", "raw stock", "", sd) for k in range(3)]
        return self.form(dict(zip(names, by_three_points(face), strict=True)))

    # --- where zero is ---------------------------------------------------------------------------------------------

    def _zeroed(self, made: Made) -> Form:
        """How far the program's zero is from where it should be: with the face that was touched, and the touching."""
        setting, form = made.setting, self.form({})
        touched = (setting.zero.x, setting.zero.y, setting.zero.z)
        for way, axis, name in zip(_ways(setting), _AXES, touched, strict=True):
            tool = f":{made.op.tool}" if axis == "z" else ""      # each cutter's length is found anew
            key = self._known(f"touch:{made.setting_name}:{axis}{tool}", f"setting zero in {axis}",
                              made.setting_name, (_machine(made), "touch_off"))
            off = plus((self.moves({key: 1.0}), 1.0), (self._touched(made, name, way), 1.0))
            form = plus((form, 1.0), (shifted(off, way), 1.0))
        return form

    def _touched(self, made: Made, name: str, way: Array) -> Moves:
        """How far the touched face stands along an axis: with the part, and as it was cut."""
        names = self.case.job.parts[made.part].names
        try:
            face = self.case.parts[made.part].faces[resolve(name, self.case.parts[made.part], names)[0]]
        except NameUnknown:
            face = None
        where = self._centre(made.part) if face is None else metres(np.array(face.centroid))
        line = along(self.placed(made), where, way)
        if face is not None and face.kind == "plane":
            line = plus((line, 1.0), (along(self.as_found(made.part, face, self._first(made)), where, way), 1.0))
            line = plus((line, 1.0), (self._glue_line(made, face), -1.0))
        return line

    def _glue_line(self, made: Made, face: Face) -> Moves:
        """How far a glued part stands above the carrier, which is touched in place of the face that it rests on."""
        holding, part = made.setting.holding, self.case.parts[made.part]
        device = f"device:{holding.device}"
        if not self.belief.has(device, "glue_line") or face.number not in resolve(
                holding.rest, part, self.case.job.parts[made.part].names):
            return self.moves({})
        key = self._lasting(f"glue:{made.setting_name}", "the thickness of the glue", made.setting_name,
                            lambda belief: known(belief, device, "glue_line", 0.0))
        return self.moves({key: 1.0})

    # --- what the cut itself does ----------------------------------------------------------------------------------

    def _own(self, made: Made) -> Form:
        """Where the edge really was: repeat, lost motion, radius, push-off, errors of travel."""
        normal, machine = np.array(made.face.normal), _machine(made)
        at = f"{made.op_name}:{made.face.number}"
        if made.is_hole:
            return self._bored(made, at)
        ways = {self._known(f"repeat:{at}", "the repeat of the axes", made.op_name, (machine, "positioning")): normal}
        if is_wall(made):
            ways[self._known(f"lost:{made.setting_name}:{made.face.number}", "lost motion", made.setting_name,
                             (machine, "lost_motion"), 0.5)] = normal
            ways[self._source(f"radius:{made.op.tool}", "the radius of the cutter", "", metres(RADIUS_SD))] = -normal
        ways[self._pushed(made)] = normal
        shifts = self.form({name: np.concatenate([np.zeros(3), way]) for name, way in ways.items()})
        return plus((shifts, 1.0), (self._travel(made, (normal,)), 1.0), (self._square(made), 1.0))

    def _bored(self, made: Made, at: str) -> Form:
        """A hole: its axis may be off both ways across; its repeat is the axes', its wander the drill's."""
        form: dict[str, Array] = {}
        ways = _ways(made.setting)[:2]
        for way, axis in zip(ways, _AXES, strict=False):
            for key in (self._known(f"repeat:{at}:{axis}", "the repeat of the axes", made.op_name,
                                    (_machine(made), "positioning")),
                        self._known(f"lost:{at}:{axis}", "lost motion", made.op_name, (_machine(made), "lost_motion"),
                                    0.5),
                        self._source(f"wander:{at}:{axis}", "where the drill went", made.op_name, metres(WANDER_SD))):
                form[key] = np.concatenate([np.zeros(3), way])
        return plus((self.form(form), 1.0), (self._travel(made, ways), 1.0))

    def _pushed(self, made: Made) -> str:
        """What the cut leaves on, by row."""
        side: Side = "wall" if is_wall(made) else "floor"
        case = operation_case(self.case, made.op_name)
        return self.known_as(f"pushed:{made.op_name}:{side}", Source(
            "push-off", made.op_name, left_by(case, side) if made.op.tool else nothing, lasting=True,
            reads=(made.op_name, digest_of_cut(self.case, made.op_name))))

    def _travel(self, made: Made, ways: tuple[Array, ...]) -> Form:
        """Error of travel: so much a metre from zero."""
        if not self.belief.has(_machine(made), "axis_scale"):
            return self.form({})
        key = self._lasting(f"scale:{made.setting.machine}", "error of travel", "",
                            lambda belief: known(belief, _machine(made), "axis_scale", 0.0))
        away = metres(np.array(made.face.centroid)) - self._zero_at(made)
        shift = sum((way * float(way @ away) for way in ways), np.zeros(3))
        return self.form({key: np.concatenate([np.zeros(3), shift])})

    def _square(self, made: Made) -> Form:
        """Axes that are not square turn a wall; a spindle out of tram leans it."""
        if not is_wall(made):
            return self.form({})
        form: dict[str, Array] = {}
        across, _, up = _ways(made.setting)
        normal, machine = np.array(made.face.normal), _machine(made)
        bottom = metres(np.array([made.face.low, made.face.high])).mean(axis=0)
        bottom = bottom - up * float(np.abs(up) @ (metres(np.array(made.face.high)) - bottom))
        for name, label, turn, at in (
            ("squareness", "axes out of square", -up * float(normal @ across) ** 2, self._zero_at(made)),
            ("tram", "spindle out of tram", np.cross(up, normal), bottom),
        ):
            if self.belief.has(machine, name):
                key = self._lasting(f"{name}:{made.setting.machine}", label, "",
                                    lambda belief, name=name: known(belief, machine, name, 0.0))   # type: ignore[misc]
                form[key] = about(turn, at)
        return self.form(form)

    # --- helpers ---------------------------------------------------------------------------------------------------

    def _zero_at(self, made: Made) -> Array:
        """Where zero is, along each axis of the setting."""
        names, part = self.case.job.parts[made.part].names, self.case.parts[made.part]
        at = self._centre(made.part)
        setting = made.setting
        for way, name in zip(_ways(setting), (setting.zero.x, setting.zero.y, setting.zero.z), strict=True):
            try:
                face = part.faces[resolve(name, part, names)[0]]
            except NameUnknown:
                continue
            at = at + way * float(way @ (metres(np.array(face.centroid)) - at))
        return at

    def _centre(self, part: str) -> Array:
        return np.asarray(metres(np.array([self.case.parts[part].low, self.case.parts[part].high])).mean(axis=0))

    def _first(self, made: Made) -> int:
        return min(op.number for _, op in self.case.route.of_setting(made.setting_name))

    def _source(self, key: str, label: str, where: str, sd: float) -> str:
        return self.known_as(key, Source(label, where, lambda belief: np.full(belief.rows, sd)))

    def _known(self, key: str, label: str, where: str, parameter: tuple[str, str], share: float = 1.0) -> str:
        return self.known_as(key, Source(label, where, lambda belief: share * known(belief, *parameter, 0.0)))

    def _lasting(self, key: str, label: str, where: str, rows: Callable[[Belief], Rows]) -> str:
        return self.known_as(key, Source(label, where, rows, lasting=True))


def surfaces_of(case: Case, belief: Belief) -> Surfaces:
    """The surfaces as a route makes them; the last are kept, since all limits look at the same."""
    for made in _recent:
        if made.belief.columns is belief.columns and of_one_walk(made.case, case):
            return made
    made = Surfaces(case, Belief(belief.columns, belief.rows, belief.seed))
    _recent[:] = [made, *_recent[:WALKS - 1]]
    return made


_recent: list[Surfaces] = []


def _machine(made: Made) -> str:
    return f"machine:{made.setting.machine}"


def _ways(setting: Setting) -> tuple[Array, Array, Array]:
    """The axes of a setting in the part's: across, away, up."""
    across, up = np.array(setting.across), np.array(setting.up)
    return across, np.cross(up, across), up
