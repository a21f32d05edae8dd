"""What is understood of a solid model: faces, edges, features. Geometry only, lengths in mm.

Plain frozen dataclasses that live without the geometry kernel: the digest of a part is made once
by a worker (see `reading.py`), kept as JSON by file hash, and read back by everything else.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Vector = tuple[float, float, float]
Polyline = tuple[Vector, ...]

FaceKind = Literal["plane", "cylinder", "cone", "sphere", "torus", "free_form"]
Convexity = Literal["convex", "concave", "smooth"]
FeatureKind = Literal[
    "hole", "pocket", "slot", "passage", "step", "boss", "ramp", "chamfer", "fillet",
    "groove", "free_form", "stock", "not_understood",
]
PatternKind = Literal["line", "grid", "circle", "mirror", "alike"]


@dataclass(frozen=True)
class Face:
    """One face of a solid; numbered from 0 by its place in its CLOSED_SHELL, solid by solid."""

    number: int
    solid: int
    kind: FaceKind
    area: float                          # [mm2]
    centroid: Vector                     # [mm]
    normal: Vector                       # out of the material, at the centroid [1]
    low: Vector                          # corner of the bounding box [mm]
    high: Vector                         # [mm]
    axis_point: Vector | None = None     # of a cylinder, cone, sphere (centre), torus [mm]
    axis: Vector | None = None           # direction [1]
    radius: float | None = None          # cylinder, sphere; cone: at axis_point; torus: major [mm]
    minor_radius: float | None = None    # torus [mm]
    half_angle: float | None = None      # cone [rad]
    sweep: float | None = None           # angle round the axis that the face covers [rad]
    hollow: bool = False                 # curved face whose material lies outside (a bore)
    neighbours: tuple[int, ...] = ()
    outlines: tuple[Polyline, ...] = ()  # outer loop first, then holes in the face [mm]
    label: str = ""                      # the name that the file gives its ADVANCED_FACE


@dataclass(frozen=True)
class Edge:
    """An edge shared by two faces (the same face twice for a seam is left out)."""

    faces: tuple[int, int]
    convexity: Convexity
    kind: str                            # line, circle, ellipse, curve
    length: float                        # [mm]
    points: Polyline                     # [mm]


@dataclass(frozen=True)
class Feature:
    """Something that a tool makes: a set of faces with a meaning.

    A slot lies between two walls that face one another, and is open at both ends (`through` and `open`), at one
    (`open`) or at neither (its ends half rounds; `through` where it has no floor). A pocket is closed all round; a
    passage is one without a floor; a step is open to two sides or more.

    `size` names what kind needs: hole: diameter, depth, [countersink_diameter, countersink_angle,
    counterbore_diameter, counterbore_depth, cone_angle]; pocket and slot: length, width, depth,
    corner_radius; step: depth, width; ramp and chamfer: angle, width; free_form: smallest_radius. What is wider on a
    hole's far side stands there with `far_`; `wall`, `floor` and `inside_radius` are what it leaves of the part.
    Angles in degrees here, because `size` is what people read.
    """

    id: str                              # kind and number: "hole-3"
    kind: FeatureKind
    faces: tuple[int, ...]
    sides: int = 0
    through: bool = False
    open: bool = False
    axis: Vector | None = None           # out of the material, towards the tool
    axis_point: Vector | None = None     # where that axis leaves the part [mm]
    size: dict[str, float] = field(default_factory=dict)
    access: tuple[Vector, ...] = ()      # directions from which a tool reaches it (towards the tool)
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Pattern:
    """Features that are alike, and how they stand.

    Fields:
        kind: line, grid, circle, mirror (pair by pair about a plane) or alike (no order found) [1].
        features: their ids [1].
        size: pitch; pitch_across; diameter of the circle; x, y or z of the mirror plane [mm].
    """

    kind: PatternKind
    features: tuple[str, ...]
    size: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class ModelLimit:
    """A tolerance or dimension that the file itself carries (AP242), if any; lengths in mm, angles in degrees."""

    kind: str                            # diameter, distance, angle, flatness, position, runout, ...
    faces: tuple[int, ...]
    value: float | None                  # the size, or the width of the zone; never 0: None where the file gives none
    upper: float | None = None           # the largest size allowed
    lower: float | None = None           # the smallest size allowed
    datums: tuple[str, ...] = ()         # letters in their order; "A-B" for a common datum
    unit: str = "mm"                     # of the three numbers: mm, or degrees
    text: str = ""                       # what else is said: its name, "at maximum material", "basic", "H7"
    between: tuple[tuple[int, ...], ...] = ()      # a distance or angle: the faces at its two ends


@dataclass(frozen=True)
class ModelDatum:
    """A datum that the file names, with the faces that make it."""

    letter: str
    faces: tuple[int, ...]
    targets: tuple[str, ...] = ()        # datum targets: "A1", "A2"


@dataclass(frozen=True)
class Part:
    """The digest of one model file."""

    name: str
    file: str
    sha256: str
    unit: str                            # what the file says: mm, m, in
    solids: int
    low: Vector                          # bounding box [mm]
    high: Vector                         # [mm]
    volume: float                        # [mm3]
    faces: tuple[Face, ...]
    edges: tuple[Edge, ...]
    features: tuple[Feature, ...]
    limits: tuple[ModelLimit, ...] = ()
    remarks: tuple[str, ...] = ()        # said to the person: "the file is in metres"
    names: tuple[str, ...] = ()          # of the solids, by their products; each once
    schema: str = ""                     # AP203, AP214, AP242; another schema by the name that the file gives
    datums: tuple[ModelDatum, ...] = ()
    patterns: tuple[Pattern, ...] = ()   # features that repeat or mirror one another

    @cached_property
    def outline(self) -> NDArray[np.float64]:
        """Points along all its edges, or the corners of its box where it has none [mm], shape (P, 3)."""
        import numpy as np  # a digest is read without it

        points: list[tuple[float, ...]] = [point for edge in self.edges for point in edge.points]
        return np.array(points or list(product(*zip(self.low, self.high, strict=True))))

    @cached_property
    def outer(self) -> dict[Vector, tuple[Face, ...]]:
        """Its outermost flat faces by direction, as far as they were asked for: see `job.faces.outermost`."""
        return {}

    def feature(self, name: str) -> Feature:
        """The feature with this id; KeyError where there is none."""
        for feature in self.features:
            if feature.id == name:
                return feature
        raise KeyError(name)


@dataclass(frozen=True)
class View:
    """A hidden-line drawing as plain lines in the plane of the paper, mm at full size."""

    name: str                            # plan, front, side, pictorial
    up: Vector                           # the part's direction that points up in the setting
    visible: tuple[tuple[tuple[float, float], ...], ...]
    hidden: tuple[tuple[tuple[float, float], ...], ...]
    origin: tuple[float, float]          # where the part's model origin falls on the paper
    across: Vector                       # the part's direction that runs to the right on paper
    upwards: Vector                      # the part's direction that runs up on paper
