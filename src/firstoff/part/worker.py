"""The process that imports the geometry kernel: python -m firstoff.part.worker FILE OUT.json [JOB].

JOB is a JSON object: {"views": [[name, up, across], ...]} asks for drawings, anything else for the digest.
A refusal is written to OUT as {"error": ...}; a crash leaves no OUT and an exit code.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from firstoff.errors import FirstoffError, MissingPackage


def main(arguments: Sequence[str]) -> None:
    """Answer one question about one file."""
    path, out = Path(arguments[0]), Path(arguments[1])
    job = json.loads(arguments[2]) if len(arguments) > 2 else {}
    try:
        answer = _answer(path, job)
    except FirstoffError as error:
        where = error.where.replace(path.name, str(path), 1) if error.where else str(path)
        answer = {"error": {"kind": type(error).__name__, "what": error.what, "where": where, "right": error.right}}
    out.write_text(json.dumps(answer, allow_nan=False), encoding="utf-8")


def _answer(path: Path, job: dict[str, Any]) -> dict[str, Any]:
    try:
        from firstoff.part import build, hidden
    except ImportError as error:
        raise MissingPackage(
            f"the geometry kernel does not start: {error}", right="apt install libgl1 libx11-6 libexpat1"
        ) from error
    if "views" in job:
        return {"views": [asdict(view) for view in hidden.views(path, job["views"])]}
    return asdict(build.digest(path))


if __name__ == "__main__":
    main(sys.argv[1:])
