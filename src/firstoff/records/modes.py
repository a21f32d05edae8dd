"""One Gaussian through rows, or two where they lie in two heaps: what proposals are drawn from, and what is told.

A tone that may be the machine's or the collet's, a speed between two lobes: records can leave two explanations that
no single Gaussian joins. They are looked for column by column.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from ..belief import Rows

Matrix = Rows                                #: [N, K] standard normals

#: least gain in log likelihood of two heaps over one, for each logarithm of the rows: five figures more, and doubt
GAIN: Final = 6.0
#: least share of the rows in either heap, and least distance of their middles, in the wider one's deviations
SHARE: Final = 0.1
DISTANCE: Final = 2.0
ROUNDS: Final = 25
#: a column as bent as this, in skewness or excess of kurtosis, is looked at
BENT: Final = 0.3
#: ways through the rows that are looked at beside the columns
WIDEST: Final = 2


class Heaps(NamedTuple):
    """Where rows fall into two heaps: along which way [K], where between them, and the share in the upper one."""

    way: Rows
    between: float
    upper: float

    def above(self, z: Matrix) -> npt.NDArray[np.bool_]:
        """Which rows lie in the upper one."""
        return np.asarray(z @ self.way > self.between)


class Gaussian(NamedTuple):
    """The prior, but for some ways along which it has another mean and deviation.

    Fields:
        ways: unit vectors square to each other [K, R].
        mean: along each [R].
        deviations: along each [R].
    """

    ways: Matrix
    mean: Rows
    deviations: Rows

    def over_prior(self, z: Matrix) -> Rows:
        """Logarithm of its density over that of the prior [N]."""
        along = z @ self.ways
        white = (along - self.mean) / self.deviations
        return np.asarray(0.5 * np.sum(along**2 - white**2, axis=1) - np.sum(np.log(self.deviations)))

    def moved(self, z: Matrix, stride: float, noise: Matrix) -> Matrix:
        """Rows that went so far and left it as it is."""
        kept = math.sqrt(1.0 - stride**2)
        more = self.mean * (1.0 - kept) + stride * (self.deviations - 1.0) * (noise @ self.ways)
        return np.asarray(kept * z + stride * noise + more @ self.ways.T)


@dataclass(frozen=True)
class Cloud:
    """A mixture of Gaussians through rows, and the share of each."""

    shares: tuple[float, ...]
    parts: tuple[Gaussian, ...]

    @classmethod
    def of(cls, z: Matrix, ways: Matrix) -> Cloud:
        """Through rows along some ways, the prior along all others: one Gaussian, or one for each heap."""
        found = heaps(z)
        parts = [z]
        if found is not None:
            upper = found.above(z)
            parts = [part for part in (z[~upper], z[upper]) if len(part) >= SHARE * len(z)]
        total = sum(len(part) for part in parts)
        return cls(tuple(len(part) / total for part in parts), tuple(gaussian(part, ways) for part in parts))

    def over_prior(self, z: Matrix) -> Rows:
        """Logarithm of its density over that of the prior [N]."""
        return np.asarray(np.logaddexp.reduce(self._each(z), axis=0))

    def _each(self, z: Matrix) -> Rows:
        return np.stack([math.log(share) + part.over_prior(z)
                         for share, part in zip(self.shares, self.parts, strict=True)])

    def moved(self, z: Matrix, stride: float, generator: np.random.Generator) -> Matrix:
        """Rows that went so far and left the cloud as it is: 1 forgets where they were, and may change the heap."""
        which, noise = self._which(z, stride, generator), generator.standard_normal(z.shape)
        out = np.empty_like(z)
        for i, part in enumerate(self.parts):
            here = which == i
            out[here] = part.moved(z[here], stride, noise[here])
        return out

    def _which(self, z: Matrix, stride: float, generator: np.random.Generator) -> npt.NDArray[np.intp]:
        """The heap in which each row goes on: any, if it forgets where it was, else one in which it may lie."""
        if len(self.shares) == 1:
            return np.zeros(len(z), dtype=np.intp)
        if stride >= 1.0:
            share = np.broadcast_to(np.array(self.shares)[:, None], (len(self.shares), len(z)))
        else:
            each = self._each(z)
            share = np.exp(each - np.logaddexp.reduce(each, axis=0))
        found = np.sum(np.cumsum(share, axis=0) < generator.random(len(z)), axis=0)
        return np.asarray(np.minimum(found, len(self.shares) - 1), dtype=np.intp)


def gaussian(z: Matrix, ways: Matrix) -> Gaussian:
    """The Gaussian through rows along some ways [K, R]; along all others it is the prior.

    Fitted along all of them it would be narrower than the rows are, more so the more there are: moves would keep to
    it, and what the evidence says nothing of would seem known.
    """
    along = z @ ways
    mean = along.mean(axis=0)
    off = along - mean
    wide, turned = np.linalg.eigh(np.einsum("ni,nj->ij", off, off) / (len(z) - 1))
    return Gaussian(ways @ turned, mean @ turned, np.sqrt(np.maximum(wide, 1e-12)))


def heaps(z: Matrix) -> Heaps | None:
    """The way along which rows fall into two heaps most clearly, or None where one Gaussian is as likely."""
    ways = _ways(z)
    places = z @ ways
    mean, deviation = places.mean(axis=0), np.maximum(places.std(axis=0), 1e-9)
    u = (places - mean) / deviation
    able = (np.abs((u**4).mean(axis=0) - 3.0) > BENT) | (np.abs((u**3).mean(axis=0)) > BENT)
    if not np.any(able):
        return None
    ways, mean, deviation = ways[:, able], mean[able], deviation[able]
    low, high, narrow, wide, upper, gain = _two(u[:, able])
    clear = ((gain > GAIN * math.log(len(z))) & (upper > SHARE) & (upper < 1.0 - SHARE)
             & (high - low > DISTANCE * np.maximum(narrow, wide)))
    if not np.any(clear):
        return None
    best = int(np.argmax(np.where(clear, gain, -np.inf)))
    near = low[best] + (high[best] - low[best]) * narrow[best] / (narrow[best] + wide[best])
    return Heaps(ways[:, best], float(mean[best] + deviation[best] * near), float(upper[best]))


def _ways(z: Matrix) -> Matrix:
    """Each column, and the widest ways through the rows, as unit vectors [K, K + WIDEST]."""
    off = z - z.mean(axis=0)
    widest = np.linalg.eigh(np.einsum("ni,nj->ij", off, off))[1][:, -WIDEST:]
    return np.hstack([np.eye(z.shape[1]), widest])


def _two(u: Matrix) -> tuple[Rows, ...]:
    """Two Gaussians through each column of standard rows: middles, deviations, share of the upper, gain over one."""
    low, high = np.quantile(u, (0.2, 0.8), axis=0)
    narrow = wide = np.full(u.shape[1], 0.5)
    upper = np.full(u.shape[1], 0.5)
    total = np.zeros_like(u)
    for _ in range(ROUNDS):
        one = np.log1p(-upper) - np.log(narrow) - 0.5 * ((u - low) / narrow) ** 2
        two = np.log(upper) - np.log(wide) - 0.5 * ((u - high) / wide) ** 2
        total = np.logaddexp(one, two)
        share = np.exp(two - total)
        upper = np.clip(share.mean(axis=0), 1e-3, 1.0 - 1e-3)
        many, rest = share.sum(axis=0) + 1e-9, (1.0 - share).sum(axis=0) + 1e-9
        low, high = ((1.0 - share) * u).sum(axis=0) / rest, (share * u).sum(axis=0) / many
        narrow = np.sqrt(((1.0 - share) * (u - low) ** 2).sum(axis=0) / rest + 1e-3)
        wide = np.sqrt((share * (u - high) ** 2).sum(axis=0) / many + 1e-3)
    return low, high, narrow, wide, upper, (total + 0.5 * u**2).sum(axis=0)
