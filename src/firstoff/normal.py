"""The standard normal distribution for arrays, accurate in the tails: value, logarithm and inverse."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange

Array = npt.NDArray[np.float64]

_SQRT2 = float(np.sqrt(2.0))
_INV_SQRT_PI = float(1.0 / np.sqrt(np.pi))
_SMALL = 0.46875  # below it erf itself is expanded, between it and _LARGE and above it the scaled complement
_LARGE = 4.0
_FEW = 256       # numbers that are worked out sooner one by one than all at once

# Coefficients of rational functions, highest power first (cody1969, tables II and III).
_ERF_TOP = (1.85777706184603153e-1, 3.16112374387056560, 1.13864154151050156e2, 3.77485237685302021e2,
            3.20937758913846947e3)
_ERF_BOTTOM = (1.0, 2.36012909523441209e1, 2.44024637934444173e2, 1.28261652607737228e3,
               2.84423683343917062e3)
_MID_TOP = (2.15311535474403846e-8, 5.64188496988670089e-1, 8.88314979438837594, 6.61191906371416295e1,
            2.98635138197400131e2, 8.81952221241769090e2, 1.71204761263407058e3, 2.05107837782607147e3,
            1.23033935479799725e3)
_MID_BOTTOM = (1.0, 1.57449261107098347e1, 1.17693950891312499e2, 5.37181101862009858e2,
               1.62138957456669019e3, 3.29079923573345963e3, 4.36261909014324716e3, 3.43936767414372164e3,
               1.23033935480374942e3)
_FAR_TOP = (1.63153871373020978e-2, 3.05326634961232344e-1, 3.60344899949804439e-1, 1.25781726111229246e-1,
            1.60837851487422766e-2, 6.58749161529837803e-4)
_FAR_BOTTOM = (1.0, 2.56852019228982242, 1.87295284992346725, 5.27905102951428412e-1,
               6.05183413124413191e-2, 2.33520497626869185e-3)

# Coefficients of the inverse, highest power first (wichura1988, algorithm AS 241, PPND16).
_MIDDLE_TOP = (2.5090809287301226727e3, 3.3430575583588128105e4, 6.7265770927008700853e4,
               4.5921953931549871457e4, 1.3731693765509461125e4, 1.9715909503065514427e3,
               1.3314166789178437745e2, 3.3871328727963666080)
_MIDDLE_BOTTOM = (5.2264952788528545610e3, 2.8729085735721942674e4, 3.9307895800092710610e4,
                  2.1213794301586595867e4, 5.3941960214247511077e3, 6.8718700749205790830e2,
                  4.2313330701600911252e1, 1.0)
_TAIL_TOP = (7.74545014278341407640e-4, 2.27238449892691845833e-2, 2.41780725177450611770e-1,
             1.27045825245236838258, 3.64784832476320460504, 5.76949722146069140550,
             4.63033784615654529590, 1.42343711074968357734)
_TAIL_BOTTOM = (1.05075007164441684324e-9, 5.47593808499534494600e-4, 1.51986665636164571966e-2,
                1.48103976427480074590e-1, 6.89767334985100004550e-1, 1.67638483018380384940,
                2.05319162663775882187, 1.0)
_DEEP_TOP = (2.01033439929228813265e-7, 2.71155556874348757815e-5, 1.24266094738807843860e-3,
             2.65321895265761230930e-2, 2.96560571828504891230e-1, 1.78482653991729133580,
             5.46378491116411436990, 6.65790464350110377720)
_DEEP_BOTTOM = (2.04426310338993978564e-15, 1.42151175831644588870e-7, 1.84631831751005468180e-5,
                7.86869131145613259100e-4, 1.48753612908506148525e-2, 1.36929880922735805310e-1,
                5.99832206555887937690e-1, 1.0)


def normal_cdf(x: npt.ArrayLike) -> Array:
    """Chance that a standard normal number lies below x.

    Args:
        x: limit in standard deviations [1], any shape; infinities are allowed.

    Returns:
        Chance [1], shape of x, to 1e-13 of itself down to the smallest number a float can hold.

    Raises:
        OutOfRange: if x is not a number.

    Range: all x; 0 below about -38.
    Source: cody1969.
    """
    value = _numbers(x)
    if value.size <= _FEW:
        return np.array([0.5 * math.erfc(-one / _SQRT2) for one in value.ravel().tolist()]).reshape(value.shape)
    distance = np.abs(value)
    tail = 0.5 * _scaled_erfc(distance / _SQRT2) * _bell(distance)
    return np.asarray(np.where(value < 0.0, tail, 1.0 - tail))


def normal_logcdf(x: npt.ArrayLike) -> Array:
    """Natural logarithm of the chance that a standard normal number lies below x.

    Args:
        x: limit in standard deviations [1], any shape; infinities are allowed.

    Returns:
        Logarithm of the chance [1], shape of x; exact where the chance itself would be zero in a float.

    Raises:
        OutOfRange: if x is not a number.

    Range: all x.
    Source: cody1969.
    """
    value = _numbers(x)
    distance = np.abs(value)
    scaled = 0.5 * _scaled_erfc(distance / _SQRT2)
    with np.errstate(divide="ignore"):
        below = np.log(scaled) - 0.5 * distance * distance
    above = np.log1p(-scaled * _bell(distance))
    return np.asarray(np.where(value < 0.0, below, above))


def normal_quantile(chance: npt.ArrayLike) -> Array:
    """The limit below which a standard normal number lies with a given chance.

    Args:
        chance: chance [1], any shape, between 0 and 1, ends excluded.

    Returns:
        Limit in standard deviations [1], shape of chance.

    Raises:
        OutOfRange: if a chance is not inside 0 to 1.

    Range: 0 < chance < 1, relative error 1e-15.
    Source: wichura1988.
    """
    p = np.asarray(chance, dtype=float)
    if not np.all((p > 0.0) & (p < 1.0)):
        bad = p[~((p > 0.0) & (p < 1.0))].flat[0]
        raise OutOfRange(f"a chance is {bad:g}", right="above 0 and below 1")
    centred = p - 0.5
    near_middle = np.abs(centred) <= 0.425
    found = np.empty(p.shape)
    found[near_middle] = _middle_quantile(centred[near_middle])
    rest = p[~near_middle]
    root = np.sqrt(-np.log(np.minimum(rest, 1.0 - rest)))
    tail, deep = np.empty(rest.shape), root > 5.0
    for there, law, start in ((~deep, (_TAIL_TOP, _TAIL_BOTTOM), 1.6), (deep, (_DEEP_TOP, _DEEP_BOTTOM), 5.0)):
        tail[there] = _ratio(*law, root[there] - start)
    found[~near_middle] = np.sign(centred[~near_middle]) * tail
    return found


def _middle_quantile(centred: Array) -> Array:
    return np.asarray(centred * _ratio(_MIDDLE_TOP, _MIDDLE_BOTTOM, 0.180625 - centred * centred))


def _numbers(x: npt.ArrayLike) -> Array:
    value = np.asarray(x, dtype=float)
    if np.count_nonzero(np.isnan(value)):
        raise OutOfRange("x is not a number", right="a number of standard deviations")
    return value


def _ratio(top: tuple[float, ...], bottom: tuple[float, ...], x: Array) -> Array:
    """One polynomial over another of the same degree, both worked out side by side."""
    first, *rest = _side_by_side(top, bottom, x.ndim)
    total = np.empty((2, *x.shape))
    total[:] = first
    for coefficients in rest:
        total *= x
        total += coefficients
    return np.asarray(total[0] / total[1])


@cache
def _side_by_side(top: tuple[float, ...], bottom: tuple[float, ...], ndim: int) -> tuple[Array, ...]:
    """The coefficients of two polynomials, power by power, to be added to two arrays."""
    return tuple(np.array(pair).reshape(2, *(1,) * ndim) for pair in zip(top, bottom, strict=True))


def _scaled_erfc(y: Array) -> Array:
    """exp(y^2) erfc(y) for y >= 0: the part of the tail that does not underflow. Each range for its own alone."""
    found = np.empty(y.shape)
    small, far = y <= _SMALL, y > _LARGE
    for there, law in ((small, _near_erfc), (~(small | far), _middle_erfc), (far, _far_erfc)):
        if np.count_nonzero(there):
            found[there] = law(y[there])
    return found


def _near_erfc(y: Array) -> Array:
    square = y * y
    return np.asarray((1.0 - y * _ratio(_ERF_TOP, _ERF_BOTTOM, square)) * np.exp(square))


def _middle_erfc(y: Array) -> Array:
    return _ratio(_MID_TOP, _MID_BOTTOM, y)


def _far_erfc(y: Array) -> Array:
    z = 1.0 / (y * y)
    return np.asarray((_INV_SQRT_PI - z * _ratio(_FAR_TOP, _FAR_BOTTOM, z)) / y)


def _bell(x: Array) -> Array:
    """exp(-x^2/2) for x >= 0, the square split so that its rounding error does not grow with x."""
    finite = np.minimum(x, 1.0e3)
    coarse = np.trunc(finite * 16.0) / 16.0
    return np.asarray(np.exp(-0.5 * coarse * coarse) * np.exp(-0.5 * (finite - coarse) * (finite + coarse)))
