"""What is believed of the uncertain parameters of a shop, as joint rows.

Every parameter is a fixed transform of one column of standard normals `z[N, P]`. A row is one
possible shop; a check computed over all rows gives a chance. Each column's normals come from a hash
of (seed, entity, parameter), so that a new tool or check never moves another verdict, and two
candidates are compared on the same rows. Learning moves `z` and nothing else.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cache, cached_property
from typing import Any, Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from .errors import NotBelieved
from .normal import normal_quantile

Rows = NDArray[np.float64]

ROWS: Final = 2048        #: rows of a belief: p = 1/1000 is told within a third
SEED: Final = 20          #: the seed of every verdict, unless a person gives another
Key = tuple[str, str]     #: (entity, parameter), such as ("material:s275", "tangential")


class Level(StrEnum):
    """How long a draw lasts: what is new each time is scatter and is integrated out."""

    SHOP = "shop"
    MACHINE = "machine"
    BATCH = "batch"
    CLAMPING = "clamping"
    SETTING = "setting"
    OPERATION = "operation"
    HOLE = "hole"


#: levels that last, so that knowing them would settle a verdict
LASTING: Final = frozenset({Level.SHOP, Level.MACHINE, Level.BATCH})
SCATTER: Final = frozenset({Level.OPERATION, Level.HOLE})


@dataclass(frozen=True)
class LogNormal:
    """Positive quantity: median times or over `factor` (one standard deviation of the log)."""

    median: float
    factor: float

    def value(self, z: Rows) -> Rows:
        """The quantity at standard normals z."""
        return np.asarray(self.median * np.exp(np.log(self.factor) * z))


@dataclass(frozen=True)
class Share(LogNormal):
    """Positive quantity below 1, such as a damping ratio: its odds, x / (1 - x), are lognormal."""

    def value(self, z: Rows) -> Rows:
        """The quantity at standard normals z."""
        odds = self.median / (1.0 - self.median) * np.exp(np.log(self.factor) * z)
        return np.asarray(odds / (1.0 + odds))

    @staticmethod
    def under(own: Rows, parent: Rows) -> Rows:
        """A share below another: the odds multiply, so that it stays below 1."""
        odds = own / (1.0 - own) * parent / (1.0 - parent)
        return np.asarray(odds / (1.0 + odds))


@dataclass(frozen=True)
class Normal:
    """Signed quantity: mean and standard deviation."""

    mean: float
    sd: float

    def value(self, z: Rows) -> Rows:
        """The quantity at standard normals z."""
        return self.mean + self.sd * z


@dataclass(frozen=True)
class Choice:
    """One of several entities in each row: the bar in the rack that nobody knows."""

    entities: tuple[str, ...]
    weights: tuple[float, ...]

    def value(self, z: Rows) -> Rows:
        """The index of the entity at standard normals z."""
        edges = np.cumsum(self.weights)[:-1] / np.sum(self.weights)
        return np.searchsorted(normal_quantile(edges), z).astype(np.float64)


Transform = LogNormal | Normal | Choice


@dataclass(frozen=True)
class Column:
    """One uncertain parameter. A parent's value multiplies a LogNormal (a Share's odds) and is added to a Normal."""

    entity: str
    parameter: str
    unit: str
    level: Level
    transform: Transform
    parents: tuple[Key, ...] = ()
    source: str = ""

    @property
    def key(self) -> Key:
        """(entity, parameter)."""
        return self.entity, self.parameter

    @cached_property
    def contents(self) -> bytes:
        """All that it says, for digests."""
        return repr(self).encode()


@cache
def _scores(rows: int) -> Rows:
    """Normal scores of the middles of `rows` equal strata: every column has exactly this margin."""
    return normal_quantile((np.arange(rows) + 0.5) / rows)


@cache
def _normals(seed: int, key: Key, rows: int) -> Rows:
    digest = hashlib.blake2b(f"{seed}|{key[0]}|{key[1]}".encode(), digest_size=8).digest()
    order = np.random.default_rng(int.from_bytes(digest, "big")).permutation(rows)
    scores = _scores(rows)[order]
    scores.flags.writeable = False
    return scores


def _below(law: Transform, own: Rows, above: Rows) -> Rows:
    """A value with its parent's."""
    if isinstance(law, Share):
        return law.under(own, above)
    return own * above if isinstance(law, LogNormal) else own + above


B = TypeVar("B", bound="Belief")
T = TypeVar("T")
DERIVED: Final = 48        #: answers that are kept beside a belief's values


@dataclass(frozen=True)
class Belief:
    """Columns and their rows. `moved` holds the columns that learning has moved; `words` is False where only the
    chances are asked for, again and again, and nobody reads the sentences of a finding.
    """

    columns: Mapping[Key, Column]
    rows: int = ROWS
    seed: int = SEED
    moved: Mapping[Key, Rows] = field(default_factory=dict)
    words: bool = field(default=True, compare=False)
    _values: dict[Key, Rows] = field(default_factory=dict, init=False, repr=False, compare=False)    # asked before
    _above: dict[Key, frozenset[Key]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _shorts: dict[Key, bytes] = field(default_factory=dict, init=False, repr=False, compare=False)
    _few: dict[int, Belief] = field(default_factory=dict, init=False, repr=False, compare=False)
    _derived: dict[tuple[object, ...], tuple[Any, frozenset[Key]]] = field(
        default_factory=dict, init=False, repr=False, compare=False)

    @classmethod
    def of(cls, columns: Iterable[Column], rows: int = ROWS, seed: int = SEED) -> Belief:
        """A belief of book figures only."""
        return cls({column.key: column for column in columns}, rows, seed)

    def z(self, key: Key) -> Rows:
        """The standard normals of a column [N]."""
        found = self.moved.get(key)
        return _normals(self.seed, key, self.rows) if found is None else found

    def has(self, entity: str, parameter: str) -> bool:
        """Whether this parameter is believed at all."""
        return (entity, parameter) in self.columns or (entity, "which") in self.columns

    def value(self, entity: str, parameter: str) -> Rows:
        """The parameter by row [N], parents included.

        Raises:
            NotBelieved: if no column of that name exists.
        """
        key = entity, parameter
        if key not in self._values:
            self._values[key] = self._computed(entity, parameter)
            self._values[key].flags.writeable = False
        return self._values[key]

    def _computed(self, entity: str, parameter: str) -> Rows:
        column = self.columns.get((entity, parameter))
        if column is None:
            return self._chosen(entity, parameter)
        own = column.transform.value(self.z(column.key))
        for parent in column.parents:
            above = self.value(*parent)
            own = _below(column.transform, own, above)
        return own

    def _chosen(self, entity: str, parameter: str) -> Rows:
        which = self.columns.get((entity, "which"))
        if which is None or not isinstance(which.transform, Choice):
            raise NotBelieved(f"nothing is believed of {parameter!r}", where=entity)
        index = which.transform.value(self.z(which.key)).astype(np.intp)
        values = np.stack([self.value(name, parameter) for name in which.transform.entities])
        return np.asarray(values[index, np.arange(self.rows)])

    def column(self, entity: str, parameter: str) -> Column:
        """The column itself; its transform holds the spread of a scatter level."""
        try:
            return self.columns[entity, parameter]
        except KeyError:
            raise NotBelieved(f"nothing is believed of {parameter!r}", where=entity) from None

    def extend(self, columns: Iterable[Column]) -> Belief:
        """The same belief with more columns: no row of an existing one moves."""
        return replace(self, columns={**{c.key: c for c in columns}, **self.columns})

    def with_moved(self, moved: Mapping[Key, Rows]) -> Belief:
        """The same belief with other rows for some columns (learning, and nothing else)."""
        known = self.moved
        return replace(self, moved=known.but(moved) if isinstance(known, _Some) else {**known, **moved})

    def wordless(self) -> Belief:
        """The same belief, asked for chances alone."""
        return self.sharing(replace(self, words=False))

    def same(self, other: Belief) -> bool:
        """Whether the other is a view of this one, so that what was computed by one is so by the other."""
        return self._values is other._values

    def note(self, keys: Iterable[Key]) -> None:
        """Told which parameters stand behind what was computed before; a belief that is watched notes them."""

    def sharing(self, other: B) -> B:
        """Another view of this belief, its values computed once for both."""
        for name in ("_values", "_above", "_shorts", "_few", "_derived"):
            object.__setattr__(other, name, getattr(self, name))
        return other

    def derived(self, key: tuple[object, ...], find: Callable[[Belief], T]) -> T:
        """What is computed from believed figures by row and asked again and again; the last of it is kept.

        Args:
            key: all that it depends on besides the belief; what is named by its identity must stand with the answer.
            find: computes it, of this belief watched.
        """
        known = self._derived.get(key)
        if known is None:
            watch = watched(self)
            known = find(watch), frozenset(watch.asked)
            while len(self._derived) >= DERIVED:
                self._derived.pop(next(iter(self._derived)))
            self._derived[key] = known
        self.note(known[1])
        found: T = known[0]
        return found

    def thinned(self, rows: Sequence[int] | NDArray[np.intp]) -> Belief:
        """Only the named rows, for a quick look at many candidates; never for a verdict."""
        index = np.asarray(rows)
        return replace(self, rows=len(index), moved=_Some(self, index))

    def some(self, rows: int) -> Belief:
        """About so many rows, evenly apart; views of one belief share what was computed by them."""
        step = max(1, self.rows // rows)
        if step not in self._few:
            self._few[step] = self.thinned(np.arange(0, self.rows, step))
        few = self._few[step]
        return few.sharing(replace(self, rows=few.rows, moved=few.moved))

    def depends_on(self, keys: Iterable[Key]) -> tuple[Key, ...]:
        """These columns with all their parents and, for a choice, what it may choose."""
        return tuple(sorted(set().union(*map(self._behind, keys))))

    def _behind(self, key: Key) -> frozenset[Key]:
        """A column with all that stands behind it; kept, since every check asks for nearly the same."""
        found = self._above.get(key)
        if found is None:
            column = self.columns.get(key)
            above = self._may_be(key) if column is None else column.parents
            found = self._above[key] = frozenset(() if column is None else (key,)).union(*map(self._behind, above))
        return found

    def _may_be(self, key: Key) -> list[Key]:
        """A parameter of a mixture: which entity it is, and that parameter of each that it may be."""
        which = self.columns.get((key[0], "which"))
        if which is None or not isinstance(which.transform, Choice):
            return []
        return [which.key, *((name, key[1]) for name in which.transform.entities)]

    def digest_of(self, keys: Iterable[Key]) -> str:
        """A short name for the contents of these columns, for caches."""
        hasher = hashlib.blake2b(f"{self.rows}|{self.seed}".encode(), digest_size=12)
        for key in self.depends_on(keys):
            hasher.update(self._short(key))
        return hasher.hexdigest()

    def _short(self, key: Key) -> bytes:
        """A short name for the contents of one column."""
        if key not in self._shorts:
            hasher = hashlib.blake2b(self.columns[key].contents, digest_size=12)
            if key in self.moved:
                hasher.update(self.moved[key].tobytes())
            self._shorts[key] = hasher.digest()
        return self._shorts[key]

    @property
    def digest(self) -> str:
        """A short name for the whole belief."""
        return self.digest_of(self.columns)


@dataclass(frozen=True)
class _Some(Mapping[Key, Rows]):
    """Some rows of every column of a belief, taken as they are asked for: of hundreds a few dozen are."""

    whole: Belief
    index: NDArray[np.intp]
    _taken: dict[Key, Rows] = field(default_factory=dict, init=False, repr=False, compare=False)

    def but(self, moved: Mapping[Key, Rows]) -> _Some:
        """The same with other rows for some columns."""
        other = _Some(self.whole, self.index)
        other._taken.update(self._taken)
        other._taken.update(moved)
        return other

    def __getitem__(self, key: Key) -> Rows:
        if key not in self._taken:
            if key not in self.whole.columns:
                raise KeyError(key)
            self._taken[key] = self.whole.z(key)[self.index]
        return self._taken[key]

    def __contains__(self, key: object) -> bool:
        return key in self.whole.columns

    def __iter__(self) -> Iterator[Key]:
        return iter(self.whole.columns)

    def __len__(self) -> int:
        return len(self.whole.columns)


@dataclass(frozen=True)
class Watched(Belief):
    """A belief that notes what was asked of it."""

    asked: set[Key] = field(default_factory=set)

    def value(self, entity: str, parameter: str) -> Rows:
        """As `Belief.value`, noted."""
        self.asked.add((entity, parameter))
        if (entity, parameter) not in self.columns:       # the bar in the rack that nobody knows
            self.asked.add((entity, "which"))
        return super().value(entity, parameter)

    def column(self, entity: str, parameter: str) -> Column:
        """As `Belief.column`, noted."""
        self.asked.add((entity, parameter))
        return super().column(entity, parameter)

    def note(self, keys: Iterable[Key]) -> None:
        """As `Belief.note`."""
        self.asked.update(keys)

    def has(self, entity: str, parameter: str) -> bool:
        """As `Belief.has`, noted."""
        self.asked.add((entity, parameter))
        return super().has(entity, parameter)


def watched(belief: Belief) -> Watched:
    """The same belief, watched."""
    return belief.sharing(Watched(belief.columns, belief.rows, belief.seed, belief.moved, belief.words))


def low_median_high(values: Rows) -> tuple[float, float, float]:
    """The 5 %, 50 % and 95 % points of rows, as people are told them."""
    # far quicker than the library's percentiles, and called by every check
    ordered, (places, shares) = np.sort(values, axis=None), _points(values.size)
    ends = ordered[places].tolist()
    low, median, high = ((after - before) * share + before
                         for before, after, share in zip(ends[::2], ends[1::2], shares, strict=True))
    return low, median, high


@cache
def _points(many: int) -> tuple[NDArray[np.intp], tuple[float, ...]]:
    """Between which two of so many ordered rows each point lies, and how far on from the first."""
    at = [share * (many - 1) for share in (0.05, 0.5, 0.95)]
    places = np.array([(int(place), min(int(place) + 1, many - 1)) for place in at], dtype=np.intp)
    return places.ravel(), tuple(place - int(place) for place in at)
