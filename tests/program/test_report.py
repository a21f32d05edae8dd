"""What is said of a program: the promised keys, lengths in mm or can't say, words in the program's own unit."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest

from firstoff import cli
from firstoff.errors import FileError
from firstoff.program.reading import Unit
from firstoff.program.report import ASK_UNIT, Understood, as_json, as_lines, understood
from firstoff.program.timing import Limits

MACHINE = ("a mill", Limits((25.0,) * 3, (1e9,) * 3, tool_change=60.0))
TEXT = "T3 M6\nS1200 M3\nG0 X0 Y0 Z5\nG1 Z-2 F60\nX60 F120\nG0 Z5\nM30\n"


def found(tmp_path: Path, text: str, unit: Unit | None = None) -> Understood:
    path = tmp_path / "plate.nc"
    path.write_text(text, encoding="utf-8")
    return understood(path, MACHINE, unit)


def test_the_json_has_the_promised_keys_and_mm(tmp_path: Path) -> None:
    told = as_json(found(tmp_path, "G21\n" + TEXT))
    assert {"moves", "unit", "time_s", "extent", "tools", "warnings"} <= told.keys()
    assert told["moves"] == 4 and told["unit"] == "mm" and told["warnings"] == []
    assert told["extent"]["cutting"] == {"low": [0.0, 0.0, -2.0], "high": [60.0, 0.0, 5.0]}
    assert told["extent"]["rapid"] == {"low": [0.0, 0.0, -2.0], "high": [60.0, 0.0, 5.0]}
    assert told["time_s"] == pytest.approx(60.0 + 7.0 + 30.0 + 7.0 / 25.0)
    assert told["tools"] == [{"tool": 3, "moves": 4, "time_s": told["time_s"], "spindle_speeds_per_min": [1200.0],
                              "feed_mm_min": [60.0, 120.0], "lowest_z": -2.0}]
    json.dumps(told, allow_nan=False)


def test_inch_programs_are_in_mm_in_the_json_and_in_inch_in_words(tmp_path: Path) -> None:
    inch = found(tmp_path, "G20\n" + TEXT)
    assert as_json(inch)["extent"]["cutting"]["high"] == pytest.approx([1524.0, 0.0, 127.0])
    text = "\n".join(as_lines(inch))
    assert "in inch" in text and "X 0 to 60" in text and "feed 60 to 120 in/min" in text and "Look at" not in text


def test_without_unit_nothing_is_said_of_lengths_until_it_is_told(tmp_path: Path) -> None:
    unknown = found(tmp_path, TEXT)
    told = as_json(unknown)
    assert told["unit"] is None and told["time_s"] is None and told["moves"] == 4
    assert told["extent"] == {"rapid": None, "cutting": None} and told["as_written"]["cutting"]["high"][0] == 60.0
    assert {"line": 1, "what": ASK_UNIT} in told["warnings"]
    text = "\n".join(as_lines(unknown))
    assert "can't be said" in text and " mm" not in text.replace("mm or inch", "").replace("--unit mm", "")
    assert as_json(found(tmp_path, TEXT, "in"))["extent"]["cutting"]["high"][0] == pytest.approx(1524.0)


def test_a_unit_that_contradicts_the_program_is_told_and_the_program_counts(tmp_path: Path) -> None:
    told = as_json(found(tmp_path, "G20\n" + TEXT, "mm"))
    assert told["unit"] == "in" and "--unit mm was said" in told["warnings"][0]["what"]


def test_a_feed_that_the_machine_does_not_reach_is_told(tmp_path: Path) -> None:
    path = tmp_path / "fast.nc"
    path.write_text("G21\n" + TEXT, encoding="utf-8")
    slow = understood(path, ("a slow mill", Limits((25.0,) * 3, (1.0,) * 3)))
    assert [(one.line, one.what) for one in slow.warnings] == [
        (6, "feeds of 120 mm/min, where this machine goes 60 at most")]


def test_only_waiting_is_no_error(tmp_path: Path) -> None:
    waits = found(tmp_path, "G4 P2\nM30\n")
    assert as_json(waits)["time_s"] == 2.0
    assert next(iter(as_lines(waits))) == "plate.nc: not one move; it stops or waits once, about 2 s."


@pytest.mark.parametrize(("text", "piece"), [
    ("hello world, this is a letter\n", "line 1: not one move can be read: HE: "), ("\n\n", "not one move"),
    ("G21\nX\n", "line 2: not one move can be read: X: there is no number"), ("%\nM30\n", "not one move"),
])
def test_no_move_is_an_error_with_line_and_word(tmp_path: Path, text: str, piece: str) -> None:
    with pytest.raises(FileError, match=re.escape(piece)):
        found(tmp_path, text)


def test_many_warnings_are_shortened_in_the_terminal_alone(tmp_path: Path) -> None:
    many = found(tmp_path, "G21\n" + "".join(f"E{k} G0 X{k} Y0 Z0\nQ{k}\n" for k in range(40)) + "M2\n")
    lines = list(as_lines(many))
    assert len(as_json(many)["warnings"]) > 40 and lines[-1].startswith("  and ") and len(lines) < 40


def test_a_tool_without_number_speed_and_feed_is_said_so(tmp_path: Path) -> None:
    text = "\n".join(as_lines(found(tmp_path, "G21\nG0 X0 Y0 Z0\nM2\n")))
    assert "No tool called: 1 move, none of them cuts." in text and "how long can't be said" in text
    assert "Rapid: X 0, Y 0, Z 0 mm." in text
    cuts = "\n".join(as_lines(found(tmp_path, "G21\nG0 X0 Y0 Z0\nG1 X5\nM2\n")))
    assert "No tool called: 2 moves, no speed told, no feed" in cuts and "switched on by hand" in cuts
    off = "\n".join(as_lines(found(tmp_path, "G21\nS500 M3\nG0 X0 Y0 Z0\nM5\nG1 X5 F100\nM2\n")))
    assert "2 moves, spindle off, feed 100" in off and "line 5: cuts from here on with the spindle off" in off


def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str) -> tuple[int, str, str]:
    """The command `program` in this process: exit code, standard output, standard error."""
    monkeypatch.setattr(sys, "argv", ["firstoff", "program", *words])
    try:
        cli.main()
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(bool(end.code))
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_command_says_it_in_words_and_as_one_json_object(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "plate.nc"
    path.write_text("G41 D1\n" + TEXT, encoding="utf-8")
    code, out, _ = run(capsys, monkeypatch, str(path), "--unit", "in", "--json")
    assert code == 0 and json.loads(out)["unit"] == "in" and out.count("\n") == 1
    assert "--cutter" in json.loads(out)["warnings"][0]["what"]
    code, out, _ = run(capsys, monkeypatch, str(path), "--unit", "mm", "--cutter", "6 mm")
    assert code == 0 and out.startswith("plate.nc: ") and "--cutter" not in out


@pytest.mark.parametrize(("words", "piece"), [
    ((), "neither mm nor in"), (("--cutter", "6"), "unit"), (("--cutter", "-6 mm"), "no diameter"),
])
def test_the_command_refuses_what_cannot_be_meant(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...],
    piece: str
) -> None:
    path = tmp_path / "plate.nc"
    path.write_text(TEXT, encoding="utf-8")
    code, out, err = run(capsys, monkeypatch, str(path), *(words or ("--unit", "furlong")))
    assert code == 2 and out == "" and piece in err and "Traceback" not in err


def test_no_move_and_no_file_end_with_two(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear reader\n", encoding="utf-8")
    for name, piece in ((path, "line 1: not one move can be read: DE"), (tmp_path / "none.nc", "no such file")):
        code, out, err = run(capsys, monkeypatch, str(name), "--json")
        assert code == 2 and out == "" and piece in err and len(err.splitlines()) == 1
