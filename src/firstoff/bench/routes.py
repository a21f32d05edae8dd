"""What each address of the pages answers. Thin: reads the request, calls one action, shows what it says."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass, field
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

from ..errors import FirstoffError
from ..records.reading import Reading
from . import pages
from .clerk import Busy, Clerk, Stopped
from .guard import Guard
from .keys import COOKIE, LASTS, Codes, Seal
from .looking import kind_of

STATIC: Final = Path(__file__).parent / "static"
KINDS: Final = {".js": "text/javascript", ".css": "text/css"}
#: of what pages send, and of a photo or recording [bytes]
MOST_TEXT: Final = 256 * 1024
MOST_FILE: Final = 40 * 2**20
#: keys of a tap, as a reading has them
SAID: Final = ("word", "size", "instrument", "watts", "idle", "replaces", "note")
Handler = Callable[[Request], Awaitable[Response]]


@dataclass
class Office:
    """What all routes share."""

    clerk: Clerk
    seal: Seal
    codes: Codes = field(default_factory=Codes)
    address: str = ""                #: for other devices; empty where only this computer is served


def app_of(office: Office, hosts: Iterable[str]) -> Guard:
    """The pages of one job, guarded.

    Args:
        office: what the routes share.
        hosts: names and ports under which they may be asked for.
    """
    app = Starlette(routes=[
        Route("/", _told(_desk)), Route("/bench", _told(_bench)), Route("/ask", _told(_ask)),
        Route("/state", _told(_state)), Route("/turn/{part}", _told(_turn)),
        Route("/static/{name}", _told(_static)), Route("/pair", _told(_pair), methods=["GET", "POST"]),
        Route("/pair/{code}", _told(_pair_by_link)), Route("/code", _told(_code), methods=["POST"]),
        Route("/records", _told(_records), methods=["POST"]), Route("/decide", _told(_decide), methods=["POST"]),
        Route("/files/{subject}", _told(_file), methods=["PUT"]), Route("/try", _told(_try), methods=["POST"]),
        Route("/ink", _told(_ink), methods=["POST"]), Route("/plan", _told(_plan), methods=["POST"]),
        Route("/check", _told(_check), methods=["POST"]),
        Route("/stop", _told(_stop), methods=["POST"]), Route("/ask/{what}", _told(_answer), methods=["POST"]),
    ])
    app.state.office = office
    return Guard(app, office.seal, hosts, {"/pair"}, "/pair/")


def _told(handler: Handler) -> Handler:
    """The same, with what went wrong told in words."""
    async def told(request: Request) -> Response:
        try:
            return await handler(request)
        except FirstoffError as error:
            return JSONResponse({"wrong": error.what, "where": error.where, "right": error.right}, 422)
        except Busy:
            return JSONResponse({"wrong": "something else is under way"}, 409)
        except Stopped:
            return JSONResponse({"wrong": "stopped"}, 409)

    return told


def _office(request: Request) -> Office:
    office = request.app.state.office
    assert isinstance(office, Office)
    return office


async def _body(request: Request, most: int = MOST_TEXT) -> bytes:
    """What was sent, refused as soon as it is too long."""
    got = bytearray()
    async for block in request.stream():
        got += block
        if len(got) > most:
            raise HTTPException(413)
    return bytes(got)


async def _sent(request: Request) -> dict[str, Any]:
    """The object that a page sent."""
    if request.headers.get("content-type", "").partition(";")[0] != "application/json":
        raise HTTPException(415)
    try:
        value = json.loads(await _body(request))
    except ValueError:
        raise HTTPException(400) from None
    if not isinstance(value, dict):
        raise HTTPException(400)
    return value


def _texts(value: object) -> dict[str, str]:
    """An object of texts; all else is no request of ours."""
    if not isinstance(value, dict) or not all(isinstance(v, str) and len(v) <= 4000 for v in value.values()):
        raise HTTPException(400)
    return value


async def _desk(request: Request) -> Response:
    clerk = _office(request).clerk
    if clerk.book is None:
        return HTMLResponse(pages.waiting(clerk))
    return HTMLResponse(await run_in_threadpool(pages.desk, clerk.book, bool(_office(request).address)))


async def _bench(request: Request) -> Response:
    clerk = _office(request).clerk
    if clerk.book is None:
        return HTMLResponse(pages.waiting(clerk))
    from .. import actions

    kept = await run_in_threadpool(actions.records, clerk.folder, shop=clerk.shop)
    return HTMLResponse(await run_in_threadpool(pages.bench, clerk.book, kept))


async def _ask(request: Request) -> Response:
    from .looking_up import blanks

    clerk = _office(request).clerk
    return HTMLResponse(pages.ask(await run_in_threadpool(blanks, clerk.folder, clerk.shop)))


async def _answer(request: Request) -> Response:
    from .looking_up import answer

    clerk = _office(request).clerk
    said = _texts(await _sent(request))
    lines = await run_in_threadpool(answer, request.path_params["what"], said, clerk.folder, clerk.shop)
    return JSONResponse({"lines": lines})


async def _state(request: Request) -> Response:
    """How far it is; asking for it begins the first check, when the first page is there."""
    clerk = _office(request).clerk
    if not clerk.trouble:
        clerk.open()
    doing = clerk.doing()
    return JSONResponse({"ready": clerk.book is not None, "trouble": clerk.trouble,
                         "doing": None if doing is None else {"words": doing.words(), "share": doing.share,
                                                              "seconds": doing.seconds}})


async def _turn(request: Request) -> Response:
    from .turning import solid

    book = _office(request).clerk.book
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
    said = parse_qs((await _body(request, 200)).decode("ascii", "replace")).get("code", [""])[0]
    return _paired(request, said)


async def _pair_by_link(request: Request) -> Response:
    return _paired(request, request.path_params["code"])


def _paired(request: Request, said: str) -> Response:
    office = _office(request)
    if not office.codes.use(said):
        again = pages.pair("That code is not good, or was used. A new one is on the desk, under 'pair a tablet'.")
        return HTMLResponse(again, 403, headers=pages.PAIR_POLICY)
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(COOKIE, office.seal.cookie(), max_age=LASTS, httponly=True, samesite="strict", path="/")
    return answer


async def _code(request: Request) -> Response:
    office = _office(request)
    await _sent(request)
    return JSONResponse({"code": office.codes.new(), "address": office.address})


async def _records(request: Request) -> Response:
    """Taps, oldest first; each is kept or refused by itself, and sending one twice keeps it once."""
    taps = (await _sent(request)).get("taps")
    if not isinstance(taps, list) or len(taps) > 200:
        raise HTTPException(400)
    clerk = _office(request).clerk
    answers = {}
    for tap in map(_texts, taps):
        answers[tap.get("id", "")] = await run_in_threadpool(_keep, clerk, tap)
    return JSONResponse({"answers": answers})


def _keep(clerk: Clerk, tap: dict[str, str], file: str | None = None) -> dict[str, str]:
    from .. import actions
    from ..records.store import record_line

    said = {key: tap[key] for key in SAID if key in tap}
    try:
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

    clerk, said = _office(request).clerk, _texts(await _sent(request))
    if clerk.book is None:
        raise HTTPException(409)
    limit, size, instrument = (said.get(key, "") for key in ("limit", "size", "instrument"))
    read, ways = await run_in_threadpool(
        actions_kept.decided, clerk.book.result, limit, size, instrument, clerk.folder, clerk.shop
    )
    return JSONResponse(pages.decision(read, ways, clerk.book.result))


async def _file(request: Request) -> Response:
    """A photo or recording: as long as allowed, looked at by another process, then kept and recorded."""
    clerk = _office(request).clerk
    said = {"subject": request.path_params["subject"], "id": request.query_params.get("id", "")}
    if not re.fullmatch("[0-9a-f]{32}", said["id"]):
        raise HTTPException(400)
    if int(request.headers.get("content-length") or MOST_FILE + 1) > MOST_FILE:
        raise HTTPException(413)
    place = clerk.folder / ".firstoff"
    with tempfile.NamedTemporaryFile(dir=place, prefix="sent-") as incoming:
        incoming.write(await _body(request, MOST_FILE))
        incoming.flush()
        kind = await run_in_threadpool(kind_of, Path(incoming.name))
        return JSONResponse(await run_in_threadpool(_keep_file, clerk, said, Path(incoming.name), kind))


def _keep_file(clerk: Clerk, said: dict[str, str], incoming: Path, kind: str) -> dict[str, str]:
    """By what it is, not by the name that it was sent under."""
    named = incoming.with_name(f"{said['id']}.{kind}")
    named.hardlink_to(incoming)
    try:
        return _keep(clerk, said, str(named))
    finally:
        named.unlink()


async def _try(request: Request) -> Response:
    clerk, edits = _office(request).clerk, _texts((await _sent(request)).get("edits"))
    if clerk.book is None:
        raise HTTPException(409)
    result = await run_in_threadpool(clerk.draft, tuple(edits.items()))
    return JSONResponse(pages.draft(clerk.book.result, result))


async def _ink(request: Request) -> Response:
    edits = _texts((await _sent(request)).get("edits"))
    await run_in_threadpool(_office(request).clerk.ink, tuple(edits.items()))
    return JSONResponse({"inked": len(edits)})


async def _plan(request: Request) -> Response:
    await _sent(request)
    await run_in_threadpool(_office(request).clerk.plan)
    return JSONResponse({"planned": True})


async def _check(request: Request) -> Response:
    await _sent(request)
    await run_in_threadpool(_office(request).clerk.check)
    return JSONResponse({"checked": True})


async def _stop(request: Request) -> Response:
    await _sent(request)
    _office(request).clerk.stop()
    return JSONResponse({"stopping": True})
