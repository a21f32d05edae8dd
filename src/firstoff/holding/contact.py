"""A rigid part on elastic contacts that press but never pull and rub by Coulomb: does it stay where it was put?

Loads come in order: the clamps are tightened, then the cut pushes. Each contact is a spring square to its face and
one along it; where its clamp is force-controlled (a screw, a strap) a slide moves with it. Beside every contact lies
a spring of `WEAK` its stiffness that never lets go: it keeps a part that nothing holds from flying off, and what it
carries tells how much of the load is held by nothing.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, finite, not_negative

WEAK: Final = 1e-5        #: of a contact's stiffness: what is left of it where it is open or slides
SLIDE: Final = 1e-8       #: a clamp's screw over all contacts: so soft that it keeps its force
UNHELD: Final = 0.003     #: share of a load on the weak springs above which nothing holds it
STEPS: Final = 60         #: of Newton; a part that is held needs about five
TIGHT: Final = {8: 1e-9, 4: 1e-5}     #: balance left over, as a share of the load, by the bytes of a number
EASY: Final = 12          #: of them, after which it goes on in fixed parts of a step: rows that go to and fro
LEAKS: Final = 0.05       #: such a share at a small load is no sliding yet
EASED: Final = (16.0, 8.0, 4.0, 2.0, 1.5, 1.2, 1.0)    #: times friction, one after the other, for rows without a rest
FREE: Final = 1e-9        #: stiffness of a way to move over the stiffest, below which nothing holds it
_TINY: Final = 1e-30
_SECTIONS: Final = 7      #: into which a search cuts its range at a time: all of them are solved together
_CHUNK: Final = 1024      #: problems at a time, so that they stay in the processor's cache


class Contacts(NamedTuple):
    """Where a part is touched.

    Fields:
        point: middle of each patch [m], shape (C, 3).
        normal: into the part [1], shape (C, 3).
        stiffness: square to the face [N/m], shape (C,).
        side_stiffness: along the face [N/m], shape (C,).
        clamp: which clamp presses there, from 0; below 0 what stands still, as words do not scale [1], shape (C,).
    """

    point: Array
    normal: Array
    stiffness: Array
    side_stiffness: Array
    clamp: npt.NDArray[np.intp]

    @property
    def clamps(self) -> int:
        """How many clamps press."""
        return int(max(self.clamp.max(initial=-1) + 1, 0))


class Push(NamedTuple):
    """A load on the part.

    Fields:
        force: [N], shape (..., 3).
        point: where it acts [m], shape (..., 3).
        moment: besides [N m], shape (..., 3).
    """

    force: Array
    point: Array
    moment: Array


class Settled(NamedTuple):
    """Where the part has come to rest.

    Fields:
        shift: of the part at the origin [m], shape (..., 3).
        turn: of the part [rad], shape (..., 3).
        slide: of each clamp, towards the part [m], shape (..., G).
        pressing: force of each contact square to it [N], shape (..., C).
        rubbing: force of each contact along its two directions in the face [N], shape (..., C, 2).
        unheld: share of the load, or of the clamps' force where there is none, that nothing holds [1], shape (...).
    """

    shift: Array
    turn: Array
    slide: Array
    pressing: Array
    rubbing: Array
    unheld: Array

    def moved(self, point: npt.ArrayLike) -> Array:
        """How a point of the part has moved [m], shape (..., 3)."""
        return np.asarray(self.shift + np.cross(self.turn, np.asarray(point, dtype=float)))


class _Frame(NamedTuple):
    """Contacts as matrices: closing and sliding of each by the ways to move, scaled to one length."""

    size: float
    slide: float                 # stiffness of a clamp's screw
    closing: Array               # (C, Q)
    along: Array                 # (2, C, Q)
    pressing: Array              # (Q, C): closing by stiffness
    rubbing: Array               # (2, Q, C): sliding by stiffness
    products: Array              # (6, C, Q * Q): pressing, rubbing by pressing (2), rubbing (3)
    weak: Array                  # (Q, Q)
    stiff: Array
    side: Array


class _Memory(NamedTuple):
    """What a contact remembers of the steps before: its friction and how far it had slid."""

    place: Array                 # (..., Q)
    friction: Array              # (..., 2, C)


def tangents(normal: npt.ArrayLike) -> Array:
    """Two directions in each contact's face, square to one another.

    Args:
        normal: of the contacts [1], shape (C, 3).

    Returns:
        Directions [1], shape (2, C, 3).

    Raises:
        OutOfRange: if a normal is no unit vector.

    Range: any direction.
    Source: own, cross products.
    """
    (out,) = finite(normal=normal)
    if np.abs(np.linalg.norm(out, axis=-1) - 1.0).max(initial=0.0) > 1e-6:
        raise OutOfRange("a normal is not of length 1", right="unit vectors")
    helper = np.where(np.abs(out[:, :1]) < 0.7, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    one = np.cross(out, helper)
    one /= np.linalg.norm(one, axis=-1, keepdims=True)
    return np.stack([one, np.cross(out, one)])


def free_way(contacts: Contacts) -> Array | None:
    """The way in which a part can move although all contacts press and stick.

    Args:
        contacts: where it is touched.

    Returns:
        Shift at the middle of the contacts and turn times their mean distance [1], shape (6,); None where every
        way is held.

    Raises:
        OutOfRange: if a stiffness is negative.

    Range: rigid part.
    Source: own, the smallest eigenvalue of the stiffness.
    """
    if len(contacts.point) == 0:
        return np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0])
    still = contacts._replace(point=contacts.point - contacts.point.mean(axis=0),
                              clamp=np.full(len(contacts.clamp), -1, dtype=np.intp))
    size, way = np.linalg.eigh(_frame(still).weak)
    return np.asarray(way[:, 0]) if size[0] <= FREE * size[-1] else None


def settle(
    contacts: Contacts, friction: npt.ArrayLike, clamp_force: npt.ArrayLike, push: Push | None = None,
    before: Settled | None = None, quick: bool = False, patient: bool = False,
) -> Settled:
    """Where the part comes to rest when clamps press and a load pushes, after what came before.

    Args:
        contacts: where it is touched.
        friction: of each contact [1], shape (N, C) or what broadcasts to it.
        clamp_force: of each clamp [N], shape (N, G).
        push: the load; none while the clamps are tightened; its leading axes (N, L) for L loads apart.
        before: how it had settled before, shape (N, ...); untouched where not given.
        quick: in single precision, to some 1e-5 of the load.
        patient: whether loads that come to no rest are tried again from more friction, too, as clamps always are.

    Returns:
        Settled, of shape (N,) without a load and (N, L) under loads.

    Raises:
        OutOfRange: if friction, stiffness or clamping force is negative, shapes do not fit, or the part can move
            although everything sticks.

    Range: small motions of a rigid part; contacts linear while they touch; pressure and friction stepwise, so the
        order of what is done counts, not its path between.
    Source: own, Newton on the balance of forces of unilateral springs with Coulomb friction (johnson1985, ch. 8 for
        springs that slide).
    """
    mu, clamp = not_negative(friction=friction, clamp_force=clamp_force)
    _check(contacts, clamp)
    if free_way(contacts) is not None:
        raise OutOfRange("the part can move although every contact presses and sticks", right="one contact more")
    kind = np.float32 if quick else np.float64
    frame, rows = _frame(contacts, kind), len(clamp)
    mu = np.broadcast_to(mu.astype(kind), (rows, len(contacts.point)))
    pull = np.zeros((rows, 1, frame.closing.shape[1])) if push is None else _pull(push, frame, rows)
    whole = np.abs(pull).max(axis=-1)
    pull[..., 6:] += clamp[:, None, :]
    whole = whole if push is not None else np.abs(pull).max(axis=-1)
    pull = pull.astype(kind)
    memory = _remember(before, frame, rows)
    found = _settled(frame, whole, memory, _solve(frame, mu, pull, memory, patient))
    return found if push is not None else Settled(*(field[:, 0] for field in found))


def limit_factor(
    contacts: Contacts, friction: npt.ArrayLike, clamp_force: npt.ArrayLike, push: Push, up_to: float = 64.0,
    stages: int = 4, quick: bool = False, patient: bool = False,
) -> Array:
    """By how much a load may grow before something of it is held by nothing.

    Args:
        contacts: where the part is touched.
        friction: of each contact [1], shape (N, C).
        clamp_force: of each clamp [N], shape (N, G).
        push: the loads, shape (N, L).
        up_to: factor beyond which nobody asks [1].
        stages: how often the range is cut into seven [1].
        quick: in single precision.
        patient: as settle; some holds come to rest only so, most loads beyond the limit cost several times as much.

    Returns:
        Factor [1], shape (N, L); up_to where it holds even that, 0 where the clamps alone do not hold it.

    Raises:
        OutOfRange: as settle.

    Range: as settle, from a clamped part in one step; within up_to^(2/7^stages).
    Source: own, a search in the logarithm.
    """
    clamped = settle(contacts, friction, clamp_force, quick=quick)
    rows, loads = len(clamped.unheld), push.force.shape[-2]
    force, point, moment = np.broadcast_arrays(push.force, push.point, push.moment)
    small = Push(force / up_to, point, moment / up_to)
    least = settle(contacts, friction, clamp_force, small, clamped, quick, patient)
    # far from small contacts the weak springs of open ones bear a share of any load, that nothing slides under
    most = UNHELD + np.where(least.unheld < LEAKS, least.unheld, 0.0)[..., None]
    low, wide = np.full((rows, loads), -np.log(up_to)), 2.0 * np.log(up_to)
    for _ in range(stages):
        wide /= _SECTIONS
        tries = low[..., None] + wide * np.arange(1, _SECTIONS)
        grown = np.exp(tries)[..., None]
        many = Push(_flat(force[:, :, None] * grown), _flat(point[:, :, None] + 0.0 * grown),
                    _flat(moment[:, :, None] * grown))
        found = settle(contacts, friction, clamp_force, many, clamped, quick, patient)
        holds = found.unheld.reshape(tries.shape) < most
        low = low + wide * np.cumprod(holds, axis=-1).sum(axis=-1)
    # at what was found a share UNHELD of the load is held by nothing: without it the rest is just borne
    return np.asarray((1.0 - UNHELD) * np.exp(low) * (clamped.unheld < UNHELD)[:, None])


def _flat(tries: Array) -> Array:
    """Loads and the sizes at which each is tried, all in one axis."""
    return tries.reshape(len(tries), -1, 3)


def _check(contacts: Contacts, clamp: Array) -> None:
    not_negative(stiffness=contacts.stiffness, side_stiffness=contacts.side_stiffness)
    if clamp.ndim != 2 or clamp.shape[1] != contacts.clamps:
        raise OutOfRange(f"clamp_force has shape {clamp.shape}", right=f"(N, {contacts.clamps}): one each clamp")


def _frame(contacts: Contacts, kind: type[np.floating[Any]] = np.float64) -> _Frame:
    """Matrices of the contacts, turns multiplied by the contacts' mean distance so that all ways weigh alike."""
    point, normal = contacts.point, contacts.normal
    size = float(np.sqrt((point**2).sum(axis=1).mean())) or 1.0
    slides = (contacts.clamp[:, None] == np.arange(contacts.clamps)).astype(float)

    def by_motion(way: Array) -> Array:
        return np.concatenate([way, np.cross(point, way) / size], axis=1)

    closing = np.concatenate([-by_motion(normal), slides], axis=1)
    sides = tangents(normal)
    along = np.stack([np.concatenate([by_motion(way), np.zeros_like(slides)], axis=1) for way in sides])
    pairs = [(closing, closing), (along[0], closing), (along[1], closing), (along[0], along[0]),
             (along[0], along[1]), (along[1], along[1])]
    products = np.stack([np.einsum("ca,cb->cab", a, b) for a, b in pairs])
    products[4] += products[4].transpose(0, 2, 1)
    stiff, side = contacts.stiffness, contacts.side_stiffness
    weak = (closing.T * stiff) @ closing + sum((way.T * side) @ way for way in along)
    products = products.reshape(6, len(point), -1)
    pressing, rubbing = (closing * stiff[:, None]).T, (along * side[:, None]).transpose(0, 2, 1)
    arrays = (closing, along, pressing, rubbing, products, np.asarray(weak), stiff, side)
    slide = SLIDE * float(contacts.stiffness.sum())
    return _Frame(size, slide, *(np.ascontiguousarray(array, dtype=kind) for array in arrays))


def _pull(push: Push, frame: _Frame, rows: int) -> Array:
    force, point, extra = np.broadcast_arrays(*finite(force=push.force, point=push.point, moment=push.moment))
    if force.ndim != 3 or force.shape[0] not in (1, rows):
        raise OutOfRange(f"the load has shape {force.shape}", right=f"({rows}, L, 3)")
    moment = (np.cross(point, force) + extra) / frame.size
    clamps = np.zeros((*force.shape[:-1], frame.closing.shape[1] - 6))
    pull = np.concatenate([force, moment, clamps], axis=-1)
    return np.array(np.broadcast_to(pull, (rows, *pull.shape[1:])))


def _remember(before: Settled | None, frame: _Frame, rows: int) -> _Memory:
    count, ways = frame.closing.shape
    if before is None:
        zero = np.zeros((rows, 1, ways), dtype=frame.weak.dtype)
        return _Memory(zero, np.zeros((rows, 1, 2, count), dtype=frame.weak.dtype))
    place = np.concatenate([before.shift, before.turn * frame.size, before.slide], axis=-1)
    rubbing = np.moveaxis(before.rubbing, -1, -2)
    if place.ndim == 2:
        place, rubbing = place[:, None], rubbing[:, None]
    return _Memory(place.astype(frame.weak.dtype), rubbing.astype(frame.weak.dtype))


def _solve(
    frame: _Frame, mu: Array, pull: Array, memory: _Memory, patient: bool = False
) -> tuple[Array, Array, Array, Array]:
    """Places, pressing, rubbing and what is left over of all problems, chunk by chunk."""
    rows, loads, ways = pull.shape
    count = len(frame.stiff)
    each = max(1, _CHUNK // loads)
    found = [np.empty((rows, loads, *shape), dtype=pull.dtype) for shape in ((ways,), (count,), (count, 2), (ways,))]
    for first in range(0, rows, each):
        part = slice(first, min(first + each, rows))
        start = _start(frame, memory, pull[part], part).reshape(-1, ways)
        kept, friction = _carried(frame, memory, part, loads), np.repeat(mu[part], loads, axis=0)
        place, left = _newton(frame, friction, pull[part].reshape(-1, ways), start, kept,
                              loads if memory.place.any() and memory.place.shape[1] == 1 else 1)
        if patient or not memory.place.any():
            place, left = _eased(frame, friction, pull[part].reshape(-1, ways), kept, start, (place, left))
        state = _state(frame, friction, kept, place)
        for whole, some in zip(found, (place, state.normal, np.stack(_friction(state), axis=-1), left), strict=True):
            whole[part] = some.reshape(whole[part].shape)
    return found[0], found[1], found[2], found[3]


def _eased(
    frame: _Frame, mu: Array, pull: Array, kept: Array, start: Array, found: tuple[Array, Array]
) -> tuple[Array, Array]:
    """Rows that came to no rest, from where they would lie with more friction."""
    place, left = found
    lost = np.flatnonzero(np.abs(left).max(axis=1) > TIGHT[frame.stiff.itemsize] * np.abs(pull).max(axis=1))
    if len(lost):
        there = start[lost]
        for more in EASED:
            there, rest = _newton(frame, more * mu[lost], pull[lost], there, kept[lost], 1)
        place[lost], left[lost] = there, rest
    return place, left


def _start(frame: _Frame, memory: _Memory, pull: Array, part: slice) -> Array:
    """Where to look first: where it lay before, or where it would lie if everything pressed and stuck."""
    if memory.place.any():
        return np.broadcast_to(memory.place[part], pull.shape)
    return np.asarray(np.linalg.solve(frame.weak, pull[..., None])[..., 0])


def _carried(frame: _Frame, memory: _Memory, part: slice, loads: int) -> Array:
    """Friction that each contact would have where it started from, had it not moved: what its springs count from."""
    slid = np.einsum("kcq,nlq->nlkc", frame.along, memory.place[part])
    carried = memory.friction[part] + frame.side * slid
    each = np.broadcast_to(carried, (len(carried), loads, *carried.shape[2:]))
    return np.asarray(each.reshape(-1, 2, len(frame.stiff)))


class _State(NamedTuple):
    """Forces of the contacts at some place: what presses, what the springs along the faces would, what they may."""

    normal: Array                # (P, C)
    one: Array                   # (P, C)
    two: Array                   # (P, C)
    size: Array                  # (P, C)
    limit: Array                 # (P, C)

    def at(self, rows: npt.NDArray[Any]) -> _State:
        return _State(*(item[rows] for item in self))


def _state(frame: _Frame, mu: Array, kept: Array, place: Array) -> _State:
    normal = place @ frame.pressing
    np.maximum(normal, 0.0, out=normal)
    one, two = kept[:, 0] - place @ frame.rubbing[0], kept[:, 1] - place @ frame.rubbing[1]
    size = np.sqrt(one * one + two * two)
    return _State(normal, one, two, size, mu * normal)


def _friction(state: _State) -> tuple[Array, Array]:
    """What the springs along the faces would, clipped to what pressure and friction allow."""
    share = np.minimum(state.limit / (state.size + _TINY), 1.0)
    return state.one * share, state.two * share


def _left_over(frame: _Frame, state: _State, pull: Array, place: Array) -> Array:
    """Forces that do not balance."""
    one, two = _friction(state)
    held = one @ frame.along[0] + two @ frame.along[1] - state.normal @ frame.closing
    return np.asarray(pull + held - _give(frame, place))


def _give(frame: _Frame, place: Array) -> Array:
    """Forces of the weak springs and of the clamps' screws."""
    give = WEAK * (place @ frame.weak)
    give[:, 6:] += frame.slide * place[:, 6:]
    return np.asarray(give)


def _step(frame: _Frame, mu: Array, state: _State, left: Array, shared: int) -> Array:
    """Newton's step of each problem; neighbours that start from the same place share a matrix."""
    tangent = _tangent(frame, mu[::shared], _State(*(item[::shared] for item in state)))
    sides = left.reshape(len(tangent), shared, -1).transpose(0, 2, 1)
    return np.asarray(np.linalg.solve(tangent, sides).transpose(0, 2, 1).reshape(left.shape))


def _tangent(frame: _Frame, mu: Array, state: _State) -> Array:
    """The balance by the place, shape (P, Q, Q). Contacts that press and stick in all problems are summed once."""
    closed, slips = state.normal > 0.0, state.size > state.limit
    changes = slips.any(axis=0) | ~closed.all(axis=0)
    change, firm = np.flatnonzero(changes), np.flatnonzero(~changes)
    fixed = frame.stiff[firm] @ frame.products[0][firm] + frame.side[firm] @ (
        frame.products[3][firm] + frame.products[5][firm])
    ways = frame.weak.shape[0]
    found = np.concatenate(_laws(frame, mu, state, closed, slips, change), axis=1) @ np.concatenate(
        frame.products[:, change])
    found = (found + fixed).reshape(-1, ways, ways) + WEAK * frame.weak
    found[:, range(6, ways), range(6, ways)] += frame.slide
    return np.asarray(found)


def _laws(
    frame: _Frame, mu: Array, state: _State, closed: npt.NDArray[np.bool_], slips: npt.NDArray[np.bool_],
    change: npt.NDArray[np.intp],
) -> list[Array]:
    """Stiffness of the contacts that change: pressing, rubbing by pressing (2), rubbing (3)."""
    slips, size = slips[:, change], state.size[:, change] + _TINY
    one, two = state.one[:, change] / size, state.two[:, change] / size
    side = frame.side[change]
    share = np.where(slips, state.limit[:, change] / size, 1.0) * side
    turn = np.where(slips, share, 0.0)
    press = frame.stiff[change] * closed[:, change]
    drag = np.where(slips, -mu[:, change], 0.0) * press
    return [press, drag * one, drag * two, share - turn * one * one, -turn * one * two, share - turn * two * two]


def _newton(
    frame: _Frame, mu: Array, pull: Array, start: Array, kept: Array, shared: int
) -> tuple[Array, Array]:
    """Places that balance, and what is left over; so many neighbours start from the same place."""
    place, tight = np.array(start), TIGHT[frame.stiff.itemsize] * (np.abs(pull).max(axis=1) + _TINY)
    open_ = np.arange(len(place))
    state = _state(frame, mu, kept, place)
    left = rest = _left_over(frame, state, pull, place)
    for step_number in range(STEPS):
        still = np.abs(left).max(axis=1) > tight[open_]
        if not still.any():
            break
        if not still.all():
            open_, state, left = open_[still], state.at(still), left[still]
            mu, kept, pull = mu[still], kept[still], pull[still]
        step = _step(frame, mu, state, left, shared if still.all() and step_number == 0 else 1)
        place[open_], state, left = _searched(frame, mu, kept, pull, place[open_], step, left, step_number)
        rest[open_] = left
    return place, rest


def _searched(
    frame: _Frame, mu: Array, kept: Array, pull: Array, here: Array, step: Array, left: Array, number: int
) -> tuple[Array, _State, Array]:
    """A step, halved for the rows whose balance it would make worse; after many steps a fixed part of it."""
    if number >= EASY:
        step = step * (0.9 if number % 2 else 0.4)
    there = here + step
    state = _state(frame, mu, kept, there)
    now = _left_over(frame, state, pull, there)
    if number >= EASY:
        return there, state, now
    worse = np.flatnonzero(np.abs(now).max(axis=1) > np.abs(left).max(axis=1))
    for halves in (0.5, 0.25, 0.125):
        if not len(worse):
            break
        there[worse] = here[worse] + halves * step[worse]
        mended = _state(frame, mu[worse], kept[worse], there[worse])
        now[worse] = _left_over(frame, mended, pull[worse], there[worse])
        for whole, some in zip(state, mended, strict=True):
            whole[worse] = some
        worse = worse[np.abs(now[worse]).max(axis=1) > np.abs(left[worse]).max(axis=1)]
    return there, state, now


def _settled(frame: _Frame, whole: Array, memory: _Memory, solved: tuple[Array, Array, Array, Array]) -> Settled:
    place, pressing, rubbing, left = solved
    weak = np.abs(WEAK * ((place - memory.place) @ frame.weak))[..., :6].max(axis=-1) + np.abs(left).max(axis=-1)
    unheld = np.divide(weak, whole, out=np.zeros_like(weak), where=whole > _TINY)
    return Settled(place[..., :3], place[..., 3:6] / frame.size, place[..., 6:], pressing, rubbing, unheld)
