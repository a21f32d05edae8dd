"""The quick commands from the shell: what they print, what they refuse and how, and what they never load."""

from __future__ import annotations

import contextlib
import io
import json
import math
import re
import subprocess
import sys
from typing import Any
from unittest import mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.cli import main
from firstoff.units import parse

ASKED = ("--machine", "light_gantry", "--tool", "end_mill_6_2f", "--material", "al_6082")
HEAVY = ("scipy", "numba", "sqlalchemy", "alembic", "OCP", "pint", "tomlkit", "typst", "sqlite3", "numpy.ma",
         "numpy.polynomial", "firstoff.checks.size", "firstoff.checks.program_hits")


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "firstoff", *words], capture_output=True, text=True, check=False)


def test_json_and_nothing_else() -> None:
    done = run("cut", *ASKED, "--json")
    assert done.returncode == 0 and done.stderr == ""
    assert json.loads(done.stdout)["direction"] in ("climb", "conventional")


def test_a_material_is_meant_by_a_word_of_its_name_as_for_a_hole() -> None:
    done = run("cut", *ASKED[:-1], "brass")
    assert done.returncode == 0 and "brass CZ121" in done.stdout


def test_a_word_that_could_mean_another_is_told() -> None:
    """A cut in 's275' was one in hot-rolled stock, and nobody was told that it could be another."""
    done = run("cut", "--machine", "gantry", *ASKED[2:-1], "s275")
    assert done.returncode == 0 and "light gantry mill" in done.stdout
    assert "material read as s275_hot_rolled; it could be s275_cold_drawn too" in done.stdout
    assert "read as" not in run("cut", *ASKED).stdout


def test_words() -> None:
    done = run("cut", *ASKED, "--depth", "0.5 mm", "--width", "1/32 in", "--speed", "9000 rpm", "--feed", "20 in/min")
    assert done.returncode == 0 and "Your own depth, width, speed, feed" in done.stdout


@pytest.mark.parametrize(("more", "said"), [
    (("--depth", "1"), "has no unit"), (("--depth=-1 mm",), "-1 mm can be neither set nor asked (0.001 mm"),
    (("--width", "7 mm"), "at most 6 mm"), (("--speed", "30000 rpm"), "this spindle turns"),
    (("--feed", "5 mm/min", "--speed", "9000 rpm"), "takes off nothing below"), (("--feed", "3 kg"), "--feed"),
    (("--direction", "up"), "climb (down-milling) or conventional (up-milling)"),
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


@pytest.mark.parametrize(("words", "looked_for"), [(["cut"], False), (["check"], True), ([], True)])
def test_a_quick_answer_looks_for_no_garbage(words: list[str], looked_for: bool) -> None:
    told = ("import gc, sys, firstoff.__main__ as start, firstoff.cli\n"
            f"sys.argv[1:] = {words!r}\nfirstoff.cli.main = lambda: print(gc.isenabled())\nstart.start()")
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True,
                          check=True)
    assert done.stdout.strip() == str(looked_for)


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


# --- bad input: refused with what and what would be right, or answered; never NaN, never clamped ---
# In this process through `main`, as the shell does it, so that nothing of the handling of errors is left out.

#: `--option: what is wrong (what would be right)`, on one line
MESSAGE = re.compile(r"^(--[a-z-]+|hole|screw|what|size): [^\n]+ \([^\n]+\)\n$")
NO_NUMBER = re.compile(r"\b(nan|inf|infinity|None)\b", re.IGNORECASE)
TOOLS = ("end_mill_6_2f", "end_mill_2_2f", "ball_6", "end_mill_16_hss", "corner_radius_8", "drill_4", "tap_m4",
         "file")
MACHINES = ("light_gantry", "small_column", "knee", "drill_press", "hand_tools", "lathe")
MATERIALS = ("al_6082", "s275_hot_rolled", "brass_cz121", "unknown_bar", "acetal", "hardwood", "cheese", "")


def asked(*words: str) -> tuple[int, str, str]:
    """Exit code, standard output and standard error of a command."""
    out, err, code = io.StringIO(), io.StringIO(), 0
    with (mock.patch.object(sys, "argv", ["firstoff", *words]), contextlib.redirect_stdout(out),
          contextlib.redirect_stderr(err)):
        try:
            main()
        except SystemExit as stop:
            code = int(stop.code or 0)
    return code, out.getvalue(), err.getvalue()


def _no_constant(name: str) -> None:
    raise AssertionError(f"{name} in JSON")


def answered(*words: str) -> dict[str, Any] | None:
    """What a command answered as JSON; None where it refused, which it must have done well."""
    code, out, err = asked(words[0], "--json", *words[1:])
    assert code in (0, 2), (words, code)
    if code == 2:
        assert out == "" and MESSAGE.match(err), (words, err)
        assert not NO_NUMBER.search(re.sub(r"'[^']*'", "", err)), (words, err)
        return None
    assert err == "", (words, err)
    found: dict[str, Any] = json.loads(out, parse_constant=_no_constant)
    return found


NUMBERS = ("0", "-0", "-1", "1e-30", "1e-9", "1e9", "1e308", "1e400", "-1e9", "nan", "inf", "-inf", "", "1/0", "1/3",
           "1,5", "1.2.3", "½", "１", "--", "0x10", "3 1/8", "1e", "one", "9" * 400)
UNITS = {
    "length": ("mm", "um", "in", "m"), "rotation": ("rpm", "Hz", "1/min"), "table_feed": ("mm/min", "in/min", "m/s"),
    "force": ("N", "lbf"), "torque": ("N m", "lbf in"), "mass": ("kg", "lb"), "angle": ("deg", "rad"),
}
WRONG = ("", "kg", "mm", "rpm", "N m", "K", "furlong", "mm mm", "%", "mm/min", "!", "\x00", "mm^-1", "(", "**2")


def bad(quantity: str) -> st.SearchStrategy[str]:
    """A text that may well be none of this quantity."""
    units = st.sampled_from(UNITS[quantity] * 2 + WRONG)
    numbers = st.one_of(st.sampled_from(NUMBERS), st.floats(1e-3, 1e4).map(lambda x: f"{x:.4g}"))
    return st.builds(lambda n, u: f"{n} {u}", numbers, units)


def fine(least: float, most: float, unit: str) -> st.SearchStrategy[str]:
    """A text that a person may well give."""
    return st.floats(least, most).map(lambda x: f"{x:.3g} {unit}")


def options(said: dict[str, tuple[str, float, float, str]]) -> st.SearchStrategy[list[str]]:
    """Any of these options, fine, but one in three times one of them bad: quantity, least, most and unit of each."""
    good = st.fixed_dictionaries({}, optional={name: fine(*of[1:]) for name, of in said.items()})
    one = st.one_of(*(st.fixed_dictionaries({name: bad(of[0])}) for name, of in said.items()))
    none: st.SearchStrategy[dict[str, str]] = st.just({})
    wrong = st.one_of(none, none, one)
    return st.builds(lambda a, b: [f"--{name}={text}" for name, text in {**a, **b}.items()], good, wrong)


def mostly(good: tuple[str | None, ...], rest: tuple[str | None, ...]) -> st.SearchStrategy[str | None]:
    """A word that is known, most times."""
    return st.sampled_from((*good * 6, *rest))


CUT = {"depth": ("length", 0.05, 3.0, "mm"), "width": ("length", 0.05, 2.0, "mm"),
       "speed": ("rotation", 3000.0, 5000.0, "rpm"), "feed": ("table_feed", 100.0, 1500.0, "mm/min"),
       "stickout": ("length", 15.0, 40.0, "mm"), "finish": ("length", 0.2, 6.0, "um"),
       "within": ("length", 0.005, 0.1, "mm")}
#: number of the answer that is what the person gave: its key, and the unit it is in
KEPT = {"depth": ("depth_of_cut_mm", "length", 1.0), "width": ("width_of_cut_mm", "length", 1.0),
        "speed": ("spindle_speed_per_min", "rotation", 30.0 / math.pi),
        "feed": ("table_feed_mm_min", "table_feed", 60.0)}


def test_one_bad_number_among_good_ones_is_refused_by_its_name() -> None:
    """Whichever number it is, with every kind of mistake."""
    good = {"depth": "0.5 mm", "width": "2 mm", "speed": "9000 rpm", "feed": "600 mm/min", "stickout": "20 mm"}
    for name in good:
        for wrong in ("0 mm", "-1 mm", "1e-30 mm", "nan mm", "inf mm", "1e400 mm", "5", "5 kg", "", "mm", "1e9 m/min",
                      "1e9 rpm", "1e9 mm", "-1 rpm"):
            said = [f"--{key}={wrong if key == name else text}" for key, text in good.items()]
            code, out, err = asked("cut", "--machine=light_gantry", "--tool=end_mill_6_2f", "--material=al_6082",
                                   *said)
            assert code == 2 and out == "" and err.startswith(f"--{name}: "), (name, wrong, err)
            assert MESSAGE.match(err), err


@settings(max_examples=20)
@given(machine=mostly(MACHINES[:2], MACHINES[2:]), tool=mostly(TOOLS[:3], TOOLS[3:]),
       material=mostly(MATERIALS[:6], MATERIALS[6:]), said=options(CUT),
       direction=mostly(("", "climb", "conventional"), ("up", "none")))
def test_cut(machine: str, tool: str, material: str, said: list[str], direction: str) -> None:
    words = [f"--machine={machine}", f"--tool={tool}", f"--material={material}", *said]
    found = answered("cut", *words, *([f"--direction={direction}"] if direction else []))
    for option in said if found is not None else ():
        name, _, text = option[2:].partition("=")
        if found is not None and name in KEPT:
            key, quantity, unit = KEPT[name]
            assert found[key] == pytest.approx(unit * parse(text, quantity), rel=1e-5), (words, found[key])


SIZES = ("M5", "M3", "M8x1", "1/4-20", "4 H7", "clearance M5", "csk M4", "10", "Ø6", "6.5 mm")
NO_SIZES = ("M99", "M", "H7", "csk", "clearance", "", "M-5", "5 H99", "-5", "M5x0", "1/4-0", "0-80", "M5 M6", "M1e9",
            "csk M30", "#8-32", "6 h7", "nan mm", "1e308 in", "1e400 mm", "5 kg", "0")


@given(size=mostly(SIZES, NO_SIZES), material=mostly(MATERIALS[:6], MATERIALS[6:]),
       machine=mostly((*MACHINES[:5], None), (MACHINES[5],)), said=options({"depth": ("length", 1.0, 40.0, "mm")}),
       through=st.booleans())
def test_hole(size: str, material: str, machine: str | None, said: list[str], through: bool) -> None:
    words = [f"--material={material}", *said, *([f"--machine={machine}"] if machine else []),
             *(["--through"] if through else []), "--", size]
    answered("hole", *words)


SCREWS = ("M4 x 12", "M4", "1/4-20 x 3/4 in", "M6 x 20 mm")
NO_SCREWS = ("M99", "", "M4 x", "M4 x -2", "M4 x 0", "M4 x 1e9", "x 12", "M4 x 12 furlong", "wedge lever")
OF_JOINT = {"torque": ("torque", 0.2, 10.0, "N m"), "load": ("force", 20.0, 2000.0, "N"),
            "length": ("length", 2.0, 15.0, "mm"), "thick": ("length", 2.0, 12.0, "mm"),
            "held": ("mass", 2.0, 60.0, "kg"), "slipped": ("mass", 20.0, 90.0, "kg")}


@given(what=mostly(SCREWS, NO_SCREWS), into=mostly(MATERIALS[:3], MATERIALS[3:]),
       through=mostly((*MATERIALS[:3], None), MATERIALS[3:]), said=options(OF_JOINT),
       grade=mostly(("8.8", "A2-70", "brass"), ("9.9",)), head=mostly(("socket", "hex", "thumb"), ("bald",)),
       screws=mostly(("1", "4"), ("0", "-1", "1000")), ways=st.sets(st.sampled_from(("--lubricated", "--along"))))
def test_joint(
    what: str, into: str, through: str | None, said: list[str], grade: str, head: str, screws: str, ways: set[str],
) -> None:
    answered("joint", f"--into={into}", *([f"--through={through}"] if through is not None else []), *said,
             f"--grade={grade}", f"--head={head}", f"--screws={screws}", *sorted(ways), "--", what)


PRESS = {"load": ("force", 20.0, 2000.0, "N"), "held": ("mass", 2.0, 60.0, "kg")}
WEDGE = {"gap": ("length", 0.1, 1.0, "mm"), "way": ("length", 1.0, 8.0, "mm"), "angle": ("angle", 1.0, 40.0, "deg")}
LEVER = {"thick": ("length", 2.0, 12.0, "mm"), "width": ("length", 6.0, 20.0, "mm"),
         "bore": ("length", 1.0, 6.0, "mm")}


@given(said=options(PRESS | WEDGE), by=mostly(("key", "fingers"), ("wrench", "")),
       screw=mostly(("M6", "M8"), ("M99",)))
def test_wedge(said: list[str], by: str, screw: str) -> None:
    answered("joint", "--angle=7 deg", *said, f"--by={by}", f"--screw={screw}", "wedge")


@given(said=options(PRESS | LEVER), torque=st.one_of(fine(0.5, 8.0, "N m"), bad("torque")),
       arms=mostly(("14 mm, 26 mm",), ("", "14 mm", "-1 mm,nan mm", ",", "1e308 m, 1 mm", "0 mm, 5 mm")),
       into=mostly(("s275_hot_rolled", "brass_cz121"), ("cheese",)))
def test_lever(said: list[str], torque: str, arms: str, into: str) -> None:
    answered("joint", *said, f"--torque={torque}", f"--arms={arms}", "--screw=M6", f"--into={into}", "lever")
