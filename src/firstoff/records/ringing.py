"""Recordings of a tapped cutter: a phone's sound file, or the log of its accelerometer."""

from __future__ import annotations

import csv
import math
import wave
from pathlib import Path
from typing import Final

import numpy as np

from ..belief import Rows
from ..cutting.still import Ring, ring_of
from ..errors import OutOfRange, RecordError
from ..units import tell

#: phones hear above about this frequency [rad/s]; judged
PHONE_HEARS: Final = 2.0 * math.pi * 200.0
#: what sings in a cut is a ring below this; a cutter's own, far above, is not asked for [rad/s]; judged
SINGS_BELOW: Final = 2.0 * math.pi * 5000.0
#: and an accelerometer's drift ends below this [rad/s]; judged
LOG_STARTS: Final = 2.0 * math.pi * 10.0
#: and its log ends here: phones take 100 to 500 readings a second [rad/s]; judged
LOG_ENDS: Final = 2.0 * math.pi * 250.0
#: height of the peak over the middle of the spectrum below which nothing rings
CLEAR: Final = 5.0
_EVEN: Final = 0.2        #: steps of time that differ by more than this share are no even log


def heard(path: Path) -> Ring:
    """What rings loudest in a recording.

    Raises:
        RecordError: if it cannot be read, or nothing rings in it.
    """
    kind = path.suffix.lower()
    if kind == ".wav":
        signal, rate, lowest = *_sound(path), PHONE_HEARS
    elif kind == ".csv":
        signal, rate, lowest = *_log(path), LOG_STARTS
    else:
        raise RecordError(f"a {kind or 'file without ending'} cannot be listened to", where=str(path),
                          right="a .wav recording or a .csv log with the time in its first column")
    try:
        ring = ring_of(signal, rate, lowest, SINGS_BELOW)
    except OutOfRange as error:
        raise RecordError(error.what, where=str(path), right=error.right) from None
    if ring.clear < CLEAR:
        raise RecordError("nothing rings clearly in the recording", where=str(path),
                          right="one sharp tap, the phone closer, fans and pumps off")
    return ring


def told(ring: Ring) -> dict[str, str]:
    """What was heard as answers of the test: frequency and damping."""
    return {"frequency": tell(ring.natural, "frequency", decimals=1), "damping": f"{ring.damping:.4f}"}


def _sound(path: Path) -> tuple[Rows, float]:
    """The louder channel of a sound file, and samples a second."""
    try:
        with wave.open(str(path), "rb") as file:
            width, channels, rate = file.getsampwidth(), file.getnchannels(), file.getframerate()
            raw = file.readframes(file.getnframes())
    except (wave.Error, EOFError, OSError) as error:
        raise RecordError(f"is no sound file that can be read: {error}", where=str(path),
                          right="a plain .wav of 8, 16, 24 or 32 bits") from None
    whole = len(raw) // (width * channels) * width * channels
    samples = _samples(raw[:whole], width).reshape(-1, channels)
    return np.asarray(samples[:, int(np.argmax(np.abs(samples).sum(axis=0)))]), float(rate)


def _samples(raw: bytes, width: int) -> Rows:
    """Whole numbers of 1 to 4 bytes; those of one byte have no sign."""
    each = np.frombuffer(raw, dtype=np.uint8).reshape(-1, width)
    if width == 1:
        return np.asarray(each[:, 0], dtype=np.float64) - 128.0
    padded = np.zeros((len(each), 4), dtype=np.uint8)
    padded[:, 4 - width:] = each
    return np.asarray(padded.reshape(-1).view("<i4"), dtype=np.float64)


def _log(path: Path) -> tuple[Rows, float]:
    """The liveliest column of a log, and samples a second."""
    rows = []
    for row in csv.reader(path.read_text(encoding="utf-8", errors="replace").replace(";", ",").splitlines()):
        try:
            rows.append([float(cell) for cell in row if cell.strip()])
        except ValueError:
            continue                                # headings, and what a phone writes around its numbers
    widths = {len(row) for row in rows}
    if len(rows) < 2 or len(widths) != 1 or widths.pop() < 2:
        raise RecordError("is no log of time and acceleration", where=str(path),
                          right="lines like 0.0025, 0.12, -0.03, 9.81: seconds first")
    table = np.array(rows)
    steps = np.diff(table[:, 0])
    step = float(np.median(steps))
    if step <= 0.0 or np.mean(np.abs(steps - step) > _EVEN * step) > 0.1:
        raise RecordError("the times in its first column do not go on evenly", where=str(path),
                          right="seconds, one line after the other")
    lively = table[:, 1:] - table[:, 1:].mean(axis=0)
    return np.asarray(lively[:, int(np.argmax(np.abs(lively).max(axis=0)))]), 1.0 / step
