"""From the names of a tolerance in the text to faces, datums and lengths: shape aspects, units, datum systems.

Source: ISO 10303-47 (shape tolerances) and ISO 10303-242 as the files use them; the way through is our own.
"""

from __future__ import annotations

import math
from typing import Any

from firstoff.part import products
from firstoff.part.exchange import Exchange, Ref, Typed

DIGITS = 6                               # of a mm or degree: files carry the noise of their own arithmetic
DEEP = 12                                # groups of groups of aspects are followed so far
_PREFIX = {"MILLI": 1e-3, "CENTI": 1e-2, "DECI": 0.1, "KILO": 1e3, "MICRO": 1e-6, "NANO": 1e-9, None: 1.0}
_USES = ("GEOMETRIC_ITEM_SPECIFIC_USAGE", "ITEM_IDENTIFIED_REPRESENTATION_USAGE")
_GROUPS = {"COMPOSITE_SHAPE_ASPECT", "COMPOSITE_GROUP_SHAPE_ASPECT", "ALL_AROUND_SHAPE_ASPECT",
           "CONTINUOUS_SHAPE_ASPECT", "BETWEEN_SHAPE_ASPECT"}
_JOINS = ("SHAPE_ASPECT_RELATIONSHIP", "SHAPE_ASPECT_DERIVING_RELATIONSHIP", "FEATURE_FOR_DATUM_TARGET_RELATIONSHIP")
_DIMENSIONS = ("DIMENSIONAL_LOCATION", "ANGULAR_LOCATION", "DIRECTED_DIMENSIONAL_LOCATION")
_TARGETS = ("PLACED_DATUM_TARGET_FEATURE", "DATUM_TARGET")


class Aspects:
    """The shape aspects of a file and the numbers of their faces."""

    def __init__(self, file: Exchange, numbers: dict[int, tuple[int, ...]]) -> None:
        """Of a text, with the digest's numbers of each face of that text."""
        self.file, self.numbers = file, numbers
        self.items: dict[int, list[Any]] = {}
        self._bordering: dict[int, tuple[int, ...]] = {}
        for number in file.of(*_USES):
            values = file.values(number, *_USES)
            if len(values) >= 5 and isinstance(values[2], Ref):
                self.items.setdefault(int(values[2]), []).append(values[4])
        self._by_property()
        self.joins: list[tuple[int, int]] = []
        for number in file.of(*_JOINS):
            if file.record(number).keys().isdisjoint(_DIMENSIONS):
                pair = [int(value) for value in file.values(number, *_JOINS) if isinstance(value, Ref)]
                self.joins += [(pair[0], pair[1])] if len(pair) == 2 else []
        self.below: dict[int, list[int]] = {}
        for one, other in self.joins:
            self.below.setdefault(one, []).append(other)

    def _by_property(self) -> None:
        """Older files tie an aspect to its faces by a property and its representation."""
        for number in self.file.of("SHAPE_DEFINITION_REPRESENTATION"):
            values = self.file.values(number, "SHAPE_DEFINITION_REPRESENTATION")
            defined = self.file.values(values[0] if values else None, "PROPERTY_DEFINITION")
            aspect = defined[2] if len(defined) > 2 else None
            if isinstance(aspect, Ref) and self._is_aspect(aspect) and len(values) > 1:
                for items in self.file.record(values[1]).values():
                    self.items.setdefault(int(aspect), []).extend(
                        item for item in (items[1] if len(items) > 1 and isinstance(items[1], tuple) else ()))

    def _is_aspect(self, number: Any) -> bool:
        return any("SHAPE_ASPECT" in word or "DATUM" in word for word in self.file.record(number))

    def faces(self, aspect: Any, deep: int = 0) -> tuple[int, ...]:
        """The numbers of the faces that an aspect names, itself or by the aspects it is made of."""
        if not isinstance(aspect, Ref | int) or deep > DEEP:
            return ()
        found = {n for item in self.items.get(int(aspect), []) for n in self._of_item(item)}
        record = self.file.record(aspect)
        if not found or not _GROUPS.isdisjoint(record):
            for other in self.below.get(int(aspect), []):
                if "DATUM" not in self.file.record(other):
                    found.update(self.faces(other, deep + 1))
        return tuple(sorted(found))

    def beside(self, aspect: Any, deep: int = 0) -> tuple[int, ...]:
        """The numbers of the faces on both sides of the edges that an aspect names, where it names edges."""
        if not isinstance(aspect, Ref | int) or deep > DEEP:
            return ()
        edges = self._edges()
        found = {n for item in self.items.get(int(aspect), []) if isinstance(item, Ref) for n in edges.get(item, ())}
        for other in self.below.get(int(aspect), []):
            found.update(self.beside(other, deep + 1))
        return tuple(sorted(found))

    def _edges(self) -> dict[int, tuple[int, ...]]:
        """The numbers of the faces that each edge of the text borders."""
        if not self._bordering:
            for face, numbers in self.numbers.items():
                bounds = self.file.values(face, *products.FACES)
                for bound in bounds[1] if len(bounds) > 1 and isinstance(bounds[1], tuple) else ():
                    loop = self.file.values(bound, "FACE_OUTER_BOUND", "FACE_BOUND")
                    turned = self.file.values(loop[1], "EDGE_LOOP") if len(loop) > 1 else ()
                    for one in turned[1] if len(turned) > 1 and isinstance(turned[1], tuple) else ():
                        edge = self.file.values(one, "ORIENTED_EDGE")
                        if len(edge) > 3 and isinstance(edge[3], Ref):
                            self._bordering[int(edge[3])] = (*self._bordering.get(int(edge[3]), ()), *numbers)
        return self._bordering

    def _of_item(self, item: Any) -> tuple[int, ...]:
        if isinstance(item, Typed | tuple):
            parts = item.values if isinstance(item, Typed) else item
            return tuple(n for part in parts for n in self._of_item(part))
        return self.numbers.get(int(item), ()) if isinstance(item, Ref) else ()

    def datum_faces(self, datum: int) -> tuple[tuple[int, ...], tuple[str, ...]]:
        """The faces of the features and targets that make a datum, and the names of those targets."""
        letter = letter_of(self.file, datum)
        faces, targets = set(self.faces(datum)), []
        for one, other in self.joins:
            feature = one if other == datum else other if one == datum else None
            if feature is None:
                continue
            faces.update(self.faces(feature))
            target = self.file.values(feature, *_TARGETS)
            if target and isinstance(target[-1], str):
                targets.append(letter + target[-1])
                for above, below in self.joins:
                    faces.update(self.faces(above) if below == feature else ())
        return tuple(sorted(faces)), tuple(sorted(targets))


def face_numbers(file: Exchange, sources: tuple[int, ...], counts: tuple[int, ...]) -> dict[int, tuple[int, ...]]:
    """The numbers of each face of the text in the digest; several where an assembly uses a solid again.

    Args:
        file: the exchange structure.
        sources: for each solid of the digest, its place among the solids of the text [1].
        counts: for each solid of the digest, how many faces it has [1].

    Returns:
        By the face's instance; faces of a solid whose count differs between text and digest are left out.
    """
    bodies, first = products.solids(file), 0
    out: dict[int, tuple[int, ...]] = {}
    for source, count in zip(sources, counts, strict=True):
        faces = products.faces_of(file, bodies[source]) if 0 <= source < len(bodies) else []
        for place, face in enumerate(faces if len(faces) == count else []):
            if isinstance(face, Ref):
                out[int(face)] = (*out.get(int(face), ()), first + place)
        first += count
    return out


def measure(file: Exchange, item: Any) -> tuple[float, str] | None:
    """A measure with its unit, as (number, 'mm') or (number, 'degrees'); None where it is none or not finite."""
    values = file.values(item, "MEASURE_WITH_UNIT", "LENGTH_MEASURE_WITH_UNIT", "PLANE_ANGLE_MEASURE_WITH_UNIT")
    if len(values) < 2 or not isinstance(values[0], Typed | float):
        values = _complex_measure(file, item)
    if len(values) < 2:
        return None
    number = values[0].values[0] if isinstance(values[0], Typed) and values[0].values else values[0]
    scale = _scale(file, values[1], 0)
    if not isinstance(number, float) or scale is None or not math.isfinite(number * scale[0]):
        return None
    return round(number * scale[0], DIGITS), scale[1]


def _complex_measure(file: Exchange, item: Any) -> tuple[Any, ...]:
    """The values of a measure representation item: (name, value, unit) in a simple instance."""
    values = file.values(item, "MEASURE_REPRESENTATION_ITEM")
    return values[1:3] if len(values) == 3 else ()


def _scale(file: Exchange, unit: Any, deep: int) -> tuple[float, str] | None:
    """How many mm or degrees a unit is."""
    record = file.record(unit)
    if deep > DEEP or not record:
        return None
    if "CONVERSION_BASED_UNIT" in record and len(record["CONVERSION_BASED_UNIT"]) > 1:
        inner = record["CONVERSION_BASED_UNIT"][1]
        values = file.values(inner, "MEASURE_WITH_UNIT", "LENGTH_MEASURE_WITH_UNIT", "PLANE_ANGLE_MEASURE_WITH_UNIT")
        number = values[0].values[0] if values and isinstance(values[0], Typed) and values[0].values else None
        base = _scale(file, values[1], deep + 1) if len(values) > 1 else None
        return (number * base[0], base[1]) if base is not None and isinstance(number, float) else None
    prefix, name = record.get("SI_UNIT", (None, None))[-2:] if len(record.get("SI_UNIT", ())) >= 2 else (None, None)
    if name == "METRE" and prefix in _PREFIX:
        return _PREFIX[prefix] / _PREFIX["MILLI"], "mm"
    return (math.degrees(_PREFIX[prefix]), "degrees") if name == "RADIAN" and prefix in _PREFIX else None


def letter_of(file: Exchange, datum: Any) -> str:
    """The letter of a datum; '' where it has none."""
    values = file.values(datum, "DATUM")
    return values[-1].strip() if values and isinstance(values[-1], str) else ""


def datum_letters(file: Exchange, system: Any) -> tuple[tuple[str, ...], list[str]]:
    """The letters of a datum system, or of one datum reference, in their order; and what is said of them."""
    values = file.values(system, "DATUM_SYSTEM")
    if not values:
        old = file.values(system, "DATUM_REFERENCE")
        letter = letter_of(file, old[1]) if len(old) > 1 else ""
        return ((letter,) if letter else ()), []
    letters, notes = [], []
    for compartment in values[-1] if isinstance(values[-1], tuple) else ():
        given = file.values(compartment, "DATUM_REFERENCE_COMPARTMENT")
        if len(given) < 2:
            continue
        letter = _base(file, given[-2])
        letters.append(letter)
        notes += [f"{letter} at {words}" for words in modifiers(given[-1])]
    return tuple(letter for letter in letters if letter), notes


def _base(file: Exchange, base: Any) -> str:
    """The letter of a compartment: of one datum, or of several taken together."""
    if isinstance(base, Typed):
        elements = base.values[0] if base.values and isinstance(base.values[0], tuple) else base.values
        parts = [file.values(element, "DATUM_REFERENCE_ELEMENT") for element in elements]
        return "-".join(letter_of(file, part[-2]) for part in parts if len(part) > 1)
    return letter_of(file, base)


def modifiers(values: Any) -> list[str]:
    """The enumerated modifiers of a tolerance or datum in words."""
    if isinstance(values, Typed):
        return modifiers(values.values)
    if isinstance(values, tuple):
        return [word for value in values for word in modifiers(value)]
    return [values.lower().replace("_requirement", "").replace("_", " ")] if isinstance(values, str) else []
