"""`python -m firstoff` is the same as the command: run it, and leave at once."""

from __future__ import annotations

import atexit
import contextlib
import gc
import os
import sys
import threading
from typing import NoReturn

from firstoff.cli_plain import joined, plain
from firstoff.cli_run import run


def start() -> NoReturn:
    """Run the command and leave without taking down piece by piece what is in memory: 0.02 s of a quick answer.

    What others want done at the end is done, and what was printed is written out. Where a thread is still at work
    the interpreter ends as usual, and waits for it. Nor is garbage looked for while all is loaded, as there is none,
    or in a quick answer, which is told before it counts.
    """
    gc.disable()
    sys.argv[1:] = joined(sys.argv[1:])
    work = plain(sys.argv[1:])
    if work is None:
        from firstoff.cli import is_quick, main

        gc.freeze()
        if not any(map(is_quick, sys.argv[1:2])):
            gc.enable()
    try:
        run(work) if work is not None else main()
        code = None
    except SystemExit as end:
        code = end.code
    if threading.active_count() > 1 or not isinstance(code, int | None):
        sys.exit(code)
    atexit._run_exitfuncs()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):      # nobody reads any more, or it is closed
            stream.flush()
    os._exit(code or 0)


if __name__ == "__main__":
    start()
