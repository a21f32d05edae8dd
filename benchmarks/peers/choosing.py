"""The plain way to choose a cut: every depth with every width, speed and feed, each looked at."""

from __future__ import annotations

from itertools import product

from firstoff.dryrun.choosing import VARIED, Candidate, Chooser


def cheapest_of_all(chooser: Chooser, weight: float = 0.0) -> Candidate:
    """The least cost over the whole grid that the search walks over."""
    case, search = chooser.case, chooser.search
    values = {name: list(dict.fromkeys(getattr(cut, name) for cut in vary(case, case.op.cut, search)))
              for name, vary in VARIED.items() if name not in search.fixed}
    grid = (dict(zip(values, chosen, strict=True)) for chosen in product(*values.values()))
    cuts = (case.op.cut.model_copy(update=chosen) for chosen in grid)
    return min((chooser.look(cut) for cut in cuts), key=lambda found: chooser.cost(found, weight))
