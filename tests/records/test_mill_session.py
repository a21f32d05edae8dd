"""The guided hour: a person types, is answered, goes back, leaves out, stops."""

from __future__ import annotations

from collections.abc import Iterator

from firstoff.records.mill_answers import Answers
from firstoff.records.mill_session import Session

from .person import MILL, Person, Truth, shop


class Hour:
    """What was typed, what was said, what was kept."""

    def __init__(self, *typed: str, strange: tuple[str, ...] = ()) -> None:
        self.kept: list[Answers] = []
        self._doubts = [list(strange)]
        session = Session(typed, shop(), MILL, self._strange, self._keep)
        self.said = list(session)
        self.text = "\n".join(self.said)

    def _strange(self, _found: Answers) -> list[str]:
        return self._doubts.pop() if self._doubts else []

    def _keep(self, found: Answers) -> Iterator[str]:
        self.kept.append(found)
        yield f"kept {found.test.name}"


PULL = ("x", "10.2 kg", "0.07 mm", "0.02 mm", "-0.07 mm", "-0.02 mm", "")


def test_a_mill_that_is_called_the_mill_is_the_mill() -> None:
    of = {"machines": {MILL: shop().machines[MILL].model_copy(update={"name": "the mill"})}}
    said = list(Session(["stop"], shop().model_copy(update=of), MILL, lambda _found: [], lambda _found: iter(())))
    assert said[0].startswith("An hour with the mill. ")


def test_a_right_person_is_led_through() -> None:
    typed: list[str] = []
    for name, texts in Person(Truth()).all():
        order = {"pull": ("axis", "force", "pulled", "released", "pushed", "released_back", ""),
                 "runout": ("collet", "high", "low", ""),
                 "circle": ("swing", "left", "right", "front", "back", ""), "touch_off": ("readings",),
                 "thrust": ("stall",), "square": ("", "x", "y", "", "turned", "", "", ""),
                 "returns": ("start", "readings", "")}[name]
        if name == "square":
            typed += ["skip", "skip"]                   # watts and tap
        typed += ["", *(texts.get(key, "") for key in order)]
        if name in ("pull", "runout"):
            typed += [""]                               # no other axis or collet
    hour = Hour(*typed)
    assert [found.test.name for found in hour.kept] == [
        "pull", "runout", "circle", "touch_off", "thrust", "square", "returns"]
    assert hour.said[-1] == "That is all." and "Spindle stopped and isolated" in hour.text


def test_stop_keeps_what_was_done_and_the_end_of_the_input_is_a_stop() -> None:
    assert [found.test.name for found in Hour("", *PULL, "", "stop").kept] == ["pull"]
    assert Hour().kept == [] and Hour("", "x").kept == []


def test_back_asks_the_question_before_once_more() -> None:
    hour = Hour("", "x", "10.2 kg", "back", "10 kg", *PULL[2:], "", "stop")
    assert hour.kept[0].texts["force"] == "10 kg"


def test_back_at_the_beginning_goes_to_the_test_before() -> None:
    hour = Hour("skip", "", "back", "skip", "skip", "stop")
    assert hour.text.count("1. Pull 100 N") == 2


def test_a_wrong_answer_is_answered_and_asked_again() -> None:
    hour = Hour("", "x", "100", "100 kg", "10.2 kg", *PULL[2:], "", "stop")
    assert "'100' has no unit" in hour.text and "100 kg (that is 980.665 N) cannot be" in hour.text
    assert hour.kept[0].texts["force"] == "10.2 kg"


def test_a_stuck_indicator_is_asked_once_more() -> None:
    stuck = ("x", "10.2 kg", "0.02 mm", "0.02 mm", "0.02 mm", "0.02 mm", "")
    hour = Hour("", *stuck, *PULL, "", "stop")
    assert "is it stuck" in hour.text and len(hour.kept) == 1


def test_a_doubt_is_told_before_it_is_kept() -> None:
    again = Hour("", *PULL, "no", *PULL, "", "stop", strange=("far off",))
    assert "far off" in again.text and len(again.kept) == 1
    kept = Hour("", *PULL, "keep", "", "stop", strange=("far off",))
    assert len(kept.kept) == 1
    assert Hour("", *PULL, "stop", strange=("far off",)).kept == []


def test_what_was_right_needs_not_be_typed_again() -> None:
    wrong = ("x", "10.2 kg", "0.07 mm", "0.02 mm", "0.07 mm", "-0.02 mm", "")
    hour = Hour("", *wrong, "", "", "", "", "-0.07 mm", "", "", "", "stop")
    assert "one sign is wrong" in hour.text and "pulled with? (Enter: 10.2 kg)" in hour.text
    assert [hour.kept[0].texts[key] for key in ("axis", "pulled", "pushed")] == ["x", "0.07 mm", "-0.07 mm"]


def test_who_was_asked_is_not_told_the_key_of_the_question() -> None:
    assert "pull.force" not in Hour("", "x", "100", "stop").text


def test_yes_is_once_more_and_what_is_neither_is_asked_again() -> None:
    hour = Hour("", *PULL, "y", "y", *PULL[1:], "what", "no", "stop")
    assert [found.texts["axis"] for found in hour.kept] == ["x", "y"]
    assert hour.text.count("Another axis?") == 3


def test_another_axis_may_follow() -> None:
    hour = Hour("", *PULL, "again", "y", *PULL[1:], "", "stop")
    assert [found.texts["axis"] for found in hour.kept] == ["x", "y"]
