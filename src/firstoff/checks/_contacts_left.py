"""Which contacts are left while an operation cuts: a program may mill away what the part is held by. In mm.

A small square of a contact is gone when the cutter has been where the metal behind it was. A program is looked at in
a few stretches, each with the contacts that are left when it ends and with the forces of its own windows. What is
gone stays gone for all that is milled, drilled or tapped after it in the same setting.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from ..kept import kept
from ._forces import is_milling
from ._patches import Array, Patch
from ._touching import JAWS, PRESSED, device_of, grip_said, touching
from .base import Case
from .si import millimetres, working_diameter

BEHIND: Final = 0.5           #: metal behind a contact that must stand for it to bear [mm]; judged
STRETCHES: Final = 4          #: in which the contacts that go are told apart
MOST: Final = 5_000_000       #: windows by squares that are looked at; beyond, fewer squares stand for all
CHUNK: Final = 64             #: windows at a time: those that follow each other lie close together
GONE: Final = 0.02            #: share of a point's squares below which nothing touches there
_HEIGHTS: Final = 12          #: above the tip, at which the outline of a cutter is read
_CLEAR: Final = 1e-9
_ROUND: Final = 4             #: decimals by which a square is known again


class Stage(NamedTuple):
    """A stretch of an operation.

    Fields:
        case: of its windows alone.
        patches: contacts that are left when it ends.
        line: of the program where it begins; 0 without a program, or from the start.
        least: the thing of which the smallest share is left, and that share [1].
        before: whether programs before it in its setting have milled some of the contacts away.
    """

    case: Case
    patches: tuple[Patch, ...]
    line: int = 0
    least: tuple[str, float] = ("", 1.0)
    before: bool = False


def stages(case: Case) -> Iterator[Stage]:
    """The stretches of a milling operation in which the part is held by the same contacts.

    Args:
        case: with windows. Without a program all of it is one stretch, with what is left when it is done.
    """
    if case.run is None or case.windows is None:
        yield as_left(case, done=True)
        return
    milled = milled_before(case)
    patches, gone = _milled_away(case)
    ends = _ends(patches, gone, len(case.windows))
    before = -1
    for end in ends:
        mine = np.zeros(len(case.windows), dtype=np.bool_)
        mine[before + 1:end + 1] = True
        here = patches if not _goes(gone, end) else _left(patches, gone, end)
        there = replace(case, windows=case.windows.take(mine)) if not mine.all() else case
        whole = before < 0 and not _goes(gone, end)
        line = 0 if whole else int(case.windows.line[before + 1])
        yield Stage(there, here, line, _least(patches, gone, end), milled)
        before = end


def as_left(case: Case, done: bool = False) -> Stage:
    """All of an operation with the contacts that are left when it begins.

    Args:
        case: any operation.
        done: whether what it makes itself is there already: a drill that comes through.
    """
    at = _done(case) if done else case
    milled = milled_before(case)
    if not milled:
        return Stage(case, touching(at))
    whole, gone = touching(at), gone_before(case)
    kept = [_stand(patch, gone) for patch in whole]
    least = _least(whole, [np.where(stays, 1, 0).astype(np.intp) for stays in kept], 0)
    return Stage(case, _kept(whole, kept), 0, least, True)


def standing(case: Case) -> tuple[Patch, ...]:
    """The contacts that are left when an operation begins: programs before it may have milled some away."""
    return as_left(case).patches


def milled_before(case: Case) -> bool:
    """Whether a program before the operation in its setting has milled away something that holds the part."""
    return any(past.gone for past in case.before if past.setting == case.setting_name)


def gone_before(case: Case) -> frozenset[tuple[float, float, float]]:
    """The cells of contact that programs before it in its setting have milled away, by their middles [mm]."""
    return frozenset(place for past in case.before if past.setting == case.setting_name for place in past.gone)


def _stand(patch: Patch, gone: frozenset[tuple[float, float, float]]) -> npt.NDArray[np.bool_]:
    return np.array([place not in gone for place in _places(patch.cells)], dtype=np.bool_)


def _places(cells: Array) -> list[tuple[float, float, float]]:
    """The squares of a contact by where they are, as they are known from one operation to the next."""
    return [(float(x), float(y), float(z)) for x, y, z in np.round(cells, _ROUND) + 0.0]


def gone_by(case: Case) -> tuple[tuple[float, float, float], ...]:
    """The squares of all contacts that the program of an operation mills away; none without a program."""
    if case.run is None or case.windows is None or not is_held(case) or not is_milling(case):
        return ()
    patches, gone = _milled_away(case)
    return tuple(place for patch, item in zip(patches, gone, strict=True)
                 for place in _places(patch.cells[item < len(case.windows)]))


@kept(64)
def _milled_away(case: Case) -> tuple[tuple[Patch, ...], list[npt.NDArray[np.intp]]]:
    """The contacts when an operation with a program begins, and the window that takes each square of them."""
    patches = standing(case)
    return patches, lost_at(case, patches)


def is_held(case: Case) -> bool:
    """Whether jaws, clamps or screws hold the part, and the setting says by what."""
    return device_of(case).kind in JAWS | PRESSED and grip_said(case)


def _goes(gone: list[npt.NDArray[np.intp]], end: int) -> bool:
    return any((item <= end).any() for item in gone)


def _done(case: Case) -> Case:
    """The same with its own features cut; a face that is milled off moves no jaw."""
    own = {f.id for f in case.part.features if f.kind != "stock" and f.id in case.op.features}
    if case.state is None or not own:
        return case
    return replace(case, state=replace(case.state, cut=case.state.cut | own))


def _ends(patches: tuple[Patch, ...], gone: list[npt.NDArray[np.intp]], windows: int) -> list[int]:
    """The windows at which stretches end: before the first loss, then by shares of all that goes."""
    when = np.concatenate(gone) if gone else np.zeros(0, dtype=np.intp)
    each = np.concatenate([np.full(len(item), patch.area / max(len(item), 1))
                           for patch, item in zip(patches, gone, strict=True)]) if gone else np.zeros(0)
    lost = when < windows
    if not lost.any():
        return [windows - 1]
    order = np.argsort(when[lost])
    share = np.cumsum(each[lost][order]) / each[lost].sum()
    at = [int(when[lost][order][min(int(np.searchsorted(share, k / STRETCHES - _CLEAR)), len(order) - 1)])
          for k in range(1, STRETCHES + 1)]
    first = int(when[lost].min()) - 1
    return sorted({*(end for end in (first, *at) if end >= 0), windows - 1})


def lost_at(case: Case, patches: tuple[Patch, ...]) -> list[npt.NDArray[np.intp]]:
    """For each small square of each patch the window that cuts away what is behind it.

    Args:
        case: an operation with windows and a tool.
        patches: the contacts at its start.

    Returns:
        Numbers of windows, as many as there are windows for a square that stays; shape (M,) each.
    """
    windows = case.windows
    assert windows is not None
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    axes = np.stack([across, np.cross(up, across), up])
    cells = [(patch.cells + BEHIND * patch.normal) @ axes.T for patch in patches]
    none = [np.full(len(item), len(windows), dtype=np.intp) for item in cells]
    every = np.concatenate(cells) if cells else np.zeros((0, 3))
    cuts = (windows.volume > 0.0) & (windows.depth > 0.0)
    tips = windows.point @ axes.T
    if len(every):
        cuts &= tips[:, 2] < every[:, 2].max() - _CLEAR
    near = np.flatnonzero(cuts)
    if not len(every) or not len(near):
        return none
    step = max(1, len(near) * len(every) // MOST)
    picked = np.arange(0, len(every), step)
    found = np.full(len(every), len(windows), dtype=np.intp)
    found[picked] = _swept(case, tips, near, every[picked])
    if step > 1:
        found = found[picked[np.minimum((np.arange(len(every)) + step // 2) // step, len(picked) - 1)]]
    return np.split(found, np.cumsum([len(item) for item in cells])[:-1])


def _swept(case: Case, tips: Array, near: npt.NDArray[np.intp], cells: Array) -> npt.NDArray[np.intp]:
    """The first of the windows near whose cutter goes through each place."""
    windows = case.windows
    assert windows is not None
    heights = np.linspace(0.0, case.tool.diameter, _HEIGHTS)
    radii = np.array([millimetres(working_diameter(case, max(float(h), _CLEAR))) / 2.0 for h in heights])
    found = np.full(len(cells), len(windows), dtype=np.intp)
    half = 0.5 * (windows.s1 - windows.s0)
    for begin in range(0, len(near), CHUNK):
        some = near[begin:begin + CHUNK]
        room = radii.max() + half[some].max()
        low, high = tips[some].min(axis=0) - room, tips[some].max(axis=0) + room
        close = (cells[:, :2] >= low[:2]) & (cells[:, :2] <= high[:2])
        here = np.flatnonzero((found == len(windows)) & close.all(axis=1) & (cells[:, 2] > low[2]))
        if len(here):
            hit = _through(tips[some], windows.direction[some], half[some], cells[here], (heights, radii))
            found[here] = np.where(hit.any(axis=0), some[hit.argmax(axis=0)], len(windows))
    return found


def _through(
    tips: Array, ways: Array, half: Array, cells: Array, outline: tuple[Array, Array]
) -> npt.NDArray[np.bool_]:
    """Whether a cutter goes through each place on each of some straight ways, shape (W, M)."""
    away = cells[None, :, :] - tips[:, None, :]
    along = np.clip((away * ways[:, None, :]).sum(axis=2), -half[:, None], half[:, None])
    away = away - along[:, :, None] * ways[:, None, :]
    reach = np.interp(away[:, :, 2], *outline)
    return np.asarray((away[:, :, 2] > _CLEAR) & (np.hypot(away[:, :, 0], away[:, :, 1]) < reach))


def _left(patches: tuple[Patch, ...], gone: list[npt.NDArray[np.intp]], end: int) -> tuple[Patch, ...]:
    """The contacts after a window: points move to the middle of what is left about them."""
    return _kept(patches, [item > end for item in gone])


def _kept(patches: tuple[Patch, ...], stays: list[npt.NDArray[np.bool_]]) -> tuple[Patch, ...]:
    return tuple(found for patch, mine in zip(patches, stays, strict=True)
                 if (found := _less(patch, mine)) is not None)


def _less(patch: Patch, stays: npt.NDArray[np.bool_]) -> Patch | None:
    if stays.all():
        return patch
    nearest = np.linalg.norm(patch.cells[:, None, :] - patch.points[None, :, :], axis=2).argmin(axis=1)
    points, areas = [], []
    for i in range(len(patch.points)):
        mine = nearest == i
        kept = mine & stays
        if kept.sum() > GONE * mine.sum():
            points.append(patch.cells[kept].mean(axis=0))
            areas.append(patch.areas[i] * kept.sum() / mine.sum())
    if not points:
        return None
    return patch._replace(points=np.array(points), areas=np.array(areas), cells=patch.cells[stays])


def _least(patches: tuple[Patch, ...], gone: list[npt.NDArray[np.intp]], end: int) -> tuple[str, float]:
    """The thing of which the smallest share is left after a window."""
    shares: dict[str, tuple[float, float]] = {}
    for patch, item in zip(patches, gone, strict=True):
        kept, whole = shares.get(patch.name, (0.0, 0.0))
        share = float((item > end).mean()) if len(item) else 1.0
        shares[patch.name] = kept + patch.area * share, whole + patch.area
    found = {name: kept / whole for name, (kept, whole) in shares.items() if whole > 0.0}
    name = min(found, key=lambda key: found[key], default="")
    return (name, found[name]) if name and found[name] < 1.0 else ("", 1.0)
