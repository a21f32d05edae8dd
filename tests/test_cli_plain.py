"""Plain words are read as the library of commands reads them; what is not plain is left to it."""

from __future__ import annotations

import subprocess
import sys

import pytest
import typer

from firstoff import cli_plain
from firstoff.cli import app
from firstoff.cli_plain import PLAIN, joined, plain

ASKED = ("--machine", "knee", "--tool", "end_mill_16_hss", "--material", "brass")


@pytest.mark.parametrize("name", PLAIN)
def test_the_words_are_the_librarys(name: str) -> None:
    """Every option, flag and argument, and which of them are needed."""
    every = typer.main.get_command(app).commands[name].params      # type: ignore[attr-defined]
    options = {word for one in every if one.param_type_name == "option" and not one.is_flag for word in one.opts}
    flags = {word for one in every if one.param_type_name == "option" and one.is_flag for word in one.opts}
    assert PLAIN[name].options.keys() == options
    assert {f"--{flag}" for flag in PLAIN[name].flags} == flags
    for one in (one for one in every if one.param_type_name == "option" and not one.is_flag):
        assert len({PLAIN[name].options[word] for word in one.opts}) == 1, "one option under two names"
    needed = {one.name for one in every if one.required}
    assert set(PLAIN[name].needed) == needed


@pytest.mark.parametrize("words", [
    (), ("check", "job"), ("cut",), ("cut", "--help"), ("cut", *ASKED[:4]), ("cut", *ASKED, "--depth"),
    ("cut", *ASKED, "--depth", "-1 mm"), ("cut", *ASKED, "--deep", "1 mm"), ("cut", *ASKED, "--machine", "knee"),
    ("cut", *ASKED, "6 mm"), ("cut", *ASKED, "--json=1"), ("hole", "M5"), ("hole", "M5", "M6", "--material", "brass"),
    ("hole", "M5", "--material", "brass", "--depth", "8 mm", "--length", "8 mm"), ("cut", *ASKED, "-h"),
    ("--version",),
])
def test_what_is_not_plain_is_left(words: tuple[str, ...]) -> None:
    assert plain(words) is None


@pytest.mark.parametrize(("words", "meant"), [
    (("hole", "12", "mm", "--material", "brass"), ["hole", "12 mm", "--material", "brass"]),
    (("hole", "3/8", "in", "--depth", "0.5", "in"), ["hole", "3/8 in", "--depth", "0.5 in"]),
    (("cut", "--depth", "-1", "mm", "--down=3", "deg"), ["cut", "--depth", "-1 mm", "--down=3 deg"]),
    (("hole", "M5", "mm"), ["hole", "M5", "mm"]), (("hole", "in"), ["hole", "in"]),
    (("log", "20", "mm"), ["log", "20", "mm"]), ((), []),
])
def test_a_unit_apart_belongs_to_its_number(words: tuple[str, ...], meant: list[str]) -> None:
    assert joined(words) == meant


def test_a_size_without_quotes_is_answered() -> None:
    asked = [sys.executable, "-m", "firstoff", "hole", "6", "mm", "--material", "brass"]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stdout.startswith("Hole Ø6 mm")


@pytest.mark.parametrize(("words", "said", "flags"), [
    (("cut", *ASKED, "--depth=-1 mm", "--json"), {"depth": "-1 mm"}, {"json"}),
    (("cut", *ASKED, "--shop", "here", "--down", ""), {"shop": "here", "down": ""}, set()),
    (("cut", "--json", *ASKED), {}, {"json"}),
])
def test_what_is_read(words: tuple[str, ...], said: dict[str, str], flags: set[str],
                      monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    found: list[object] = []

    def told(*asked: object) -> list[str]:
        found.append(asked)
        return ["so", "and so"]

    command = PLAIN["cut"]._replace(told=told)
    monkeypatch.setattr(cli_plain, "PLAIN", {"cut": command})
    work = plain(words)
    assert work is not None
    work()
    assert found == [({"machine": "knee", "tool": "end_mill_16_hss", "material": "brass", **said}, flags)]
    assert capsys.readouterr().out == "so\nand so\n"


@pytest.mark.parametrize("words", [
    ("cut", *ASKED, "--speed", "800 rpm"), ("cut", *ASKED, "--speed", "800 rpm", "--json"),
    ("hole", "1/4-20", "--material", "s275", "--length", "12 mm", "--through"), ("hole", "10 H7", "--material=s275"),
    ("hole", "M99", "--material", "s275"), ("cut", *ASKED, "--depth", "1"), ("cut", *ASKED, "--shop", "no/where"),
])
def test_plain_words_and_the_library_answer_alike(words: tuple[str, ...]) -> None:
    """In processes of their own: the answer, the message of what is wrong, the exit code."""
    library = f"import sys\nsys.argv = ['firstoff', *{words!r}]\nfrom firstoff import cli\ncli.main()"
    one, other = (subprocess.run([sys.executable, *start], capture_output=True, text=True, check=False) for start in (
        ("-m", "firstoff", *words), ("-c", library)))
    assert (one.returncode, one.stdout, one.stderr) == (other.returncode, other.stdout, other.stderr)
    assert plain(words) is not None and one.stdout + one.stderr
