"""The starter library, and a person's shop joined with it.

A shop is a folder with `shop.toml`. It names what it uses of the library (`use`; a kind that is not
named there means all of that kind) and adds its own tables, which win. A table may start from one of
the library: `from = "end_mill_6_2f"`. Materials, classes of machines, tool materials and discrepancies
are always there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

from pydantic import Field

from ..errors import FileError, NameUnknown, TomlError
from ..tomlfile import Written, parse_table, place_of, read_text, validate
from .columns import SHOP_WIDE
from .fill import filled
from .models import (
    Coating,
    Collet,
    Coolant,
    Device,
    Discrepancy,
    FilmFigure,
    Instrument,
    LengthFigure,
    Machine,
    MachineClass,
    Material,
    Rates,
    RatioFigure,
    Shop,
    TimeFigure,
    Tool,
    ToolMaterialFigures,
)
from .read_before import recall, remember

DATA: Final = Path(__file__).parent / "data"
SHOP_FILE: Final = "shop.toml"
STARTER: Final = "starter.toml"

#: section of a shop -> (file of the library, model of one table)
SECTIONS: Final[Mapping[str, tuple[str, type[Written]]]] = {
    "materials": ("materials.toml", Material),
    "classes": ("machine_classes.toml", MachineClass),
    "tool_materials": ("tool_materials.toml", ToolMaterialFigures),
    "tools": ("tools.toml", Tool),
    "collets": ("collets.toml", Collet),
    "devices": ("devices.toml", Device),
    "instruments": ("instruments.toml", Instrument),
    "coatings": ("coatings.toml", Coating),
    "coolants": ("coolants.toml", Coolant),
}
CHOSEN: Final = ("tools", "collets", "devices", "instruments")     #: sections that `use` chooses from
OWN: Final[Mapping[str, type[Written]]] = {
    **{section: model for section, (_, model) in SECTIONS.items()}, "machines": Machine, "discrepancies": Discrepancy,
}

Tables = dict[str, dict[str, Any]]


class Use(Written):
    """What a shop takes from the library; a kind that is left out means all of it."""

    tools: tuple[str, ...] | None = None
    collets: tuple[str, ...] | None = None
    devices: tuple[str, ...] | None = None
    instruments: tuple[str, ...] | None = None


class ShopFile(Written):
    """The form of shop.toml; the tables of things are read one by one afterwards."""

    name: str
    units: Literal["mm", "in"] = "mm"
    good: float = Field(default=0.01, gt=0, lt=1)
    close: float = Field(default=0.05, gt=0, lt=1)
    rates: Rates = Field(default_factory=Rates)
    use: Use = Field(default_factory=Use)
    machines: Tables = Field(default_factory=dict)
    classes: Tables = Field(default_factory=dict)
    tools: Tables = Field(default_factory=dict)
    tool_materials: Tables = Field(default_factory=dict)
    collets: Tables = Field(default_factory=dict)
    materials: Tables = Field(default_factory=dict)
    devices: Tables = Field(default_factory=dict)
    instruments: Tables = Field(default_factory=dict)
    coatings: Tables = Field(default_factory=dict)
    coolants: Tables = Field(default_factory=dict)
    discrepancies: Tables = Field(default_factory=dict)


class _Discrepancies(Written):
    rubbing_ratio: RatioFigure
    chip_ratio: RatioFigure
    friction_ratio: RatioFigure
    book_life: TimeFigure
    book_feed: LengthFigure
    book_depth: RatioFigure
    tap_speed: RatioFigure
    tap_life: TimeFigure
    tap_exponent: RatioFigure
    ream_speed: RatioFigure
    ream_life: TimeFigure
    ream_exponent: RatioFigure
    end_wear: LengthFigure
    scale_abrasion: RatioFigure
    build_up_roughness: LengthFigure
    jaw_contact: FilmFigure
    kinds: dict[str, Discrepancy]


@dataclass(frozen=True)
class Library:
    """The starter library: models by section, and the tables as written, to start others from."""

    models: Mapping[str, Mapping[str, Any]]
    written: Mapping[str, Tables]
    discrepancies: _Discrepancies


@cache
def library() -> Library:
    """The starter library, read and validated once."""
    models: dict[str, dict[str, Any]] = {}
    written: dict[str, Tables] = {}
    for section, (file, model) in SECTIONS.items():
        text, name = read_text(DATA / file), file
        written[section] = parse_table(text, name)
        models[section] = {key: validate(table, model, text, name, (key,)) for key, table in written[section].items()}
    text = read_text(DATA / "discrepancies.toml")
    found = validate(parse_table(text, "discrepancies.toml"), _Discrepancies, text, "discrepancies.toml")
    return Library(models, written, found)


def load_shop(path: Path | None) -> Shop:
    """The shop at a path, joined with the library.

    Args:
        path: a folder with shop.toml, or the file; None for the starter shop.

    Returns:
        The whole shop.

    Raises:
        FileError: if there is no such file, or it cannot be read.
        TomlError: naming file, line and key, what is wrong and what would be right.
        NameUnknown: if it uses a name that neither it nor the library bears.
    """
    file = DATA / STARTER if path is None else shop_file(path)
    text, name = read_text(file), str(file) if path is not None else STARTER
    known = recall(name, text)
    if known is not None:
        return known
    form = validate(parse_table(text, name), ShopFile, text, name)
    shop = _joined(form, _Place(name, text), str(file) if path is not None else "")
    remember(name, text, shop)
    return shop


def shop_file(path: Path) -> Path:
    """The shop.toml that a path means, whether it names the folder or the file."""
    if path.is_dir():
        path = path / SHOP_FILE
    if not path.is_file():
        raise FileError("there is no shop here", where=str(path),
                        right=f"a folder with {SHOP_FILE}; 'firstoff new' starts one")
    return path


def find_shop(job_folder: Path, named: str | None, option: Path | None) -> Path | None:
    """Which shop a job is made in.

    Args:
        job_folder: folder of the job.
        named: what job.toml says, relative to the job.
        option: what the command line says, which wins.

    Returns:
        The file: of the option, else named by the job, else the nearest shop.toml at or above the job;
        None where there is none, which means the starter shop.

    Raises:
        FileError: if the one that is named does not exist.
    """
    if option is not None:
        return shop_file(option)
    if named is not None:
        return shop_file(job_folder / named)
    here = job_folder.resolve()
    for folder in (here, *here.parents):
        if (folder / SHOP_FILE).is_file():
            return folder / SHOP_FILE
    return None


@dataclass(frozen=True)
class _Place:
    """Where something is written, for messages."""

    name: str
    text: str

    def of(self, *keys: str) -> str:
        """File, line and dotted key."""
        return place_of(self.name, self.text, keys)

    def known(self, name: str, names: Iterable[str], what: str, *keys: str) -> None:
        """NameUnknown unless the name is one of these."""
        every = sorted(names)
        if name in every:
            return
        near = get_close_matches(name, every, n=1, cutoff=0.5)
        right = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(every)}"
        raise NameUnknown(f"there is no {what} {name!r}", where=self.of(*keys), right=right)


def _joined(form: ShopFile, place: _Place, file: str) -> Shop:
    if not form.good < form.close:
        raise TomlError(f"good, {form.good}, is not below close, {form.close}", where=place.of("good"),
                        right="good is the smaller chance of failing")
    base = library()
    sections = {section: dict(base.models[section]) for section in SECTIONS}
    for section in CHOSEN:
        wanted = getattr(form.use, section)
        if wanted is not None:
            for name in wanted:
                place.known(name, base.models[section], f"{section[:-1]} in the library", "use", section)
            sections[section] = {name: base.models[section][name] for name in wanted}
    sections |= {"machines": {}, "discrepancies": dict(base.discrepancies.kinds)}
    for section, model in OWN.items():
        for key, table in getattr(form, section).items():
            sections[section][key] = _own(section, key, table, model, place)
    _check_names(form, sections, place)
    whole = {name: getattr(base.discrepancies, name) for name in SHOP_WIDE}
    return Shop.model_validate({
        "name": form.name, "units": form.units, "good": form.good, "close": form.close, "rates": form.rates,
        "file": file, **whole, **sections,
    })


def _own(section: str, key: str, table: dict[str, Any], model: type[Written], place: _Place) -> Written:
    """One table of the shop's own, on top of the library's where it says `from`."""
    start = table.get("from")
    if start is not None:
        written = library().written.get(section, {})
        place.known(start, written, f"{section[:-1]} in the library", section, key, "from")
        table = {**written[start], **{name: value for name, value in table.items() if name != "from"}}
    found = validate(table, model, place.text, place.name, (section, key))
    return filled(found) if isinstance(found, Material) else found


def _check_names(form: ShopFile, sections: Mapping[str, Mapping[str, Any]], place: _Place) -> None:
    """Every name that the shop's own tables use must exist."""
    for key in form.machines:
        machine: Machine = sections["machines"][key]
        place.known(machine.like, sections["classes"], "class of machines", "machines", key, "like")
        for collet in machine.collets:
            place.known(collet, sections["collets"], "collet in this shop", "machines", key, "collets")
    for key in form.materials:
        material: Material = sections["materials"][key]
        for name in material.one_of:
            place.known(name, sections["materials"], "material", "materials", key, "one_of")
    for key in form.tools:
        tool: Tool = sections["tools"][key]
        if tool.coating is not None:
            place.known(tool.coating, sections["coatings"], "coating", "tools", key, "coating")
