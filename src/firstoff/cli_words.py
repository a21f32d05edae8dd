"""What all commands share: the options, the line of progress, how lines and JSON are printed."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any

import typer

ShopOption = Annotated[Path | None, typer.Option("--shop", help="folder with shop.toml, instead of the job's own")]
AsJson = Annotated[bool, typer.Option("--json", help="print one JSON object and nothing else")]

#: below this nobody waits, so nothing is shown
PATIENCE_S = 1.0


class Progress:
    """A line on standard error, for anything over a second, where a person is looking."""

    def __init__(self) -> None:
        self.began = self.shown = time.monotonic()
        self.length = 0

    def __call__(self, what: str, share: float) -> None:
        """Show what is under way, at most five times a second."""
        now = time.monotonic()
        if now - self.began < PATIENCE_S or now - self.shown < 0.2 or not sys.stderr.isatty():
            return
        self.shown = now
        text = f"{share:4.0%}  {what}"[:78]
        sys.stderr.write("\r" + text.ljust(self.length))
        sys.stderr.flush()
        self.length = len(text)

    def done(self) -> None:
        """Wipe the line."""
        if self.length:
            sys.stderr.write("\r" + " " * self.length + "\r")
            sys.stderr.flush()
            self.length = 0


progress = Progress()


def say(lines: Iterable[str]) -> None:
    """Print lines for a person."""
    progress.done()
    for line in lines:
        typer.echo(line)


def say_json(value: dict[str, Any]) -> None:
    """Print one JSON object."""
    import json

    progress.done()
    typer.echo(json.dumps(value, ensure_ascii=False, allow_nan=False))
