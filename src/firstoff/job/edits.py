"""Edits of a route: dotted keys of `route.toml` with values as text, as a person would write them.

A number in a key is a place in a list, from 0: "settings.body-1.datums.1". An empty text rubs the key out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from ..errors import NameUnknown, TomlError, UnitError
from ..tomlfile import KEPT, Written
from ..units import tell
from .route import Route

W = TypeVar("W", bound=Written)

_LENGTHS: Final = frozenset({
    "depth_of_cut", "width_of_cut", "peck_depth", "stickout", "removes", "leaves", "height",
    "grip_height", "stick_up", "parallels",
})


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


def apply_edits(route: Route, edits: Iterable[tuple[str, str]]) -> Route:
    """The route with these edits, validated like a written one.

    Raises:
        NameUnknown: if a key names no operation or setting.
        TomlError: if a value cannot stand there.
    """
    operations, settings = dict(route.operations), dict(route.settings)
    joints = {name: dict(table) for name, table in route.joints.items()}
    for dotted, text in edits:
        root, _, rest = dotted.partition(".")
        name, _, key = rest.partition(".")
        if root == "operations" and name in operations and key:
            operations[name] = _changed(operations[name], key, text, dotted)
        elif root == "settings" and name in settings and key:
            settings[name] = _changed(settings[name], key, text, dotted)
        elif root == "joints" and name and key:
            joints[name] = written_anew(joints.get(name, {}), [key], text, f"route.toml, {dotted}")
        else:
            raise NameUnknown(f"there is no {dotted!r} in the route", where=route.file or "route.toml")
    return route.model_copy(update={"operations": operations, "settings": settings, "joints": joints})


def _changed(written: W, key: str, text: str, dotted: str) -> W:
    where = f"route.toml, {dotted}"
    table: dict[str, Any] = written_anew(written.model_dump(exclude_unset=True), key.split("."), _value(text), where)
    try:
        return type(written).model_validate(table, context=KEPT)
    except UnitError as error:
        raise UnitError(error.what, where=where, right=error.right) from None
    except ValidationError as error:
        first = error.errors()[0]
        keys = type(written).model_fields
        raise TomlError(f"there is no key {key!r} here" if first["type"] == "extra_forbidden" else
                        re.sub("^(Value|Assertion) error, ", "", first["msg"]),
                        where=where, right=f"known: {', '.join(keys)}" if key not in keys and "." not in key else "",
                        ) from None


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


def _value(text: str) -> object:
    """true and false are TOML's own; all else in a route is text."""
    return {"true": True, "false": False}.get(text, text)
