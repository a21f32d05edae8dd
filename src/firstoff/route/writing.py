"""`route.toml`: written by plan, edited by people, planned again without losing what they wrote.

Plan keeps its last output beside it (`.firstoff/route.plan.toml`). A value in `route.toml` that differs from that
output is the person's and stays, comments too; what a person took out stays out; a locked operation stays whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Table

from ..errors import FileError, InputError, NameUnknown
from ..job.edits import LENGTH_TABLES, apply_edits, plain, value_of
from ..job.faces import DIRECTIONS
from ..job.reading import ROUTE_FILE, load_route
from ..job.route import Route
from ..part.shapes import Part
from ..shop.models import Shop
from ..tomlfile import parse_table, place_of, read_text, write_text

KEPT_FOLDER: Final = ".firstoff"
LAST_PLAN: Final = "route.plan.toml"
HEAD: Final = (
    "The route: settings in order, then operations by number. Written by plan; change what you like.",
    "What you change is yours and stays when you plan again; `locked = true` keeps a whole operation.",
    "Write numbers with their unit: \"9000 rpm\", \"0.02 mm\". feed_per_tooth × flutes = feed a turn.",
)
SETTINGS: Final = ("Settings: which way is up (in the part's own axes), what it rests on, what grips it.",)
OPERATIONS: Final = ("Operations. Numbers are order only: put 45 between 40 and 50.",)
ONE_LINE: Final = LENGTH_TABLES                   #: tables that are short enough for one line
SKIPPED: Final = frozenset({"file"})

Plain = dict[str, Any]


def as_table(route: Route) -> Plain:
    """The route as it is written: values as texts with units, nothing that is at its default."""
    dumped = route.model_dump(exclude_defaults=True, exclude_none=True)
    return {key: plain(key, value) for key, value in dumped.items() if key not in SKIPPED and value}


def canonical(route: Route) -> Route:
    """The route as it is read back: what stands in the file is what is checked."""
    return Route.model_validate(as_table(route)).model_copy(update={"file": route.file})


def route_text(route: Route) -> str:
    """The whole of a freshly planned `route.toml`."""
    return tomlkit.dumps(_document(as_table(route)))


def _document(table: Plain) -> TOMLDocument:
    doc = tomlkit.document()
    for line in HEAD:
        doc.add(tomlkit.comment(line))
    for section, told in (("settings", SETTINGS), ("operations", OPERATIONS), ("joints", ())):
        if section in table:
            doc.add(tomlkit.nl())
            for line in told:
                doc.add(tomlkit.comment(line))
            doc.add(section, _super(table[section]))
    if "no_way" in table:
        doc.add("no_way", tomlkit.item([_item("no_way", missing) for missing in table["no_way"]]))
    return doc


def _super(tables: Plain) -> Table:
    out = tomlkit.table(is_super_table=True)
    for name, inner in tables.items():
        out.add(name, _item(name, inner))
        if "up" in inner:
            out[name].comment(f"{_looks_up(inner['up'])} up, on the {inner.get('machine', '')}")
    return out


def _looks_up(up: Iterable[float]) -> str:
    """The side that looks up, or the slope."""
    return next((side for side, way in DIRECTIONS.items() if tuple(up) == way), "a slope")


def _item(key: str, value: Any) -> Any:
    """A value as the writer wants it: tables with one key a line, short ones in one line."""
    if not isinstance(value, dict):
        return value
    out: Any = tomlkit.inline_table() if key in ONE_LINE else tomlkit.table()
    for name, inner in sorted(value.items(), key=lambda item: isinstance(item[1], dict) and item[0] not in ONE_LINE):
        out.add(name, _item(name, inner))
    return out


def write_route(folder: Path, route: Route, fresh: bool = False) -> tuple[str, ...]:
    """Write the planned route, keeping what a person changed since the last plan.

    Args:
        folder: the job's folder.
        route: as planned now.
        fresh: forget what the person changed.

    Returns:
        The dotted keys that were kept as the person wrote them.

    Raises:
        FileError: if the file that is there cannot be read, or the folder not be written.
        TomlError: if what is there is not TOML.
        InputError: if nothing can be planned, or of a part nothing any more; what is there is left as it is then.
    """
    path, last = folder / ROUTE_FILE, folder / KEPT_FOLDER / LAST_PLAN
    planned = as_table(route)
    kept: list[str] = []
    text = route_text(route)
    there = read_text(path) if path.exists() and not fresh else ""
    theirs = parse_table(there, str(path)) if there else {}
    _something_planned(planned, theirs, path)
    if there:
        before = parse_table(read_text(last), str(last)) if last.exists() else {}
        doc = tomlkit.parse(there)
        _merge(doc, theirs, before, planned, kept)
        text = _with_remarks(there, tomlkit.dumps(doc))
    write_text(path, text)
    write_text(last, route_text(route))
    return tuple(kept)


def _something_planned(planned: Plain, theirs: Plain, path: Path) -> None:
    """Refuse a plan that has nothing for a part that the route there makes, and one that has nothing at all.

    What a person wrote into the operations of such a part would be gone, mostly for a slip in the job.
    """
    without = {missing["part"] for missing in planned.get("no_way", ())}
    lost = sorted((_made_parts(theirs) - _made_parts(planned)) & without)
    if not lost and (planned.get("operations") or not without):
        return
    why = next(missing for missing in planned["no_way"] if not lost or missing["part"] == lost[0])
    reason = f": {why['feature']}: {why['because']}"
    raise InputError(
        f"no way is found any more to make {lost[0]}{reason}" if lost else f"nothing can be planned{reason}",
        where=str(path), right="left as it was; look at stock and sizes in job.toml, or plan --fresh" if lost else
        "look at stock and sizes in job.toml")


def _made_parts(table: Plain) -> set[str]:
    """Parts that some operation makes."""
    settings = table.get("settings", {})
    used = {op.get("setting") for op in table.get("operations", {}).values()}
    return {part for name in used if name in settings for part in settings[name].get("workpiece", "").split("+")}


def _merge(doc: Any, theirs: Plain, before: Plain, planned: Plain, kept: list[str]) -> None:
    """Bring a document up to the new plan, section by section."""
    locked = {name for name, op in theirs.get("operations", {}).items() if op.get("locked")}
    needed = {theirs["operations"][name].get("setting") for name in locked}
    for section, stay in (("settings", needed), ("operations", locked), ("joints", set())):
        mine = planned.get(section, {})
        if section not in doc and mine:
            doc.add(section, _super(mine))
            continue
        if section in doc:
            _merge_section(doc[section], section, theirs[section], before.get(section, {}), mine, stay, kept)
    doc.pop("no_way", None)
    if "no_way" in planned:
        doc.add("no_way", tomlkit.item([_item("no_way", missing) for missing in planned["no_way"]]))


def _merge_section(
    doc: Any, section: str, theirs: Plain, before: Plain, planned: Plain, stay: set[Any], kept: list[str],
) -> None:
    for name in list(theirs):
        if name in stay:
            kept.append(f"{section}.{name}")
        elif name in planned:
            _merge_table(doc[name], f"{section}.{name}", theirs[name], before.get(name, {}), planned[name], kept)
        elif name in before:
            doc.pop(name)
        else:
            kept.append(f"{section}.{name}")
    for name, table in planned.items():
        if name not in theirs and name not in before:
            doc.add(name, _item(name, table))
        elif name not in theirs:
            kept.append(f"{section}.{name}")


def _merge_table(doc: Any, path: str, theirs: Plain, before: Plain, planned: Plain, kept: list[str]) -> None:
    """Leaf by leaf: the plan's where the person left it alone, else the person's."""
    for key in [*theirs, *(k for k in planned if k not in theirs)]:
        at, mine, old, new = f"{path}.{key}", theirs.get(key), before.get(key), planned.get(key)
        if isinstance(mine, dict) and isinstance(new, dict) and key not in ONE_LINE:
            _merge_table(doc[key], at, mine, old if isinstance(old, dict) else {}, new, kept)
        elif mine == new:
            continue
        elif mine != old:
            kept.append(at)
        elif new is None:
            doc.pop(key)
        else:
            doc[key] = _item(key, new)


def _with_remarks(before: str, after: str) -> str:
    """Put back what a person wrote above a table when the table before it went: to the parser it ends that one."""
    lines = after.splitlines()
    for header, remark in _remarks(before):
        if header in lines and not set(remark) <= set(lines):
            at = lines.index(header)
            lines[at:at] = [line for line in remark if line not in lines]
    return "\n".join(lines) + "\n"


def _remarks(text: str) -> list[tuple[str, list[str]]]:
    """The comment lines above each table header."""
    out: list[tuple[str, list[str]]] = []
    above: list[str] = []
    for line in text.splitlines():
        if line.startswith("["):
            out += [(line, above)] if above else []
        if line.startswith("#"):
            above = [*above, line]
        elif line.strip():
            above = []
    return out


def read_route(folder: Path, shop: Shop | None = None, parts: Mapping[str, Part] | None = None) -> Route:
    """The route of a job, its names known to exist as far as shop and parts are given.

    Raises:
        FileError: if no route has been planned.
        TomlError: naming file, line and key.
        NameUnknown: naming file and key.
    """
    route = load_route(folder)
    if route is None:
        raise FileError("no route has been planned", where=str(folder / ROUTE_FILE), right="firstoff plan JOB")
    text = read_text(Path(route.file))
    for name, op in route.operations.items():
        if shop is not None and op.tool is not None:
            _known(op.tool, shop.tools, "tool", route.file, text, ("operations", name, "tool"))
        part = route.settings[op.setting].workpiece.split("+")[0]
        if parts is not None:
            _known(part, parts, "part", route.file, text, ("settings", op.setting, "workpiece"))
            ids = [feature.id for feature in parts[part].features]
            for feature in op.features:
                _known(feature, ids, "feature", route.file, text, ("operations", name, "features"))
    return route


def _known(name: str, names: Iterable[str], what: str, file: str, text: str, keys: tuple[str, ...]) -> None:
    every = sorted(names)
    if name not in every:
        shown = ", ".join(every[:12]) + (" …" if len(every) > 12 else "")
        raise NameUnknown(f"there is no {what} {name!r}", where=place_of(file, text, keys), right=f"known: {shown}")


def write_edits(folder: Path, edits: Iterable[tuple[str, str]]) -> Route:
    """Ink edits into `route.toml`, comments untouched.

    Args:
        folder: the job's folder.
        edits: dotted keys and values as text.

    Returns:
        The route with them.

    Raises:
        NameUnknown: if a key names no operation or setting.
        TomlError: if a value cannot stand there.
    """
    edits = tuple(edits)
    route = apply_edits(read_route(folder), edits)
    table, path = as_table(route), folder / ROUTE_FILE
    doc = tomlkit.parse(read_text(path))
    for dotted, text in edits:
        _ink(doc, table, dotted, text)
    write_text(path, tomlkit.dumps(doc))
    return route


def _ink(doc: Any, table: Plain, dotted: str, text: str) -> None:
    root, name, *rest = dotted.split(".", 2)
    if not rest:
        _ink_whole(doc, table.get(root, {}).get(name), root, name)
        return
    steps = [root, name, *rest[0].split(".")]
    above, last = steps[:-1], steps[-1]
    place: Any = doc
    value: Any = table
    for depth, step in enumerate(above):
        if isinstance(place, list):
            place, value = place[int(step)], value[int(step)]
            continue
        if step not in place:
            place[step] = tomlkit.table(is_super_table=depth == 0)
        place, value = place[step], value.get(step, {})
    if isinstance(place, list):
        place[int(last)] = value[int(last)]
    elif text == "" and last not in value:
        place.pop(last, None)
    else:
        place[last] = value.get(last, value_of(text))


def _ink_whole(doc: Any, table: Plain | None, root: str, name: str) -> None:
    """A setting or operation put in, written anew, or taken out."""
    if table is None:
        doc[root].pop(name, None)
    elif root not in doc:
        doc.add(root, _super({name: table}))
    elif name in doc[root]:
        doc[root][name] = _item(name, table)
    else:
        doc[root].add(name, _item(name, table))
