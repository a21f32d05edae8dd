"""A tapped hole strips before its screw is tight: where no joint of the job says which screw goes in, a usual one."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.thread import breaking_load, length_to_break, metric_profile, stripping_load, thread_shear_areas
from ..errors import NameUnknown
from ..job.models import LeverJoint, ScrewJoint
from ..shop.models import Figure, Material, Shop
from ..units import tell
from ._chance import OPERATION_SCATTER, middle, over, spread
from ._clamped import SHEAR
from ._drills import log_sd
from ._screws import GRADES, Hole, hole_of, size_of, thread_depth
from ._threads import Thread, thread_named
from .base import Case, Check, Finding, Spread, cannot
from .si import metres, millimetres, pascal, value

NAME: Final = "stripping"

#: Property class of a screw that a person takes where nobody says: the common one (iso898).
GRADE: Final = "8.8"
#: A screw that is tightened as usual pulls this share of its yield load; vdi2230 has 0.9 in all for twist and pull.
TIGHT: Final = 0.7
#: How far its pull is known, times and divided; judged.
PULL_FACTOR: Final = 1.3
#: Standard normals at which one in twenty is weaker.
ONE_IN_TWENTY: Final = 1.645


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.role == "tap" and case.op.tool is not None
            and case.tool.kind == "tap" and bool(_unnamed(case)))


def _unnamed(case: Case) -> list[Hole]:
    """The holes of the operation for which no joint names a screw; a lever's screw is its own part's thread."""
    levers = {joint.screw for joint in case.job.joints.values()
              if isinstance(joint, LeverJoint) and joint.part == case.part_name}
    if case.tool.thread in {size_of(screw) for screw in levers}:
        return []
    named = {hole.feature.id for joint in case.job.joints.values() if isinstance(joint, ScrewJoint)
             for hole in [hole_of(case, joint.into)] if hole.part == case.part_name}
    assert case.part_name is not None
    return [Hole(case.part_name, f.id, f) for f in case.features if f.id not in named]


def strips_at(thread: Thread, drilled: float, length: float, nut: Rows | float, grade: str = GRADE) -> Rows:
    """Pull at which screw or hole strips [N].

    Args:
        thread: of both.
        drilled: hole before tapping [mm].
        length: of full thread engaged [mm].
        nut: tensile strength of the metal with the hole [N/m2].
        grade: property class of the screw.
    """
    sizes = thread.sizes
    areas = thread_shear_areas(sizes.pitch, metres(length), sizes.least_major, sizes.least_pitch, sizes.most_pitch,
                               max(sizes.most_minor, metres(drilled)))
    return stripping_load(areas, SHEAR * pascal(GRADES[grade][1]), SHEAR * np.asarray(nut))


def breaks_at(thread: Thread, grade: str = GRADE) -> float:
    """Pull at which a screw of its full strength breaks [N]."""
    area = metric_profile(thread.sizes.nominal, thread.sizes.pitch).stress_area
    return float(breaking_load(pascal(GRADES[grade][1]), area))


def full_strength_length(thread: Thread, drilled: float, nut: float, grade: str = GRADE) -> float:
    """Length of full thread from which the screw breaks before the thread strips [mm]."""
    one = millimetres(thread.sizes.pitch)
    load, strips = breaks_at(thread, grade), float(strips_at(thread, drilled, one, nut, grade))
    return float(length_to_break(load, strips, one))


def weak(figure: Figure) -> float:
    """What all but one in twenty bars bear."""
    return figure.value * math.exp(-ONE_IN_TWENTY * log_sd(figure))


def weak_strength(material: Material, shop: Shop) -> float | None:
    """Tensile strength that all but one in twenty bars have [N/m2], of a mixture the weakest; None if unknown."""
    kinds = [shop.materials[name] for name in material.one_of] or [material]
    known = [weak(kind.tensile_strength) for kind in kinds if kind.tensile_strength is not None]
    return min(known, default=None)


def _evaluate(case: Case, belief: Belief) -> Finding:
    try:
        thread = thread_named(case.tool.thread or "")
    except NameUnknown as error:
        return cannot(NAME, case, "part", error.what)
    holes = [(hole, depth) for hole in _unnamed(case) if (depth := thread_depth(case, hole))]
    if not holes or not belief.has(f"material:{case.material_name}", "tensile_strength"):
        return cannot(NAME, case, "part", "the depth of the thread or the strength of the metal is not known",
                      f'write it under threads of {case.part_name}, like "M4 x 9 deep"')
    hole, depth = min(holes, key=lambda item: item[1])
    length = max(depth - thread.pitch, 0.0)                            # the first turn of a screw is not full
    drilled = hole.feature.size.get("diameter", thread.tap_drill)
    nut = value(belief, f"material:{case.material_name}", "tensile_strength")
    strips = strips_at(thread, min(drilled, 0.999 * thread.nominal), length, nut)
    area = metric_profile(thread.sizes.nominal, thread.sizes.pitch).stress_area
    pull = np.full(belief.rows, TIGHT * pascal(GRADES[GRADE][0]) * float(area))
    p = over(pull, strips, spread(math.log(PULL_FACTOR), OPERATION_SCATTER["thread"]))
    long = tell(length, "length", case.job.units, 1)
    because = (f"{long} of full {thread.name} strip at about {middle(strips)} N; "
               f"a screw of class {GRADE}, tight as usual, pulls about {middle(pull)} N")
    return Finding(NAME, "operation", case.name, "part", p, Spread.of(pull), Spread.of(strips), "N", because,
                   "tighten one in a scrap of the same bar until it breaks or strips")


CHECK = Check(NAME, "thread strips", "part", "operation", _applies, _evaluate)
