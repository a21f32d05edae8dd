"""The printed card of the nine tests: one page to take to the mill, a box to pencil each reading in."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from ..records.mill_tests import STILL, TESTS, Ask, MillTest
from ..shop.models import Shop
from .document import typeset, write_whole

TEMPLATE: Final = Path(__file__).with_name("mill_card.typ")
#: how often a test is written down: axes, collets
_TIMES: Final = {"pull": 3, "runout": 2, "tap": 2}
#: boxes for readings of which there are several
_MANY: Final = {"touch_off": 10, "returns": 10, "thrust": 3}
_ACROSS: Final = 6              #: boxes side by side
BEFORE: Final = ("The machine's manual, the rules where you work and licensed practice come before this card. Leave "
                 "out what you cannot do without reaching where you should not. Write the unit with every reading.")


def write_card(shop: Shop, path: Path) -> int:
    """Print the card.

    Args:
        shop: for its unit of length.
        path: the PDF; it is written whole or not at all.

    Returns:
        The number of pages.

    Raises:
        FileError: if it cannot be written there.
        MissingPackage: if the typesetter is not installed.
    """
    pdf, pages = typeset(card(shop), TEMPLATE)
    write_whole(pdf, path)
    return pages


def card(shop: Shop) -> dict[str, Any]:
    """All that is printed, as texts."""
    return {
        "title": "An hour with your mill", "still": STILL, "before": BEFORE,
        "foot": f"{shop.name}: then firstoff mill-test, or a file and firstoff mill-test --readings FILE",
        "tests": [_test(test) for test in TESTS],
    }


def _test(test: MillTest) -> dict[str, Any]:
    isolated = ["Spindle isolated."] if STILL in test.cautions else []
    return {
        "number": test.number, "title": test.title, "minutes": f"{test.minutes:g} min", "how": test.how,
        "narrows": test.narrows, "needs": test.needs,
        "cautions": [" ".join([*isolated, *(line for line in test.cautions if line != STILL)])],
        "rows": _rows(test) * _TIMES.get(test.name, 1),
    }


def _rows(test: MillTest) -> list[list[str]]:
    """Labels of the boxes, a few side by side; many readings have a row of their own."""
    rows: list[list[str]] = [[]]
    for ask in (ask for ask in test.asks if ask.quantity != "instrument"):
        if ask.many:
            rows += [[f"{_label(ask)} {i + 1}" if i == 0 else str(i + 1) for i in range(_MANY[test.name])], []]
        else:
            if len(rows[-1]) == _ACROSS:
                rows.append([])
            rows[-1].append(_label(ask))
    return [row for row in rows if row]


def _label(ask: Ask) -> str:
    return ask.key.replace("_", " ")
