"""All limits of a part together: the chance that any is out, with the errors that they share counted once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from ..belief import Belief, Rows
from ..checks._chance import discrepancy
from ..checks._locators import Array
from ..checks._surfaces import Line
from ..checks.size import bounds, chance_by_row, group
from ..stack.chance import joint_chance_out
from .sizes import Size

#: places (corners, middles) weighed together, of the limits that are likeliest to be out; the rest is added up,
#: which is never too little
MOST: Final = 16
#: chances that come to less than this in all are added up, not weighed against each other [1]
_RARE: Final = 1e-3


def any_out(sizes: Iterable[Size], belief: Belief) -> Mapping[str, Rows]:
    """Chance by row that any limit of a part is out, by the group that its limits are counted in.

    Args:
        sizes: of a job, as they will come out; those that cannot be followed are left out.
        belief: what is believed.

    Returns:
        For each group [N]: between the likeliest alone and the sum of all.
    """
    groups: dict[str, list[Size]] = {}
    for size in sizes:
        if size.came is not None:
            groups.setdefault(group(size.case.part_name), []).append(size)
    return {name: _of_group(found, belief) for name, found in groups.items()}


def _of_group(sizes: Sequence[Size], belief: Belief) -> Rows:
    alone = [_alone(size, belief) for size in sizes]
    order = sorted(range(len(sizes)), key=lambda k: -float(alone[k].mean()))
    kept: list[int] = []
    for k in order:
        if sum(len(_lines(sizes[i])) for i in (*kept, k)) <= MOST:
            kept.append(k)
    total = np.sum(alone, axis=0)
    if len(kept) < 2:
        return np.asarray(np.minimum(total, 1.0))
    rest = total - np.sum([alone[k] for k in kept], axis=0)
    most = np.max([alone[k] for k in kept], axis=0)
    likely = total > _RARE          # where it is rarer, they need not be told apart
    joint = np.minimum(total, 1.0)
    joint[likely] = np.maximum(_joint([sizes[k] for k in kept], belief, likely), most[likely]) + rest[likely]
    return np.asarray(np.clip(joint, 0.0, 1.0))


def _alone(size: Size, belief: Belief) -> Rows:
    came, limit = size.came, size.case.limit
    assert came is not None and limit is not None
    return chance_by_row(came, belief, *bounds(limit))


def _lines(size: Size) -> tuple[Line, ...]:
    """What each source does to a limit: at its corners, where it has any, else at its middle."""
    assert size.came is not None
    return size.came.found.corners or (size.came.found.middle,)


def _joint(sizes: Sequence[Size], belief: Belief, likely: npt.NDArray[np.bool_]) -> Rows:
    """The scatters of all limits as one covariance at the middle of the rows, wider or narrower by row."""
    lines: list[Line] = []
    offsets, limits, sources = [], [], {}
    for size in sizes:
        came, limit = size.came, size.case.limit
        assert came is not None and limit is not None
        own = _lines(size)
        lines += own
        offsets.append(came.spreads.offset[:, -len(own):])
        limits += [bounds(limit)] * len(own)
        sources.update({name: came.found.sources[name] for name in came.found.names()})
    names = [name for name, source in sources.items() if not source.lasting]
    table = np.array([[line.get(name, 0.0) for name in names] for line in lines]).reshape(len(lines), len(names))
    sd = np.array([sources[name].rows(belief) for name in names]).reshape(len(names), belief.rows)
    typical = np.median(sd, axis=1)
    shared = (table * typical**2) @ table.T
    low, high = (np.array([limit[i] for limit in limits]) for i in (0, 1))
    wide = _wider(table, sd, shared) * discrepancy(belief, "size")
    return joint_chance_out(np.concatenate(offsets, axis=1)[likely], shared, low, high, wide[likely])


def _wider(table: Array, sd: Array, shared: Array) -> Rows:
    """By how much the scatters of a row are larger than at the middle of the rows."""
    total = float(np.trace(shared))
    if total <= 0.0:
        return np.ones(sd.shape[1])
    return np.asarray(np.sqrt((table**2 @ sd**2).sum(axis=0) / total))
