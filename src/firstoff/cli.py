"""The commands. Thin: each reads its words, calls one action and prints what it says."""

from __future__ import annotations

import copy
import gc
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from . import __version__
from .cli_mill import mill_commands
from .cli_quick import quick
from .cli_run import run
from .cli_words import AsJson, ShopOption, progress, say, say_json

if TYPE_CHECKING:
    from .part.sketch import SketchError

app = typer.Typer(
    name="firstoff", no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False,
    rich_markup_mode=None, help="The arithmetic of a one-off metal job, how sure it is, and what happened.",
)

#: objects made between two collections of garbage: at the usual 700 a start would collect a hundred times, in vain
OBJECTS: Final = 100_000
gc.set_threshold(OBJECTS)

app.add_typer(quick)
app.add_typer(mill_commands)

JobFolder = Annotated[Path, typer.Argument(help="folder with job.toml")]


@app.command()
def new(
    kind: Annotated[str, typer.Argument(help="job or shop")],
    folder: Annotated[Path, typer.Argument(help="folder to make")],
    as_json: AsJson = False,
) -> None:
    """Start a job or shop folder from a template, and say what to fill in."""
    from . import actions

    if kind == "job":
        to_fill = actions.new("job", folder)
    elif kind == "shop":
        to_fill = actions.new("shop", folder)
    else:
        raise typer.BadParameter(f"{kind!r} is neither job nor shop")
    if as_json:
        say_json({"folder": str(folder), "fill_in": to_fill})
        return
    say([f"{folder} is started. Fill in:", *(f"  {line}" for line in to_fill)])


@app.command()
def part(
    file: Annotated[Path | None, typer.Argument(help="STEP file, or a sketch in lines (.toml)")] = None,
    lines: Annotated[bool, typer.Option("--lines", help="type a sketch in lines, each answered")] = False,
    drawing: Annotated[Path | None, typer.Option("--drawing", help="SVG to write, its features numbered")] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """What is understood of a solid model or a sketch in lines, and what of it is hard to make."""
    from . import actions
    from .part.report import as_json as part_json
    from .part.report import as_lines
    from .part.sketch import SketchError
    from .part.sketch_reading import drawn
    from .part.sketch_session import session
    from .telling import hard_json, hard_lines

    if lines:
        say(session(iter(sys.stdin.readline, ""), drawn))
        return
    if file is None:
        raise typer.BadParameter("say which file, or --lines to type a sketch")
    try:
        found = actions.part(file)
    except SketchError as error:
        _say_so_far(file, error, drawing, shop, quietly=as_json)
        typer.echo(str(error), err=True)      # last, so that it is not scrolled away
        raise typer.Exit(2) from None
    if drawing is not None:
        actions.part_drawing(file, found, drawing, shop)
        if not as_json:
            say([f"{drawing} is written."])
            return
    stock, hard = actions.hard(file, found, shop)
    if as_json:
        written = {} if drawing is None else {"drawing": str(drawing)}
        say_json(part_json(found) | {"hard": hard_json(hard)} | written)
        return
    say([*as_lines(found), *hard_lines(stock, hard)])


def _say_so_far(file: Path, error: SketchError, drawing: Path | None, shop: Path | None, *, quietly: bool) -> None:
    """What is understood up to a sketch's mistake, drawn and told."""
    from . import actions
    from .part.sketch_reading import so_far_lines

    said = [] if quietly else so_far_lines(error, file)
    if drawing is not None and actions.so_far_drawing(file, error, drawing, shop) is not None and not quietly:
        said += [f"{drawing} is written: the part up to that line."]
    elif said and error.so_far is not None and error.so_far.block is not None and not quietly:
        said += ["--drawing FILE.svg draws it with numbered features."]
    say(said)


@app.command()
def program(
    file: Annotated[Path, typer.Argument(help="NC program, in G and M words")],
    unit: Annotated[str | None, typer.Option("--unit", help="mm or in, where the program does not tell")] = None,
    cutter: Annotated[str | None, typer.Option("--cutter", help='diameter, for G41 and G42: "6 mm"')] = None,
    job: Annotated[Path | None, typer.Option("--job", help="folder of a job: the feed by stretch")] = None,
    operation: Annotated[str | None, typer.Option("--operation", help="key in route.toml that it is for")] = None,
    mended: Annotated[Path | None, typer.Option("--mended", help="new file: a copy with other F and S words")] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """What is understood of an NC program: moves, extents, tools, time, and what to look at."""
    from . import actions
    from .program.report import as_json as program_json
    from .program.report import as_lines
    from .units import parse

    if job is not None or operation is not None or mended is not None:
        _fed(file, job, operation, mended, shop, as_json)
        return
    if unit not in (None, "mm", "in"):
        raise typer.BadParameter(f"{unit!r} is neither mm nor in", param_hint="--unit")
    diameter = None if cutter is None else parse(cutter, "length", where="--cutter")
    if diameter is not None and diameter <= 0.0:
        raise typer.BadParameter(f"{cutter!r} is no diameter", param_hint="--cutter")
    found = actions.program(file, "mm" if unit == "mm" else "in" if unit == "in" else None, diameter, shop)
    if as_json:
        say_json(program_json(found))
        return
    say(as_lines(found))


def _fed(
    file: Path, job: Path | None, operation: str | None, mended: Path | None, shop: Path | None, as_json: bool,
) -> None:
    """How fast each stretch of a program may be fed in an operation of a job."""
    from . import actions
    from .telling_program import fed_json, fed_lines

    if job is None or operation is None:
        raise typer.BadParameter("--job and --operation go together: say for which operation it is")
    found = actions.program_in_job(file, job, operation, mended, shop=shop, progress=progress)
    if as_json:
        say_json(fed_json(found))
        return
    say(fed_lines(found, file.name))


@app.command()
def plan(
    job: JobFolder,
    shop: ShopOption = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="forget what was edited in route.toml")] = False,
    as_json: AsJson = False,
) -> None:
    """Plan a route from the models of a job: writes route.toml beside job.toml."""
    from . import actions
    from .telling import planned_lines

    planned = actions.plan(job, shop=shop, fresh=fresh, progress=progress)
    if as_json:
        say_json({"job": planned.work.job.name, "route": str(job / "route.toml"), "kept": list(planned.kept),
                  "unproved": list(planned.unproved), **planned.route.model_dump(mode="json", exclude={"file"})})
        return
    count = len(planned.route.operations)
    say([f"{job / 'route.toml'}: {len(planned.route.settings)} settings, {count} operations.",
         *planned_lines(planned), f"Next: firstoff check {job}"])


@app.command()
def check(
    job: JobFolder,
    shop: ShopOption = None,
    strict: Annotated[bool, typer.Option("--strict", help="exit 1 if no good, or a rule is not met")] = False,
    everything: Annotated[bool, typer.Option("--all", help="list what is not counted, too")] = False,
    as_json: AsJson = False,
) -> None:
    """Check the route: what is first to go, how likely, and what to do instead."""
    from . import actions
    from .telling import result_json, result_lines

    result = actions.check(job, shop=shop, progress=progress)
    if as_json:
        say_json(result_json(result))
    else:
        say(result_lines(result, everything))
    if strict:
        unsure = sum(c.verdict == "can't say" for c in result.checks)
        if unsure:
            typer.echo(f"can't say: {unsure} checks", err=True)
        if any(c.verdict == "no good" for c in result.checks) or any(
            r.verdict == "don't start" for r in result.rules
        ):
            raise typer.Exit(1)


@app.command()
def sheets(
    job: JobFolder,
    out: Annotated[Path | None, typer.Option("--out", help="PDF to write; by default sheets.pdf in the job")] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """Print the route cards, setting drawings and inspection sheet as one PDF."""
    from . import actions

    path = actions.sheets(job, out, shop=shop, progress=progress)
    if as_json:
        say_json({"pdf": str(path)})
        return
    say([f"{path} is written."])


@app.command()
def log(
    job: JobFolder,
    subject: Annotated[str | None, typer.Argument(help="operation, or limit for a size")] = None,
    word: Annotated[str | None, typer.Argument(help="ok, sang, squealed, slowed, moved or broke")] = None,
    watts: Annotated[str | None, typer.Option("--watts", help='watts while cutting: "310 W"')] = None,
    idle: Annotated[str | None, typer.Option("--idle", help="watts with the spindle running free")] = None,
    size: Annotated[str | None, typer.Option("--size", help='what was measured: "5.02 mm"')] = None,
    instrument: Annotated[str | None, typer.Option("--with", help="instrument that measured it")] = None,
    pull: Annotated[str | None, typer.Option("--pull", help='at the clamped part: "12 kg"; moved, or ok')] = None,
    lift: Annotated[str | None, typer.Option("--lift", help="of the part while it was tightened")] = None,
    parallels: Annotated[str | None, typer.Option("--parallels", help="tight or loose, the part clamped")] = None,
    chips: Annotated[str | None, typer.Option("--chips", help="colour of the chips: bright, straw, blue ...")] = None,
    form: Annotated[str | None, typer.Option("--form", help="form of the chips: long, curls, commas ...")] = None,
    burr: Annotated[str | None, typer.Option("--burr", help="none, light or heavy")] = None,
    finish: Annotated[str | None, typer.Option("--finish", help="good, fair, rough, torn or waves")] = None,
    feed: Annotated[str | None, typer.Option("--feed", help='override of the feed while it was cut: "80 %"')] = None,
    depth: Annotated[str | None, typer.Option("--depth", help='of the cut, if not the route\'s: "0.5 mm"')] = None,
    scrap: Annotated[bool, typer.Option("--scrap", help="it was a trial in scrap, not the part")] = False,
    file: Annotated[Path | None, typer.Option("--file", help="recording or picture to keep")] = None,
    replaces: Annotated[str | None, typer.Option("--replaces", help="id of a record that was wrong")] = None,
    note: Annotated[str, typer.Option("--note", help="anything worth keeping")] = "",
    when: Annotated[str | None, typer.Option("--when", help='if not now: "2026-03-01 14:30"')] = None,
    by: Annotated[str, typer.Option("--by", help="who saw it")] = "",
    name: Annotated[str | None, typer.Option("--id", help="a UUID: sent twice, it is one record")] = None,
    listed: Annotated[bool, typer.Option("--list", help="list what was recorded; record nothing")] = False,
    history: Annotated[bool, typer.Option("--history", help="what worked, by material, tool and operation")] = False,
    repeat: Annotated[bool, typer.Option("--repeat", help="ink what worked here before into route.toml")] = False,
    export: Annotated[Path | None, typer.Option("--export", help="write all to FILE.jsonl or FILE.csv")] = None,
    taken: Annotated[Path | None, typer.Option("--import", help="take in a file that --export wrote")] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """Record what was seen, heard or measured. Kept for ever; a correction is a new record."""
    from . import actions, actions_kept
    from .records.reading import Reading
    from .records.store import record_json, record_line
    from .telling_sizes import way_json, ways_lines

    if export is not None or taken is not None:
        _exchange(job, export, taken, shop, as_json=as_json)
    elif history or repeat:
        _history(job, shop, ink=repeat, as_json=as_json)
    elif listed:
        kept = actions.records(job, shop=shop)
        say_json({"records": [record_json(r) for r in kept]}) if as_json else say(record_line(r) for r in kept)
    elif subject is None and file is None and not note:
        raise typer.BadParameter("say of which operation, or of which limit")
    else:
        record = actions.log(job, Reading(
            subject or "", word, watts, idle, size, instrument, replaces, note, chips, form, burr, finish, feed,
            depth, scrap, None if file is None else str(file), when, by, name, pull, lift, parallels), shop=shop)
        broken = actions_kept.after_break(job, record.subject, shop) if word == "broke" and not scrap else ()
        say_json({**record_json(record), **({"ways": [way_json(way) for way in broken]} if broken else {})}) \
            if as_json else say([record_line(record), *(ways_lines(record.subject, broken) if broken else ())])


def _exchange(job: Path, export: Path | None, taken: Path | None, shop: Path | None, *, as_json: bool) -> None:
    """Records out to a file, or in from one."""
    from . import actions_kept

    if export is not None:
        many = actions_kept.export_records(job, export, shop=shop)
        say_json({"records": many, "file": str(export)}) if as_json else say([f"{export}: {many} records."])
    if taken is not None:
        came = actions_kept.import_records(job, taken, shop=shop)
        told = {"records": came.records, "known": came.known, "files": came.files}
        lines = [f"{came.records} records came in; {came.known} were there already."]
        say_json(told) if as_json else say(lines)


def _history(job: Path, shop: Path | None, *, ink: bool, as_json: bool) -> None:
    """What was cut with what, and how it went; or what of it this job can have again, inked."""
    from . import actions_kept
    from .records.history import history_json, history_lines
    from .records.repeat import again_json, again_lines

    if ink:
        again = actions_kept.repeat(job, ink=True, shop=shop)
        say_json({"again": again_json(again)}) if as_json else say(again_lines(again))
        return
    found = actions_kept.history(job, shop=shop)
    say_json({"history": history_json(found)}) if as_json else say(history_lines(found))


@app.command()
def learn(job: JobFolder, shop: ShopOption = None, as_json: AsJson = False) -> None:
    """Turn records into own figures, and say what changed."""
    from . import actions
    from .records.learn import learned_json
    from .telling import learned_lines

    learned = actions.learn(job, shop=shop, progress=progress)
    if as_json:
        say_json(learned_json(learned))
        return
    say(learned_lines(learned))


@app.command()
def stack(
    job: JobFolder,
    measured: Annotated[Path | None, typer.Option("--measured", help="file of measured sizes, TOML or CSV")] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """How the sizes will come out; and when one measures wrong, why, and how to save the part."""
    from . import actions
    from .telling_sizes import stack_json, stack_lines

    found = actions.stack(job, measured, shop=shop, progress=progress)
    if as_json:
        say_json(stack_json(found))
        return
    say(stack_lines(found))


@app.command()
def bench(
    job: JobFolder,
    network: Annotated[bool, typer.Option("--network", help="let a tablet of the workshop's network pair")] = False,
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="to listen on; 0 for any free one")] = 8377,
    shop: ShopOption = None,
) -> None:
    """Serve the pages: the desk to think at, the bench beside the machine. For this computer alone, unless asked."""
    from .bench.serving import serve

    serve(job, shop=shop, network=network, port=port, say=say)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="folder to copy the example job to")] = Path("demo-job"),
    as_json: AsJson = False,
) -> None:
    """The whole loop on the example job: plan, check, sheets, log, learn."""
    from .demo import run_demo

    outcome = run_demo(folder, say=(lambda _lines: None) if as_json else say, progress=progress)
    if as_json:
        say_json(outcome)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(__version__)
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="print it")] = False,
) -> None:
    """The arithmetic of a one-off metal job, how sure it is, and what happened."""


def is_quick(command: str) -> bool:
    """Whether it is one of the quick answers, which are told before any garbage counts."""
    return any(c.callback is not None and c.callback.__name__ == command for c in quick.registered_commands)


def _asked_for() -> typer.Typer:
    """The one command that is asked for, where one is: to build all of them takes 0.02 s of a quick answer."""
    every = [*app.registered_commands, *quick.registered_commands, *mill_commands.registered_commands]
    named = [c for c in every if sys.argv[1:2] == [c.name or getattr(c.callback, "__name__", "")]]
    if not named:
        return app
    alone = copy.copy(app)
    alone.registered_commands, alone.registered_groups = named, []
    return alone


def main() -> None:
    """Run a command; an error of input is one clear message and exit code 2."""
    run(_asked_for(), before_a_message=progress.done)
