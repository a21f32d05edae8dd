"""The fast reader and the careful one give the same moves to the last bit, on programs made for it."""

from __future__ import annotations

from dataclasses import fields
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.program.modes import State
from firstoff.program.plain import Plain, ready, window_at
from firstoff.program.tape import Place, Tape
from firstoff.removal.moves import Moves

from .made import read_text, real_programs

HEAD = "G21 G17 G90 F600\nS1000 M3\nG0 X0 Y0 Z5\n"


def same(one: Moves, other: Moves) -> None:
    for f in fields(Moves):
        assert np.array_equal(getattr(one, f.name), getattr(other, f.name)), f.name


def agree(text: str) -> Moves:
    fast, quick = read_text(text)
    careful, slow = read_text(text, fast=False)
    same(fast, careful)
    assert quick.told == slow.told and quick.state == slow.state
    return fast


def made(random: Random, blocks: int) -> str:
    """Blocks as posts write them: lines, rapids, arcs that close and some that do not, feeds, odd lines."""
    x, y, out = 0.0, 0.0, []
    for number in range(blocks):
        what = random.random()
        if what < 0.15:
            radius, begin = random.choice([3.0, 5.0, 12.5]), random.uniform(-3, 3)
            i, j = round(radius * np.cos(begin), 3), round(radius * np.sin(begin), 3)
            turn = random.uniform(0.2, 6.0)
            wrong = 0.5 if random.random() < 0.03 else 0.0
            x1 = round(x + i - radius * np.cos(begin + turn) + wrong, 3)
            y1 = round(y + j - radius * np.sin(begin + turn), 3)
            out.append(f"G3 X{x1} Y{y1} I{i} J{j}" + random.choice(["", " F300", " Z-1.5", " K0"]))
            x, y = x1, y1
        elif what < 0.2:
            out.append(random.choice(["M8", "(a note)", "", "S1200", "G4 P0.5", "; so", "N5", "F450", "G1", "/G0 Z5",
                                      "G1 X1.2.3", "E5 G1 X1", "G1 I5", "G2 X1 Y1", "G91", "G90", "G20", "G21",
                                      "G52 X1.1", "G54", "G18", "G17", "T1 M6", "G0 X0 Y0 Z5", "G1 X#1", "F0"]))
        else:
            x, y = round(random.uniform(-99, 99), random.randint(0, 4)), round(random.uniform(-99, 99), 3)
            words = [f"X{x}", f"Y{y}", f"Z{random.uniform(-9, 9):.3f}"]
            kept = random.sample(words, random.randint(1, 3))
            if f"X{x}" not in kept or f"Y{y}" not in kept:
                kept = words
            mode = random.choice(["", "G1 ", "g01", "G0 ", f"N{number} G1 "])
            out.append(mode + random.choice([" ", ""]).join(kept) + random.choice(["", " F500.", "(n)"]))
    return "\n".join(out)


@pytest.mark.parametrize("seed", range(12))
def test_both_readers_agree_on_made_programs(seed: int) -> None:
    random = Random(seed)
    text = HEAD + made(random, random.choice([30, 200, 3000])) + random.choice(["\nM30\n", "", "\n"])
    assert len(agree(text)) > 20


@pytest.mark.parametrize("head", ["G20\nG0 X0 Y0 Z0\nF50\n", "G21 G92 X1 Y1 Z1\nF50 G0\n",
                                  HEAD + "G52 X0.1 Y0.2 Z0.3\n", HEAD + "G18\n", HEAD + "G61\n", HEAD + "M5\n",
                                  "G0 X0 Y0 Z0 F60\n"])
def test_both_readers_agree_whatever_is_in_force(head: str) -> None:
    agree(head + made(Random(5), 300) + "\nM2")


@pytest.mark.parametrize("path", real_programs(), ids=lambda path: path.name)
def test_both_readers_agree_on_real_programs(path) -> None:  # type: ignore[no-untyped-def]
    agree(path.read_text(encoding="latin-1"))


@given(st.lists(st.text("GXYZIJFN0123456789.-+ ()\r;", max_size=14), max_size=80).map("\n".join))
def test_both_readers_agree_on_any_signs(text: str) -> None:
    agree(HEAD + "G1 X1\n" * 40 + text + "\n" + "G1 X2\n" * 40 + text)


def test_a_plain_program_is_read_by_the_fast_reader() -> None:
    text = HEAD + "G1 X1 Y2 F100\nX3\nG2 X5 I1 J0\nG0 Z5\n" * 5000
    tape = Tape(text.encode())
    plain, state = Plain(tape), State(unit="mm", known=[True] * 3, motion=0, feed=1.0)
    place, blocks = Place(len(HEAD), 4), 0
    for _ in range(20_100):
        found = plain.stretch(place, state)
        if found is None:
            place = tape.line_at(place)[1]
        else:
            place, blocks = found.after, blocks + found.blocks
        if place.offset >= len(tape):
            break
    assert blocks > 19_900 and place.offset == len(tape)


def test_a_window_holds_whole_lines_and_knows_which_are_plain() -> None:
    tape = Tape(b"G1 X1.5 Y-2\n(note) N5 F3 ; so\nM8\nX\nX1 X2\nG5\nX1.2.3\nX1-2\nX-.5\nX.\n\nX7")
    window = window_at(tape, Place(0, 1), 1000)
    assert window is not None and window.end == Place(len(tape), 13)
    assert window.breaks.tolist() == [2, 3, 4, 5, 6, 7, 9]
    assert window.columns["X"][[0, 8, 11]].tolist() == [1.5, -0.5, 7.0] and window.columns["F"][1] == 3.0
    assert window_at(tape, Place(0, 1), 5) is None
    assert window_at(Tape(b"\n\n"), Place(0, 1), 9) is not None


@pytest.mark.parametrize("change", [{"absolute": False}, {"feed_mode": 930}, {"radius": 410}, {"motion": 810},
                                    {"motion": None}, {"turned": (0.0, 0.0, 1.0)}, {"known": [True, False, True]},
                                    {"feed": None}, {"centre_absolute": True}, {"half_turned": True}])
def test_states_in_which_plain_blocks_mean_something_else(change: dict[str, object]) -> None:
    good = {"known": [True] * 3, "motion": 10, "feed": 1.0}
    assert ready(State(**good))  # type: ignore[arg-type]
    assert not ready(State(**(good | change)))  # type: ignore[arg-type]


@pytest.mark.parametrize("word", ["N2.5", "N2.", "N-2", "N+2", "n.5"])
def test_a_block_whose_number_is_not_whole_is_broken_in_both_readers(word: str) -> None:
    lines = [f"G1 X{k} Y{k % 3} N{k}" for k in range(60)]
    lines[40] = f"G1 X40 {word} Z1"
    text = HEAD + "\n".join(lines) + "\nM2\n"
    (fast, one), (slow, other) = read_text(text), read_text(text, fast=False)
    assert one.told == other.told and len(one.told) == 1 and "number" in one.told[0].what
    assert fast.end.tolist() == slow.end.tolist()
