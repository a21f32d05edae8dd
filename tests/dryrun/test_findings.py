"""What was found is used again only while all that it stands on is unchanged."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import Belief, Column, Level, LogNormal
from firstoff.checks.base import Case, Check, Finding, Spread
from firstoff.dryrun import findings as room
from firstoff.dryrun import looking
from firstoff.dryrun.findings import Findings, evaluate, found_by, write_atomically
from firstoff.errors import NameUnknown, OutOfRange
from firstoff.job.edits import apply_edits
from tests.checks import builders
from tests.dryrun import small, stacked

ROOT = Path(__file__).resolve().parents[2]


def column(entity: str, parameter: str, parents: tuple[tuple[str, str], ...] = (), median: float = 1.0,
           level: Level = Level.SHOP) -> Column:
    return Column(entity, parameter, "1", level, LogNormal(median, 1.5), parents)


def check_of(find: Any) -> Check:
    return Check("own check", "own", "size", "operation", lambda case: True, find)


def finding(p: Any, because: str = "so") -> Finding:
    return Finding("own check", "operation", "op", "size", p, Spread(1.0, 2.0, 3.0), None, "mm", because, "measure")


def names(store: Findings, case: Case) -> dict[str, float | None]:
    return {kept.finding.check: kept.finding.p_fail for kept in store.of(case)}


def power_store(folder: Path, believed: Belief, monkeypatch: pytest.MonkeyPatch) -> Findings:
    """A store that knows of one check only, which asks for power and forces."""
    from firstoff.checks.power import CHECK

    small.only_checks(monkeypatch, CHECK)
    return Findings(believed, folder)


def test_an_unrelated_column_changes_no_finding(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = power_store(tmp_path, small.belief(), monkeypatch)
    case = small.cases()[small.FACE]
    was = names(first, case)
    again = power_store(tmp_path, small.belief(machine_press__power=999.0), monkeypatch)
    assert names(again, case) == was
    assert (first.computed, again.computed) == (1, 0)


def test_a_related_column_computes_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    case = small.cases()[small.FACE]
    was = names(power_store(tmp_path, small.belief(), monkeypatch), case)
    weak = power_store(tmp_path, small.belief(machine_mill__power=60.0), monkeypatch)
    now = names(weak, case)
    assert weak.computed == 1
    assert (now["power"] or 0.0) > 0.5 > (was["power"] or 0.0)


def test_a_parent_counts_as_much_as_the_column(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def make(median: float) -> Belief:
        return Belief.of([column("a", "k", (("class", "k"),)), column("class", "k", median=median)], 64)

    own = check_of(lambda case, belief: finding(np.minimum(belief.value("a", "k") / 100.0, 1.0)))
    small.only_checks(monkeypatch, own)
    case, p = builders.case(), []
    for median, computed in ((1.0, 1), (1.0, 0), (5.0, 1)):
        store = Findings(make(median), tmp_path)
        p.append(store.of(case)[0].finding.p_fail or 0.0)
        assert store.computed == computed
    assert p[0] == p[1] < p[2]


def test_a_column_that_was_not_there_computes_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A check asks whether a figure is believed; as soon as it is, the old finding is stale."""
    own = check_of(lambda case, belief: finding(np.full(belief.rows, 0.9 if belief.has("a", "own") else 0.1)))
    small.only_checks(monkeypatch, own)
    case = builders.case()
    bare = Belief.of([column("a", "k")], 64)
    assert names(Findings(bare, tmp_path), case)["own check"] == pytest.approx(0.1)
    assert names(Findings(bare.extend([column("a", "own")]), tmp_path), case)["own check"] == pytest.approx(0.9)


def test_rows_moved_by_learning_compute_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    case, believed = small.cases()[small.FACE], small.belief()
    names(power_store(tmp_path, believed, monkeypatch), case)
    moved = believed.with_moved({("machine:mill", "power"): np.full(believed.rows, -3.0)})
    store = power_store(tmp_path, moved, monkeypatch)
    names(store, case)
    assert store.computed == 1


def test_figures_gone_to_and_fro_between_do_not_push_each_other_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Book figures, own figures, and back: each stands on disk beside the other."""
    case, p = small.cases()[small.FACE], []
    for power, computed in ((500.0, 1), (60.0, 1), (500.0, 0), (60.0, 0)):
        store = power_store(tmp_path, small.belief(machine_mill__power=power), monkeypatch)
        p.append(names(store, case)["power"])
        assert store.computed == computed, power
    assert p[:2] == p[2:] and p[0] != p[1]


def limits_after(store: Findings, *edits: tuple[str, str]) -> dict[str, float | None]:
    """The limits of the block that is milled all round, its route edited."""
    planned = apply_edits(stacked.route(), edits)
    return {case.name: kept.finding.p_fail for case in stacked.cases(stacked.job("±0.02 mm"), planned)
            if case.limit is not None for kept in store.of(case)}


def test_a_limit_is_computed_anew_for_the_cuts_that_it_stands_on_and_for_no_other(tmp_path: Path) -> None:
    believed = stacked.belief()
    store = Findings(believed, tmp_path)
    before, cut = limits_after(store), "operations.side-4.cut.feed_per_tooth"
    assert store.computed == 3
    after = limits_after(store, (cut, "0.06 mm"))
    assert store.computed == 5, "the width, and the height, which the same cutter mills later, less blunt"
    assert after["width"] != before["width"] and after["length"] == before["length"]
    assert limits_after(Findings(believed, None), (cut, "0.06 mm")) == after, "as if nothing had been kept"
    later = Findings(believed, tmp_path)
    assert limits_after(later) == before and limits_after(later, (cut, "0.06 mm")) == after and later.computed == 0


def test_a_limit_that_could_not_be_told_is_looked_at_again_when_any_cut_changes() -> None:
    store = Findings(stacked.belief())
    bad = ("operations.side-4.stickout", "0.01 mm")
    planned = apply_edits(stacked.route(), (bad,))
    case = next(c for c in stacked.cases(planned=planned) if c.name == "width")
    told = room.evaluate(looking.checks_of(case)[0], case, Belief({}, 64))
    assert told.finding.p_rows is None and {name for name, _ in told.finding.reads} == set(planned.operations)
    assert limits_after(store)["width"] is not None


def test_cases_of_two_routes_are_alike_but_for_what_was_edited() -> None:
    store, planned = Findings(stacked.belief()), stacked.route()
    edited = apply_edits(planned, (("operations.side-4.cut.feed_per_tooth", "0.06 mm"),))
    one, two = ({(c.subject, c.name): c for c in stacked.cases(planned=route)} for route in (planned, edited))
    other = {name for (_, name), case in two.items() if not store.alike(case, one["operation", name]
             if ("operation", name) in one else one[_, name])}
    assert "side-4" in other and not {"side-1", "side-2", "side-3"} & other
    assert {"width", "height"} <= other, "limits may stand on it"


def damaged(raw: bytes, how: str) -> bytes:
    head, _, body = raw.partition(b"\n")
    return {
        "empty": b"", "cut": raw[:-3], "no numbers": head, "a number": b"7\n", "a list": b"[]\n",
        "text": b"\xff\xfe hello\n" + body, "no reason": head.replace(b'"because"', b'"reason"') + b"\n" + body,
        "more": raw + b"12345678",
    }[how]


@pytest.mark.parametrize("how", ["empty", "cut", "no numbers", "a number", "a list", "text", "no reason", "more"])
def test_damaged_bytes_are_only_missing_ones(how: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    case = small.cases()[small.FACE]
    first = power_store(tmp_path, small.belief(), monkeypatch)
    was = names(first, case)
    first.close()
    with closing(sqlite3.connect(tmp_path / room.FILE)) as file:
        for place, raw in file.execute("SELECT place, data FROM kept WHERE key LIKE '%-power%'").fetchall():
            file.execute("UPDATE kept SET data = ? WHERE place = ?", (damaged(raw, how), place))
        file.commit()
    store = power_store(tmp_path, small.belief(), monkeypatch)
    assert names(store, case) == was
    assert store.computed == 1
    third = power_store(tmp_path, small.belief(), monkeypatch)
    names(third, case)
    assert third.computed == 0


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(raw: bytes) -> None:
    assert room._from_bytes(raw, 64) is None


@given(st.integers(0, 10_000), st.booleans())
def test_kept_on_disk_is_what_was_found(number: int, lasting: bool) -> None:
    rng = np.random.default_rng(number)
    p = rng.uniform(size=16)
    kept = room.Kept(finding(p, "μ ≤ 0.1 “so”"), rng.uniform(size=16) if lasting else None, (("a", "b"),), "digest")
    read = room._from_bytes(room._to_bytes(kept), 16)
    assert read is not None and read.finding.p_rows is not None
    assert np.array_equal(read.finding.p_rows, p)
    assert (read.lasting_rows is None) != lasting
    assert replace(read.finding, p_rows=None) == replace(kept.finding, p_rows=None)
    assert (read.asked, read.digest) == (kept.asked, kept.digest)
    assert room._from_bytes(room._to_bytes(kept), 32) is None


def test_in_memory_nothing_is_computed_twice() -> None:
    store, case = Findings(small.belief()), small.cases()["screws"]
    first = store.of(case)
    computed = store.computed
    assert computed == len(first) == 3
    assert [k.finding for k in store.of(case)] == [k.finding for k in first]
    assert store.computed == computed


def outside(case: Case, belief: Belief) -> Finding:
    raise OutOfRange("the chip is thicker than the tooth is deep")


def test_outside_its_range_physics_cannot_say_and_why_is_told() -> None:
    kept = evaluate(check_of(outside), builders.case(), Belief.of([], 8))
    assert kept.finding.p_fail is None and kept.lasting_rows is None
    assert kept.finding.because == "the chip is thicker than the tooth is deep"
    assert (kept.finding.check, kept.finding.name, kept.finding.at_risk) == ("own check", "op", "size")


def test_a_figure_that_the_shop_has_none_for_is_asked_for_and_used_when_it_is_there() -> None:
    """A material of the person's own with half its figures is checked as far as they reach."""
    own, case = check_of(lambda case, belief: finding(np.minimum(belief.value("a", "k"), 1.0))), builders.case()
    kept = evaluate(own, case, Belief.of([column("b", "k")], 8))
    assert kept.finding.p_rows is None and kept.finding.because == "a: nothing is believed of 'k'"
    assert "write the figure" in kept.finding.settle_by
    assert kept.digest != Belief.of([column("a", "k")], 8).digest_of(kept.asked)


def test_another_unknown_name_is_an_error_of_the_person() -> None:
    """A face or screw that does not exist is no doubt about the shop."""
    def find(case: Case, belief: Belief) -> Finding:
        raise NameUnknown("no face 'lid'", where="job.toml")

    with pytest.raises(NameUnknown, match="no face"):
        evaluate(check_of(find), builders.case(), Belief.of([], 8))


@pytest.mark.parametrize("wrong", [np.nan, np.inf])
def test_no_number_that_is_none_reaches_a_person(wrong: float) -> None:
    own = check_of(lambda case, belief: finding(np.array([0.1, wrong, 0.1])))
    kept = evaluate(own, builders.case(), Belief.of([], 3))
    assert kept.finding.p_rows is None and "no number" in kept.finding.because
    assert found_by(own, builders.case(), Belief.of([], 3)).p_rows is None


def test_what_only_counts_in_a_sum_is_computed_anew_where_a_person_will_read_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """For a sum neither the words nor how much of the doubt would last; both are there once it is told."""
    own = check_of(lambda case, belief: finding(np.full(16, 0.2), "so; why" if belief.words else ""))
    small.only_checks(monkeypatch, own)
    case, believed = small.cases(small.route())[small.FACE], small.belief()
    store = Findings(replace(believed, rows=16), tmp_path)
    assert store.look(case).whole()[0].because == ""
    assert store.of(case)[0].finding.because == "so; why" and store.of(case)[0].told and store.computed == 2
    again = Findings(replace(believed, rows=16), tmp_path)
    assert again.look(case).whole()[0].because == "so; why" and again.computed == 0, "once told it serves both"


def test_what_passes_is_put_aside_for_the_lasting_rows() -> None:
    """Doubt of a clamping is new each time: without it every row says the same."""
    def find(case: Case, belief: Belief) -> Finding:
        return finding(np.clip(belief.value("vise", "squeeze") * belief.value("machine", "k") / 10.0, 0.0, 1.0))

    passing = column("vise", "squeeze", level=Level.CLAMPING)
    only = evaluate(check_of(find), builders.case(), Belief.of([passing, replace(column("machine", "k"),
                                                               transform=LogNormal(1.0, 1.0001))], 64))
    assert only.lasting_rows is not None and only.finding.p_rows is not None
    assert np.ptp(only.lasting_rows) < 1e-3 < np.ptp(only.finding.p_rows)
    stays = evaluate(check_of(find), builders.case(), Belief.of(
        [replace(passing, level=Level.SHOP), column("machine", "k", level=Level.MACHINE)], 64))
    assert stays.lasting_rows is stays.finding.p_rows


def test_how_much_would_last_is_told_by_a_part_of_many_rows_and_kept(tmp_path: Path) -> None:
    """Shares of the rows are as in all of them, and a file with them is read again."""
    def find(case: Case, belief: Belief) -> Finding:
        p = np.clip(belief.value("vise", "squeeze") * belief.value("machine", "k") / 20.0, 0.0, 1.0)
        return Finding("own check", "operation", "op", "size", p, Spread.of(p), Spread.of(1.0), "mm", "so", "measure")

    columns = [column("vise", "squeeze", level=Level.CLAMPING), column("machine", "k", level=Level.MACHINE)]
    believed = Belief.of(columns, 2048)
    kept = evaluate(check_of(find), builders.case(), believed)
    assert kept.lasting_rows is not None and len(kept.lasting_rows) < 600
    alone = find(builders.case(), believed.with_moved({("vise", "squeeze"): np.zeros(2048)})).p_rows
    assert alone is not None
    assert np.mean(kept.lasting_rows > 0.05) == pytest.approx(np.mean(alone > 0.05), abs=0.05)
    again = room._from_bytes(room._to_bytes(kept), 2048)
    assert again is not None and again.lasting_rows is not None
    assert np.array_equal(again.lasting_rows, kept.lasting_rows)


def test_only_checks_of_this_kind_of_case_that_apply_are_run() -> None:
    checks = {k.finding.check for k in Findings(small.belief()).of(small.cases()["screws"])}
    assert checks == {"screw length", "head below", "head bearing"}
    hand = small.cases(wanted=small.job(joints={}))
    assert {k.finding.check for k in Findings(small.belief()).of(hand["height"])} == {"size"}


def test_what_this_run_used_is_not_forgotten_however_old(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "KEPT_ON_DISK", 1)
    monkeypatch.setattr(room, "SPARE", 0)
    case, other = small.cases()[small.FACE], small.cases(small.route((small.CHANGES["speed"],)))
    names(power_store(tmp_path, small.belief(), monkeypatch), case)
    names(power_store(tmp_path, small.belief(), monkeypatch), other[small.FACE])
    for at, computed in ((case, 0), (other[small.FACE], 1)):      # the older one is used, and the younger one goes
        store = power_store(tmp_path, small.belief(), monkeypatch)
        names(store, at)
        store.prune()
        assert store.computed == computed
    Findings(small.belief(), tmp_path / "none").prune()
    Findings(small.belief()).prune()


@pytest.mark.parametrize("change", [None, *small.CHANGES])
def test_the_checks_that_apply_are_kept_and_are_those_that_apply(change: str | None, tmp_path: Path) -> None:
    edits = () if change is None else (small.CHANGES[change],)
    for case in small.cases(small.route(edits)).values():
        for _ in range(2):                                    # found, and read again
            store = Findings(small.belief(), tmp_path)
            assert tuple(check for check, _ in store._keyed(case)) == looking.checks_of(case)


def test_nothing_half_written_stays(tmp_path: Path) -> None:
    write_atomically(tmp_path / "a", b"one")
    write_atomically(tmp_path / "a", b"two")
    assert (tmp_path / "a").read_bytes() == b"two"
    (tmp_path / "folder").mkdir()
    with pytest.raises(OSError):
        write_atomically(tmp_path / "folder", b"three")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["a", "folder"]


def test_rows_that_are_all_alike_are_kept_as_one_and_come_back_as_many(tmp_path: Path) -> None:
    kept = room.Kept(finding(np.full(64, 0.25)), None, (), "d")
    kept = replace(kept, lasting_rows=kept.finding.p_rows)
    raw = room._to_bytes(kept)
    back = room._from_bytes(raw, 64)
    assert len(raw.partition(b"\n")[2]) == 16 and back is not None and back.finding.p_rows is not None
    assert np.array_equal(back.finding.p_rows, np.full(64, 0.25)) and back.lasting_rows is back.finding.p_rows
    other = replace(kept, lasting_rows=np.linspace(0.0, 1.0, 64))
    again = room._from_bytes(room._to_bytes(other), 64)
    assert again is not None and again.lasting_rows is not None
    assert np.array_equal(again.lasting_rows, np.linspace(0.0, 1.0, 64))
    assert room._from_bytes(room._to_bytes(other)[:-8], 64) is None
