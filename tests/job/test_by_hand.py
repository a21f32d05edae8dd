"""Settings at the bench: as the part lies elsewhere, and only where there is a bench."""

from __future__ import annotations

from firstoff.job.by_hand import TOGETHER, by_hand
from firstoff.job.route import Setting
from tests.checks import builders


def like() -> Setting:
    return Setting.model_validate(builders.setting())


def test_it_lies_as_in_the_setting_that_it_is_like() -> None:
    made = by_hand(builders.shop(), like(), "block+lid", TOGETHER, "nothing is cut")
    assert made is not None and made.machine == "bench" and made.workpiece == "block+lid"
    assert (made.up, made.across, made.datums, made.holding.rest) == (
        like().up, like().across, like().datums, like().holding.rest)
    assert made.notes == (TOGETHER,) and made.zero.by == "nothing is cut" and made.holding.grip == ()


def test_a_device_that_goes_on_the_bench_comes_before_a_bare_hand() -> None:
    shop = builders.shop()
    vise = shop.devices["vise"].model_copy(update={"machines": ("hand",)})
    made = by_hand(shop.model_copy(update={"devices": {**shop.devices, "vise": vise}}), like(), "block", "", "")
    assert made is not None and made.holding.device == "vise"


def test_none_without_a_bench() -> None:
    shop = builders.shop()
    machines = {name: machine for name, machine in shop.machines.items() if name != "bench"}
    assert by_hand(shop.model_copy(update={"machines": machines}), like(), "block", "", "") is None
