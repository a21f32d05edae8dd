"""A photo is a photo and a sound a sound by what is in them, not by what they are called."""

from __future__ import annotations

import io
import os
import struct
import wave
import zlib
from pathlib import Path

import pytest

from firstoff.bench.looking import PIXELS, kind_of, look
from firstoff.errors import FileError


def wav(frames: int = 800) -> bytes:
    """A short recording."""
    out = io.BytesIO()
    with wave.open(out, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(8000)
        sound.writeframes(b"\x00\x01" * frames)
    return out.getvalue()


def chunk(kind: bytes, body: bytes) -> bytes:
    """A block of a PNG file."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png(wide: int = 1, high: int = 1) -> bytes:
    """A small picture."""
    head = struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\0")) + chunk(b"IEND", b"")


def jpeg(wide: int = 8, high: int = 8) -> bytes:
    """The blocks of a photo."""
    size = b"\xff\xc0" + struct.pack(">HBHHB", 11, 8, high, wide, 1) + b"\x01\x11\x00"
    scan = b"\xff\xda" + struct.pack(">H", 8) + b"\x01\x01\x00\x00\x3f\x00" + b"\x12\x34"
    return b"\xff\xd8" + size + scan + b"\xff\xd9"


def box(kind: bytes, body: bytes = b"") -> bytes:
    """A box of an M4A file."""
    return struct.pack(">I", 8 + len(body)) + kind + body


def tracks(*kinds: bytes) -> bytes:
    """What a file says that its tracks hold: soun, vide."""
    return box(b"moov", b"".join(box(b"hdlr", bytes(8) + kind + bytes(13)) for kind in kinds))


#: as a phone's recorder makes it (AAC, one channel), of a tap that rings at 1200 Hz with 2 % of damping; made by PyAV
RECORDED = Path(__file__).parents[1] / "pages" / "tap.m4a"
SOUND = box(b"ftyp", b"M4A \0\0\0\0") + box(b"mdat", b"sound")
M4A = SOUND + tracks(b"soun")
OGG = b"OggS\0\2" + bytes(20) + b"\x01\x05" + b"sound"
FLAC = b"fLaC" + b"\x80\0\0\x04" + b"info" + b"\xff\xf8"
WHOLE = {"wav": wav(), "png": png(), "jpg": jpeg(), "m4a": M4A, "ogg": OGG, "flac": FLAC}


@pytest.mark.parametrize("kind", WHOLE)
def test_a_whole_one_is_known(kind: str, tmp_path: Path) -> None:
    file = tmp_path / "sent"
    file.write_bytes(WHOLE[kind])
    assert look(file) == kind


@pytest.mark.parametrize("kind", WHOLE)
@pytest.mark.parametrize("cut", [0.3, 0.6, 0.97])
def test_one_that_is_cut_short_is_told(kind: str, cut: float, tmp_path: Path) -> None:
    file = tmp_path / "sent"
    file.write_bytes(WHOLE[kind][: int(len(WHOLE[kind]) * cut)])
    with pytest.raises(FileError):
        look(file)


@pytest.mark.parametrize("body", [b"", b"#!/bin/sh\n", b"<svg onload=alert(1)>", b"GIF89a", bytes(64)])
def test_another_kind_is_refused(body: bytes, tmp_path: Path) -> None:
    file = tmp_path / "sent"
    file.write_bytes(body)
    with pytest.raises(FileError, match="neither a photo nor a recording"):
        look(file)


def test_what_a_phone_records_is_a_sound(tmp_path: Path) -> None:
    assert look(RECORDED) == "m4a"
    file = tmp_path / "sent"
    for cut in (0.3, 0.6, 0.97):
        file.write_bytes(RECORDED.read_bytes()[: int(RECORDED.stat().st_size * cut)])
        with pytest.raises(FileError, match="cut short"):
            look(file)


@pytest.mark.parametrize(("body", "said"), [
    (SOUND + tracks(b"vide", b"soun"), "a film"), (SOUND + tracks(), "no sound"),
    (box(b"ftyp", b"heic\0\0\0\0") + box(b"meta", b"where") + box(b"mdat", b"light"), "HEIC"),
])
def test_what_is_in_the_same_boxes_but_no_sound_is_told(body: bytes, said: str, tmp_path: Path) -> None:
    file = tmp_path / "sent"
    file.write_bytes(body)
    with pytest.raises(FileError, match=said):
        look(file)


@pytest.mark.parametrize("body", [png(60000, 60000), jpeg(65000, 65000)])
def test_a_photo_that_would_fill_the_memory_is_refused(body: bytes, tmp_path: Path) -> None:
    file = tmp_path / "sent"
    file.write_bytes(body)
    with pytest.raises(FileError, match=str(PIXELS // 10**6)):
        look(file)


def test_a_damaged_picture_is_told(tmp_path: Path) -> None:
    file = tmp_path / "sent"
    file.write_bytes(png().replace(b"IDAT", b"IDAX"))
    with pytest.raises(FileError, match="damaged"):
        look(file)


def test_it_is_looked_at_by_another_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(Path(__file__).parents[2] / "src")]))
    file = tmp_path / "sent"
    file.write_bytes(wav())
    assert kind_of(file) == "wav"
    file.write_bytes(wav()[:60])
    with pytest.raises(FileError, match=r"cut short|damaged"):
        kind_of(file)


def test_the_log_of_an_accelerometer_is_a_recording(tmp_path: Path) -> None:
    log = "time,x,y\n" + "".join(f"{k / 100:.2f},{k % 7},0.1\n" for k in range(40))
    (tmp_path / "log").write_text(log, encoding="utf-8")
    assert look(tmp_path / "log", "recording") == "csv"
    (tmp_path / "log").write_text(log + "and so on\n", encoding="utf-8")
    with pytest.raises(FileError, match="neither a sound nor a log"):
        look(tmp_path / "log", "recording")
