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


JOINT = ("M4 x 12", "--into", "al_6082", "--through", "s275", "--length", "9 mm")


def test_a_joint_from_the_shell() -> None:
    done = run("joint", *JOINT, "--load", "200 N", "--across", "--lubricated", "--json")
    assert done.returncode == 0 and done.stderr == ""
    assert json.loads(done.stdout)["lubricated"] is True


@pytest.mark.parametrize(("words", "said"), [
    (("M99",), "--into"), (("M99", "--into", "s275"), "no thread"), (("M4", "--into", "cheese"), "no material"),
    (("wedge", "--screw", "M6"), "--angle"), (("M4", "--into", "s275", "--torque", "2"), "has no unit"),
])
def test_a_joint_that_is_none_is_2(words: tuple[str, ...], said: str) -> None:
    done = run("joint", *words)
    assert done.returncode == 2 and done.stdout == "" and said in done.stderr and "Traceback" not in done.stderr


@pytest.mark.parametrize("words", [
    JOINT + ("--held", "20 kg", "--by", "key"), ("wedge", "--angle", "7deg", "--screw", "M6", "--by", "key"),
])
def test_a_joint_starts_light(words: tuple[str, ...]) -> None:
    code = (f"import sys\nsys.argv = ['firstoff', 'joint', *{words!r}, '--json']\nimport firstoff.cli\n"
            "try:\n    firstoff.cli.main()\nexcept SystemExit as done:\n    assert not done.code\n"
            f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
