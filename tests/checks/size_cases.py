"""Cases of limits on the block, for the tests of what makes its faces and how they lie."""

from __future__ import annotations

from typing import Any

from firstoff.checks.base import Case
from firstoff.job.models import Limit
from tests.checks.builders import case, operation, setting

OVER = setting(up=[0, 0, -1], holding={"rest": "+Z"}, datums=["+Z", "-Y", "-X"])


def made(ops: dict[str, dict[str, Any]], *between: str, kind: str = "distance", **changed: Any) -> tuple[Case, Limit]:
    """A case of a limit between faces of the block, and the limit."""
    limit = Limit.model_validate({"kind": kind, "part": "block", "between": list(between),
                                  "tolerance": "±0.05 mm", **changed})
    return case("limit", "l", ops=ops, settings={"first": setting(), "second": OVER}, limit=limit), limit


def op(number: int, feature: str, where: str = "first", **changed: Any) -> dict[str, Any]:
    """An operation that finishes a feature."""
    return operation(number=number, features=[feature], setting=where, **{"leaves": "0 mm", **changed})


BOTH_WALLS = {"front": op(10, "stock-3"), "back": op(20, "stock-4")}
TURNED = {"top": op(10, "stock-6", role="face_finish"), "under": op(20, "stock-5", "second", role="face_finish")}
