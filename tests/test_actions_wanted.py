"""Limits, joints, threads and pieces from a page: kept as a person writes them, a slip named, nothing else moved."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.actions_start import add_part
from firstoff.actions_wanted import add, names, take_out
from firstoff.errors import FileError, InputError, NameUnknown
from firstoff.job.models import ScrewJoint
from firstoff.job.reading import load_job

PART = {"job": "a box", "part": "body", "material": "al_6082", "condition": "extruded", "x": "62 mm",
        "y": "42 mm", "z": "14 mm", "units": "mm", "lines": "block 60 x 40 x 12\nhole 3.3 deep 10 at 10, 20"}
LID = {"part": "lid", "z": "8 mm", "lines": "block 60 x 40 x 6\nhole 4.5 through at 10, 20"}
HEIGHT = {"name": "height", "kind": "distance", "part": "body", "between": "-Z, +Z", "size": "12 mm",
          "tolerance": "±0.05 mm", "instrument": "micrometer_25", "gains": "", "piece": ""}
SCREWS = {"name": "screws", "kind": "screw", "screw": "M4 x 12", "head": "socket", "grade": "8.8", "number": "2",
          "through": "lid.hole-1", "into": "body.hole-1", "torque": "1.5 N m", "lubricated": "yes"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job of two parts, a hole in each."""
    folder = tmp_path_factory.mktemp("wanted")
    (folder / ".firstoff").mkdir()
    add_part(folder, PART, None)
    add_part(folder, PART | LID, None)
    (folder / "job.toml").write_text("# mine\n" + (folder / "job.toml").read_text(encoding="utf-8"), encoding="utf-8")
    return folder


@pytest.fixture
def job(made: Path) -> Path:
    """The same, its file put back afterwards by the next test."""
    file = made / "job.toml"
    text = file.read_text(encoding="utf-8").partition("\n[limits")[0]
    file.write_text(text.partition("\n[joints")[0], encoding="utf-8")
    return made


def test_what_can_be_named_is_told(made: Path) -> None:
    found = names(made)
    assert {"+Z", "-Z", "hole-1"} <= set(found.faces["body"])
    assert found.holes == {"body": ("hole-1",), "lid": ("hole-1",)}
    assert "micrometer_25" in found.instruments


def test_a_limit_and_a_joint_are_kept_and_taken_out_again(job: Path) -> None:
    before = (job / "job.toml").read_text(encoding="utf-8")
    assert add(job, "limits", HEIGHT) == "height"
    add(job, "joints", SCREWS)
    found = load_job(job)
    assert found.limits["height"].tolerance == (-0.05, 0.05) and found.limits["height"].size == 12.0
    joint = found.joints["screws"]
    assert isinstance(joint, ScrewJoint)
    assert (joint.number, joint.lubricated, joint.torque) == (2, True, 1.5)
    assert (job / "job.toml").read_text(encoding="utf-8").startswith("# mine")
    with pytest.raises(InputError, match="already") as told:
        add(job, "limits", HEIGHT)
    assert told.value.where == "name"
    take_out(job, "joints", "screws")
    take_out(job, "limits", "height")
    assert load_job(job).limits == {} and load_job(job).joints == {}
    assert before.strip() in (job / "job.toml").read_text(encoding="utf-8")


def test_a_chain_of_several_parts_with_its_gains(job: Path) -> None:
    add(job, "limits", {"name": "gap", "kind": "chain", "between": "body.-Z, body.+Z, lid.-Z, lid.+Z",
                        "gains": "1, -2.5", "size": "1 mm", "tolerance": "+0.1 mm / -0.2 mm"})
    assert load_job(job).limits["gap"].gains == (1.0, -2.5)


def test_threads_fits_and_pieces(job: Path) -> None:
    assert add(job, "threads", {"name": "hole-1", "part": "body", "thread": "M4 x 8 deep"}) == "body.hole-1"
    assert add(job, "ream", {"name": "hole-1", "part": "lid", "fit": "H7"}) == "lid.hole-1"
    add(job, "bought", {"name": "dowels", "called": "dowels 4 mm, two", "size": "4 mm", "tolerance": "m6"})
    found = load_job(job)
    assert found.parts["body"].threads == {"hole-1": "M4 x 8 deep"} and found.parts["lid"].ream == {"hole-1": "H7"}
    assert found.bought["dowels"].size == {"diameter": 4.0} and found.bought["dowels"].tolerance is not None
    add(job, "limits", {"name": "fit", "kind": "clearance", "between": "hole-1", "part": "lid", "piece": "dowels",
                        "tolerance": "+0.02 mm / 0 mm"})
    with pytest.raises(InputError, match="has one already"):
        add(job, "threads", {"name": "hole-1", "part": "body", "thread": "M4"})
    for what, name in (("limits", "fit"), ("threads", "body.hole-1"), ("ream", "lid.hole-1"), ("bought", "dowels")):
        take_out(job, what, name)
    assert load_job(job).parts["body"].threads == {} and load_job(job).bought == {}


@pytest.mark.parametrize(("what", "slip", "blank"), [
    ("limits", {"name": "A b"}, "name"), ("limits", {"name": ""}, "name"), ("limits", {"size": "12"}, "size"),
    ("limits", {"tolerance": "small"}, "tolerance"), ("limits", {"tolerance": ""}, "tolerance"),
    ("limits", {"between": "-Z"}, "between"), ("limits", {"between": "-Z, roof"}, "between"),
    ("limits", {"kind": "flatness", "between": "-Z", "tolerance": "+0.05 mm / 0.02 mm"}, "tolerance"),
    ("limits", {"part": "wheel"}, "part"),
    ("limits", {"instrument": "eye"}, "instrument"), ("limits", {"kind": "taste"}, "kind"),
    ("limits", {"kind": "chain", "gains": "much"}, "gains"), ("limits", {"piece": "dowels"}, "piece"),
    ("joints", {"screw": "big"}, "screw"), ("joints", {"into": "body.hole-9"}, "into"),
    ("joints", {"into": ""}, "into"), ("joints", {"number": "two"}, "number"),
    ("joints", {"torque": "1.5"}, "torque"),
    ("joints", {"load_across": "-3 N"}, "load_across"),
    ("threads", {"name": "hole-9", "part": "body", "thread": "M4"}, "name"),
    ("threads", {"name": "hole-1", "part": "body", "thread": "tight"}, "thread"),
    ("threads", {"name": "hole-1", "part": "body"}, "thread"), ("threads", {"name": "hole-1", "part": "x"}, "part"),
    ("bought", {"name": "nut", "called": ""}, "called"),
    ("bought", {"name": "nut", "called": "x", "size": "4"}, "size"),
])
def test_a_slip_names_its_blank_and_changes_nothing(job: Path, what: str, slip: dict[str, str], blank: str) -> None:
    before = (job / "job.toml").read_bytes()
    whole = {"limits": HEIGHT, "joints": SCREWS}.get(what, {})
    with pytest.raises(InputError) as told:
        add(job, what, whole | slip)
    assert told.value.where == blank
    assert (job / "job.toml").read_bytes() == before


def test_what_is_not_there_cannot_be_taken_out(job: Path, tmp_path: Path) -> None:
    for what, name in (("limits", "x"), ("threads", "body.hole-1"), ("threads", "x"), ("parts", "body")):
        with pytest.raises(NameUnknown):
            take_out(job, what, name)
    with pytest.raises(NameUnknown):
        add(job, "parts", {"name": "x"})
    with pytest.raises(FileError):
        add(tmp_path, "limits", HEIGHT)
