"""One setting with 60 contacts, 30 loads, 2048 rows: where the part settles, loads in order.

Wanted: under 0.5 s on one core. Run with `make benchmark`; only the results are held, never the clock.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from firstoff.holding.contact import UNHELD, Contacts, Push, settle

ROWS, LOADS = 2048, 30


def vise(per_jaw: int = 20, rests: int = 20) -> Contacts:
    """A block of 60 x 40 x 20 between two jaws, on two parallels."""
    along = np.linspace(-0.025, 0.025, per_jaw // 2)
    jaws = [((x, side * 0.02, z), (0.0, -side, 0.0), which) for side, which in ((1.0, -1), (-1.0, 0))
            for z in (0.0025, 0.0075) for x in along]
    below = [((x, y, 0.0), (0.0, 0.0, 1.0), -1) for y in (-0.015, 0.015)
             for x in np.linspace(-0.025, 0.025, rests // 2)]
    point, normal, clamp = (np.array(item) for item in zip(*jaws, *below, strict=True))
    stiff = np.full(len(point), 2.5e6)
    return Contacts(point, normal, stiff, 0.8 * stiff, clamp)


def test_sixty_contacts(benchmark: Any) -> None:
    rng, turn = np.random.default_rng(0), np.linspace(0.0, 2.0 * np.pi, LOADS, endpoint=False)
    friction = rng.lognormal(np.log(0.1), 0.2, (ROWS, 1))
    clamp, force = rng.lognormal(np.log(8000.0), 0.5, (ROWS, 1)), rng.lognormal(np.log(150.0), 0.2, (ROWS, 1))
    load = Push(np.stack([force * np.cos(turn), force * np.sin(turn), 0.3 * force + 0.0 * turn], axis=-1),
                np.array([0.02, 0.0, 0.02]), np.zeros(3))

    def all_of_it() -> Any:
        return settle(vise(), friction, clamp, load, settle(vise(), friction, clamp), quick=True)

    found = benchmark(all_of_it)
    assert (found.unheld < UNHELD).mean() > 0.99
    assert (found.pressing >= 0.0).all()
