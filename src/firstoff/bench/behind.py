"""Sheets behind the route card: where a size comes from, what touches the part, what sings, notes on a program."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from ..errors import OutOfRange
from .clerk import Book, Clerk
from .office import office_of, told
from .pages import page, waiting

SIZE_KEY = ("Ring: the surface that places the work; dot: the one that is made from it. Per cent: its share of "
            "what makes the size uncertain.")
SINGS_KEY = "The check itself at one speed after another, by the figures of the shop; the other numbers as they are."


async def _behind(request: Request) -> Response:
    """The sheet at once; it asks for the drawing itself, which has to be reckoned."""
    clerk = office_of(request).clerk
    if clerk.book is None:
        return HTMLResponse(waiting(clerk))
    kind, name = _asked(request, clerk.book)
    sheet = {"size": _size_sheet, "setting": _setting_sheet, "operation": _operation_sheet}[kind](clerk.book, name)
    return HTMLResponse(page("behind.html", **sheet, way=f"/behind/{kind}/{quote(name)}/drawing"))


async def _drawing(request: Request) -> Response:
    """The drawing of a sheet, where there is one, and what it shows in words."""
    clerk = office_of(request).clerk
    if clerk.book is None:
        raise HTTPException(409)
    kind, name = _asked(request, clerk.book)
    draws = {"size": _size, "setting": _setting, "operation": _operation}[kind]
    svg, said = await run_in_threadpool(draws, clerk.book, clerk, name)
    return JSONResponse({"svg": svg or "", "said": said})


def _asked(request: Request, book: Book) -> tuple[str, str]:
    """Kind and name of a sheet that there is."""
    kind, name = str(request.path_params["kind"]), str(request.path_params["name"])
    route = book.result.route
    there: dict[str, Collection[str]] = {
        "size": book.result.job.limits, "setting": route.settings, "operation": route.operations}
    if name not in there.get(kind, ()):
        raise HTTPException(404)
    return kind, name


def _size_sheet(_book: Book, name: str) -> dict[str, Any]:
    return _sheet(f"Where {name.replace('_', ' ')} comes from", "/#inspection")


def _setting_sheet(_book: Book, name: str) -> dict[str, Any]:
    return _sheet("What touches the part", f"/#setting-{name}")


def _operation_sheet(book: Book, name: str) -> dict[str, Any]:
    """What sings, and the notes on the program."""
    from .. import actions_drawn

    op = book.result.route.operations[name]
    return _sheet(f"Behind operation {op.number}", f"/#op-{op.number}") | {
        "rows": actions_drawn.program_notes(book.result, name), "program": book.result.route.program_of(op) or ""}


def _sheet(title: str, back: str) -> dict[str, Any]:
    return {"title": title, "back": back, "rows": [], "program": ""}


Drawn = tuple[str | None, list[str]]


def _size(book: Book, clerk: Clerk, name: str) -> Drawn:
    """Where a size comes from."""
    from .. import actions_drawn

    belief = actions_drawn.figures(book.result, clerk.folder, clerk.shop)
    svg = actions_drawn.size_way(book.result, name, belief)
    return svg, [*_why(book, name, "limit"), SIZE_KEY] if svg else [
        "Its ends are made in no setting of the route: there is no way to draw."]


def _setting(book: Book, clerk: Clerk, name: str) -> Drawn:
    """What touches the part in a setting."""
    from .. import actions_drawn
    from ..telling import sentence

    belief = actions_drawn.figures(book.result, clerk.folder, clerk.shop)
    svg, said = actions_drawn.contacts(book.result, name, book.views.get(name, ()), belief)
    return svg, [sentence(text) for text in said]


def _operation(book: Book, clerk: Clerk, name: str) -> Drawn:
    """What sings."""
    from .. import actions_drawn
    from ..telling import sentence

    belief = actions_drawn.figures(book.result, clerk.folder, clerk.shop)
    try:
        svg = actions_drawn.singing(book.result, name, belief)
    except OutOfRange as error:               # nothing is cut, or the figures end here
        return None, [sentence(error.what)]
    return svg, [*_why(book, name, "operation", "chatter"), SINGS_KEY] if svg else [
        "Nothing of this operation can sing, as far as is computed."]


def _why(book: Book, name: str, subject: str, check: str = "") -> list[str]:
    """What the drawing shows, in words."""
    from ..telling import sentence

    return [sentence(c.finding.because) for c in book.result.checks if c.operation == name
            and c.finding.subject == subject and check in ("", c.finding.check)]


ROUTES = [Route("/behind/{kind}/{name}", told(_behind)), Route("/behind/{kind}/{name}/drawing", told(_drawing))]
