"""One function for each thing that a user can ask. Part and shop meet here; commands and pages only call these."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from .belief import Belief
from .errors import FileError, NameUnknown
from .job.models import Job
from .job.route import Route
from .job.wanted_edits import of_job, of_route
from .part.shapes import Part, View
from .shop.columns import columns_of
from .shop.library import find_shop, load_shop
from .shop.models import Shop
from .work import (
    PLANNED_PARTS,
    Progress,
    Work,
    believed,
    home,
    ink,
    kept_records,
    open_job,
    own_shop,
    quiet,
    records_folder,
    revisions,
    route_of,
)

if TYPE_CHECKING:
    from .dryrun.causes import Explanation
    from .dryrun.result import Result
    from .dryrun.saving import Way
    from .dryrun.sizes import Size
    from .dryrun.stretches import Stretch
    from .part.sketch import SketchError
    from .program.report import Understood
    from .program.timing import Limits
    from .records.learn import Learned
    from .records.reading import Reading
    from .records.store import Record
    from .route.cut_answer import Answer
    from .route.hard import Hard
    from .route.quick_hole import HoleAnswer
    from .route.quick_joint import JointAnswer
    from .route.quick_press import PressAnswer


def cut(
    machine: str, tool: str, material: str, lengths: Mapping[str, str | None] | None = None, *,
    speed: str | None = None, feed: str | None = None, direction: str | None = None, down: str | None = None,
    coolant: str | None = None, shop: Path | None = None,
) -> Answer:
    """A cut without a job: chosen where it is left open, checked where it is given.

    Args:
        machine: of the shop, or a class of machines.
        tool: cutter of the shop.
        material: of the shop, or a word of its name.
        lengths: depth, width, stickout, roughness, within, bow: texts with units.
        speed, feed: of the spindle and of the table.
        direction, coolant: as the person wants them.
        down: how steeply the cutter goes down, below level.
        shop: the shop, instead of the nearest above here.

    Raises:
        InputError: if a name is not there, or a number is none that can be set.
    """
    from .route.asked_cut import Wanted, bench_of, option
    from .route.meant import doubtful, material_meant, mill_meant
    from .route.quick_cut import quick_cut
    from .units import parse

    told = {key: text for key, text in (lengths or {}).items() if text is not None}
    given = {key: parse(text, "length", where=option(key)) for key, text in told.items()}
    turn = None if speed is None else parse(speed, "rotation", where="--speed")
    table = None if feed is None else parse(feed, "table_feed", where="--feed")
    below = None if down is None else parse(down, "angle", where="--down")
    stock = load_shop(place := find_shop(Path.cwd(), None, shop))
    read = {"material": material_meant(material, stock), "machine": mill_meant(machine, stock)}
    wanted = Wanted(read["machine"].key, tool, read["material"].key, speed=turn, feed=table, direction=direction,
                    down=below, coolant=coolant, **given)
    bench = bench_of(stock, wanted)
    belief, note = believed(bench.shop, records_folder(Path.cwd(), place))
    return replace(quick_cut(bench, wanted, belief), figures_note=note, could_be=doubtful(read))


def hole(
    size: str, material: str, *, machine: str | None = None, depth: str | None = None, through: bool = False,
    own: Mapping[str, str | None] | None = None, shop: Path | None = None,
) -> HoleAnswer:
    """A hole or thread without a job, by book figures and what the shop has learned.

    Args:
        size: such as M5, 1/4-20, 10, "4 H7", "csk M4".
        material: of the shop, or a word of its name.
        machine: of the shop, or a word of its name; its drill press where none is named.
        depth: how deep, or how long a thread is in full: a text with its unit.
        through: whether the drill comes out at the far side.
        own: own numbers, to check: drills ("6 mm, 10 mm"), speed and feed of the last one; slope of the face.
        shop: the shop, instead of the nearest above here.

    Raises:
        InputError: if a word is not understood, or a size is none that can be drilled.
    """
    from .route.asked_hole import depth_asked, hole_asked, own_asked
    from .route.meant import machine_meant, material_meant
    from .route.quick_hole import quick_hole

    stock, note = _own_shop(shop)
    asked = hole_asked(size, stock.units)
    deep, given = depth_asked(depth, asked, stock.units, "--depth"), own_asked(own or {}, asked, stock.units)
    meant = machine_meant(machine, stock), material_meant(material, stock)
    return replace(quick_hole(stock, asked, *meant, deep, through, given), figures_note=note)


def joint(
    what: str, said: Mapping[str, str | None] | None = None, *, along: bool = False, lubricated: bool = False,
    screws: int = 1, shop: Path | None = None,
) -> JointAnswer | PressAnswer:
    """A screw that clamps, a wedge or a lever without a job, by book figures and what the shop has learned.

    Args:
        what: "M4 x 12", "wedge" or "lever".
        said: into, through, grade, head, torque, by, load, length ...: options by name, as texts.
        along: whether the load pulls along the screws, not across them.
        lubricated: whether thread and head are greased.
        screws: how many share the load.
        shop: the shop, instead of the nearest above here.

    Raises:
        InputError: if a word is not understood, a name is not there, or no such joint can be.
    """
    from .route.asked_joint import ScrewAsked, joint_asked
    from .route.quick_joint import quick_joint
    from .route.quick_press import quick_press

    stock, note = _own_shop(shop)
    told = {key: text for key, text in (said or {}).items() if text is not None}
    asked = joint_asked(what, told, stock, way="along" if along else "across", lubricated=lubricated, number=screws)
    if isinstance(asked, ScrewAsked):
        return replace(quick_joint(stock, asked), figures_note=note)
    return replace(quick_press(stock, asked), figures_note=note)


def _own_shop(shop: Path | None) -> tuple[Shop, str]:
    """The shop that is meant with its own figures, and whose they are."""
    place = find_shop(Path.cwd(), None, shop)
    return own_shop(load_shop(place), records_folder(Path.cwd(), place))


def part(file: Path, cache: Path | None = None) -> Part:
    """What is understood of a model."""
    from .part.reading import read

    return read(file, cache)


def hard(file: Path, found: Part, shop: Path | None = None) -> tuple[str, tuple[Hard, ...]]:
    """What of a part is hard to make, and in which shop: the one named, else the nearest above, else the starter.

    Raises:
        InputError: if the shop is missing or wrong; the message names file and place.
    """
    from .route.hard import hard_to_make

    stock = load_shop(find_shop(file.parent, None, shop))
    return stock.name, hard_to_make(found, stock)


def part_drawing(file: Path, found: Part, out: Path, shop: Path | None = None, cache: Path | None = None) -> Path:
    """Write the drawing of a part with its features numbered, lengths in the shop's unit.

    Raises:
        InputError: if the shop is wrong, or the drawing cannot be written there.
    """
    from .part.drawing import UPRIGHT, views

    return _drawn(file, found, views(file, UPRIGHT, cache), out, shop)


def so_far_drawing(file: Path, error: SketchError, out: Path, shop: Path | None = None) -> Path | None:
    """Write the drawing of a sketch up to its mistake; None where nothing is understood yet.

    Raises:
        InputError: as `part_drawing`.
    """
    from .part.sketch_reading import so_far, so_far_views

    found = so_far(error, file)
    return None if found is None else _drawn(file, found, so_far_views(error, file), out, shop)


def _drawn(file: Path, found: Part, seen: Iterable[View], out: Path, shop: Path | None) -> Path:
    from .sheets.part_drawing import part_drawing as draw
    from .sheets.part_drawing import write_drawing

    write_drawing(draw(found, seen, load_shop(find_shop(file.parent, None, shop)).units), out)
    return out


def program(
    file: Path, unit: Literal["mm", "in"] | None = None, cutter: float | None = None, shop: Path | None = None
) -> Understood:
    """What is understood of an NC program; its time is for the first mill of the shop.

    Raises:
        InputError: if the file cannot be read or holds no move, or the shop is wrong.
    """
    from .program.report import understood

    path = find_shop(file.parent, None, shop)
    return understood(file, _limits(load_shop(path), own=path is not None), unit, cutter)


@dataclass(frozen=True)
class Fed:
    """A program over the stock of its operation: what each stretch may be fed, and why the program was not run."""

    operation: str
    stretches: tuple[Stretch, ...]
    minutes: float
    lacking: tuple[str, ...] = ()
    written: Path | None = None


def program_in_job(
    file: Path, folder: Path, operation: str, out: Path | None = None, *, shop: Path | None = None,
    progress: Progress = quiet,
) -> Fed:
    """How fast each stretch of a program may be fed in an operation; a copy with other words where it is wanted.

    Args:
        file: the program.
        folder: of the job.
        operation: key of route.toml that it is for.
        out: copy to write; the program itself is never changed.
        shop: another shop than the job names.
        progress: told what is under way.

    Raises:
        InputError: if file, job or operation are missing or wrong, or the copy would replace a file.
    """
    from .dryrun.choosing import thinned
    from .dryrun.programs import getting_ready
    from .dryrun.run import PROGRAMS
    from .dryrun.stretches import write_mended
    from .dryrun.turns import better_words
    from .dryrun.walk import walk

    work = open_job(folder, shop, progress)
    route = route_of(work)
    if operation not in route.operations:
        raise NameUnknown(f"there is no operation {operation!r} in the route", right=", ".join(route.operations))
    told = route.operations[operation].model_copy(update={"program": str(file.resolve())})
    route = route.model_copy(update={"operations": {**route.operations, operation: told}})
    progress(getting_ready(route), 0.5)
    cases = walk(work.job, work.shop, route, work.parts, work.cache / PROGRAMS)
    case = next(case for case in cases if case.operation is not None and case.name == operation)
    if case.run is None or not case.run.moves or case.windows is None:
        return Fed(operation, (), 0.0, case.run.lacking if case.run else ("the operation has no cutter",))
    found = better_words(case, file, thinned(work.belief).belief)
    if out is not None:
        write_mended(file, out, found)
    return Fed(operation, found, case.windows.minutes, case.run.lacking, out)


def _limits(shop: Shop, own: bool) -> tuple[str, Limits]:
    """The first mill of a shop and how fast it goes; where the shop is not the person's own, feeds are as written."""
    from .program.timing import Limits

    for machine in shop.machines.values():
        speed = machine.table_speed or shop.classes[machine.like].table_speed
        if shop.classes[machine.like].kind == "mill" and speed is not None:
            feed = speed.value if own else 1e9
            return machine.name, Limits((speed.value,) * 3, (feed,) * 3, tool_change=machine.tool_change_time)
    raise NameUnknown(f"no mill with a table speed in {shop.name!r}", right="table_speed in shop.toml")


def new(kind: Literal["job", "shop"], folder: Path) -> list[str]:
    """Start a job or shop folder from a template; returns what to fill in.

    Raises:
        FileError: if the folder already holds one.
    """
    templates = Path(__file__).parent / "example" / "templates"
    target = folder / f"{kind}.toml"
    if target.exists():
        raise FileError("is there already; nothing was changed", where=str(target), right="name another folder")
    folder.mkdir(parents=True, exist_ok=True)
    target.write_bytes((templates / f"{kind}.toml").read_bytes())
    return _to_fill_in(target)


def _to_fill_in(file: Path) -> list[str]:
    """The lines of a template that are marked for the person to fill in."""
    out = []
    for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
        key, mark, asked = line.partition("#!")
        name = key.strip("# []").partition("=")[0].strip()
        if mark and "Lines with" not in key:
            out.append(f"{file.name}, line {number}: {': '.join(filter(None, (name, asked.strip())))}")
    return out


@dataclass(frozen=True)
class Planned:
    """A planned route, and what was kept of the person's own edits."""

    work: Work
    route: Route
    kept: tuple[str, ...]
    unproved: tuple[str, ...] = ()       # limits that their instrument is too coarse to confirm, each with why


def plan(folder: Path, *, shop: Path | None = None, fresh: bool = False, progress: Progress = quiet) -> Planned:
    """Plan a route for the parts of a job, and write `route.toml` beside `job.toml`.

    Args:
        folder: of the job.
        shop: another shop than the job names.
        fresh: forget what the person edited.
        progress: told what is under way.
    """
    from .dryrun.conforming import unproved
    from .dryrun.findings import write_atomically
    from .part.digest import parts_json
    from .route.choose import settle_cuts
    from .route.plan import plan as plan_route
    from .route.writing import read_route, write_route

    work = open_job(folder, shop, progress)
    folder = work.folder
    progress("planning settings and operations", 0.0)
    route = plan_route(work.job, work.shop, work.parts)
    route = settle_cuts(work.job, work.shop, route, work.parts, work.belief, cache=work.cache, progress=progress)
    kept = write_route(folder, route, fresh=fresh)
    work.cache.mkdir(exist_ok=True)
    write_atomically(work.cache / PLANNED_PARTS, parts_json(work.parts).encode())
    return Planned(work, read_route(folder), tuple(kept), tuple(unproved(work.job, work.shop, work.parts)))


def check(
    folder: Path, *, shop: Path | None = None, instead: bool = True, progress: Progress = quiet,
    edits: Iterable[tuple[str, str]] = (),
) -> Result:
    """Check the route of a job by a dry run; with edits, a draft of it that is written nowhere."""
    from .dryrun.run import dry_run

    edits = tuple(edits)
    work = open_job(folder, shop, progress, of_job(edits))
    route = route_of(work, of_route(edits))
    result = dry_run(work.job, work.shop, route, work.parts, work.belief, cache=work.cache, instead=instead,
                     progress=progress, figures_note=work.figures_note)
    revised = revisions(work, route)
    return replace(result, remarks=revised, not_counted=(*revised, *result.not_counted)) if revised else result


@dataclass(frozen=True)
class Stacked:
    """The sizes of a job, and what measured ones mean."""

    job: Job
    sizes: tuple[Size, ...]
    explanation: Explanation | None = None
    ways: Mapping[str, tuple[Way, ...]] = field(default_factory=dict)
    any_out: Mapping[str, float] = field(default_factory=dict)     # part -> chance that any of its limits is out


def stack(
    folder: Path, measured: Path | None = None, *, shop: Path | None = None, progress: Progress = quiet
) -> Stacked:
    """How the sizes of a job will come out; with measured ones also why, and what to do.

    Args:
        folder: of the job.
        measured: file with what was measured.
        shop: another shop than the job names.
        progress: told what is under way.
    """
    from .dryrun.causes import explained
    from .dryrun.cures_kept import sizes_in_full
    from .dryrun.findings import Findings
    from .dryrun.saving import ways
    from .dryrun.together import any_out
    from .dryrun.walk import walk
    from .job.measured import read_measured

    work = open_job(folder, shop, progress)
    cases = walk(work.job, work.shop, route_of(work), work.parts)
    with closing(Findings(work.belief, work.cache)) as store:
        sizes = sizes_in_full(cases, store, work.cache, progress)
    both = any_out(sizes, work.belief)
    parts = {name.partition(":")[2]: float(rows.mean()) for name, rows in both.items()}
    if measured is None:
        return Stacked(work.job, sizes, any_out=parts)
    said = explained(cases, work.belief, read_measured(measured, work.job, work.shop))
    named = {size.name: size for size in sizes}
    saved = {r.limit: ways(r, named[r.limit], cases, work.belief, said.off())
             for r in said.readings if r.decision != "conforms"}
    return Stacked(work.job, sizes, said, saved, parts)


def change(folder: Path, edits: list[tuple[str, str]], *, shop: Path | None = None) -> None:
    """Ink edits into `route.toml`, those of what is wanted into `job.toml`, comments kept; nothing is changed where
    one of them cannot be."""
    ink(folder, edits, shop)


def sheets(
    folder: Path, out: Path | None = None, *, shop: Path | None = None, checked: Result | None = None,
    progress: Progress = quiet,
) -> Path:
    """Print the sheets of a job as one PDF.

    Args:
        folder: of the job.
        out: where to; `sheets.pdf` in the job by default.
        shop: another shop than the job names.
        checked: what a check of this very job has just found, where there is one.
        progress: told what is under way.

    Returns:
        Path of the PDF.
    """
    from .sheets.chain_drawing import chains
    from .sheets.document import write_pdf

    result = checked or check(folder, shop=shop, progress=progress)
    folder = home(folder)
    progress("drawing", 0.5)
    views = draw(result, folder)
    progress("printing", 0.9)
    path = out or folder / "sheets.pdf"
    belief, _ = believed(result.shop, records_folder(folder, find_shop(folder, result.job.shop, shop)))
    write_pdf(result, views, path, chains(result, belief))
    return path


def draw(result: Result, folder: Path, progress: Progress = quiet) -> dict[str, Any]:
    """Hidden-line views of each setting, by setting."""
    from .part.drawing import views

    wanted: dict[str, list[tuple[str, str, Any, Any]]] = {}
    for name, setting in result.route.settings.items():
        for view in ("plan", "front", "side", "pictorial"):
            wanted.setdefault(setting.workpiece.split("+")[0], []).append((name, view, setting.up, setting.across))
    drawn: dict[str, Any] = {}
    for done, (part, asked) in enumerate(wanted.items()):
        def heard(_what: str, share: float, done: int = done) -> None:
            progress("drawing", (done + share) / len(wanted))
        found = views(folder / result.job.parts[part].model, [one[1:] for one in asked], folder / ".firstoff",
                      heard=heard)
        for (name, *_), drawing in zip(asked, found, strict=True):
            drawn[name] = (*drawn.get(name, ()), drawing)
    return drawn


def log(folder: Path, reading: Reading, *, shop: Path | None = None, when: datetime | None = None) -> Record:
    """Record what was seen, heard or measured. Nothing is overwritten: a correction replaces by name."""
    from .records.called import called
    from .records.logging import record_of
    from .records.store import open_store

    work = open_job(folder, shop)
    route = route_of(work)
    with open_store(records_folder(work.folder, find_shop(work.folder, work.job.shop, shop))) as store, \
            store.writing():
        record = record_of(reading, work.job, work.shop, route, work.parts, store, when or datetime.now(UTC))
        then = called(record, work.job, work.shop, route, work.parts, work.belief)
        store.add(replace(record, conditions={**record.conditions, **then}))
        return store.get(record.id) or record       # sent before: as it was kept


def records(folder: Path, *, shop: Path | None = None) -> tuple[Record, ...]:
    """Every record of the shop, oldest first; those that a later one replaces, too."""
    with kept_records(folder, shop) as store:
        return () if store is None else store.all()


def learn(folder: Path, *, shop: Path | None = None, progress: Progress = quiet) -> Learned:
    """Turn the records of the shop into own figures, and say what changed."""
    from .records.figures import write_figures
    from .records.learn import learn_from
    from .records.store import open_store

    work = open_job(folder, shop, progress)
    place = records_folder(work.folder, find_shop(work.folder, work.job.shop, shop))
    book = Belief.of(columns_of(work.shop))
    with open_store(place) as store:
        learned = learn_from(store, book, work.shop, progress=progress)
    write_figures(place, learned)
    return learned
