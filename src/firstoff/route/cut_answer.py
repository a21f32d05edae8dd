"""What `cut` answers: the cut, what each check says of it, what would be better, how to go on from a careful one."""

from __future__ import annotations

from dataclasses import dataclass

from ..checks.base import Case
from ..dryrun.result import Checked
from ..job.route import STRAIGHT_DOWN, Cut
from .asked_cut import Bench


@dataclass(frozen=True)
class Gain:
    """A change and what it would bring."""

    text: str
    cut: Cut
    removal: float                  # [mm3/s]
    p_after: float
    minutes: float                  # of the block, more or less


@dataclass(frozen=True)
class Deepening:
    """How deep a person may go, pass by pass, while it stays quiet."""

    depth: float                    # [mm]
    stops: str                      # what comes unheard from there on; empty where the machine sings first


@dataclass(frozen=True)
class Answer:
    """A cut, what each check says of it, and what would be better."""

    bench: Bench
    case: Case
    checked: tuple[Checked, ...]
    first: Checked | None                         # the first to go
    p_spoil: float
    limited_by: str
    careful: bool
    settled: frozenset[str]                       # the numbers that the person gave
    why_direction: str
    gains: tuple[Gain, ...]                       # what would be better
    rules: tuple[str, ...]                        # that are not met
    figures_note: str = ""                        # whose figures these are
    could_be: tuple[tuple[str, str, tuple[str, ...]], ...] = ()       # a word, what it was read as, what else
    chips: str = ""                               # their colour, of a steel that is cut dry
    deeper: Deepening | None = None               # from a careful first cut on

    @property
    def deepens(self) -> bool:
        """Whether a person may go deeper from it pass by pass: careful, level, its depth open."""
        level = self.case.op.role != "chamfer" and self.case.op.down <= STRAIGHT_DOWN
        return self.careful and level and "depth_of_cut" not in self.settled

    @property
    def cut(self) -> Cut:
        """Its numbers."""
        return self.case.op.cut
