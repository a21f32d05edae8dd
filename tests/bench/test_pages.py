"""The pages as texts: what a person reads, and that no name from a job is ever markup."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from firstoff import actions, actions_kept
from firstoff.actions_shop import Behind
from firstoff.bench import pages
from firstoff.bench.clerk import Book, Clerk
from firstoff.bench.pencil import with_tolerances
from firstoff.checks.base import Spread
from firstoff.dryrun.result import odds
from firstoff.dryrun.saving import Way
from firstoff.job.edits import apply_edits
from firstoff.job.reading import load_job
from firstoff.job.wanted_edits import of_job, of_route
from firstoff.records.logging import WORDS
from firstoff.records.reading import PARALLELS, SEEN
from firstoff.records.store import Record
from firstoff.route.as_keyed import as_route_keys

from .asking import device


@pytest.fixture(scope="module")
def book(planned_block: Path) -> Book:
    """The block, checked and drawn."""
    return Clerk(planned_block).check()


def test_the_desk_tells_first_what_is_first_to_go(book: Book) -> None:
    page = pages.desk(book, network=False)
    assert book.result.first_to_go is not None
    assert page.index("First to go") < page.index("setting 1 of")
    assert odds(book.result.first_to_go.finding.p_fail) in page
    assert "pair a tablet" not in page
    assert "pair a tablet" in pages.desk(book, network=True)


def test_every_number_that_may_be_written_anew_names_its_key(book: Book) -> None:
    found = re.findall(r'data-path="([^"]+)" data-now="([^"]*)"', pages.desk(book, network=False))
    assert len(found) > 40
    keys = as_route_keys(book.result.route, book.result.shop, of_route(found))
    assert apply_edits(book.result.route, keys).operations.keys() == book.result.route.operations.keys()
    assert {"tool", "feed", "direction", "collet", "stickout", "device", "x", "number"} <= {
        path.rpartition(".")[2] for path, _ in found}
    wanted = of_job(with_tolerances(dict(found), book.result).items())
    assert {"job.budget", "job.parts.block.stock.size.0"} < {path for path, _ in wanted}
    assert all(any(path.endswith(key) for path, _ in wanted) for key in (".size", ".tolerance"))
    job, again = load_job(Path(book.result.job.file)), load_job(Path(book.result.job.file), wanted)
    assert again.budget == pytest.approx(job.budget) and again.parts == job.parts
    for name, limit in job.limits.items():
        assert again.limits[name].tolerance == pytest.approx(limit.tolerance)


def test_the_bench_has_every_operation_once_with_its_limits(book: Book) -> None:
    page = pages.bench(book, ())
    numbers = [int(n) for n in re.findall(r'data-number="(\d+)"', page)]
    assert numbers == [op.number for _, op in book.result.route.in_order()]
    assert "Stop here and measure" in page
    assert "micrometer" in page


def test_the_bench_offers_the_words_that_are_kept_and_no_others(book: Book) -> None:
    page = pages.bench(book, ())
    for name, kept in {**SEEN, "word": WORDS}.items():
        (choices,) = re.findall(rf'<select id="seen-{name}" name="{name}">(.*?)</select>', page)
        assert re.findall(r"<option>(\w+)</option>", choices) == list(kept)
    assert f'data-parallels="{" ".join(PARALLELS)}"' in page
    named = set(re.findall(r'name="(\w+)"', page)) - {"viewport"}
    assert named == {*SEEN, "word", "feed", "depth", "scrap", "note"}
    assert all(f'<label for="seen-{name}"' in page for name in named)


def test_a_card_tells_what_was_noted_last_and_not_what_was_taken_back(book: Book) -> None:
    def record(number: int, kind: str, reading: dict[str, str], **more: Any) -> Record:
        return Record(datetime(2026, 3, 2, 8, number, tzinfo=UTC), kind, book.result.job.name, "block-top-rough", {},
                      reading, id=f"{number:032x}", **more)

    sang = record(1, "word", {"word": "sang", "chip_colour": "blue"},
                  conditions={"scrap": "yes", "depth": "0.5 mm", "note": "a long story"})
    photo = record(2, "file", {"picture": "chips.jpg", "file": "x.jpg"})
    told = "noted: sang, chip colour blue, 0.5 mm deep, in scrap</p>"
    assert told in pages.bench(book, (sang, photo))
    later = record(3, "word", {"word": "ok"})
    undone = record(4, "note", {}, conditions={"note": "undone at the bench"}, replaces=later.id)
    assert "noted: ok</p>" in pages.bench(book, (sang, photo, later))
    assert told in pages.bench(book, (sang, photo, later, undone))


def test_the_bench_draws_from_above_and_as_a_picture_and_so_larger_than_the_sheet(book: Book) -> None:
    page = pages.bench(book, ())
    drawn = [svg for svg in re.findall(r"<svg.*?</svg>", page, flags=re.DOTALL) if "plan, " in svg]
    assert drawn and not any("from the right" in svg for svg in drawn)
    sheet = next(svg for svg in re.findall(r"<svg.*?</svg>", pages.desk(book, network=False), re.DOTALL)
                 if "from the right" in svg)
    (wide, tall), (wide_sheet, tall_sheet) = (
        map(float, re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)[0]) for svg in (drawn[0], sheet))
    assert tall < 80.0 < tall_sheet
    assert wide < 0.9 * wide_sheet, "letters are as large on any paper: on a narrow one they fill more of a tablet"


def test_a_chance_is_never_told_by_decimals(book: Book) -> None:
    for page in (pages.desk(book, network=False), pages.bench(book, ())):
        assert not re.search(r"\d\.\d{5,}", re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL))


def test_a_name_is_never_markup(book: Book) -> None:
    bad = "<script>alert(1)</script>"
    job = book.result.job.model_copy(update={"name": bad})
    result = replace(book.result, job=job)
    sheets = dict(book.sheets) | {"front": dict(book.sheets["front"]) | {"job": bad}}
    for page in (pages.desk(Book(result, sheets), network=False), pages.bench(Book(result, sheets), ()),
                 pages.pair(bad)):
        assert bad not in page
        assert "&lt;script&gt;" in page


def test_a_strip_has_its_parts_in_order(book: Book) -> None:
    drawn = [strip for check in book.result.checks if (strip := pages.strip(check))["drawn"]]
    assert drawn
    for strip in drawn:
        assert 0.0 <= strip["low"] <= strip["middle"] <= strip["high"] <= 100.0
        assert 0.0 <= strip["limit"] <= 100.0


@pytest.mark.parametrize(("demand", "capacity", "side"), [
    (Spread(1.0, 2.0, 3.0), Spread(5.0, 5.0, 5.0), 1), (Spread(1.0, 2.0, 3.0), Spread(1.5, 1.5, 1.5), -1),
    (Spread(2.0, 2.0, 2.0), Spread(0.1, 3.0, 90.0), -1),
])
def test_the_line_stands_where_it_belongs(book: Book, demand: Spread, capacity: Spread, side: int) -> None:
    one = next(c for c in book.result.checks if c.finding.demand is not None)
    strip = pages.strip(replace(one, finding=replace(one.finding, demand=demand, capacity=capacity)))
    assert (strip["limit"] - strip["middle"]) * side > 0.0


def test_a_check_without_numbers_is_told_in_words(book: Book) -> None:
    one = book.result.checks[0]
    assert pages.strip(replace(one, finding=replace(one.finding, demand=None)))["drawn"] is False


@pytest.mark.parametrize(("size", "decision"), [("20.00 mm", "conforms"), ("20.30 mm", "does not conform"),
                                                ("20.05 mm", "cannot tell")])
def test_a_size_that_was_read_is_decided(book: Book, planned_block: Path, size: str, decision: str) -> None:
    said = pages.decision(actions_kept.decided(book.result, "height", size, "", planned_block), book.result)
    assert said["decision"] == decision
    assert (said["off"] == "on the nominal") == (size == "20.00 mm")
    assert (decision == "does not conform") <= bool(said["ways"])
    assert (decision == "conforms") != bool(said["explains"])


def test_a_way_that_cannot_come_right_is_not_offered(book: Book, planned_block: Path) -> None:
    found = actions_kept.decided(book.result, "height", "19.5 mm", "", planned_block)
    ways = Way("pray", 1.0, 0.0, 0.0), Way("make it anew", 300.0, 5.0, 0.9)
    assert [way["text"] for way in pages.decision(replace(found, ways=ways), book.result)["ways"]] == ["make it anew"]


@pytest.mark.parametrize(("said", "note", "learns"), [
    ("book figures only", "book figures only", False), ("", "book figures only", False),
    ("own figures from 3 records, book figures else; there are newer records: run firstoff learn",
     "own figures from 3 records, book figures else; there are newer records", True),
    ("own figures were learned with other rows: run firstoff learn again",
     "own figures were learned with other rows", True),
])
def test_what_a_command_would_do_is_done_in_the_shop(said: str, note: str, learns: bool) -> None:
    assert pages.whose_figures(said) == {"note": note, "learns": learns}


def test_cautions_stand_before_what_is_only_noted(book: Book) -> None:
    sheet = {"held": [("held in", "vise"), ("how tight", "hand")], "cautions": ["chips burn"]}
    assert pages._before({"notes": ["packed", "in rows", "slowly"]}, sheet) == ["vise, hand", "chips burn", "packed"]


def test_how_sure_tells_whose_figures_and_how_many_records(book: Book) -> None:
    own = [Behind("mill: damping", True, 3), Behind("steel: force", True, 1)]
    agree, book_s = Behind("mill: stiffness", False, 2), Behind("collet", False, 0)
    said = pages.stands_on([*own, agree, book_s])
    assert said == {"by": "by 3 records of this shop: 2 of 4 figures are your own by now", "book": ["collet"],
                    "own": ["mill: damping (3 records)", "steel: force (1 record)"],
                    "kept": ["mill: stiffness (2 records)"]}
    assert pages.stands_on([agree, book_s])["by"] == (
        "by book figures; 2 records of this shop have moved none of them by much")
    assert pages.stands_on([book_s])["by"] == "by 1 figure of the book, no record yet"
    page = pages.desk(book, network=False)
    assert "figures of the book, no record yet" in page
    names = {one.name for figures in book.behind.values() for one in figures}
    assert len(names) > 10 and not any(one.own for figures in book.behind.values() for one in figures)


def test_a_draft_tells_what_changes(book: Book, planned_block: Path) -> None:
    edit = ("operations.block-top-rough.cut.feed_per_tooth", "0.001 mm")
    after = actions.check(planned_block, instead=False, edits=[edit])
    said = pages.draft(book.result, after)
    assert any("block-top-rough" in text for text in said["changed"])
    assert said["said"]["block-top-rough"].startswith("no good")
    assert {path.rpartition(".")[2] for path in said["written"]} == {"feed", "feed_per_tooth"}


def test_the_first_page_needs_nothing_of_the_job(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("nothing that can be read", encoding="utf-8")
    page = device(tmp_path).get("/")
    assert "Reading the job" in page.text


def test_the_first_page_is_there_before_anything_that_computes_is_loaded() -> None:
    code = ("import sys, firstoff.bench.routes, firstoff.bench.serving, firstoff.cli\n"
            "from firstoff.bench import pages\n"
            "pages.pair('')\n"
            "print(*{'numpy', 'scipy', 'sqlalchemy', 'firstoff.job', 'firstoff.dryrun'} & set(sys.modules))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
