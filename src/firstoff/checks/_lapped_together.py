"""A face that is lapped with the parts put together, until what they add up to reads right."""

from __future__ import annotations

import numpy as np

from ..job.models import Limit
from ._forms import Form, Moves, plus, shifted
from ._makers import Broken, Made, last_before
from ._sizes import Link, links_of, measured_before, needs, read_by, total_of
from ._surfaces import Source, Surfaces
from .si import metres


def to_a_chain(where: Surfaces, made: Made, limit: Limit) -> Form:
    """How a face lies then: as it was cut, and so far in that the chain is what the reading says.

    Args:
        where: surfaces of the job.
        made: the lap.
        limit: the chain that is measured by it.

    Raises:
        Broken: if the chain cannot be followed, the face is none of it, or nothing was there to lap.
        NameUnknown: if a face does not exist.
    """
    links = links_of(where.case, limit)
    gain = grows(links, made)
    if gain == 0.0:
        raise Broken(f"{made.op_name} is no face of what it is lapped to")
    before = last_before(where.case, made.part, made.face.number, made.op.number)
    if before is None:
        raise Broken(f"nothing cuts what {made.op_name} laps")
    makers = {(link.part, face.number): needs(where.case, link.part, face.number)
              for link in links for face in (link.one, link.other)}
    makers[made.part, made.face.number] = before
    stands = _before_the_lap(where, limit, links, makers)
    far = plus((read_by(where, limit), 1.0 / gain), (stands, -1.0 / gain), (_aim(where, made, limit, gain), 1.0))
    return plus((where.as_found(made.part, made.face, made.op.number), 1.0),
                (shifted(far, np.array(made.face.normal)), 1.0))


def grows(links: list[Link], made: Made) -> float:
    """How a chain grows with material on a face [1]: nought where the face is none of it."""
    normal = np.array(made.face.normal)
    return float(sum(sign * link.gain * float(link.way @ normal) for link in links if link.part == made.part
                     for face, sign in ((link.one, 1.0), (link.other, -1.0)) if face.number == made.face.number))


def _before_the_lap(
    where: Surfaces, limit: Limit, links: list[Link], makers: dict[tuple[str, int], Made]
) -> Moves:
    """What the chain comes to when the lap begins: set by a reading already where its last cut was."""
    line = total_of(where, links, makers, None)
    late = max(makers.values(), key=lambda one: one.op.number)
    rough = measured_before(where.case, limit, list(makers.values()), late)
    if rough is None:
        return line
    then = total_of(where, links, makers | {(late.part, late.face.number): rough}, None)
    return plus((line, 1.0), (then, -1.0), (read_by(where, limit), 1.0))


def _aim(where: Surfaces, made: Made, limit: Limit, gain: float) -> Moves:
    """It is lapped for the middle of the limits, which moves what else is measured to the face."""
    middle = sum(limit.tolerance) / 2.0
    if middle == 0.0:
        return where.moves({})
    return where.moves({where.known_as(f"aim:{made.op_name}", Source(
        "what it is lapped for", made.op_name, lambda belief: np.full(belief.rows, metres(middle)), lasting=True)):
        1.0 / gain})
