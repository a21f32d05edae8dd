from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks.base import LAPSE, Finding, Spread, State, cannot, word_loglik
from firstoff.checks.chatter import CHECK as CHATTER
from firstoff.checks.size import CHECK as SIZE
from tests.checks.builders import case


def finding(p: np.ndarray | None) -> Finding:
    return Finding("chatter", "operation", "op", "finish", p, None, None, "", "so")


def test_a_word_and_ok_are_complements_up_to_lapses() -> None:
    p = np.linspace(0.0, 1.0, 11)
    sang, fine = (word_loglik(CHATTER, finding(p), word) for word in ("sang", "ok"))
    assert sang is not None and fine is not None
    assert np.exp(sang) + np.exp(fine) == pytest.approx(np.ones(11))
    assert np.exp(sang[0]) == pytest.approx(LAPSE)


def test_a_word_says_nothing_about_another_check() -> None:
    assert word_loglik(CHATTER, finding(np.array([0.5])), "moved") is None
    assert word_loglik(SIZE, finding(np.array([0.5])), "ok") is None
    assert word_loglik(CHATTER, finding(None), "sang") is None


def test_a_spread_of_a_certain_number() -> None:
    assert Spread.of(3.0) == (3.0, 3.0, 3.0)
    assert Spread.of(np.arange(101.0)) == pytest.approx((5.0, 50.0, 95.0))


def test_cannot_has_no_chance() -> None:
    none = cannot("chatter", case(), "finish", "so", "tap it")
    assert none.p_fail is None and none.settle_by == "tap it"


def test_what_is_left_on_a_feature() -> None:
    state = State("block", left=(("pocket-1", 0.3),))
    assert state.left_on("pocket-1") == 0.3 and state.left_on("slot-1") == 0.0
