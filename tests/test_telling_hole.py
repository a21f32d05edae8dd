"""What `hole` says: words that can be keyed in, JSON without holes, quick to start."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from firstoff import actions
from firstoff.telling_hole import hole_json, hole_lines

HEAVY = ("scipy", "numba", "sqlalchemy", "OCP", "pint", "typst")


def said(size: str, material: str = "s275", **more: object) -> str:
    return "\n".join(hole_lines(actions.hole(size, material, **more)))  # type: ignore[arg-type]


def test_a_press_is_told_steps_and_seconds_and_a_mill_a_feed() -> None:
    press, mill = said("10", machine="press"), said("10", machine="knee")
    assert "step 1 of 5 from the slowest" in press and "by hand so that 10 mm take about" in press
    assert "mm/min" not in press and "mm/min" in mill


def test_a_thread_tells_its_height_on_its_base() -> None:
    text = " ".join(said("M5", depth="8 mm").split())
    assert "92 % of the height of thread (H1" in text and "breaks before the thread strips" in text
    assert "8 mm of full thread strip before a screw" in text


def test_cautions_come_with_it() -> None:
    text = said("6", "brass", through=True)
    for word in ("clamp", "Glasses", "against a stop", "manual"):
        assert word in text
    assert "safe" not in text.lower()


def test_a_shop_of_inches_is_told_inches(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(
        'name = "inch shop"\nunits = "in"\n[machines.press]\nname = "press"\nlike = "drill_press"\n'
        '[machines.press.spindle]\nslowest = "500 rpm"\nfastest = "2500 rpm"\nsteps = ["500 rpm", "2500 rpm"]\n'
        'power = { value = "250 W", factor = 2.0, source = "judged" }\n', encoding="utf-8")
    text = said("3/8 in", shop=tmp_path / "shop.toml", depth="1/2 in")
    assert " mm" not in text and "Ø3/8 in" in text and "lbf" in text
    assert "spot Ø1/4 in" in text and "0.006 in off its place" in text      # a spot drill by inches; 0.15 mm
    pilots = re.findall(r"drill Ø(\S+) in,", text)
    assert pilots and all("/" in size for size in pilots)                     # none of the library's drills by mm
    pecked = said("1/4 in", "al_6061", shop=tmp_path / "shop.toml", depth="1 in")
    assert re.search(r"0\.\d\d in at once, then out for the chips every\s+0\.\d\d in", pecked)


def test_inches_for_inch_threads() -> None:
    text = " ".join(said("1/4-20").split())
    assert "Ø5.105 mm (No. 7) or 5.1 mm" in text and "75 % on charts" in text


def test_where_no_length_of_thread_is_enough_it_says_what_is() -> None:
    """In acetal 2.5 diameters of M5 strip long before a screw of class 8.8 breaks; in steel they do not."""
    acetal, steel = (" ".join(said("M5", material, depth="10 mm").split()) for material in ("acetal", "s275"))
    assert "a hand tap cuts about 12.5 mm" in acetal and "insert" in acetal and "insert" not in steel
    assert "oil" not in acetal.split("What can go wrong")[1].split("dry")[0]


def test_what_is_unlikely_gets_no_advice() -> None:
    good = next(risk for risk in actions.hole("M3", "6082").risks if "tap breaks" in risk.what)
    poor = next(risk for risk in actions.hole("M5", "c45").risks if "tap breaks" in risk.what)
    assert good.p is not None and good.p <= 0.01 and not good.instead
    assert poor.p is not None and poor.p > 0.01 and "a drill 0.1 mm wider" in poor.instead


def instead(size: str, material: str, **more: object) -> str:
    """What is told instead of the last drill as it is."""
    found = actions.hole(size, material, **more)                                # type: ignore[arg-type]
    return next(risk.instead for risk in found.risks if risk.what.startswith(f"Ø{size} mm: "))


def test_what_is_told_instead_can_be_set_and_what_it_brings() -> None:
    """'Lean lighter, a slower step' was told of drills that were fed as thin as they cut, at the slowest step."""
    press = instead("10", "s275", own={"drills": "6 mm", "speed": "900 rpm", "feed": "0.12 mm"})
    assert re.match(r"at 500 rpm, lighter, 10 mm in about \d+ s: about 1 in \d+; a sharp drill$", press)
    mill = instead("12", "s275", machine="small_column", own={"drills": "8 mm", "feed": "0.3 mm"})
    assert re.match(r"(at \d+ rpm, )?fed 0\.\d+ mm a turn: about \d+ in \d+; a sharp drill$", mill)


def test_where_neither_feed_nor_speed_helps_it_says_what_does() -> None:
    """A slower step gives an arm no more push; and there is no slower one than the slowest."""
    assert instead("12", "s275") == "a sharp drill, or a machine with more torque"
    pushed = next(risk for risk in actions.hole("10", "s275", own={"drills": "6 mm"}).risks if "Ø6 mm: " in risk.what)
    assert "all that an arm gives" in pushed.what and "rpm" not in pushed.instead


@pytest.mark.parametrize("size", ["M5", "10", "1/4-20", "4 H7", "csk M4", "clearance M6"])
def test_json_holds_what_outside_programs_rely_on(size: str) -> None:
    found = hole_json(actions.hole(size, "6082", depth="8 mm", through=True))
    text = json.dumps(found, allow_nan=False)
    wanted = {"tap_drill_mm", "engagement", "engagement_length_mm", "torque_nm", "steps", "risks"}
    assert wanted <= json.loads(text).keys()
    if found["kind"] == "thread":
        assert 0.0 < found["engagement"] <= 1.0 and found["engagement_length_mm"] > 0.0 and found["torque_nm"] > 0.0


def test_the_command_loads_nothing_heavy() -> None:
    code = (f"import sys; sys.argv = ['firstoff', 'hole', 'M5', '--material', 's275', '--json']\n"
            f"from firstoff.cli import main\n"
            f"try:\n    main()\nexcept SystemExit as done:\n    assert not done.code, done.code\n"
            f"print(*(name for name in {HEAVY} if name in sys.modules), file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.split() == []
    assert json.loads(done.stdout)["tap_drill_mm"] == 4.2


@pytest.mark.parametrize("words", [["M7", "--material", "s275"], ["M5", "--material", "mithril"],
                                   ["0", "--material", "s275"], ["M5", "--material", "s275", "--depth", "-3 mm"],
                                   ["M5", "--material", "s275", "--machine", "anvil"]])
def test_what_is_not_known_is_told_with_exit_code_2(words: list[str]) -> None:
    command = [sys.executable, "-m", "firstoff", "hole", *words]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2 and done.stdout == ""
    assert "Traceback" not in done.stderr and "(" in done.stderr


def test_a_drill_that_nothing_grips_and_the_machine_cannot_turn_is_told_first() -> None:
    text = " ".join(said("20", through=True).split())
    first, last = text.index("No drill of Ø20 mm here: what grips on the drill press opens to"), text.index("1 spot")
    assert first < text.index("instead: milled round on the") < text.index("bored out") < last
    assert "bring it to Ø20 mm as said above" in text and "drill Ø20 mm" not in text and "comes out about" not in text
    assert "No drill of" not in said("10")
    found = hole_json(actions.hole("20", "s275"))
    assert found["not_drilled"]["diameter_mm"] == 20.0 and len(found["not_drilled"]["instead"]) >= 2
    assert [step["what"] for step in found["steps"]][-1] == "widen"
    assert hole_json(actions.hole("10", "s275"))["not_drilled"] is None


def test_a_drill_thinner_than_the_chuck_closes_to_goes_into_a_pin_chuck() -> None:
    assert "what grips closes to 3 mm: Ø2.5 mm goes into a pin chuck" in " ".join(said("M3", "6082").split()).replace(
        "What", "what")
    assert "pin chuck" not in said("M5", "6082")


def test_small_holes_get_a_small_spot_and_no_torque_of_nothing() -> None:
    text = said("0.8", "brass", machine="light_gantry")
    assert "spot Ø3 mm" in text and ": 0 N m" not in text
    assert "spot Ø3 mm" in said("M3", "6082") and "spot Ø6 mm" in said("M5", "6082")


def test_how_wide_a_drilled_hole_comes_out_is_told_where_it_stays_as_drilled() -> None:
    assert "it comes out about 10.1 mm wide, 10.18 mm at most" in said("10")
    for size in ("M5", "4 H7", "csk M4", "2"):      # tapped, reamed, sunk; and below what the table is of
        assert "comes out about" not in said(size)


def inch_shop(folder: Path) -> Path:
    (folder / "shop.toml").write_text(
        'name = "inch shop"\nunits = "in"\n[machines.press]\nname = "press"\nlike = "drill_press"\n'
        '[machines.press.spindle]\nslowest = "500 rpm"\nfastest = "2500 rpm"\nsteps = ["500 rpm", "2500 rpm"]\n'
        'power = { value = "250 W", factor = 2.0, source = "judged" }\n', encoding="utf-8")
    return folder / "shop.toml"


def test_a_shop_of_inches_is_told_drills_that_it_can_buy_and_a_spread(tmp_path: Path) -> None:
    """Told were 'Ø0.2382 in', for which there is no drill, and 'give or take 0 in'."""
    shop = inch_shop(tmp_path)
    reamed = said("1/4 in H7", shop=shop)
    assert "Ø0.238 in (B)" in reamed and "not among" not in reamed.lower()
    assert "Ø0.1969 in (5 mm)" in said("M6", shop=shop)
    sunk = " ".join(said("csk M4", shop=shop).split())
    assert "give or take 0.003 in" in sunk and "0.006 in by the standard's size" in sunk
    assert "(about grade 5)" in said("1/4-20", shop=shop)


def test_the_same_hole_in_inches_has_the_same_chances(tmp_path: Path) -> None:
    shop = inch_shop(tmp_path)
    inch, metric = (actions.hole(size, "6082", depth=deep, shop=shop) for size, deep in (
        ("1/4 in", "1/2 in"), ("6.35 mm", "12.7 mm")))
    assert [risk.p for risk in inch.risks] == pytest.approx([risk.p for risk in metric.risks])


def test_own_numbers_are_repeated() -> None:
    own = {"drills": "6 mm, 10 mm", "speed": "500 rpm", "feed": "0.1 mm"}
    text = said("10", own=own)
    assert "Your own drills, speed, feed, as given." in text and "drill Ø6 mm" in text
    assert "Your own" not in said("10")


def test_what_is_not_known_of_a_tap_is_said_and_null(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(
        'name = "shop"\n[machines.press]\nname = "press"\nlike = "drill_press"\n[machines.press.spindle]\n'
        'slowest = "500 rpm"\nfastest = "2500 rpm"\npower = { value = "250 W", factor = 2.0, source = "judged" }\n'
        '[materials.titanium]\nname = "titanium"\ngroup = "S"\n', encoding="utf-8")
    answer = actions.hole("M6", "titanium", shop=tmp_path / "shop.toml")
    text = " ".join("\n".join(hole_lines(answer)).split())
    assert "What torque the tap takes in titanium is not known" in text and "tapping_force" in text
    found = hole_json(answer)
    assert found["torque_nm"] is None and found["tap_drill_mm"] == 5.0 and found["p_tap_breaks"] == {}


def test_the_seconds_are_of_a_way_that_one_can_count() -> None:
    assert "10 mm take about" in said("5", "brass", depth="1 mm", through=True)
    thread = " ".join(said("M5", depth="6 mm").split())
    assert "7.6 mm take about" in thread and "7.6 mm deep at its full width" in thread


def test_a_mill_has_a_feed_for_spot_and_countersink_too() -> None:
    told = " ".join(said("csk M4", "6082", machine="knee").split())
    spot, drill, sink = (told.index(word) for word in ("spot Ø", "drill Ø4.5", "countersink 90"))
    for step in (told[spot:drill], told[drill:sink], told[sink:told.index("To Ø9.16")]):
        assert "mm/min" in step


def test_it_says_whose_the_figures_are_and_how_sure() -> None:
    text = " ".join(said("M5", "brass").split())
    assert "force of drilling 780 N/mm2, × and ÷ 1.5, klocke2011" in text
    assert "of tapping 2300 N/mm2, × and ÷ 1.35, tapmaker" in text and "tensile strength" in text
    assert "power at the drill 245 W" in text and "push of an arm" in text
    plain = " ".join(said("5", "acetal", machine="knee").split())
    assert "120 N/mm2, × and ÷ 2, judged" in plain and "tapping" not in plain and "push of the feed" in plain
    whose = hole_json(actions.hole("M5", "brass"))["whose"]
    assert {entry["source"] for entry in whose} >= {"klocke2011", "tapmaker"}


def test_an_unknown_bar_has_no_figure_of_its_own() -> None:
    text = " ".join(said("M5", "unknown_bar").split())
    assert "force of drilling" not in text and "power at the drill" in text


def test_each_risk_has_its_verdict_and_what_is_not_to_be_done_has_none() -> None:
    text = " ".join(said("M5", "s275", depth="4 mm", through=True).split())
    assert "close: Ø4.2 mm: " in text and "good: Ø4.2 mm grabs" in text and "close: the M5 tap breaks" in text
    assert ": Without a spot" not in text and " Without a spot" in text
    found = hole_json(actions.hole("10", "s275"))["risks"]
    assert {risk["verdict"] for risk in found} == {"close", None}
    assert all(risk["verdict"] is None for risk in found if "in one go" in risk["what"])


def test_a_hole_for_a_screw_tells_the_closer_one() -> None:
    assert "Ø5.5 mm is the medium one of ISO 273; the close one is Ø5.3 mm." in said("clearance M5", "6082")
    assert "the close one" not in said("5.5", "6082")


def test_where_a_trial_decides_it_is_told_which() -> None:
    text = " ".join(said("M16", "s275").split())
    assert "can't say: Ø" in text and "To settle it: drill one in a scrap of the same bar" in text
    tap = next(risk for risk in hole_json(actions.hole("M2", "stainless"))["risks"] if "tap breaks" in risk["what"])
    assert tap["verdict"] == "can't say" and "tap one in a scrap" in tap["settle_by"]
