"""Settings in which nothing is clamped for a machine: parts put together to be measured, a face lapped on a plate."""

from __future__ import annotations

from typing import Final

from ..shop.models import Shop
from ..tomlfile import KEPT
from .route import Holding, Setting, Zero

TOGETHER: Final = "put together as it will be used, on its dowels, screws nipped up"


def by_hand(shop: Shop, like: Setting, workpiece: str, note: str, zero: str) -> Setting | None:
    """A setting at the bench, the part as it lies in another one.

    Args:
        shop: what stands in the shop.
        like: the setting that says which way is up.
        workpiece: a part, or parts put together: "sole+body".
        note: what a person does.
        zero: why no zero is set.

    Returns:
        The setting; None where the shop has no bench, or nothing to hold a part in by hand.
    """
    bench = next((name for name, m in shop.machines.items() if shop.classes[m.like].kind == "hand"), None)
    device = next((name for name, d in shop.devices.items() if "hand" in d.machines),
                  next((name for name, d in shop.devices.items() if d.kind == "hand"), None))
    if bench is None or device is None:
        return None
    return Setting.model_validate({
        "workpiece": workpiece, "up": like.up, "across": like.across, "machine": bench, "datums": like.datums,
        "holding": Holding(device=device, rest=like.holding.rest),
        "zero": Zero(x=like.zero.x, y=like.zero.y, z=like.zero.z, by=zero), "notes": (note,),
    }, context=KEPT)
