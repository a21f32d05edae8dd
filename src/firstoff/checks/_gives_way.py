"""How large a cut's force may grow before a part lifts, tilts or slides in what holds it, by row.

Contact forces grow with the loads, so all depends on the clamp's force over the load, on friction, and on how much
the load lifts for how much it pushes: solved on a small table of the last two, and read between its lines by row.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from ..belief import Rows
from ..holding.contact import Contacts, Push, Settled, free_way, limit_factor, settle
from ..holding.limit_load import limit_load
from ..medians import median, medians

Array = npt.NDArray[np.float64]

#: lines of the table: those that the rows reach are solved
FRICTIONS: Final = (0.0125, 0.025, 0.05, 0.1, 0.2, 0.4, 0.8)
LIFTS: Final = (0.0, 0.25, 0.5, 1.0, 2.0, 4.0)
UP_TO: Final = 10.0               #: times twice friction by clamp, that the table looks up to
#: Searches: with patience or without, and so many times further down.
LOOKS: Final = ((False, 1.0), (True, 1.0), (True, 10.0), (True, 100.0))
LOWEST: Final = 1.05              #: over the least that a search can find: nearer, it may be less
STAGES: Final = 3                 #: of the search: to 1.4 %
LEAST: Final = 4                  #: loads that are followed over the whole table
KEPT: Final = 1024                #: tables of late, since a cut that changes in speed or feed asks for the same
JUST: Final = 0.95                #: of what is borne, where it is asked which contact lets go first
LEFT: Final = 0.01                #: share of its pressure below which a contact has let go
LET_GO: Final = 2.0               #: what such a contact counts as
TURNS: Final = 8                  #: directions of the push in the plane
_ENDS: Final = (1.0, 99.0)        #: per cent of the rows that the table's lines span


@dataclass(frozen=True)
class Cutting:
    """What a cut does to the part, SI.

    Fields:
        push: main force by row, sideways or down [N].
        ways: directions of it [1], shape (L, 3).
        lift: direction of what comes with it [1], shape (3,).
        share: of the lift, by row, over the push [1].
        points: where it acts [m], shape (L, 3).
        arm: moment about each direction over the push [m], shape (L, 3).
    """

    push: Rows
    ways: Array
    lift: Array
    share: Rows
    points: Array
    arm: Array

    def unit(self, share: Array) -> Push:
        """The loads for a push of 1 N, at some shares of lift [R]."""
        force = self.ways[None] + share[:, None, None] * self.lift
        return Push(force, self.points[None], self.arm[None])


@dataclass(frozen=True)
class Way:
    """How a part gives way first.

    Fields:
        bears: push that it bears, by row [N].
        load: which of the loads is the worst.
        shift: how the loaded point goes when it gives way [m], shape (3,).
        turn: how the part turns then [rad], shape (3,).
        moves: how far the loaded point moves under the load while it holds, by the middle of the rows [m].
        stays: how much of that is left when the load is gone: what had slid does not come back [m].
        used: by contact, just before it gives way: rubbing over what pressure and friction allow; above 1 where it
            has let go; nought where nothing pressed from the start [1], shape (C,).
    """

    bears: Rows
    load: int
    shift: Array
    turn: Array
    moves: float
    stays: float
    used: Array


def gives_way(contacts: Contacts, friction: Rows, clamp: Rows, cutting: Cutting) -> Way:
    """The push that a part bears, by row, and how it gives way above it.

    Args:
        contacts: where it is touched [m].
        friction: by row, alike at all contacts [1].
        clamp: force of each clamp, by row [N]; all alike.
        cutting: what the cut does.
    """
    held, worst = _bears(contacts, friction, clamp, cutting)
    return _told(contacts, median(friction), median(clamp), cutting, held, worst)


def push_borne(contacts: Contacts, friction: Rows, clamp: Rows, cutting: Cutting) -> Rows:
    """The push that a part bears, by row [N], as `gives_way` has it."""
    return _bears(contacts, friction, clamp, cutting)[0]


def _bears(contacts: Contacts, friction: Rows, clamp: Rows, cutting: Cutting) -> tuple[Rows, int]:
    frictions, shares = _lines(friction, FRICTIONS), _lines(cutting.share, LIFTS)
    table, worst = _table(contacts, cutting, frictions, shares)
    return clamp * _between(frictions, shares, np.maximum(table, 1e-9), friction, cutting.share), worst


def at_most(contacts: Contacts, friction: float, clamp: float, cutting: Cutting, load: int) -> float:
    """The push that no spread of pressure over these contacts could bear: above it the part moves [N].

    Args:
        contacts: where it is touched [m].
        friction: at all contacts [1].
        clamp: force of each clamp [N].
        cutting: what the cut does.
        load: which of its loads.
    """
    unit = cutting.unit(np.array([median(cutting.share)]))
    push = Push(unit.force[0, load], cutting.points[load], cutting.arm[load])
    return limit_load(contacts, np.full(len(contacts.point), friction), np.full(contacts.clamps, clamp), push)


def loose_way(contacts: Contacts) -> Array | None:
    """The way in which a part may move although everything presses; None where it is held."""
    return free_way(contacts)


#: tables of late by what they are computed from: push borne for each newton of clamp, and the worst of the loads
tables: dict[str, tuple[Array, int]] = {}


def _table(contacts: Contacts, cutting: Cutting, frictions: Array, shares: Array) -> tuple[Array, int]:
    """Push borne for each newton of clamp, by friction and share of lift, and which of the loads is the worst."""
    asked = (*contacts, cutting.ways, cutting.lift, cutting.points, cutting.arm, frictions, shares)
    said = b"|".join(np.ascontiguousarray(item).tobytes() for item in asked)
    key = hashlib.blake2b(said, digest_size=16).hexdigest()
    if key not in tables:
        while len(tables) >= KEPT:
            tables.pop(next(iter(tables)))
        tables[key] = _solved(contacts, cutting, frictions, shares)
    return tables[key]


def _solved(contacts: Contacts, cutting: Cutting, frictions: Array, shares: Array) -> tuple[Array, int]:
    """All loads in the middle of the table, then the few that are borne least on all of it."""
    middle = _borne(contacts, cutting, frictions[len(frictions) // 2:][:1], shares[len(shares) // 2:][:1])[0]
    least = np.argsort(middle)[:LEAST]
    mu, share = (item.ravel() for item in np.meshgrid(frictions, shares, indexing="ij"))
    few = replace(cutting, ways=cutting.ways[least], points=cutting.points[least], arm=cutting.arm[least])
    found = _borne(contacts, few, mu, share)
    worst = int(least[np.argmin(medians(found, 0))])
    return found.min(axis=1).reshape(len(frictions), len(shares)), worst


def _borne(contacts: Contacts, cutting: Cutting, mu: Array, share: Array) -> Array:
    """Push borne for each newton of clamp, by row of friction and share, and by load.

    The search looks so many times up and down from a guess. What seems to bear less is looked for once more with
    patience, and then below.
    """
    unit, guess = cutting.unit(share), 2.0 * mu * contacts.clamps
    found = np.zeros((len(mu), unit.force.shape[-2]))
    below = np.ones(found.shape, dtype=np.bool_)
    for patient, down in LOOKS:
        sure = (guess / down)[:, None]
        grown = Push(unit.force * sure[..., None], unit.point, unit.moment * sure[..., None])
        factor = limit_factor(contacts, mu[:, None], np.ones((len(mu), contacts.clamps)), grown, UP_TO, STAGES,
                              quick=True, patient=patient)
        found = np.where(below, factor * sure, found)
        below &= (factor > 0.0) & (factor < LOWEST / UP_TO)
        if not below.any():
            break
    return np.asarray(found)


def _lines(rows: Rows, lines: tuple[float, ...]) -> Array:
    """The lines of a table between which most of the rows lie."""
    low, high = np.percentile(rows, _ENDS)
    first = max(int(np.searchsorted(lines, low, side="right")) - 1, 0)
    last = min(max(int(np.searchsorted(lines, high)), first), len(lines) - 1)
    return np.array(lines[first:last + 1])


def _between(frictions: Array, shares: Array, table: Array, friction: Rows, share: Rows) -> Rows:
    """The table read between its lines: logarithms of what is borne by that of friction, straight by share."""
    i, u = _place(np.log(frictions), np.log(np.maximum(friction, 1e-9)))
    j, v = _place(shares, share)
    log = np.log(table)
    i2, j2 = np.minimum(i + 1, len(frictions) - 1), np.minimum(j + 1, len(shares) - 1)
    near = log[i, j] * (1.0 - v) + log[i, j2] * v
    far = log[i2, j] * (1.0 - v) + log[i2, j2] * v
    return np.asarray(np.exp(near * (1.0 - u) + far * u))


def _place(lines: Array, rows: Rows) -> tuple[npt.NDArray[np.intp], Rows]:
    """Between which lines rows lie, and how far; beyond the last ones on their slope."""
    if len(lines) == 1:
        return np.zeros(len(rows), dtype=np.intp), np.zeros(len(rows))
    i = np.clip(np.searchsorted(lines, rows) - 1, 0, len(lines) - 2)
    return i, np.asarray((rows - lines[i]) / (lines[i + 1] - lines[i]))


def _told(contacts: Contacts, friction: float, clamp: float, cutting: Cutting, bears: Rows, worst: int) -> Way:
    """The same at the middle of the rows: how far it moves under the load, and which way it goes above the limit."""
    unit = cutting.unit(np.array([median(cutting.share)]))
    sizes = np.array([median(cutting.push), 1.3 * median(bears), JUST * median(bears)])
    load = Push(unit.force[:, worst:worst + 1] * sizes[None, :, None], cutting.points[worst],
                cutting.arm[worst] * sizes[None, :, None])
    mu, clamps = np.array([[friction]]), np.full((1, contacts.clamps), clamp)
    before = settle(contacts, mu, clamps)
    after = settle(contacts, mu, clamps, load, before)
    point = cutting.points[worst]
    moved = after.moved(point)[0] - before.moved(point)
    freed = settle(contacts, mu, clamps, Push(np.zeros((1, 1, 3)), np.zeros(3), np.zeros(3)),
                   Settled(*(field[:, 0] for field in after)))
    stays = float(np.linalg.norm(freed.moved(point)[0, 0] - before.moved(point)[0]))
    return Way(bears, worst, moved[1], after.turn[0, 1] - before.turn[0], float(np.linalg.norm(moved[0])), stays,
               _used(before, after, friction))


def _used(before: Settled, after: Settled, friction: float) -> Array:
    """Rubbing over what pressure and friction allow, by contact, under the last of the loads."""
    pressed, pressing = before.pressing[0], after.pressing[0, -1]
    rubs = np.linalg.norm(after.rubbing[0, -1], axis=-1)
    used = np.where(pressing > LEFT * pressed, rubs / np.maximum(friction * pressing, 1e-12), LET_GO)
    return np.where(pressed > LEFT * max(pressed.sum(), 1e-12), used, 0.0)
