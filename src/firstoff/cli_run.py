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

#: mallopt(3): M_TRIM_THRESHOLD, M_MMAP_THRESHOLD and M_TOP_PAD [bytes]
MEMORY: Final = ((-1, 1 << 28), (-3, 1 << 25), (-2, 1 << 26))
PAGE: Final = 1 << 21            #: a large page [bytes]
HUGE: Final = 14                 #: madvise(2): MADV_HUGEPAGE


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
    """Arrays up to some MB are used again instead of being given back, and lie in large pages: half of the time of a
    small NumPy step goes into fresh pages, and 0.04 s of a quick answer into twenty thousand small ones. Only the C
    library of GNU/Linux has these calls; elsewhere it is left as it is.
    """
    library = ctypes.CDLL(None) if sys.platform == "linux" else None
    mallopt = getattr(library, "mallopt", None)
    if library is None or mallopt is None:
        return
    for setting, size in MEMORY:
        mallopt(setting, size)
    library.malloc.restype = library.sbrk.restype = ctypes.c_void_p
    first = library.malloc(ctypes.c_size_t(8 * PAGE))       # with M_TOP_PAD behind it, all on the heap
    end = library.sbrk(ctypes.c_ssize_t(0))
    if first and end:
        start = -(-first // PAGE) * PAGE
        if start < end:                                     # no such pages, or none to be had: small ones do
            library.madvise(ctypes.c_void_p(start), ctypes.c_size_t((end - start) // PAGE * PAGE), HUGE)
        library.free(ctypes.c_void_p(first))
