"""What is taken for noise is neither nothing nor all."""

from __future__ import annotations

import math

from firstoff.records import noise


def test_slips_are_rare_and_wide_and_noise_is_narrow() -> None:
    assert 0.0 < noise.SLIP <= 0.1
    assert math.exp(noise.LOG_WIDE) > 100.0
    shares = (noise.FORCE_READ, noise.NOT_A_SPRING, noise.PLAY_VARIES, noise.RUNOUT_VARIES, noise.SCALE, noise.STALL,
              noise.MODE_FREQUENCY, noise.MODE_DAMPING)
    assert all(0.01 <= share <= 0.4 for share in shares)
    assert noise.TABLE < noise.OVERSIZE < noise.LENGTH_WIDE
