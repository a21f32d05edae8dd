"""What a screen reader is given of a page: Chromium's own tree of it, and what is wrong there."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from .browser import Tablet

CONTROLS = frozenset({"button", "link", "textbox", "combobox", "checkbox", "radio", "spinbutton", "searchbox",
                      "listbox", "menuitem", "switch", "slider", "DisclosureTriangle"})
PICTURES = frozenset({"image", "img", "graphics-document", "figure"})
#: a control is at least so large, unless it stands in a line of text (WCAG 2.5.8)
TARGET = 24
SMALL = """
    const least = arguments[0];
    const inText = (e) => getComputedStyle(e).display === "inline"
      && e.parentElement.textContent.trim() !== e.textContent.trim();
    const all = [...document.querySelectorAll("a[href],button,input,select,textarea,summary,[tabindex]")];
    for (const one of all) one.getBoundingClientRect();       // lay out what nobody came to yet
    return all.filter((e) => e.checkVisibility() && !e.disabled && !inText(e))
      .filter((e) => [e, e.closest("label")].filter(Boolean).every((at) => {
        const box = at.getBoundingClientRect();
        return box.width < least || box.height < least;
      }))
      .map((e) => `${e.tagName} ${(e.getAttribute("aria-label") || e.textContent).trim().slice(0, 40)}`);
"""
LOOSE = """
    return [...document.querySelectorAll("svg")].filter((e) => e.checkVisibility())
      .filter((e) => !e.closest("[role=img][aria-label],[role=application][aria-label],[aria-hidden=true]"))
      .map((e) => e.outerHTML.slice(0, 80));
"""


def tree(page: Tablet) -> list[dict[str, Any]]:
    """Every node that a reader comes across, in order: role, name, and what else is told of it."""
    found = page.driver.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    return [_node(node) for node in found if not node.get("ignored")]


def _node(node: dict[str, Any]) -> dict[str, Any]:
    more = {item["name"]: item["value"].get("value") for item in node.get("properties", [])}
    role, name = (node.get(key, {}).get("value", "") for key in ("role", "name"))
    return more | {"role": role, "name": name.strip()}


def complaints(page: Tablet) -> list[str]:
    """What a person who hears the page would curse at."""
    nodes = tree(page)
    unnamed = [f"{node['role']} without a name" for node in nodes
               if node["role"] in CONTROLS | PICTURES and not node["name"]]
    levels = [int(node["level"]) for node in nodes if node["role"] == "heading"]
    jumps = [f"heading {now} after {last}" for last, now in pairwise(levels) if now > last + 1]
    first = [] if levels.count(1) == 1 and levels[0] == 1 else [f"headings {levels[:3]}, {levels.count(1)} h1"]
    mains = sum(node["role"] == "main" for node in nodes)
    title = page.driver.title.strip()
    lang = page.script("return document.documentElement.lang")
    return [*unnamed, *jumps, *first, *([] if mains == 1 else [f"{mains} main parts"]),
            *([] if title else ["no title"]), *([] if lang == "en" else [f"language {lang!r}"]),
            *(f"drawing without words: {text}" for text in page.script(LOOSE)),
            *(f"small: {text}" for text in page.script(SMALL, TARGET))]


def spoken(page: Tablet) -> set[str]:
    """What is said by itself when it changes: the places that are there to be heard, by their id or class."""
    return set(page.script(
        "return [...document.querySelectorAll('[role=status],[role=alert],[aria-live],output,progress')]"
        ".filter((e) => e.checkVisibility()).map((e) => e.id || e.className)"))
