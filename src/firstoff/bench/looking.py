"""Is a photo a photo, a sound a sound? Looked at block by block, in a process of its own with little memory.

Run as `python -m firstoff.bench.looking FILE GROUP`: prints the kind, or what is wrong, and nothing else.
"""

from __future__ import annotations

import re
import subprocess
import sys
import wave
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO, Final

from ..errors import FileError

WAITS: Final = 20.0                   #: for the process [s]
MEMORY: Final = 512 * 2**20           #: that it may take [bytes]
PIXELS: Final = 120_000_000           #: of a photo, at most
RIGHT: Final = "a photo (JPEG, PNG) or a recording (WAV, M4A, OGG, FLAC)"
STEP: Final = "a STEP file: the text begins with ISO-10303-21"
HEARD: Final = "a .wav recording, or a .csv log with the time in its first column"
#: of the log of an accelerometer [bytes]; lines of it at least, and lines at its top that may be words
LONGEST_LOG: Final = 20 * 2**20
FEWEST: Final = 16
HEADS: Final = 4
ROW: Final = re.compile(rb"^\s*\"?[-+]?\d[\d.eE+-]*\"?\s*[,;\t]")
PROGRAM: Final = "an NC program: text in G, M and axis words"
LONGEST: Final = 5 * 2**20            #: of a program [bytes]
#: that may be sent of each group [bytes]
MOST: Final = {"record": 40 * 2**20, "recording": 40 * 2**20, "model": 60 * 2**20, "program": LONGEST}
#: of a program: a block with a word for a motion, an axis or the machine
BLOCK: Final = re.compile(rb"(?m)^[^(;\n]*\b[GMXYZ] ?[-+]?\d", re.IGNORECASE)


def kind_of(file: Path, group: str = "record") -> str:
    """The kind of an uploaded file, by what is in it and never by its name; found by another process.

    Args:
        file: that was sent.
        group: what it may be: record, recording, model or program.

    Raises:
        FileError: if it is none of the kinds of its group, or is cut short.
    """
    right = GROUPS[group][1]
    try:
        done = subprocess.run([sys.executable, "-m", "firstoff.bench.looking", str(file), group],
                              capture_output=True, text=True, timeout=WAITS, check=False)
    except subprocess.TimeoutExpired:
        raise FileError("it took too long to look at", right=right) from None
    word = done.stdout.strip()
    if done.returncode != 0 or word not in GROUPS[group][0]:
        raise FileError(word or "it cannot be looked at", right=right)
    return word


def look(file: Path, group: str = "record") -> str:
    """The kind of a file, in this process.

    Raises:
        FileError: as `kind_of`.
    """
    size = file.stat().st_size
    kinds, right = GROUPS[group]
    with file.open("rb") as stream:
        head = stream.read(12)
        for kind, (fits, walk) in kinds.items():
            if fits(head):
                stream.seek(0)
                walk(stream, size)
                return kind
    raise FileError(NOTHING[group], right=right)


def _exactly(stream: BinaryIO, count: int) -> bytes:
    got = stream.read(count)
    if len(got) != count:
        raise FileError("the file is cut short", right="send it again")
    return got


def _jpeg(stream: BinaryIO, size: int) -> None:
    """Marker by marker to the picture itself, and its end mark."""
    _exactly(stream, 2)
    seen = False
    while True:
        mark, code = _exactly(stream, 2)
        if mark != 0xFF:
            raise FileError("the photo is damaged", right=RIGHT)
        length = int.from_bytes(_exactly(stream, 2), "big")
        body = _exactly(stream, max(length - 2, 0))
        if 0xC0 <= code <= 0xCF and code not in (0xC4, 0xC8, 0xCC):
            _not_huge(int.from_bytes(body[1:3], "big"), int.from_bytes(body[3:5], "big"))
            seen = True
        if code == 0xDA:
            break
    stream.seek(max(size - 64, 0))
    if not seen or b"\xff\xd9" not in stream.read():
        raise FileError("the photo is cut short", right="send it again")


def _not_huge(high: int, wide: int) -> None:
    if not 0 < high * wide <= PIXELS:
        raise FileError(f"the photo is {wide} × {high} pixels", right=f"at most {PIXELS // 10**6} million")


def _png(stream: BinaryIO, _size: int) -> None:
    """Chunk by chunk, each by its sum of check."""
    _exactly(stream, 8)
    kind = b""
    while kind != b"IEND":
        length = int.from_bytes(_exactly(stream, 4), "big")
        kind = _exactly(stream, 4)
        body = _exactly(stream, length)
        if zlib.crc32(kind + body) != int.from_bytes(_exactly(stream, 4), "big"):
            raise FileError("the photo is damaged", right="send it again")
        if kind == b"IHDR":
            _not_huge(int.from_bytes(body[4:8], "big"), int.from_bytes(body[:4], "big"))


def _wav(stream: BinaryIO, _size: int) -> None:
    try:
        with wave.open(stream) as sound:
            frames = sum(len(block) for block in iter(lambda: sound.readframes(65536), b""))
            wanted = sound.getnframes() * sound.getnchannels() * sound.getsampwidth()
    except (wave.Error, EOFError) as error:
        raise FileError(f"the recording is damaged: {error}", right=RIGHT) from None
    if frames == 0 or frames != wanted:
        raise FileError("the recording is empty or cut short", right="send it again")


def _m4a(stream: BinaryIO, size: int) -> None:
    """Box by box; one must tell what is in it."""
    kinds, at = set(), 0
    while at < size:
        stream.seek(at)
        length, kind = int.from_bytes(_exactly(stream, 4), "big"), _exactly(stream, 4)
        if length == 1:
            length = int.from_bytes(_exactly(stream, 8), "big")
        length = size - at if length == 0 else length
        if length < 8 or at + length > size:
            raise FileError("the recording is cut short", right="send it again")
        kinds.add(kind)
        if kind == b"moov":
            _sound_alone(_exactly(stream, length - 8))
        at += length
    if b"moov" not in kinds and b"meta" in kinds:
        raise FileError("the photo is in a form that is not kept (HEIC, AVIF)", right=RIGHT)
    if not {b"moov", b"mdat"} <= kinds:
        raise FileError("the recording is cut short", right="send it again")


def _sound_alone(told: bytes) -> None:
    """By what the tracks say that they hold: sound, and no film."""
    tracks = set(re.findall(rb"hdlr\0{8}(\w{4})", told))
    if b"vide" in tracks or b"soun" not in tracks:
        raise FileError("it is a film" if b"vide" in tracks else "there is no sound in it", right=RIGHT)


def _ogg(stream: BinaryIO, size: int) -> None:
    """Page by page to the end."""
    while stream.tell() < size:
        head = _exactly(stream, 27)
        if head[:4] != b"OggS":
            raise FileError("the recording is damaged", right="send it again")
        _exactly(stream, sum(_exactly(stream, head[26])))


def _flac(stream: BinaryIO, _size: int) -> None:
    """Block by block to the sound."""
    _exactly(stream, 4)
    last = False
    while not last:
        head = _exactly(stream, 4)
        last = bool(head[0] & 0x80)
        _exactly(stream, int.from_bytes(head[1:], "big"))
    _exactly(stream, 2)


Walk = Callable[[BinaryIO, int], None]
KINDS: Final[dict[str, tuple[Callable[[bytes], bool], Walk]]] = {
    "jpg": (lambda head: head.startswith(b"\xff\xd8\xff"), _jpeg),
    "png": (lambda head: head.startswith(b"\x89PNG\r\n\x1a\n"), _png),
    "wav": (lambda head: head[:4] == b"RIFF" and head[8:12] == b"WAVE", _wav),
    "m4a": (lambda head: head[4:8] == b"ftyp", _m4a),
    "ogg": (lambda head: head.startswith(b"OggS"), _ogg),
    "flac": (lambda head: head.startswith(b"fLaC"), _flac),
}


def _step(stream: BinaryIO, size: int) -> None:
    """From its first mark to its last, and no letter that text has not."""
    stream.seek(max(size - 4096, 0))
    if b"END-ISO-10303-21" not in stream.read():
        raise FileError("the model is cut short", right="send it again")
    stream.seek(0)
    if any(b"\0" in block for block in iter(lambda: stream.read(65536), b"")):
        raise FileError("the model is damaged: it is no text", right=STEP)


def _program(stream: BinaryIO, size: int) -> None:
    if size > LONGEST:
        raise FileError(f"the program has {size} bytes", right=f"at most {LONGEST}")
    text = stream.read()
    if b"\0" in text or not BLOCK.search(text):
        raise FileError("it is no program", right=PROGRAM)


def _is_text(head: bytes) -> bool:
    return bool(head) and all(letter in b"\t\n\r" or 32 <= letter < 127 for letter in head.lstrip(b"\xef\xbb\xbf"))


def _log(stream: BinaryIO, size: int) -> None:
    """The log of an accelerometer: text, with numbers in every line but the first few."""
    if size > LONGEST_LOG:
        raise FileError(f"the log has {size} bytes", right=f"at most {LONGEST_LOG}")
    lines = [line for line in stream.read().splitlines() if line.strip()]
    if len(lines) < FEWEST or any(b"\0" in line for line in lines) or not all(map(ROW.match, lines[HEADS:])):
        raise FileError("it is neither a sound nor a log", right=HEARD)


MODELS: Final[dict[str, tuple[Callable[[bytes], bool], Walk]]] = {
    "step": (lambda head: head.lstrip(b"\xef\xbb\xbf \r\n\t").startswith(b"ISO-103"), _step),
}
PROGRAMS: Final[dict[str, tuple[Callable[[bytes], bool], Walk]]] = {"nc": (bool, _program)}
#: what may be sent -> its kinds, and what would be right
RECORDINGS: Final[dict[str, tuple[Callable[[bytes], bool], Walk]]] = {"wav": KINDS["wav"], "csv": (_is_text, _log)}
GROUPS: Final = {"record": (KINDS, RIGHT), "recording": (RECORDINGS, HEARD),
                 "model": (MODELS, STEP), "program": (PROGRAMS, PROGRAM)}
NOTHING: Final = {"recording": "it cannot be listened to",
                  "record": "it is neither a photo nor a recording that is kept",
                  "model": "it is no STEP file",
                  "program": "the program is empty"}


def frugal() -> None:
    """Little memory and time, where the system can hold a process to it."""
    try:
        import resource
    except ImportError:               # not on Windows: there the time alone is held
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (int(WAITS), int(WAITS)))


def main() -> int:
    """Print the kind of the file that is named; 1 with what is wrong."""
    frugal()
    try:
        sys.stdout.write(look(Path(sys.argv[1]), sys.argv[2]) + "\n")
    except (FileError, MemoryError) as error:
        sys.stdout.write((error.what if isinstance(error, FileError) else "it is too big to look at") + "\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
