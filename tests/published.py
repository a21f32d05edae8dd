"""Published and measured values that tests hold us to, and the list of them for `docs/validation.md`.

`agrees` asserts and keeps; `predicted` keeps a forecast beside what was measured: whether it lies inside is told on
the page, hits and misses alike. Kept only where FIRSTOFF_VALIDATION names a file: one JSON object a line.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any, Literal

from firstoff.sources import BIBLIOGRAPHY

Subject = Literal[
    "engagement", "force", "power", "push-off", "chatter", "heat", "wear", "finish", "holes", "threads", "scale",
    "holding", "joints", "glue", "stack", "fits", "decisions", "learning", "programs", "removal",
]


def agrees(
    subject: Subject, what: str, source: str, published: float, ours: float, unit: str, *, within: float,
    absolute: bool = False, measured: bool = False, miss: str = "",
) -> None:
    """Hold our value to a published one, and keep both.

    Args:
        subject: under which heading of the page it stands.
        what: the case in words: what, where, which table.
        source: a key of the bibliography.
        published: the published value, in `unit`.
        ours: ours, in `unit`.
        unit: of both; "1" where there is none.
        within: the allowed error: a share of the published value, or in `unit` if `absolute`.
        absolute: whether `within` is in `unit`.
        measured: whether the published value was measured, not computed.
        miss: why we miss it, where we do; then the test fails when we no longer do.
    """
    assert source in BIBLIOGRAPHY, f"{source} is not in the bibliography"
    error = abs(ours - published) if absolute else abs(ours / published - 1.0)
    _keep(kind="agrees", subject=subject, what=what, source=source, published=float(published), ours=float(ours),
          unit=unit, within=within, absolute=absolute, measured=measured, miss=miss)
    if miss:
        assert error > within, f"{what}: no longer missed ({ours} against {published} {unit}); say so"
    else:
        assert error <= within, f"{what}: {ours} {unit} against the published {published} {unit} ({source})"


def predicted(
    subject: Subject, what: str, source: str, interval: tuple[float, float, float], measured: float, unit: str,
) -> bool:
    """Keep a forecast (5 %, 50 %, 95 %) beside a measurement; returns whether it lies inside.

    Args:
        subject: under which heading of the page it stands.
        what: the case in words.
        source: of the measurement, a key of the bibliography.
        interval: low, median and high of what we forecast, in `unit`.
        measured: what was measured, in `unit`.
        unit: of both.
    """
    assert source in BIBLIOGRAPHY, f"{source} is not in the bibliography"
    low, median, high = interval
    assert low <= median <= high, f"{what}: {interval} is not in order"
    inside = low <= measured <= high
    _keep(kind="predicted", subject=subject, what=what, source=source, low=float(low), median=float(median),
          high=float(high), measured=float(measured), unit=unit, inside=bool(inside))
    return bool(inside)


def _keep(**row: Any) -> None:
    file = os.environ.get("FIRSTOFF_VALIDATION")
    if file:
        with Path(file).open("a", encoding="utf-8") as out:
            out.write(json.dumps(row, ensure_ascii=False) + "\n")
