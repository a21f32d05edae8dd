"""Reading job.toml and route.toml, and checking that the names inside agree."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final, NamedTuple

from ..errors import FileError, FirstoffError, NameUnknown, TomlError, UnitError
from ..tomlfile import parse_table, place_of, read_text, validate
from ..units import parse
from .models import Job, LeverJoint, Limit, ScrewJoint
from .route import Route
from .wanted_edits import applied

JOB_FILE: Final = "job.toml"
ROUTE_FILE: Final = "route.toml"

_THREAD: Final = re.compile(r"^\s*(M\d+(?:[.,]\d+)?(?:\s*x\s*\d+[.,]\d+)?)\s*(?:x\s*(\d.*?)\s*deep)?\s*$")
_SCREW: Final = re.compile(r"^\s*(M\d+(?:[.,]\d+)?)\s*(?:x\s*(\d+(?:[.,]\d+)?)(?:\s*mm)?)?\s*$")


class ThreadWanted(NamedTuple):
    """A tapped hole as the job words it.

    Fields:
        thread: designation, "M4" or "M4x0.5".
        depth: of full thread [mm]; None: right through.
    """

    thread: str
    depth: float | None


def thread_wanted(text: str) -> ThreadWanted:
    """Read "M4 x 9 deep" (mm where no unit is written, as on a drawing) or "M5".

    Raises:
        UnitError: if it is not worded like that.
    """
    found = _THREAD.match(text)
    if not found:
        raise UnitError(f"{text!r} is not a thread", right='write it like "M4 x 9 deep", or "M5" right through')
    thread = re.sub(r"\s+", "", found[1]).replace(",", ".")
    if found[2] is None:
        return ThreadWanted(thread, None)
    depth = found[2] if re.search(r"[a-z\"]", found[2]) else f"{found[2]} mm"
    return ThreadWanted(thread, parse(depth, "length"))


def load_job(folder: Path, edits: Iterable[tuple[str, str]] = ()) -> Job:
    """The job in a folder.

    Args:
        folder: holds job.toml; naming the file itself is understood.
        edits: of a draft, see `wanted_edits`; written nowhere.

    Returns:
        The job, every name in it known to be there as far as the file alone can tell.

    Raises:
        FileError: if there is no job.toml, or it cannot be read.
        TomlError: naming file, line and key.
        NameUnknown: if a limit, joint or outside operation names a part that the job does not have.
    """
    path = folder if folder.name == JOB_FILE else folder / JOB_FILE
    if not path.is_file():
        raise FileError("there is no job here", where=str(path),
                        right=f"a folder with {JOB_FILE}; 'firstoff new' starts one")
    text = read_text(path)
    table = parse_table(text, str(path))
    job = _valid(table, text, path)
    for dotted, value in edits:
        try:
            table = applied(table, dotted, value)
            job = _valid(table, text, path)
        except FirstoffError as error:
            raise TomlError(error.what, where=f"{JOB_FILE}, {dotted}", right=error.right) from None
    return job.model_copy(update={"file": str(path)})


def _valid(table: dict[str, Any], text: str, path: Path) -> Job:
    job = validate(table, Job, text, str(path))
    _Checker(job, text, str(path)).check()
    return job


def load_route(folder: Path) -> Route | None:
    """The route in a job's folder; None where none has been planned.

    Raises:
        FileError: if it cannot be read.
        TomlError: naming file, line and key.
        NameUnknown: if an operation names a setting that the route does not have.
    """
    path = (folder.parent if folder.name == JOB_FILE else folder) / ROUTE_FILE
    if not path.exists():
        return None
    text = read_text(path)
    route = validate(parse_table(text, str(path)), Route, text, str(path))
    for key, operation in route.operations.items():
        where = place_of(str(path), text, ("operations", key, "setting"))
        _known(operation.setting, route.settings, "setting", where)
    return route.model_copy(update={"file": str(path)})


def _known(name: str, names: Iterable[str], what: str, where: str) -> None:
    every = sorted(names)
    if name in every:
        return
    near = get_close_matches(name, every, n=1, cutoff=0.5)
    right = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(every) or 'none'}"
    raise NameUnknown(f"there is no {what} {name!r}", where=where, right=right)


class _Checker:
    """Checks the names and the worded sizes of one job."""

    def __init__(self, job: Job, text: str, name: str) -> None:
        self.job, self.text, self.name = job, text, name

    def check(self) -> None:
        if not self.job.parts:
            raise TomlError("the job has no parts", where=self.name, right="write at least one [parts.NAME]")
        for part, wanted in self.job.parts.items():
            for hole, thread in wanted.threads.items():
                self._thread(thread, "parts", part, "threads", hole)
        for name, limit in self.job.limits.items():
            self._limit(name, limit)
        for name, joint in self.job.joints.items():
            if isinstance(joint, ScrewJoint):
                self._screw_joint(name, joint)
            else:
                self._part(joint.part, "joints", name, "part")
                self._screw(joint.screw, "joints", name, "screw")
            if isinstance(joint, LeverJoint):
                self._lever_joint(name, joint)
        for name, outside in self.job.outside.items():
            self._part(outside.part, "outside", name, "part")
        for part in self.job.part_value:
            self._part(part, "part_value", part)

    def _at(self, *keys: str) -> str:
        return place_of(self.name, self.text, keys)

    def _part(self, name: str, *keys: str) -> None:
        _known(name, self.job.parts, "part", self._at(*keys))

    def _thread(self, thread: str, *keys: str) -> None:
        try:
            thread_wanted(thread)
        except UnitError as error:
            raise TomlError(error.what, where=self._at(*keys), right=error.right) from None

    def _face(self, face: str, default: str | None, *keys: str) -> None:
        """The part of "body.bed" exists; a face alone needs a part by default."""
        part, point, _ = face.partition(".")
        if point:
            self._part(part, *keys)
        elif default is None:
            raise TomlError(f"{face!r} does not say of which part", where=self._at(*keys),
                            right=f"write it like {next(iter(self.job.parts))}.{face}")

    def _limit(self, name: str, limit: Limit) -> None:
        if limit.part is not None:
            self._part(limit.part, "limits", name, "part")
        for face in limit.between:
            self._face(face, limit.part, "limits", name, "between")

    def _screw(self, screw: str, *keys: str) -> None:
        if not _SCREW.match(screw):
            raise TomlError(f"{screw!r} is not a screw", where=self._at(*keys), right='write it like "M4 x 12"')

    def _screw_joint(self, name: str, joint: ScrewJoint) -> None:
        self._screw(joint.screw, "joints", name, "screw")
        self._face(joint.through, None, "joints", name, "through")
        self._face(joint.into, None, "joints", name, "into")

    def _lever_joint(self, name: str, joint: LeverJoint) -> None:
        for face in joint.thickness:
            self._face(face, joint.part, "joints", name, "thickness")
