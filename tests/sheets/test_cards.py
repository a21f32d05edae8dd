"""What stands on a setting's sheet and on an operation's card."""

from __future__ import annotations

from dataclasses import replace

from firstoff.sheets.cards import TAP, not_met, numbers_in_words, operation_card, setting_sheet, settling
from tests.sheets import made

RESULT = made.result()


def card(key: str) -> dict[str, object]:
    return operation_card(RESULT, key, RESULT.route.operations[key])


def test_a_card_names_its_first_to_go_with_odds_and_verdict() -> None:
    first = card("bottom face_rough")["first"]
    assert isinstance(first, dict)
    assert (first["title"], first["odds"], first["verdict"]) == ("tool pushed off", "about 1 in 10", "no good")
    assert first["instead"] == ["0.3 mm deep, not 0.5 mm: then spoiled about 1 in 120, 1.5 min more"]


def test_the_worst_verdict_of_an_operation_stands_on_its_card() -> None:
    assert [card(k)["verdict"] for k in ("bottom face_rough", "holes drill", "holes tap")] == [
        "no good", "close", "not checked"]
    assert card("bottom face_rough")["shade"] is True


def test_where_nothing_was_checked_no_chance_is_told() -> None:
    """'Not checked' and 'rarer than 1 in 1000' beside each other would say that all is well."""
    assert [card(k)["odds"] == "not known" for k in ("bottom face_rough", "holes drill", "holes tap")] == [
        False, False, True]


def test_what_cannot_be_told_says_what_would_tell() -> None:
    cannot = card("bottom face_rough")["cannot"]
    assert isinstance(cannot, list) and cannot[0]["odds"] == "not known"
    assert settling(RESULT) == [("10", "a test cut")]


def test_numbers_that_follow_each_other_are_drawn_together() -> None:
    assert numbers_in_words(RESULT, [10, 20, 30]) == "10–30"
    assert numbers_in_words(RESULT, [10, 30, 40]) == "10, 30, 40"


def test_names_are_those_of_the_own_part() -> None:
    assert card("step-1 face_rough")["what"] == "step-1"
    own = made.result()
    own.job.parts["body"].names["ledge"] = "step-1"
    assert operation_card(own, "step-1 face_rough", own.route.operations["step-1 face_rough"])["what"] == (
        "ledge (step-1)")


def test_a_rule_that_is_not_met_stands_on_its_sheet_alone() -> None:
    assert not_met(RESULT, "body-1") == []
    assert not_met(RESULT, "body-2") == not_met(RESULT) == ["operation 30: the part is held by hand only"]
    assert setting_sheet(RESULT, "body-1", (1, 2))["rules"] == ["against the stop, so that it cannot be pulled"]


def test_holes_are_told_by_number_and_size_and_by_the_systems_unit() -> None:
    assert card("holes drill")["what"] == "4 holes Ø3.3 mm"
    inch = made.result(units="in")
    told = operation_card(inch, "holes drill", inch.route.operations["holes drill"])
    assert told["what"] == "4 holes Ø0.1299 in" and " mm" not in str(told["numbers"])


def test_how_it_is_held_says_all_that_is_needed() -> None:
    held = dict(setting_sheet(RESULT, "body-2", (2, 2))["held"])
    assert held["rests"] == "-Z down, on parallels 10 mm high"
    assert held["datums"] == "A = -Z, B = +Y, C = -X"
    assert held["stop"] == "against -X" and held["how tight"] == "hand, firm"
    assert held["zero"] == "x at -X, y at +Y, z at -Z, by edge finder"
    assert "parallel" in held["try first"] and "hand on the part" in held["let go"]


def test_hand_work_has_no_pencil_boxes_for_a_spindle() -> None:
    assert card("holes tap")["pencil"] == ["size", "seen, heard"]


def test_the_cautions_of_material_and_tap_stand_where_the_hand_is() -> None:
    name = next(op.setting for op in RESULT.route.operations.values() if op.role == "tap")
    said = setting_sheet(RESULT, name, (1, 2))["cautions"]
    material = RESULT.shop.materials[RESULT.job.parts[RESULT.route.settings[name].workpiece].material]
    assert set(material.cautions) <= set(said)
    assert TAP in said
    other = next(key for key in RESULT.route.settings if key != name)
    assert TAP not in [text for _, text in setting_sheet(RESULT, other, (1, 2))["held"]]


def test_a_new_tool_and_a_wait_stand_on_the_card() -> None:
    key = "bottom face_rough"
    changed = RESULT.route.operations[key].model_copy(update={"fresh": True, "cooling": 300.0})
    told = operation_card(RESULT, key, changed)
    assert str(told["tool"]).endswith(": a new one") and not str(card(key)["tool"]).endswith("new one")
    assert "leave it to cool for 5 min before measuring" in told["notes"]


def test_a_settings_sheet_tells_of_its_checks_what_is_not_good() -> None:
    own = made.result()
    one = own.checks[0]
    found = replace(one.finding, subject="setting", name="body-1")
    placed = [replace(one, setting="body-1", finding=found, verdict=said)
              for said in ("good", "no good")]
    told = setting_sheet(replace(own, checks=tuple(placed)), "body-1", (1, 2))["checks"]
    assert isinstance(told, list) and [check["verdict"] for check in told] == ["no good"]
