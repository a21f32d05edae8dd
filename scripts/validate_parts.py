"""Writes the section on parts of docs/validation.md: labelled cubes, cubes made here, models of a standards body.

    python scripts/validate_parts.py --models FOLDER [--made 200] [--write]

FOLDER holds labelled.zip, labelled.json and nist_ctc_*.stp. Without --write the section is only printed.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import made_parts

from firstoff.part import build, judging
from firstoff.part.shapes import Feature, Part

DOCS = Path(__file__).resolve().parents[1] / "docs" / "validation.md"
BEGIN, END = "<!-- begin parts -->", "<!-- end parts -->"
SAME = 0.02                              # within which a size of ours is the file's [mm]
INTRODUCTION = """\
Face agreement is the share of faces whose class is the label's; a part is wholly right when all are. Stock is easy,
so the share without it stands beside. The labelled models are 10 mm cubes of a published set. The present rules were
made looking at one half of them (by the hash of the name); an earlier version was tried on both, and the order of the
label numbers was established from the number and slant of faces in both. The cubes made here have their features
at random places, so that they eat into one another much more; some have lost what would tell what they were.
The seeds counted here were not looked at in building."""
STANDARD = f"""\
Models of a standards body (AP242, public domain). A diameter of the file counts as found when a face that it names
lies in a feature of ours with that diameter (within {SAME} mm), as bore, counterbore, countersink or step; those
that name no face are left out. Seconds are the processor's, of reading and recognising, after imports."""
_KEYS = ("diameter", "counterbore_diameter", "countersink_diameter", "far_countersink_diameter")


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
    few, many = (list(made_parts.judged(10_000, made, most)) for most in (3, 5))
    sets = {
        "labelled, looked at in building": looked_at, "labelled, kept aside": aside,
        "made here, 2 or 3 features": few, "made here, 2 to 5 features": many,
    }
    return [
        "## Parts: features from faces", "",
        *INTRODUCTION.splitlines(), "",
        "| set | parts | faces | agreement | without stock | wholly right |", "|---|---|---|---|---|---|",
        *(_row(name, scores) for name, scores in sets.items()), "",
        "Recall by class, faces found of faces there:", "",
        "| class | " + " | ".join(sets) + " |", "|---|" + "---|" * len(sets), *_recalls(sets), "",
        *standard_models(models),
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
        "| model | faces | not understood | holes by kind | diameters found | not found | s |",
        "|---|---|---|---|---|---|---|",
    ]
    for path in sorted(models.glob("nist_ctc_*.stp")):
        start = time.process_time()
        part = build.digest(path)
        seconds = time.process_time() - start
        kinds = Counter(hole_kind(f) for f in part.features if f.kind == "hole")
        lost = sum(len(f.faces) for f in part.features if f.kind == "not_understood")
        found, missed = diameters(part)
        names = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
        name, given = path.stem.split("_asme")[0], len(found) + len(missed)
        lines.append(f"| {name} | {len(part.faces)} | {lost} | {names} | {len(found)} of "
                     f"{given} | {', '.join(f'{m:g}' for m in missed) or 'none'} | {seconds:.1f} |")
    return lines


def hole_kind(feature: Feature) -> str:
    """What a drawing would call the hole."""
    words = ["through" if feature.through else "blind"]
    words += [word for word in ("counterbored", "countersunk")
              if any(key.startswith(word.replace("ed", "e").replace("sunk", "sink")[:11]) for key in feature.size)]
    return " ".join(words)


def diameters(part: Part) -> tuple[list[float], list[float]]:
    """The diameters that the file itself gives: those that our features have, and those that they have not."""
    owner = {n: feature for feature in part.features for n in feature.faces}
    found: list[float] = []
    missed: list[float] = []
    for limit in part.limits:
        if limit.kind != "diameter" or limit.value is None:
            continue
        if not limit.faces:
            continue                     # said of no face: nothing to compare with
        sizes = {owner[n].size.get(key) for n in limit.faces for key in _KEYS}
        sizes |= {2 * (part.faces[m].radius or 0.0) for n in limit.faces for m in owner[n].faces}
        right = any(size is not None and abs(size - limit.value) < SAME for size in sizes)
        (found if right else missed).append(limit.value)
    return found, missed


if __name__ == "__main__":
    main()
