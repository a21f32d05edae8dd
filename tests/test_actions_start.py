"""A shop and a job started from a page: what is told is kept, a slip names its blank, nothing is overwritten."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.actions_start import MOST_SIGNS, add_part, new_shop, place_of_shop, seen_model, seen_sketch, sketch_file
from firstoff.errors import FirstoffError
from firstoff.job.reading import load_job
from firstoff.shop.library import load_shop

LINES = "block 60 x 40 x 12\nhole M5 through at 10, 20"
PART = {"job": "a bracket", "part": "bracket", "material": "al_6082", "condition": "extruded", "x": "62 mm",
        "y": "42 mm", "z": "14 mm", "units": "mm", "lines": LINES}
SHOP = {"shop": "my shop", "mill": "the mill", "like": "light_gantry", "slowest": "5000 rpm", "fastest": "24000 rpm",
        "power": "800 W", "x": "300 mm", "y": "200 mm", "z": "90 mm", "units": "mm"}


def test_a_sketch_is_drawn_as_it_grows() -> None:
    whole = seen_sketch(LINES, "mm")
    assert (whole.wrong, whole.stock) == ("", ("62 mm", "42 mm", "14 mm"))
    assert whole.svg.startswith("<svg") and "60 × 40 × 12 mm" in whole.lines[0]
    slip = seen_sketch(f"{LINES}\npokket 4", "mm")
    assert slip.line == 3 and "pocket" in slip.wrong
    assert slip.svg == whole.svg
    nothing = seen_sketch("", "mm")
    assert (nothing.svg, nothing.lines) == ("", ()) and "block" in nothing.wrong


def test_reading_a_model_tells_how_far_it_is_and_can_be_stopped(planned_block: Path) -> None:
    told: list[float] = []
    seen_model(planned_block / "block.step", "mm", lambda _what, share: told.append(share))
    assert told and max(told) < 1.0

    def enough(_what: str, _share: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        seen_model(planned_block / "block.step", "mm", enough)


def test_inches_are_inches() -> None:
    assert seen_sketch("block 2 x 1 x 1/2", "in").stock[0] == "2.0787 in"


@pytest.mark.parametrize(("text", "unit", "blank"), [
    ("block 1 x 1 x 1'''\nname = \"x\"", "mm", "lines"), ("block\x00", "mm", "lines"), (LINES, "furlong", "unit"),
    ("x" * (MOST_SIGNS + 1), "mm", "lines"),
])
def test_no_sketch_gets_out_of_its_quotes(text: str, unit: str, blank: str) -> None:
    with pytest.raises(FirstoffError) as caught:
        sketch_file(text, unit, "part")
    assert caught.value.where == blank


def test_a_job_is_started_and_gets_another_part(tmp_path: Path) -> None:
    (tmp_path / ".firstoff").mkdir()
    assert place_of_shop(tmp_path, None) is None
    assert add_part(tmp_path, PART, None) == "bracket"
    add_part(tmp_path, PART | {"part": "lid", "bow": "0.2 mm", "lines": "block 60 x 40 x 6"}, None)
    job = load_job(tmp_path)
    assert job.name == "a bracket"
    assert {name: part.model for name, part in job.parts.items()} == {"bracket": "bracket.toml", "lid": "lid.toml"}
    assert job.parts["lid"].stock.bow == pytest.approx(0.2)
    new_shop(tmp_path, SHOP)
    assert load_job(tmp_path).shop == "shop"
    assert load_job(tmp_path).parts.keys() == {"bracket", "lid"}
    assert place_of_shop(tmp_path, None) == tmp_path / "shop" / "shop.toml"


def test_a_model_is_kept_under_the_part_s_name(tmp_path: Path, planned_block: Path) -> None:
    (tmp_path / ".firstoff").mkdir()
    model = planned_block / "block.step"
    assert seen_model(model, "mm").stock == ("62 mm", "42 mm", "22 mm")
    add_part(tmp_path, PART | {"lines": ""}, model)
    assert (tmp_path / "bracket.step").read_bytes() == model.read_bytes()
    assert load_job(tmp_path).parts["bracket"].model == "bracket.step"


@pytest.mark.parametrize(("slip", "blank"), [
    ({"part": "../x"}, "part"), ({"part": ""}, "part"), ({"job": ""}, "job"), ({"material": "cheese"}, "material"),
    ({"x": "62"}, "x"), ({"y": "-1 mm"}, "y"), ({"z": "tall"}, "z"), ({"lines": "hole 4"}, ""),
    ({"condition": "chewed"}, ""), ({"units": "furlong"}, "unit"),
])
def test_a_slip_names_its_blank_and_leaves_nothing(tmp_path: Path, slip: dict[str, str], blank: str) -> None:
    (tmp_path / ".firstoff").mkdir()
    with pytest.raises(FirstoffError) as caught:
        add_part(tmp_path, PART | slip, None)
    assert caught.value.where == blank or blank == ""
    assert [file.name for file in tmp_path.iterdir()] == [".firstoff"]


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / ".firstoff").mkdir()
    (tmp_path / "bracket.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(FirstoffError, match="already"):
        add_part(tmp_path, PART, None)
    assert (tmp_path / "bracket.toml").read_text(encoding="utf-8") == "mine"
    new_shop(tmp_path, SHOP)
    with pytest.raises(FirstoffError, match="already"):
        new_shop(tmp_path, SHOP | {"mill": "another"})


def test_a_shop_that_was_started_is_used_before_there_is_a_job(tmp_path: Path) -> None:
    assert new_shop(tmp_path, SHOP) == place_of_shop(tmp_path, None)


def test_a_shop_is_as_the_nameplate_says(tmp_path: Path) -> None:
    made = load_shop(new_shop(tmp_path, SHOP))
    spindle = made.machines["mill"].spindle
    assert spindle is not None and spindle.power.value == pytest.approx(800.0)
    assert made.machines["mill"].travel == pytest.approx((300.0, 200.0, 90.0))
    assert {made.classes[one.like].kind for one in made.machines.values()} == {"mill", "drill_press", "hand"}


@pytest.mark.parametrize(("slip", "blank"), [
    ({"slowest": "24000 rpm", "fastest": "5000 rpm"}, "slowest"), ({"power": "big"}, "power"), ({"x": "0 mm"}, "x"),
    ({"power": "0 W"}, "power"), ({"like": "lathe"}, "like"), ({"mill": " "}, "mill"), ({"shop": "a\nb"}, "shop"),
])
def test_a_slip_of_the_shop_names_its_blank(tmp_path: Path, slip: dict[str, str], blank: str) -> None:
    with pytest.raises(FirstoffError) as caught:
        new_shop(tmp_path, SHOP | slip)
    assert caught.value.where == blank
    assert list(tmp_path.iterdir()) == []
