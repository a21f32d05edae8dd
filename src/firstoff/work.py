"""A job folder as it is read before anything is asked of it: what is wanted, shop, parts, beliefs."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from .belief import Belief
from .errors import FileError, NameUnknown
from .job import wanted_edits
from .job.models import Job
from .job.reading import JOB_FILE, load_job
from .job.route import Route
from .part.shapes import Part
from .shop.columns import columns_of
from .shop.library import find_shop, load_shop
from .shop.models import Shop
from .tomlfile import place_of, read_text

if TYPE_CHECKING:
    from .records.store import Store

Progress = Callable[[str, float], None]

#: the parts as they were when the route was planned, beside the plan
PLANNED_PARTS: Final = "parts.plan.json"
BOOK_ONLY: Final = "book figures only"


def quiet(_what: str, _share: float) -> None:
    """Nobody is listening."""


@dataclass(frozen=True)
class Work:
    """A job folder, read: what is wanted, the shop, the parts, and what is believed."""

    folder: Path
    job: Job
    shop: Shop
    parts: dict[str, Part]
    belief: Belief
    figures_note: str

    @property
    def cache(self) -> Path:
        """Where everything that can be computed again is kept."""
        return self.folder / ".firstoff"


def open_job(
    folder: Path, shop: Path | None = None, progress: Progress = quiet, edits: Iterable[tuple[str, str]] = (),
) -> Work:
    """Read a job folder with its shop and models; with edits of a draft, see `job.wanted_edits`.

    Raises:
        InputError: if a file is missing or wrong; the message names file and place.
    """
    from .job.possible import job_names_exist
    from .part.reading import read

    job = load_job(folder, edits)
    folder = home(folder)
    shop_path = find_shop(folder, job.shop, shop)
    stock = load_shop(shop_path)
    _there(job, stock, folder)
    parts = {}
    for index, (name, wanted) in enumerate(job.parts.items()):
        progress(f"reading {wanted.model}", index / len(job.parts))
        parts[name] = read(folder / wanted.model, folder / ".firstoff")
    job_names_exist(job, stock, parts)
    job = _with_models_wishes(job, parts, stock)
    belief, note = believed(stock, records_folder(folder, shop_path))
    return Work(folder, job, stock, parts, belief, note)


def _with_models_wishes(job: Job, parts: dict[str, Part], shop: Shop) -> Job:
    """Threads, fits and limits that a model itself tells; what the job says of the same hole or faces wins."""
    from .checks._model_limits import with_model_limits
    from .part.sketch_limits import wishes

    wanted = dict(job.parts)
    for name, told in wanted.items():
        said = {told.names.get(hole, hole) for hole in (*told.threads, *told.ream)}
        by_model = wishes(parts[name])
        wanted[name] = told.model_copy(update={
            "threads": {**{h: t for h, t in by_model.threads.items() if h not in said}, **told.threads},
            "ream": {**{h: f for h, f in by_model.ream.items() if h not in said}, **told.ream},
        })
    return with_model_limits(job.model_copy(update={"parts": wanted}), parts, shop)


def home(folder: Path) -> Path:
    """The folder of a job; naming its file itself is understood."""
    return folder.parent if folder.name == JOB_FILE else folder


def _there(job: Job, shop: Shop, folder: Path) -> None:
    """Materials and models are there, before the models are read."""
    text = read_text(Path(job.file))
    for name, wanted in job.parts.items():
        if wanted.material not in shop.materials:
            raise NameUnknown(f"no material {wanted.material!r} in the shop",
                              where=place_of(job.file, text, ("parts", name, "material")),
                              right=", ".join(sorted(shop.materials)))
        if not (folder / wanted.model).exists():
            there = _models_there(folder)
            raise FileError(f"there is no model {wanted.model!r}",
                            where=place_of(job.file, text, ("parts", name, "model")),
                            right=there or f"put the STEP file, or a sketch, at {folder / wanted.model}")


def _models_there(folder: Path) -> str:
    """What could be meant: the models and sketches in a job's folder."""
    kinds = (".step", ".stp", ".toml")
    names = sorted(file.name for file in folder.iterdir() if file.suffix.lower() in kinds)
    found = [name for name in names if name not in ("job.toml", "route.toml")]
    return f"in the folder there is {', '.join(found)}" if found else ""


def records_folder(job_folder: Path, shop: Path | None) -> Path:
    """Records belong to the shop; where there is only the starter shop, to the job."""
    if shop is None:
        return job_folder
    return shop if shop.is_dir() else shop.parent


def place_of_records(folder: Path, shop: Path | None) -> Path:
    """Where the records of a job's shop are kept."""
    job = load_job(folder)
    folder = home(folder)
    return records_folder(folder, find_shop(folder, job.shop, shop))


@contextmanager
def kept_records(folder: Path, shop: Path | None) -> Iterator[Store | None]:
    """The records of a shop; None, and nothing is made, where there are none."""
    from .records.store import FILE, open_store

    place = place_of_records(folder, shop)
    if not (place / FILE).exists() and not os.environ.get("FIRSTOFF_RECORDS"):
        yield None
        return
    with open_store(place) as store:
        yield store


def believed(shop: Shop, folder: Path) -> tuple[Belief, str]:
    """Book figures, moved by the last learned set of own figures if there is one."""
    from .records.figures import read_figures

    belief = Belief.of(columns_of(shop))
    figures = read_figures(folder, belief)
    if figures is None:
        return belief, BOOK_ONLY
    return belief.with_moved(figures.moved), figures.note


def own_shop(shop: Shop, folder: Path) -> tuple[Shop, str]:
    """The shop with own figures in the place of book figures, for answers in closed form, and whose they are."""
    from .records.places import kept_here

    if not kept_here(folder):
        return shop, BOOK_ONLY                      # the usual case of a quick answer: nothing heavy is loaded
    from .shop.own import with_own

    belief, note = believed(shop, folder)
    return with_own(shop, belief), note


def revisions(work: Work, route: Route) -> tuple[str, ...]:
    """What became of the faces that the route works on, where a model was revised since it was planned."""
    from .part.digest import parts_of
    from .part.match import match, told

    file = work.cache / PLANNED_PARTS
    planned = parts_of(file.read_bytes(), work.parts) if file.is_file() else {}
    out: list[str] = []
    for name, old in planned.items():
        new = work.parts.get(name)
        if new is None or new.sha256 == old.sha256:
            continue
        used = {feature for op in route.operations.values() for feature in op.features
                if route.settings[op.setting].workpiece.split("+")[0] == name}
        faces = [face for feature in old.features if feature.id in used for face in feature.faces]
        lines = told(old, match(old, new), faces)
        out += [f"the model of {name} is another than it was planned on, in nothing that the route works on"
                if not lines else f"the model of {name} is another than it was planned on; plan again",
                *lines]
    return tuple(out)


def route_of(work: Work, edits: Iterable[tuple[str, str]] = ()) -> Route:
    """The route of a job with these edits, every name and number in it possible."""
    from .job.edits import apply_edits
    from .job.possible import route_can_be
    from .route.as_keyed import as_route_keys
    from .route.writing import read_route

    folder = work.folder
    if not (folder / "route.toml").is_file():
        raise FileError("there is no route yet", where=str(folder / "route.toml"),
                        right=f"firstoff plan {folder}")
    route = read_route(folder)
    route = apply_edits(route, as_route_keys(route, work.shop, edits))
    route_can_be(route, work.job, work.shop, work.parts)
    return route


def ink(folder: Path, edits: Iterable[tuple[str, str]], shop: Path | None = None) -> None:
    """Write edits into the route of a job, and those of what is wanted into the job itself, comments kept.

    Args:
        folder: of the job.
        edits: dotted keys and texts; what a person keys in ("operations.NAME.feed") is reckoned as the route has it.
        shop: another shop than the job names.

    Raises:
        InputError: if an edit names nothing, or its text cannot stand there; nothing is changed then.
    """
    from .route.as_keyed import as_route_keys
    from .route.writing import read_route, write_edits

    folder, edits = home(folder), tuple(edits)
    wanted = wanted_edits.of_job(edits)
    stock = load_shop(find_shop(folder, load_job(folder, wanted).shop, shop))
    write_edits(folder, as_route_keys(read_route(folder), stock, wanted_edits.of_route(edits)))
    if wanted:
        wanted_edits.write(folder / JOB_FILE, wanted)
