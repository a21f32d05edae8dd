"""Kernels: small loops over cells that are compiled when they are first called, and kept on disk.

The compiler's own cache forgets that a kernel of another file was inlined, and then answers as the old one did. So
there is one folder for each digest of all kernel sources, named before the compiler is loaded.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from firstoff.kept import cache_folder

Kernel = TypeVar("Kernel", bound=Callable[..., object])

#: The files with kernels in them: `_*.py` of this room.
SOURCES = Path(__file__).parent
#: So many folders stay, those that were used last: one each for versions of the program that are in use side by side.
FOLDERS = 8
_OURS = re.compile(r"kernels-[0-9a-f]{16}")


def digest(folder: Path = SOURCES) -> str:
    """A name for the sources of all kernels: it changes with any letter of any of them."""
    whole = hashlib.sha256()
    for file in sorted([*folder.glob("_*.py"), *folder.glob("compiling.py")]):
        whole.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return whole.hexdigest()[:16]


def kept_in() -> Path:
    """The folder of this computer's user for compiled kernels of these sources."""
    return cache_folder() / f"kernels-{digest()}"


def prepare() -> None:
    """Name the folder for compiled kernels; a folder that the person named holds one for each digest, too."""
    own = os.environ.get("NUMBA_CACHE_DIR")
    if own and own.endswith(digest()):
        return
    folder = Path(own) / f"kernels-{digest()}" if own else kept_in()
    if folder.exists():
        os.utime(folder)
    else:
        clear(folder.parent)
    os.environ["NUMBA_CACHE_DIR"] = str(folder)
    if "numba" in sys.modules:
        from numba.core import config

        config.CACHE_DIR = str(folder)


def clear(base: Path, most: int = FOLDERS - 1) -> None:
    """Delete folders of kernels that other versions of the program compiled, but the last `most` that were used."""
    ours = [path for path in base.glob("kernels-*") if _OURS.fullmatch(path.name) and path.is_dir()]
    for path in sorted(ours, key=lambda path: path.stat().st_mtime, reverse=True)[most:]:
        shutil.rmtree(path, ignore_errors=True)


def kept() -> bool:
    """Whether the kernels that cut were compiled on this computer before: else the first cut waits for that, once."""
    prepare()
    return any(Path(os.environ["NUMBA_CACHE_DIR"]).rglob("_drive.drive-*.nbi"))


def _compiler(inline: bool, bare: bool) -> Callable[[Kernel], Kernel]:
    prepare()
    from numba import njit

    wrap: Callable[[Kernel], Kernel] = njit(
        cache=not bare, no_cpython_wrapper=bare, no_cfunc_wrapper=bare, nogil=True, _nrt=False, forceinline=inline,
        error_model="numpy", fastmath={"contract", "arcp", "nsz"})
    return wrap


def entry(function: Kernel) -> Kernel:
    """Compile a function that is called from outside, and keep it on disk with all that it calls.

    It makes no arrays; divisions by nothing give inf, as in arrays.
    """
    return _compiler(False, False)(function)


def kernel(function: Kernel) -> Kernel:
    """The same for what only other kernels call: no way in from outside is made, which halves the time it takes."""
    return _compiler(False, True)(function)


def inner(function: Kernel) -> Kernel:
    """The same for what is called for each cell or row: it becomes part of its callers."""
    return _compiler(True, True)(function)


@cache
def fetching() -> Callable[..., None]:
    """What tells the processor that a place of an array will soon be looked at: `fetch(array, row, place)`.

    A place outside the array is no fault: nothing is read.
    """
    prepare()
    from llvmlite import ir
    from numba.core import cgutils, types
    from numba.extending import intrinsic

    def fetch(_typing: Any, array: Any, row: Any, place: Any) -> Any:
        def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            view = context.make_array(signature.args[0])(context, builder, arguments[0])
            at = cgutils.get_item_pointer(
                context, builder, signature.args[0], view,
                [context.cast(builder, value, given, types.intp)
                 for value, given in zip(arguments[1:], signature.args[1:], strict=True)], wraparound=False)
            word, number = ir.IntType(8).as_pointer(), ir.IntType(32)
            call = builder.module.declare_intrinsic(
                "llvm.prefetch", (word,), ir.FunctionType(ir.VoidType(), [word] + [number] * 3))
            builder.call(call, [builder.bitcast(at, word), *(number(value) for value in (0, 3, 1))])
            return context.get_dummy_value()

        return types.void(array, row, place), code

    made: Callable[..., None] = intrinsic(fetch)
    return made
