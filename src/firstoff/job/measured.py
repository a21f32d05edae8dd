"""What was measured, as a person writes it: a size for each limit, with the instrument if it is another one.

    body_height = "24.03 mm"
    throat = { size = "25.62 mm", with = "caliper" }
    sole_thickness = ["5.01 mm", "5.03 mm"]      # read twice
    body_length = { size = "110.06 mm", warmer = "8 K" }      # read so much warmer than the shop

under `[measured]` or plain, in TOML; or lines "limit,size,instrument,warmer" in a file that ends in .csv.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

import tomlkit
from tomlkit.exceptions import TOMLKitError

from ..errors import NameUnknown, RecordError, TomlError
from ..shop.models import Shop
from ..tomlfile import read_text
from ..units import parse
from .models import Job

#: nobody takes a part in hand that is so much warmer than the shop [K]
WARMEST: Final = 40.0


@dataclass(frozen=True)
class Measured:
    """One reading.

    Fields:
        limit: of which limit.
        size: what was read [mm].
        instrument: with what; an instrument of the shop.
        warmer: than the shop the part was when it was read [K].
    """

    limit: str
    size: float
    instrument: str
    warmer: float = 0.0


def read_measured(file: Path, job: Job, shop: Shop) -> tuple[Measured, ...]:
    """The readings of a file.

    Raises:
        InputError: if the file cannot be read, or names a limit or instrument that does not exist, or a size
            without a unit; the message names file and place.
    """
    rows = list(_of_csv(file) if file.suffix.lower() == ".csv" else _of_toml(file))
    if not rows:
        raise RecordError("nothing is measured in it", where=str(file), right='body_height = "24.03 mm"')
    return tuple(measured_of(name, size, by, job, shop, f"{file}, {name}", warmer) for name, size, by, warmer in rows)


def _of_toml(file: Path) -> Iterator[tuple[str, str, str, str]]:
    try:
        table: dict[str, Any] = tomlkit.parse(read_text(file)).unwrap()
    except TOMLKitError as error:
        raise TomlError(str(error), where=str(file), right='lines like body_height = "24.03 mm"') from None
    inner = table.get("measured", table)
    if not isinstance(inner, dict):
        raise RecordError("measured is no table", where=str(file), right="[measured] and a line for each limit")
    for name, value in inner.items():
        for item in value if isinstance(value, list) else [value]:
            if isinstance(item, dict):
                if more := set(item) - {"size", "with", "warmer"}:
                    raise RecordError(f"nothing is called {', '.join(sorted(more))} here", where=f"{file}, {name}",
                                      right="size, with and warmer")
                yield name, str(item.get("size", "")), str(item.get("with", "")), str(item.get("warmer", ""))
            else:
                yield name, item if isinstance(item, str) else f"{item}", "", ""


def _of_csv(file: Path) -> Iterator[tuple[str, str, str, str]]:
    for row in csv.reader(io.StringIO(read_text(file))):
        cells = [cell.strip() for cell in row]
        if not cells or not cells[0] or cells[0].startswith("#") or cells[0] == "limit":
            continue
        _, size, by, warmer, *_ = [*cells, "", "", ""]
        yield cells[0], size, by, warmer


def measured_of(
    name: str, size: str, by: str, job: Job, shop: Shop, where: str, warmer: str = ""
) -> Measured:
    """One reading, as it was written.

    Raises:
        NameUnknown: if there is no such limit or instrument.
        RecordError: if the instrument does not reach so far, or no part is so much warmer than the shop.
        UnitError: if the size is none.
    """
    limit = job.limits.get(name)
    if limit is None:
        raise NameUnknown(f"no limit {name!r} in the job", where=where, right=_nearest(name, job.limits))
    instrument = by or limit.instrument or ""
    if instrument not in shop.instruments:
        said = f"no instrument {instrument!r} in the shop" if instrument else "no instrument is named"
        how = "" if instrument else f'{name} = {{ size = "{size}", with = "…" }}, with one of '
        raise NameUnknown(said, where=where, right=how + _nearest(instrument, shop.instruments))
    value = parse(size, "length", where=where)
    reach = shop.instruments[instrument].range
    if not reach[0] <= abs(value) <= reach[1]:
        raise RecordError(f"{size} is outside what the {shop.instruments[instrument].name} can measure", where=where,
                          right=f"{reach[0]:g} mm to {reach[1]:g} mm")
    above = parse(warmer, "temperature_difference", where=where) if warmer else 0.0
    if abs(above) > WARMEST:
        raise RecordError(f"nobody measures a part that is {warmer} warmer than the shop", where=where,
                          right=f"at most {WARMEST:g} K, or wait")
    return Measured(name, value, instrument, above)


def _nearest(name: str, known: Iterable[str]) -> str:
    """The names that were likely meant; all where none is near."""
    near = get_close_matches(name.lower(), sorted(known), n=2, cutoff=0.6)
    return f"did you mean {' or '.join(near)}?" if near else ", ".join(sorted(known)) or "none"
