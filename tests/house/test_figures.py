"""Every number of the starter library has a source; the judged ones are wide and are counted."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from typing import Any

from firstoff.sources import BIBLIOGRAPHY
from tests.house import reading

DATA = reading.SOURCE / "shop" / "data"
JUDGED_FACTOR = 2.0
_NUMBER = re.compile(r"[-+]?[\d.]+(?:e[-+]?\d+)?")


def figures(table: Any, place: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """All tables at any depth that carry a source, with their dotted place."""
    if isinstance(table, dict):
        if "source" in table:
            yield place, table
        for key, value in table.items():
            yield from figures(value, f"{place}.{key}" if place else key)
    elif isinstance(table, list):
        for number, value in enumerate(table):
            yield from figures(value, f"{place}[{number}]")


def library() -> list[tuple[str, dict[str, Any]]]:
    """All figures of the starter library."""
    return [
        (f"{path.name}: {place}", figure) for path in sorted(DATA.glob("**/*.toml"))
        for place, figure in figures(tomllib.loads(path.read_text(encoding="utf-8")))
    ]


def is_judged(figure: dict[str, Any]) -> bool:
    """Whether no published source was found for this figure."""
    return str(figure["source"]).split(",")[0] == "judged"


def too_narrow(figure: dict[str, Any]) -> bool:
    """Whether a judged figure claims to be known better than × and ÷ 2."""
    if "factor" in figure:
        return float(figure["factor"]) < JUDGED_FACTOR
    if "sd" in figure:
        return _number(figure["sd"]) < 0.5 * abs(_number(figure["value"]))
    return "value" in figure


def _number(value: Any) -> float:
    found = _NUMBER.search(str(value))
    assert found, f"{value!r} holds no number"
    return float(found[0])


def test_every_source_is_in_the_bibliography() -> None:
    unknown = {place: figure["source"] for place, figure in library()
               if str(figure["source"]).split(",")[0] not in BIBLIOGRAPHY}
    assert unknown == {}


def test_judged_figures_are_wide() -> None:
    assert [place for place, figure in library() if is_judged(figure) and too_narrow(figure)] == []


def test_the_readme_says_how_many_are_judged() -> None:
    judged, total = sum(is_judged(figure) for _, figure in library()), len(library())
    readme = reading.ROOT / "README.md"
    text = readme.read_text(encoding="utf-8") if readme.exists() else ""
    assert total == 0 or f"{judged} of {total} figures" in " ".join(text.split()), \
        f'README.md must say that "{judged} of {total} figures" of the starter library are judged'


def test_a_narrow_judgement_is_seen() -> None:
    text = """
        [steel.hardness]
        value = "2 N/um"
        sd = "0.5 N/um"
        source = "judged"
        [[steel.rows]]
        value = 3
        factor = 2.5
        source = "judged"
        [steel.known]
        value = 1
        factor = 1.1
        source = "klocke2011"
        [steel.bare]
        value = 3
        source = "judged"
    """
    found = dict(figures(tomllib.loads(text)))
    assert list(found) == ["steel.hardness", "steel.rows[0]", "steel.known", "steel.bare"]
    assert [name for name, figure in found.items() if is_judged(figure) and too_narrow(figure)] == [
        "steel.hardness", "steel.bare"]
