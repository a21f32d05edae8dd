from __future__ import annotations

from typing import Any

from firstoff.checks.base import Case
from firstoff.checks.hand_drilling import RULE
from tests.checks.builders import case, operation, setting


def by_hand(**holding: Any) -> Case:
    return case(op=operation(role="drill", tool="drill4"),
                place=setting(machine="press", holding={"device": "hand", "tightness": "fingers", **holding}))


def test_without_a_stop_not_met() -> None:
    assert RULE.applies(by_hand()) and not RULE.met(by_hand())
    assert "stop" in RULE.because(by_hand())


def test_against_a_stop_met() -> None:
    assert RULE.met(by_hand(stop="-X")) and "-X" in RULE.because(by_hand(stop="-X"))


def test_does_not_ask_of_a_vise() -> None:
    assert not RULE.applies(case(op=operation(role="drill", tool="drill4"), place=setting(machine="press")))
