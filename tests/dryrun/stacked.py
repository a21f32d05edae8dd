"""A block milled all round in three settings, with its three sizes: for the tests of sizes and causes."""

from __future__ import annotations

from typing import Any

from firstoff.belief import Belief
from firstoff.checks.base import Case
from firstoff.dryrun.walk import walk
from firstoff.job.models import Job
from firstoff.job.route import Route
from firstoff.shop.models import Shop
from tests.checks import builders

SHOP: Shop = builders.shop()
SIZES = {"width": ("-Y", "+Y", builders.WIDTH), "length": ("-X", "+X", builders.LENGTH),
         "height": ("-Z", "+Z", builders.HEIGHT)}


def job(tolerance: str = "±0.05 mm", **limits: dict[str, Any]) -> Job:
    """Width and length are cut with one cutter in one setting, the height in two."""
    plain = {name: {"kind": "distance", "part": "block", "between": [one, two], "size": f"{size} mm",
                    "tolerance": tolerance, "instrument": "mic"} for name, (one, two, size) in SIZES.items()}
    return builders.job(limits={**plain, **limits})


def route() -> Route:
    """All round and the top in the first setting, the bottom in the second."""
    def cut(number: int, feature: str, where: str, role: str) -> dict[str, Any]:
        return builders.operation(number=number, setting=where, features=[feature], role=role, leaves="0 mm",
                                  removes="0.5 mm", cut={"depth_of_cut": "0.5 mm"})

    zero = {"x": "-X", "y": "-Y"}
    return Route.model_validate({
        "settings": {
            "first": builders.setting(zero=zero | {"z": "-Z"}),
            "second": builders.setting(up=[0, 0, -1], across=[-1, 0, 0], datums=["+Z", "-Y", "-X"],
                                       holding={"rest": "+Z"}, zero=zero | {"z": "+Z"})},
        "operations": {
            **{f"side-{k}": cut(10 * k, f"stock-{k}", "first", "side_finish") for k in (1, 2, 3, 4)},
            "top": cut(50, "stock-6", "first", "face_finish"), "under": cut(60, "stock-5", "second", "face_finish")}})


def cases(wanted: Job | None = None, planned: Route | None = None) -> tuple[Case, ...]:
    """As the dry run walks them."""
    return walk(wanted or job(), SHOP, planned or route(), {"block": builders.block()})


def belief(**changed: float) -> Belief:
    """What is believed in these tests."""
    return builders.belief(**changed)
