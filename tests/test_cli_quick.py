"""`firstoff cut` from the shell: what it prints, what it refuses, and what it never loads."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

ASKED = ("--machine", "light_gantry", "--tool", "end_mill_6_2f", "--material", "al_6082")
HEAVY = ("scipy", "numba", "sqlalchemy", "alembic", "OCP", "pint", "tomlkit", "typst")


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "firstoff", *words], capture_output=True, text=True, check=False)


def test_json_and_nothing_else() -> None:
    done = run("cut", *ASKED, "--json")
    assert done.returncode == 0 and done.stderr == ""
    assert json.loads(done.stdout)["direction"] in ("climb", "conventional")


def test_words() -> None:
    done = run("cut", *ASKED, "--depth", "0.5 mm", "--width", "1/32 in", "--speed", "9000 rpm", "--feed", "20 in/min")
    assert done.returncode == 0 and "Your own depth, width, speed, feed" in done.stdout


@pytest.mark.parametrize(("more", "said"), [
    (("--depth", "1"), "has no unit"), (("--depth=-1 mm",), "not greater than nothing"),
    (("--width", "7 mm"), "at most 6 mm"), (("--speed", "30000 rpm"), "this spindle turns"),
    (("--feed", "5 mm/min", "--speed", "9000 rpm"), "takes off nothing below"), (("--feed", "3 kg"), "--feed"),
    (("--direction", "up"), "climb or conventional"),
])
def test_bad_input_is_2_with_what_would_be_right(more: tuple[str, ...], said: str) -> None:
    done = run("cut", *ASKED, *more)
    assert done.returncode == 2 and done.stdout == "" and said in done.stderr and "Traceback" not in done.stderr


def test_it_starts_light() -> None:
    """Nothing that takes longer to load than the answer to compute."""
    code = (f"import sys\nsys.argv = ['firstoff', 'cut', *{ASKED!r}, '--json']\nimport firstoff.cli\n"
            "try:\n    firstoff.cli.main()\nexcept SystemExit:\n    pass\n"
            f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
