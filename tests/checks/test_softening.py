from __future__ import annotations

import re

from firstoff.checks.softening import CHECK
from tests.checks.builders import belief, case, chance, found, job, knobs_say, operation, rises, without

POM = job(material="pom")


def test_a_thin_chip_bad_on_purpose() -> None:
    finding = found(CHECK, case(op=operation(cut={"feed_per_tooth": "0.002 mm"}), of_job=POM))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "softens at about 165;" in finding.because


def test_a_bold_chip_just_good() -> None:
    bold = {"feed_per_tooth": "0.08 mm", "spindle_speed": "3000 rpm", "coolant": "flood"}
    assert chance(CHECK, case(op=operation(cut=bold), of_job=POM)) <= 0.01


def test_thinner_chips_are_warmer() -> None:
    rises(CHECK, [case(op=operation(cut={"feed_per_tooth": f"{f} mm"}), of_job=POM) for f in (0.05, 0.01, 0.003)])


def test_a_plastic_that_bears_more() -> None:
    thin = case(op=operation(cut={"feed_per_tooth": "0.006 mm"}), of_job=POM)
    assert chance(CHECK, thin, belief(material_pom__softens=300.0)) < chance(CHECK, thin)


def test_metals_do_not_smear_and_feed_is_what_to_turn() -> None:
    assert not CHECK.applies(case())
    said = knobs_say(CHECK, case(op=operation(cut={"feed_per_tooth": "0.002 mm"}), of_job=POM))
    assert re.search(r"not 0\.002 mm \(feed [\d.]+ mm/min\)$", said["cut.feed_per_tooth"][0])
    assert "air, not dry" in said["cut.coolant"]


def test_a_plastic_of_which_nobody_says_where_it_softens() -> None:
    finding = found(CHECK, case(of_job=POM), without("softens"))
    assert finding.p_rows is None and "write softens under" in finding.settle_by
