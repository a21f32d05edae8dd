"""A shop and a job started from a page: blanks filled in, a model dropped, a sketch in lines. Overwrites nothing."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from .errors import FileError, FirstoffError, InputError, NameUnknown
from .job.reading import JOB_FILE, load_job
from .shop.library import DATA, SHOP_FILE, STARTER, find_shop, load_shop
from .tomlfile import read_table
from .units import parse, tell
from .work import Progress, quiet

if TYPE_CHECKING:
    from .part.shapes import Part, View
    from .part.sketch import SketchError

#: of a sketch in lines [signs]
MOST_SIGNS: Final = 20_000
#: factor of a speed or power that a nameplate tells (one standard deviation); judged
NAMEPLATE: Final = 1.3
#: added to each side of a part where no stock is told [mm]
ALLOWANCE: Final = 1.0
NAME: Final = re.compile("[a-z][a-z0-9_]{0,30}")
#: machines that are joined to a shop of one mill, as the starter shop has them
BESIDE: Final = ("drill_press", "hand_tools")


@dataclass(frozen=True)
class Seen:
    """What is understood of a model so far.

    Fields:
        svg: its drawing; empty where nothing can be drawn yet.
        lines: what is understood, for a person.
        wrong: what cannot be used; empty where all can.
        line: of the sketch where that is, from 1; 0 for none.
        stock: sizes of a bar that holds it, texts with their unit; none where nothing is understood.
    """

    svg: str
    lines: tuple[str, ...]
    wrong: str = ""
    line: int = 0
    stock: tuple[str, ...] = ()


def place_of_shop(folder: Path, shop: Path | None) -> Path | None:
    """The file of the shop of a folder, whether there is a job in it yet or not; None for the starter shop."""
    if (folder / JOB_FILE).is_file():
        return find_shop(folder, load_job(folder).shop, shop)
    return find_shop(folder, "shop" if (folder / "shop" / SHOP_FILE).is_file() else None, shop)


def seen_model(file: Path, units: str, progress: Progress = quiet) -> Seen:
    """What is understood of a model in a file.

    Args:
        file: STEP, or a sketch.
        units: in which it is told.
        progress: told what is under way; both ways of reading end when it raises.

    Raises:
        FirstoffError: if it cannot be used.
    """
    from .part.drawing import UPRIGHT, views
    from .part.reading import read

    shares = {"part": 0.0, "drawing": 0.0}

    def heard(which: str, what: str, share: float) -> None:
        shares[which] = share
        progress(what, min(shares.values()))

    with ThreadPoolExecutor(2) as pool:                   # both wait for the kernel in processes of their own
        drawn = pool.submit(views, file, UPRIGHT, heard=partial(heard, "drawing"))
        part = pool.submit(read, file, heard=partial(heard, "part"))
        return _seen(part.result(), drawn.result(), units)


def drawing_of(folder: Path, part: str, shop: Path | None = None) -> str:
    """The drawing of a part of a job, its features numbered, as SVG.

    Raises:
        InputError: if the job has no such part, or its model cannot be used.
    """
    from .part.drawing import UPRIGHT, views
    from .part.reading import read
    from .sheets.part_drawing import part_drawing

    job, cache = load_job(folder), folder / ".firstoff"
    if part not in job.parts:
        raise NameUnknown(f"no part {part!r} in the job", right=", ".join(job.parts))
    model = folder / job.parts[part].model
    return part_drawing(read(model, cache), views(model, UPRIGHT, cache),
                        load_shop(place_of_shop(folder, shop)).units)


def seen_sketch(text: str, unit: str, progress: Progress = quiet) -> Seen:
    """What is understood of a sketch in lines; up to its mistake, where there is one.

    Args:
        text: the lines.
        unit: in which it is told.
        progress: told what is under way; it ends when that raises.

    Raises:
        InputError: if it is too long, or holds a sign that ends it.
    """
    from .part.sketch import SketchError

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "sketch.toml"
        file.write_text(sketch_file(text, unit, "sketch"), encoding="utf-8")
        try:
            return seen_model(file, unit, progress)
        except SketchError as error:
            return _so_far(error, file, unit)


def _so_far(error: SketchError, file: Path, unit: str) -> Seen:
    from .part.sketch_reading import so_far, so_far_views

    found = re.search(r", line (\d+)", error.where)
    line = int(found[1]) - FIRST_LINE + 1 if found else 0
    wrong = error.what + (f" ({error.right})" if error.right else "")
    try:
        part = so_far(error, file)
        drawn = so_far_views(error, file) if part else ()
    except FirstoffError:
        part, drawn = None, ()
    if part is None:
        return Seen("", (), wrong, line)
    there = _seen(part, drawn, unit)
    return Seen(there.svg, there.lines, wrong, line, there.stock)


#: line of a sketch's file on which its own first line stands
FIRST_LINE: Final = 4


def sketch_file(text: str, unit: str, name: str) -> str:
    """The text of a sketch's file.

    Raises:
        InputError: if it is too long, or holds a sign that ends it.
    """
    if len(text) > MOST_SIGNS:
        raise InputError(f"the sketch has {len(text)} signs", where="lines", right=f"at most {MOST_SIGNS}")
    ends = "'''" if "'''" in text else ""
    odd = next((sign for sign in text if sign not in "\r\n\t" and not sign.isprintable()), ends)
    if odd:
        raise InputError(f"a sketch holds no {odd!r}", where="lines", right="plain lines, as docs/sketch.md has them")
    if unit not in ("mm", "in"):
        raise InputError(f"{unit!r} is no unit", where="unit", right="mm or in")
    return f'unit = "{unit}"\nname = "{name}"\nlines = \'\'\'\n{text.replace(chr(13), "")}\n\'\'\'\n'


def _seen(part: Part, drawn: tuple[View, ...], units: str) -> Seen:
    from .part.report import as_lines
    from .sheets.part_drawing import part_drawing

    stock = tuple(tell(high - low + 2.0 * ALLOWANCE, "length", units)
                  for low, high in zip(part.low, part.high, strict=True))
    return Seen(part_drawing(part, drawn, units), tuple(as_lines(part)), stock=stock)


def add_part(folder: Path, said: Mapping[str, str], model: Path | None, shop: Path | None = None) -> str:
    """Add a part to the job of a folder, and start the job where there is none.

    Args:
        folder: of the job.
        said: job, part, material, condition, x, y, z, bow, units; lines of a sketch where there is no model.
        model: a STEP file that was sent, to be kept as the part's.
        shop: another shop than the job names.

    Returns:
        Name of the part.

    Raises:
        FirstoffError: naming the blank in `where`; nothing is changed then.
    """
    import tomlkit

    name = said.get("part", "").strip()
    if not NAME.fullmatch(name):
        raise InputError(f"{name!r} names no part" if name else "the part has no name yet", where="part",
                         right="small letters, digits and _: bracket, lid_2")
    file = folder / JOB_FILE
    before = file.read_text(encoding="utf-8") if file.is_file() else None
    doc = tomlkit.parse(before) if before is not None else _new_job(said, folder)
    if name in doc.get("parts", {}):
        raise InputError(f"there is a part {name!r} already", where="part", right="another name")
    stock = load_shop(place_of_shop(folder, shop))
    if said.get("material", "") not in stock.materials:
        raise NameUnknown(f"no material {said.get('material', '')!r} in the shop", where="material",
                          right=", ".join(stock.materials))
    kept = folder / (f"{name}.step" if model else f"{name}.toml")
    if kept.exists():
        raise FileError(f"there is a file {kept.name} already", where="part", right="another name")
    doc.setdefault("parts", tomlkit.table(is_super_table=True))[name] = _part_table(said, kept.name)
    text = None if model else sketch_file(said.get("lines", ""), said.get("units", "mm"), name)
    _keep(file, tomlkit.dumps(doc), before, kept, model, text)
    return name


def _new_job(said: Mapping[str, str], folder: Path) -> Any:
    import tomlkit

    name = said.get("job", "").strip()
    if not name or not name.isprintable() or len(name) > 80:
        raise InputError("the job has no name yet", where="job", right="what it will be: block plane")
    doc = tomlkit.document()
    doc.add(tomlkit.comment("A job: what is wanted. Every length has its unit. Started from the page."))
    doc.add("name", name)
    doc.add("units", said.get("units", "mm"))
    if (folder / "shop" / SHOP_FILE).is_file():
        doc.add("shop", "shop")
    doc.add("budget", 0.05)
    return doc


def _part_table(said: Mapping[str, str], model: str) -> Any:
    import tomlkit

    table = tomlkit.table()
    table.add("model", model)
    table.add("material", said["material"])
    bar = tomlkit.inline_table()
    bar.append("size", [_length(said, axis) for axis in ("x", "y", "z")])
    bar.append("condition", said.get("condition", "cold_drawn"))
    if said.get("bow", "").strip():
        bar.append("bow", _length(said, "bow"))
    table.add("stock", bar)
    return table


def _length(said: Mapping[str, str], key: str) -> str:
    text = said.get(key, "").strip()
    if not parse(text, "length", where=key) > 0.0:
        raise InputError(f"{text!r} is no size", where=key, right="more than nothing")
    return text


def _keep(file: Path, job: str, before: str | None, kept: Path, model: Path | None, text: str | None) -> None:
    """Model and job together, or neither."""
    from .part.reading import read

    if model is not None:
        shutil.copyfile(model, kept)
    else:
        kept.write_text(text or "", encoding="utf-8")
    try:
        read(kept, file.parent / ".firstoff")
        file.write_text(job, encoding="utf-8")
        load_job(file.parent)
    except FirstoffError:
        kept.unlink()
        if before is None:
            file.unlink(missing_ok=True)
        else:
            file.write_text(before, encoding="utf-8")
        raise


def new_shop(folder: Path, said: Mapping[str, str]) -> Path:
    """Start a shop in a folder of its own beside the job, its mill as the nameplate says.

    Args:
        folder: of the job.
        said: shop, mill, like, slowest, fastest, power, x, y, z, units.

    Returns:
        The file of the shop.

    Raises:
        FirstoffError: naming the blank in `where`; nothing is changed then.
    """
    import tomlkit

    target = folder / "shop" / SHOP_FILE
    if target.exists():
        raise FileError("there is a shop already; nothing was changed", where="shop", right="write in shop/shop.toml")
    text = tomlkit.dumps(_shop_document(said))
    with tempfile.TemporaryDirectory() as trial:
        (Path(trial) / SHOP_FILE).write_text(text, encoding="utf-8")
        load_shop(Path(trial) / SHOP_FILE)
    target.parent.mkdir(exist_ok=True)
    target.write_text(text, encoding="utf-8")
    job = folder / JOB_FILE
    if job.is_file() and load_job(folder).shop is None:
        doc = tomlkit.parse(job.read_text(encoding="utf-8"))
        doc["shop"] = "shop"
        job.write_text(tomlkit.dumps(doc), encoding="utf-8")
    return target


def _shop_document(said: Mapping[str, str]) -> Any:
    """The shop's file: the mill that was told, and beside it what the starter shop has."""
    import tomlkit

    starter = load_shop(None)
    like = said.get("like", "")
    classes = {key: one for key, one in starter.machines.items() if starter.classes[one.like].kind == "mill"}
    if like not in classes:
        raise NameUnknown(f"{like!r} is no class of mill", where="like", right=", ".join(classes))
    names = {key: said.get(key, "").strip() for key in ("shop", "mill")}
    for key, name in names.items():
        if not name or not name.isprintable() or len(name) > 80:
            raise InputError("this has no name yet", where=key, right="what you call it")
    slow, fast = (parse(said.get(key, ""), "rotation", where=key) for key in ("slowest", "fastest"))
    if not 0.0 < slow < fast:
        raise InputError("the slowest speed is not below the fastest", where="slowest", right="as on the nameplate")
    if not parse(said.get("power", ""), "power", where="power") > 0.0:
        raise InputError(f"{said['power']!r} is no power", where="power", right="as on the nameplate: 800 W")
    doc = tomlkit.document()
    doc.add(tomlkit.comment("A shop: what stands in it. Started from the page; what was not told is taken from the"))
    doc.add(tomlkit.comment("class of machine, with a wide spread; drill press and hand tools of the starter shop."))
    doc.add("name", names["shop"])
    doc.add("units", said.get("units", "mm"))
    machines = tomlkit.table(is_super_table=True)
    for key in BESIDE:
        machines.add(key, tomlkit.item(read_table(DATA / STARTER)["machines"][key]))
    machines.add("mill", tomlkit.item({
        "name": names["mill"], "like": like, "travel": [_length(said, axis) for axis in ("x", "y", "z")],
        "collets": list(classes[like].collets),
        "spindle": {"slowest": said["slowest"], "fastest": said["fastest"], "power": {
            "value": said["power"], "factor": NAMEPLATE, "source": "measured", "note": "nameplate"}}}))
    doc.add("machines", machines)
    return doc
