"""The process that imports the geometry kernel: python -m firstoff.part.worker FILE OUT.json [JOB].

JOB is a JSON object: {"views": [[name, up, across], ...]} asks for drawings, anything else for the digest;
"solid" names the one solid that is meant. An odd but valid file is written plainly first, for the kernel.
A refusal is written to OUT as {"error": ...}; a crash leaves no OUT and an exit code.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from firstoff.errors import FirstoffError, MissingPackage
from firstoff.part import exchange


def main(arguments: Sequence[str]) -> None:
    """Answer one question about one file."""
    path, out = Path(arguments[0]), Path(arguments[1])
    job = json.loads(arguments[2]) if len(arguments) > 2 else {}
    try:
        answer = _plainly(path, job)
    except FirstoffError as error:
        where = error.where.replace(path.name, str(path), 1) if error.where else str(path)
        answer = {"error": {"kind": type(error).__name__, "what": error.what, "where": where, "right": error.right}}
    out.write_text(json.dumps(answer, allow_nan=False), encoding="utf-8")


def _plainly(path: Path, job: dict[str, Any]) -> dict[str, Any]:
    """The answer about the file; the kernel reads a plain copy of the same name where its text is odd."""
    content = path.read_bytes()
    if not exchange.odd(content):
        return _answer(path, job)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(exchange.plain(content))
        return _answer(copy, job)


def _answer(path: Path, job: dict[str, Any]) -> dict[str, Any]:
    try:
        from firstoff.part import build, hidden
    except ImportError as error:
        raise MissingPackage(
            f"the geometry kernel does not start: {error}", right="apt install libgl1 libx11-6 libexpat1"
        ) from error
    if "views" in job:
        return {"views": [asdict(view) for view in hidden.views(path, job["views"], job.get("solid"))]}
    return asdict(build.digest(path, job.get("solid")))


if __name__ == "__main__":
    main(sys.argv[1:])
