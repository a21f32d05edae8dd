"""What would help each size, kept by all that it stands on: checked in full once, told again at once."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, Final

from ..checks.base import Case
from .cures import Cure
from .findings import Findings, write_atomically
from .keys import said, sources_digest
from .rechecked import in_full
from .sizes import Size, sizes_of

FOLDER: Final = "cures"


def sizes_in_full(
    cases: Sequence[Case], findings: Findings, folder: Path | None, progress: Callable[[str, float], None]
) -> tuple[Size, ...]:
    """Every limit of a job as it will come out, with what would help, each change of the route checked in full.

    Args:
        cases: of a walk.
        findings: the store that full checks go through.
        folder: where what would help is kept between runs; None for nowhere.
        progress: told what is under way.
    """
    file = folder / FOLDER / f"{_key(cases, findings)}.json" if folder is not None and cases else None
    known = _read(file)
    if known is not None:
        plain = sizes_of(cases, findings.belief, cures=False)
        if {size.name for size in plain} == set(known):
            return tuple(replace(size, cures=known[size.name]) for size in plain)
    progress("looking at each size", 0.0)
    looked = sizes_of(cases, findings.belief)
    found = tuple(in_full(size, cases, findings, _after(progress, k / len(looked))) for k, size in enumerate(looked))
    if file is not None:
        _write(file, found)
    return found


def _after(progress: Callable[[str, float], None], done: float) -> Callable[[str, float], None]:
    """Tells how many of the sizes are done."""
    return lambda what, _: progress(what, done)


def _key(cases: Sequence[Case], findings: Findings) -> str:
    """Of everything that a size and a change of the route are reckoned from."""
    first = cases[0]
    hasher = hashlib.blake2b(f"{sources_digest()}|{findings.belief.digest}".encode(), digest_size=16)
    for piece in (first.job, first.route, first.shop):
        hasher.update(said(piece).encode() + b"\0")
    for name, part in sorted(first.parts.items()):
        hasher.update(f"{name}|{part.sha256}|".encode())
    for case in cases:
        if case.windows is not None:
            hasher.update(case.windows.digest)
        if case.run is not None:
            hasher.update(case.run.as_text().encode())
    return hasher.hexdigest()


def _read(file: Path | None) -> dict[str, tuple[Cure, ...]] | None:
    """What was kept; None where there is nothing, or half a file."""
    if file is None or not file.is_file():
        return None
    try:
        raw: dict[str, list[dict[str, Any]]] = json.loads(file.read_bytes())
        return {name: tuple(_cure(each) for each in cures) for name, cures in raw.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return None


def _cure(raw: dict[str, Any]) -> Cure:
    return Cure(**{**raw, "edits": tuple((path, value) for path, value in raw["edits"])})


def _write(file: Path, sizes: Sequence[Size]) -> None:
    """The newest alone is kept: a route that is changed back is checked from its findings."""
    file.parent.mkdir(parents=True, exist_ok=True)
    for old in file.parent.glob("*.json"):
        old.unlink(missing_ok=True)
    raw = {size.name: [asdict(cure) for cure in size.cures] for size in sizes}
    write_atomically(file, json.dumps(raw).encode())
