"""What all commands share: the options, the line of progress, how lines and JSON are printed."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any

import typer

ShopOption = Annotated[Path | None, typer.Option("--shop", help="folder with shop.toml, instead of the job's own")]
AsJson = Annotated[bool, typer.Option("--json", help="print one JSON object and nothing else")]

#: below this nobody waits, so nothing is shown
PATIENCE_S = 1.0
#: what lasts longer is told with its seconds
LONG_S = 3.0


class Progress:
    """A line on standard error, for anything over a second, where a person is looking.

    What lasts is shown with its seconds, also where it was told too soon to be shown at once, so that nobody takes a
    long step for a standstill.
    """

    def __init__(self) -> None:
        self.began = self.shown = time.monotonic()
        self.length = 0
        self._told: tuple[str, float, float] | None = None      # what, its share, since when
        self._lock = threading.Lock()
        self._over = threading.Event()
        self._watch: threading.Thread | None = None

    def __call__(self, what: str, share: float) -> None:
        """Show what is under way, at most five times a second."""
        if not sys.stderr.isatty():
            return
        now = time.monotonic()
        since = self._told[2] if self._told is not None and self._told[0] == what else now
        self._told = (what, share, since)
        if self._watch is None:
            self._over.clear()
            self._watch = threading.Thread(target=self._watching, daemon=True)
            self._watch.start()
        self.tick()

    def tick(self) -> None:
        """Show what was told last, where that is due."""
        with self._lock:
            now = time.monotonic()
            if self._told is None or now - self.began < PATIENCE_S or now - self.shown < 0.2:
                return
            self.shown = now
            what, share, since = self._told
            lasts = f", {now - since:.0f} s" if now - since >= LONG_S else ""
            text = f"{share:4.0%}  {what}"[:78 - len(lasts)] + lasts
            sys.stderr.write("\r" + text.ljust(self.length))
            sys.stderr.flush()
            self.length = len(text)

    def _watching(self) -> None:
        while not self._over.wait(0.5):
            self.tick()

    def done(self) -> None:
        """Wipe the line."""
        self._over.set()
        with self._lock:
            self._told = self._watch = None
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
