"""What `firstoff stack` says: sizes as they will come out, and what measured ones mean. No arithmetic here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from .dryrun.result import odds
from .dryrun.way import surface_name
from .job.faces import locate
from .telling import sentence, wrapped
from .units import tell

if TYPE_CHECKING:
    from .actions import Stacked
    from .dryrun.causes import Explanation
    from .dryrun.saving import Way
    from .dryrun.sizes import Size

SHARES_TOLD = 3
LEAST_SHARE = 0.01
MODEL = "-model-"      # in the names of limits that a model or a sketch brings
OTHERS = 0.1           # causes that are not told one by one are told together from this chance on


def stack_json(found: Stacked) -> dict[str, Any]:
    """The object that `stack --json` prints."""
    out: dict[str, Any] = {"job": found.job.name, "limits": [_size_json(size) for size in found.sizes],
                           "parts": {name: {"p_any_out": p} for name, p in found.any_out.items()}}
    if found.explanation is not None:
        out |= _explanation_json(found.explanation)
        out["ways"] = {name: [way_json(way) for way in each] for name, each in found.ways.items()}
    return out


def _size_json(size: Size) -> dict[str, Any]:
    limit = size.case.limit
    assert limit is not None
    return {
        "limit": size.name, "part": size.case.part_name, "kind": limit.kind, "nominal": limit.size,
        "lower": limit.tolerance[0], "upper": limit.tolerance[1], "unit": "mm",
        "mean": size.mean if size.came else None, "sd": size.sd if size.came else None, "p_out": size.p_out,
        "worst_case": size.worst if size.came else None, "shares": dict(size.shares),
        "p_out_unmeasured": size.p_unmeasured,
        "measured_after": size.came.found.measured if size.came else "", "instrument": limit.instrument,
        "instrument_can_confirm": None if limit.instrument is None else not size.too_coarse,
        "instead": [{"text": cure.text, "p_out": cure.p_after, "saves_minutes": cure.saves, "minutes": cure.minutes,
                     "edits": dict(cure.edits), "breaks": cure.breaks} for cure in size.cures],
        "because": size.because,
    }


def _explanation_json(said: Explanation) -> dict[str, Any]:
    return {
        "measured": [{"limit": r.limit, "size": r.size, "deviation": r.deviation, "u": r.u, "decision": r.decision,
                      "settle": r.settle, "warmth": r.grown}
                     for r in said.readings],
        "causes": [{"text": c.text, "chance": c.chance, "value": c.value} for c in said.causes],
        "told_apart": said.told_apart, "sure": said.sure, "measure_next": said.ask, "contradictory": said.contradicts,
        "more_than_one": said.besides,
        "predictions": [{"limit": f.limit, "mean": f.mean, "sd": f.sd, "p_out": f.p_out, "p_before": f.p_before}
                        for f in said.forecasts],
        "corrections": [{"text": c.text, "value": c.value, "p_out": dict(c.after), "leaves": dict(c.leaves)}
                        for c in said.corrections],
    }


def way_json(way: Way) -> dict[str, Any]:
    """One way to go on, as the interface prints it."""
    return {"text": way.text, "minutes": way.minutes, "money": way.money, "chance": way.chance}


def stack_lines(found: Stacked) -> Iterator[str]:
    """The answer of `stack` for a person."""
    for size in sorted(found.sizes, key=lambda s: -(s.p_out if s.p_out is not None else -1.0)):
        yield from _size_lines(size, found.job.units)
    if not found.sizes:
        yield "The job names no size that must come right: write some under [limits] in job.toml."
    for name, p in found.any_out.items():
        if sum(size.case.part_name == name and size.came is not None for size in found.sizes) > 1:
            yield ""
            yield from wrapped(f"Any size of the {name} out: {odds(p)}; errors that they share are counted once.")
    if found.explanation is not None:
        yield ""
        yield from _explanation_lines(found.explanation, found.ways, found.job.units)


def _size_lines(size: Size, units: str) -> Iterator[str]:
    limit = size.case.limit
    assert limit is not None
    wanted = f"{_signed(limit.tolerance[0], units)} to {_signed(limit.tolerance[1], units)}"
    yield ""
    if size.came is None:
        yield from wrapped(f"{size.name}: can't say: {size.because}.")
        return
    yield from wrapped(f"{size.name}{_nominal(size, units)}: wanted {wanted}: out {odds(size.p_out)}.")
    told = ", ".join(f"{label} {share:.0%}" for label, share in list(size.shares.items())[:SHARES_TOLD]
                     if share >= LEAST_SHARE)
    yield from wrapped(f"{_signed(size.mean, units)} in the mean, {_plus_minus(size.sd, units)} (19 in 20); at worst "
                       f"{_mm(size.worst, units)} off. {sentence(told) if told else ''}", 4, 0)
    if size.came.found.measured:
        yield from wrapped(f"Measured after {size.came.found.measured}, and the last cut set by it; without that "
                           f"it is out {odds(size.p_unmeasured)}.", 4, 0)
    if size.came.found.lapped:
        yield from wrapped(f"Lapped at {size.came.found.late} until it reads right all over.", 4, 0)
    if size.too_coarse:
        instrument = size.case.shop.instruments[limit.instrument or ""].name
        yield from wrapped(f"Too coarse to confirm it: the {instrument}.", 4, 0)
    for cure in size.cures:
        saves = f"; saves {cure.saves:.0f} min" if cure.saves is not None and cure.saves >= 1.0 else ""
        breaks = f"; but then {cure.breaks}" if cure.breaks else ""
        yield from wrapped(f"{cure.text}: {odds(cure.p_after)}{saves}{breaks}", 4)


def _nominal(size: Size, units: str) -> str:
    """How large it is; and of a limit that the model brings, which has no name of a person's, between which faces."""
    limit = size.case.limit
    assert limit is not None
    told = f", {_mm(limit.size, units)}" if limit.size else ""
    if MODEL not in size.name:
        return told
    places = [locate(name, size.case.job, size.case.parts, limit.part) for name in limit.between]
    ends = list(dict.fromkeys(surface_name(size.case, place.part, place.faces[0]) for place in places))
    return f"{told}, {' to '.join(ends)}"


def _mm(value: float, units: str) -> str:
    return tell(value, "length", units)


def _plus_minus(sd: float, units: str) -> str:
    return f"± {_mm(2.0 * sd, units)}"


def _signed(value: float, units: str) -> str:
    told = _mm(value, units)
    return f"+{told}" if value > 0.0 and not told.startswith("0 ") else told


def _explanation_lines(said: Explanation, ways: Mapping[str, tuple[Way, ...]], units: str) -> Iterator[str]:
    yield "MEASURED (ISO 14253-1, U = 2u)"
    for reading in said.readings:
        settle = f"; {reading.settle}" if reading.settle else ""
        warm = f", {_mm(reading.grown, units)} of it warmth taken off" if reading.grown else ""
        yield from wrapped(f"{reading.limit}: {_mm(reading.size, units)}{warm}, {_signed(reading.deviation, units)} "
                           f"off, U = {_mm(2.0 * reading.u, units)}: {reading.decision}{settle}", 2)
    yield ""
    if said.contradicts:
        yield "THESE READINGS CONTRADICT EACH OTHER"
        yield from wrapped(f"{said.contradicts}.", 2)
        return
    yield ("WHAT EXPLAINS IT" if said.sure else "WHAT EXPLAINS IT BEST, BUT NOT FOR SURE" if said.told_apart else
           "THESE CAUSES CANNOT BE TOLD APART")
    for cause in said.causes[:5]:
        yield from wrapped(f"{cause.text}: {odds(cause.chance)}", 2)
    others = 1.0 - sum(cause.chance for cause in said.causes[:5])
    if others > OTHERS:
        yield from wrapped(f"others, each of them rarer: {odds(others)}", 2)
    if said.besides:
        yield from wrapped(f"But {said.besides}.", 2)
    if said.ask:
        yield from wrapped(f"What would tell: {said.ask}.", 2)
    for correction in said.corrections:
        after = ", ".join(f"{name} {odds(p)}" for name, p in list(correction.after.items())[:4])
        off = ", ".join(f"{name} {_signed(size, units)}" for name, size in list(correction.leaves.items())[:4])
        yield from wrapped(f"To correct: {correction.text}{f'; cut again so: {off} off' if off else ''}"
                           f"{f'; then out: {after}' if after else ''}.", 2)
    if said.forecasts:
        yield ""
        yield "SIZES NOT MEASURED"
        for size in said.forecasts:
            yield from wrapped(f"{size.limit}: {_signed(size.mean, units)} {_plus_minus(size.sd, units)}: "
                               f"out {odds(size.p_out)} (was {odds(size.p_before)})", 2)
    for name, each in ways.items():
        yield ""
        yield from ways_lines(name, each)


def ways_lines(name: str, ways: Iterable[Way]) -> Iterator[str]:
    """Ways to go on, each with its chance, minutes and money."""
    yield f"NOW WHAT: {name}"
    for way in ways:
        money = f", {way.money:g} in money" if way.money else ""
        yield from wrapped(f"{way.text}: right {odds(way.chance)}, {way.minutes:.0f} min{money}", 2)
