from __future__ import annotations

import pytest

from firstoff.checks._hands import PULL, full_torque, head_rubs, turned
from firstoff.checks._threads import thread_named
from firstoff.errors import InputError


@pytest.mark.parametrize(("size", "table"), [("M5", 6.5), ("M6", 11.3), ("M8", 27.3)])
def test_a_full_torque_is_that_of_the_tables(size: str, table: float) -> None:
    # vdi2230, table A1, class 8.8 at mu 0.14.
    assert full_torque(thread_named(size)) == pytest.approx(table, rel=0.08)


def test_stronger_ways_turn_tighter() -> None:
    thread = thread_named("M5")
    torques = [turned(by, thread).torque for by in ("fingers", "thumbscrew", "key")]
    assert torques == sorted(torques) and torques[0] == pytest.approx(0.6 * 60.0 * 0.01)


def test_a_key_feels_the_small_screws_and_runs_out_of_arm_at_the_large() -> None:
    small, large = thread_named("M4"), thread_named("M12")
    assert turned("key", small).torque == pytest.approx(0.7 * full_torque(small))
    assert turned("key", large).torque == pytest.approx(PULL * 13.0 * 0.012)
    assert head_rubs(large) > 12.0


def test_a_wrench_must_be_set() -> None:
    with pytest.raises(InputError, match="set to a torque"):
        turned("wrench", thread_named("M5"))
