"""Our features beside the labels that somebody else gave the faces of a model. Pure, no kernel.

The sixteen classes are those of a published set of cubes with machining features; each is defined here by what our
feature says of itself (kind, sides, through, open) and by whether one of its flats slants.

Source: cao2020 (names of the classes); the definitions are our own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from firstoff.part.shapes import Face, Feature
from firstoff.part.vectors import AXES, minus, parallel, same

#: Class by label number. The set lists its names in another order; this one follows from the geometry of features
#: that stand once in a part: faces a feature (1 chamfer; 3, 4, 6 passages; 2, 3 through slots; 2, 3, 2 through steps;
#: 4, 5, 7 pockets; 4 blind slot; 2, 3 blind steps), whether flats slant (slots 4 all, 5 none; steps 6 none, 7 two
#: of three, 8 one of two; blind steps 13 one of two, 14 none), and label 15 on the cube's own six sides only.
CLASSES = (
    "chamfer", "triangular_passage", "rectangular_passage", "6sides_passage", "triangular_through_slot",
    "rectangular_through_slot", "rectangular_through_step", "2sides_through_step", "slanted_through_step",
    "triangular_pocket", "rectangular_pocket", "6sides_pocket", "rectangular_blind_slot", "triangular_blind_step",
    "rectangular_blind_step", "stock",
)
OTHER = "other"                          # a feature that is none of the sixteen
#: The set has no five-sided recesses: five walls are six, of which one was broken away.
_SHAPES = {3: "triangular", 4: "rectangular", 5: "6sides", 6: "6sides"}


@dataclass(frozen=True)
class Score:
    """One part judged.

    Fields:
        name: of the part [1].
        pairs: (label, our class) of each face, in order of the faces [1].
    """

    name: str
    pairs: tuple[tuple[str, str], ...]

    @property
    def right(self) -> int:
        """How many faces agree."""
        return sum(label == ours for label, ours in self.pairs)

    @property
    def whole(self) -> bool:
        """Whether all faces agree."""
        return self.right == len(self.pairs)


def class_of(feature: Feature, faces: Mapping[int, Face]) -> str:
    """Which of the sixteen classes a feature is, or `OTHER`.

    Args:
        feature: a feature of ours.
        faces: the part's faces by number.
    """
    slanted = any(_slants(faces[n]) for n in feature.faces)
    if feature.kind == "stock":
        return "stock"
    if feature.kind in ("chamfer", "ramp"):
        return "chamfer"                 # a flat across an edge of the cube, however wide
    if feature.kind in ("passage", "pocket") and not feature.open:
        return f"{_SHAPES[feature.sides]}_{feature.kind}" if feature.sides in _SHAPES else OTHER
    if feature.kind == "slot" and not feature.through:
        return "rectangular_blind_slot" if _facing(feature, faces) else OTHER     # open at one end
    if feature.kind == "slot":
        return "triangular_through_slot" if slanted else "rectangular_through_slot"
    if feature.kind == "step" and feature.through:
        if feature.sides == 2:
            return "2sides_through_step"
        return "slanted_through_step" if slanted else "rectangular_through_step"
    if feature.kind == "step":
        return "triangular_blind_step" if slanted else "rectangular_blind_step"
    return OTHER


def _facing(feature: Feature, faces: Mapping[int, Face]) -> bool:
    flats = [faces[n].normal for n in feature.faces if faces[n].kind == "plane"]
    return any(same(one, minus(other)) for k, one in enumerate(flats) for other in flats[k + 1:])


def _slants(face: Face) -> bool:
    return face.kind == "plane" and not any(parallel(face.normal, axis) for axis in AXES)


def score(name: str, faces: Iterable[Face], features: Iterable[Feature], labels: Mapping[int, str]) -> Score:
    """The features of one part beside the labels of its faces.

    Args:
        name: of the part.
        faces: its faces.
        features: our features; every face is in one.
        labels: the class that each face should have, by number of the face.
    """
    by_number = {face.number: face for face in faces}
    ours = {n: class_of(feature, by_number) for feature in features for n in feature.faces}
    return Score(name, tuple((labels[n], ours[n]) for n in sorted(by_number)))


def agreement(scores: Iterable[Score]) -> float:
    """Share of all faces that agree [1]."""
    pairs = [pair for score in scores for pair in score.pairs]
    return sum(label == ours for label, ours in pairs) / max(len(pairs), 1)


def wholly_right(scores: Iterable[Score]) -> float:
    """Share of the parts all of whose faces agree [1]."""
    whole = [score.whole for score in scores]
    return sum(whole) / max(len(whole), 1)


def recall(scores: Iterable[Score]) -> dict[str, tuple[int, int]]:
    """(faces found, faces there) by class, in the order of the classes."""
    there: Counter[str] = Counter()
    found: Counter[str] = Counter()
    for score in scores:
        there.update(label for label, _ in score.pairs)
        found.update(label for label, ours in score.pairs if label == ours)
    return {name: (found[name], there[name]) for name in CLASSES if there[name]}
