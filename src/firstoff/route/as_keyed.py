"""What a person keys in or writes on a card, as the keys of `route.toml`: the feed of a table, a turn, an arm.

A route keeps the feed per tooth; a machine is set to the feed of its table, and an arm feeds by the clock.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from ..checks.drilling import ARM_DEPTH
from ..errors import InputError, NameUnknown
from ..job.edits import apply_edits, as_text
from ..job.route import Operation, Route
from ..shop.models import Shop, Tool
from ..units import parse

#: of a feed by arm, as a card says it: "5 mm in about 3 s"; the depth may be left out
_BY_ARM: Final = re.compile(r"^(?:(?P<depth>.*?)\s+in\s+(?:about\s+)?)?(?P<time>[^a-z]*[a-z]+)$")
Edit = tuple[str, str]


def as_route_keys(route: Route, shop: Shop, edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Edits as `route.toml` has them: what stands on a card alone is reckoned with the other edits made.

    Args:
        route: that is edited.
        shop: whose tools it names.
        edits: dotted keys and texts; beside those of the route "operations.NAME.feed", ".per_turn", ".feed_by_arm".

    Raises:
        InputError: if a text cannot be read, or no feed can be told without a tool or a speed; naming the key.
    """
    edits = tuple(edits)
    plain = [edit for edit in edits if edit[0].rpartition(".")[2] not in _FEEDS]
    then = apply_edits(route, plain)
    _in_turn(route, then, plain)
    return (*plain, *(_feed(then, shop, dotted, text) for dotted, text in edits if (dotted, text) not in plain))


def _feed(route: Route, shop: Shop, dotted: str, text: str) -> Edit:
    _, _, rest = dotted.partition(".")
    name, _, kind = rest.rpartition(".")
    op = route.operations.get(name)
    if op is None or not dotted.startswith("operations."):
        raise NameUnknown(f"there is no {dotted!r} in the route", where=dotted)
    tool = shop.tools.get(op.tool or "")
    if tool is None:
        raise InputError("a feed wants a tool first", where=dotted)
    per_tooth = _FEEDS[kind](text, op, tool, dotted)
    if not per_tooth > 0.0:
        raise InputError(f"{text!r} is no feed", where=dotted, right="more than nothing")
    key = f"operations.{name}.cut.feed_per_tooth"
    return key, as_text(key, per_tooth)


def _of_table(text: str, op: Operation, tool: Tool, where: str) -> float:
    return parse(text, "table_feed", where=where) / _teeth_a_second(op, tool, where)


def _of_a_turn(text: str, _op: Operation, tool: Tool, where: str) -> float:
    return parse(text, "length", where=where) / tool.flutes


def _by_arm(text: str, op: Operation, tool: Tool, where: str) -> float:
    found = _BY_ARM.match(text.strip())
    if not found:
        raise InputError(f"{text!r} is no feed by arm", where=where, right="5 mm in 3 s")
    depth = parse(found["depth"], "length", where=where) if found["depth"] else ARM_DEPTH
    seconds = parse(found["time"], "time", where=where)
    if not seconds > 0.0:
        raise InputError(f"{text!r} is no feed by arm", where=where, right="5 mm in 3 s")
    return depth / seconds / _teeth_a_second(op, tool, where)


def _teeth_a_second(op: Operation, tool: Tool, where: str) -> float:
    """Teeth that pass in a second [1/s]."""
    if not op.cut.spindle_speed:
        raise InputError("a feed wants a speed first", where=where)
    return op.cut.spindle_speed / (2.0 * math.pi) * tool.flutes


#: key on a card alone -> feed per tooth [mm] of its text
_FEEDS: Final[dict[str, Callable[[str, Operation, Tool, str], float]]] = {
    "feed": _of_table, "per_turn": _of_a_turn, "feed_by_arm": _by_arm}


def _in_turn(before: Route, after: Route, edits: Sequence[Edit]) -> None:
    """A number written anew is nobody else's, and no setting is taken down and set up again for it."""
    for dotted, text in edits:
        root, _, rest = dotted.partition(".")
        name, _, key = rest.rpartition(".")
        if root != "operations" or key != "number":
            continue
        mine = after.operations[name]
        if any(op.number == mine.number for other, op in after.operations.items() if other != name):
            raise InputError(f"there is an operation {text} already", where=dotted,
                             right="a number between two others")
        if _set_up(after) > _set_up(before):
            raise InputError(f"{text} stands among the operations of another setting", where=dotted,
                             right=f"a number among those of {mine.setting}")


def _set_up(route: Route) -> int:
    """How often a setting is set up on the way through the operations."""
    order = [op.setting for _, op in route.in_order()]
    return sum(now != last for now, last in zip(order, ["", *order], strict=False))
