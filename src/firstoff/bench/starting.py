"""A shop and a job started from the page; programs put to operations. Other processes look at what is sent."""

from __future__ import annotations

import re
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, get_args

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from ..errors import FileError, FirstoffError, NameUnknown
from ..units import tell
from .clerk import Clerk
from .looking import MOST, kind_of
from .office import body_of, office_of, sent, texts, told, too_big
from .pages import page

if TYPE_CHECKING:
    from ..job.models import Job

MODELS_KEPT: Final = 8                   #: that were sent and not used; older ones go
ID: Final = re.compile("[0-9a-f]{32}")
FILE: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,60}")


def is_loaded() -> bool:
    """Whether the page can be written at once: what reads shop and job is there."""
    return "firstoff.job.reading" in sys.modules


async def _start(request: Request) -> Response:
    return HTMLResponse(await run_in_threadpool(start_page, office_of(request).clerk))


def start_page(clerk: Clerk) -> str:
    """What to do next in a folder without a job; or another part for one that has it."""
    from ..actions_start import place_of_shop
    from ..job.models import Stock
    from ..job.reading import load_job
    from ..shop.library import load_shop

    place, starter = place_of_shop(clerk.folder, clerk.shop), load_shop(None)
    stock = load_shop(place)
    job = load_job(clerk.folder) if clerk.has_job else None
    conditions = get_args(Stock.model_fields["condition"].annotation)
    mills = {key: one.name for key, one in starter.machines.items() if starter.classes[one.like].kind == "mill"}
    wanted = _told_of(job, clerk) if job else {"limits": [], "joints": [], "holes": [], "bought": [], "named": None}
    return page("start.html", **wanted, job=job.name if job else "", parts=list(job.parts) if job else [],
                own=stock.name if place else "", mills=mills, units=job.units if job else stock.units,
                materials={key: one.name for key, one in stock.materials.items()},
                conditions=[(one, one.replace("_", " ")) for one in conditions])


def _told_of(job: Job, clerk: Clerk) -> dict[str, Any]:
    """What must come right so far, what goes together, and what can be named in more of it."""
    from .. import actions_wanted
    from ..job.models import Limit, ScrewJoint

    named = actions_wanted.names(clerk.folder, clerk.shop)

    def band(limit: Limit) -> str:
        low, high = (tell(end, "length", job.units) for end in limit.tolerance)
        return f"within {high}" if limit.is_zone else f"{low} to {high}"

    return {
        "limits": [(name, " ".join(filter(None, (
            limit.kind, limit.part or "", " and ".join(limit.between),
            tell(limit.size, "length", job.units) if limit.size is not None else "", band(limit)))))
            for name, limit in job.limits.items()],
        "joints": [(name, f"{joint.kind} {joint.screw}") for name, joint in job.joints.items()],
        "holes": [(what, f"{part}.{hole}", text) for part, one in job.parts.items()
                  for what, table in (("threads", one.threads), ("ream", one.ream)) for hole, text in table.items()],
        "bought": [(name, piece.name) for name, piece in job.bought.items()],
        "named": named, "kinds": _same(get_args(Limit.model_fields["kind"].annotation)),
        "parts_alone": _same(job.parts), "heads": _same(get_args(ScrewJoint.model_fields["head"].annotation)),
        "grades": [("8.8", "8.8"), *_same(g for g in get_args(ScrewJoint.model_fields["grade"].annotation)
                                          if g != "8.8")],
        "parts_and_all": [*_same(job.parts), *([("", "several parts: part.face")] if len(job.parts) > 1 else [])],
        "instruments": [("", "what fits best"), *named.instruments.items()],
    }


def _same(words: Iterable[str]) -> list[tuple[str, str]]:
    """Choices that are told by their own names."""
    return [(word, word) for word in words]


async def _sketch(request: Request) -> Response:
    """What is understood of lines so far."""
    clerk, said = office_of(request).clerk, texts(await sent(request))
    found = await run_in_threadpool(clerk.read_sketch, said.get("lines", ""), said.get("units", "mm"))
    return JSONResponse(_seen(found))


def _seen(found: Any) -> dict[str, Any]:
    return {"svg": str(Markup(found.svg)), "lines": list(found.lines), "wrong": found.wrong, "line": found.line,
            "stock": list(found.stock)}


async def _model(request: Request) -> Response:
    """A model that was dropped: as long as allowed, a STEP file, and understood; kept until a part wants it."""
    clerk, name = office_of(request).clerk, request.path_params["id"]
    if not ID.fullmatch(name):
        raise HTTPException(400)
    units = request.query_params.get("units", "mm")
    if units not in ("mm", "in"):
        raise HTTPException(400)
    with await received(request, clerk, MOST["model"]) as incoming:
        await run_in_threadpool(kind_of, incoming, "model")
        with tempfile.TemporaryDirectory(dir=incoming.parent, prefix="sent-") as place:
            named = Path(place, f"{stem_of(request.query_params.get('name', ''), 'model')}.step")
            named.hardlink_to(incoming)
            try:
                found = await run_in_threadpool(clerk.read_model, named, units)
                named.replace(_kept(clerk, name))
            except FirstoffError as error:
                raise FileError(error.what, where="model", right=error.right) from None
    _fewer(clerk)
    return JSONResponse(_seen(found))


def stem_of(sent: str, otherwise: str) -> str:
    """A name under which what was sent can be told, of plain letters and without an ending."""
    return re.sub(r"[^A-Za-z0-9_-]+", "_", sent.rpartition(".")[0]).strip("_")[-40:] or otherwise


async def received(request: Request, clerk: Clerk, most: int) -> Any:
    """A file that is sent, in the job's own cache while it is looked at; refused as soon as it is too long.

    Args:
        request: whose body it is.
        clerk: of the job.
        most: that is taken [bytes].
    """
    length = request.headers.get("content-length", "")
    if not length.isdigit() or int(length) > most:
        raise too_big(most)
    return _received(clerk, await body_of(request, most))


@contextmanager
def _received(clerk: Clerk, body: bytes) -> Iterator[Path]:
    place = clerk.folder / ".firstoff"
    place.mkdir(exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=place, prefix="sent-") as incoming:
        incoming.write(body)
        incoming.flush()
        yield Path(incoming.name)


def _kept(clerk: Clerk, name: str) -> Path:
    return clerk.folder / ".firstoff" / f"model-{name}.step"


def _fewer(clerk: Clerk) -> None:
    """Models that no part took are kept a while only."""
    files = sorted((clerk.folder / ".firstoff").glob("model-*.step"), key=lambda file: file.stat().st_mtime)
    for file in files[:-MODELS_KEPT]:
        file.unlink(missing_ok=True)


async def _part(request: Request) -> Response:
    """A part for the job, and the job with it where there is none."""
    clerk, said = office_of(request).clerk, texts(await sent(request))
    model = said.pop("model", "")
    if model and not ID.fullmatch(model):
        raise HTTPException(400)
    return JSONResponse({"part": await run_in_threadpool(_add, clerk, said, model)})


def _add(clerk: Clerk, said: dict[str, str], model: str) -> str:
    from .. import actions_start

    file = _kept(clerk, model) if model else None
    if file is not None and not file.is_file():
        raise FileError("the model is not here any more", where="model", right="drop it again")
    name = actions_start.add_part(clerk.folder, said, file, clerk.shop)
    if file is not None:
        file.unlink()
    clerk.book, clerk.trouble = None, ""
    return name


async def _new_shop(request: Request) -> Response:
    from .. import actions_start

    clerk, said = office_of(request).clerk, texts(await sent(request))
    await run_in_threadpool(actions_start.new_shop, clerk.folder, said)
    clerk.book, clerk.trouble = None, ""
    return JSONResponse({"shop": said.get("shop", "")})


async def _program(request: Request) -> Response:
    """An NC program for an operation: kept in the job's folder under its own name, and named in a draft."""
    clerk, name = office_of(request).clerk, request.query_params.get("name", "")
    if clerk.book is None or request.path_params["operation"] not in clerk.book.result.route.operations:
        raise HTTPException(404)
    if not FILE.fullmatch(name):
        raise FileError(f"{name[:60]!r} is no name that is kept", right="letters, digits, _ . and -")
    with await received(request, clerk, MOST["program"]) as incoming:
        await run_in_threadpool(kind_of, incoming, "program")
        target = clerk.folder / "programs" / name
        target.parent.mkdir(exist_ok=True)
        if target.exists() and target.read_bytes() != incoming.read_bytes():
            raise FileError(f"there is another program {name} already", right="another name; nothing was changed")
        if not target.exists():
            target.write_bytes(incoming.read_bytes())
    return JSONResponse({"program": f"programs/{name}"})


def inside(edits: dict[str, str], folder: Path) -> None:
    """No program that an edit names lies outside the job.

    Raises:
        FileError: if one does.
    """
    from ..job.edits import value_of

    for path, text in edits.items():
        whole = value_of(text, path)          # of a whole operation, or of one key of it
        value = whole.get("program") if isinstance(whole, dict) else whole if path.endswith(".program") else None
        if value is not None and not (folder / str(value)).resolve().is_relative_to(folder.resolve()):
            raise FileError(f"the program {value!r} is not in the job's folder", where=path,
                            right="put it there first")


async def _drawing(request: Request) -> Response:
    """A part of the job with its features numbered: what its faces are called."""
    from .. import actions_start

    clerk = office_of(request).clerk
    try:
        svg = await run_in_threadpool(actions_start.drawing_of, clerk.folder, request.path_params["part"], clerk.shop)
    except NameUnknown:
        raise HTTPException(404) from None
    return JSONResponse({"svg": svg})


async def _wanted(request: Request) -> Response:
    """A limit, a joint, a thread, a fit or a bought-in piece written into the job, or taken out."""
    from .. import actions_wanted

    clerk, said = office_of(request).clerk, texts(await sent(request))
    what, out = request.path_params["what"], said.pop("out", "")
    if what not in actions_wanted.BLANKS:
        raise HTTPException(404)
    if out:
        await run_in_threadpool(actions_wanted.take_out, clerk.folder, what, out, clerk.shop)
    else:
        out = await run_in_threadpool(actions_wanted.add, clerk.folder, what, said, clerk.shop)
    clerk.book, clerk.trouble = None, ""
    return JSONResponse({what: out})


ROUTES = [
    Route("/start/wanted/{what}", told(_wanted), methods=["POST"]), Route("/drawing/{part}", told(_drawing)),
    Route("/start", told(_start)), Route("/start/part", told(_part), methods=["POST"]),
    Route("/start/shop", told(_new_shop), methods=["POST"]), Route("/sketch", told(_sketch), methods=["POST"]),
    Route("/models/{id}", told(_model), methods=["PUT"]),
    Route("/programs/{operation}", told(_program), methods=["PUT"]),
]
