"""What `cut` says: every number that is keyed in, every chance, every change; and the keys that programs rely on."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from typing import Any

import pytest

from firstoff.checks.base import Spread
from firstoff.dryrun.nominal import table_feed
from firstoff.route.cut_answer import Answer
from firstoff.telling_cut import cut_json, cut_lines
from tests.route.test_quick_cut import answered

KEYS = {"spindle_speed_per_min", "table_feed_mm_min", "feed_per_tooth_mm", "depth_of_cut_mm", "width_of_cut_mm",
        "direction", "removal_rate_mm3_s", "limited_by", "checks"}


def text(**asked: Any) -> str:
    return " ".join(" ".join(cut_lines(answered(**asked))).split())


def test_numbers_words_and_reasons() -> None:
    said = text()
    assert " rpm feed " in said and " mm/min " in said and " deep " in said and " wide " in said
    assert "Limited by: " in said and "lost motion" in said and "Not counted: " in said
    assert "safe" not in said.lower()


def test_an_unknown_machine_is_told_what_to_listen_for() -> None:
    said = text(machine="light_gantry")
    assert "Nothing was measured of this machine" in said and "Listen for" in said and "a quarter deeper" in said
    assert "Listen for" not in text()


def test_on_a_raw_face_nothing_that_is_told_would_leave_the_edge_in_the_scale() -> None:
    """Half of a first pass beneath the scale stays in it."""
    said = text(machine="light_gantry", material="s275_hot_rolled", bow=0.3)
    assert "half the width" in said and "half the depth" not in said and "take less depth" not in said
    assert "half as wide, or pickle the scale off" in said and not re.search(r"try 0\.\d+ mm deep", said)
    assert "half the depth" in text(machine="light_gantry", material="s275_cold_drawn")


def test_a_raw_face_is_started_in_clean_metal() -> None:
    raw = text(machine="light_gantry", material="s275_hot_rolled", bow=0.3)
    assert "start it where the edge meets clean metal" in raw
    assert "clean metal" not in text(machine="light_gantry", material="s275_hot_rolled")


def test_an_asked_finish_has_its_price_in_minutes() -> None:
    """100 x 100 mm over step and feed."""
    asked = {"tool": "ball_6", "material": "brass_cz121", "roughness": 1.6e-3}
    told = r"passes ([\d.]+) mm apart for the finish: 100 x 100 mm of face take about (\d+) min"
    found = re.search(told, text(**asked))
    assert found
    minutes = 1e4 / (float(found[1]) * table_feed(answered(**asked).case)) / 60.0
    assert float(found[2]) == pytest.approx(minutes, rel=0.06)
    assert "for the finish" not in text()


def test_what_no_milling_leaves_is_lapped() -> None:
    assert "then lap or polish it" in text(roughness=1e-4)
    assert "lap or polish" not in text(roughness=1.6e-3) and "lap or polish" not in text()


def test_the_colour_of_the_chips_of_steel_is_told() -> None:
    steel = text(material="s275_cold_drawn")
    assert re.search(r"chips come off [a-z ]+, (anywhere from [a-z ]+|though any [a-z ]+); darker", steel)
    assert "chips come off" not in text()


def test_own_numbers_are_told_as_such() -> None:
    assert "Your own depth, width as you gave them" in text(depth=0.4, width=1.0)


def test_inch_shops_read_inches() -> None:
    answer = answered()
    shop = answer.bench.shop.model_copy(update={"units": "in"})
    said = " ".join(cut_lines(replace(answer, bench=replace(answer.bench, shop=shop))))
    assert " in/min " in said and " mm/min" not in said


def test_the_keys_that_programs_rely_on() -> None:
    answer = answered()
    table = json.loads(json.dumps(cut_json(answer), allow_nan=False))
    assert table.keys() >= KEYS
    turn, feed = table["spindle_speed_per_min"], table["table_feed_mm_min"]
    assert feed == math.floor(feed) or feed == round(feed, 2)
    assert abs(turn * answer.bench.tool.flutes * table["feed_per_tooth_mm"] - feed) < 1e-3 * feed
    rate = table["depth_of_cut_mm"] * table["width_of_cut_mm"] * feed / 60.0
    assert abs(rate - table["removal_rate_mm3_s"]) < 1e-3 * rate
    assert all({"kind", "p_fail", "verdict", "because"} <= check.keys() for check in table["checks"])


def test_no_length_is_told_as_nothing_in_inches() -> None:
    """The depth that the middle machine bears is told with two figures that count, the stickout to a hundredth."""
    answer = answered(machine="light_gantry")
    shop = answer.bench.shop.model_copy(update={"units": "in"})
    said = " ".join(" ".join(cut_lines(replace(answer, bench=replace(answer.bench, shop=shop)))).split())
    bears = re.search(r"of its class bears (\S+) in", said)
    assert bears is not None and float(bears[1]) > 0.0
    assert re.search(r", \d\.\d\d? in out of the collet", said)


def test_a_change_that_changes_no_chance_says_so() -> None:
    """Not 'nearly certain, not nearly certain'."""
    answer = answered(depth=1.0, width=6.0)
    same = replace(answer.gains[0], p_after=answer.p_spoil)
    said = " ".join(" ".join(cut_lines(replace(answer, gains=(same,)))).split())
    assert ", as now" in said


def test_a_limit_that_was_asked_is_named_as_such() -> None:
    said = text(machine="light_gantry", depth=4.0, width=0.3, within=0.01)
    assert "band of what you ask is" in said


def test_ways_down_and_edges_are_told_as_a_machinist_says_them() -> None:
    ramp, plunge, edge = text(down=math.radians(3.0), depth=0.5), text(down=math.pi / 2.0), text(tool="chamfer_6")
    assert "down at 3 deg, 1 in 19 0.5 mm with each turn or run" in ramp and "a slot 6 mm wide" not in ramp
    assert "straight down 6 mm at once" in plunge and "whose teeth meet in its middle" in plunge
    assert "cut chatters" in plunge.partition("Not counted:")[2] and "howl" not in plunge
    assert "the edge broken 0.5 mm" in edge


def test_one_number_of_ones_own_is_one() -> None:
    assert "Your own depth as you gave it." in text(depth=0.5)


def test_nobody_is_told_to_go_deeper_than_what_spoils_already() -> None:
    """A slot 3 mm deep that sings nine times in ten: 'while it is quiet go a quarter deeper' was said of it."""
    said = text(machine="light_gantry", depth=3.0, width=6.0)
    assert "quarter deeper" not in said and "with what you settled no numbers bring" in said
    assert "quarter deeper" in text(machine="light_gantry")


def test_a_chance_just_above_the_one_that_is_allowed_is_not_told_as_that_one() -> None:
    answer = answered(width=6.0)
    said = " ".join(cut_lines(replace(answer, careful=True, p_spoil=1.05 * answer.bench.shop.close)))
    assert re.search(r"bring the risk to 1 in\s+20: that something is spoiled is a little\s+likelier", said)


def test_it_is_told_what_amount_of_work_wear_and_chances_are_of() -> None:
    """'After 150 min in the cut the job has used 0.4 % of the life': nobody was told which job."""
    found = answered(depth=1.0, width=3.0)
    said = " ".join(" ".join(cut_lines(found)).split())
    assert "Reckoned for 100 mm long, 3 mm wide and 1 mm deep in all: " in said and " min in the cut" in said
    told = cut_json(found)
    assert told["reckoned_for_mm"] == [100.0, 3.0, 1.0]
    assert told["minutes_in_cut"] == pytest.approx(100.0 / (60.0 * table_feed(found.case)), rel=0.3)
    assert told["tool_money"] is None or 0.0 <= told["tool_money"] <= found.case.tool.price


def test_what_wears_off_is_told_in_money() -> None:
    """Some of a cutter, more than one, so many that nobody counts them."""
    some = answered(material="stainless_304", depth=0.5, width=3.0, speed=9000.0 * math.pi / 30.0)

    def lives(many: float) -> Answer:
        return replace(some, checked=tuple(
            replace(c, finding=replace(c.finding, demand=Spread.of(many))) if c.finding.check == "wear" else c
            for c in some.checked))

    price, answers = some.case.tool.price, (some, lives(3.0), lives(500.0))
    worn = [cut_json(answer)["tool_money"] for answer in answers]
    assert 0.01 < worn[0] < price and worn[1] == pytest.approx(3.0 * price) and worn[2] is None
    said = [" ".join(" ".join(cut_lines(answer)).split()) for answer in answers]
    assert f" money of the cutter's {price:g}." in said[0] and f"and 3 cutters of {price:g} money each." in said[1]
    assert "more cutters than are worth counting" in said[2]
