"""Edits of a route: dotted keys of `route.toml` with values as text, as a person would write them.

A number in a key is a place in a list, from 0: "settings.body-1.datums.1". An empty text rubs the key out.
A key as short as `operations.NAME` or `settings.NAME` puts in a whole one, written as a table in one line; an empty
text takes it out.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from ..errors import FirstoffError, NameUnknown, TomlError, UnitError
from ..tomlfile import KEPT, Written
from ..units import parse, tell
from .route import Operation, Route, Setting

W = TypeVar("W", bound=Written)

_LENGTHS: Final = frozenset({
    "depth_of_cut", "width_of_cut", "peck_depth", "stickout", "removes", "leaves", "height",
    "grip_height", "stick_up", "parallels",
})
#: numbers of an operation that are changed most, and what they are of
_NUMBERS: Final[Mapping[str, str]] = {
    "cut.depth_of_cut": "length", "cut.width_of_cut": "length", "cut.peck_depth": "length",
    "cut.feed_per_tooth": "length", "cut.spindle_speed": "rotation", "stickout": "length",
}
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
LENGTH_TABLES: Final = frozenset({"stock_left"})        #: tables whose values are lengths


def as_text(path: str, value: object) -> str:
    """A kept value as the text that stands in `route.toml`.

    Args:
        path: dotted key; its last word says what the value is.
        value: in the route's kept unit, or already a text.
    """
    name = path.rpartition(".")[2]
    if not isinstance(value, int | float):
        return str(value)
    if name == "spindle_speed":
        return tell(float(value), "rotation")
    if name == "cooling":
        return tell(float(value), "time")
    if name == "feed_per_tooth":
        return tell(float(value), "length", decimals=6)      # so that the feed of the table stays what was asked
    if name in _LENGTHS:
        return tell(float(value), "length", decimals=4)
    return str(value)


def plain(path: str, value: object) -> Any:
    """A part of a route as it is written: tables, lists, and texts with units."""
    if isinstance(value, Mapping):
        if path.rpartition(".")[2] in LENGTH_TABLES:
            return {str(k): tell(float(v), "length", decimals=4) for k, v in value.items()}
        return {str(k): plain(f"{path}.{k}", v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain(f"{path}.-", item) for item in value]
    if isinstance(value, bool) or value is None or isinstance(value, int):
        return value
    text = as_text(path, value)
    return value if isinstance(value, float) and text == str(value) else text


def in_one_line(value: object) -> str:
    """A setting, an operation or a list as the text of an edit."""
    if isinstance(value, Written):
        value = plain("", value.model_dump(exclude_defaults=True, exclude_none=True))
    if isinstance(value, Mapping):
        inside = (f"{_key(str(name))} = {in_one_line(item)}" for name, item in value.items())
        return "{ " + ", ".join(inside) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(in_one_line(item) for item in value) + "]"
    return json.dumps(value, ensure_ascii=False)


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def apply_edits(route: Route, edits: Iterable[tuple[str, str]]) -> Route:
    """The route with these edits, validated like a written one.

    Raises:
        NameUnknown: if a key names no operation or setting, or an operation is left without its setting.
        TomlError: if a value cannot stand there.
    """
    operations, settings = dict(route.operations), dict(route.settings)
    joints = {name: dict(table) for name, table in route.joints.items()}
    for dotted, text in edits:
        root, _, rest = dotted.partition(".")
        name, _, key = rest.partition(".")
        if root == "operations" and name:
            _edited(operations, name, key, text, dotted, Operation)
        elif root == "settings" and name:
            _edited(settings, name, key, text, dotted, Setting)
        elif root == "joints" and name and key:
            joints[name] = written_anew(joints.get(name, {}), [key], text, f"route.toml, {dotted}")
        else:
            raise NameUnknown(f"there is no {dotted!r} in the route", where=route.file or "route.toml")
    for name, operation in operations.items():
        if operation.setting not in settings:
            raise NameUnknown(f"there is no setting {operation.setting!r} for {name}",
                              where=route.file or "route.toml")
    return route.model_copy(update={"operations": operations, "settings": settings, "joints": joints})


def _edited(tables: dict[str, W], name: str, key: str, text: str, dotted: str, kind: type[W]) -> None:
    """One edit of an operation or setting: a value of it, the whole of it, or that it goes."""
    if key and name in tables:
        tables[name] = _changed(tables[name], key, text, dotted)
    elif not key and text.startswith("{"):
        tables[name] = _free(_validated(kind, value_of(text, dotted), "", dotted), name, tables)
    elif not key and name in tables and not text:
        del tables[name]
    else:
        raise NameUnknown(f"there is no {dotted!r} in the route", where="route.toml")


def _free(made: W, name: str, tables: Mapping[str, W]) -> W:
    """What is put in, by the next number that no other operation has: two changes may have chosen the same."""
    taken = {other.number for key, other in tables.items() if key != name and isinstance(other, Operation)}
    while isinstance(made, Operation) and made.number in taken:
        made = made.model_copy(update={"number": made.number + 1})
    return made


def _changed(written: W, key: str, text: str, dotted: str) -> W:
    number = _number(key, text) if isinstance(written, Operation) else None
    if number is not None:
        return _with_number(written, key.split("."), number)
    there, where = written.model_dump(exclude_unset=True), f"route.toml, {dotted}"
    table = written_anew(there, key.split("."), value_of(text, dotted), where)
    return _validated(type(written), table, key, dotted)


def _number(key: str, text: str) -> float | None:
    """A number as it is kept, where it can be told without the form of an operation: to build that takes longer than
    a quick answer has. None where it cannot: the form says what is wrong.
    """
    quantity = _NUMBERS.get(key)
    try:
        value = parse(text, quantity) if quantity else math.nan
    except FirstoffError:
        return None
    return value if math.isfinite(value) else None


def _with_number(written: W, steps: Sequence[str], number: float) -> W:
    first, *rest = steps
    return written.model_copy(update={
        first: _with_number(getattr(written, first), rest, number) if rest else number})


def _validated(kind: type[W], table: object, key: str, dotted: str) -> W:
    where = f"route.toml, {dotted}"
    try:
        return kind.model_validate(table, context=KEPT)
    except UnitError as error:
        raise UnitError(error.what, where=where, right=error.right) from None
    except ValidationError as error:
        first = error.errors()[0]
        keys, known = kind.model_fields, key not in kind.model_fields and "." not in key
        unknown = key or ".".join(str(step) for step in first["loc"])
        raise TomlError(f"there is no key {unknown!r} here" if first["type"] == "extra_forbidden" else
                        re.sub("^(Value|Assertion) error, ", "", first["msg"]),
                        where=where, right=f"known: {', '.join(keys)}" if known else "") from None


def written_anew(there: Any, steps: Sequence[str], value: object, where: str) -> Any:
    """A table or list with another value at a place in it.

    Args:
        there: the table or list; it is not changed.
        steps: keys, and places in lists, on the way.
        value: to be written there; "" takes the key out.
        where: file and key, for the message.

    Raises:
        TomlError: if a list has no such place.
    """
    step, *rest = steps
    if isinstance(there, list | tuple):
        if not step.isdecimal() or int(step) >= len(there):
            raise TomlError(f"there is no {step!r} among {len(there)}", where=where, right="a place from 0")
        items = list(there)
        items[int(step)] = written_anew(items[int(step)], rest, value, where) if rest else value
        return tuple(items)
    table = dict(there) if isinstance(there, dict) else {}
    if rest:
        table[step] = written_anew(table.get(step, {}), rest, value, where)
    elif value == "":
        table.pop(step, None)
    else:
        table[step] = value
    return table


def value_of(text: str, dotted: str = "") -> object:
    """The text of an edit as its value: true and false, lists and tables are TOML's own, all else is text.

    Raises:
        TomlError: if a list or table is not written as TOML has it.
    """
    if text[:1] in ("[", "{"):
        import tomllib  # nothing of it is asked for a quick answer

        try:
            return tomllib.loads(f"value = {text}")["value"]
        except tomllib.TOMLDecodeError as error:
            raise TomlError(str(error), where=f"route.toml, {dotted}", right='written as ["a", "b"]') from None
    return {"true": True, "false": False}.get(text, text)
