"""What a person does to tighten something, in words of a route: fingers, a handle, a mallet, a torque wrench."""

from __future__ import annotations

import re
from typing import Final, Literal, NamedTuple

from ..errors import UnitError
from ..units import parse

_BY_HANDLE: Final = re.compile(r"^(arm|mallet) on an? (.+?) (?:handle|key|spanner)$")
_BY_WRENCH: Final = re.compile(r"^torque wrench (?:at |set to )?(.+)$")
_IN_POUNDS: Final = re.compile(r"\b(in|ft)[ -]lbs?$")      #: as it stands on a wrench
#: how they are written, for messages
EXAMPLES: Final = ("fingers", "arm on a 150 mm handle", "mallet on a 150 mm handle", "torque wrench at 20 N m")


class Tightening(NamedTuple):
    """How a screw is turned: by what, and the length of its handle [mm] or the torque [N m]; 0 by fingers."""

    by: Literal["fingers", "arm", "mallet", "wrench"]
    size: float = 0.0


def tightening(text: str) -> Tightening | None:
    """What words of a route mean; None where they mean nothing that is known.

    Args:
        text: as it stands under `tightness`.
    """
    said = _IN_POUNDS.sub(r"\1 lbf", text.strip())
    if said == "fingers":
        return Tightening("fingers")
    try:
        if found := _BY_HANDLE.match(said):
            return Tightening("mallet" if found[1] == "mallet" else "arm", parse(found[2], "length"))
        if found := _BY_WRENCH.match(said):
            return Tightening("wrench", parse(found[1], "torque"))
    except UnitError:
        return None
    return None
