"""Own figures in closed form: the middle and spread of the rows, and one doubt where the records left one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.belief import Belief, Key, Rows
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from firstoff.shop.own import with_own

SHOP = load_shop(None)
BOOK = Belief.of(columns_of(SHOP))
STEEL = "s275_hot_rolled"


def learned(*keys: Key, by: float = 1.0, left: float = 0.3) -> Belief:
    """A belief in which these columns have moved by so many deviations, and kept this share of their spread."""
    return BOOK.with_moved({key: left * BOOK.z(key) + by for key in keys})


def logs(rows: Rows) -> tuple[float, float]:
    return float(np.log(rows).mean()), float(np.log(rows).std())


def test_nothing_learned_leaves_the_book() -> None:
    assert with_own(SHOP, BOOK) is SHOP


def test_a_force_is_taken_with_its_bar_and_the_error_of_its_physics() -> None:
    """One figure of middle and spread of the product, by row: three beside each other would doubt three times."""
    belief = learned((f"material:{STEEL}", "drilling_force"), ("discrepancy:drilling", "factor"))
    own = with_own(SHOP, belief)
    force, steel = own.materials[STEEL].drilling_force, own.materials[STEEL]
    rows = belief.value(f"material:{STEEL}", "drilling_force") * belief.value("discrepancy:drilling", "factor")
    middle, sd = logs(rows)
    assert force is not None and force.factor is not None
    assert math.log(force.value) == pytest.approx(middle) and math.log(force.factor) == pytest.approx(sd)
    assert steel.batch is None and "drilling" not in own.discrepancies and "force" in own.discrepancies


def test_what_records_narrow_together_is_narrow() -> None:
    """The bar is stronger in the rows where the physics is less wrong: each stays in doubt, the product does not."""
    bar, off = (f"material:{STEEL}", "drilling_force"), ("discrepancy:drilling", "factor")
    sd = [math.log(getattr(BOOK.column(*key).transform, "factor", 1.0)) for key in (bar, off)]
    belief = BOOK.with_moved({off: -BOOK.z(bar) * sd[0] / sd[1], (f"material:{STEEL}", "batch"): np.zeros(BOOK.rows)})
    force = with_own(SHOP, belief).materials[STEEL].drilling_force
    assert force is not None and force.factor is not None and math.log(force.factor) < 0.02


def test_a_machine_has_what_moved_of_its_class() -> None:
    belief = learned(("class:drill_press", "axis_thrust"), ("machine:drill_press", "power"))
    press, book = with_own(SHOP, belief).machines["drill_press"], SHOP.machines["drill_press"]
    assert press.axis_thrust is not None and book.axis_thrust is None and press.stiffness is None
    assert press.axis_thrust.value == pytest.approx(3600.0, rel=0.05)
    assert press.spindle is not None and book.spindle is not None
    assert press.spindle.power.value == pytest.approx((book.spindle.power.factor or 0.0) * book.spindle.power.value)


def test_stiffness_of_the_class_moves_for_its_machines() -> None:
    found = with_own(SHOP, learned(("class:drill_press", "stiffness_z"))).machines
    assert found["drill_press"].stiffness is not None and found["knee"].stiffness is None
    assert found["drill_press"].stiffness.z.value > found["drill_press"].stiffness.x.value


def test_a_mixture_is_what_its_rows_say() -> None:
    key = ("material:unknown_bar", "which")
    own = with_own(SHOP, BOOK.with_moved({key: np.full(BOOK.rows, 9.0)})).materials["unknown_bar"]
    assert own.one_of == {list(SHOP.materials["unknown_bar"].one_of)[-1]: 1.0}


def test_what_did_not_move_is_as_wide_as_before() -> None:
    """Another bar keeps its spread: force, batch and physics, now in one."""
    own = with_own(SHOP, learned(("machine:drill_press", "power"))).materials["c45"].drilling_force
    book = SHOP.materials["c45"]
    wide = math.sqrt(sum(math.log(of.factor or 1.0) ** 2 for of in
                         (book.drilling_force, book.batch, SHOP.discrepancies["drilling"].factor) if of is not None))
    assert own is not None and own.factor is not None and math.log(own.factor) == pytest.approx(wide, rel=0.1)


def test_a_force_whose_bar_alone_moved_is_not_called_measured() -> None:
    """Words about milling move the strength of the bar; nobody has measured its drilling by that."""
    own = with_own(SHOP, learned((f"material:{STEEL}", "batch")))
    before, after = (of.materials[STEEL].drilling_force for of in (SHOP, own))
    assert before is not None and after is not None
    assert after.value != before.value and after.source == before.source != "measured"
