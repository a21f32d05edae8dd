"""How a command is run: memory, what libraries are told beforehand, and errors as one clear message each."""

from __future__ import annotations

import atexit
import codecs
import ctypes
import gc
import io
import os
import sys
from collections.abc import Callable, Iterable
from typing import Final, TextIO

from .errors import FirstoffError

#: mallopt(3): M_TRIM_THRESHOLD and M_MMAP_THRESHOLD [bytes]
MEMORY: Final = ((-1, 1 << 28), (-3, 1 << 25))


def run(work: Callable[[], object], before_a_message: Callable[[], None] = lambda: None) -> None:
    """Run a command; an error of input is one clear message and exit code 2.

    Args:
        work: what it does.
        before_a_message: what makes room for a message.
    """
    # Small matrix products by the thousand: threads of the linear algebra library only get in each other's way.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # None is used here, and looking for them reads what is said of every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    _keep_memory()
    atexit.register(gc.freeze)      # all goes at the end: to look for garbage once more takes 0.1 s of a look-up
    try:
        work()
    except FirstoffError as error:
        _refuse(str(error), before_a_message)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except OSError as error:
        _refuse(f"{error.filename or 'the disk'}: {error.strerror}", before_a_message)
    except KeyboardInterrupt:
        before_a_message()
        sys.exit(130)


def speak(stream: TextIO, lines: Iterable[str]) -> None:
    """Write lines; where a stream says that it knows plain letters only, which it seldom means, as UTF-8."""
    if isinstance(stream, io.TextIOWrapper):
        plain = codecs.lookup(stream.encoding).name == "ascii"
        stream.reconfigure(encoding="utf-8" if plain else stream.encoding, errors="replace")
    stream.write("".join(f"{line}\n" for line in lines))


def _refuse(message: str, before: Callable[[], None]) -> None:
    before()
    speak(sys.stderr, [message])
    sys.exit(2)


def _keep_memory() -> None:
    """Arrays up to some MB are used again instead of being given back: half of the time of a small NumPy step
    goes into fresh pages. Only the C library of GNU/Linux has this call; elsewhere it is left as it is.
    """
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None) if sys.platform == "linux" else None
    if mallopt is not None:
        for setting, size in MEMORY:
            mallopt(setting, size)
