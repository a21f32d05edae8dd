"""Sound as a FLAC file, its samples written out as they are: what a browser can open and the server does not."""

from __future__ import annotations

import struct

import numpy as np

BLOCK = 4096


def _sum_of_check(data: bytes, bits: int, polynomial: int) -> int:
    value, top = 0, 1 << (bits - 1)
    for byte in data:
        value ^= byte << (bits - 8)
        for _ in range(8):
            value = ((value << 1) ^ polynomial) if value & top else value << 1
            value &= (1 << bits) - 1
    return value


def flac(signal: np.ndarray, rate: int = 44100) -> bytes:
    """One channel of 16 bits.

    Args:
        signal: between -1 and 1, shape (n,).
        rate: samples a second.
    """
    samples = np.round(0.8 * 32767.0 * signal).astype(">i2")
    packed = (rate << 44) | (0 << 41) | (15 << 36) | len(samples)
    stream = struct.pack(">HH", BLOCK, BLOCK) + bytes(6) + struct.pack(">Q", packed) + bytes(16)
    out = b"fLaC" + bytes([0x80]) + len(stream).to_bytes(3, "big") + stream
    for number, begin in enumerate(range(0, len(samples), BLOCK)):
        part = samples[begin:begin + BLOCK]
        head = b"\xff\xf8" + bytes([0x79, 0x08, number]) + struct.pack(">H", len(part) - 1)
        frame = head + bytes([_sum_of_check(head, 8, 0x07)]) + b"\x02" + part.tobytes()
        out += frame + struct.pack(">H", _sum_of_check(frame, 16, 0x8005))
    assert len(samples) <= 128 * BLOCK
    return out
