"""A sketch typed line by line, each answered with what is understood of it."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from firstoff.errors import FirstoffError
from firstoff.part import report, sketch, sketch_lines, sketch_reading, sketch_text
from firstoff.part.sketch import UNITS, Sketch, SketchError

START = "Begin with the unit, mm or in, then a line like: block 110 x 34 x 24. 'help' tells the other words."
HELP = (
    f"lines begin with: {', '.join(sketch_lines.VERBS)}",
    "undo: the last line is forgotten      list: all lines so far      show: the part so far, drawn",
    "save FILE: write the sketch as FILE.toml      end: stop",
)


def session(lines_in: Iterable[str], draw: Callable[[Sketch], list[str]] | None = None) -> Iterator[str]:
    """Answers to lines of a sketch as they are typed.

    Args:
        lines_in: what is typed; the first thing is the unit.
        draw: makes a drawing for the terminal; after a mistake it shows the part so far, once.

    Returns:
        Answers, one or more a line, as soon as the line is there.
    """
    states: list[Sketch] = []
    saved: set[Path] = set()
    shown: Sketch | None = None
    yield START
    for typed in lines_in:
        line = typed.strip()
        word, _, rest = line.partition(" ")
        try:
            if word.lower() in ("end", "quit", "exit"):
                break
            if line:
                yield from _answer(states, saved, line, word.lower(), rest.strip())
        except (FirstoffError, OSError) as error:
            if draw is not None and states and states[-1].block is not None and states[-1] != shown:
                shown = states[-1]
                yield from draw(shown)
            yield str(error)


def _answer(states: list[Sketch], saved: set[Path], line: str, word: str, rest: str) -> Iterator[str]:
    if word == "help":
        yield from HELP
    elif not states:
        states.append(_started(line))
        yield f"lengths in {states[-1].unit}"
    elif word == "undo":
        yield _undone(states)
    elif word == "list":
        yield from (f"{number:>3}  {text}" for number, text in states[-1].texts)
    elif word == "save":
        yield _saved(states[-1], rest, saved)
    elif word == "show":
        yield from _shown(states[-1])
    elif not line.startswith("#"):
        states.append(sketch_lines.add(states[-1], line, len(states[-1].texts) + 1))
        yield _understood(states[-2], states[-1])


def _started(line: str) -> Sketch:
    word = line.removeprefix("unit").strip(' ="').lower()
    unit = {"inch": "in", "inches": "in", '"': "in"}.get(word, word)
    if unit not in UNITS:
        raise SketchError(f"{line!r} is no unit", where="sketch", right="mm or in, before the first line")
    return Sketch(unit=unit)


def _undone(states: list[Sketch]) -> str:
    if len(states) < 2:
        return "there is nothing to undo"
    return f"forgotten: {states.pop().texts[-1][1]}"


def _understood(before: Sketch, after: Sketch) -> str:
    """The new line as it is understood."""
    number, text = after.texts[-1]
    told = sketch_text.lines_of(after)
    if len(after.cuts) > len(before.cuts):
        text = told[len(after.cuts)]
    elif before.block is None:
        text = told[0]
    return f"{number:>3}  {text}"


def _saved(told: Sketch, name: str, saved: set[Path]) -> str:
    if not name:
        return "save under which name? save FILE"
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    if path.exists() and path not in saved:
        return f"{path} is there already: another name"
    path.write_text(sketch.write(replace(told, name=path.stem)), encoding="utf-8")
    saved.add(path)
    return f"{path} is written"


def _shown(told: Sketch) -> Iterator[str]:
    """The part so far and its features, by way of the kernel."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sketch.toml"
        path.write_text(sketch.write(told), encoding="utf-8")
        part = sketch_reading.read(path)
    yield from (*sketch_reading.drawn(told), "", *report.as_lines(part))
