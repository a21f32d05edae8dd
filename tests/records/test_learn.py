"""Learning moves what the records speak of, the right way, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import LASTING, Belief, Column, Level, LogNormal
from firstoff.checks._forces import loads, mean_torque
from firstoff.checks.power import EFFICIENCY
from firstoff.errors import RecordError
from firstoff.records import learn
from firstoff.records.learn import Evidence, gather, learn_from, learned_json
from firstoff.records.noise import SLIP
from firstoff.records.reading import Reading
from firstoff.records.store import open_store
from firstoff.shop.columns import apart_name

from ..checks import builders
from . import made
from .made import FINISH, OTHER, ROUGH

WIDE = {"material_steel__tangential": 1.5, "discrepancy_force__factor": 1.2}


def expected_watts(of: str, by: Belief) -> float:
    """Watts at the plug that the book expects above idle."""
    case = made.place().cases()[of]
    assert case.op.cut.spindle_speed
    return float(np.median(mean_torque(loads(case, by)))) * case.op.cut.spindle_speed / EFFICIENCY


def watts(share: float, of: str = ROUGH, by: Belief | None = None) -> Reading:
    """A reading of the wattmeter, as a share of what is expected."""
    return Reading(of, watts=f"{60.0 + share * expected_watts(of, by or made.book(**WIDE)):.2f} W", idle="60 W")


def test_no_records_is_said(tmp_path: Path) -> None:
    with open_store(tmp_path) as store, pytest.raises(RecordError, match="no records yet"):
        learn_from(store, made.book(), made.place().shop, lambda _what, _share: None)


def test_more_watts_than_expected_mean_more_force(tmp_path: Path) -> None:
    by = made.book(**WIDE)
    learned = made.learn(tmp_path, watts(1.3), by=by)
    assert made.shift(learned, "material:steel", "tangential") > 0.2
    assert made.shift(learned, "discrepancy:force", "factor") > 0.05
    now = made.after(learned, by)
    case = made.place().cases()[ROUGH]
    before, torque = (np.median(mean_torque(loads(case, b))) for b in (by, now))
    assert 1.05 < torque / before < 1.3, "it moves, but not past what was read"


def test_fewer_watts_mean_less_force_and_as_many_only_narrow(tmp_path: Path) -> None:
    by = made.book(**WIDE)
    fewer = made.learn(tmp_path / "a", watts(0.75), by=by)
    same = made.learn(tmp_path / "b", watts(1.0), by=by)
    assert made.shift(fewer, "material:steel", "tangential") < -0.2
    assert abs(made.shift(same, "material:steel", "tangential")) < 0.15
    assert made.width(same, "material:steel", "tangential") < 0.9


def test_it_sang_where_it_was_not_expected(tmp_path: Path) -> None:
    quiet = made.place("0.18 mm")
    before = made.chance("chatter", quiet.cases()[ROUGH], made.book())
    learned = made.learn(tmp_path, Reading(ROUGH, word="sang"), at=quiet)
    assert before < 0.2
    assert made.chance("chatter", quiet.cases()[ROUGH], made.after(learned)) > 2.0 * before
    # which direction is softer decides, not both alike: a softer x beside the seat's mode even calms it
    towards = [-made.shift(learned, *key) for key in (
        ("machine:mill", "stiffness_y"), ("machine:mill", "mode_damping"), ("tool_material:carbide", "mode_damping"),
        ("tool_material:carbide", "flank_damping"))]
    towards.append(made.shift(learned, "discrepancy:chatter", "factor"))
    assert max(towards) > 0.2 and min(towards) > -0.1, "less stiff, less damped, or readier to sing"


def test_ok_again_and_again_takes_the_chance_down(tmp_path: Path) -> None:
    case = made.place().cases()[FINISH]
    chances = [made.chance("chatter", case, made.book())]
    for many in (1, 4, 12):
        learned = made.learn(tmp_path / str(many), *[Reading(FINISH, word="ok")] * many)
        chances.append(made.chance("chatter", case, made.after(learned)))
    assert 0.03 < chances[0] < 0.35
    assert chances[0] > chances[1] > chances[2] > chances[3]
    assert chances[3] < chances[0] / 3


def test_a_size_too_large_moves_what_would_explain_it(tmp_path: Path) -> None:
    case = made.place().cases()["height"]
    size = made.check("size")
    before = size.evaluate(case, made.book()).demand
    learned = made.learn(tmp_path, *[Reading("height", size="20.05 mm")] * 4)
    after = size.evaluate(case, made.after(learned)).demand
    assert before is not None and after is not None and after.median > before.median, "sizes scatter more"
    assert made.shift(learned, "discrepancy:size", "factor") > 0.0
    assert made.shift(learned, "material:steel", "tensile_strength") == 0.0


def test_a_size_as_wanted_scatters_less(tmp_path: Path) -> None:
    by = made.book(discrepancy_size__factor=2.0)
    learned = made.learn(tmp_path, *[Reading("height", size=f"20.00{i} mm") for i in range(5)], by=by)
    assert made.shift(learned, "discrepancy:size", "factor") < -0.3


def test_nothing_else_moves(tmp_path: Path) -> None:
    by = made.book()
    learned = made.learn(tmp_path, watts(1.3), by=by)
    now = made.after(learned, by)
    for key in by.columns:
        if key not in learned.moved:
            assert np.array_equal(now.z(key), by.z(key))
    assert ("tool_material:hss", "rupture_strength") not in learned.moved
    assert ("machine:press", "axis_thrust") not in learned.moved
    assert not [key for key in learned.moved if by.columns[key].level not in LASTING]
    moved = {entity.partition(":")[0] for entity, _ in learned.moved}
    assert "device" not in moved, "the next clamping is another one"


def test_same_records_same_figures(tmp_path: Path) -> None:
    said = (Reading(FINISH, word="sang"), Reading("height", size="20.02 mm"), watts(1.2))
    with open_store(tmp_path) as store:
        made.place().log(store, *said)
        one, two = (learn_from(store, made.book(), made.place().shop, lambda _w, _s: None) for _ in range(2))
    assert one.sentences == two.sentences
    assert one.moved.keys() == two.moved.keys()
    assert all(np.array_equal(one.moved[key], two.moved[key]) for key in one.moved)


def test_a_correction_takes_back_what_it_replaces(tmp_path: Path) -> None:
    place = made.place()
    with open_store(tmp_path) as store:
        (wrong,) = place.log(store, Reading(FINISH, word="sang"))
        place.log(store, Reading(FINISH, word="ok", replaces=wrong.id[:8]))
        corrected = learn_from(store, made.book(), place.shop, lambda _w, _s: None)
    case = place.cases()[FINISH]
    before, now = (made.chance("chatter", case, b) for b in (made.book(), made.after(corrected)))
    assert corrected.records == 1
    assert now < before


def test_records_that_contradict_are_named(tmp_path: Path) -> None:
    agreeing = [Reading(FINISH, word="ok")] * 12
    learned = made.learn(tmp_path / "a", *agreeing, Reading("height", size="24.9 mm"))
    assert len(learned.disagreeing) == 1
    assert any(f"record {learned.disagreeing[0][:8]} disagrees" in text and " height: 24.9 mm with the " in text
               for text in learned.sentences), "and is told by what it says"
    assert made.learn(tmp_path / "b", *agreeing).disagreeing == ()


def test_one_slip_does_not_rule(tmp_path: Path) -> None:
    """A size out by 4.9 mm is a slip of the pen, and hardly moves anything."""
    learned = made.learn(tmp_path, Reading("height", size="24.9 mm"))
    assert abs(made.shift(learned, "discrepancy:size", "factor")) < 0.15


def test_only_the_product_of_two_causes_is_known(tmp_path: Path) -> None:
    by = made.book(material_steel__tangential=2.0, discrepancy_force__factor=2.0)
    learned = made.learn(tmp_path, *[watts(1.0, by=by)] * 24, by=by)
    a, b = (learned.moved[key] for key in (("material:steel", "tangential"), ("discrepancy:force", "factor")))
    assert np.corrcoef(a, b)[0, 1] < -0.6
    assert any(text.startswith("only the product of [") for text in learned.sentences)


def test_what_was_heard_of_one_cutter_says_less_of_the_mill(tmp_path: Path) -> None:
    """A share of the cutter's own takes part of the blame, and keeps it."""
    def column(parameter: str) -> Column:
        return Column("machine:mill", parameter, "1", Level.MACHINE, LogNormal(1.0, 1.4))

    quiet, factor, own = made.place("0.25 mm"), column("chatter_factor"), column(apart_name("chatter", "tool:em6"))
    alone, apart = (made.book().extend(columns) for columns in ([factor], [factor, own]))
    less, more = (made.learn(tmp_path / name, *[Reading(ROUGH, word="sang")] * 2, at=quiet, by=by)
                  for name, by in (("apart", apart), ("alone", alone)))
    assert 0.0 < made.shift(less, *factor.key) < 0.9 * made.shift(more, *factor.key)
    assert made.shift(less, *own.key) > 0.2


def test_two_clampings_are_two_draws(tmp_path: Path) -> None:
    """'moved' in one setting says nothing of how firmly the other was clamped."""
    place = made.place()
    with open_store(tmp_path) as store:
        place.log(store, Reading(ROUGH, word="moved"), Reading(OTHER, word="ok"))
        evidence = gather(store, store.valid(), made.book())
    scopes = {item.scope for item in evidence}
    assert scopes == {"tiny job|first", "tiny job|second"}


def test_the_same_said_twice_is_computed_once(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        made.place().log(store, *[Reading(ROUGH, word="ok")] * 5, Reading(ROUGH, word="sang"))
        evidence = gather(store, store.valid(), made.book())
    by_check = {item.check.name: item for item in evidence}
    assert len(by_check) == len(evidence), "one piece of evidence for each check"
    assert len(by_check["chatter"].seen) == 6 and len(by_check["holding"].seen) == 5
    ok = by_check["holding"]
    one = Evidence(ok.check, ok.case, ok.seen[:1])
    assert ok.total(made.book()) == pytest.approx(5.0 * one.total(made.book()))


def test_a_size_made_by_another_cut_is_evidence_of_its_own(tmp_path: Path) -> None:
    """The cutter is pushed off otherwise: the readings are not put together as if one cut had made both."""
    with open_store(tmp_path) as store:
        for depth in ("1 mm", "1 mm", "0.4 mm"):
            made.place(depth).log(store, Reading("height", size="20.02 mm"))
        evidence = gather(store, store.valid(), made.book())
    assert sorted(len(item.seen) for item in evidence if item.check.name == "size") == [1, 2]


def test_a_word_can_always_be_a_lapse(tmp_path: Path) -> None:
    """No word, however surprising, has a likelihood below that of a lapse."""
    with open_store(tmp_path) as store:
        made.place().log(store, *(Reading(ROUGH, word=w) for w in ("moved", "broke", "squealed", "slowed", "ok")))
        evidence = gather(store, store.valid(), made.book())
    for item in evidence:
        for rows in item.each(made.book()).values():
            assert np.all(rows >= np.log(SLIP) - 1e-9) and np.all(rows <= 0.0)


def test_a_size_that_is_not_computed_says_nothing(tmp_path: Path) -> None:
    learned = made.learn(tmp_path, Reading("flat", size="0.01 mm", instrument="mic"))
    assert learned.moved == {}
    assert learned.sentences == ("1 record changed nothing worth telling",)


def test_told_as_json(tmp_path: Path) -> None:
    learned = made.learn(tmp_path, Reading(FINISH, word="sang"))
    told = learned_json(learned)
    assert told["records"] == 1 and told["settled"] is True
    assert told["sentences"] == list(learned.sentences)
    assert "machine:mill mode_damping" in told["moved"]


def test_the_colour_of_the_chips_moves_how_hot_cuts_are(tmp_path: Path) -> None:
    """Beside a word or alone; and the word is heard all the same."""
    heat = ("discrepancy:heat", "factor")
    grey = made.learn(tmp_path / "a", *[Reading(ROUGH, word="ok", chip_colour="grey")] * 3)
    bright = made.learn(tmp_path / "b", *[Reading(ROUGH, chip_colour="bright")] * 3)
    hot, cool = (float(found.moved[heat].mean()) for found in (grey, bright))     # in deviations of the book's
    assert hot > cool + 0.3
    assert grey.records == bright.records == 3


def test_dust_and_a_torn_face_count_once_beside_what_says_the_same(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        records = made.place().log(
            store, Reading(ROUGH, word="squealed", chip_form="dust"), Reading(ROUGH, word="ok", chip_form="dust"),
            Reading(ROUGH, chip_form="welded", finish="torn"), Reading(ROUGH, finish="torn"),
            Reading(ROUGH, finish="waves"))
    seen = [[(one.kind, one.word) for one in learn._sights(record)] for record in records]
    assert seen == [[], [("form", "dust")], [("form", "welded")], [("face", "torn")], []]


def test_what_no_check_weighs_is_kept_and_not_learned_from(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        made.place().log(store, Reading(ROUGH, burr="heavy"), Reading("", note="new belt"),
                         Reading(ROUGH, chip_form="curls"))
        with pytest.raises(RecordError, match="no records yet"):
            learn_from(store, made.book(), made.place().shop, lambda _w, _s: None)
        made.place().log(store, Reading(ROUGH, chip_form="welded"))
        learned = learn_from(store, made.book(), made.place().shop, lambda _w, _s: None)
        assert learned.records == 1      # where a roughness is wanted a check weighs it; here none is


def test_the_cut_is_taken_as_it_was_fed(tmp_path: Path) -> None:
    """The same watts at half the feed speak for a larger force."""
    by = made.book(**WIDE)
    full = watts(0.8)
    slow = Reading(ROUGH, watts=full.watts, idle=full.idle, feed="50 %")
    shifts = [made.shift(made.learn(tmp_path / name, said, by=by), "material:steel", "tangential")
              for name, said in (("a", full), ("b", slow))]
    assert shifts[0] < 0.0 < shifts[1]


def test_the_cut_is_taken_as_deep_as_it_was(tmp_path: Path) -> None:
    """The same watts at half the depth speak for a larger force."""
    by = made.book(**WIDE)
    full = watts(0.8)
    thin = Reading(ROUGH, watts=full.watts, idle=full.idle, depth="0.5 mm", scrap=True)
    shifts = [made.shift(made.learn(tmp_path / name, said, by=by), "material:steel", "tangential")
              for name, said in (("a", full), ("b", thin))]
    assert shifts[0] < 0.0 < shifts[1]


def test_a_cut_in_scrap_says_nothing_of_how_the_part_is_held(tmp_path: Path) -> None:
    """It stands beside another clamping, and no check of the hold hears it."""
    with open_store(tmp_path) as store:
        records = made.place().log(store, Reading(ROUGH, word="ok"), Reading(ROUGH, word="ok", scrap=True))
        whole, scrap = (learn.gather(store, [record], made.book()) for record in records)
    words = [{item.check.word for item in some} for some in (whole, scrap)]
    assert "moved" in words[0] and words[1] == words[0] - {"moved"}
    assert not {item.scope for item in whole} & {item.scope for item in scrap}


def test_a_wall_that_is_not_so_high_is_no_evidence(tmp_path: Path) -> None:
    """In scrap a side was cut deeper than the part's wall is high: that cannot be told, and is not bent."""
    with open_store(tmp_path) as store:
        (record,) = made.place().log(store, Reading(ROUGH, word="sang", depth="3 mm", scrap=True))
        case = made.place().cases()[ROUGH]
        assert learn.gather(store, [record], made.book())
        assert case.windows is not None and not learn._so_deep(case, record), "the part itself, 1 mm deep"


def test_one_wrong_record_in_ten_is_named_and_absorbed(tmp_path: Path) -> None:
    by = made.book(**WIDE)
    right = [watts(1.1 + 0.01 * (i % 3), by=by) for i in range(9)]
    clean = made.learn(tmp_path / "a", *right, by=by)
    (tmp_path / "b").mkdir()
    with open_store(tmp_path / "b") as store:
        *_, wrong = made.place().log(store, *right, watts(6.0, by=by))
        spoilt = learn_from(store, by, made.place().shop, lambda _w, _s: None)
    assert spoilt.disagreeing == (wrong.id,) and clean.disagreeing == ()
    case = made.place().cases()[ROUGH]
    one, two = (np.log(mean_torque(loads(case, made.after(learned, by)))) for learned in (clean, spoilt))
    assert abs(np.median(one) - np.median(two)) < 0.5 * one.std()


def test_a_new_tool_inherits_what_is_the_machines(tmp_path: Path) -> None:
    """It sang with one cutter: another in the same machine is doubted, too, and one elsewhere is not."""
    quiet = made.place("0.25 mm")
    learned = made.learn(tmp_path, *[Reading(ROUGH, word="sang")] * 3, at=quiet)
    case = quiet.cases()[ROUGH]
    other = replace(case, operation=case.op.model_copy(update={"tool": "em10"}))
    before, now = (made.chance("chatter", other, b) for b in (made.book(), made.after(learned)))
    assert now > before
    assert any(entity == "machine:mill" for entity, _ in learned.moved)
    assert not any(entity == "machine:press" for entity, _ in learned.moved)


def test_a_load_test_moves_what_the_physics_of_holding_gets_wrong(tmp_path: Path) -> None:
    """A part that moves at a third of what was reckoned: holding is worse than the book has it."""
    by = made.book(**WIDE)
    moved = made.learn(tmp_path / "a", *[Reading(ROUGH, word="moved", pull="600 N")] * 3, by=by)
    held = made.learn(tmp_path / "b", *[Reading(ROUGH, pull="600 N")] * 3, by=by)
    key = ("discrepancy:holding", "factor")
    assert key in moved.moved
    factor = [float(np.median(by.with_moved(learned.moved).value(*key))) for learned in (moved, held)]
    assert factor[0] > factor[1]
    assert any("force that moves the work" in line for line in moved.sentences)


def test_ok_of_what_cannot_fail_moves_no_figure(tmp_path: Path) -> None:
    """A thousandth of the power that there is: 'ok' says nothing of that, but something of the rest."""
    columns = [replace(c, transform=LogNormal(1e6, 1.1)) if c.key == ("machine:mill", "power") else c
               for c in builders.columns()]
    strong = made.learn(tmp_path / "a", Reading(ROUGH, word="ok"), by=Belief.of(columns, rows=made.ROWS))
    plain = made.learn(tmp_path / "b", Reading(ROUGH, word="ok"))
    assert ("machine:mill", "power") not in strong.moved
    assert ("machine:mill", "mode_damping") in strong.moved and ("machine:mill", "mode_damping") in plain.moved
