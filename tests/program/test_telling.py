"""What is told: by line, as many of a kind as anybody reads, the rest counted."""

from __future__ import annotations

from firstoff.program.telling import EACH, KINDS, Teller


def test_told_by_line() -> None:
    tell = Teller()
    tell(7, "later")
    tell(3, "sooner")
    assert [tuple(one) for one in tell.all()] == [(3, "sooner"), (7, "later")]
    assert Teller().all() == ()


def test_the_same_of_the_same_line_is_told_once() -> None:
    tell = Teller()
    for _ in range(50):
        tell(3, "again")
    assert [tuple(one) for one in tell.all()] == [(3, "again")]


def test_of_a_kind_the_first_are_told_and_the_rest_counted() -> None:
    tell = Teller()
    for line in range(EACH + 5):
        tell(line, f"E{line}", "letter E")
    told = tell.all()
    assert len(told) == EACH + 1 and told[-1].what == "and 5 more like these"


def test_of_many_kinds_the_first_are_told_and_the_rest_counted() -> None:
    tell = Teller()
    for line in range(KINDS + 5):
        tell(line, f"word {line}")
    assert tell.all()[-1].what == "and 5 more like these"


def test_once_is_once_until_it_is_forgotten() -> None:
    tell = Teller()
    tell.once(1, "no feed", "feed")
    tell.once(2, "no feed", "feed")
    tell.forget("feed")
    tell.once(3, "no feed", "feed")
    assert [one.line for one in tell.all()] == [1, 3]
