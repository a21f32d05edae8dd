"""A block between two jaws on parallels under a cutting load: what gives way.

Axes: x along the jaws, y from the moving jaw to the fixed one, z up; the origin lies midway between the jaws, in
the middle of the grip's width, on the parallels. Each jaw touches the block over grip_width by grip_height, from
the parallels up. The block, jaws and parallels are rigid; the screw gives so much more than the fixed jaw that the
moving jaw keeps its force and the fixed one takes the difference. Friction is that of Coulomb.

Every use is a demand over the most that the contacts could carry. Above 1 the block moves, if the model is right;
below 1 it only may hold: pressure that is not where it would have to be, a bent part, a jaw that lifts, shaking and
oil all take away from what is counted here. The checks' friction and discrepancy stand for that.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.holding._rows import Array, above_zero, finite, not_negative, used

WAYS = ("slip", "open", "tilt", "turn", "spin")


class JawForces(NamedTuple):
    """Normal forces of the jaws on the block.

    Fields:
        fixed: of the fixed jaw [N], shape (N,); 0 where the block has left it.
        moving: of the moving jaw [N], shape (N,).
    """

    fixed: Array
    moving: Array


class ViseUse(NamedTuple):
    """How much of the holding each way of moving uses; above 1 it gives way.

    Fields:
        slip: sliding along the jaws and upwards [1], shape (N,).
        open: being pulled off the fixed jaw [1], shape (N,).
        tilt: tilting out of the jaws, about a line along them [1], shape (N,).
        turn: turning between the jaws, about the clamping direction, sliding counted in [1], shape (N,).
        spin: twisting about the vertical [1], shape (N,).
    """

    slip: Array
    open: Array
    tilt: Array
    turn: Array
    spin: Array

    @property
    def worst(self) -> Array:
        """The highest use by row [1], shape (N,)."""
        return np.asarray(np.max(np.broadcast_arrays(*self), axis=0))

    @property
    def first(self) -> npt.NDArray[np.intp]:
        """Which way gives first by row: its place in WAYS, shape (N,)."""
        return np.asarray(np.argmax(np.broadcast_arrays(*self), axis=0))


def jaw_forces(clamp_force: npt.ArrayLike, force_y: npt.ArrayLike) -> JawForces:
    """Forces of both jaws under a load in the clamping direction.

    Args:
        clamp_force: force of the screw [N], shape (N,).
        force_y: load towards the fixed jaw [N], broadcast.

    Returns:
        Normal forces of fixed and moving jaw.

    Raises:
        OutOfRange: if the clamping force is negative.

    Range: a screw much softer than the fixed jaw.
    Source: own, the balance of forces across the jaws.
    """
    (clamp,) = not_negative(clamp_force=clamp_force)
    (push,) = finite(force_y=force_y)
    clamp, push = np.broadcast_arrays(clamp, push)
    return JawForces(np.maximum(clamp + push, 0.0), np.asarray(clamp, dtype=float))


def slip_use(
    force_x: npt.ArrayLike,
    force_y: npt.ArrayLike,
    force_z: npt.ArrayLike,
    clamp_force: npt.ArrayLike,
    jaw_friction: npt.ArrayLike,
    rest_friction: npt.ArrayLike,
) -> Array:
    """Use of the friction that keeps the block from sliding along the jaws and upwards.

    Args:
        force_x: load along the jaws [N], shape (N,).
        force_y: load towards the fixed jaw [N], broadcast.
        force_z: load upwards [N], broadcast; downwards the parallels carry it.
        clamp_force: force of the screw [N], broadcast.
        jaw_friction: between block and jaws [1], broadcast.
        rest_friction: between block and parallels [1], broadcast; counts under a downward load only.

    Returns:
        Demand over capacity [1], shape (N,).

    Raises:
        OutOfRange: if clamping force or a friction is negative.

    Range: pressure on the parallels from the load alone (none from tapping the block down).
    Source: own, the balance of forces with friction on both jaws.
    """
    along, up = finite(force_x=force_x, force_z=force_z)
    mu, mu_rest = not_negative(jaw_friction=jaw_friction, rest_friction=rest_friction)
    jaws = jaw_forces(clamp_force, force_y)
    held = mu * (jaws.fixed + jaws.moving) + mu_rest * np.maximum(-up, 0.0)
    return used(np.hypot(along, np.maximum(up, 0.0)), held)


def open_use(force_y: npt.ArrayLike, clamp_force: npt.ArrayLike) -> Array:
    """Use of the screw against a load that pulls the block off the fixed jaw.

    Args:
        force_y: load towards the fixed jaw [N], shape (N,); only a negative one pulls.
        clamp_force: force of the screw [N], broadcast.

    Returns:
        Demand over capacity [1], shape (N,).

    Raises:
        OutOfRange: if the clamping force is negative.

    Range: friction in the slide of the jaw not counted.
    Source: own, the balance of forces across the jaws.
    """
    (push,), (clamp,) = finite(force_y=force_y), not_negative(clamp_force=clamp_force)
    return used(np.maximum(-push, 0.0), clamp)


def tilt_use(
    force_x: npt.ArrayLike,
    force_y: npt.ArrayLike,
    force_z: npt.ArrayLike,
    point_y: npt.ArrayLike,
    point_z: npt.ArrayLike,
    clamp_force: npt.ArrayLike,
    jaw_friction: npt.ArrayLike,
    grip_height: npt.ArrayLike,
    part_width: npt.ArrayLike,
    rest_span: npt.ArrayLike,
) -> Array:
    """Use of what keeps the block from tilting out of the jaws, about a line along them.

    Args:
        force_x: load along the jaws [N], shape (N,); it uses up friction.
        force_y: load towards the fixed jaw [N], broadcast.
        force_z: load upwards [N], broadcast.
        point_y: where the load acts, towards the fixed jaw from the middle [m], broadcast.
        point_z: where the load acts, above the parallels [m], broadcast.
        clamp_force: force of the screw [N], broadcast.
        jaw_friction: between block and jaws [1], broadcast.
        grip_height: height over which the jaws touch [m], broadcast.
        part_width: between the jaws [m], broadcast.
        rest_span: over the outer edges of the parallels across the jaws [m], broadcast; 0 without parallels.

    Returns:
        Demand over capacity [1], shape (N,).

    Raises:
        OutOfRange: if grip_height or part_width is not above 0, or another size negative.

    Range: pressure of each jaw may move to the upper or lower edge of its grip, friction may point up on one jaw and
        down on the other, and the parallels push up at their outer edge: the most that statics allow.
    Source: own, the plane limit load of two frictional jaws and a unilateral rest, solved in closed form.
    """
    along, up, y, z = finite(force_x=force_x, force_z=force_z, point_y=point_y, point_z=point_z)
    height, width = above_zero(grip_height=grip_height, part_width=part_width)
    mu, span = not_negative(jaw_friction=jaw_friction, rest_span=rest_span)
    push = np.asarray(force_y, dtype=float)
    jaws = jaw_forces(clamp_force, push)
    moment = y * up - (z - height / 2.0) * push
    left = _friction_left(along, mu, jaws)
    towards_fixed = _friction_couple(left.fixed, left.moving, up, width, span)
    towards_moving = _friction_couple(left.moving, left.fixed, up, width, span)
    pressure = (jaws.fixed + jaws.moving) * height / 2.0
    return used(np.abs(moment), pressure + np.where(moment < 0.0, towards_fixed, towards_moving))


def turn_use(
    force_x: npt.ArrayLike,
    force_y: npt.ArrayLike,
    force_z: npt.ArrayLike,
    point_x: npt.ArrayLike,
    point_z: npt.ArrayLike,
    clamp_force: npt.ArrayLike,
    jaw_friction: npt.ArrayLike,
    grip_width: npt.ArrayLike,
    grip_height: npt.ArrayLike,
) -> Array:
    """Use of the friction that keeps the block from turning between the jaws and sliding at the same time.

    Args:
        force_x: load along the jaws [N], shape (N,).
        force_y: load towards the fixed jaw [N], broadcast.
        force_z: load upwards [N], broadcast; downwards the parallels carry it.
        point_x: where the load acts, along the jaws from the middle of the grip [m], broadcast.
        point_z: where the load acts, above the parallels [m], broadcast.
        clamp_force: force of the screw [N], broadcast.
        jaw_friction: between block and jaws [1], broadcast.
        grip_width: width over which the jaws touch [m], broadcast.
        grip_height: height over which the jaws touch [m], broadcast.

    Returns:
        Demand over capacity [1], shape (N,).

    Raises:
        OutOfRange: if a size of the grip is not above 0, or clamping force or friction negative.

    Range: even pressure over the grip; the parallels' help against turning down is not counted.
    Source: howe1996, ellipsoid of sliding force and twisting moment; the moment of an even rectangle own, integrated.
    """
    along, up, x, z = finite(force_x=force_x, force_z=force_z, point_x=point_x, point_z=point_z)
    wide, high = above_zero(grip_width=grip_width, grip_height=grip_height)
    (mu,) = not_negative(jaw_friction=jaw_friction)
    jaws = jaw_forces(clamp_force, force_y)
    held = mu * (jaws.fixed + jaws.moving)
    lift = np.maximum(up, 0.0)
    moment = (z - high / 2.0) * along - x * lift
    return np.hypot(used(np.hypot(along, lift), held), used(np.abs(moment), held * mean_radius(wide, high)))


def spin_use(
    force_x: npt.ArrayLike,
    force_y: npt.ArrayLike,
    force_z: npt.ArrayLike,
    point_x: npt.ArrayLike,
    point_y: npt.ArrayLike,
    clamp_force: npt.ArrayLike,
    jaw_friction: npt.ArrayLike,
    grip_width: npt.ArrayLike,
    part_width: npt.ArrayLike,
) -> Array:
    """Use of what keeps the block from twisting in the jaws about the vertical.

    Args:
        force_x: load along the jaws [N], shape (N,).
        force_y: load towards the fixed jaw [N], broadcast.
        force_z: load upwards [N], broadcast; it uses up friction.
        point_x: where the load acts, along the jaws from the middle of the grip [m], broadcast.
        point_y: where the load acts, towards the fixed jaw from the middle [m], broadcast.
        clamp_force: force of the screw [N], broadcast.
        jaw_friction: between block and jaws [1], broadcast.
        grip_width: width over which the jaws touch [m], broadcast.
        part_width: between the jaws [m], broadcast.

    Returns:
        Demand over capacity [1], shape (N,).

    Raises:
        OutOfRange: if a size is not above 0, or clamping force or friction negative.

    Range: pressure of each jaw may move to either end of its grip; a moving jaw that can't swivel.
    Source: own, the plane limit load of two frictional jaws, solved in closed form.
    """
    along, up, x, y = finite(force_x=force_x, force_z=force_z, point_x=point_x, point_y=point_y)
    wide, width = above_zero(grip_width=grip_width, part_width=part_width)
    (mu,) = not_negative(jaw_friction=jaw_friction)
    push = np.asarray(force_y, dtype=float)
    jaws = jaw_forces(clamp_force, push)
    moment = x * push - y * along
    left = _friction_left(np.maximum(up, 0.0), mu, jaws)
    # A positive moment asks for friction along +x on the fixed jaw and along -x on the moving one; without a rest
    # the couple is the same problem as in tilting, with the load along x in place of the load upwards.
    positive = _pair(left.fixed, left.moving, along) * width / 2.0
    negative = _pair(left.moving, left.fixed, along) * width / 2.0
    pressure = (jaws.fixed + jaws.moving) * wide / 2.0
    return used(np.abs(moment), pressure + np.where(moment > 0.0, positive, negative))


def mean_radius(width: npt.ArrayLike, height: npt.ArrayLike) -> Array:
    """Mean distance of a rectangle's points from its middle: lever of even friction against twisting.

    Args:
        width: one side [m], any shape.
        height: the other side [m], broadcast.

    Returns:
        Distance [m].

    Raises:
        OutOfRange: if a side is not above 0.

    Range: all rectangles.
    Source: own, the integral of the distance over the rectangle.
    """
    wide, high = above_zero(width=width, height=height)
    diagonal = np.hypot(wide, high)
    across = wide**2 / high * np.arcsinh(high / wide) + high**2 / wide * np.arcsinh(wide / high)
    return np.asarray(diagonal / 6.0 + across / 12.0)


def vise_use(
    force_x: npt.ArrayLike,
    force_y: npt.ArrayLike,
    force_z: npt.ArrayLike,
    point_x: npt.ArrayLike,
    point_y: npt.ArrayLike,
    point_z: npt.ArrayLike,
    clamp_force: npt.ArrayLike,
    jaw_friction: npt.ArrayLike,
    rest_friction: npt.ArrayLike,
    grip_width: npt.ArrayLike,
    grip_height: npt.ArrayLike,
    part_width: npt.ArrayLike,
    rest_span: npt.ArrayLike,
) -> ViseUse:
    """All ways in which a block may leave its place in a vise.

    Args:
        force_x: load along the jaws [N], shape (N,).
        force_y: load towards the fixed jaw [N], broadcast.
        force_z: load upwards [N], broadcast.
        point_x: where the load acts, along the jaws from the middle of the grip [m], broadcast.
        point_y: where the load acts, towards the fixed jaw from the middle [m], broadcast.
        point_z: where the load acts, above the parallels [m], broadcast.
        clamp_force: force of the screw [N], broadcast.
        jaw_friction: between block and jaws [1], broadcast.
        rest_friction: between block and parallels [1], broadcast.
        grip_width: width over which the jaws touch [m], broadcast.
        grip_height: height over which the jaws touch [m], broadcast.
        part_width: between the jaws [m], broadcast.
        rest_span: over the outer edges of the parallels across the jaws [m], broadcast; 0 without parallels.

    Returns:
        The use of each way, and by its properties the worst and which gives first.

    Raises:
        OutOfRange: if a size is not above 0, or a force or friction negative where it can't be.

    Range: the sum of what the single functions say. Above 1 proves moving under the model; below 1 proves nothing.
    Source: own, the single functions of this file.
    """
    return ViseUse(
        slip_use(force_x, force_y, force_z, clamp_force, jaw_friction, rest_friction),
        open_use(force_y, clamp_force),
        tilt_use(force_x, force_y, force_z, point_y, point_z, clamp_force, jaw_friction,
                 grip_height, part_width, rest_span),
        turn_use(force_x, force_y, force_z, point_x, point_z, clamp_force, jaw_friction, grip_width, grip_height),
        spin_use(force_x, force_y, force_z, point_x, point_y, clamp_force, jaw_friction, grip_width, part_width),
    )


def _friction_left(taken: Array, mu: Array, jaws: JawForces) -> JawForces:
    """Friction of each jaw that is left when both share a load square to it in proportion to their force."""
    share = np.minimum(used(np.abs(taken), mu * (jaws.fixed + jaws.moving)), 1.0)
    rest = mu * np.sqrt(1.0 - share**2)
    return JawForces(rest * jaws.fixed, rest * jaws.moving)


def _friction_couple(up_jaw: Array, down_jaw: Array, load_up: Array, width: Array, rest_span: Array) -> Array:
    """Largest moment of friction up on one jaw, down on the other, and of the rest's push on the side that goes up.

    The rest can push only as hard as friction and load press the block down on it.
    """
    rise = np.minimum(up_jaw, down_jaw - load_up)
    push = np.maximum(down_jaw - load_up - rise, 0.0)
    return np.asarray(width / 2.0 * (rise + down_jaw) + np.minimum(rest_span, width) / 2.0 * push)


def _pair(plus_jaw: Array, minus_jaw: Array, load: Array) -> Array:
    """Largest difference of the friction of two jaws that together balance a load along them.

    Below 0 where the load leaves so little choice that unequal jaws turn the block.
    """
    return np.minimum(2.0 * plus_jaw + load, 2.0 * minus_jaw - load)
