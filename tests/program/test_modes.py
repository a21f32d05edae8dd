"""What stays in force: groups without overlap, places turned and shifted there and back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.program.modes import CYCLES, G_GROUPS, GROUP_OF_G, M_GROUPS, State, g_text, turned_about

NUMBER = st.floats(-500.0, 500.0)


def test_no_word_belongs_to_two_groups() -> None:
    assert len(GROUP_OF_G) == sum(map(len, G_GROUPS.values()))
    assert len({code for codes in M_GROUPS.values() for code in codes}) == sum(map(len, M_GROUPS.values()))
    assert {GROUP_OF_G[code] for code in CYCLES} == {"motion"}


def test_g_words_are_told_as_they_are_written() -> None:
    assert [g_text(code) for code in (0, 10, 591, 901, 382)] == ["G0", "G1", "G59.1", "G90.1", "G38.2"]


@given(NUMBER, NUMBER, NUMBER, NUMBER, NUMBER, st.floats(-7.0, 7.0), NUMBER)
def test_places_turn_and_shift_there_and_back(
    x: float, y: float, z: float, about_x: float, about_y: float, angle: float, shift: float
) -> None:
    state = State(turned=(about_x, about_y, angle), shift=[shift, -shift, 1.0], preset=[0.5, shift, 2.0])
    state.at = state.placed([x, y, z])
    assert state.written() == pytest.approx([x, y, z], abs=1e-9)


def test_a_quarter_turn_is_counter_clockwise() -> None:
    assert turned_about((3.0, 2.0), (2.0, 2.0, math.pi / 2)) == pytest.approx((2.0, 3.0))
    assert turned_about((2.0, 3.0), (2.0, 2.0, math.pi / 2), back=True) == pytest.approx((3.0, 2.0))


def test_the_spindle_turns_as_it_was_told() -> None:
    assert State(speed=10.0).spindle == 0.0
    assert State(speed=10.0, direction=-1).spindle == -10.0
    assert State(direction=1).spindle == 0.0


def test_lost_axes_are_not_known_any_more() -> None:
    state = State(known=[True, True, True])
    state.lost(2)
    assert state.known == [True, True, False]
    state.lost()
    assert state.known == [False, False, False]
    assert State(unit="in").scale == 25.4 and State().scale == 1.0
