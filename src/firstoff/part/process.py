"""The worker process that holds the geometry kernel, and the cache of its answers.

A crash or a hang of the kernel becomes a message; the caller never imports the kernel.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import cache as remembered
from pathlib import Path
from typing import Any

from pydantic_core import from_json

from firstoff import errors
from firstoff.part import step_text

Heard = Callable[[str, float], None]
LOOKS = 0.2                              # how often it is looked how far a worker is [s]
BEGINS = "starting the geometry kernel"
SECONDS = 300.0                          # how long the kernel may think about one file [s]
KERNEL, PACKAGE = "OCP", "cadquery-ocp-novtk>=8.0,<8.1"
ANEW = "check the solid in the program that made it and export it again"


@remembered
def version() -> str:
    """A digest of this room's sources: an answer of older sources is not taken from the cache."""
    digest = hashlib.sha256()
    for source in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(source.name.encode() + b"\0" + source.read_bytes())
    return digest.hexdigest()[:16]


def ask(
    path: Path, job: dict[str, Any], cache: Path | None, seconds: float = SECONDS, heard: Heard | None = None,
) -> tuple[dict[str, Any], str]:
    """The worker's answer about a STEP file, from the cache where it is there, and the file's sha256.

    Args:
        path: the STEP file; one of its solids as "file.step#name" or "file.step#2"; or a sketch in lines (.toml).
        job: what to ask, as JSON-able values; part of the cache key.
        cache: folder for answers, made when missing; None for no cache.
        seconds: time limit [s].
        heard: told every so often what the worker does and the share done; the worker ends when it raises.

    Raises:
        FileError, ModelError, NameUnknown: if the file cannot be used.
        MissingPackage: if the kernel or its system libraries are not installed.
    """
    path, only = step_text.solid_of(path)
    job = job if only is None else {**job, "solid": only}
    order = json.dumps(job, sort_keys=True)
    sha256, kept = _place(path, order, cache)
    known = _kept(kept)
    if known is not None:                    # a file that was answered for is whole
        return known, sha256
    _content(path)
    answer = _run(path, order, seconds, heard)
    if "error" in answer:
        raise error_of(answer["error"])
    if kept is not None:
        keep(kept, json.dumps(answer, separators=(",", ":")))
    return answer, sha256


def _place(path: Path, order: str, cache: Path | None) -> tuple[str, Path | None]:
    """The sha256 of a file, and where the answer about it is kept."""
    try:
        sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        sha256 = hashlib.sha256(_content(path)).hexdigest()      # which tells what is wrong with it
    key = hashlib.sha256(f"{sha256} {version()} {order}".encode()).hexdigest()[:32]
    return sha256, None if cache is None else cache / f"part-{key}.json"


def _content(path: Path) -> bytes:
    """The bytes of a file that may be a model: STEP, or a sketch in lines (.toml)."""
    if path.suffix.lower() != ".toml":
        return step_text.check(path)
    from firstoff.tomlfile import read_text

    return read_text(path).encode("utf-8")


def _kept(kept: Path | None) -> dict[str, Any] | None:
    """An answer that is whole; one that is missing or broken is asked again."""
    if kept is None or not kept.is_file():
        return None
    try:
        answer = from_json(kept.read_bytes())
    except (OSError, ValueError):
        return None
    return answer if isinstance(answer, dict) else None


def keep(kept: Path, text: str) -> None:
    """Write a file whole or not at all; where a folder cannot be written, the answer is made anew each time."""
    with contextlib.suppress(OSError):
        kept.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=kept.parent, suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        Path(name).replace(kept)


def _run(path: Path, order: str, seconds: float, heard: Heard | None) -> dict[str, Any]:
    if importlib.util.find_spec(KERNEL) is None:
        raise errors.MissingPackage("the geometry kernel is not installed", right=f"pip install '{PACKAGE}'")
    root = str(Path(__file__).resolve().parents[2])
    environment = dict(os.environ, PYTHONPATH=os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH")))))
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "answer.json"
        command = [sys.executable, "-m", "firstoff.part.worker", str(path), str(out), order]
        words = Path(folder) / "words"
        with words.open("wb") as said, subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=said, env=environment,
        ) as worker:
            try:
                code = _waited(worker, seconds, mark_of(out), heard)
            except subprocess.TimeoutExpired as error:
                raise errors.ModelError(
                    f"the geometry kernel did not finish in {seconds:g} s", where=str(path),
                    right="simplify the model, or export it again",
                ) from error
            finally:
                worker.kill()                # nothing, where it has ended
        return answered(code, words.read_bytes(), out, path)


def mark_of(out: Path) -> Path:
    """The file in which a worker says how far it is, beside its answer: the share done, and what it does."""
    return out.with_suffix(".mark")


def _waited(worker: subprocess.Popen[bytes], seconds: float, mark: Path, heard: Heard | None) -> int:
    """Wait for the end of a worker, looking every so often how far it is; returns its exit code."""
    ends = time.monotonic() + seconds
    while heard is not None:
        try:
            return worker.wait(timeout=LOOKS)
        except subprocess.TimeoutExpired:
            if time.monotonic() > ends:
                raise
            share, _, what = mark.read_text(encoding="utf-8").partition(" ") if mark.is_file() else ("", "", "")
            heard(what or BEGINS, float(share or 0.0))
    return worker.wait(timeout=seconds)


def answered(code: int, words: bytes, out: Path, path: Path) -> dict[str, Any]:
    """The answer that a worker left, a refusal among them.

    Args:
        code: how the worker ended: 0, another exit code, or minus the signal that ended it [1].
        words: what it said on standard error.
        out: the file that it should have written.
        path: the STEP file, for messages.

    Raises:
        ModelError: if it died, or left no whole answer.
    """
    if code != 0 or not out.is_file():
        fault, where = step_text.fault(path)
        what = _last_words(code, words) + (f": {fault}" if fault else "")
        raise errors.ModelError(what, where=where or str(path), right=ANEW)
    try:
        answer: dict[str, Any] = json.loads(out.read_text(encoding="utf-8"))
    except ValueError as error:
        what = "the geometry kernel's answer is not whole"
        raise errors.ModelError(what, where=str(path), right="try again") from error
    return answer


def _last_words(code: int, words: bytes) -> str:
    lines = [line for line in words.decode(errors="replace").splitlines() if line.strip()]
    if code < 0:
        return f"the geometry kernel crashed on this model (signal {-code})"
    if lines and lines[-1].startswith("MemoryError"):
        return "the model needs more memory than a part can: its numbers are out of all proportion"
    return f"the geometry kernel cannot use this model ({lines[-1].strip() if lines else 'no reason given'})"


def error_of(row: dict[str, str]) -> errors.FirstoffError:
    """The refusal that a worker wrote down, as the error it was."""
    kinds = {"FileError": errors.FileError, "ModelError": errors.ModelError, "MissingPackage": errors.MissingPackage,
             "NameUnknown": errors.NameUnknown, "TomlError": errors.TomlError, "SketchError": errors.TomlError}
    return kinds.get(row["kind"], errors.ModelError)(row["what"], where=row["where"], right=row["right"])
