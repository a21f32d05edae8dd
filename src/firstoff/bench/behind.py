"""Sheets behind the route card: where a size comes from, what touches the part, what sings, notes on a program."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from ..errors import NameUnknown, OutOfRange
from .clerk import Book, Clerk
from .office import office_of, told
from .pages import page, waiting

SIZE_KEY = ("White: the surface that places the work; black: the one that is made from it. Per cent: its share of "
            "what makes the size uncertain.")
SINGS_KEY = "The check itself at one speed after another, by the figures of the shop; the other numbers as they are."


async def _behind(request: Request) -> Response:
    clerk = office_of(request).clerk
    if clerk.book is None:
        return HTMLResponse(waiting(clerk))
    kind, name = request.path_params["kind"], request.path_params["name"]
    makes = {"size": _size, "setting": _setting, "operation": _operation}.get(kind)
    if makes is None:
        raise HTTPException(404)
    try:
        sheet = await run_in_threadpool(makes, clerk.book, clerk, name)
    except NameUnknown:
        raise HTTPException(404) from None
    return HTMLResponse(page("behind.html", **sheet))


def _size(book: Book, clerk: Clerk, name: str) -> dict[str, Any]:
    """Where a size comes from."""
    from .. import actions_drawn

    belief = actions_drawn.figures(book.result, clerk.folder, clerk.shop)
    svg = actions_drawn.size_way(book.result, name, belief)
    said = [*_why(book, name, "limit"), SIZE_KEY] if svg else [
        "Its ends are made in no setting of the route: there is no way to draw."]
    return _sheet(f"Where {name.replace('_', ' ')} comes from", "/#inspection", svg, said)


def _setting(book: Book, clerk: Clerk, name: str) -> dict[str, Any]:
    """What touches the part in a setting."""
    from .. import actions_drawn
    from ..telling import sentence

    belief = actions_drawn.figures(book.result, clerk.folder, clerk.shop)
    svg, said = actions_drawn.contacts(book.result, name, book.views.get(name, ()), belief)
    return _sheet("What touches the part", f"/#setting-{name}", svg, [sentence(text) for text in said])


def _operation(book: Book, clerk: Clerk, name: str) -> dict[str, Any]:
    """What sings, and the notes on the program."""
    from .. import actions_drawn
    from ..telling import sentence

    rows = actions_drawn.program_notes(book.result, name)
    belief = actions_drawn.figures(book.result, clerk.folder, clerk.shop)
    op = book.result.route.operations[name]
    try:
        svg = actions_drawn.singing(book.result, name, belief)
        said = [*_why(book, name, "operation", "chatter"), SINGS_KEY] if svg else [
            "Nothing of this operation can sing, as far as is computed."]
    except OutOfRange as error:               # nothing is cut, or the figures end here
        svg, said = None, [sentence(error.what)]
    return _sheet(f"Behind operation {op.number}", f"/#op-{op.number}", svg, said) | {
        "rows": rows, "program": book.result.route.program_of(op) or ""}


def _why(book: Book, name: str, subject: str, check: str = "") -> list[str]:
    """What the drawing shows, in words."""
    from ..telling import sentence

    return [sentence(c.finding.because) for c in book.result.checks if c.operation == name
            and c.finding.subject == subject and check in ("", c.finding.check)]


def _sheet(title: str, back: str, svg: str | None, said: list[str]) -> dict[str, Any]:
    return {"title": title, "back": back, "svg": Markup(svg) if svg else "", "said": said, "rows": [], "program": ""}


ROUTES = [Route("/behind/{kind}/{name}", told(_behind))]
