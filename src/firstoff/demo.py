"""The whole loop on the example job that ships with it: plan, check, sheets, log, learn, check again."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, Final

from . import actions
from .dryrun.result import Result, check_json
from .errors import FileError
from .records.reading import Reading
from .telling import changed_verdicts, headline, indent, learned_lines, planned_lines, result_lines, wrapped

Say = Callable[[Iterable[str]], None]

#: what a hand writes into the planned route, as people do: a first pass too thin for the scale
THIN_FIRST_PASS: Final = "0.15 mm"


def run_demo(folder: Path, *, say: Say, progress: actions.Progress) -> dict[str, Any]:
    """Copy the example job and go once round the loop.

    Args:
        folder: to copy the job to; an earlier copy made by this command is made anew.
        say: prints lines.
        progress: told what is under way.

    Returns:
        What was found, for tests and `--json`.

    Raises:
        FileError: if the folder holds something else.
    """
    _copy_example(folder)
    say([f"The example job, a small block plane, is copied to {folder}.", ""])

    planned = actions.plan(folder, progress=progress)
    say([f"1  PLAN: {len(planned.route.settings)} settings, {len(planned.route.operations)} operations "
         f"({folder / 'route.toml'})", *planned_lines(planned), ""])

    edit = _thin_first_pass(planned)
    if edit:
        actions.change(folder, [edit])
        say([*wrapped(f"Somebody then writes {edit[1]} for the first pass on the rolled sole into route.toml "
                      f"({edit[0]}), as people do."), ""])

    before = actions.check(folder, progress=progress)
    say(["2  CHECK", *indent(result_lines(before)), ""])

    pdf = actions.sheets(folder, progress=progress)
    say([f"3  SHEETS: {pdf} to print and pin up.", ""])

    records = _log_three(folder, before)
    say(["4  LOG: three records from the bench", *(f"  {text}" for text in records), ""])

    learned = actions.learn(folder, progress=progress)
    after = actions.check(folder, progress=progress)
    changes = changed_verdicts(before, after)
    say(["5  LEARN", *learned_lines(learned), ""])
    say(["6  CHECK AGAIN, with what was learned", *indent(_changes(changes)), *indent(headline(after)), "",
         *wrapped(f"Now change a number in {folder / 'route.toml'} and run: firstoff check {folder}")])
    return {
        "folder": str(folder), "pdf": str(pdf), "settings": len(planned.route.settings),
        "operations": len(planned.route.operations),
        "first_to_go": None if before.first_to_go is None else check_json(before.first_to_go),
        "p_spoil": {"before": before.p_spoil, "after": after.p_spoil},
        "records": records, "learned": list(learned.sentences), "changed": changes,
        "not_counted": list(before.not_counted),
    }


def _copy_example(folder: Path) -> None:
    example = Path(__file__).parent / "example" / "block_plane"
    if folder.exists() and any(folder.iterdir()) and not (folder / ".firstoff").is_dir():
        raise FileError("holds something else", where=str(folder), right="name another folder")
    keep = folder / ".firstoff"
    for old in folder.iterdir() if folder.exists() else ():
        if old != keep:
            shutil.rmtree(old) if old.is_dir() else old.unlink()
    for stale in (keep / "route.plan.toml",):
        stale.unlink(missing_ok=True)
    shutil.copytree(example, folder, dirs_exist_ok=True)
    keep.mkdir(exist_ok=True)


def _thin_first_pass(planned: actions.Planned) -> tuple[str, str] | None:
    """The edit that makes the first pass on hot-rolled stock too thin."""
    for name, operation in planned.route.in_order():
        part = planned.route.settings[operation.setting].workpiece
        wanted = planned.work.job.parts.get(part)
        if wanted and wanted.stock.condition == "hot_rolled" and operation.role == "face_rough":
            return f"operations.{name}.cut.depth_of_cut", THIN_FIRST_PASS
    return None


def _log_three(folder: Path, result: Result) -> list[str]:
    """A size, watts and 'sang', as a person might bring them from the bench."""
    from .records.store import record_line

    readings = [r for r in (_a_size(result), _watts(result), _sang(result)) if r is not None]
    return [record_line(actions.log(folder, reading)) for reading in readings]


def _a_size(result: Result) -> Reading | None:
    for checked in result.checks:
        if checked.finding.check == "size" and checked.finding.p_rows is not None:
            limit = result.job.limits[checked.operation]
            if limit.size is not None and limit.kind != "chain":
                return Reading(checked.operation, size=f"{limit.size + 0.02:.2f} mm",
                                       instrument=limit.instrument or "micrometer")
    return None


def _watts(result: Result) -> Reading | None:
    """The wattmeter on the heaviest milling cut: a fifth more than expected."""
    powers = [c for c in result.checks if c.finding.check == "power" and c.finding.demand is not None]
    if not powers:
        return None
    heaviest = max(powers, key=lambda c: c.finding.demand.median if c.finding.demand else 0.0)
    assert heaviest.finding.demand is not None
    watts = 1.2 * heaviest.finding.demand.median / 0.7
    return Reading(heaviest.operation, watts=f"{60 + watts:.0f} W", idle="60 W")


def _sang(result: Result) -> Reading | None:
    """It sang in the operation where singing was neither sure nor unlikely."""
    sings = [c for c in result.checks if c.finding.check == "chatter" and c.finding.p_fail is not None]
    if not sings:
        return None
    doubtful = min(sings, key=lambda c: abs((c.finding.p_fail or 0.0) - 0.2))
    return Reading(doubtful.operation, word="sang")


def _changes(changes: list[str]) -> list[str]:
    if not changes:
        return ["No verdict changed."]
    return [f"{len(changes)} verdicts changed:", *(f"  {text}" for text in changes[:12])]
