"""Edits of what is wanted: sizes, tolerances, stock and budget of `job.toml`, by dotted keys from "job." on."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

from ..errors import NameUnknown, TomlError
from ..tomlfile import read_text, write_text
from .edits import written_anew

ROOT: Final = "job."
_CAN: Final = re.compile(r"budget|limits\.([^.]+)\.(?:size|tolerance)|parts\.([^.]+)\.stock\.size\.[012]")
_ODDS: Final = re.compile(r"(?:about\s+)?(\d+(?:[.,]\d+)?)\s*(?:in\s+(\d+(?:[.,]\d+)?)|(%))?")
Edit = tuple[str, str]


def of_job(edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Those of the job, among edits of job and route."""
    return tuple(edit for edit in edits if edit[0].startswith(ROOT))


def of_route(edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Those of the route."""
    return tuple(edit for edit in edits if not edit[0].startswith(ROOT))


def applied(table: dict[str, Any], dotted: str, text: str) -> dict[str, Any]:
    """The table of `job.toml` with an edit.

    Args:
        table: as it was read; it is not changed.
        dotted: "job.budget", "job.limits.NAME.size", "job.limits.NAME.tolerance" or "job.parts.NAME.stock.size.0".
        text: what is to stand there.

    Raises:
        NameUnknown: if the job has nothing there that can be written anew.
        TomlError: if a budget is no chance.
    """
    key, where = dotted.removeprefix(ROOT), f"job.toml, {dotted}"
    found = _CAN.fullmatch(key)
    limit, part = found.groups() if found else (None, None)
    if found is None or (limit and limit not in table.get("limits", {})) or (
            part and part not in table.get("parts", {})):
        raise NameUnknown(f"there is no {dotted!r} in the job that can be written anew", where=where)
    anew: dict[str, Any] = written_anew(
        table, key.split("."), chance(text, where) if key == "budget" and text else text, where)
    return anew


def chance(text: str, where: str) -> float:
    """A chance as people write it: "1 in 20", "5 %", "0.05" [1].

    Raises:
        TomlError: if it is none.
    """
    found = _ODDS.fullmatch(text.strip())
    if not found:
        raise TomlError(f"{text!r} is no chance", where=where, right='written like "1 in 20", "5 %" or "0.05"')
    one, many = (float((found[k] or "1").replace(",", ".")) for k in (1, 2))
    return one / (100.0 if found[3] else many or 1.0)


def write(file: Path, edits: Iterable[Edit]) -> None:
    """Ink edits that were looked at before into `job.toml`, comments untouched.

    Raises:
        FileError: if it cannot be written.
    """
    import tomlkit

    doc: Any = tomlkit.parse(read_text(file))
    for dotted, text in edits:
        *above, last = dotted.removeprefix(ROOT).split(".")
        place = doc
        for step in above:
            place = place[step]
        if isinstance(place, list):
            place[int(last)] = text
        elif text:
            place[last] = chance(text, dotted) if last == "budget" else text
        else:
            place.pop(last, None)
    write_text(file, tomlkit.dumps(doc))
