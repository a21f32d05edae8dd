"""Which machine or metal of the shop a person means by a word: "s275", "brass", "press"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final

from ..errors import InputError, NameUnknown
from ..shop.models import Machine, Material, Shop

NEAR: Final = 0.55          #: likeness of a word to a name from which it is asked whether that was meant
OF_ONES_OWN: Final = ('write name and ISO 513 group in shop.toml, like [materials.titanium] name = "titanium" '
                      'group = "S"')


@dataclass(frozen=True)
class Meant:
    """A name of the shop that a word means, and others that it could have meant."""

    key: str
    others: tuple[str, ...] = ()


def material_meant(word: str, shop: Shop, where: str = "--material") -> Meant:
    """The material of the shop that a word means: its key, how its key begins, or a word of its name."""
    return _meant(word, shop.materials, "material", where)


def machine_meant(word: str | None, shop: Shop) -> Meant:
    """The machine that a word means; without one the drill press of the shop, else its first with a spindle."""
    if word is not None:
        return _meant(word, shop.machines, "machine", "--machine")
    turning = [name for name, machine in shop.machines.items() if machine.spindle is not None]
    if not turning:
        raise InputError("no machine of this shop has a spindle that is known", where=shop.file or "shop",
                         right="write speeds and power under a machine's spindle")
    return Meant(min(turning, key=lambda name: shop.classes[shop.machines[name].like].kind != "drill_press"))


def mill_meant(word: str, shop: Shop) -> Meant:
    """The machine that a word means to who asks for a cut; a class of machines by its own name, and what is none."""
    try:
        return Meant(word) if word in shop.classes else machine_meant(word, shop)
    except NameUnknown:
        return Meant(word)


def doubtful(read: Mapping[str, Meant]) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Words that could have meant something else: which, what it was read as, what else."""
    return tuple((word, meant.key, meant.others) for word, meant in read.items() if meant.others)


def _meant(word: str, table: Mapping[str, Machine] | Mapping[str, Material], what: str, where: str) -> Meant:
    if word in table:
        return Meant(word)
    wanted = _plain(word)
    found = [key for key, item in table.items() if wanted and _says(wanted, key, item)]
    if found:
        return Meant(found[0], tuple(found[1:]))
    near = get_close_matches(word, table, n=3, cutoff=NEAR)
    right = f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(table)}"
    if what == "material":
        right += f"; of another {OF_ONES_OWN}"
    raise NameUnknown(f"there is no {what} {word!r}", where=where, right=right)


def _says(wanted: str, key: str, item: Any) -> bool:
    names: Iterable[str] = (*key.split("_"), *str(item.name).split())
    return any(_plain(name).startswith(wanted) for name in names) or wanted == _plain(key) or (
        len(wanted) >= 4 and wanted in _plain(f"{key} {item.name}"))


def _plain(word: str) -> str:
    return re.sub(r"[^a-z0-9]", "", word.lower())
