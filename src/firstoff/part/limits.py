"""The tolerances and dimensions that a file itself carries (AP242), read from its text, with their faces and datums.

A dimension without a value in the file (some are only drawn) has value None, never 0.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from firstoff.part import aspects, products
from firstoff.part.aspects import Aspects
from firstoff.part.exchange import Exchange, Ref
from firstoff.part.shapes import ModelDatum, ModelLimit, Part

SIZES = ("DIMENSIONAL_SIZE", "ANGULAR_SIZE", "DIMENSIONAL_SIZE_WITH_PATH", "DIMENSIONAL_SIZE_WITH_DATUM_FEATURE")
LOCATIONS = ("DIMENSIONAL_LOCATION", "ANGULAR_LOCATION", "DIRECTED_DIMENSIONAL_LOCATION",
             "DIMENSIONAL_LOCATION_WITH_PATH", "DIMENSIONAL_LOCATION_WITH_DATUM_FEATURE")
TOLERANCES = {
    "FLATNESS_TOLERANCE": "flatness", "STRAIGHTNESS_TOLERANCE": "straightness", "ROUNDNESS_TOLERANCE": "roundness",
    "CYLINDRICITY_TOLERANCE": "cylindricity", "LINE_PROFILE_TOLERANCE": "line_profile",
    "SURFACE_PROFILE_TOLERANCE": "profile", "ANGULARITY_TOLERANCE": "angularity",
    "PERPENDICULARITY_TOLERANCE": "perpendicularity", "PARALLELISM_TOLERANCE": "parallelism",
    "POSITION_TOLERANCE": "position", "CONCENTRICITY_TOLERANCE": "concentricity",
    "COAXIALITY_TOLERANCE": "coaxiality", "SYMMETRY_TOLERANCE": "symmetry",
    "CIRCULAR_RUNOUT_TOLERANCE": "runout", "TOTAL_RUNOUT_TOLERANCE": "total_runout",
}
Finder = Callable[[Any], tuple[int, ...]]
_KINDS = {"linear distance": "distance", "linear distance outer": "distance", "linear distance inner": "distance",
          "linear distance centre outer": "distance", "thickness": "thickness", "": "distance"}
_NOTES = {"theoretical": "basic", "auxiliary": "for reference"}


@dataclass(frozen=True)
class Told:
    """What the text tells of a part: its limits, datums, and remarks for the person."""

    limits: tuple[ModelLimit, ...]
    datums: tuple[ModelDatum, ...]
    remarks: tuple[str, ...]


def told(file: Exchange, sources: tuple[int, ...], counts: tuple[int, ...]) -> Told:
    """The limits and datums of a file, their faces numbered as the digest numbers them.

    Args:
        file: the exchange structure.
        sources: for each solid of the digest, its place among the solids of the text [1].
        counts: for each solid of the digest, how many faces it has [1].
    """
    known = Aspects(file, aspects.face_numbers(file, sources, counts))
    found = _dimensions(known) + _tolerances(known)
    datums = [ModelDatum(letter, *known.datum_faces(number)) for number in file.of("DATUM")
              if (letter := aspects.letter_of(file, number))]
    return Told(tuple(found), tuple(datums), _remarks(file, sources, counts, found))


def _remarks(file: Exchange, sources: tuple[int, ...], counts: tuple[int, ...],
             found: list[ModelLimit]) -> tuple[str, ...]:
    bodies = products.solids(file)
    whole = all(0 <= source < len(bodies) and len(products.faces_of(file, bodies[source])) == count
                for source, count in zip(sources, counts, strict=True))
    out = [] if whole or not found else ["the tolerances of the file could not be tied to all faces"]
    bare = sum(limit.value is None and limit.upper is None and limit.lower is None for limit in found)
    if bare:
        out.append(f"{bare} of the file's {len(found)} limits carry no value (they are only drawn)")
    return tuple(out)


def _dimensions(known: Aspects) -> list[ModelLimit]:
    file = known.file
    items: dict[int, tuple[Any, ...]] = {}
    for number in file.of("DIMENSIONAL_CHARACTERISTIC_REPRESENTATION"):
        pair = file.values(number, "DIMENSIONAL_CHARACTERISTIC_REPRESENTATION")
        listed = file.values(pair[1], "SHAPE_DIMENSION_REPRESENTATION", "REPRESENTATION") if len(pair) == 2 else ()
        if len(listed) > 1 and isinstance(listed[1], tuple) and isinstance(pair[0], Ref):
            items[int(pair[0])] = listed[1]
    ranges = {int(pair[1]): pair[0] for number in file.of("PLUS_MINUS_TOLERANCE")
              if len(pair := file.values(number, "PLUS_MINUS_TOLERANCE")) == 2 and isinstance(pair[1], Ref)}
    return [_dimension(known, number, items.get(number, ()), ranges.get(number))
            for number in file.of(*SIZES, *LOCATIONS)]


def _dimension(known: Aspects, number: int, items: tuple[Any, ...], allowed: Any) -> ModelLimit:
    kind, ends = _which(known, number)
    values, texts = _items(known.file, items)
    size = values.get("nominal value") or values.get("")
    value, unit = size if size is not None else (None, "degrees" if kind == "angle" else "mm")
    upper, lower = (values[name][0] if name in values else None for name in ("upper limit", "lower limit"))
    if allowed is not None:
        more, fit = _allowed(known.file, allowed)
        texts += [fit] if fit else []
        if value is not None and more is not None:
            lower, upper = round(value + more[0], aspects.DIGITS), round(value + more[1], aspects.DIGITS)
    upper = value if "maximum" in texts and upper is None else upper
    lower = value if "minimum" in texts and lower is None else lower
    if not any(ends):
        ends = _which(known, number, known.beside)[1]
        texts += ["on edges"] if any(ends) else []
    faces = tuple(sorted({face for end in ends for face in end}))
    return ModelLimit(kind, faces, value or None, upper, lower, (), unit, ", ".join(texts),
                      ends if len(ends) == 2 else ())


def _which(known: Aspects, number: int, faces_of: Finder | None = None) -> tuple[str, tuple[tuple[int, ...], ...]]:
    """The kind of a dimension, and the faces of its one aspect or of its two ends."""
    faces_of = faces_of or known.faces
    file, record = known.file, known.file.record(number)
    angle = any(word.startswith("ANGULAR") for word in record)
    if not record.keys().isdisjoint(LOCATIONS):
        words = (*LOCATIONS, "SHAPE_ASPECT_RELATIONSHIP")
        values = next((v for word in words if len(v := record.get(word, ())) >= 4), ())
        name, ends = (values[0], tuple(faces_of(end) for end in values[2:4])) if values else ("", ())
    else:
        values = next((v for word in ("DIMENSIONAL_SIZE", *SIZES) if len(v := file.values(number, word)) >= 2), ())
        name, ends = (values[1], (faces_of(values[0]),)) if values else ("", ())
    name = name.strip().lower() if isinstance(name, str) else ""
    return "angle" if angle else _KINDS.get(name, name.replace(" ", "_")), ends


def _items(file: Exchange, items: tuple[Any, ...]) -> tuple[dict[str, tuple[float, str]], list[str]]:
    """The measures of a dimension by their names, without those that are 0; and what is noted beside them."""
    values: dict[str, tuple[float, str]] = {}
    texts: list[str] = []
    for item in items:
        record = file.record(item)
        note = record.get("DESCRIPTIVE_REPRESENTATION_ITEM")
        if note is not None:
            texts += [_NOTES.get(note[-1], note[-1])] if note and isinstance(note[-1], str) and note[-1] else []
            continue
        given = aspects.measure(file, item)
        named = record.get("REPRESENTATION_ITEM") or record.get("MEASURE_REPRESENTATION_ITEM") or ("",)
        name = named[0].strip().lower() if isinstance(named[0], str) else ""
        if given is not None and (given[0] != 0.0 or "limit" in name):
            values.setdefault(name, given)
        texts += _qualified(file, record)
    return values, texts


def _qualified(file: Exchange, record: dict[str, tuple[Any, ...]]) -> list[str]:
    given = record.get("QUALIFIED_REPRESENTATION_ITEM", ())
    listed = given[0] if given and isinstance(given[0], tuple) else ()
    words = [file.values(one, "TYPE_QUALIFIER") for one in listed]
    return [word[0].lower() for word in words if word and isinstance(word[0], str) and word[0].lower() != "average"]


def _allowed(file: Exchange, allowed: Any) -> tuple[tuple[float, float] | None, str]:
    """(lower, upper) deviation of a tolerance value, or the letters of a fit."""
    fit = file.values(allowed, "LIMITS_AND_FITS")
    if fit:
        return None, "".join(part for part in (fit[0], fit[2] if len(fit) > 2 else "") if isinstance(part, str))
    ends = [aspects.measure(file, end) for end in file.values(allowed, "TOLERANCE_VALUE")]
    if len(ends) != 2 or ends[0] is None or ends[1] is None:
        return None, ""
    low, high = sorted((ends[0][0], ends[1][0]))
    return (low, high), ""


def _tolerances(known: Aspects) -> list[ModelLimit]:
    file = known.file
    forms = _zone_forms(file)
    numbers = file.of("GEOMETRIC_TOLERANCE", *TOLERANCES)
    return [_tolerance(known, number, forms.get(number, "")) for number in numbers]


def _zone_forms(file: Exchange) -> dict[int, str]:
    """The forms of tolerance zones, by tolerance."""
    out: dict[int, str] = {}
    for number in file.of("TOLERANCE_ZONE"):
        values = file.values(number, "TOLERANCE_ZONE")
        form = file.values(values[-1], "TOLERANCE_ZONE_FORM") if values else ()
        for tolerance in values[-2] if len(values) > 1 and isinstance(values[-2], tuple) else ():
            if isinstance(tolerance, Ref) and form and isinstance(form[0], str):
                out[int(tolerance)] = form[0]
    return out


def _tolerance(known: Aspects, number: int, form: str) -> ModelLimit:
    file, record = known.file, known.file.record(number)
    word = next((word for word in TOLERANCES if word in record), "GEOMETRIC_TOLERANCE")
    values = record.get("GEOMETRIC_TOLERANCE") or record.get(word) or ()
    given = aspects.measure(file, values[2]) if len(values) > 2 else None
    letters, notes = _letters(file, (*values[4:], *record.get("GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE", ())))
    texts = [values[0]] if values and isinstance(values[0], str) and values[0] else []
    texts += ["cylindrical zone" if form.startswith("cylindrical") else form] if form else []
    texts += [f"at {each}" if "material" in each else each
              for each in aspects.modifiers(record.get("GEOMETRIC_TOLERANCE_WITH_MODIFIERS", ()))]
    texts += [f"{said} {more[0]:.6g} {more[1]}" for name, said in _MORE.items()
              if (more := aspects.measure(file, next(iter(record.get(name, ())), None))) is not None]
    faces = _toleranced(known, values[3]) if len(values) > 3 else ()
    value, unit = given if given is not None else (None, "mm")
    return ModelLimit(TOLERANCES.get(word, "tolerance"), faces, value or None, datums=letters, unit=unit,
                      text=", ".join([*texts, *notes]))


_MORE = {
    "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE": "unequally disposed by",
    "GEOMETRIC_TOLERANCE_WITH_MAXIMUM_TOLERANCE": "at most",
    "GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT": "on each",
}


def _letters(file: Exchange, values: Sequence[Any]) -> tuple[tuple[str, ...], list[str]]:
    """The datums among the last values of a tolerance."""
    letters: list[str] = []
    notes: list[str] = []
    for system in [item for value in values for item in (value if isinstance(value, tuple) else (value,))]:
        more, said = aspects.datum_letters(file, system)
        letters, notes = letters + list(more), notes + said
    return tuple(letters), notes


def _toleranced(known: Aspects, aspect: Any) -> tuple[int, ...]:
    """The faces of an aspect, or of the dimension that a tolerance is written under."""
    record = known.file.record(aspect)
    if not record.keys().isdisjoint((*SIZES, *LOCATIONS)):
        return tuple(sorted({face for end in _which(known, int(aspect))[1] for face in end}))
    return known.faces(aspect) or known.beside(aspect)


def job_limits(part: Part) -> dict[str, dict[str, Any]]:
    """The file's limits as plain data that a job can be started from, by a name of their own.

    Only what has numbers to hold: sizes with an upper and lower limit, and geometric tolerances. `kind` is as
    in `ModelLimit`; `size` and `tolerance` (lower and upper deviation, or 0 and the width of the zone) in `unit`.
    """
    out: dict[str, dict[str, Any]] = {}
    for limit in part.limits:
        bounds = _bounds(limit)
        if bounds is None or not limit.faces:
            continue
        count = 1 + sum(name.rpartition("-")[0] == limit.kind for name in out)
        size = None if limit.kind in TOLERANCES.values() else limit.value
        out[f"{limit.kind}-{count}"] = {
            "kind": limit.kind, "faces": limit.faces, "between": limit.between, "size": size, "tolerance": bounds,
            "datums": limit.datums, "unit": limit.unit, "text": limit.text,
        }
    return out


def _bounds(limit: ModelLimit) -> tuple[float, float] | None:
    if limit.value is None:
        return None
    if limit.kind in TOLERANCES.values():
        return 0.0, limit.value
    if limit.upper is None or limit.lower is None:
        return None
    low, high = (round(end - limit.value, aspects.DIGITS) for end in (limit.lower, limit.upper))
    return low, high


def add(part: Part, found: Told) -> Part:
    """The part with the limits, datums and remarks of its file."""
    return replace(part, limits=found.limits, datums=found.datums, remarks=(*part.remarks, *found.remarks))
