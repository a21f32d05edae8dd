"""What must come right and what goes together, written into a job from a page: limits, joints, threads, pieces."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from .errors import FileError, FirstoffError, InputError, NameUnknown
from .job.faces import DIRECTIONS, outermost
from .job.models import Job
from .job.possible import job_names_exist
from .job.reading import JOB_FILE, load_job
from .shop.library import load_shop

NAME: Final = re.compile("[a-z][a-z0-9_]{0,30}")
#: blanks that hold several things, separated by commas
_LISTS: Final = frozenset({"between", "gains", "thickness", "arms"})
#: what can be written, and its blanks beside its name
BLANKS: Final[dict[str, tuple[str, ...]]] = {
    "limits": ("kind", "part", "between", "size", "tolerance", "piece", "gains", "instrument"),
    "joints": ("kind", "screw", "head", "grade", "through", "into", "number", "part", "thickness", "arms", "width",
               "hole", "angle", "gap", "way", "torque_by", "torque", "lubricated", "load_across", "load_along",
               "below", "wanted_force"),
    "threads": ("part", "thread"), "ream": ("part", "fit"),
    "bought": ("called", "measure", "size", "tolerance"),
}
Table = dict[str, Any]


@dataclass(frozen=True)
class Names:
    """What may be named in a limit or joint.

    Fields:
        faces: of each part: its sides, own names and features.
        holes: of each part.
        instruments: of the shop, by key.
    """

    faces: Mapping[str, tuple[str, ...]]
    holes: Mapping[str, tuple[str, ...]]
    instruments: Mapping[str, str]


def names(folder: Path, shop: Path | None = None) -> Names:
    """What may be named in the limits and joints of a job.

    Raises:
        InputError: if job, shop or a model cannot be read.
    """
    from .actions_start import place_of_shop
    from .part.reading import read

    job, stock = load_job(folder), load_shop(place_of_shop(folder, shop))
    faces, holes = {}, {}
    for name, wanted in job.parts.items():
        part = read(folder / wanted.model, folder / ".firstoff")
        sides = [side for side, way in DIRECTIONS.items() if outermost(part, way)]
        faces[name] = (*sides, *wanted.names, *(feature.id for feature in part.features))
        holes[name] = tuple(feature.id for feature in part.features if feature.kind == "hole")
    return Names(faces, holes, {key: one.name for key, one in stock.instruments.items()})


def add(folder: Path, what: str, said: Mapping[str, str], shop: Path | None = None) -> str:
    """Write a limit, a joint, a thread, a fit or a bought-in piece into a job; all else in its file stays.

    Args:
        folder: of the job.
        what: limits, joints, threads, ream or bought.
        said: its name, and texts by blank; an empty one is left out.
        shop: another shop than the job names.

    Returns:
        Its name.

    Raises:
        InputError: naming the blank in `where`; nothing is changed then.
    """
    if what not in BLANKS:
        raise NameUnknown(f"nothing is written under {what!r}", right=", ".join(BLANKS))
    filled = {key: text.strip() for key, text in said.items() if key in BLANKS[what] and text.strip()}
    name = said.get("name", "").strip()
    if what in ("threads", "ream"):
        return _write(folder, shop, lambda doc: _in_hole(doc, what, name, filled))
    if not NAME.fullmatch(name):
        raise InputError(f"{name!r} is no name for it" if name else "it has no name yet", where="name",
                         right="small letters, digits and _: body_height")
    table = _bought(filled) if what == "bought" else {key: _value(key, text) for key, text in filled.items()}

    def put(doc: Table) -> str:
        section = doc.setdefault(what, _section())
        if name in section:
            raise InputError(f"there is {name!r} already", where="name", right="another name, or take that one out")
        section[name] = table
        return name

    return _write(folder, shop, put)


def take_out(folder: Path, what: str, name: str, shop: Path | None = None) -> None:
    """Take a limit, a joint, a thread ("part.hole"), a fit or a piece out of a job.

    Raises:
        InputError: if there is none, or something else needs it; nothing is changed then.
    """
    def out(doc: Table) -> str:
        part, _, hole = name.partition(".")
        in_hole = what in ("threads", "ream")
        section = doc.get("parts", {}).get(part, {}).get(what, {}) if in_hole else doc.get(what, {})
        key = hole if in_hole else name
        if what not in BLANKS or key not in section:
            raise NameUnknown(f"there is no {name!r} under {what!r} in the job", where="name")
        del section[key]
        return name

    _write(folder, shop, out)


def _section() -> Any:
    import tomlkit

    return tomlkit.table(is_super_table=True)


def _value(key: str, text: str) -> Any:
    if key in _LISTS:
        pieces = [piece.strip() for piece in text.split(",") if piece.strip()]
        return [_number(piece, key) for piece in pieces] if key == "gains" else pieces
    if key == "number":
        if not text.isdecimal():
            raise InputError(f"{text!r} is no number of screws", where=key, right="4")
        return int(text)
    return text == "yes" if key == "lubricated" else text


def _number(text: str, where: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(f"{text!r} is no number", where=where, right="one for each pair of faces: 1, -2.5") from None


def _bought(filled: Mapping[str, str]) -> Table:
    """A bought-in piece: its name in words, and the size of it that matters."""
    table: Table = {"name": filled.get("called", "")}
    if not table["name"]:
        raise InputError("this has no name yet", where="called", right="dowels 4 mm m6, two")
    if "size" in filled:
        import tomlkit

        sizes = tomlkit.inline_table()
        sizes.append(filled.get("measure", "diameter"), filled["size"])
        table["size"] = sizes
    if "tolerance" in filled:
        table["tolerance"] = filled["tolerance"]
    return table


def _in_hole(doc: Table, what: str, hole: str, filled: Mapping[str, str]) -> str:
    """A thread or a fit of a hole of a part."""
    part, blank = filled.get("part", ""), "thread" if what == "threads" else "fit"
    if part not in doc.get("parts", {}):
        raise NameUnknown(f"no part {part!r} in the job", where="part", right=", ".join(doc.get("parts", {})))
    if blank not in filled:
        raise InputError("this must be filled", where=blank, right="M4 x 9 deep" if blank == "thread" else "H7")
    import tomlkit

    section = doc["parts"][part].setdefault(what, tomlkit.table())
    if hole in section:
        raise InputError(f"{hole!r} has one already", where="name", right="take that one out first")
    section[hole] = filled[blank]
    return f"{part}.{hole}"


def _write(folder: Path, shop: Path | None, change: Callable[[Table], str]) -> str:
    """The job's file changed and read again with its models; or as it was."""
    import tomlkit

    from .actions_start import place_of_shop
    from .part.reading import read

    file = folder / JOB_FILE
    if not file.is_file():
        raise FileError("there is no job here yet", where="name", right="keep a part first")
    before = file.read_text(encoding="utf-8")
    doc = tomlkit.parse(before)
    done = change(doc)
    file.write_text(tomlkit.dumps(doc), encoding="utf-8")
    try:
        job: Job = load_job(folder)
        stock = load_shop(place_of_shop(folder, shop))
        parts = {name: read(folder / wanted.model, folder / ".firstoff") for name, wanted in job.parts.items()}
        job_names_exist(job, stock, parts)
    except FirstoffError as error:
        file.write_text(before, encoding="utf-8")
        raise InputError(error.what, where=_blank(error), right=error.right) from None
    return done


def _blank(error: FirstoffError) -> str:
    """The blank that the place of an error in job.toml belongs to."""
    keys = [key for key in error.where.split(", ")[-1].split(".") if not key.isdecimal()]
    if {"threads", "ream"} & set(keys[:-1]):
        return "name" if isinstance(error, NameUnknown) else "thread" if "threads" in keys else "fit"
    if keys[:1] == ["limits"] and len(keys) == 2:       # of the limit as a whole
        words = ("zone", "between", "piece", "gains")
        found = next((word for word in words if word in error.what), "name")
        return "tolerance" if found == "zone" else found
    return "size" if "size" in keys[2:] else keys[-1] if keys else ""
