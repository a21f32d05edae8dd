"""The bibliography: every entry once, named in one way."""

from __future__ import annotations

import re

from firstoff.sources import _ENTRIES, BIBLIOGRAPHY


def test_no_key_stands_twice() -> None:
    assert len(BIBLIOGRAPHY) == len(_ENTRIES)


def test_keys_are_plain_words_and_texts_end() -> None:
    for key, source in BIBLIOGRAPHY.items():
        assert re.fullmatch(r"[a-z][a-z0-9]*", key)
        assert source.key == key
        assert source.text.endswith("."), key


def test_what_is_our_own_says_so() -> None:
    assert {"own", "judged"} <= BIBLIOGRAPHY.keys()
