"""Who may see the pages: one-time codes that pair a device, and the signed cookie that it keeps."""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from ..errors import FileError

COOKIE: Final = "firstoff_paired"
LASTS: Final = 30 * 24 * 3600                    #: of a pairing [s]
LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"   #: none that is taken for another
LENGTH: Final = 8                                #: of a code: 40 bits
TRIES: Final = 10                                #: wrong codes before all codes are withdrawn


@dataclass(frozen=True)
class Seal:
    """Signs what a paired device keeps; the key lies in the job's own cache, for its owner's eyes."""

    key: bytes
    clock: Callable[[], float] = time.time

    def cookie(self) -> str:
        """A new cookie: when it was given and for whom, signed."""
        body = f"{int(self.clock())}.{secrets.token_hex(8)}"
        return f"{body}.{self._signature(body)}"

    def holds(self, cookie: str) -> bool:
        """Whether a cookie was given by this seal, not too long ago."""
        body, _, signature = cookie.rpartition(".")
        if not hmac.compare_digest(self._signature(body).encode(), signature.encode()):
            return False
        given = int(body.partition(".")[0])
        return 0 <= self.clock() - given < LASTS

    def _signature(self, body: str) -> str:
        return hmac.new(self.key, body.encode(), hashlib.sha256).hexdigest()


def seal_of(folder: Path) -> Seal:
    """The seal of a job: its key is made once, so that a paired tablet outlives a restart.

    Raises:
        FileError: if the key cannot be kept there.
    """
    file = folder / ".firstoff" / "pages.key"
    try:
        file.parent.mkdir(exist_ok=True)
        if not file.exists() or file.stat().st_size != 32:
            file.unlink(missing_ok=True)
            with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
                out.write(secrets.token_bytes(32))
        return Seal(file.read_bytes())
    except OSError as error:
        raise FileError(f"the key of the pages cannot be kept: {error.strerror}", where=str(file),
                        right="a job folder that can be written to") from None


@dataclass
class Codes:
    """One-time codes: each pairs one device; after some wrong ones, all are withdrawn."""

    given: list[str] = field(default_factory=list)
    wrong: int = 0

    def new(self) -> str:
        """A new code; it is good until it is used."""
        code = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
        self.given.append(code)
        self.wrong = 0
        return code

    def use(self, said: str) -> bool:
        """Whether this code was given and not used; it is used now."""
        word = "".join(letter for letter in said.lower() if letter in LETTERS)
        fits = [code for code in self.given if hmac.compare_digest(code, word)]
        if fits:
            self.given.remove(fits[0])
            return True
        self.wrong += 1
        if self.wrong >= TRIES:
            self.given.clear()
        return False
