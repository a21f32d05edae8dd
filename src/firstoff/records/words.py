"""What was learned, in sentences that a person at a bench would use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from ..belief import Belief, Column, Key, LogNormal, Rows

if TYPE_CHECKING:
    from .learn import Evidence

#: a figure is worth a sentence when it moved by this many of its own spreads, or narrowed by this share
MOVED_SD: Final = 0.2
NARROWED: Final = 0.15
MOST: Final = 8
#: two figures are told as one when their rows hang together like this and neither is much narrower alone
TIED: Final = 0.6
#: a record is named as odd when the rest gives it this much less than what a slip would give
ODD: Final = 0.5

_WORDS: Final = {
    "tangential": "cutting force", "radial": "force across the cut", "axial": "force along the cutter",
    "tangential_edge": "edge force", "radial_edge": "edge force across the cut", "axial_edge": "edge force along",
    "batch": "force, this bar", "stiffness_x": "stiffness left-right", "stiffness_y": "stiffness in-out",
    "stiffness_z": "stiffness up-down", "mode_frequency": "frequency it rings at", "mode_damping": "damping",
    "lost_motion": "lost motion", "axis_scale": "axis scale", "factor": "wrong by", "runout": "runout",
    "rubbing_ratio": "least chip", "touch_off": "zero setting", "edge_radius": "edge radius", "young": "stiffness",
}


def sentences_for(
    evidence: Sequence[Evidence], moved: Mapping[Key, Rows], book: Belief, after: Belief, settled: bool, records: int
) -> tuple[list[str], list[str]]:
    """Sentences on what changed, and the ids of records that disagree with the rest."""
    shifts = sorted(((_shift(key, moved[key], book), key) for key in moved), reverse=True)
    told = [(size, key) for size, key in shifts if size > 0][:MOST]
    lines = [_sentence(book.columns[key], moved[key], book, records) for _, key in told]
    tie = _tied([key for _, key in told], moved, book)
    if tie:
        lines.append(tie)
    odd = _odd(evidence, after)
    lines += [f"record {name[:8]} disagrees with the rest: look at it again" for name in odd]
    if not settled:
        lines.append("the figures have not settled: take them as a first word, and log more")
    return lines or [f"{records} records changed nothing worth telling"], odd


def _shift(key: Key, rows: Rows, book: Belief) -> float:
    before = book.z(key)
    moved = abs(float(np.median(rows)) - float(np.median(before)))
    narrowed = 1.0 - float(rows.std()) / float(before.std())
    return max(moved if moved > MOVED_SD else 0.0, narrowed if narrowed > NARROWED else 0.0)


def _sentence(column: Column, rows: Rows, book: Belief, records: int) -> str:
    who = _who(column)
    what = _WORDS.get(column.parameter, column.parameter.replace("_", " "))
    many = f"({records} record{'s' if records > 1 else ''})"
    before, now = column.transform.value(book.z(column.key)), column.transform.value(rows)
    narrower = f", known to within {_width(now, column)} now, {_width(before, column)} by the book"
    if not isinstance(column.transform, LogNormal):
        return f"{who}: {what} {np.median(now):.3g} {column.unit}, not {np.median(before):.3g} {many}{narrower}"
    change = float(np.median(now) / np.median(before)) - 1.0
    if abs(change) < 0.01:
        return f"{who}: {what} as the book has it {many}{narrower}"
    return f"{who}: {what} {abs(change):.0%} {'more' if change > 0 else 'less'} than the book figure {many}{narrower}"


def _width(rows: Rows, column: Column) -> str:
    low, high = np.percentile(rows, (16, 84))
    if isinstance(column.transform, LogNormal):
        return f"×÷ {np.sqrt(high / low):.2f}"
    return f"± {(high - low) / 2:.2g} {column.unit}"


def _who(column: Column) -> str:
    kind, _, name = column.entity.partition(":")
    if kind == "discrepancy":
        return f"the reckoning of {name.replace('_', ' ')}"
    return (name or kind).replace("_", " ")


def _tied(keys: list[Key], moved: Mapping[Key, Rows], book: Belief) -> str:
    """Only the ratio or product of two figures is known, where the records narrow that and not its parts."""
    for i, a in enumerate(keys):
        for b in keys[i + 1:]:
            r = float(np.corrcoef(moved[a], moved[b])[0, 1])
            if abs(r) > TIED and min(_narrowing(a, moved, book), _narrowing(b, moved, book)) < 2 * NARROWED:
                names = [f"{_who(book.columns[k])} {_WORDS.get(k[1], k[1].replace('_', ' '))}" for k in (a, b)]
                return f"only the {'ratio' if r > 0 else 'product'} of {names[0]} and {names[1]} is known"
    return ""


def _narrowing(key: Key, moved: Mapping[Key, Rows], book: Belief) -> float:
    return 1.0 - float(moved[key].std()) / float(book.z(key).std())


def _odd(evidence: Sequence[Evidence], after: Belief) -> list[str]:
    """Records that what was learned from all of them still finds unlikely."""
    out: dict[str, None] = {}
    for item in evidence:
        loglik = item.loglik(after)
        if loglik is None:
            continue
        usual, slip = item.bounds()
        if float(np.mean(np.exp(np.minimum(loglik, 50.0)))) < slip + ODD * min(slip, usual - slip):
            out[item.record.id] = None
    return list(out)
