"""What was learned is told in words of the trade, with units, odds and what the book said."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import Belief, Key, LogNormal, Rows
from firstoff.job.reading import load_job
from firstoff.records.words import Change, name_of, quantities, quantity_of, sentences_for, worth_telling
from firstoff.shop.columns import columns_of
from firstoff.shop.library import find_shop, load_shop
from firstoff.shop.models import Shop

EXAMPLE = Path(__file__).resolve().parents[2] / "src" / "firstoff" / "example" / "block_plane"


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop(find_shop(EXAMPLE, load_job(EXAMPLE).shop, None))


def change(shop: Shop, moves: Mapping[Key, tuple[float, float]], records: int = 3, **more: object) -> Change:
    """Columns moved by (shift, share of the spread that is left)."""
    by = Belief.of(columns_of(shop))
    moved: dict[Key, Rows] = {key: shift + left * by.z(key) for key, (shift, left) in moves.items()}
    fields: dict[str, object] = {"settled": True, "odd": (), "records": records, **more}
    speaking = {key: {f"r{i}" for i in range(records)} for key in moves}
    return Change(by, by.with_moved(moved), speaking, shop, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(("key", "said"), [
    (("material:s275_hot_rolled", "tangential"), "hot rolled: cutting force: "),
    (("machine:mill", "mode_frequency"), "light gantry mill: the frequency at which it rings: "),
    (("machine:mill", "stiffness_x"), "light gantry mill: stiffness left to right: "),
    (("discrepancy:force", "factor"), "cutting forces: "),
    (("discrepancy:chatter", "factor"), "readiness to sing: "),
    (("machine:press", "touch_off"), "bench drill press: scatter of zero setting: "),
    (("tool_material:hss", "edge_radius"), "cutters of high-speed steel: edge radius: "),
    (("collet:collet_6", "runout"), ": runout: "),
])
def test_a_figure_is_named_as_in_the_shop(shop: Shop, key: Key, said: str) -> None:
    (line,) = sentences_for(change(shop, {key: (1.0, 0.6)}))
    assert said in line
    measured = Belief.of(columns_of(shop)).columns[key].source == "measured"
    assert ("as measured before" if measured else "by the book") in line and "(3 records)" in line


def test_every_figure_has_a_name_without_programmers_marks(shop: Shop) -> None:
    for column in columns_of(shop):
        name = name_of(column.key, shop)
        assert "_" not in name, name
        assert name.count(":") <= 1 or ": scatter" in name, name


def test_every_figure_can_be_told(shop: Shop) -> None:
    """No unit, quantity or name is missing for any column of the shop."""
    by = Belief.of(columns_of(shop))
    for key in by.columns:
        for line in sentences_for(change(shop, {key: (1.0, 0.6)})):
            assert re.search(r"\d", line) and "nan" not in line and "_" not in line, line


def test_a_figure_is_an_own_one_when_there_is_something_to_tell_of_it(shop: Shop) -> None:
    """Learning moves all that the records speak of, most of it by next to nothing."""
    key, other = ("machine:mill", "stiffness_x"), ("collet:collet_6", "runout")
    for move, own in (((0.05, 0.97), False), ((1.0, 1.0), True), ((0.0, 0.6), True)):
        some = change(shop, {key: move})
        said = bool(re.search("by the book|measured", sentences_for(some)[0]))
        assert worth_telling(key, some.book, some.after) is own is said
        assert not worth_telling(other, some.book, some.after)


def test_what_a_machine_takes_from_its_class_is_of_the_same_kind(shop: Shop) -> None:
    known = quantities(shop)
    like = f"class:{shop.machines['mill'].like}"
    assert (known[like, "mode_frequency"], known["machine:mill", "mode_frequency"]) == ("frequency", "frequency")
    assert quantity_of(("machine:mill", "tram"), known) == "slope"
    assert quantity_of(("discrepancy:force", "factor"), known) == "ratio"


def test_the_figures_are_those_of_the_rows(shop: Shop) -> None:
    """One standard deviation up of a stiffness known to within ± 0.3 N/um."""
    (line,) = sentences_for(change(shop, {("machine:mill", "stiffness_x"): (1.0, 0.5)}))
    found = re.fullmatch(r".*: ([\d.]+) N/um, as measured before ([\d.]+) N/um \(3 records\); "
                         r"likely ([\d.]+) to ([\d.]+) N/um, as measured before ([\d.]+) to ([\d.]+) N/um", line)
    assert found is not None, line
    now, before, low, high, least, most = map(float, found.groups())
    assert before == pytest.approx(2.0, abs=0.03) and now == pytest.approx(2.3, abs=0.05)
    assert low < now < high and least < before < most
    assert most - least == pytest.approx(0.6, rel=0.05), "two times in three is one deviation either way"
    assert high - low == pytest.approx(0.5 * 0.6, rel=0.25)


def test_less_and_more_than_reckoned(shop: Shop) -> None:
    more, less, same = (sentences_for(change(shop, {("discrepancy:force", "factor"): (by, 0.5)}))[0]
                        for by in (1.0, -1.0, 0.0))
    assert "% more than reckoned" in more and "% less than reckoned" in less and ": as reckoned (" in same


def test_a_class_is_told_by_its_machine_and_a_batch_by_its_metal(shop: Shop) -> None:
    moves = {("class:light_gantry", "mode_damping"): (1.0, 0.5), ("machine:mill", "mode_damping"): (0.2, 0.9)}
    lines = sentences_for(change(shop, moves))
    assert len(lines) == 1 and lines[0].startswith("light gantry mill: damping")


def test_what_hardly_moved_is_not_told(shop: Shop) -> None:
    assert sentences_for(change(shop, {("discrepancy:force", "factor"): (0.05, 0.97)})) == [
        "3 records changed nothing worth telling"]
    assert sentences_for(change(shop, {}, records=1)) == ["1 record changed nothing worth telling"]


def test_the_largest_change_comes_first_and_not_all_are_told(shop: Shop) -> None:
    keys = [c.key for c in columns_of(shop) if c.entity.startswith("discrepancy:")]
    lines = sentences_for(change(shop, {key: (0.3 + 0.1 * i, 0.9) for i, key in enumerate(keys)}))
    assert len(lines) == min(8, len(keys))
    assert lines[0].startswith(name_of(keys[-1], shop))


def test_doubts_are_told(shop: Shop) -> None:
    lines = sentences_for(change(shop, {}, settled=False, odd=("0123456789abcdef",)))
    assert "record 01234567 disagrees with the rest: look at it again" in lines
    named = change(shop, {}, odd=("0123456789abcdef",), named={"0123456789abcdef": "2026-03-02 09:30 top: broke"})
    assert "record 01234567 disagrees with the rest: look at it again: 2026-03-02 09:30 top: broke" in (
        sentences_for(named))
    assert any("have not settled" in line for line in lines)


@pytest.mark.parametrize(("sign", "said"), [(1.0, "only the ratio of ["), (-1.0, "only the product of [")])
def test_a_ratio_or_product_is_told_where_only_that_is_known(shop: Shop, sign: float, said: str) -> None:
    by = Belief.of(columns_of(shop))
    a, b = ("machine:mill", "stiffness_y"), ("machine:mill", "stiffness_x")
    scale = {key: by.value(*key).std() / by.value(*key).mean() for key in (a, b)}
    shared = by.z(a)
    moved = {a: 0.4 + 0.9 * shared, b: 0.4 + 0.9 * sign * shared * scale[a] / scale[b] + 0.02 * by.z(b)}
    speaking: dict[Key, set[str]] = {a: {"r"}, b: {"r"}}
    lines = sentences_for(Change(by, by.with_moved(moved), speaking, shop, True, (), 1))
    assert any(line.startswith(said) for line in lines), lines
    free = {a: 0.4 + 0.9 * by.z(a), b: 0.4 + 0.9 * by.z(b)}
    lines = sentences_for(Change(by, by.with_moved(free), speaking, shop, True, (), 1))
    assert not any(line.startswith("only the") for line in lines)


def test_the_share_is_told(shop: Shop) -> None:
    """Half a spread of x 1.25 up is 12 % more."""
    key = ("material:s275_hot_rolled", "tangential")
    by = Belief.of(columns_of(shop))
    law = by.columns[key].transform
    (line,) = sentences_for(change(shop, {key: (0.5, 0.5)}))
    found = re.search(r": (\d+) % more than the book figure: |: (\d+)% more than the book figure: ", line)
    assert isinstance(law, LogNormal) and found is not None, line
    assert float(found[1] or found[2]) == pytest.approx(100.0 * (law.factor**0.5 - 1.0), abs=2.0)


def test_what_would_part_two_figures_is_told(shop: Shop) -> None:
    by = Belief.of(columns_of(shop))
    a, b = ("machine:mill", "stiffness_y"), ("discrepancy:push_off", "factor")
    log = {key: np.log(by.value(*key)) for key in (a, b)}
    moved = {a: 0.9 * by.z(a), b: 0.9 * by.z(a) * log[a].std() / log[b].std() + 0.02 * by.z(b)}
    lines = sentences_for(Change(by, by.with_moved(moved), {a: {"r"}, b: {"r"}}, shop, True, (), 1))
    assert any("only the ratio of [" in line and "luggage scale" in line for line in lines), lines


def test_depths_and_score_are_told_last(shop: Shop) -> None:
    further = ("top: good to 0.6 mm deep by the book, now good to 0.75 mm deep", "of 50 cuts")
    assert tuple(sentences_for(change(shop, {}, further=further))[-2:]) == further


def test_two_explanations_are_told_with_what_parts_them(shop: Shop) -> None:
    key = ("machine:mill", "mode_frequency")
    found = change(shop, {key: (0.0, 1.0)})
    upper = found.after.value(*key) > np.median(found.after.value(*key))
    lines = sentences_for(replace(found, two=(key, upper)))
    assert any(line.startswith("two explanations fit the records: ") and "(50% likely), or about" in line
               and line.endswith("tap the cutter with a phone recording beside it") for line in lines)
    assert not any("two explanations" in line for line in sentences_for(found))
