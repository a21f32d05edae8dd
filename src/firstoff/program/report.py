"""What is understood of a program, as JSON for other programs and as lines for the terminal."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from firstoff.errors import FileError
from firstoff.program.modes import MM_PER_INCH
from firstoff.program.reading import Reading, Unit, read
from firstoff.program.summary import Extent, Summary, ToolUse
from firstoff.program.timing import Limits, timed
from firstoff.program.words import Told

_PER_TURN: Final = 2.0 * math.pi
_MINUTE: Final = 60.0
_SHOWN: Final = 30          #: warnings in the terminal; all are in the JSON
ASK_UNIT: Final = "nothing says whether its lengths are mm or inch (G21 or G20): say --unit mm or --unit in"


@dataclass(frozen=True)
class Understood:
    """A program, read to its end.

    Fields:
        file: its name.
        unit: mm or in; None where nobody said.
        summary: the sums.
        warnings: what a person should look at, by line.
        machine: name of the machine that the time is for.
        limits: how fast it goes.
    """

    file: str
    unit: str | None
    summary: Summary
    warnings: tuple[Told, ...]
    machine: str
    limits: Limits

    @property
    def seconds(self) -> float | None:
        """Time of all that can be timed [s]; None where the unit is wanted for it."""
        return None if self.unit is None and self.summary.moves else self.summary.seconds


def understood(
    path: Path, machine: tuple[str, Limits], unit: Unit | None = None, cutter: float | None = None
) -> Understood:
    """Read a program to its end.

    Args:
        path: the file.
        machine: that runs it: its name, and how fast it goes.
        unit: of lengths where the program tells none.
        cutter: diameter of the cutter, for G41 and G42 [mm].

    Raises:
        FileError: if it is missing, empty, no text, or not one move in it can be read.
    """
    reading, summary = read(path, unit, cutter=cutter), Summary()
    summary.add_all(timed(reading.chunks(), machine[1]))
    if not summary.moves and not summary.stands:
        raise _no_move(path, reading)
    told = [*reading.told, *summary.warnings(), *_too_fast(summary, machine[1], reading.unit)]
    if reading.unit is None and summary.moves:
        told.append(Told(1, ASK_UNIT))
    elif unit is not None and reading.unit != unit:
        told.append(Told(1, f"--unit {unit} was said, but the program itself is in {_NAMES[reading.unit or 'mm']}"))
    told.sort(key=lambda one: one.line)
    return Understood(path.name, reading.unit, summary, tuple(told), *machine)


def _too_fast(summary: Summary, limits: Limits, unit: str | None) -> list[Told]:
    """A feed that the machine does not reach: its time counts what the machine does."""
    fastest = max((use.feeds[1] for use in summary.tools.values()), default=0.0)
    reached = max(limits.feed)
    if unit is None or fastest <= reached * (1.0 + 1e-6):
        return []
    line = summary.feeds[fastest].line if fastest in summary.feeds else 1
    asked, most = (_Lengths(unit).number(speed * _MINUTE) for speed in (fastest, reached))
    return [Told(line, f"feeds of {asked} {unit}/min, where this machine goes {most} at most")]


_NAMES: Final = {"mm": "mm", "in": "inch"}


def _no_move(path: Path, reading: Reading) -> FileError:
    first = next(iter(reading.told), None)
    place = f"{path}, line {first.line}" if first else str(path)
    why = f": {first.what}" if first else ""
    return FileError(f"not one move can be read{why}", where=place, right="G0 or G1 with X Y Z, as ISO 6983 has them")


def as_json(found: Understood) -> dict[str, Any]:
    """The JSON of `firstoff program FILE --json`; lengths in mm, null where the unit is not known."""
    summary, sure = found.summary, found.unit is not None
    return {
        "file": found.file,
        "moves": summary.moves,
        "unit": found.unit,
        "time_s": found.seconds,
        "extent": {"rapid": _extent(summary.rapid) if sure else None,
                   "cutting": _extent(summary.cut) if sure else None},
        "tools": [_tool(use, sure) for use in summary.tools.values() if use.moves],
        "warnings": [{"line": one.line, "what": one.what} for one in found.warnings],
        "cutting_moves": summary.cutting,
        "arcs": summary.arcs,
        "stands": summary.stands,
        "moves_in_doubt": summary.doubtful,
        "moves_not_timed": summary.not_timed,
        "time_for": {"machine": found.machine, "rapid_mm_min": [speed * _MINUTE for speed in found.limits.rapid],
                     "tool_change_s": found.limits.tool_change},
        "lowest_sideways_rapid_z": _number(summary.level_rapid) if sure else None,
        "work_zeros": sorted(summary.zeros - {0}),
        "as_written": None if sure else {"rapid": _extent(summary.rapid), "cutting": _extent(summary.cut)},
    }


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _extent(extent: Extent) -> dict[str, list[float | None]] | None:
    if not extent.told:
        return None
    return {"low": [_number(value) for value in extent.low], "high": [_number(value) for value in extent.high]}


def _tool(use: ToolUse, sure: bool) -> dict[str, Any]:
    low, high = use.feeds
    return {
        "tool": use.tool or None,
        "moves": use.moves,
        "time_s": use.seconds if sure else None,
        "spindle_speeds_per_min": sorted(round(speed * _MINUTE / _PER_TURN, 6) for speed in use.speeds),
        "feed_mm_min": [low * _MINUTE, high * _MINUTE] if high and sure else None,
        "lowest_z": _number(use.lowest) if sure else None,
    }


def as_lines(found: Understood) -> Iterator[str]:
    """The program in words."""
    summary, told = found.summary, _Lengths(found.unit)
    if not summary.moves:
        yield f"{found.file}: not one move; it stops or waits {_times(summary.stands)}{_time(found)}."
    else:
        yield (f"{found.file}: {_moves(summary.moves)} ({summary.cutting} cutting, {summary.arcs} of them arcs), "
               f"{told.system}{_time(found)}.")
    for name, extent in (("Cutting", summary.cut), ("Rapid", summary.rapid)):
        if extent.told:
            yield f"{name}: {told.extent(extent)}."
    if math.isfinite(summary.level_rapid):
        yield f"Rapids go sideways down to Z {told.number(summary.level_rapid)}{told.word}."
    yield from _tools(summary, told)
    if summary.doubtful:
        yield f"Of {_moves(summary.doubtful)} something can't be said; why, stands below."
    if found.warnings:
        yield ""
        yield f"Look at ({len(found.warnings)}):"
        for one in found.warnings[:_SHOWN]:
            yield f"  line {one.line}: {one.what}"
        if len(found.warnings) > _SHOWN:
            yield f"  and {len(found.warnings) - _SHOWN} more: --json has them all"


def _time(found: Understood) -> str:
    seconds = found.seconds
    if seconds is None or (found.summary.not_timed and seconds < 1.0):
        return ", how long can't be said"
    least = "at least " if found.summary.not_timed else "about "
    text = f"{seconds:.0f} s" if seconds < 2 * _MINUTE else f"{seconds / _MINUTE:.1f} min"
    if not found.summary.moves:
        return f", {least}{text}"
    rapid = f"{float(f'{min(found.limits.rapid) * _MINUTE / _Lengths(found.unit).scale:.3g}'):.12g}"
    change = f", {found.limits.tool_change:.0f} s a tool change or stop" if found.summary.stands else ""
    return f", {least}{text} with rapids at {rapid} {found.unit}/min{change} ({found.machine})"


def _moves(count: int) -> str:
    return "1 move" if count == 1 else f"{count} moves"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


class _Lengths:
    """Tells lengths in the unit of the program."""

    def __init__(self, unit: str | None) -> None:
        self.scale = MM_PER_INCH if unit == "in" else 1.0
        self.word = f" {unit}" if unit else ""
        self.digits = 4 if unit == "in" else 3
        self.system = f"in {_NAMES[unit]}" if unit else "in mm or inch: which can't be said (numbers as written)"

    def number(self, value: float) -> str:
        text = f"{value / self.scale:.{self.digits}f}".rstrip("0").rstrip(".")
        return "0" if text == "-0" else text

    def extent(self, extent: Extent) -> str:
        parts = [f"{letter} {self._span(low, high)}" for letter, low, high
                 in zip("XYZ", extent.low, extent.high, strict=True)]
        return ", ".join(parts) + (self.word if math.isfinite(extent.low[2]) else "")

    def _span(self, low: float, high: float) -> str:
        one, other = self.number(low), self.number(high)
        return "not told" if low > high else one if one == other else f"{one} to {other}"

    def feed(self, use: ToolUse) -> str:
        low, high = (self.number(feed * _MINUTE) for feed in use.feeds)
        per = f"{self.word}/min" if self.word else " a minute"
        return f"feed {low}{per}" if low == high else f"feed {low} to {high}{per}"


def _tools(summary: Summary, told: _Lengths) -> Iterator[str]:
    for use in summary.tools.values():
        if not use.moves:
            continue
        name = f"Tool {use.tool}" if use.tool else "No tool called"
        words = [_moves(use.moves), *([_speeds(use, summary.turned)] if use.speeds else ["none of them cuts"])]
        words += [told.feed(use)] if use.feeds[1] else ["no feed"] if use.speeds else []
        words += [f"lowest Z {told.number(use.lowest)}{told.word}"] if math.isfinite(use.lowest) else []
        yield f"{name}: {', '.join(words)}."


def _speeds(use: ToolUse, turned: bool) -> str:
    turning = sorted(abs(speed) * _MINUTE / _PER_TURN for speed in use.speeds if speed)
    if not turning:
        return "spindle off" if turned else "no speed told"
    low, high = f"{turning[0]:.0f}", f"{turning[-1]:.0f}"
    return f"spindle {low} /min" if low == high else f"spindle {low} to {high} /min"
