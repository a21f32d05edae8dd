"""The most that pressing and rubbing contacts could carry, if pressure went wherever it helps: an upper bound.

Above it the part moves, for certain under the model; below it nothing is proved. Friction's cone is taken with so
many flat sides round it, so that the bound is a linear programme and still a bound.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, not_negative
from firstoff.holding.contact import Contacts, Push, tangents

SIDES: Final = 32       #: of friction's cone, round it: at most 0.5 % too much


def limit_load(contacts: Contacts, friction: Array, clamp_force: Array, push: Push) -> float:
    """The largest factor of one load that balanced contact forces could carry, at most.

    Args:
        contacts: where the part is touched; stiffness is not asked.
        friction: of each contact [1], shape (C,).
        clamp_force: of each clamp, which it keeps [N], shape (G,).
        push: one load: force, point and moment of shape (3,).

    Returns:
        Factor [1]; infinite where the load is borne however large, 0 where nothing balances even the clamps.

    Raises:
        OutOfRange: if friction or a clamping force is negative.

    Range: rigid, perfectly plastic, friction associated: proves slipping, never holding.
    Source: own, the static theorem of limit analysis as a linear programme.
    """
    from scipy.optimize import linprog

    mu, clamp = not_negative(friction=friction, clamp_force=clamp_force)
    count = len(contacts.point)
    if count == 0:
        return 0.0
    size = float(np.abs(contacts.point).max()) or 1.0
    force, moment = push.force, np.cross(push.point, push.force) + push.moment
    wrench, scale = np.concatenate([force, moment / size]), float(clamp.max(initial=0.0)) or 1.0
    unit = wrench / max(np.abs(wrench).max(), 1e-300)
    balance, kept = _balance(contacts, size), _kept(contacts)
    equal = np.block([[balance, unit[:, None]], [kept, np.zeros((len(kept), 1))]])
    cone = np.concatenate([_cone(mu), np.zeros((SIDES * count, 1))], axis=1)
    bounds = [(0.0, None)] * count + [(None, None)] * (2 * count) + [(0.0, None)]
    found = linprog(np.r_[np.zeros(3 * count), -1.0], cone, np.zeros(len(cone)), equal,
                    np.r_[np.zeros(6), clamp / scale], bounds, method="highs")
    if found.status == 3:
        return float("inf")
    if found.status == 2:
        return 0.0
    if found.status != 0 or found.x is None:
        raise OutOfRange("the linear programme found no end", right="contacts and loads of like size")
    return float(found.x[-1] * scale / max(np.abs(wrench).max(), 1e-300))


def _balance(contacts: Contacts, size: float) -> Array:
    """Force and moment of each contact's pressing and rubbing, shape (6, 3 C)."""
    ways = np.concatenate([contacts.normal[None], tangents(contacts.normal)])
    moments = np.cross(contacts.point, ways) / size
    return np.concatenate([ways, moments], axis=-1).transpose(2, 0, 1).reshape(6, -1)


def _kept(contacts: Contacts) -> Array:
    """Each clamp's contacts press with its force together, shape (G, 3 C)."""
    which = contacts.clamp[None] == np.arange(contacts.clamps)[:, None]
    return np.concatenate([which, np.zeros((contacts.clamps, 2 * len(contacts.point)))], axis=1)


def _cone(friction: Array) -> Array:
    """Sides round each contact's friction: rubbing along each of them is at most friction times pressing."""
    count = len(friction)
    angles = 2.0 * np.pi * np.arange(SIDES) / SIDES
    sides = [np.concatenate([-np.diag(friction), np.cos(a) * np.eye(count), np.sin(a) * np.eye(count)], axis=1)
             for a in angles]
    return np.concatenate(sides)
