"""Moves as they are laid down are the moves that are handed on."""

from __future__ import annotations

from firstoff.program.track import Track
from firstoff.removal.moves import Doubt, Kind, Move


def test_rows_come_out_as_they_went_in() -> None:
    rows = [
        Move(4, Kind.LINE, (0.0, 1.0, 2.0), (3.0, 4.0, 5.0), (3.0, 4.0, 5.0), 17, 6.0, -7.0, 8, 9),
        Move(5, Kind.COUNTER, (0.0, 1.0, 2.0), (3.0, 4.0, 5.0), (1.0, 1.0, 5.0), 19, 0.0, 0.0, 0, exact=True,
             doubt=Doubt.Z | Doubt.END),
        Move(6, Kind.STAND, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 17, 0.0, 0.0, 0, wait=2.5)]
    track = Track()
    for row in rows:
        track.add(row)
    assert len(track) == 3
    assert list(track.taken()) == rows
    assert len(track) == 0 and len(track.taken()) == 0
