"""The pages as texts: the desk, the bench, and what stands there while nothing is known yet."""

from __future__ import annotations

import base64
import hashlib
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from ..errors import FirstoffError
from ..units import tell
from .clerk import Book, Clerk
from .guard import POLICY
from .looking import MOST

if TYPE_CHECKING:
    from ..actions_kept import Decided
    from ..actions_shop import Behind
    from ..dryrun.causes import Explanation
    from ..dryrun.result import Checked, Result
    from ..records.store import Record

TEMPLATES: Final = Path(__file__).parent / "templates"
PAIR_STYLE: Final = ("body{font:24px/1.5 sans-serif;max-width:26em;margin:3em auto;padding:0 1em}"
                     "body,input,button{background:#f7f4ec;color:#1d1b18}"
                     "input,button{font:inherit;min-height:96px;padding:0 .6em;width:100%;margin:.3em 0}")
_HASH: Final = base64.b64encode(hashlib.sha256(PAIR_STYLE.encode()).digest()).decode()
PAIR_POLICY: Final = {"content-security-policy": POLICY["content-security-policy"].replace(
    "style-src 'self'", f"style-src 'sha256-{_HASH}'")}
#: roles that are heard through a wall: cutters that strike the work
LOUD: Final = ("rough", "finish", "slot", "form", "chamfer", "saw")
CHECKS_BEFORE: Final = 3
WAYS: Final = 3
#: kinds of records that a card tells
TELLS: Final = ("word", "seen", "watts", "size", "pull", "lift")
#: of the paper that the bench draws on: narrow, so that letters are large; low, as it lies across a tablet [mm]
NARROW: Final = 160.0
LOW: Final = 78.0
AT_ARMS_LENGTH: Final = ("plan", "pictorial")     #: views on the bench: few, so that they are large
#: a strip that spans more than this many times its least is drawn by ratios; what is left free at its ends
WIDE: Final = 20.0
MARGIN: Final = 0.02


@cache
def _env() -> Environment:
    env = Environment(loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined,
                      trim_blocks=True, lstrip_blocks=True)
    env.globals["most"] = MOST
    return env


def page(template: str, /, **values: Any) -> str:
    """A page by its template."""
    return _env().get_template(template).render(**values)


def pair(wrong: str) -> str:
    """Where a device types its one-time code."""
    return page("pair.html", style=Markup(PAIR_STYLE), wrong=wrong)


def trouble(error: FirstoffError) -> str:
    """A page that cannot be shown, and what would be right."""
    from ..telling import sentence

    return page("trouble.html", what=sentence(error.what), where=error.where, right=error.right)


def waiting(clerk: Clerk) -> str:
    """The first page: there before the job is read, or before it is seen what a new one can be made of."""
    doing = "Reading the job" if clerk.has_job else "Opening the shop"
    return page("waiting.html", job=clerk.folder.name, doing=doing)


def ask(blanks: Mapping[str, Any]) -> str:
    """The sentences with blanks."""
    return page("ask.html", **blanks)


def desk(book: Book, network: bool) -> str:
    """The route card, laid out as it prints; written once for each check."""
    if network not in book.card:
        book.card[network] = _desk(book, network)
    return book.card[network]


def _desk(book: Book, network: bool) -> str:
    from ..telling import sentence
    from . import pencil

    result = book.result
    keys = {op.number: key for key, op in result.route.operations.items()}
    return page("desk.html", front=book.sheets["front"], first=_first(result.first_to_go), settings=[
        _setting(sheet) | {"operations": [_card(card, book, keys[card["number"]]) for card in sheet["operations"]],
                           "lines": pencil.held_of(result, sheet["name"])}
        for sheet in book.sheets["settings"]
    ], inspection=[row | pencil.limit_of(result, row) for row in book.sheets["inspection"]],
        limits=_limits(result), parts=list(result.parts), network=network, budget=pencil.budget_of(result),
        stock={name: pencil.stock_of(result, name) for name in result.job.parts},
        joints=[joint | {"lines": pencil.joint_of(result, joint["name"])} for joint in book.sheets["joints"]],
        choices=pencil.choices(result), **whose_figures(str(book.sheets["front"]["figures_note"])),
        contents=[_contents(sheet) for sheet in book.sheets["settings"]],
        remarks=[sentence(text) for text in result.remarks])


def whose_figures(said: str) -> dict[str, Any]:
    """Whose figures these are; what is done by a command elsewhere is done in the shop here."""
    plain = re.sub(r":? ?run firstoff learn( again)?", "", said)
    return {"note": plain or "book figures only", "learns": plain != said}


def _contents(sheet: Mapping[str, Any]) -> dict[str, Any]:
    """A line of the list of settings: which it is, and the operations in it about which there is something to say."""
    said = [(verdict, [card["number"] for card in sheet["operations"] if card["verdict"] == verdict])
            for verdict in ("no good", "can't say", "close")]
    return {"name": sheet["name"], "title": f"{sheet['part']} {sheet['k']} of {sheet['n']}",
            "machine": sheet["machine"], "numbers": [card["number"] for card in sheet["operations"]],
            "said": [(verdict, numbers) for verdict, numbers in said if numbers], "dont": bool(sheet["dont"])}


def _first(first: Checked | None) -> dict[str, Any] | None:
    """What is first to go, in one sentence, with what can be ticked instead."""
    from ..dryrun.result import odds
    from ..telling import place, sentence

    if first is None:
        return None
    return {
        "said": f"{place(first)}: {first.title}, {odds(first.finding.p_fail)}; {first.finding.at_risk} at risk.",
        "because": sentence(first.finding.because), "settle": first.finding.settle_by, "number": first.number,
        "instead": [{"text": r.text, "edits": dict(r.edits), "after": odds(r.p_after), "minutes": r.minutes}
                    for r in first.instead],
    }


def _limits(result: Result) -> list[dict[str, Any]]:
    """What can be ticked so that sizes come right more often."""
    from ..dryrun.result import odds

    return [{"name": c.operation, "text": r.text, "edits": dict(r.edits), "was": odds(c.finding.p_fail),
             "after": odds(r.p_after), "minutes": round(r.minutes)}
            for c in result.checks if c.finding.subject == "limit" for r in c.instead]


def _setting(sheet: Mapping[str, Any]) -> dict[str, Any]:
    drawing = sheet["drawing"]
    return dict(sheet) | {"svg": Markup(drawing["svg"]) if drawing else None}


def write_out(book: Book, network: bool) -> None:
    """Draw and write now what takes longest, so that desk and bench are there as soon as they are asked for."""
    desk(book, network)
    for sheet in book.sheets["settings"]:
        _standing(sheet, book)


def _standing(sheet: Mapping[str, Any], book: Book) -> dict[str, Any]:
    """A setting as one sees it standing at the machine: from above and as a picture, as large as will go."""
    from ..sheets.document import drawing

    name = str(sheet["name"])
    if name in book.standing:
        return dict(book.standing[name])
    views = [view for view in book.views.get(sheet["name"], ()) if view.name in AT_ARMS_LENGTH]
    drawn = drawing(book.result, sheet["name"], views, LOW, NARROW)
    book.standing[name] = _setting(sheet) if drawn is None else dict(sheet) | {"svg": Markup(drawn.svg)}
    return dict(book.standing[name])


def _card(card: Mapping[str, Any], book: Book, key: str) -> dict[str, Any]:
    """A card with the key of each number that may be rubbed out, and how sure as strips."""
    from . import pencil

    result = book.result
    found = [c for c in result.checks if c.finding.subject == "operation" and c.operation == key]
    worst = sorted((c for c in found if c.verdict != "good"), key=lambda c: -(c.finding.p_fail or 0.0))[:2]
    op = result.route.operations[key]
    notes = card["notes"][:-1] if op.cooling else card["notes"]      # how long it cools stands among the numbers
    return dict(card) | {"key": key, "head": pencil.head_of(result, key), "lines": pencil.numbers_of(result, key),
                         "strips": [strip(c) | stands_on(book.behind.get((key, c.finding.check), ())) for c in worst],
                         "program": result.route.program_of(op) or "",
                         "mills": bool(op.tool and op.cut.spindle_speed), "notes": notes, "said": _said(card),
                         "sings_map": any(c.finding.check == "chatter" for c in found),
                         "part": result.route.settings[op.setting].workpiece.split("+")[0]}


def _said(card: Mapping[str, Any]) -> str:
    return str(card["verdict"]) + ("" if card["odds"] == "not known" else f": spoiled {card['odds']}")


def strip(checked: Checked) -> dict[str, Any]:
    """How sure: what is less sure of demand and capacity as a strip of grey, the other as a line; in percent.

    Where they span much, distances are of their logarithms, as ratios are what matters then.
    """
    from ..dryrun.result import odds
    from ..telling import sentence

    demand, capacity = checked.finding.demand, checked.finding.capacity
    words = {"title": checked.title, "odds": odds(checked.finding.p_fail), "verdict": checked.verdict,
             "because": sentence(checked.finding.because), "drawn": False}
    if demand is None or capacity is None:
        return words
    asked = demand.high - demand.low >= capacity.high - capacity.low
    grey, line = (demand, capacity.median) if asked else (capacity, demand.median)
    ends = [grey.low, grey.median, grey.high, line]
    if min(ends) > 0.0 and max(ends) > WIDE * min(ends):
        ends = [math.log(end) for end in ends]
        low = min(ends)
    else:
        low = min(*ends, 0.0)
    span = 1.1 * (max(ends) - low)
    if not span > 0.0:
        return words
    share = [round(100.0 * (MARGIN + (1.0 - 2 * MARGIN) * (end - low) / span), 2) for end in ends]
    said = "grey is what the cut asks, the line what bears it" if asked else (
        "grey is what bears it, as far as is known; the line is what the cut asks")
    return words | {"drawn": True, "low": share[0], "middle": share[1], "high": share[2], "limit": share[3],
                    "said": said}


def stands_on(figures: Sequence[Behind]) -> dict[str, Any]:
    """By which figures a check was reckoned: own ones with their records, those that records leave as they were,
    and the book's by name.
    """
    def named(some: Iterable[Behind]) -> list[str]:
        return [f"{one.name}{records_in_words(one.records)}" for one in some]

    own, book = [one for one in figures if one.own], [one for one in figures if not one.own]
    kept = [one for one in book if one.records]
    most = max((one.records for one in figures), default=0)
    heard = f"{most} record{'' if most == 1 else 's'} of this shop"
    if own:
        said = f"by {heard}: {len(own)} of {len(figures)} figures are your own by now"
    elif kept:
        said = f"by book figures; {heard} {'has' if most == 1 else 'have'} moved none of them by much"
    else:
        said = f"by {len(book)} figure{'' if len(book) == 1 else 's'} of the book, no record yet"
    return {"by": said, "own": named(own), "kept": named(kept), "book": named(one for one in book if not one.records)}


def records_in_words(many: int) -> str:
    """How many records speak of a figure, in brackets; nothing where that is not known."""
    return f" ({many} record{'' if many == 1 else 's'})" if many else ""


def draft(before: Result, after: Result) -> dict[str, Any]:
    """What a draft would change, for the desk: in sum, and where it stands on the cards."""
    from ..dryrun.result import odds
    from ..sheets.cards import operation_card
    from ..telling import changed_verdicts
    from . import pencil

    was = pencil.written(before)
    said = {key: _said(operation_card(after, key, op)) for key, op in after.route.operations.items()}
    return {
        "written": {path: text for path, text in pencil.written(after).items() if was.get(path, text) != text},
        "said": {key: text for key, text in said.items() if key in before.route.operations
                 and text != _said(operation_card(before, key, before.route.operations[key]))},
        "first": _first(after.first_to_go), "spoiled": odds(after.p_spoil), "lost": odds(after.p_part_lost),
        "was_spoiled": odds(before.p_spoil), "was_lost": odds(before.p_part_lost),
        "changed": changed_verdicts(before, after),
        "minutes": round((after.seconds - before.seconds) / 60.0, 1),
        "dont": [rule.because for rule in after.rules if rule.verdict == "don't start"],
    }


def bench(book: Book, records: Sequence[Record]) -> str:
    """All operations, of which one is shown at a time."""
    from ..records.logging import WORDS
    from ..records.reading import PARALLELS, SEEN

    result = book.result
    keys = {op.number: key for key, op in result.route.operations.items()}
    noted = _noted(records, result)
    cards = [_at_bench(card, sheet, result, keys[card["number"]], noted)
             for sheet in book.sheets["settings"] for card in sheet["operations"]]
    settings = [_standing(sheet, book) for sheet in book.sheets["settings"]]
    return page("bench.html", job=result.job.name, settings=settings, words=WORDS, seen=SEEN, parallels=PARALLELS,
                cards=sorted(cards, key=lambda card: card["number"]), unit=result.job.units)


def _noted(records: Iterable[Record], result: Result) -> dict[str, str]:
    """The last that was seen, heard or measured of each operation and limit of this job, in words; notes are longer
    than a card.
    """
    from ..records.store import record_says

    kept = [r for r in records if r.job == result.job.name]
    gone = {r.replaces for r in kept if r.replaces}
    return {r.subject: record_says(replace(r, conditions={k: v for k, v in r.conditions.items() if k != "note"}))
            for r in kept if r.id not in gone and r.kind in TELLS}


def _at_bench(card: Mapping[str, Any], sheet: Mapping[str, Any], result: Result, key: str,
              noted: Mapping[str, str]) -> dict[str, Any]:
    op = result.route.operations[key]
    limits = [_limit(result, name) for name in op.measure if name in result.job.limits]
    return dict(card) | {
        "key": key, "setting": sheet["name"], "part": sheet["part"], "k": sheet["k"], "n": sheet["n"],
        "machine": sheet["machine"], "before": _before(card, sheet), "limits": limits,
        "dont": [*card["dont"], *(text for text in sheet["dont"] if not text.startswith("operation "))],
        "loud": op.role.rpartition("_")[2] in LOUD, "noted": noted.get(key, ""), "first_says": _first_says(card),
        "program": result.route.program_of(op) or "",
    }


def _first_says(card: Mapping[str, Any]) -> str:
    from ..telling import sentence

    first = card["first"]
    if first is None or first["verdict"] == "good":
        return ""
    return f"{sentence(first['title'])[:-1]}, {first['odds']}."


def _before(card: Mapping[str, Any], sheet: Mapping[str, Any]) -> list[str]:
    """At most three things to check before starting: the hold on the work, what hurts, what the card notes."""
    held = dict(sheet["held"])
    work = ", ".join(text for text in (held["held in"], held.get("how tight", ""), held.get("how deep", "")) if text)
    said = [work, *sheet["cautions"], *card["notes"]]
    return [text for text in said if text][:CHECKS_BEFORE]


def _limit(result: Result, name: str) -> dict[str, Any]:
    """A limit as the number pad wants it."""
    from ..sheets.lists import instrument, nominal_of

    limit, units = result.job.limits[name], result.job.units
    tool, nominal = instrument(result, limit), nominal_of(result, limit)
    low, high = limit.tolerance
    said = "" if nominal is None else tell(nominal, "length", units)
    if limit.is_zone:
        said, low = f"within {tell(high, 'length', units)}", high
    band = "" if limit.is_zone else f"±{tell(high, 'length', units)}" if abs(low + high) < 1e-9 else (
        f"{tell(low, 'length', units)} to {tell(high, 'length', units)}")
    return {"name": name, "title": name.replace("_", " "), "size": f"{said} {band}".strip(),
            "instrument": tool[0] if tool else "", "with": result.shop.instruments[tool[0]].name if tool else ""}


def decision(found: Decided, result: Result) -> dict[str, Any]:
    """What a size that was read allows to be said, what explains it, and how to go on."""
    units, read, said = result.job.units, found.read, found.explanation
    off = tell(abs(read.deviation), "length", units)
    side = "" if abs(read.deviation) < 1e-6 else " over" if read.deviation > 0 else " under"
    return {
        "decision": read.decision, "off": f"{off}{side}" if side else "on the nominal",
        "u": f"U = {tell(2.0 * read.u, 'length', units)}",
        "explains": [] if said is None else list(_explains(said)),
        "ways": [{"text": way.text, "odds": _comes_right(way.chance), "minutes": f"{way.minutes:.0f} min"}
                 for way in found.ways if way.chance > 0.01][:WAYS],
    }


def _explains(said: Explanation) -> Iterator[str]:
    """What explains the readings of the job together, in a few lines."""
    from ..dryrun.result import odds

    if said.contradicts:
        yield f"The readings contradict each other: {said.contradicts}."
        return
    if len(said.readings) > 1:
        yield f"With {len(said.readings) - 1} other reading{'s' if len(said.readings) > 2 else ''} of this job."
    best = said.causes[:1] if said.sure else said.causes[:2]
    if said.told_apart or said.ask:
        told = " or ".join(f"{cause.text} ({odds(cause.chance)})" for cause in best)
        yield f"{'What explains it' if said.sure else 'What may explain it'}: {told}."
    if said.besides:
        yield f"But {said.besides}."
    if said.ask:
        yield f"What would tell: {said.ask}."
    for correction in said.corrections:
        yield f"To correct: {correction.text}."


def _comes_right(chance: float) -> str:
    from ..dryrun.result import odds

    return f"still wrong {odds(1.0 - chance)}"
