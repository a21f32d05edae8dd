"""TOML files that people write: read, validated, and every mistake told with file, line and key."""

from __future__ import annotations

import re
import tomllib
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError, ValidationInfo

from .errors import FileError, TomlError


class Written(BaseModel):
    """Base of everything that people write in TOML: frozen, and no key is ignored."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


W = TypeVar("W", bound=Written)

#: validation context for what the program itself kept: numbers are in their kept unit, and need no text
KEPT: Final = {"kept": True}


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


def read_table(path: Path) -> dict[str, Any]:
    """The table in a TOML file, not yet validated.

    Raises:
        FileError: if it cannot be read.
        TomlError: if it is not TOML; the message names the line.
    """
    return parse_table(read_text(path), str(path))


def parse_table(text: str, name: str) -> dict[str, Any]:
    """The table in a TOML text; `name` stands in messages for the file."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"at line (\d+), column (\d+)", str(error))
        place = f"{name}, line {found[1]}" if found else name
        raise TomlError(re.sub(r" \(at .*\)$", "", str(error)), where=place, right="see toml.io") from None


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
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        keys = (*at, *(str(k) for k in first["loc"]))
        raise TomlError(
            _what(first), where=_place(name, text, keys), right=_right(first, model)
        ) from None


def _what(error: Any) -> str:
    kind, key = error["type"], error["loc"][-1] if error["loc"] else ""
    if kind == "extra_forbidden":
        return f"there is no key {key!r} here"
    if kind == "missing":
        return f"{key!r} is missing"
    message = re.sub(r"^(Value|Assertion) error, ", "", error["msg"])
    return f"{message}" if isinstance(error["input"], dict) else f"{message}: {error['input']!r}"


def _right(error: Any, model: type[BaseModel]) -> str:
    if error["type"] != "extra_forbidden":
        return ""
    known = _keys_at(model, error["loc"][:-1])
    close = get_close_matches(str(error["loc"][-1]), known, n=1)
    if close:
        return f"did you mean {close[0]!r}?"
    return f"known: {', '.join(known)}" if known else ""


def _keys_at(model: Any, path: tuple[Any, ...]) -> list[str]:
    """The keys that the model knows at a path, as far as models can be followed."""
    for step in path:
        fields = getattr(model, "model_fields", {})
        if step in fields:
            model = fields[step].annotation
        models = _models_in(model)
        if not models:
            return []
        model = models[0]
    return list(getattr(model, "model_fields", {}))


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for part in getattr(annotation, "__args__", ()) for m in _models_in(part)]


def _place(name: str, text: str, keys: tuple[str, ...]) -> str:
    line = line_of(text, keys)
    dotted = ".".join(keys)
    return f"{name}, line {line}, {dotted}" if line else f"{name}, {dotted}"


def line_of(text: str, keys: tuple[str, ...]) -> int | None:
    """The line (from 1) where a dotted key, or the nearest table above it, is written."""
    best, best_depth = None, 0
    table: tuple[str, ...] = ()
    counts: dict[tuple[str, ...], int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        header = re.match(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$", line)
        if header:
            table = _split(header[2])
            if header[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                table = (*table, str(counts[table]))
            here = table
        else:
            assigned = re.match(r"^\s*([A-Za-z0-9_\-.\"']+)\s*=", line)
            if not assigned:
                continue
            here = (*table, *_split(assigned[1]))
        depth = len(here)
        if keys[:depth] == here and depth > best_depth:
            best, best_depth = number, depth
    return best


def _split(dotted: str) -> tuple[str, ...]:
    return tuple(piece.strip().strip("\"'") for piece in dotted.split("."))
