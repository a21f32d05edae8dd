"""A cut or a hole asked in plain words: read without the library of commands, a tenth of the time of an answer.

Plain is: known options, each once and with its value. All else, help and what is wrong too, is left to the library.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final, NamedTuple

from .cli_run import speak

Said = Mapping[str, str]
Told = dict[str, Any] | list[str]


def cut_told(said: Said, flags: Iterable[str]) -> Told:
    """The answer to a cut, in words or as one object.

    Args:
        said: its options by name.
        flags: json, where an object is asked for.
    """
    from . import actions
    from .telling_cut import cut_json, cut_lines

    lengths = {name: said.get(option) for name, option in (
        ("depth", "depth"), ("width", "width"), ("stickout", "stickout"), ("roughness", "finish"),
        ("within", "within"), ("bow", "raw"))}
    answer = actions.cut(said["machine"], said["tool"], said["material"], lengths, speed=said.get("speed"),
                         feed=said.get("feed"), direction=said.get("direction"), down=said.get("down"),
                         coolant=said.get("coolant"), shop=_shop(said))
    return cut_json(answer) if "json" in flags else list(cut_lines(answer))


def hole_told(said: Said, flags: Iterable[str]) -> Told:
    """The answer to a hole or thread, in words or as one object.

    Args:
        said: its size and options by name.
        flags: through, and json where an object is asked for.
    """
    from . import actions
    from .telling_hole import hole_json, hole_lines

    own = {name: said.get(name) for name in ("drills", "speed", "feed", "slope")}
    answer = actions.hole(said["size"], said["material"], machine=said.get("machine"), depth=said.get("depth"),
                          through="through" in flags, own=own, shop=_shop(said))
    return hole_json(answer) if "json" in flags else list(hole_lines(answer))


def _shop(said: Said) -> Path | None:
    return Path(said["shop"]) if "shop" in said else None


class Words(NamedTuple):
    """The words of a command."""

    told: Callable[[Said, Iterable[str]], Told]
    needed: tuple[str, ...]
    options: Mapping[str, str]          # as it is written -> its name
    flags: tuple[str, ...]
    argument: str = ""


#: plain commands; tests/test_cli_plain.py holds them against the library's
PLAIN: Final[Mapping[str, Words]] = {
    "cut": Words(cut_told, ("machine", "tool", "material"), {f"--{name}": name for name in (
        "machine", "tool", "material", "depth", "width", "speed", "feed", "direction", "stickout", "finish", "within",
        "raw", "down", "coolant", "shop")}, ("json",)),
    "hole": Words(hole_told, ("size", "material"), {
        "--length": "depth", **{f"--{name}": name for name in (
            "material", "machine", "depth", "drills", "speed", "feed", "slope", "shop")}},
        ("json", "through"), "size"),
}


#: units that may stand apart from their number
UNITS: Final = frozenset({"mm", "um", "cm", "in", "inch", "inches", "deg", "rpm", "mm/min", "in/min", "m/min"})


def joined(words: Sequence[str]) -> list[str]:
    """The words of a plain command with a unit put to the number before it: 12 mm without quotes is "12 mm"."""
    if not words or words[0] not in PLAIN:
        return list(words)
    found: list[str] = []
    for word in words:
        number = found[-1].rpartition("=")[2] if found else ""
        if word in UNITS and number.strip("-").replace(".", "", 1).replace("/", "", 1).isdigit():
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


def plain(words: Sequence[str]) -> Callable[[], None] | None:
    """What a command does that is asked in plain words; None where they are not plain."""
    if not words or words[0] not in PLAIN:
        return None
    command, said, flags = PLAIN[words[0]], dict[str, str](), set[str]()
    rest = list(words[1:])
    while rest:
        name, sign, value = rest.pop(0).partition("=")
        if name.removeprefix("--") in command.flags and name.startswith("--") and not sign:
            flags.add(name.removeprefix("--"))
            continue
        key = command.options.get(name)
        if key is None and command.argument and not name.startswith("-"):
            key, value = command.argument, name + sign + value
        elif key is not None and not sign:
            value = rest.pop(0) if rest else "-"
        if key is None or key in said or (value.startswith("-") and not sign):
            return None
        said[key] = value
    return partial(_tell, command, said, flags) if said.keys() >= set(command.needed) else None


def _tell(command: Words, said: Said, flags: Iterable[str]) -> None:
    told = command.told(said, flags)
    speak(sys.stdout, [json.dumps(told, ensure_ascii=False, allow_nan=False)] if isinstance(told, dict) else told)
