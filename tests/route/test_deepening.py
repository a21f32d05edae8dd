"""From a careful first cut a person goes deeper while it is quiet: as far as nothing comes that is not heard."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.belief import Belief
from firstoff.checks.tool_strength import CHECK as STRENGTH
from firstoff.dryrun.quick import Quick
from firstoff.route.asked_cut import Wanted
from firstoff.route.cut_answer import Answer
from firstoff.route.cut_gains import with_cut
from firstoff.route.deepening import STEP, deepening
from firstoff.shop.columns import columns_of
from firstoff.telling_cut import cut_lines
from tests.route.test_quick_cut import on_all_rows

THIN_TOOL = Wanted("knee", "end_mill_2_2f", "al_6082")      # a machine that bears more than so thin a cutter


def said(answer: Answer) -> str:
    return " ".join(" ".join(cut_lines(answer)).split())


def some_rows(answer: Answer) -> Quick:
    return Quick(Belief.of(columns_of(answer.case.shop), rows=128).wordless())


def test_a_thin_cutter_breaks_before_a_heavy_machine_sings() -> None:
    answer = on_all_rows(THIN_TOOL)
    thin, close = some_rows(answer), answer.bench.shop.close
    deeper = deepening(answer, thin)
    assert deeper is not None and answer.deeper is not None and deeper.stops == answer.deeper.stops == STRENGTH.title
    at, beyond = (thin.look(with_cut(answer.case, depth_of_cut=times * deeper.depth)).of(STRENGTH.name)
                  for times in (1.0, STEP))
    assert at is not None and beyond is not None and (at.p_fail or 0.0) <= close < (beyond.p_fail or 0.0)
    assert f"and no deeper: from there '{STRENGTH.title}' is likelier than 1 in 20" in said(answer)


def test_the_middle_machine_is_told_where_it_sings_first() -> None:
    answer = on_all_rows(Wanted("light_gantry", "end_mill_3_2f", "s275_cold_drawn"))
    sings = next(c.finding.capacity for c in answer.checked if c.finding.check == "chatter")
    assert answer.deeper is not None and answer.deeper.stops == "" and sings is not None
    assert answer.deeper.depth == pytest.approx(sings.median)
    assert "the middle machine of its class bears" in said(answer)


def test_no_more_than_is_there_is_told_as_all_of_it() -> None:
    answer = on_all_rows(Wanted("knee", "end_mill_12_hss", "s275_hot_rolled", bow=0.3))
    assert answer.deeper is not None and answer.deeper.depth == pytest.approx(0.6)
    assert "bears all of the 0.6 mm" in said(answer)


def test_what_comes_anyhow_does_not_stop_it() -> None:
    """A plastic smears by its speed and chip: not from some depth on."""
    answer = on_all_rows(Wanted("light_gantry", "end_mill_6_2f", "acrylic"))
    assert answer.first is not None and answer.first.finding.check == "softening"
    assert answer.deeper is not None and answer.deeper.depth > 1.5 * (answer.cut.depth_of_cut or 0.0)


def test_nobody_is_sent_deeper_where_all_is_likely_spoiled() -> None:
    answer = on_all_rows(THIN_TOOL)
    assert "deeper" in said(answer) and "deeper" not in said(replace(answer, p_spoil=0.9))


def test_a_depth_that_is_the_person_s_own_stays() -> None:
    answer = on_all_rows(replace(THIN_TOOL, depth=0.4))
    assert answer.careful and answer.deeper is None and "deeper" not in said(answer)
