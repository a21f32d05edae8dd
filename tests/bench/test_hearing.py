"""Recordings are listened to by another process, which is held to little memory; what is wrong is said in words."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from firstoff.bench import hearing
from firstoff.bench.hearing import heard_in, listen
from firstoff.errors import RecordError
from firstoff.units import parse

from ..records.test_ringing import ring, write


def test_another_process_hears_what_this_one_would(tmp_path: Path) -> None:
    path = write(tmp_path / "tap.wav", ring(1200.0, 0.02, 44100.0), 2)
    found = heard_in(path)
    assert found == listen(path) and set(found) == {"frequency", "damping"}
    assert parse(found["frequency"], "frequency") == pytest.approx(2.0 * np.pi * 1200.0, rel=0.02)
    assert float(found["damping"]) == pytest.approx(0.02, rel=0.3)


def test_a_recording_in_which_nothing_dies_away_is_told(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).normal(size=30_000)
    with pytest.raises(RecordError, match="die away") as wrong:
        heard_in(write(tmp_path / "hum.wav", 0.1 * noise, 2))
    assert wrong.value.right and wrong.value.where.endswith("hum.wav")


def test_one_that_is_too_long_does_not_take_the_memory_of_the_pages(tmp_path: Path) -> None:
    """Forty megabytes of sound would take a gigabyte to listen to."""
    import wave

    with wave.open(str(tmp_path / "long.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(44100)
        file.writeframes(np.random.default_rng(2).integers(0, 255, 40_000_000, dtype=np.uint8).tobytes())
    with pytest.raises(RecordError, match="too long") as wrong:
        heard_in(tmp_path / "long.wav")
    assert wrong.value.right == hearing.AGAIN


def test_a_process_that_says_nothing_or_never_ends_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "true")
    with pytest.raises(RecordError, match="cannot be listened to"):
        heard_in(tmp_path / "x.wav")

    def slow(*_: object, **__: object) -> None:
        raise subprocess.TimeoutExpired("hear", 1.0)

    monkeypatch.setattr(subprocess, "run", slow)
    with pytest.raises(RecordError, match="too long to listen to"):
        heard_in(tmp_path / "x.wav")
