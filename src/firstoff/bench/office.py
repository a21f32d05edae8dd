"""What all pages share: the office of a job, and how a request is read and an answer told."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Any, Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from ..errors import FileError, FirstoffError, NameUnknown
from .clerk import Busy, Clerk, Stopped
from .keys import Codes, Seal
from .pages import trouble

#: of what pages send [bytes]
MOST_TEXT: Final = 256 * 1024
BY_CARD: Final = "a name that stands on the card or in the shop; it may have changed since the page was made"
NOWHERE: Final = NameUnknown("there is no page at this address", right="one of those above; they lead to all others")
BROKEN: Final = FirstoffError("the program itself failed; what was written before is not lost",
                              right="the same again; if it fails again, the terminal tells where it broke")
Handler = Callable[[Request], Awaitable[Response]]


@dataclass
class Office:
    """What all routes share."""

    clerk: Clerk
    seal: Seal
    codes: Codes = field(default_factory=Codes)
    address: str = ""                #: for other devices; empty where only this computer is served


def told(handler: Handler) -> Handler:
    """The same, with what went wrong told in words."""
    async def answered(request: Request) -> Response:
        try:
            return await handler(request)
        except FirstoffError as error:
            return _in_words(request, error, 422)
        except HTTPException as error:
            if error.status_code == 404:
                return _in_words(request, NameUnknown("there is nothing of that name", right=BY_CARD), 404)
            if error.status_code == 413:
                return _in_words(request, FileError("it is too big", right=error.detail), 413)
            raise
        except Busy:
            return JSONResponse({"wrong": "something else is under way", "where": "",
                                 "right": "a check or learning: the same again in a moment"}, 409)
        except Stopped:
            return JSONResponse({"wrong": "stopped"}, 409)

    return answered


def _in_words(request: Request, error: FirstoffError, status: int) -> Response:
    """What is wrong: as a page for those who look at one, else for the page that asked."""
    if "text/html" in request.headers.get("accept", ""):
        return HTMLResponse(trouble(error), status)
    return JSONResponse({"wrong": error.what, "where": error.where, "right": error.right}, status)


async def nowhere(request: Request, _error: Exception) -> Response:
    """An address that leads to no page, or to none that can be asked so."""
    return _in_words(request, NOWHERE, 404)


async def broken(request: Request, _error: Exception) -> Response:
    """A fault of our own; the server tells it in the terminal, too."""
    return _in_words(request, BROKEN, 500)


def too_big(most: int) -> HTTPException:
    """Told of what has more bytes than this."""
    return HTTPException(413, f"at most {most / 2**20:.3g} MB")


def office_of(request: Request) -> Office:
    """The office of the pages that are asked."""
    office = request.app.state.office
    assert isinstance(office, Office)
    return office


async def body_of(request: Request, most: int = MOST_TEXT) -> bytes:
    """What was sent, refused as soon as it is too long."""
    got = bytearray()
    async for block in request.stream():
        got += block
        if len(got) > most:
            raise too_big(most)
    return bytes(got)


async def sent(request: Request) -> dict[str, Any]:
    """The object that a page sent."""
    if request.headers.get("content-type", "").partition(";")[0] != "application/json":
        raise HTTPException(415)
    try:
        value = json.loads(await body_of(request))
    except ValueError:
        raise HTTPException(400) from None
    if not isinstance(value, dict):
        raise HTTPException(400)
    return value


def texts(value: object) -> dict[str, str]:
    """An object of texts; all else is no request of ours."""
    if not isinstance(value, dict) or not all(isinstance(v, str) and len(v) <= 4000 for v in value.values()):
        raise HTTPException(400)
    return value
