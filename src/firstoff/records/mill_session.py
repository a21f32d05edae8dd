"""The nine tests in the terminal: asked one after the other, each answered with what it means."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final

from ..errors import FirstoffError
from ..shop.models import Shop
from .mill_answers import Answers, check_answer, checked
from .mill_learn import lacking
from .mill_tests import TESTS, Ask, MillTest

HELP: Final = ("Type what you read, with its unit. 'skip' leaves a test out, 'back' goes to the question before, "
               "'stop' ends; all that was done till then is kept.")
#: what comes of a test: the readings, or one of the words
SKIP, BACK, STOP, AGAIN = "skip", "back", "stop", "again"
YES, NO = ("y", "yes", "a"), ("n", "no", "next", SKIP)
Keep = Callable[[Answers], Iterable[str]]
Strange = Callable[[Answers], list[str]]


class Session:
    """Questions and answers. Iterate over it: it reads lines when it must.

    Args:
        typed: lines of the person.
        shop: that has the machine.
        machine: its name there.
        strange: what to look at again in some readings.
        keep: keeps readings, and says what they changed.
    """

    def __init__(self, typed: Iterable[str], shop: Shop, machine: str, strange: Strange, keep: Keep) -> None:
        self._typed, self._shop, self._machine = iter(typed), shop, machine
        self._strange, self._keep = strange, keep
        self._word = ""

    def __iter__(self) -> Iterator[str]:
        yield f"An hour with the {self._shop.machines[self._machine].name.removeprefix('the ')}. {HELP}"
        place = 0
        while place < len(TESTS):
            yield from self._test(TESTS[place])
            if self._word == STOP:
                break
            place = max(0, place - 1) if self._word == BACK else place + 1
        yield "That is all."

    def _line(self) -> str:
        """What is typed next; the end of the input is 'stop'."""
        return next(self._typed, STOP).strip()

    def _test(self, test: MillTest) -> Iterator[str]:
        """One test, as often as the person wants; leaves in `_word` how it ended."""
        yield from ("", f"{test.number}. {test.title}. You need: {test.needs}. About {test.minutes:g} min. It tells "
                        f"{test.narrows}.", test.how, *(f"Caution: {line}" for line in test.cautions))
        if missing := lacking(test, self._shop):
            yield f"Note: {missing}: name another when asked, or skip."
        yield "Enter to begin; or skip, back, stop"
        self._word = self._line().lower()
        while self._word not in (SKIP, BACK, STOP):
            yield from self._once(test)
            if self._word or not test.again:
                return
            yield from self._another(test)
            if self._word != AGAIN:
                return

    def _another(self, test: MillTest) -> Iterator[str]:
        """Whether the test is done once more; what is neither yes nor no is asked again."""
        while True:
            yield f"Another {test.again}? Enter for the next test, or type 'again'"
            said = self._line().lower()
            if said in (AGAIN, *YES):
                self._word = AGAIN
                return
            if said in (BACK, STOP, "", *NO):
                self._word = said if said in (BACK, STOP) else ""
                return

    def _once(self, test: MillTest, before: Mapping[str, str] | None = None) -> Iterator[str]:
        """The questions of one test; what was read is kept. Enter leaves an answer that was given before."""
        texts: dict[str, str] = dict(before or {})
        at = 0
        while at < len(test.asks):
            ask = test.asks[at]
            yield _question(ask, texts.get(ask.key, ""))
            text = self._line() or texts.get(ask.key, "")
            self._word = text.lower() if text.lower() in (SKIP, STOP, BACK) else ""
            if self._word in (SKIP, STOP) or (self._word == BACK and at == 0):
                return
            if self._word == BACK:
                at -= 1
                continue
            try:
                texts[ask.key] = check_answer(test, ask, text, self._shop, self._machine)
                at += 1
            except FirstoffError as error:
                yield _plainly(error)
        yield from self._finished(test, texts)

    def _finished(self, test: MillTest, texts: dict[str, str]) -> Iterator[str]:
        """Readings together: refused, doubted, or kept."""
        self._word = ""
        try:
            found = checked(test.name, texts, self._shop, self._machine)
            doubts = self._strange(found)
        except FirstoffError as error:
            yield f"{_plainly(error)}. Once more; Enter leaves what was right:"
            yield from self._once(test, texts)
            return
        if doubts:
            yield from doubts
            yield "Type 'keep' to keep it as it is; anything else reads it once more"
            said = self._line().lower()
            if said in (STOP, SKIP):
                self._word = said
                return
            if said != "keep":
                yield from self._once(test, texts)
                return
        yield from self._keep(found)


def _plainly(error: FirstoffError) -> str:
    """An error to one who was just asked: without the key of the question."""
    return f"{error.what} ({error.right})" if error.right else error.what


def _question(ask: Ask, before: str = "") -> str:
    if before:
        return f"{ask.question}? (Enter: {before})"
    if ask.many and not ask.optional:
        return f"{ask.question}? (a unit at the end is that of all)"
    if not ask.optional:
        return f"{ask.question}?"
    return f"{ask.question}? (Enter: {ask.otherwise or 'none'})"
