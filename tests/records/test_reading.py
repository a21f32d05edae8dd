"""A reading is what was said, no more."""

from __future__ import annotations

from dataclasses import FrozenInstanceError

import pytest

from firstoff.records.reading import Reading


def test_nothing_is_assumed() -> None:
    said = Reading("top-rough")
    assert {said.word, said.watts, said.idle, said.size, said.instrument, said.replaces} == {None}
    assert said.note == ""


def test_it_does_not_change_afterwards() -> None:
    with pytest.raises(FrozenInstanceError):
        Reading("top-rough", word="ok").word = "sang"  # type: ignore[misc]
