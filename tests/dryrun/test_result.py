"""Chances as people say them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.dryrun.result import odds


@pytest.mark.parametrize(
    ("chance", "said"),
    [(None, "not known"), (0.0, "rarer than 1 in 1000"), (0.0009, "rarer than 1 in 1000"), (0.002, "about 1 in 500"),
     (0.01, "about 1 in 100"), (1 / 30, "about 1 in 30"), (0.05, "about 1 in 20"), (0.33, "about 1 in 3"),
     (0.5, "about 5 in 10"), (0.9, "about 9 in 10"), (1.0, "nearly certain")],
)
def test_words(chance: float | None, said: str) -> None:
    assert odds(chance) == said


@given(st.floats(0, 1))
def test_never_six_decimals(chance: float) -> None:
    assert "." not in odds(chance)


@given(st.floats(0.001, 0.35))
def test_one_in_n_is_within_a_fifth(chance: float) -> None:
    n = int(odds(chance).removeprefix("about 1 in "))
    assert n == pytest.approx(1 / chance, rel=0.2)
