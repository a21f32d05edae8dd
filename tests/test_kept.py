"""Answers are kept by which thing was asked of, and no longer than the last ones."""

from __future__ import annotations

from dataclasses import dataclass

from firstoff.kept import kept, one_of


@dataclass(frozen=True)
class Thing:
    name: str


def test_the_same_thing_is_asked_once_and_one_like_it_by_itself() -> None:
    asked: list[str] = []

    @kept(8)
    def of(thing: Thing) -> int:
        """How often it was asked before."""
        asked.append(thing.name)
        return len(asked)

    one, like = Thing("a"), Thing("a")
    assert (of(one), of(one), of(like), of(one)) == (1, 1, 2, 1)
    assert of.__doc__ == "How often it was asked before."


def test_only_the_last_ones_are_kept() -> None:
    asked: list[Thing] = []

    @kept(2)
    def of(thing: Thing) -> str:
        asked.append(thing)
        return thing.name

    things = [Thing(name) for name in "abc"]
    assert [of(thing) for thing in things] == ["a", "b", "c"]
    assert of(things[2]) == "c" and len(asked) == 3
    assert of(things[0]) == "a" and len(asked) == 4, "the first had to go"


def test_a_thing_that_is_gone_leaves_no_answer_to_the_next_one_at_its_place() -> None:
    @kept(1000)
    def of(thing: Thing) -> str:
        return thing.name

    assert [of(Thing(str(k))) for k in range(200)] == [str(k) for k in range(200)]


def test_several_things_are_asked_of_together() -> None:
    asked: list[str] = []

    @kept(8)
    def of(one: Thing, other: Thing) -> str:
        asked.append(one.name)
        return one.name + other.name

    a, b = Thing("a"), Thing("b")
    assert (of(a, b), of(b, a), of(a, b)) == ("ab", "ba", "ab") and asked == ["a", "b"]


def test_by_what_an_answer_stands_on_it_serves_all_that_have_it() -> None:
    asked: list[str] = []

    @kept(8, by=lambda one, other: (one,))
    def of(one: Thing, other: Thing) -> str:
        asked.append(one.name + other.name)
        return one.name

    a, b, c = Thing("a"), Thing("b"), Thing("c")
    assert (of(a, b), of(a, c), of(b, c)) == ("a", "a", "b") and asked == ["ab", "bc"]


def test_of_things_that_are_alike_the_first_stands_for_all_as_long_as_it_is_known() -> None:
    known: dict[Thing, Thing] = {}
    first, like, other = Thing("a"), Thing("a"), Thing("b")
    assert one_of(known, first, 2) is first and one_of(known, like, 2) is first
    assert one_of(known, other, 1) is other and one_of(known, like, 1) is like
