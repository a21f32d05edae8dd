"""200 shops of an independent simulator: nine tests and ten cuts each, and what was learned held against the truth.

    python scripts/simulated_shops.py [SHOPS]

Nothing of the truth is drawn from the book's spreads: machines, metals and persons are those of the tests' simulator,
which follows each cut in time. What the checks say after learning is scored on other cuts.
"""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path

import numpy as np
from validate import PAGE, place

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.measured.simulated_shops import ROWS, Score, known_by_the_book, score_of

SHOPS = 200


def lines(scores: list[Score]) -> list[str]:
    """The section of the page."""
    few = "" if len(scores) >= SHOPS else f" (of the {SHOPS} that the script makes when it is given the time)"
    words = textwrap.wrap(
        f"{len(scores)} light mills{few} that are not drawn from the book: forces by a power of the chip with a "
        "blunt edge, two modes of the machine and one of the cutter in each direction, cuts followed in time tooth "
        "by tooth with a surface that remembers, other spreads, one reading and one word in twenty a lapse. A person "
        "makes the nine tests and ten cuts much like those of the job, about eight 'ok'. Then four operations are "
        f"checked at eight depths each, with the book's figures and with what was learned ({ROWS} rows). Covered: "
        "share of 90 % intervals that hold what the simulator does. Cost: minutes of the depth that is chosen to "
        "take off 1 mm, and what fails with it, above those of one who knows the machine (with 5 mm, tried first, "
        "minutes outweigh a cut that sings, and 7 % of the gap was closed in 24 shops). Good: what is called good "
        "fails so often, and so much of what is truly good is called so. Where a measure is missed the page says by "
        "how much; one reason for push-off may be that the checks take it to follow the force at once, as a spring "
        "without mass, which a light machine at some hundred teeth a second does not. The shops were changed some "
        "times after figures were seen (their spreads, the blunt edge, which cuts are made): fresh ones would be "
        "fairer.", 118)
    return ["## Learning: shops of an independent simulator", "", *words, "",
            "| | wanted | by the book | learned |", "|---|---|---:|---:|", *table(scores)]


def table(scores: list[Score]) -> list[str]:
    """A row for each measure."""
    out = []
    for name, what, wanted in (("force", "force, covered", "85–95 %"), ("left", "push-off, covered", "85–95 %"),
                               ("sings", "depth from which it sings, covered", "85–95 %")):
        book, now = (float(np.mean(np.concatenate([getattr(by, name) for by in each])))
                     for each in ([s.book for s in scores], [s.learned for s in scores]))
        out.append(f"| {what} | {wanted} | {book:.0%} | {now:.0%} |")
    book, now, known = (float(np.mean([getattr(s, name) for s in scores])) for name in
                        ("cost_book", "cost_learned", "cost_known"))
    out.append(f"| cost of four operations above the known machine's ({known:.0f} min) | | {book - known:.1f} min | "
               f"{now - known:.1f} min |")
    out.append(f"| gap in cost closed | ≥ 50 % | | {1.0 - (now - known) / (book - known):.0%} |")
    for name, what, wanted in (("fails", "fails of what is called good", "≤ 2 %"),
                               ("found", "called good of what is good", "≥ 60 %")):
        out.append(f"| {what} | {wanted} | {ratio([getattr(s.book, name) for s in scores])} | "
                   f"{ratio([getattr(s.learned, name) for s in scores])} |")
    settled = sum(s.settled for s in scores)
    out.append(f"| converged, of {len(scores)} | | | {settled} |")
    words = sum(s.ok for s in scores) / sum(s.cuts for s in scores)
    return [*out, f"| 'ok' of all words | about 80 % | | {words:.0%} |"]


def ratio(parts: list[tuple[float, float]]) -> str:
    """Sum over sum."""
    above, below = (sum(part[i] for part in parts) for i in (0, 1))
    return f"{above / below:.1%} of {below:.0f}" if below else "none"


def main() -> int:
    """Writes the table."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else SHOPS
    book = known_by_the_book()
    scores = []
    for seed in range(many):
        scores.append(score_of(seed, book))
        print(f"{seed + 1} of {many}", file=sys.stderr)
    place(PAGE, "simulated shops", lines(scores))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
