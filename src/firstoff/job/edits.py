"""Edits of a route: dotted keys of `route.toml` with values as text, as a person would write them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from ..errors import NameUnknown, TomlError
from ..tomlfile import KEPT, Written
from ..units import tell
from .route import Route

W = TypeVar("W", bound=Written)

_LENGTHS: Final = frozenset({
    "feed_per_tooth", "depth_of_cut", "width_of_cut", "peck_depth", "stickout", "removes", "leaves", "height",
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
            joints.setdefault(name, {})[key] = text
        else:
            raise NameUnknown(f"there is no {dotted!r} in the route", where=route.file or "route.toml")
    return route.model_copy(update={"operations": operations, "settings": settings, "joints": joints})


def _changed(written: W, key: str, text: str, dotted: str) -> W:
    table: dict[str, Any] = written.model_dump(exclude_unset=True)
    place = table
    *above, last = key.split(".")
    for step in above:
        place = place.setdefault(step, {})
    place[last] = _value(text)
    try:
        return type(written).model_validate(table, context=KEPT)
    except ValidationError as error:
        raise TomlError(error.errors()[0]["msg"], where=f"route.toml, {dotted}") from None


def _value(text: str) -> object:
    """true and false are TOML's own; all else in a route is text."""
    return {"true": True, "false": False}.get(text, text)
