"""What can be written anew on the card: every blank stands in the route, and every choice can."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.bench.clerk import Book, Clerk
from firstoff.bench.pencil import (
    NO_PECKS,
    Blank,
    choices,
    head_of,
    held_of,
    limit_of,
    numbers_of,
    with_tolerances,
    written,
)
from firstoff.errors import InputError
from firstoff.job.edits import apply_edits
from firstoff.job.reading import load_job
from firstoff.job.wanted_edits import of_job
from firstoff.route.as_keyed import as_route_keys
from firstoff.sheets.lists import inspection

TOP = "block-top-rough"


@pytest.fixture(scope="module")
def book(planned_block: Path) -> Book:
    """The block, checked and drawn."""
    return Clerk(planned_block).check()


def test_the_head_of_a_card_names_tool_collet_and_way(book: Book) -> None:
    head = head_of(book.result, TOP)
    tool, way = head["tool"], head["direction"]
    assert tool is not None and way is not None
    assert (tool.path, way.path) == (f"operations.{TOP}.tool", f"operations.{TOP}.cut.direction")
    assert way.value == book.result.route.operations[TOP].cut.direction


def test_the_numbers_of_a_card_have_the_feed_among_them(book: Book) -> None:
    told = dict(numbers_of(book.result, TOP))
    assert told["feed"].path.endswith(".feed") and told["feed"].text.endswith("mm/min")
    assert {"speed", "feed", "per tooth", "deep", "wide"} <= told.keys()


def test_a_drill_without_pecks_can_have_some(book: Book) -> None:
    route = book.result.route
    drill = route.operations[TOP].model_copy(update={"role": "drill"})
    made = route.model_copy(update={"operations": {**route.operations, TOP: drill}})
    peck = dict(numbers_of(type(book.result)(**{**vars(book.result), "route": made}), TOP))["peck"]
    assert (peck.text, peck.value, peck.path) == (NO_PECKS, "", f"operations.{TOP}.cut.peck_depth")


def test_every_choice_can_be_written(book: Book) -> None:
    result = book.result
    offered = choices(result)
    blanks = [blank for blank in head_of(result, TOP).values() if blank is not None]
    blanks += [blank for _, line in held_of(result, "block-1") for blank in line]
    chosen = [blank for blank in blanks if blank.among]
    assert len(chosen) > 8
    for blank in chosen:
        assert offered[blank.among], blank
        assert blank.value in [key for key, _ in offered[blank.among]], blank
        for key, _ in offered[blank.among]:
            apply_edits(result.route, as_route_keys(result.route, result.shop, [(blank.path, key)]))


def test_what_stands_there_can_be_written_again(book: Book) -> None:
    paths = written(book.result)
    assert f"operations.{TOP}.cut.coolant" in paths
    assert all(isinstance(text, str) and text for text in paths.values())
    assert Blank("only words") not in [Blank(text, path) for path, text in paths.items()]


HEIGHT = "job.limits.height"


@pytest.mark.parametrize(("edits", "low", "high"), [
    ({"low": "19.9 mm"}, -0.1, None), ({"high": "0.79 in"}, None, 0.066),
    ({"low": "20.01 mm", "high": "20.03 mm"}, 0.01, 0.03),
    ({"high": "20.3 mm", "tolerance": "±0.2 mm"}, -0.2, 0.3), ({"low": "20.9 mm", "size": "21 mm"}, -0.1, None),
])
def test_the_ends_of_a_size_are_written_as_sizes(
    book: Book, edits: dict[str, str], low: float | None, high: float | None
) -> None:
    row = next(row for row in inspection(book.result) if row["name"] == "height")
    blanks = limit_of(book.result, row)
    assert (blanks["low"].path, blanks["high"].path) == (f"{HEIGHT}.low", f"{HEIGHT}.high")
    was = book.result.job.limits["height"].tolerance
    said = with_tolerances({f"{HEIGHT}.{end}": text for end, text in edits.items()}, book.result)
    assert f"{HEIGHT}.low" not in said and f"{HEIGHT}.high" not in said
    now = load_job(Path(book.result.job.file), of_job(said.items())).limits["height"].tolerance
    assert now == pytest.approx((was[0] if low is None else low, was[1] if high is None else high), abs=1e-6)


@pytest.mark.parametrize(("path", "text", "said"), [
    (f"{HEIGHT}.low", "30 mm", "below"), (f"{HEIGHT}.high", "20", "unit"), (f"{HEIGHT}.low", "much", "much"),
    ("job.limits.elephant.low", "1 mm", "elephant"),
])
def test_an_end_that_cannot_be_is_told_where_it_stands(book: Book, path: str, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as told:
        with_tolerances({path: text}, book.result)
    assert told.value.where == path
