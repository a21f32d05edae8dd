"""TOML files that people write: read, validated, and every mistake told with file, line and key."""

from __future__ import annotations

import os
import re
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError, ValidationInfo

from .errors import FileError, TomlError, UnitError


class Written(BaseModel):
    """Base of everything that people write in TOML: frozen, and no key is ignored.

    A form is built when the first one of it is read: a quick answer reads few.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True, allow_inf_nan=False,
                              defer_build=True)


W = TypeVar("W", bound=Written)

#: validation context for what the program itself kept: numbers are in their kept unit, and need no text
KEPT: Final = {"kept": True}


def own(model: type[W], /, **values: object) -> W:
    """A thing of the program's own making, in its kept units and kinds: it is not looked at, nor is its form built,
    which takes longer than a quick answer has. What a person wrote goes through `validate`.
    """
    return model.model_construct(**values)  # type: ignore[arg-type]


def kept(info: ValidationInfo) -> bool:
    """Whether what is validated was dumped by the program, not written by a person."""
    return bool(info.context and info.context.get("kept"))


def read_text(path: Path) -> str:
    """The text of a file; FileError if it is missing, a folder or not text."""
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise FileError("there is no such file", where=str(path), right="check the name") from None
    except (IsADirectoryError, PermissionError) as error:
        raise FileError(f"cannot be read: {error.strerror}", where=str(path)) from None
    except UnicodeDecodeError:
        raise FileError("is not a text file", where=str(path), right="TOML is text in UTF-8") from None


def write_text(path: Path, text: str) -> None:
    """Write a file all or not at all: beside it, then put in its place.

    Raises:
        FileError: if it cannot be written.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise FileError(f"cannot be written: {error.strerror}", where=str(path)) from None


def read_table(path: Path) -> dict[str, Any]:
    """The table in a TOML file, not yet validated.

    Raises:
        FileError: if it cannot be read.
        TomlError: if it is not TOML; the message names the line.
    """
    return parse_table(read_text(path), str(path))


def parse_table(text: str, name: str) -> dict[str, Any]:
    """The table in a TOML text; `name` stands in messages for the file."""
    import tomllib

    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"at line (\d+), column (\d+)", str(error))
        place = f"{name}, line {found[1]}" if found else name
        what = re.sub(r" \(at .*\)$", "", str(error))
        right = 'text stands in quotes, as "12 mm"' if what == "Invalid value" else "see toml.io"
        raise TomlError(what, where=place, right=right) from None


def load(path: Path, model: type[W]) -> W:
    """Read and validate a whole file.

    Raises:
        FileError: if it cannot be read.
        TomlError: naming file, line and key, what is wrong and what would be right.
    """
    text = read_text(path)
    return validate(parse_table(text, str(path)), model, text, str(path))


def validate(table: dict[str, Any], model: type[W], text: str, name: str, at: tuple[str, ...] = ()) -> W:
    """Validate a table that stands at the dotted key `at` of the text of file `name`."""
    try:
        return model.model_validate(table)
    except UnitError as error:
        raise TomlError(error.what, where=place_of(name, text, at) if at else name, right=error.right) from None
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        within = _as_written(table, first["loc"])
        raise TomlError(
            _what(first), where=place_of(name, text, (*at, *within)), right=_right(first["type"], within, model)
        ) from None


def _as_written(table: Any, loc: tuple[Any, ...]) -> tuple[str, ...]:
    """The keys of an error's place; the tag of a kind, which validation puts in between, is nobody's key."""
    keys, here = [], table
    for step, following in zip(loc, (*loc[1:], None)[:len(loc)], strict=True):     # of a whole table none
        inner = here.get(step) if isinstance(here, dict) else None
        if isinstance(here, dict) and isinstance(following, str) and not isinstance(inner, dict | list):
            continue
        keys.append(str(step))
        here = here[step] if isinstance(here, list) and isinstance(step, int) and step < len(here) else inner
    return tuple(keys)


def _what(error: Any) -> str:
    kind, key = error["type"], error["loc"][-1] if error["loc"] else ""
    if kind == "extra_forbidden":
        return f"there is no key {key!r} here"
    if kind == "missing":
        return f"{key!r} is missing"
    if kind == "literal_error":
        return f"{key} is none of {error['ctx']['expected'].replace(' or ', ', ')}: {error['input']!r}"
    message = re.sub(r"^(Value|Assertion) error, ", "", error["msg"])
    return f"{message}" if isinstance(error["input"], dict) else f"{message}: {error['input']!r}"


def _right(kind: str, keys: tuple[str, ...], model: type[BaseModel]) -> str:
    if kind != "extra_forbidden":
        return ""
    from difflib import get_close_matches  # loaded where there is a mistake

    known = _keys_at(model, keys[:-1])
    close = get_close_matches(keys[-1], known, n=1)
    if close:
        return f"did you mean {close[0]!r}?"
    return f"known: {', '.join(known)}" if known else ""


def _keys_at(model: type[BaseModel], path: tuple[str, ...]) -> list[str]:
    """The keys that the model knows at a path; where it may be one of several models, those of all."""
    models = [model]
    for step in path:
        fields = [m.model_fields[step].annotation for m in models if step in m.model_fields]
        if fields:
            models = [inner for field in fields for inner in _models_in(field)]
    return list(dict.fromkeys(key for m in models for key in m.model_fields))


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for part in getattr(annotation, "__args__", ()) for m in _models_in(part)]


def place_of(name: str, text: str, keys: tuple[str, ...]) -> str:
    """File, line and dotted key, as every message names a place."""
    line = line_of(text, keys)
    dotted = ".".join(keys)
    return f"{name}, line {line}, {dotted}" if line else f"{name}, {dotted}"


_KEY: Final = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_DOTTED: Final = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_HEADER: Final = re.compile(rf"^\s*(\[\[?)\s*({_DOTTED})\s*\]\]?\s*(?:#.*)?$")
_ASSIGNED: Final = re.compile(rf"^\s*({_DOTTED})\s*=")


def line_of(text: str, keys: tuple[str, ...]) -> int | None:
    """The line (from 1) where a dotted key, or the nearest table above it, is written."""
    written = _written(text)
    return next((written[keys[:deep]] for deep in range(len(keys), 0, -1) if keys[:deep] in written), None)


@lru_cache(maxsize=8)
def _written(text: str) -> dict[tuple[str, ...], int]:
    """The first line that opens each table or sets each key, by the dotted key that it stands for."""
    out: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    counts: dict[tuple[str, ...], int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = _split(header[2])
            if header[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                table = (*table, str(counts[table]))
            out.setdefault(table, number)
        elif assigned := _ASSIGNED.match(line):
            out.setdefault((*table, *_split(assigned[1])), number)
    return out


def _split(dotted: str) -> tuple[str, ...]:
    return tuple(piece.strip("\"'") for piece in re.findall(_KEY, dotted))
