"""Words of one block: letters with numbers, without comments and blanks; what cannot be read is said by its word."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final, NamedTuple

from firstoff.errors import InputError

NUMBER: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_COMMENT: Final = re.compile(r"\([^()]*\)")
#: also what old tapes and editors leave at the end
_BLANK: Final = re.compile(r"[ \t\r\x0b\x0c\x00\x1a\x7f]+")
_KEYWORD: Final = re.compile(r"(IF|WHILE|GOTO|THEN|DO|END)(?=[\[#\d])")
#: so many lines are kept taken apart: more than any loop has
KEPT: Final = 2048
#: more of a word than this is not repeated to a person
SHOWN: Final = 24


class NotUnderstood(InputError):
    """A word of a program that has no meaning here; `what` says why."""


class Told(NamedTuple):
    """Something that a person should know of a program: where, and what."""

    line: int
    what: str


class Block(NamedTuple):
    """One block without comments and blanks, in capitals.

    Fields:
        line: where it stands in the file.
        text: its words.
        optional: whether a / stands in front.
        told: what is wrong with its comments.
    """

    line: int
    text: str
    optional: bool
    told: tuple[str, ...]


def block_of(raw: str, line: int) -> Block:
    """A line of a program without comments, blanks and %, in capitals."""
    return Block(line, *_cleaned(raw))


@lru_cache(maxsize=KEPT)
def _cleaned(raw: str) -> tuple[str, bool, tuple[str, ...]]:
    told: tuple[str, ...] = ()
    text = raw
    if "(" in text or ")" in text or ";" in text:
        text, told = _without_comments(text)
    text = _BLANK.sub("", text).upper()
    optional = text.startswith("/")
    text = text.lstrip("/")
    if text.startswith("%"):
        text = ""
    return text, optional, told


def _without_comments(text: str) -> tuple[str, tuple[str, ...]]:
    """The text outside ( ) and before ; whichever comes first."""
    semicolon, bracket = text.find(";"), text.find("(")
    if semicolon >= 0 and (bracket < 0 or semicolon < bracket):
        return text[:semicolon], ()
    plain = _COMMENT.sub("", text).partition(";")[0]
    if "(" in plain:
        return plain.partition("(")[0], ("( has no ) after it on this line, or stands in another comment: what "
                                         "follows it is taken for a comment",)
    if ")" in plain:
        return plain.replace(")", ""), (") without ( before it is passed over",)
    return plain, ()


def shown(word: str) -> str:
    """A word as a person sees it: short, and nothing that a terminal would act on."""
    plain = word if word.isprintable() else "".join(sign if sign.isprintable() else "?" for sign in word)
    return plain if len(plain) <= SHOWN else plain[:SHOWN] + "…"


def keyword_at(text: str, at: int) -> str:
    """IF, WHILE, GOTO, THEN, DO or END where one stands at this place; else nothing."""
    found = _KEYWORD.match(text, at)
    return found[1] if found else ""
