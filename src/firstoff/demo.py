"""The whole loop on the example job that ships with it: plan, check, sheets, log, learn, check again."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, Final

import numpy as np

from . import actions
from .belief import Belief
from .checks._forces import loads, mean_torque
from .checks.power import EFFICIENCY
from .dryrun.result import Checked, Result, check_json
from .errors import FileError
from .records.reading import Reading
from .telling import (
    changed_verdicts,
    headline,
    indent,
    learned_lines,
    planned_lines,
    result_json,
    result_lines,
    wrapped,
)
from .work import Progress

Say = Callable[[Iterable[str]], None]

#: what a hand writes into the planned route, as people do: a first pass too thin for the scale
THIN_FIRST_PASS: Final = "0.15 mm"
#: marks a folder that this command may make anew; no other folder is ever emptied
MADE_HERE: Final = "made-by-demo"
BEGUN: Final = "a demo that has not come to its end\n"
#: the shop's own readings in the story: this much over the nominal, and this much over the watts expected
OVER_MM: Final = 0.02
OVER_WATTS: Final = 1.2
IDLE_WATTS: Final = 60.0


def run_demo(folder: Path, *, say: Say, progress: Progress) -> dict[str, Any]:
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

    pdf = actions.sheets(folder, checked=before, progress=progress)
    say([f"3  SHEETS: {pdf} to print and pin up.", ""])

    records = _log_three(folder, before, planned.work.belief)
    say(["4  LOG: three records from the bench", *(f"  {text}" for text in records), ""])

    learned = actions.learn(folder, progress=progress)
    after = actions.check(folder, progress=progress)
    (folder / ".firstoff" / MADE_HERE).write_text(_as_left(folder), encoding="utf-8")
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
        "not_counted": list(before.not_counted), "check": result_json(before),
    }


def _copy_example(folder: Path) -> None:
    example = Path(__file__).parent / "example" / "block_plane"
    keep = folder / ".firstoff"
    if folder.is_file() or (folder.exists() and any(folder.iterdir()) and not (keep / MADE_HERE).is_file()):
        raise FileError("holds something else", where=str(folder), right="name another folder")
    if folder.exists() and (keep / MADE_HERE).is_file() and (keep / MADE_HERE).read_text(encoding="utf-8") not in (
        BEGUN, _as_left(folder)
    ):
        raise FileError("was changed since the demo made it; nothing was touched", where=str(folder),
                        right="name another folder, or remove this one")
    for old in folder.iterdir() if folder.exists() else ():
        if old != keep:
            shutil.rmtree(old) if old.is_dir() else old.unlink()
    for stale in (keep / "route.plan.toml",):
        stale.unlink(missing_ok=True)
    shutil.copytree(example, folder, dirs_exist_ok=True)
    keep.mkdir(exist_ok=True)
    (keep / MADE_HERE).write_text(BEGUN, encoding="utf-8")


def _as_left(folder: Path) -> str:
    """What a person may have changed in a demo folder, by contents: job, route, shop, newest record."""
    hasher = hashlib.blake2b(digest_size=16)
    for name in ("job.toml", "route.toml", "shop/shop.toml", "shop/records.latest"):
        file = folder / name
        hasher.update(file.read_bytes() if file.is_file() else b"-")
    return hasher.hexdigest() + "\n"


def _thin_first_pass(planned: actions.Planned) -> tuple[str, str] | None:
    """The edit that makes the first pass on hot-rolled stock too thin."""
    for name, operation in planned.route.in_order():
        part = planned.route.settings[operation.setting].workpiece
        wanted = planned.work.job.parts.get(part)
        if wanted and wanted.stock.condition == "hot_rolled" and operation.role == "face_rough":
            return f"operations.{name}.cut.depth_of_cut", THIN_FIRST_PASS
    return None


def _log_three(folder: Path, result: Result, belief: Belief) -> list[str]:
    """A size, watts and 'sang', as a person might bring them from the bench."""
    from .records.store import record_line

    readings = [r for r in (_a_size(result), _watts(result, belief), _sang(result)) if r is not None]
    return [record_line(actions.log(folder, reading)) for reading in readings]


def _a_size(result: Result) -> Reading | None:
    """The most doubtful size within one part, measured a little over."""
    limits = result.job.limits
    sizes = [c for c in result.checks if c.finding.check == "size" and c.finding.p_fail is not None
             and limits[c.operation].kind == "distance" and limits[c.operation].size is not None]
    if not sizes:
        return None
    doubtful = max(sizes, key=lambda c: c.finding.p_fail or 0.0)
    nominal = limits[doubtful.operation].size or 0.0
    return Reading(doubtful.operation, size=f"{nominal + OVER_MM:.2f} mm")


def _watts(result: Result, belief: Belief) -> Reading | None:
    """The wattmeter on the heaviest milling cut: a fifth more than expected, over the whole of the cut."""
    heavy = {c.operation: _heaviest_watts(c, result) for c in result.checks if c.finding.check == "power"}
    if not heavy:
        return None
    heaviest = max(heavy, key=lambda name: heavy[name])
    case = next(c for c in result.cases if c.name == heaviest)
    torque = float(np.median(mean_torque(loads(case, belief))))
    watts = OVER_WATTS * torque * (case.op.cut.spindle_speed or 0.0) / EFFICIENCY
    return Reading(heaviest, watts=f"{IDLE_WATTS + watts:.0f} W", idle=f"{IDLE_WATTS:.0f} W")


def _heaviest_watts(checked: Checked, result: Result) -> float:
    """Watts at the cutter where the cut is heaviest: torque times speed."""
    speed = result.route.operations[checked.operation].cut.spindle_speed
    return checked.finding.demand.median * speed if checked.finding.demand and speed else 0.0


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
    return [f"{len(changes)} verdicts changed:", *(line for text in changes[:12] for line in wrapped(text, 2))]
