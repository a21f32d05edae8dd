"""Shops that were read before, whole: to read a library and to look at every figure in it takes a tenth of an answer.

What is kept on this computer stands under a digest of all that it was read from, the reader too. It is worth no
error: what cannot be read is read anew from the shop's own file, what cannot be written is not kept.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import sys
from functools import cache
from pathlib import Path
from typing import Final

import pydantic

from ..kept import cache_folder
from .models import Shop

HERE: Final = Path(__file__).parent
#: what a shop is read by besides this room
READERS: Final = ("tomlfile.py", "units.py", "sources.py", "cutting/force_law.py")
SHOPS: Final = 8               #: that stay, those that were written last
#: what a damaged or foreign file may come to
_NOT_READ: Final = (OSError, pickle.UnpicklingError, EOFError, ImportError, AttributeError, TypeError, ValueError,
                    IndexError, KeyError)


def recall(file: str, text: str) -> Shop | None:
    """The shop that this text was read as before; None where it was not.

    Args:
        file: where it stands, which the shop tells.
        text: all of it.
    """
    path = _folder() / _name(file, text)
    try:
        if not _ours(path):
            return None
        found = pickle.loads(path.read_bytes())      # nobody else can write there
    except _NOT_READ:
        return None
    return found if isinstance(found, Shop) else None


def remember(file: str, text: str, shop: Shop) -> None:
    """Keep a shop for the next time that this text is read."""
    folder = _folder()
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = folder / f".{os.getpid()}"
        beside.write_bytes(pickle.dumps(shop, pickle.HIGHEST_PROTOCOL))
        beside.chmod(0o600)
        beside.replace(folder / _name(file, text))
        old = sorted(folder.glob("*.shop"), key=lambda path: path.stat().st_mtime, reverse=True)[SHOPS:]
        for path in old:
            path.unlink(missing_ok=True)


def _folder() -> Path:
    return cache_folder() / "shops"


def _ours(path: Path) -> bool:
    """Whether file and folder are this user's, and no other may write there."""
    if not hasattr(os, "getuid"):
        return path.exists()
    return all(found.st_uid == os.getuid() and not found.st_mode & 0o022
               for found in (path.stat(), path.parent.stat()))


def _name(file: str, text: str) -> str:
    whole = hashlib.blake2b(_reader(), digest_size=16)
    whole.update(f"{file}\0{text}".encode())
    return f"{whole.hexdigest()}.shop"


@cache
def _reader() -> bytes:
    """A digest of the library and of all that reads it."""
    whole = hashlib.blake2b(f"{sys.version}|{pydantic.VERSION}".encode(), digest_size=16)
    for path in (*sorted(HERE.glob("*.py")), *sorted((HERE / "data").glob("*.toml")),
                 *(HERE.parent / name for name in READERS)):
        whole.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return whole.digest()
