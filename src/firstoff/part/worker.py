"""The process that imports the geometry kernel: python -m firstoff.part.worker FILE OUT.json [JOB].

JOB is a JSON object: {"views": [[name, up, across], ...]} asks for drawings, anything else for the digest;
"solid" names the one solid that is meant. A sketch in lines (.toml) is made into a solid first; "upto" leaves out
that line of it and those after. An odd but valid file is written plainly first, for the kernel.
A refusal is written to OUT as {"error": ...}; a crash leaves no OUT and an exit code.
"""

from __future__ import annotations

import contextlib
import json
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstoff.errors import FirstoffError, MissingPackage
from firstoff.part import exchange

if TYPE_CHECKING:
    from firstoff.part.sketch import Sketch


Tell = Callable[[str, float], None]
STARTED = 0.3                            # of the time of a middling model, that the kernel takes to start; measured
MEMORY = 6 * 2**30                       # what one model may take [byte]


def main(arguments: Sequence[str]) -> None:
    """Answer one question about one file."""
    path, out = Path(arguments[0]), Path(arguments[1])
    job = json.loads(arguments[2]) if len(arguments) > 2 else {}
    mark = out.with_suffix(".mark")

    def tell(what: str, share: float) -> None:
        beside = mark.with_suffix(".new")
        beside.write_text(f"{share:.3f} {what}", encoding="utf-8")
        beside.replace(mark)

    try:
        answer = _plainly(path, job, tell)
    except FirstoffError as error:
        where = error.where.replace(path.name, str(path), 1) if error.where else str(path)
        answer = {"error": {"kind": type(error).__name__, "what": error.what, "where": where, "right": error.right}}
    out.write_text(json.dumps(answer, allow_nan=False), encoding="utf-8")


def limit_memory(most: int = MEMORY) -> None:
    """Let a model that asks for more memory than this fail here, and not take the computer down [byte]."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (most, resource.getrlimit(resource.RLIMIT_AS)[1]))


def _plainly(path: Path, job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """The answer about the file; the kernel reads a plain copy of the same name where its text is odd."""
    if path.suffix.lower() == ".toml":
        return _sketched(path, job, tell)
    content = path.read_bytes()
    if not exchange.odd(content):
        return _answer(path, job, tell)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(exchange.plain(content))
        return _answer(copy, job, tell)


def _sketched(path: Path, job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """The answer about the solid of a sketch in lines."""
    from firstoff.part import sketch

    try:
        told = sketch.parse(path.read_text(encoding="utf-8"), path.name, path.stem)
    except sketch.SketchError as error:
        if error.so_far is None or "upto" not in job:
            raise
        told = error.so_far
    if "upto" in job:
        told = told.upto(job["upto"])
    with tempfile.TemporaryDirectory() as folder:
        return _answer(told, job, tell, Path(folder))


def _answer(path: Path | Sketch, job: dict[str, Any], tell: Tell, folder: Path | None = None) -> dict[str, Any]:
    try:
        from firstoff.part import build, hidden, sketch_solid
    except ImportError as error:
        raise MissingPackage(
            f"the geometry kernel does not start: {error}", right="apt install libgl1 libx11-6 libexpat1"
        ) from error
    if not isinstance(path, Path):
        path = sketch_solid.write(path, folder or Path())
    tell("reading the model", STARTED)
    if "views" in job:
        return {"views": [asdict(view) for view in hidden.views(path, job["views"], job.get("solid"))]}
    return asdict(build.digest(path, job.get("solid"), tell))


if __name__ == "__main__":
    limit_memory()
    main(sys.argv[1:])
