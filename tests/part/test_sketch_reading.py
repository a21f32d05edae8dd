"""From a file by way of the worker: as STEP would be, kept by contents, drawn; mistakes with the part so far."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from firstoff.errors import FileError, TomlError
from firstoff.part import drawing, process, reading, sketch, sketch_reading
from firstoff.part.shapes import Part
from firstoff.part.sketch import SketchError
from tests.part import models, sketches

SAMPLED = ("wall", "floor")              # told from points on triangles: near, not the same


def written(folder: Path, lines: str, name: str = "sole") -> Path:
    """A sketch as a file."""
    path = folder / f"{name}.toml"
    path.write_text(f"unit = \"mm\"\nlines = '''{lines}'''\n", encoding="utf-8")
    return path


def meant(part: Part) -> Counter[tuple[object, ...]]:
    """The features by kind, place and size, without the numbers of faces."""
    return Counter(
        (f.kind, f.through, f.open, f.sides, len(f.faces), tuple(round(x, 6) for x in f.axis or ()),
         tuple(round(x, 6) + 0.0 for x in f.axis_point or ()) if f.kind != "stock" else (),
         tuple(sorted((key, round(value, 6)) for key, value in f.size.items() if key not in SAMPLED)), len(f.access))
        for f in part.features)


def test_the_sole_as_a_sketch_is_the_sole_as_step(tmp_path: Path) -> None:
    part, model = reading.read(written(tmp_path, sketches.SOLE)), models.example("sole")
    assert meant(part) == meant(model)
    assert part.volume == pytest.approx(model.volume)
    assert (*part.low, *part.high) == pytest.approx((*model.low, *model.high))
    assert (part.name, part.file, part.unit, part.names) == ("sole", "sole.toml", "mm", ("sole",))
    assert len(part.limits) == 4


def test_it_is_kept_and_drawn(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path, cache = written(tmp_path, "\nblock 20 x 10 x 5\nhole 3 through at 5, 5\n"), tmp_path / "cache"
    first = reading.read(path, cache)
    (view,) = drawing.views(path, [("plan", (0, 0, 1), (1, 0, 0))], cache)
    assert len(view.visible) > 4, "the outline and the hole"
    monkeypatch.setattr(process, "_run", None)
    assert reading.read(path, cache) == first
    assert drawing.views(path, [("plan", (0, 0, 1), (1, 0, 0))], cache) == (view,)


def test_a_mistake_comes_with_the_part_so_far(tmp_path: Path) -> None:
    path = written(tmp_path, "\nblock 20 x 10 x 5\nhole 3 through at 5, 5\nhole 4 deep 9 at 15, 5\n")
    with pytest.raises(SketchError) as caught:
        reading.read(path)
    assert caught.value.where == f"{path}, line 5, at 'deep'"
    part = sketch_reading.so_far(caught.value, path)
    assert part is not None
    assert [feature.kind for feature in part.features if feature.kind != "stock"] == ["hole"]
    lines = sketch_reading.so_far_lines(caught.value, path)
    assert lines[0] == "understood so far:"
    assert "plan" in lines
    assert "front" in lines
    views = sketch_reading.so_far_views(caught.value, path)
    assert [view.name for view in views] == list(drawing.NAMES)
    across = [x for line in views[0].visible for x, _ in line]
    assert max(across) - min(across) == pytest.approx(part.high[0] - part.low[0], abs=1e-3)
    assert any(line.startswith("hole 1 through") for line in lines)


def test_a_cut_that_takes_nothing_comes_with_its_line(tmp_path: Path) -> None:
    path = written(tmp_path, "\nblock 20 x 10 x 5\nhole 4 through at 5, 5\nhole 3 through at 5, 5\n")
    with pytest.raises(SketchError, match="takes nothing") as caught:
        reading.read(path)
    assert caught.value.where == f"{path}, line 5"
    so_far = caught.value.so_far
    assert so_far is not None
    assert [cut.line for cut in so_far.cuts] == [4]


def test_nothing_is_understood_without_a_block(tmp_path: Path) -> None:
    path = written(tmp_path, "\nhole 4 through at 5, 5\n")
    with pytest.raises(SketchError) as caught:
        reading.read(path)
    assert sketch_reading.so_far(caught.value, path) is None
    assert sketch_reading.so_far_views(caught.value, path) == ()
    assert sketch_reading.so_far_lines(caught.value, path) == ["nothing is understood so far"]


def test_without_the_kernel_it_is_told_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, "\nblock 20 x 10 x 5\nhole 3 through at 5, 5\nhole 4 deep 9 at 15, 5\n")
    with pytest.raises(SketchError) as caught:
        sketch.read(path)
    monkeypatch.setattr(process, "KERNEL", "no_such_kernel")
    assert sketch_reading.so_far_lines(caught.value, path) == [
        "understood so far:", "  block 20 x 10 x 5", "  hole 3 through at 5, 5"]


def test_a_limit_that_lost_its_face_is_remarked(tmp_path: Path) -> None:
    path = written(tmp_path, "\nblock 20 x 10 x 9\nhole M3 deep 3 at 5, 5\nhole 4 through at 5, 5\n")
    part = reading.read(path)
    assert part.limits == ()
    assert part.remarks == ("the thread M3 x 3 deep has no face: other lines took it away",)


def test_a_wrong_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        reading.read(tmp_path / "none.toml")
    with pytest.raises(FileError, match="no such file"):
        drawing.views(tmp_path / "none.toml", [("plan", (0, 0, 1), (1, 0, 0))])
    odd = tmp_path / "odd.toml"
    odd.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileError, match="not a text"):
        reading.read(odd)
    path = written(tmp_path, "\nhole 4 through at 5, 5\n")
    with pytest.raises(TomlError, match="no block") as caught:
        drawing.views(path, [("plan", (0, 0, 1), (1, 0, 0))])
    assert caught.value.where == f"{path}, line 3, at 'hole'"


@pytest.mark.parametrize(("line", "word"), [
    ("hole 4 deep 9 at 15, 5", "'deep'"), ("hole four through at 15, 5", "'four'"), ("block 1 x 1 x 1", "'block'")])
def test_the_command_exits_with_2_and_the_table(tmp_path: Path, line: str, word: str) -> None:
    path = written(tmp_path, f"\nblock 20 x 10 x 5\nhole 3 through at 5, 5\n{line}\n")
    done = subprocess.run([sys.executable, "-m", "firstoff", "part", str(path)], capture_output=True, text=True,
                          check=False, cwd=models.ROOT / "src")
    assert done.returncode == 2
    assert f"line 5, at {word}" in done.stderr
    assert "Traceback" not in done.stderr
    assert "hole 1 through" in done.stdout
