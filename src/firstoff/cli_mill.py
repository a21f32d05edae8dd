"""`firstoff mill-test`: nine simple tests of a mill. Thin: it asks one action and prints what it says."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .cli_words import AsJson, ShopOption, progress, say, say_json

if TYPE_CHECKING:
    from .records.mill_hour import Mill

mill_commands = typer.Typer()


@mill_commands.command("mill-test")
def mill_test(
    job: Annotated[Path | None, typer.Argument(help="folder with job.toml: what would help this job most")] = None,
    machine: Annotated[str | None, typer.Option("--machine", help="mill of the shop, where it has several")] = None,
    card: Annotated[Path | None, typer.Option("--card", help="print the card as a PDF, and do no more")] = None,
    program: Annotated[Path | None, typer.Option("--program", help="with JOB: write its best test cut as NC")] = None,
    readings: Annotated[Path | None, typer.Option("--readings", help="TOML file with all readings at once")] = None,
    shop: ShopOption = None,
    as_json: AsJson = False,
) -> None:
    """An hour with your mill: nine simple tests, one card, own figures at once."""
    from . import actions_mill
    from .telling_mill import done_json, done_lines

    if job is not None:
        _next(job, program, shop, as_json=as_json)
        return
    if program is not None:
        raise typer.BadParameter("--program wants the JOB whose cut is tried")
    if card is not None:
        path = actions_mill.mill_card(card, shop=shop)
        say_json({"pdf": str(path)}) if as_json else say([f"{path} is written."])
        return
    mill = actions_mill.mill(machine, shop=shop)
    if readings is None:
        if as_json:
            raise typer.BadParameter("--json wants --readings: questions are for people")
        _asked(mill)
        return
    from .records.mill_hour import keep, read_readings

    done = keep(mill, read_readings(readings, mill), progress)
    say_json(done_json(done)) if as_json else say(done_lines(done))


def _asked(mill: Mill) -> None:
    """The tests one after the other."""
    from .records.mill_hour import keep
    from .records.mill_learn import strange
    from .records.mill_session import Session
    from .telling import wrapped
    from .telling_mill import done_lines

    book = mill.book
    session = Session(iter(sys.stdin.readline, ""), mill.shop, mill.machine, lambda found: strange(found, book),
                      lambda found: done_lines(keep(mill, [found], progress)))
    for text in session:
        say(wrapped(text) if text else [""])


def _next(job: Path, program: Path | None, shop: Path | None, *, as_json: bool) -> None:
    """Which test would help a job most."""
    from . import actions_mill
    from .records.next_test import next_json, next_lines
    from .telling import wrapped

    found = actions_mill.next_tests(job, program, shop=shop, progress=progress)
    if as_json:
        say_json({"tests": next_json(found), "program": None if program is None else str(program)})
        return
    for text in next_lines(found):
        say(wrapped(text))
    if program is not None:
        cut = next((w.candidate.cut for w in found if w.candidate.cut is not None), None)
        of = f", a trial in scrap for operation {cut.operation}" if cut is not None else ""
        say([f"{program} is written{of}. Read it through, and run it in the air first."])
