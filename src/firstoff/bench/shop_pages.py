"""The shop on paper: machines, tools, materials, instruments, own figures beside the book's; the mill's hour."""

from __future__ import annotations

import math
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from ..errors import FileError, FirstoffError, NameUnknown, RecordError
from ..units import tell
from .clerk import Clerk
from .hearing import heard_in
from .looking import MOST, kind_of
from .office import office_of, sent, texts, told
from .pages import MARGIN, WIDE, page, records_in_words, whose_figures
from .starting import ID, received, stem_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ..actions_shop import Figure, Life, Standing
    from ..records.history import Tried
    from ..records.mill_tests import Ask, MillTest
    from ..shop.models import Collet, Instrument, Material, Shop, Tool

FIRST: Final = 4            #: figures of a thing that are seen at once; the others unfold
RECORDINGS_KEPT: Final = 4                #: that were sent, and their test not kept
STROKES: Final = 60         #: of a tally; more are told by their number alone


async def _shop(request: Request) -> Response:
    clerk = office_of(request).clerk
    return HTMLResponse(await run_in_threadpool(_shop_page, clerk))


def _shop_page(clerk: Clerk) -> str:
    from .. import actions_shop
    from ..actions import records

    found = actions_shop.standing(clerk.folder, shop=clerk.shop)
    kept = records(clerk.folder, shop=clerk.shop) if clerk.has_job else ()
    done = frozenset(record.subject for record in kept)
    lives = actions_shop.lives(clerk.book.result, done) if clerk.book else {}
    tries = actions_shop.tries(clerk.folder, shop=clerk.shop) if clerk.has_job else ()
    return page("shop.html", name=found.shop.name, own=found.own, note=whose_figures(found.note)["note"],
                records=len(kept), sections=_sections(found, lives),
                tries=[_tried(item) for item in tries])


def _sections(found: Standing, lives: dict[str, Life]) -> list[dict[str, Any]]:
    stock, units = found.shop, found.shop.units
    said: list[tuple[str, str, list[tuple[str, str, str]]]] = [
        ("machines", "machine", [(key, one.name, _speeds(key, stock)) for key, one in stock.machines.items()]),
        ("collets", "collet", [(key, one.name, "grips " + _range(one.grips, units))
                               for key, one in stock.collets.items()]),
        ("tools", "tool", [(key, one.name, f"price {one.price:g} {stock.rates.money}" if one.price else "")
                           for key, one in stock.tools.items()]),
        ("materials", "material", [(key, one.name, " ".join(one.cautions)) for key, one in stock.materials.items()]),
        ("instruments", "instrument", [
            (key, one.name, f"{_range(one.range, units)}, reads to {tell(one.resolution, 'length', units)}")
            for key, one in stock.instruments.items()]),
        ("holding", "device", [(key, one.name, "") for key, one in stock.devices.items()]),
        ("how right the sums are", "discrepancy", [(key, figures[0].name, "") for key in stock.discrepancies
                                                   if (figures := found.figures.get(f"discrepancy:{key}"))]),
    ]
    return [{"title": title, "things": [
        {"name": name, "about": about, "life": _life(lives.get(key)),
         "figures": [_strips(item) for item in found.figures.get(f"{entity}:{key}", ())]}
        for key, name, about in things], "first": FIRST} for title, entity, things in said]


def _speeds(key: str, stock: Shop) -> str:
    machine = stock.machines[key]
    said = [stock.classes[machine.like].name]
    if machine.spindle:
        steps = machine.spindle.steps or (machine.spindle.slowest, machine.spindle.fastest)
        joined = (", " if machine.spindle.steps else " to ").join(
            tell(step, "rotation").removesuffix(" rpm") for step in steps)
        said.append(f"{joined} rpm")
    if machine.travel:
        said.append("travel " + " × ".join(tell(way, "length", stock.units) for way in machine.travel))
    return ", ".join(said)


def _range(ends: tuple[float, float], units: str) -> str:
    low, high = (tell(end, "length", units) for end in ends)
    return low if low == high else f"{low} to {high}"


def _life(life: Life | None) -> dict[str, Any] | None:
    if life is None:
        return None
    return {"so_far": round(min(100.0 * life.so_far, 100.0), 1), "whole": round(min(100.0 * life.whole, 100.0), 1),
            "said": f"this job uses {_share(life.whole)} of its life; so far {_share(life.so_far)}"}


def _share(part: float) -> str:
    return "nothing" if part <= 0.0 else "under 1 %" if part < 0.01 else f"about {100.0 * part:.0f} %"


def _strips(figure: Figure) -> dict[str, Any]:
    """Book and own figure as strips on one scale; by ratios where they span much."""
    ranges = [figure.book, *([figure.own] if figure.own else [])]
    ends = [end for one in ranges for end in one]
    by_ratio = min(ends) > 0.0 and max(ends) > WIDE ** 0.5 * min(ends)
    scale = math.log if by_ratio else float
    low = min(map(scale, ends)) if by_ratio else min(*ends, 0.0)
    span = (max(map(scale, ends)) - low) or 1.0

    def share(value: float) -> float:
        return round(100.0 * (MARGIN + (1.0 - 2.0 * MARGIN) * (scale(value) - low) / span), 2)

    def strip(one: tuple[float, float, float]) -> dict[str, float]:
        return dict(zip(("low", "middle", "high"), map(share, one), strict=True))

    return {"name": figure.name, "book": strip(figure.book), "own": strip(figure.own) if figure.own else None,
            "book_says": figure.book_says, "own_says": figure.own_says,
            "records": records_in_words(figure.records)}


def _tried(item: Tried) -> dict[str, Any]:
    """A way of cutting with a stroke for each time that it was recorded, and what was seen."""
    from ..records.history import besides

    material, tool, machine = item.names
    return {"way": f"{tool} in {material}, {machine}", "cut": item.way.cut, "last": item.last,
            "words": [(word, many, _tally(many)) for word, many in item.words.items()],
            "besides": besides(item)}


def _tally(many: int) -> list[tuple[float, float]]:
    """Strokes as on a slate, from x to x at foot and head; the fifth goes across its four."""
    return [(12.0 * (k // 5) + 2.0 * (k % 5), 12.0 * (k // 5) + 2.0 * (k % 5)) if k % 5 < 4
            else (12.0 * (k // 5) - 1.0, 12.0 * (k // 5) + 7.0) for k in range(min(many, STROKES))]


async def _learn(request: Request) -> Response:
    await sent(request)
    lines = await run_in_threadpool(office_of(request).clerk.learn)
    return JSONResponse({"lines": list(lines)})


async def _score(request: Request) -> Response:
    await sent(request)
    return JSONResponse({"lines": [await run_in_threadpool(office_of(request).clerk.was_right)]})


async def _hour(request: Request) -> Response:
    """The nine tests, and one of them as a guided card."""
    clerk, name = office_of(request).clerk, request.path_params.get("test", "")
    try:
        return HTMLResponse(await run_in_threadpool(_hour_page, clerk, name, request.query_params.get("on")))
    except NameUnknown:
        raise HTTPException(404) from None


def _hour_page(clerk: Clerk, name: str, machine: str | None) -> str:
    from .. import actions_shop
    from ..records.mill_learn import lacking, machines_of
    from ..records.mill_tests import TESTS, the_test

    try:
        some = actions_shop.mill(clerk.folder, machine or _first_mill(clerk), shop=clerk.shop)
    except RecordError as error:
        return page("hour.html", trouble=f"{error.what}.", tests=[], test=None, mills=[], on="")
    stock = some.shop
    mills = [(key, stock.machines[key].name) for key in machines_of(stock)]
    tests = [{"name": test.name, "number": test.number, "title": test.title, "minutes": f"{test.minutes:g}"}
             for test in TESTS]
    one = _test(the_test(name), stock, some.machine, lacking(the_test(name), stock)) if name else None
    return page("hour.html", trouble="", tests=tests, test=one, mills=mills, on=some.machine)


def _first_mill(clerk: Clerk) -> str | None:
    """The first of several mills: one is shown, the others can be chosen."""
    from ..actions_start import place_of_shop
    from ..records.mill_learn import machines_of
    from ..shop.library import load_shop

    return next(iter(machines_of(load_shop(place_of_shop(clerk.folder, clerk.shop)))), None)


def _test(test: MillTest, stock: Shop, machine: str, lacks: str) -> dict[str, Any]:
    return {"name": test.name, "number": test.number, "title": test.title, "needs": test.needs, "how": test.how,
            "cautions": test.cautions, "narrows": test.narrows, "minutes": f"{test.minutes:g}", "lacks": lacks,
            "again": test.again, "asks": [_ask(ask, stock, machine) for ask in test.asks]}


def _ask(ask: Ask, stock: Shop, machine: str) -> dict[str, Any]:
    """A blank, or the names that can stand in it."""
    sections: dict[str, Mapping[str, Collet | Tool | Material | Instrument]] = {
        "collet": stock.collets, "tool": stock.tools, "material": stock.materials, "instrument": stock.instruments}
    named = sections.get(ask.quantity)
    choices = {"x": "x, across", "y": "y, in and out", "z": "z, up and down"} if ask.quantity == "axis" else {}
    if named is not None:
        fits = stock.machines[machine].collets if ask.quantity == "collet" else ()
        choices = {key: one.name for key, one in named.items() if not fits or key in fits}
    return {"key": ask.key, "question": ask.question, "choices": choices, "optional": ask.optional,
            "otherwise": ask.otherwise, "file": ask.quantity == "file", "many": ask.many}


async def _tested(request: Request) -> Response:
    """Readings of one test: doubted, or kept and learned from."""
    clerk, said = office_of(request).clerk, texts(await sent(request))
    keep, machine, name = said.pop("keep", "") == "yes", said.pop("machine", ""), said.pop("recording", "")
    if said.pop("file", "") or (name and not ID.fullmatch(name)):
        raise HTTPException(400)              # no path is ever taken from a page
    filled = {key: text.strip() for key, text in said.items() if text.strip()}
    if name:
        filled["file"] = str(_recorded(clerk, name))
    try:
        if name:
            filled |= await run_in_threadpool(heard_in, Path(filled["file"]))
        doubts, lines = await run_in_threadpool(clerk.mill_test, machine, request.path_params["test"], filled, keep)
    except FirstoffError as error:
        if name and error.where == filled["file"]:
            raise RecordError(error.what, where="tap.file", right=error.right) from None
        raise
    if name and not doubts:
        shutil.rmtree(_place(clerk, name))
    return JSONResponse({"doubts": doubts, "lines": lines})


def _place(clerk: Clerk, name: str) -> Path:
    return clerk.folder / ".firstoff" / f"recording-{name}"


def _recorded(clerk: Clerk, name: str) -> Path:
    """A recording that was sent, until its test is kept."""
    found = next(iter(_place(clerk, name).glob("*")), None)
    if found is None:
        raise FileError("the recording is not here any more", where="tap.file", right="choose it again")
    return found


async def _recording(request: Request) -> Response:
    """The recording of a tap: as long as allowed, a sound or a log; kept until its test is."""
    clerk, name = office_of(request).clerk, request.path_params["id"]
    if not ID.fullmatch(name):
        raise HTTPException(400)
    with await received(request, clerk, MOST["recording"]) as incoming:
        kind = await run_in_threadpool(kind_of, incoming, "recording")
        stem = stem_of(request.query_params.get("name", ""), "tap")
        _place(clerk, name).mkdir(exist_ok=True)
        _place(clerk, name).joinpath(f"{stem}.{kind}").write_bytes(incoming.read_bytes())
    old = sorted((clerk.folder / ".firstoff").glob("recording-*"), key=lambda place: place.stat().st_mtime)
    for place in old[:-RECORDINGS_KEPT]:
        shutil.rmtree(place)
    return JSONResponse({"recording": name, "kind": kind})


ROUTES = [
    Route("/recordings/{id}", told(_recording), methods=["PUT"]),
    Route("/shop", told(_shop)), Route("/learn", told(_learn), methods=["POST"]),
    Route("/score", told(_score), methods=["POST"]), Route("/hour", told(_hour)), Route("/hour/{test}", told(_hour)),
    Route("/hour/{test}", told(_tested), methods=["POST"]),
]
