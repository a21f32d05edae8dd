"""All limits of a part together: the chance that any is out, with the errors that they share counted once.

Each limit by itself is known in every row. How much of their sum is the same parts counted twice is weighed in some
of the rows, whose own errors say which limits go out together, and holds for rows of a like sum.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks._chance import discrepancy
from ..checks._locators import Array
from ..checks._makers import Broken
from ..checks._surfaces import Line
from ..checks.base import Case, Finding
from ..checks.size import Expected, bounds, chance_by_row, expected, group
from ..errors import NameUnknown
from ..stack.chance import joint_chance_out
from .findings import Findings, write_atomically
from .sizes import Size

#: places (corners, middles) weighed together, of the limits that are likeliest to be out; the rest is added up,
#: which is never too little
MOST: Final = 16
#: rows in which they are weighed, and points that each of these looks at as a share of all
WEIGHED: Final = 256
POINTS: Final = 32
#: rows of a like sum over which what is counted twice is taken together
ALIKE: Final = 16
#: chances that come to less than this in all are added up, not weighed against each other [1]
_RARE: Final = 1e-3

_Limits = list[tuple[Case, Rows]]       #: limits of one part, each with its chance by row


def any_out(sizes: Iterable[Size], belief: Belief) -> Mapping[str, Rows]:
    """Chance by row that any limit of a part is out, by the group that its limits are counted in.

    Args:
        sizes: of a job, as they will come out; those that cannot be followed are left out.
        belief: what is believed.

    Returns:
        For each group [N]: between the likeliest alone and the sum of all.
    """
    groups: dict[str, _Limits] = {}
    for size in sizes:
        if size.came is not None and size.case.limit is not None:
            alone = chance_by_row(size.came, belief, *bounds(size.case.limit))
            groups.setdefault(group(size.case.part_name), []).append((size.case, alone))
    return _of_groups(groups, belief)


def counted_once(found: Iterable[tuple[Finding, Case]], belief: Belief) -> Mapping[str, Rows]:
    """The same of findings of a check: what each limit comes to is known already.

    Args:
        found: findings with their cases; those that are no sizes are left out.
        belief: what is believed.
    """
    groups: dict[str, _Limits] = {}
    for finding, case in found:
        if finding.check == "size" and finding.p_rows is not None and case.limit is not None:
            groups.setdefault(finding.joint_group, []).append((case, finding.p_rows))
    return _of_groups(groups, belief)


def kept_once(found: Sequence[tuple[Finding, Case]], store: Findings, folder: Path | None) -> Mapping[str, Rows]:
    """As counted_once, remembered by what it was found with.

    Args:
        found: findings with their cases.
        store: from which the findings are, with what is believed.
        folder: where it is kept; None for nowhere.
    """
    sizes = [(finding, case) for finding, case in found if case.limit is not None]
    if folder is None or not sizes:
        return counted_once(sizes, store.belief)
    hasher = hashlib.blake2b(store.belief.digest.encode(), digest_size=16)
    for finding, case in sizes:
        hasher.update(f"{store.keys(case)}|{finding.reads}".encode())
    file = folder / hasher.hexdigest()
    if file.is_file() and (known := _from_bytes(file.read_bytes(), store.belief.rows)) is not None:
        return known
    once = counted_once(sizes, store.belief)
    folder.mkdir(parents=True, exist_ok=True)
    blocks = [np.asarray(rows, dtype="<f8").tobytes() for rows in once.values()]
    write_atomically(file, b"".join([json.dumps(list(once)).encode(), b"\n", *blocks]))
    return once


def _from_bytes(raw: bytes, rows: int) -> Mapping[str, Rows] | None:
    """What was kept; None for half a file."""
    line, _, body = raw.partition(b"\n")
    try:
        names = json.loads(line)
        return dict(zip(names, np.frombuffer(body, dtype="<f8").reshape(len(names), rows), strict=True))
    except ValueError:
        return None


def _of_groups(groups: Mapping[str, _Limits], belief: Belief) -> Mapping[str, Rows]:
    some = np.arange(0, belief.rows, max(belief.rows // WEIGHED, 1))
    thin = belief.some(WEIGHED)
    return {name: _of_group(limits, thin, some) for name, limits in groups.items()}


def _of_group(limits: _Limits, thin: Belief, some: np.ndarray[tuple[int], np.dtype[np.intp]]) -> Rows:
    alone = np.array([p for _, p in limits])
    total, most = np.minimum(alone.sum(axis=0), 1.0), alone.max(axis=0)
    if len(limits) < 2 or float(total[some].max()) <= _RARE:
        return np.asarray(total)
    kept, came = _weighed([limits[k][0] for k in np.argsort(-alone.mean(axis=1))], thin)
    if len(kept) < 2:
        return np.asarray(total)
    names = [case.name for case in kept]
    own = np.array([p[some] for case, p in limits if case.name in names])
    rest = alone[:, some].sum(axis=0) - own.sum(axis=0)
    joint = np.clip(_joint(kept, came, thin), own.max(axis=0), 1.0) + rest
    sure = (total > most) & (total > _RARE)
    share = _by_total(alone[:, some].sum(axis=0), np.clip(joint, most[some], total[some]) - most[some],
                      total[some] - most[some], np.minimum(alone.sum(axis=0), len(limits)))
    return np.asarray(np.where(sure, most + share * (total - most), total))


def _by_total(at: Rows, joint: Rows, whole: Rows, wanted: Rows) -> Rows:
    """What of the sum beyond the likeliest is not counted twice, by how large the sum is: from some rows for all."""
    order = np.argsort(at)
    each = np.array_split(order, max(len(order) // ALIKE, 1))
    share = [float(joint[part].sum() / whole[part].sum()) if whole[part].sum() > 0.0 else 1.0 for part in each]
    return np.asarray(np.interp(wanted, [float(at[part].mean()) for part in each], share))


def _weighed(cases: Sequence[Case], thin: Belief) -> tuple[list[Case], list[Expected]]:
    """The likeliest limits that are weighed together, and what each is made of."""
    kept, came, places = [], [], 0
    for case in cases:
        try:
            found = expected(case, thin)
        except (Broken, NameUnknown):
            continue
        if places + len(_lines(found)) <= MOST:
            kept.append(case)
            came.append(found)
            places += len(_lines(found))
    return kept, came


def _lines(came: Expected) -> tuple[Line, ...]:
    """What each source does to a limit: at its corners, where it has any, else at its middle."""
    return came.found.corners or (came.found.middle,)


def _joint(cases: Sequence[Case], came: Sequence[Expected], belief: Belief) -> Rows:
    """The chance in each row that any place is out, by the row's own errors."""
    lines = [line for one in came for line in _lines(one)]
    offsets = np.concatenate([one.spreads.offset[:, -len(_lines(one)):] for one in came], axis=1)
    limits = np.array([bounds(case.limit) for case, one in zip(cases, came, strict=True) if case.limit is not None
                       for _ in _lines(one)])
    sources = {name: one.found.sources[name] for one in came for name in one.found.names()}
    names = [name for name, source in sources.items() if not source.lasting]
    table = np.array([[line.get(name, 0.0) for name in names] for line in lines]).reshape(len(lines), len(names))
    sd = np.array([np.broadcast_to(sources[name].rows(belief), belief.rows) for name in names])
    wide = sd.reshape(len(names), belief.rows) * discrepancy(belief, "size")
    return joint_chance_out(offsets, _covariances(table, wide), limits[:, 0], limits[:, 1], points=POINTS)


def _covariances(table: Array, sd: Rows) -> Array:
    """Covariance of all places in each row [m2], shape (N, K, K)."""
    each = table[None] * sd.T[:, None, :]
    return np.asarray(each @ each.transpose(0, 2, 1))
