"""Which windows of a long program need their forces in full: those that can be the worst for some row."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Rows
from ..cutting.edge import Profile
from ..cutting.force import Coefficients
from ..cutting.window_force import ManyCuts, ManyForces, many_forces
from ..removal.windows import Windows
from .si import metres

ENOUGH: Final = 48            #: up to so many different windows all are weighed in full
MOST: Final = 24              #: windows kept for their side force, for their torque, and for any row
_SLICES: Final = 10           #: of the deepest window, for this choice only


def worst_windows(
    windows: Windows, kinds: list[tuple[int, float]], law: Coefficients, outline: Profile, teeth: int, helix: float,
) -> list[tuple[int, float]]:
    """The windows that matter, and the seconds that each stands for: those left out go with the nearest in torque.

    Args:
        windows: all windows of an operation [mm].
        kinds: number of each different window that cuts, and the seconds spent in its kind.
        law: the force law by rows.
        outline: of the cutter, SI.
        teeth: number of teeth.
        helix: helix angle [rad].

    Returns:
        As kinds, fewer.
    """
    if len(kinds) <= ENOUGH:
        return kinds
    index = np.array([i for i, _ in kinds])
    seconds = np.array([spent for _, spent in kinds])
    found = many_forces(law, outline, teeth, helix, _cuts(windows, index))
    kept = _kept(found, windows.corner[index])
    nearest = np.abs(found.torque_by_window[:, None] - found.torque_by_window[kept]).argmin(axis=1)
    together = np.bincount(nearest, weights=seconds, minlength=len(kept))
    return [(int(index[k]), float(spent)) for k, spent in zip(kept, together, strict=True)]


def _kept(found: ManyForces, corner: NDArray[np.bool_]) -> NDArray[np.intp]:
    """The worst of any row, the worst by side force and torque, spread samples, and the worst corner."""
    order = np.argsort(found.torque_by_window)
    spread = order[np.linspace(0, len(order) - 1, MOST).astype(np.intp)]
    by_row, times = np.unique(found.worst.astype(np.intp), return_counts=True)
    chosen = [by_row[np.argsort(-times)[:MOST]], np.argsort(-found.side_by_window)[:MOST], order[-MOST:], spread]
    if corner.any():
        chosen.append(np.array([int(np.argmax(np.where(corner, found.side_by_window, -np.inf)))]))
    return np.unique(np.concatenate(chosen))


def _cuts(windows: Windows, index: NDArray[np.intp]) -> ManyCuts:
    """The windows in slices that all share; a slice above a window's depth is out of its cut."""
    depth: Rows = np.asarray(metres(windows.depth[index]), dtype=np.float64)
    thick = float(depth.max()) / _SLICES
    height: Rows = np.asarray(thick * (np.arange(_SLICES) + 0.5), dtype=np.float64)
    entry = np.clip(windows.entry[index], 0.0, np.pi)[:, None] * np.ones(_SLICES)
    leave = np.clip(windows.exit[index], 0.0, np.pi)[:, None] * np.ones(_SLICES)
    if len(windows.slices):
        return _by_slices(windows, index, height, thick)
    inside = height < np.maximum(depth[:, None], thick)
    return ManyCuts(height, np.full(_SLICES, thick), entry, np.where(inside, leave, entry),
                    metres(windows.feed_per_tooth[index]))


def _by_slices(windows: Windows, index: NDArray[np.intp], height: Rows, thick: float) -> ManyCuts:
    """The angles that were counted at each height, from the first entry to the last exit there."""
    slices, row = windows.slices, np.full(len(windows), -1, dtype=np.intp)
    row[index] = np.arange(len(index))
    owner = row[np.repeat(np.arange(len(windows)), np.diff(slices.offsets))]
    entry, leave = np.full((len(index), len(height)), np.pi), np.zeros((len(index), len(height)))
    for k, at in enumerate(height):
        there = (owner >= 0) & (metres(slices.low) <= at) & (metres(slices.high) >= at)
        np.minimum.at(entry[:, k], owner[there], np.clip(slices.entry[there], 0.0, np.pi))
        np.maximum.at(leave[:, k], owner[there], np.clip(slices.exit[there], 0.0, np.pi))
    bare = np.asarray((leave <= entry).all(axis=1))          # no slices: by the window's own angles up to its depth
    deep: Rows = np.asarray(metres(windows.depth[index]), dtype=np.float64)
    inside = (height < np.maximum(deep[:, None], thick)) & bare[:, None]
    entry = np.where(inside, np.clip(windows.entry[index], 0.0, np.pi)[:, None], entry)
    leave = np.where(inside, np.clip(windows.exit[index], 0.0, np.pi)[:, None], leave)
    return ManyCuts(height, np.full(len(height), thick), np.minimum(entry, leave), leave,
                    metres(windows.feed_per_tooth[index]))
