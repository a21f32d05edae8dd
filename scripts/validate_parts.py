"""Writes the section on parts of docs/validation.md: labelled cubes, cubes made here, models of a standards body.

    python scripts/validate_parts.py --models FOLDER [--made 200] [--write]

FOLDER holds labelled.zip, labelled.json and nist_ctc_*.stp. Without --write the section is only printed.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import math
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import made_parts
import made_shapes

from firstoff.part import build, judging
from firstoff.part.shapes import Feature, ModelLimit, Part
from firstoff.part.vectors import cross, dot, norm, sub

DOCS = Path(__file__).resolve().parents[1] / "docs" / "validation.md"
BEGIN, END = "<!-- begin parts -->", "<!-- end parts -->"
SAME = 0.02                              # within which a size of ours is the file's [mm]
INTRODUCTION = """\
Face agreement is the share of faces whose class is the label's; a part is wholly right when all are. Stock is easy,
so the share without it stands beside. The labelled models are 10 mm cubes of a published set. The first rules were
made looking at one half of them (by the hash of the name), and kept the other aside; since slots that lean were
added, mismatches in both halves have been looked at. The order of the label numbers was established from the number
and slant of faces in both. The cubes made here have their features
at random places, so that they eat into one another much more; some have lost what would tell what they were.
The seeds counted here were not looked at in building."""
STANDARD = f"""\
Models of a standards body (AP242, public domain), beside the sizes that the file itself gives as semantic dimensions.
A diameter counts as found when a feature of ours that has one of its faces has that diameter (within {SAME} mm), as
bore, counterbore, countersink or step; a depth, width or other distance when such a feature has that size (or the
faces lie that far apart); an angle likewise. Dimensions that name no face, or none at one end, are left out. Seconds
are the processor's, of reading and recognising, after imports."""
MADE = """\
Parts made here with the kernel, of kinds that are made one at a time: each has all the features that it was given,
with their sizes, and no others, or it counts as wrong. The rules were mended until these were right, so this is
what they are held to, not a measure of how well they do on others."""
_KIND = {"diameter": "diameter", "distance": "distance", "thickness": "distance", "angle": "angle"}
_KEYS = ("diameter", "counterbore_diameter", "countersink_diameter", "far_countersink_diameter",
         "far_counterbore_diameter")


def main() -> None:
    """Judge, print, and with --write put the section in its place."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--models", type=Path, required=True)
    ask.add_argument("--made", type=int, default=200)
    ask.add_argument("--write", action="store_true")
    said = ask.parse_args()
    text = "\n".join([BEGIN, *section(said.models, said.made), END])
    print(text)
    if said.write:
        DOCS.write_text(placed(DOCS.read_text(encoding="utf-8") if DOCS.exists() else "", text), encoding="utf-8")


def placed(page: str, text: str) -> str:
    """The page with this section in place of its last version."""
    if BEGIN in page and END in page:
        return page[: page.index(BEGIN)] + text + page[page.index(END) + len(END):]
    return (page or "# Validation\n") + "\n" + text + "\n"


def section(models: Path, made: int) -> list[str]:
    """The section's lines."""
    looked_at, aside = labelled(models)
    few, many = (list(made_parts.judged(30_000, made, most)) for most in (3, 5))
    sets = {
        "labelled, looked at in building": looked_at, "labelled, kept aside at first": aside,
        "made here, 2 or 3 features": few, "made here, 2 to 5 features": many,
    }
    return [
        "## Parts: features from faces", "",
        *INTRODUCTION.splitlines(), "",
        "| set | parts | faces | agreement | without stock | wholly right |", "|---|---|---|---|---|---|",
        *(_row(name, scores) for name, scores in sets.items()), "",
        "Recall by class, faces found of faces there:", "",
        "| class | " + " | ".join(sets) + " |", "|---|" + "---|" * len(sets), *_recalls(sets), "",
        *standard_models(models), "", *MADE.splitlines(), "", *shapes_made(),
    ]


def labelled(models: Path) -> tuple[list[judging.Score], list[judging.Score]]:
    """The scores of the labelled models in two halves, by the hash of the name."""
    labels = json.loads((models / "labelled.json").read_text(encoding="utf-8"))["models"]
    halves: tuple[list[judging.Score], list[judging.Score]] = ([], [])
    with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(models / "labelled.zip") as packed:
        for name in sorted(packed.namelist()):
            part = build.digest(Path(packed.extract(name, folder)))
            numbers = labels[part.name]["labels_by_face_id"]
            wanted = {face.number: judging.CLASSES[numbers[int(face.label)]] for face in part.faces}
            half = int(hashlib.sha256(part.name.encode()).hexdigest(), 16) % 2
            halves[half].append(judging.score(part.name, part.faces, part.features, wanted))
    return halves


def _row(name: str, scores: list[judging.Score]) -> str:
    faces = sum(len(score.pairs) for score in scores)
    cut = [pair for score in scores for pair in score.pairs if pair[0] != "stock"]
    share = sum(label == ours for label, ours in cut) / max(len(cut), 1)
    return (f"| {name} | {len(scores)} | {faces} | {judging.agreement(scores):.1%} | {share:.1%} "
            f"| {judging.wholly_right(scores):.0%} |")


def _recalls(sets: dict[str, list[judging.Score]]) -> Iterable[str]:
    tables = [judging.recall(scores) for scores in sets.values()]
    for name in judging.CLASSES:
        cells = ["{} of {}".format(*table[name]) if name in table else "none there" for table in tables]
        yield f"| {name.replace('_', ' ')} | " + " | ".join(cells) + " |"


def standard_models(models: Path) -> list[str]:
    """The table of the standards body's models: holes by kind, and the file's own diameters beside ours."""
    lines = [
        *STANDARD.splitlines(), "",
        "| model | faces | not understood | holes by kind | diameters found | distances | angles | not found | s |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for path in sorted(models.glob("nist_ctc_*.stp")):
        start = time.process_time()
        part = build.digest(path)
        seconds = time.process_time() - start
        kinds = Counter(hole_kind(f) for f in part.features if f.kind == "hole")
        lost = sum(len(f.faces) for f in part.features if f.kind == "not_understood")
        sizes = {kind: dimensions(part, kind) for kind in ("diameter", "distance", "angle")}
        names = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
        cells = " | ".join(f"{len(found)} of {len(found) + len(missed)}" for found, missed in sizes.values())
        missing = ", ".join(f"{kind} {m:g}" for kind, (_, missed) in sizes.items() for m in missed) or "none"
        lines.append(f"| {path.stem.split('_asme')[0]} | {len(part.faces)} | {lost} | {names} | {cells} | {missing} "
                     f"| {seconds:.1f} |")
    return lines


def shapes_made() -> list[str]:
    """How many of the parts of `made_shapes` are wholly right, and what is wrong of the others."""
    wrong: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        for name, (make, wanted) in made_shapes.SHAPES.items():
            path = Path(folder) / "part.step"
            made_shapes.write(make(), path)
            lacks = made_shapes.missing(build.digest(path).features, wanted)
            wrong += [f"- {name}: {'; '.join(lacks)}"] if lacks else []
    count = len(made_shapes.SHAPES)
    return [f"{count - len(wrong)} of {count} wholly right: {'; '.join(made_shapes.SHAPES)}.", *wrong]


def hole_kind(feature: Feature) -> str:
    """What a drawing would call the hole."""
    words = ["through" if feature.through else "blind"]
    words += [word for word in ("counterbored", "countersunk")
              if any(key.startswith(word.replace("ed", "e").replace("sunk", "sink")[:11]) for key in feature.size)]
    return " ".join(words)


def dimensions(part: Part, kind: str) -> tuple[list[float], list[float]]:
    """The sizes of one kind that the file itself gives: those that our features have, and those that they lack."""
    owner = {n: feature for feature in part.features for n in feature.faces}
    found: list[float] = []
    missed: list[float] = []
    for limit in part.limits:
        named = all(limit.between) if limit.between else bool(limit.faces)
        if limit.value is None or not named or _KIND.get(limit.kind) != kind:
            continue
        features = [owner[n] for n in limit.faces]
        sizes = _diameters(part, features) if kind == "diameter" else _sizes(features, kind)
        sizes += _between(part, limit, kind)
        right = any(abs(size - limit.value) < SAME for size in sizes)
        (found if right else missed).append(limit.value)
    return found, missed


def _diameters(part: Part, features: list[Feature]) -> list[float]:
    told = [feature.size[key] for feature in features for key in _KEYS if key in feature.size]
    return told + [2 * (part.faces[n].radius or 0.0) for feature in features for n in feature.faces]


def _sizes(features: list[Feature], kind: str) -> list[float]:
    """The lengths that features tell, without diameters; or their angles [mm, degrees]."""
    return [value for feature in features for key, value in feature.size.items()
            if key.endswith("angle") == (kind == "angle") and "diameter" not in key]


def _between(part: Part, limit: ModelLimit, kind: str) -> list[float]:
    """How far apart, or at what angle, the faces of a dimension stand, one end from the other [mm, degrees]."""
    out: list[float] = []
    ends = limit.between or ((limit.faces, limit.faces) if limit.kind == "thickness" else ((), ()))
    for one, other in ((part.faces[a], part.faces[b]) for a in ends[0] for b in ends[1]):
        cosine = abs(dot(one.normal, other.normal))
        if kind == "angle":
            angle = math.degrees(math.acos(min(cosine, 1.0)))
            out += [angle, 180.0 - angle]
        elif one.axis is not None and one.axis_point is not None and other.axis_point is not None:
            out.append(norm(cross(sub(other.axis_point, one.axis_point), one.axis)))
        else:
            out.append(abs(dot(sub(other.centroid, one.centroid), one.normal)))
    return out


if __name__ == "__main__":
    main()
