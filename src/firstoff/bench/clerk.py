"""Does what takes long, one thing at a time, off the server's loop: tells how far it is, and can be stopped."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ..errors import FirstoffError

if TYPE_CHECKING:
    from ..actions_shop import Behind
    from ..actions_start import Seen
    from ..dryrun.result import Result
    from ..part.shapes import View

Edits = tuple[tuple[str, str], ...]
#: below this share nobody can tell how long it will take
TELLS: Final = 0.05


class Stopped(Exception):
    """The person stopped it."""


class Busy(Exception):
    """Something else is under way."""


@dataclass(frozen=True)
class Book:
    """The job as it was checked last: all that the pages show of it."""

    result: Result
    sheets: Mapping[str, Any]
    views: Mapping[str, Sequence[View]] = field(default_factory=dict)
    standing: dict[str, Mapping[str, Any]] = field(default_factory=dict, init=False, compare=False)    # drawn once
    card: dict[bool, str] = field(default_factory=dict, init=False, compare=False)    # the desk, written once
    behind: Mapping[tuple[str, str], Sequence[Behind]] = field(default_factory=dict)   # figures of each check


@dataclass(frozen=True)
class Doing:
    """What is under way."""

    what: str
    share: float
    seconds: float
    left: float | None

    def words(self) -> str:
        """For a person, with the time left where it can be told."""
        if self.left is None:
            return self.what
        return f"{self.what}: about {max(round(self.left), 1)} s left"


@dataclass
class Clerk:
    """One job, and the one long thing that is done to it at a time."""

    folder: Path
    shop: Path | None = None
    network: bool = False                 # whether other devices may be paired
    book: Book | None = None
    trouble: str = ""
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _stop: threading.Event = field(default_factory=threading.Event)
    _no_sketch: threading.Event = field(default_factory=threading.Event)
    _began: float = 0.0
    _at: tuple[str, float] = ("", 0.0)

    @property
    def has_job(self) -> bool:
        """Whether there is a job in the folder yet."""
        return (self.folder / "job.toml").is_file()

    def doing(self) -> Doing | None:
        """What is under way, if anything is."""
        if not self._lock.locked():
            return None
        what, share = self._at
        seconds = time.monotonic() - self._began
        left = seconds * (1.0 - share) / share if share > TELLS else None
        return Doing(what, share, seconds, left)

    def stop(self) -> None:
        """Ask what is under way to end; it does at its next step. A sketch that is being drawn, too."""
        self._stop.set()
        self._no_sketch.set()

    def open(self) -> None:
        """Check the job in the background, unless something is under way or it was done."""
        if self.book is None and not self._lock.locked():
            threading.Thread(target=self._quietly, daemon=True).start()

    def _quietly(self) -> None:
        from .. import actions

        try:
            actions.records(self.folder, shop=self.shop)      # loads the database while one waits anyway
            self.check()
        except Busy:
            return
        except Stopped:
            self.trouble = "Stopped before the job was checked."
        except FirstoffError as error:
            self.trouble = str(error)

    def check(self) -> Book:
        """Check the job as it is written, and draw it.

        Raises:
            Busy: if something else is under way.
            Stopped: if the person stopped it.
            FirstoffError: if the job cannot be checked.
        """
        with self._alone("reading the job"):
            from .. import actions, actions_shop
            from ..sheets.document import content
            from .pages import write_out

            result = actions.check(self.folder, shop=self.shop, progress=self._progress)
            self._began = time.monotonic()               # the time left is told of the drawing by itself
            views = actions.draw(result, self.folder, self._progress)
            behind = actions_shop.stood_on(result, self.folder, shop=self.shop)
            book = Book(result, content(result, views), views, behind=behind)
            write_out(book, self.network)
            self.book = book
            self.trouble = ""
            return self.book

    def draft(self, edits: Edits) -> Result:
        """Check the job with these edits, which are written nowhere; no further changes are looked for yet.

        Raises:
            Busy, Stopped, FirstoffError: as `check`.
        """
        with self._alone("checking the draft"):
            from .. import actions

            return actions.check(self.folder, shop=self.shop, progress=self._progress, edits=edits, instead=False)

    def ink(self, edits: Iterable[tuple[str, str]]) -> Book:
        """Write edits into the route, and check it.

        Raises:
            Busy, Stopped, FirstoffError: as `check`.
        """
        from .. import actions

        wanted = list(edits)
        self.draft(tuple(wanted))
        actions.change(self.folder, wanted, shop=self.shop)
        return self.check()

    def plan(self) -> Book:
        """Plan a route, and check it.

        Raises:
            Busy, Stopped, FirstoffError: as `check`.
        """
        with self._alone("planning"):
            from .. import actions

            actions.plan(self.folder, shop=self.shop, progress=self._progress)
        return self.check()

    def learn(self) -> tuple[str, ...]:
        """Turn the records into own figures; the job is checked by them when it is looked at next.

        Raises:
            Busy, Stopped, FirstoffError: as `check`.
        """
        with self._alone("learning from the records"):
            from .. import actions

            learned = actions.learn(self.folder, shop=self.shop, progress=self._progress)
            self.book = None
            return learned.sentences

    def was_right(self) -> str:
        """How often the book was right, in a sentence.

        Raises:
            Busy, Stopped, FirstoffError: as `check`.
        """
        with self._alone("asking the book of what was recorded"):
            from .. import actions_shop

            return actions_shop.was_right(self.folder, shop=self.shop, progress=self._progress)

    def mill_test(self, machine: str, name: str, texts: Mapping[str, str], keep: bool) -> tuple[list[str], list[str]]:
        """Keep the readings of one of the nine tests, and learn from them; what is strange is asked about first.

        Returns:
            What to look at again where `keep` is not said, and nothing is kept then; and what changed.

        Raises:
            Busy, Stopped, FirstoffError: as `check`; RecordError, UnitError if a reading cannot be true.
        """
        with self._alone("learning from the test"):
            from .. import actions_shop
            from ..records.mill_answers import checked
            from ..records.mill_hour import keep as keep_readings
            from ..records.mill_learn import strange

            mill = actions_shop.mill(self.folder, machine, shop=self.shop)
            found = checked(name, texts, mill.shop, mill.machine)
            doubts = [] if keep else strange(found, mill.book)
            if doubts:
                return doubts, []
            done = keep_readings(mill, [found], self._progress)
            self.book = None
            heard = [f"heard: {found.text('frequency')}, damping {found.text('damping')}"] if "file" in texts else []
            return [], [*heard, *done.lines, *done.strange]

    def read_model(self, file: Path, units: str) -> Seen:
        """What is understood of a model in a file.

        Raises:
            Busy, Stopped, FirstoffError: as `check`.
        """
        with self._alone("reading the model"):
            from .. import actions_start

            return actions_start.seen_model(file, units, self._progress)

    def read_sketch(self, lines: str, units: str) -> Seen:
        """What is understood of a sketch so far; beside what else is under way.

        Raises:
            Stopped: if the person stopped it.
            FirstoffError: if it is too long, or holds a sign that ends it.
        """
        from .. import actions_start

        self._no_sketch = stopped = threading.Event()

        def heard(_what: str, _share: float) -> None:
            if stopped.is_set():
                raise Stopped

        return actions_start.seen_sketch(lines, units, heard)

    def _progress(self, what: str, share: float) -> None:
        self._at = what, share
        if self._stop.is_set():
            raise Stopped

    def _alone(self, what: str) -> _Alone:
        return _Alone(self, what)


@dataclass(frozen=True)
class _Alone:
    """Holds the clerk's one pen; does not wait for it."""

    clerk: Clerk
    what: str

    def __enter__(self) -> None:
        if not self.clerk._lock.acquire(blocking=False):
            raise Busy
        self.clerk._stop.clear()
        self.clerk._began = time.monotonic()
        self.clerk._at = self.what, 0.0

    def __exit__(self, *_: object) -> None:
        self.clerk._lock.release()
