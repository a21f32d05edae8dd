"""The commands: exit codes, one clear message for bad input, JSON and nothing else, nothing half-written."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from firstoff import __version__, cli

from .conftest import DemoRun
from .part import models

ROOT = Path(__file__).resolve().parents[1]
COMMANDS = ("new", "part", "program", "plan", "check", "sheets", "log", "learn", "stack", "demo", "cut", "hole",
            "mill-test", "bench")
FIRST = "body-top-rough"      #: of the example
TOP = "block-top-rough"       #: of the block


class Said(NamedTuple):
    """What a command left behind: its exit code, standard output and standard error."""

    code: int
    out: str
    err: str


Run = Callable[..., Said]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command in this process."""
    def go(*words: object) -> Said:
        monkeypatch.setattr(sys, "argv", ["firstoff", *map(str, words)])
        capsys.readouterr()
        try:
            cli.main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(bool(end.code))
        return Said(code, *capsys.readouterr())

    return go


@pytest.fixture(scope="module")
def plane(demo_run: DemoRun, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The planned example for this module; each test leaves it as it found it."""
    return Path(shutil.copytree(demo_run.folder, tmp_path_factory.mktemp("cli") / "plane"))


@contextmanager
def edited(path: Path, old: str, new: str) -> Iterator[None]:
    """A file with one place of it changed, for a while."""
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{old!r} is not in {path.name}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    try:
        yield
    finally:
        path.write_text(text, encoding="utf-8")


def operation_edited(plane: Path, key: str, value: str) -> Any:
    """The route with one key of the first operation changed."""
    route = plane / "route.toml"
    text = route.read_text(encoding="utf-8")
    start = text.index(f"[operations.{FIRST}]")
    found = re.compile(rf"^{key} = .*$", re.MULTILINE).search(text, start)
    assert found is not None
    block = text[start: found.end()]
    return edited(route, block, block[: found.start() - start] + f"{key} = {value}")


def refused(said: Said, *pieces: str) -> None:
    """Exit 2, one message with all these pieces, nothing on standard output, never a traceback."""
    assert said.code == 2, said
    assert said.out == ""
    assert "Traceback" not in said.err
    assert len(said.err.strip().splitlines()) == 1, said.err
    for piece in pieces:
        assert piece in said.err, said.err


def only_json(said: Said) -> dict[str, Any]:
    """One JSON object on standard output and nothing else."""
    assert said.code == 0, said.err
    assert said.out.endswith("\n") and said.out.count("\n") == 1

    def no_such(name: str) -> float:
        raise AssertionError(f"{name} in JSON")

    found = json.loads(said.out, parse_constant=no_such)
    assert isinstance(found, dict)
    return found


# --- help, version ---------------------------------------------------------------------------------


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(run: Run, command: str) -> None:
    said = run(command, "--help")
    assert said.code == 0 and "Usage: " in said.out and ("--json" in said.out) == (command != "bench")


def test_help_lists_every_command(run: Run) -> None:
    said = run("--help")
    assert all(re.search(rf"^\s*{command}\b", said.out, re.MULTILINE) for command in COMMANDS)


def test_version(run: Run) -> None:
    assert run("--version") == Said(0, f"{__version__}\n", "")


@pytest.mark.parametrize("words", [("bogus",), ("check",), ("new", "thing", "x"), ("check", "a", "--bogus")])
def test_a_wrong_word_is_2(run: Run, words: tuple[str, ...]) -> None:
    said = run(*words)
    assert said.code == 2 and said.out == "" and "Error" in said.err and "Traceback" not in said.err


def test_help_loads_nothing_heavy() -> None:
    code = ("import sys\nsys.argv = ['firstoff', '--help']\nimport firstoff.cli\n"
            "try:\n    firstoff.cli.main()\nexcept SystemExit:\n    pass\n"
            "bad = {'numpy', 'scipy', 'numba', 'sqlalchemy', 'OCP', 'pydantic', 'pint', 'typst'} & set(sys.modules)\n"
            "assert not bad, bad")
    done = subprocess.run([sys.executable, "-c", code], env=_environment(), capture_output=True, check=False)
    assert done.returncode == 0, done.stderr


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT / "src")}


def test_as_a_module_too(tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, "-m", "firstoff", "check", str(tmp_path / "nowhere")],
                          env=_environment(), capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stdout == "" and "nowhere" in done.stderr and "Traceback" not in done.stderr


# --- models ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("content", "piece"), [
    (b"", "empty"), (b"hello\n", "line 1"), (b"\x00\xff\x00\xff" * 64, "not a STEP file"),
])
def test_what_is_no_step_file_is_refused(run: Run, tmp_path: Path, content: bytes, piece: str) -> None:
    path = tmp_path / "x.step"
    path.write_bytes(content)
    refused(run("part", path), str(path), piece)
    refused(run("part", path, "--json"), str(path))


def test_a_model_that_is_missing_or_a_folder(run: Run, tmp_path: Path) -> None:
    refused(run("part", tmp_path / "no.step"), "no.step")
    refused(run("part", tmp_path), str(tmp_path))


def test_a_truncated_model_is_refused(run: Run, tmp_path: Path) -> None:
    whole = (models.PARTS / "cap.step").read_bytes()
    path = tmp_path / "cut.step"
    path.write_bytes(whole[: len(whole) // 2])
    refused(run("part", path), "cut.step", "cut short")


def test_an_open_shell_is_refused(run: Run, tmp_path: Path) -> None:
    whole = (models.PARTS / "cap.step").read_text()
    start = whole.index("CLOSED_SHELL('',(") + len("CLOSED_SHELL('',(")
    path = tmp_path / "open.step"
    path.write_text(whole[:start] + whole[whole.index(",", start) + 1:])
    refused(run("part", path), "open.step", "open")


def test_a_model_without_solid_is_refused(run: Run, tmp_path: Path) -> None:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.gp import gp_Pnt

    edge = BRepBuilderAPI_MakeEdge(gp_Pnt(0, 0, 0), gp_Pnt(1, 0, 0)).Edge()
    refused(run("part", models.write(edge, tmp_path / "wire.step")), "wire.step", "no solid")


def test_the_drawing_of_a_part_is_written(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "cap.svg"
    assert run("part", models.PARTS / "cap.step", "--drawing", out).out == f"{out} is written.\n"
    assert out.read_text(encoding="utf-8").startswith("<svg")
    told = only_json(run("part", models.PARTS / "cap.step", "--drawing", out, "--json"))
    assert told["drawing"] == str(out) and told["features"]
    refused(run("part", models.PARTS / "cap.step", "--drawing", tmp_path / "no" / "cap.svg"), "cannot be written")


SKETCH = "unit = 'mm'\nlines = \"\"\"\nblock 60 x 40 x 30\npocket 20 x 12 deep 29.5 corner 0.1 at 30, 20\n"


def test_what_is_hard_to_make_is_told_with_why(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "deep.toml"
    path.write_text(SKETCH + '"""\n', encoding="utf-8")
    why = {row["why"] for row in only_json(run("part", path, "--json"))["hard"]}
    assert any("corner" in each for each in why) and any("floor" in each for each in why)
    told = " ".join(run("part", path).out.split())
    assert all(each in told for each in why)


def test_a_sketch_with_a_mistake_is_drawn_as_far_as_it_is_understood(run: Run, tmp_path: Path) -> None:
    path, out = tmp_path / "bad.toml", tmp_path / "bad.svg"
    path.write_text(SKETCH + 'hole 5 deep 50 at 10, 10\n"""\n', encoding="utf-8")
    said = run("part", path, "--drawing", out)
    assert said.code == 2 and "line 5, at 'deep'" in said.err
    assert "\nplan\n" in said.out and "pocket 1" in said.out and f"{out} is written" in said.out
    assert "pocket 1" in out.read_text(encoding="utf-8")
    assert "--drawing FILE.svg" in run("part", path).out
    quiet = run("part", path, "--json")
    assert (quiet.code, quiet.out.strip()) == (2, "")


def test_a_part_in_metres_is_read_right_and_remarked_on(run: Run, tmp_path: Path) -> None:
    path = models.write(models.box(60.0, 40.0, 20.0), tmp_path / "metre.step", unit="M")
    told = only_json(run("part", path, "--json"))
    assert told["unit"] == "m"
    size = [b - a for a, b in zip(told["bounding_box"]["low"], told["bounding_box"]["high"], strict=True)]
    assert size == pytest.approx([60.0, 40.0, 20.0])
    assert "in metres" in run("part", path).out


# --- folders and TOML ------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [("plan",), ("check",), ("sheets",), ("log", "x", "ok"), ("learn",)])
def test_a_folder_without_a_job(run: Run, tmp_path: Path, words: tuple[str, ...]) -> None:
    for folder in (tmp_path, tmp_path / "nowhere"):
        refused(run(words[0], folder, *words[1:]), str(folder / "job.toml"), "no job here")
    assert list(tmp_path.iterdir()) == []


def test_a_job_without_a_route(run: Run, plane: Path) -> None:
    away = plane / "route.away"
    (plane / "route.toml").rename(away)
    try:
        refused(run("check", plane), "route.toml", "firstoff plan")
        refused(run("log", plane, FIRST, "ok"), "route.toml", "firstoff plan")
    finally:
        away.rename(plane / "route.toml")


@pytest.mark.parametrize(("old", "new", "pieces"), [
    ("budget = 0.05", "budgett = 0.05", ("line 8, budgett", "did you mean 'budget'")),
    ("budget = 0.05", "budget = 7", ("line 8, budget", "7")),
    ('name = "block plane"', "name = ", ("job.toml, line",)),
    ('name = "block plane"\n', "", ("name", "missing")),
    ('shop = "shop"', 'shop = "shoop"', ("shoop", "no shop here")),
    ('material = "al_6082"', 'material = "unobtainium"', ("line 18, parts.body.material", "al_6082")),
    ('model = "parts/body.step"', 'model = "parts/nobody.step"', ("line 17, parts.body.model", "nobody.step")),
    ('size = ["112 mm", "40 mm", "25 mm"]', 'size = ["112 mm", "40 N", "25 mm"]', ("parts.body.stock.size", "40 N")),
    ('bow = "0.1 mm"', 'bow = "0.1"', ("parts.body.stock.bow", "no unit")),
    ('bow = "0.1 mm"', "bow = true", ("parts.body.stock.bow",)),
    ('bed = "ramp-1"', 'bed = "ramp-9"', ("parts.body.names.bed", "ramp-9")),
    ('cap_screw = "M5 x 10 deep"', 'cap_skrew = "M5 x 10 deep"', ("parts.body.threads.cap_skrew",)),
    ('between = ["bed"]', 'between = ["bedd"]', ("limits.bed_flat.between", "bedd")),
    ('instrument = "feeler"', 'instrument = "feelr"', ("instrument", "did you mean 'feeler'")),
    ('screw = "M4 x 16"', 'screw = "M4 x"', ("joints.sole_screws.screw", "M4 x 12")),
    ('into = "body.screw_front_left"', 'into = "body.nothing"', ("joints.sole_screws.into", "nothing")),
])
def test_what_is_wrong_in_a_job_is_told(
    run: Run, plane: Path, old: str, new: str, pieces: tuple[str, ...]
) -> None:
    with edited(plane / "job.toml", old, new):
        refused(run("check", plane), str(plane), *pieces)


@pytest.mark.parametrize(("old", "new", "pieces"), [
    ("good = 0.01", "gud = 0.01", ("shop.toml, line", "gud")),
    ('like = "light_gantry"', 'like = "gantry_xyz"', ("machines.mill.like", "gantry_xyz")),
    ('"tap_m4"', '"tap_m99"', ("use.tools", "tap_m99")),
    ('value = "450 W"', 'value = "450"', ("machines.mill.spindle.power", "no unit")),
    (', sd = "70 W"', "", ("machines.mill.spindle.power", "factor")),
])
def test_what_is_wrong_in_a_shop_is_told(
    run: Run, plane: Path, old: str, new: str, pieces: tuple[str, ...]
) -> None:
    with edited(plane / "shop" / "shop.toml", old, new):
        refused(run("check", plane), *pieces)


@pytest.mark.parametrize(("key", "value", "piece"), [
    ("tool", '"end_mil_10_3f"', "did you mean 'end_mill_10_3f'"),
    ("setting", '"body-77"', "body-77"),
    ("features", '["stock-55"]', "stock-55"),
    ("collet", '"collet_77"', "collet_77"),
    ("number", "0", "greater than or equal to 1"),
    ("role", '"planing"', "planing"),
    ("stickout", '"-24 mm"', "-24 mm"),
    ("stickout", '"500 mm"', "500 mm out of the collet"),
    ("removes", '"-0.3 mm"', "-0.3 mm"),
    ("depth_of_cut", '"-0.3 mm"', "not greater than 0"),
    ("depth_of_cut", '"0.3"', "no unit"),
    ("depth_of_cut", "0.3", "unit"),
    ("depth_of_cut", '"3 N"', "3 N"),
    ("feed_per_tooth", '"0 mm"', "not greater than 0"),
    ("feed_per_tooth", '"nan mm"', "nan"),
    ("width_of_cut", '"19 mm"', "with a cutter of 10 mm"),
    ("spindle_speed", '"0 rpm"', "not greater than 0"),
    ("spindle_speed", '"99000 rpm"', "this spindle turns"),
])
def test_what_is_wrong_in_a_route_is_told(run: Run, plane: Path, key: str, value: str, piece: str) -> None:
    where = f"cut.{key}" if key in ("depth_of_cut", "feed_per_tooth", "width_of_cut", "spindle_speed") else key
    with operation_edited(plane, key, value):
        refused(run("check", plane), "route.toml, line ", f"operations.{FIRST}.{where}", piece)


@pytest.mark.parametrize(("old", "new", "piece"), [
    ('machine = "mill"', 'machine = "lathe"', "settings.body-1.machine"),
    ('device = "vise_100"', 'device = "magnet"', "settings.body-1.holding.device"),
    ("up = [0.0, 0.0, 1.0]", "up = [0.0, 0.0, 0.0]", "settings.body-1.up"),
    ("across = [1.0, 0.0, 0.0]", "across = [0.0, 0.0, 1.0]", "not square"),
    ('datums = ["-Z", "+Y", "-X"]', 'datums = ["-Q", "+Y", "-X"]', "settings.body-1.datums"),
    ('workpiece = "body"', 'workpiece = "bodyy"', "settings.body-1.workpiece"),
    ("[operations.body-top-rough.cut]", "[operations.body-top-rough.cuts]", "cuts"),
])
def test_what_is_wrong_in_a_setting_is_told(run: Run, plane: Path, old: str, new: str, piece: str) -> None:
    with edited(plane / "route.toml", old, new):
        refused(run("check", plane), "route.toml", piece)


@pytest.mark.parametrize("raw", [b"\xff\xfe name", b"name = 'x'\nname = 'y'\n", b"\x00"])
def test_a_job_that_is_no_toml(run: Run, tmp_path: Path, raw: bytes) -> None:
    (tmp_path / "job.toml").write_bytes(raw)
    refused(run("check", tmp_path), "job.toml")


def test_bad_input_leaves_nothing_half_written(run: Run, plane: Path) -> None:
    before = _tree(plane)
    with edited(plane / "job.toml", 'bed = "ramp-1"', 'bed = "ramp-9"'):
        for words in (("plan", plane), ("sheets", plane), ("log", plane, FIRST, "ok"), ("learn", plane)):
            refused(run(*words))
    refused(run("log", plane, FIRST, "fine"))
    refused(run("log", plane, "sole_thickness", "--size", "5"))
    assert _tree(plane) == before


def _tree(folder: Path) -> dict[str, bytes]:
    return {str(f.relative_to(folder)): f.read_bytes() for f in sorted(folder.rglob("*"))
            if f.is_file() and not f.name.startswith("records.sqlite")}


# --- what each command prints ----------------------------------------------------------------------


def test_new_says_what_to_fill_in_and_never_overwrites(run: Run, tmp_path: Path) -> None:
    for kind in ("job", "shop"):
        folder = tmp_path / kind
        said = run("new", kind, folder)
        assert said.code == 0 and f"{kind}.toml, line 4: name" in said.out
        written = (folder / f"{kind}.toml").read_text()
        refused(run("new", kind, folder), f"{kind}.toml", "nothing was changed")
        assert (folder / f"{kind}.toml").read_text() == written
    assert only_json(run("new", "job", tmp_path / "b", "--json"))["fill_in"]


def test_check_prints_json_alone_and_strict_is_1(run: Run, plane: Path) -> None:
    told = only_json(run("check", plane, "--json"))
    assert any(c["verdict"] == "no good" for c in told["checks"])
    strict = run("check", plane, "--json", "--strict")
    assert strict.code == 1 and json.loads(strict.out) == told
    assert re.fullmatch(r"can't say: \d+ checks\n", strict.err)
    assert run("check", plane / "job.toml", "--json").out == strict.out, "the file itself is understood"


def test_check_is_the_same_each_time(run: Run, plane: Path) -> None:
    one, two = run("check", plane), run("check", plane)
    assert one == two and one.code == 0 and "FIRST TO GO" in one.out
    assert "not built yet" in run("check", plane, "--all").out


def test_sheets_go_where_they_are_told(run: Run, plane: Path, tmp_path: Path) -> None:
    told = only_json(run("sheets", plane, "--out", tmp_path / "a.pdf", "--json"))
    assert told == {"pdf": str(tmp_path / "a.pdf")}
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")
    refused(run("sheets", plane, "--out", tmp_path / "no" / "a.pdf"), "a.pdf")


def test_log_list_and_learn(run: Run, block: Path) -> None:
    assert only_json(run("log", block, "--list", "--json")) == {"records": []}
    refused(run("learn", block), "no records yet")
    made = only_json(run("log", block, TOP, "ok", "--note", "new cutter", "--json"))
    assert made["reading"] == {"word": "ok"} and made["conditions"]["note"] == "new cutter"
    assert 0.0 <= float(made["conditions"]["chance"]) <= 1.0, "what it was called then, for the scoreboard"
    wrong = only_json(run("log", block, TOP, "sang", "--replaces", made["id"][:8], "--json"))
    assert wrong["replaces"] == made["id"]
    size = run("log", block, "height", "--size", "20.02 mm")
    assert size.out.rstrip().endswith("height: 20.02 mm with the micrometer_25"), "nominal of the model"
    listed = run("log", block, "--list")
    assert len(listed.out.splitlines()) == 3 and f"{TOP}: sang" in listed.out
    assert "run firstoff learn" in run("check", block).out
    learned = only_json(run("learn", block, "--json"))
    assert learned["records"] == 2 and learned["sentences"]
    assert "By own figures from 2 records, book figures else." in run("check", block).out
    run("log", block, TOP, "ok")
    assert "newer records: run firstoff learn" in run("check", block).out


def test_stack_tells_sizes_and_what_a_measured_one_means(run: Run, block: Path) -> None:
    plain = only_json(run("stack", block, "--json"))
    assert [item["limit"] for item in plain["limits"]] == ["height"] and "causes" not in plain
    read = block / "measured.toml"
    read.write_text('height = "20.2 mm"\n', encoding="utf-8")
    found = only_json(run("stack", block, "--measured", read, "--json"))
    assert found["measured"][0]["decision"] == "does not conform" and found["causes"] and found["ways"]["height"]
    assert "NOW WHAT: height" in run("stack", block, "--measured", read).out
    read.write_text('depth = "20.2 mm"\n', encoding="utf-8")
    refused(run("stack", block, "--measured", read), "no limit 'depth'", "height")
    refused(run("stack", block, "--measured", block / "none.toml"), "none.toml")


@pytest.mark.parametrize(("words", "pieces"), [
    (("nothing", "ok"), ("no operation 'nothing'",)),
    ((FIRST, "fine"), ("'fine'", "sang")),
    ((FIRST,), ("give one of",)),
    ((FIRST, "--watts", "300 W"), ("running free",)),
    (("sole_thickness", "--size", "5"), ("--size", "no unit")),
    (("sole_thickness", "--size", "5 in"), ("from the nominal",)),
    (("sole_thickness", "--size", "5 mm", "--with", "ruler"), ("ruler", "micrometer_25")),
    ((FIRST, "ok", "--replaces", "zzz"), ("'zzz' names 0 records",)),
])
def test_what_cannot_be_logged_is_told(
    run: Run, plane: Path, words: tuple[str, ...], pieces: tuple[str, ...]
) -> None:
    refused(run("log", plane, *words), *pieces)


def test_log_of_nothing_is_refused(run: Run, plane: Path) -> None:
    assert run("log", plane).code == 2


def test_another_shop_may_be_named(run: Run, plane: Path, tmp_path: Path) -> None:
    refused(run("check", plane, "--shop", tmp_path / "nowhere"), "nowhere", "no shop here")
    assert run("new", "shop", tmp_path / "other").code == 0
    said = run("check", plane, "--shop", tmp_path / "other")
    assert said.code in (0, 2) and "Traceback" not in said.err


def test_demo_refuses_a_folder_that_holds_something(run: Run, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear")
    refused(run("demo", tmp_path), "holds something else")
    assert [f.name for f in tmp_path.iterdir()] == ["letter.txt"]


def test_plan_prints_json_alone_and_keeps_an_edit(run: Run, block: Path) -> None:
    route = block / "route.toml"
    text = route.read_text(encoding="utf-8")
    found = re.search(r'^depth_of_cut = ".*"$', text, re.MULTILINE)
    assert found is not None
    route.write_text(text.replace(found[0], 'depth_of_cut = "0.123 mm"   # mine', 1), encoding="utf-8")
    told = only_json(run("plan", block, "--json"))
    assert set(told) >= {"job", "route", "kept", "settings", "operations", "no_way"}
    assert told["kept"] == [f"operations.{TOP}.cut.depth_of_cut"]
    assert 'depth_of_cut = "0.123 mm"   # mine' in route.read_text(encoding="utf-8")
    assert run("plan", block, "--fresh").code == 0
    assert "0.123" not in route.read_text(encoding="utf-8")


def test_demo_prints_json_alone(run: Run, monkeypatch: pytest.MonkeyPatch, demo_run: DemoRun) -> None:
    monkeypatch.setattr("firstoff.demo.run_demo", lambda folder, **_: demo_run.outcome)
    assert only_json(run("demo", "anywhere", "--json")) == json.loads(json.dumps(demo_run.outcome))


@pytest.mark.parametrize(("main", "code", "out"), [
    ("def main():\n    print('x' * 100_000)", 0, "x" * 100_000),
    ("def main():\n    print('so far', end='')\n    raise SystemExit(2)", 2, "so far"),
    ("def main():\n    raise SystemExit('a word')", 1, ""),
    ("import atexit\ndef main():\n    atexit.register(print, 'done at the end')", 0, "done at the end"),
    ("import threading, time\ndef late():\n    time.sleep(0.2)\n    print('late')\n"
     "def main():\n    threading.Thread(target=late).start()", 0, "late"),
])
def test_it_leaves_at_once_and_loses_nothing(main: str, code: int, out: str) -> None:
    """What was printed is written out, what is to be done at the end is done, and a thread at work is waited for."""
    told = f"{main}\nimport firstoff.__main__ as start, firstoff.cli\nfirstoff.cli.main = main\nstart.start()"
    done = subprocess.run([sys.executable, "-c", told], env=_environment(), capture_output=True, text=True,
                          check=False)
    assert (done.returncode, done.stdout.strip()) == (code, out)


@pytest.mark.parametrize(("words", "built"), [(["cut"], 1), (["mill-test"], 1), (["--help"], None), ([], None)])
def test_a_command_that_is_asked_for_is_built_alone(
    words: list[str], built: int | None, monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sys, "argv", ["firstoff", *words])
    asked = cli._asked_for()
    assert asked is cli.app if built is None else (len(asked.registered_commands), asked.registered_groups) == (1, [])
