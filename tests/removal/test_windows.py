"""Windows: as many as there are seconds, minutes of them all, and a name for their contents."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.removal.windows import Windows


def made(seconds: list[float]) -> Windows:
    """Windows of some times, all else counted up so that no two fields are alike."""
    w = len(seconds)
    columns: dict[str, Any] = {
        f.name: np.arange(w, dtype=np.float64) + 100.0 * i for i, f in enumerate(fields(Windows))}
    columns["seconds"] = np.array(seconds, dtype=np.float64)
    columns |= {name: np.arange(3.0 * w).reshape(w, 3) + 7.0 * k for k, name in enumerate(("point", "direction"))}
    columns |= {"line": np.arange(w, dtype=np.int64), "corner": np.zeros(w, dtype=np.bool_)}
    return Windows(**columns)


@given(st.lists(st.floats(0.0, 1e4), max_size=20))
def test_minutes_are_sixty_seconds_each(seconds: list[float]) -> None:
    windows = made(seconds)
    assert len(windows) == len(seconds)
    assert windows.minutes == pytest.approx(sum(seconds) / 60.0)


def test_none_is_no_time_and_says_so() -> None:
    assert not len(made([])) and made([]).minutes == 0.0


@pytest.mark.parametrize("name", [f.name for f in fields(Windows)])
def test_every_field_is_in_the_name(name: str) -> None:
    """A finding is used again by this: a field that were left out would give stale verdicts."""
    windows = made([1.0, 2.0, 3.0])
    column = getattr(windows, name).copy()
    column[1] = ~column[1] if column.dtype == np.bool_ else column[1] + 1
    assert replace(windows, **{name: column}).digest_bytes() != windows.digest_bytes()


def test_the_same_contents_bear_the_same_name_however_they_lie_in_memory() -> None:
    windows = made([1.0, 2.0, 3.0])
    strided = replace(windows, point=np.asfortranarray(windows.point), seconds=np.repeat(windows.seconds, 2)[::2])
    assert not strided.point.flags.c_contiguous
    assert strided.digest_bytes() == windows.digest_bytes() == made([1.0, 2.0, 3.0]).digest_bytes()


def test_order_counts() -> None:
    windows = made([1.0, 2.0])
    turned = Windows(**{f.name: getattr(windows, f.name)[::-1] for f in fields(Windows)})
    assert turned.digest_bytes() != windows.digest_bytes()
    assert turned.minutes == windows.minutes
