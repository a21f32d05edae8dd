"""What a user can ask of records as a whole: what worked before, a size decided, out to a file, and in from one."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from .errors import InputError, RecordError
from .shop.library import find_shop
from .work import believed, kept_records, open_job, place_of_records, records_folder, route_of

if TYPE_CHECKING:
    from .dryrun.causes import Explanation
    from .dryrun.conforming import Reading as Read
    from .dryrun.result import Result
    from .dryrun.saving import Way
    from .job.measured import Measured
    from .records.exchange import Came
    from .records.history import Tried
    from .records.repeat import Again


def history(folder: Path, *, shop: Path | None = None) -> tuple[Tried, ...]:
    """What was cut with what in this shop, and how it went."""
    from .records.history import tried

    with kept_records(folder, shop) as store:
        return () if store is None else tried(store)


def repeat(folder: Path, *, ink: bool = False, shop: Path | None = None) -> tuple[Again, ...]:
    """Cuts of a job that worked for their like in this shop before, where the own figures call them no worse.

    Args:
        folder: of the job.
        ink: whether to write them into `route.toml`.
        shop: another shop than the job names.

    Raises:
        InputError: if the job cannot be read.
    """
    from .dryrun.walk import walk
    from .records.repeat import again
    from .route.writing import write_edits

    work = open_job(folder, shop)
    cases = walk(work.job, work.shop, route_of(work), work.parts)
    found = again(history(folder, shop=shop), cases, work.belief)
    if ink and found:
        write_edits(work.folder, [edit for item in found for edit in item.edits])
    return found


def export_records(folder: Path, path: Path, *, shop: Path | None = None) -> int:
    """Write every record of the shop, and all that it was made of, to one file; returns how many.

    Raises:
        InputError: if there are none, or the file is neither JSON lines nor CSV by its ending.
    """
    from .records.exchange import export_records as write

    with kept_records(folder, shop) as store:
        if store is None:
            raise RecordError("there are no records yet", right="firstoff log JOB OPERATION ok")
        return write(store, path)


def import_records(folder: Path, path: Path, *, shop: Path | None = None) -> Came:
    """Take in a file of records, whole or not at all.

    Raises:
        InputError: if the file, or a line of it, cannot be used.
    """
    from .records.exchange import import_records as read
    from .records.store import open_store

    with open_store(place_of_records(folder, shop)) as store:
        return read(store, path)


@dataclass(frozen=True)
class Decided:
    """What a size that was just measured allows to be said, by itself and beside all that was measured of the job."""

    read: Read
    ways: tuple[Way, ...] = ()
    explanation: Explanation | None = None


def decided(
    checked: Result, limit: str, size: str, instrument: str, folder: Path, shop: Path | None = None
) -> Decided:
    """What a size that was just measured allows to be said; where it is not proved right, why, and the ways to go on:
    after all sizes of the job that were read, each as it was read last.

    Args:
        checked: what a check of the job found.
        limit: that was measured.
        size: as it was read, with its unit.
        instrument: that read it; the limit's own where it is empty.
        folder: of the job.
        shop: another shop than the job names.

    Raises:
        InputError: if the size cannot be read or cannot be true.
    """
    from .dryrun.causes import explained
    from .dryrun.conforming import reading_of
    from .dryrun.saving import still_rough, ways
    from .dryrun.sizes import sizes_of
    from .job.measured import measured_of

    item = measured_of(limit, size, instrument, checked.job, checked.shop, limit)
    case = next(case for case in checked.cases if case.subject == "limit" and case.name == limit)
    read = reading_of(case, item)
    if read.decision == "conforms":
        return Decided(read)
    belief, _ = believed(checked.shop, records_folder(folder, find_shop(folder, checked.job.shop, shop)))
    sizes = {s.name: s for s in sizes_of(checked.cases, belief, cures=False) if s.came}
    if limit not in sizes:
        return Decided(read)
    before = [one for one, off in _read_before(checked, limit, folder, shop)
              if one.limit in sizes and not still_rough(sizes[one.limit], off)]
    if still_rough(sizes[limit], read.deviation):
        return Decided(read, ways(read, sizes[limit], checked.cases, belief))
    said = explained(checked.cases, belief, [item, *before])
    return Decided(read, ways(read, sizes[limit], checked.cases, belief, said.off()), said)


def _read_before(checked: Result, limit: str, folder: Path, shop: Path | None) -> list[tuple[Measured, float]]:
    """The other sizes of the job, each as it was read last, and how far off [mm]; what makes no sense now is not."""
    from .dryrun.conforming import reading_of
    from .job.measured import measured_of

    with kept_records(folder, shop) as store:
        records = () if store is None else store.valid()
    last = {record.subject: record.reading for record in sorted(records, key=lambda record: record.when)
            if record.kind == "size" and record.job == checked.job.name and record.subject != limit}
    found = []
    for case in checked.cases:
        if case.subject != "limit" or case.name not in last:
            continue
        said = last[case.name]
        try:
            item = measured_of(case.name, said["value"], said["instrument"], checked.job, checked.shop, case.name)
            found.append((item, reading_of(case, item).deviation))
        except InputError:          # the job has it otherwise since, or the instrument is gone
            continue
    return found


def after_break(folder: Path, operation: str, shop: Path | None = None) -> tuple[Way, ...]:
    """Ways to go on when a tap or drill has broken in its hole; none for other tools.

    Args:
        folder: of the job.
        operation: in which it broke: its name or number.
        shop: another shop than the job names.
    """
    from .dryrun.saving import ways_after_break
    from .dryrun.walk import walk
    from .work import open_job, route_of

    work = open_job(folder, shop)
    cases = walk(work.job, work.shop, route_of(work), work.parts)
    found = (case for case in cases if case.operation is not None and operation in (case.name, str(case.op.number)))
    case = next(found, None)
    return () if case is None else ways_after_break(case, cases)
