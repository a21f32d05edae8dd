"""Holding beside what others measured: friction in jaws, strength of glue, work that moved in a vise or did not."""

from __future__ import annotations

import csv
import math
from typing import Any

import pytest

from firstoff.shop.library import library
from firstoff.shop.models import Figure
from tests.cutting.shared import SHARED
from tests.published import agrees, predicted

NINETY = 1.645


def rows(name: str) -> list[dict[str, str]]:
    path = SHARED / "measured" / name
    if not path.exists():
        pytest.skip(f"{name} is not there: set FIRSTOFF_SHARED to the folder of published tables")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def interval(figure: Figure, share: float = 1.0) -> tuple[float, float, float]:
    assert figure.factor is not None
    wide = math.exp(NINETY * math.log(figure.factor))
    return share * figure.value / wide, share * figure.value, share * figure.value * wide


def device(name: str) -> Any:
    return library().models["devices"][name]


def test_friction_of_smooth_and_of_rough_jaws() -> None:
    inside = []
    for row in rows("jaw_friction.csv"):
        jaw, work = row["jaw_surface"], row["workpiece_surface_steel"]
        name = {"smooth": "vise_100", "diamond": "bench_vise"}.get(jaw)
        if name is None or not work:
            continue
        inside.append(predicted("holding", f"friction, {work} steel in {jaw} jaws", "jawtable",
                                interval(device(name).friction), float(row["mu"]), "1"))
    assert len(inside) == 6 and sum(inside) >= 5


def test_strength_of_quick_glue() -> None:
    inside = []
    for row in rows("cyanoacrylate_shear.csv"):
        metal = row["substrates"] in ("steel-steel", "aluminum-aluminum")
        low, median, high = interval(device("carrier").glue_strength, 1.0 if metal else 0.5)
        inside.append(predicted("glue", f"{row['substrates']} after {row['age']}, table 10.16", "petrie",
                                (low / 1e6, median / 1e6, high / 1e6), float(row["shear_MPa"]), "N/mm2"))
    assert len(inside) == 15 and sum(inside) >= 12


def test_what_moved_in_the_vise_was_what_was_cut_faster_and_held_less() -> None:
    """No force is told there: only that the load goes with the feed and the hold with the clamp's pressure."""
    runs = [(float(r["feed_mm_s"]) / float(r["clamp_pressure_bar"]), r["completed_without_moving_in_vise"] == "no")
            for r in rows("clamp_moved_wax.csv")]
    pairs = [(a, b) for a, moved in runs if moved for b, stayed in runs if not stayed]
    order = sum(1.0 if a > b else 0.5 if a == b else 0.0 for a, b in pairs) / len(pairs)
    agrees("holding", "wax: pairs of a run that moved and one that did not, in the order of feed over clamp pressure",
           "wax2018", 1.0, order, "1", within=0.15, measured=True)


def test_how_far_the_statics_are_out_is_what_was_published() -> None:
    """At rest over sliding, clean and dry, of what is gripped in steel jaws; and 7 % in the mean of a slow pull."""
    pairs = {"mild steel": (0.74, 0.57), "hard steel": (0.78, 0.42), "aluminium": (0.61, 0.47),
             "copper": (0.53, 0.36), "brass": (0.51, 0.44)}
    shaken = math.sqrt(sum(math.log(rest / slides) ** 2 for rest, slides in pairs.values()) / len(pairs))
    slow = 0.07 * math.sqrt(math.pi / 2.0)            # mean of the size of an error to its standard deviation
    figure = library().discrepancies.kinds["holding"].factor
    assert figure.factor == pytest.approx(math.exp(math.hypot(shaken, slow)), abs=0.005)
