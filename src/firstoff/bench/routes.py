"""What each address of the pages answers. Thin: reads the request, calls one action, shows what it says."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from ..errors import FirstoffError, RecordError
from ..records.reading import Reading
from . import behind, pages, shop_pages, starting
from .clerk import Clerk
from .guard import Guard
from .keys import COOKIE, LASTS
from .looking import MOST, kind_of
from .office import Office, body_of, broken, nowhere, office_of, sent, texts, told

STATIC: Final = Path(__file__).parent / "static"
KINDS: Final = {".js": "text/javascript", ".css": "text/css"}
#: keys of a tap, as a reading has them: all that can be logged, but no path, and nobody's name
SAID: Final = tuple(one.name for one in fields(Reading) if one.name not in ("subject", "file", "when", "by", "id"))


def app_of(office: Office, hosts: Iterable[str]) -> Guard:
    """The pages of one job, guarded.

    Args:
        office: what the routes share.
        hosts: names and ports under which they may be asked for.
    """
    app = Starlette(routes=[
        Route("/", told(_desk)), Route("/bench", told(_bench)), Route("/ask", told(_ask)),
        Route("/state", told(_state)), Route("/turn/{part}", told(_turn)),
        Route("/static/{name}", told(_static)), Route("/pair", told(_pair), methods=["GET", "POST"]),
        Route("/pair/{code}", told(_pair_by_link)), Route("/code", told(_code), methods=["POST"]),
        Route("/records", told(_records), methods=["POST"]), Route("/decide", told(_decide), methods=["POST"]),
        Route("/files/{subject}", told(_file), methods=["PUT"]), Route("/try", told(_try), methods=["POST"]),
        Route("/ink", told(_ink), methods=["POST"]), Route("/plan", told(_plan), methods=["POST"]),
        Route("/check", told(_check), methods=["POST"]),
        Route("/stop", told(_stop), methods=["POST"]), Route("/ask/{what}", told(_answer), methods=["POST"]),
        *behind.ROUTES, *shop_pages.ROUTES, *starting.ROUTES,
    ], exception_handlers={404: nowhere, 405: nowhere, 500: broken})
    app.state.office = office
    return Guard(app, office.seal, hosts, {"/pair"}, "/pair/")


async def _desk(request: Request) -> Response:
    clerk = office_of(request).clerk
    if not clerk.has_job and starting.is_loaded():
        return RedirectResponse("/start", status_code=303)
    if clerk.book is None:
        return HTMLResponse(pages.waiting(clerk))
    return HTMLResponse(await run_in_threadpool(pages.desk, clerk.book, clerk.network))


async def _bench(request: Request) -> Response:
    clerk = office_of(request).clerk
    if not clerk.has_job:
        return RedirectResponse("/start", status_code=303)
    if clerk.book is None:
        return HTMLResponse(pages.waiting(clerk))
    from .. import actions

    kept = await run_in_threadpool(actions.records, clerk.folder, shop=clerk.shop)
    return HTMLResponse(await run_in_threadpool(pages.bench, clerk.book, kept))


async def _ask(request: Request) -> Response:
    from .looking_up import blanks

    clerk = office_of(request).clerk
    return HTMLResponse(pages.ask(await run_in_threadpool(blanks, clerk.folder, clerk.shop)))


async def _answer(request: Request) -> Response:
    from .looking_up import answer

    clerk = office_of(request).clerk
    said = texts(await sent(request))
    lines = await run_in_threadpool(answer, request.path_params["what"], said, clerk.folder, clerk.shop)
    return JSONResponse({"lines": lines})


async def _state(request: Request) -> Response:
    """How far it is. The first page begins the first check by asking; others wait for work of their own."""
    clerk = office_of(request).clerk
    if clerk.has_job and not clerk.trouble and request.query_params.get("begin"):
        clerk.open()
    doing = clerk.doing()
    return JSONResponse({"ready": clerk.book is not None, "trouble": clerk.trouble, "job": clerk.has_job,
                         "doing": None if doing is None else {"words": doing.words(), "share": doing.share,
                                                              "seconds": doing.seconds}})


async def _turn(request: Request) -> Response:
    from .turning import solid

    book = office_of(request).clerk.book
    if book is None or request.path_params["part"] not in book.result.parts:
        raise HTTPException(404)
    return JSONResponse(await run_in_threadpool(solid, book.result, request.path_params["part"]))


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    file = STATIC / name
    if not re.fullmatch(r"[a-z]+\.(js|css)", name) or not file.is_file():
        raise HTTPException(404)
    return Response(file.read_bytes(), media_type=KINDS[file.suffix])


async def _pair(request: Request) -> Response:
    if request.method == "GET":
        return HTMLResponse(pages.pair(""), headers=pages.PAIR_POLICY)
    said = parse_qs((await body_of(request, 200)).decode("ascii", "replace")).get("code", [""])[0]
    return _paired(request, said)


async def _pair_by_link(request: Request) -> Response:
    return _paired(request, request.path_params["code"])


def _paired(request: Request, said: str) -> Response:
    office = office_of(request)
    if not office.codes.use(said):
        again = pages.pair("That code is not good, or was used. A new one is on the desk, under 'pair a tablet'.")
        return HTMLResponse(again, 403, headers=pages.PAIR_POLICY)
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(COOKIE, office.seal.cookie(), max_age=LASTS, httponly=True, samesite="strict", path="/")
    return answer


async def _code(request: Request) -> Response:
    office = office_of(request)
    await sent(request)
    return JSONResponse({"code": office.codes.new(), "address": office.address})


async def _records(request: Request) -> Response:
    """Taps, oldest first; each is kept or refused by itself, and sending one twice keeps it once."""
    taps = (await sent(request)).get("taps")
    if not isinstance(taps, list) or len(taps) > 200:
        raise HTTPException(400)
    clerk = office_of(request).clerk
    answers = {}
    for tap in map(texts, taps):
        answers[tap.get("id", "")] = await run_in_threadpool(_keep, clerk, tap)
    return JSONResponse({"answers": answers})


def _keep(clerk: Clerk, tap: dict[str, str], file: str | None = None) -> dict[str, str]:
    from .. import actions
    from ..records.store import record_line

    said: dict[str, Any] = {key: tap[key] for key in SAID if key in tap}
    try:
        if said.setdefault("scrap", "") not in ("", "yes"):
            raise RecordError(f"{said['scrap']!r} does not say whether it was in scrap", right="yes, or nothing")
        said["scrap"] = said["scrap"] == "yes"
        reading = Reading(tap.get("subject", ""), file=file, id=tap.get("id"), **said)
        record = actions.log(clerk.folder, reading, shop=clerk.shop, when=_when(tap.get("when", "")))
    except FirstoffError as error:
        return {"refused": str(error)}
    return {"kept": record_line(record)}


def _when(text: str) -> datetime:
    """When it was said by the tablet's clock, unless that runs ahead of ours."""
    now = datetime.now(UTC)
    try:
        said = datetime.fromisoformat(text)
    except ValueError:
        return now
    return now if said.tzinfo is None or said > now else said


async def _decide(request: Request) -> Response:
    """What a size that was just read allows to be said."""
    from .. import actions_kept

    clerk, said = office_of(request).clerk, texts(await sent(request))
    if clerk.book is None:
        raise HTTPException(409)
    limit, size, instrument = (said.get(key, "") for key in ("limit", "size", "instrument"))
    found = await run_in_threadpool(
        actions_kept.decided, clerk.book.result, limit, size, instrument, clerk.folder, clerk.shop
    )
    return JSONResponse(pages.decision(found, clerk.book.result))


async def _file(request: Request) -> Response:
    """A photo or recording: as long as allowed, looked at by another process, then kept and recorded."""
    clerk = office_of(request).clerk
    said = {"subject": request.path_params["subject"], "id": request.query_params.get("id", ""),
            "when": request.query_params.get("when", "")}
    if not re.fullmatch("[0-9a-f]{32}", said["id"]):
        raise HTTPException(400)
    with await starting.received(request, clerk, MOST["record"]) as incoming:
        kind = await run_in_threadpool(kind_of, incoming)
        return JSONResponse(await run_in_threadpool(_keep_file, clerk, said, incoming, kind))


def _keep_file(clerk: Clerk, said: dict[str, str], incoming: Path, kind: str) -> dict[str, str]:
    """By what it is, not by the name that it was sent under."""
    named = incoming.with_name(f"{said['id']}.{kind}")
    named.hardlink_to(incoming)
    try:
        return _keep(clerk, said, str(named))
    finally:
        named.unlink()


async def _try(request: Request) -> Response:
    from .pencil import with_tolerances

    clerk, edits = office_of(request).clerk, texts((await sent(request)).get("edits"))
    starting.inside(edits, clerk.folder)
    if clerk.book is None:
        raise HTTPException(409)
    wanted = await run_in_threadpool(with_tolerances, edits, clerk.book.result)
    result = await run_in_threadpool(clerk.draft, tuple(wanted.items()))
    return JSONResponse(pages.draft(clerk.book.result, result) | {"edits": wanted})


async def _ink(request: Request) -> Response:
    from .pencil import with_tolerances

    clerk, edits = office_of(request).clerk, texts((await sent(request)).get("edits"))
    starting.inside(edits, clerk.folder)
    wanted = await run_in_threadpool(with_tolerances, edits, clerk.book.result) if clerk.book else edits
    await run_in_threadpool(clerk.ink, tuple(wanted.items()))
    return JSONResponse({"inked": len(edits)})


async def _plan(request: Request) -> Response:
    await sent(request)
    await run_in_threadpool(office_of(request).clerk.plan)
    return JSONResponse({"planned": True})


async def _check(request: Request) -> Response:
    await sent(request)
    await run_in_threadpool(office_of(request).clerk.check)
    return JSONResponse({"checked": True})


async def _stop(request: Request) -> Response:
    await sent(request)
    office_of(request).clerk.stop()
    return JSONResponse({"stopping": True})
