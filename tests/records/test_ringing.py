"""Recordings as a phone makes them are read; what is none is refused."""

from __future__ import annotations

import math
import wave
from pathlib import Path

import numpy as np
import pytest

from firstoff.errors import RecordError
from firstoff.records.ringing import heard


def ring(hertz: float, damping: float, rate: float, seconds: float = 0.6) -> np.ndarray:
    t = np.arange(int(rate * seconds)) / rate
    natural = 2.0 * math.pi * hertz
    quiet = np.zeros(int(0.05 * rate))
    return np.concatenate([quiet, np.exp(-damping * natural * t) * np.sin(natural * math.sqrt(1 - damping**2) * t)])


def write(path: Path, signal: np.ndarray, width: int, channels: int = 1, rate: int = 44100) -> Path:
    full = 2 ** (8 * width - 1) - 1
    whole = np.round(0.8 * full * signal).astype(np.int64) + (128 if width == 1 else 0)
    raw = b"".join(int(x).to_bytes(width, "little", signed=width > 1) * channels for x in whole)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        file.writeframes(raw)
    return path


@pytest.mark.parametrize(("width", "channels"), [(1, 1), (2, 1), (2, 2), (3, 1), (4, 1)])
def test_sound_of_any_width(tmp_path: Path, width: int, channels: int) -> None:
    found = heard(write(tmp_path / "tap.wav", ring(1200.0, 0.02, 44100.0), width, channels))
    assert found.natural == pytest.approx(2.0 * math.pi * 1200.0, rel=0.02)
    assert found.damping == pytest.approx(0.02, rel=0.3)


@pytest.mark.parametrize("apart", [",", ";"])
def test_the_log_of_a_phone(tmp_path: Path, apart: str) -> None:
    signal = ring(70.0, 0.04, 400.0, 2.0)
    lines = ["time (s), x, y, z"] + [
        apart.join(f"{value:.5f}" for value in (i / 400.0, 0.01 * math.cos(i), 9.81 + sample, 0.0))
        for i, sample in enumerate(signal)]
    path = tmp_path / "tap.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    found = heard(path)
    assert found.natural == pytest.approx(2.0 * math.pi * 70.0, rel=0.03)
    assert found.damping == pytest.approx(0.04, rel=0.35)


@pytest.mark.parametrize(("name", "body", "said"), [
    ("a.wav", b"not a sound", "no sound file"),
    ("a.mp3", b"x", "cannot be listened to"),
    ("a.csv", b"hello\n", "no log of time"),
    ("a.csv", b"0,1\n1,2\n5,3\n5.5,1\n", "do not go on evenly"),
])
def test_what_is_no_recording_is_refused(tmp_path: Path, name: str, body: bytes, said: str) -> None:
    path = tmp_path / name
    path.write_bytes(body)
    with pytest.raises(RecordError, match=said):
        heard(path)


def test_noise_alone_does_not_ring(tmp_path: Path) -> None:
    noise = 0.2 * np.random.default_rng(3).standard_normal(20000)
    with pytest.raises(RecordError):
        heard(write(tmp_path / "noise.wav", np.clip(noise, -1, 1), 2))
