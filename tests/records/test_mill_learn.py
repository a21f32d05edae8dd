"""Tests of a machine become own figures: right readings narrow, wrong ones are caught, or absorbed and named."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.errors import NameUnknown
from firstoff.records.learn import Learned, learn_from
from firstoff.records.mill_answers import checked
from firstoff.records.mill_learn import answers_of, machine_meant, record_of_test, strange
from firstoff.records.store import open_store

from .person import MILL, Person, Truth, book, drawn, shop
from .test_ringing import ring, write

WHEN = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
FIGURES = {"stiffness_x": "stiffness", "lost_motion": "play", "tram": "tilt", "touch_off": "touch",
           "axis_thrust": "thrust", "squareness": "square", "positioning": "repeat"}


def learned(folder: Path, done: Sequence[tuple[str, dict[str, str]]]) -> Learned:
    folder.mkdir(exist_ok=True)
    with open_store(folder) as store:
        for name, texts in done:
            store.add(record_of_test(checked(name, texts, shop(), MILL), store, WHEN))
        return learn_from(store, book(), shop(), lambda _what, _share: None)


def after(found: Learned) -> Belief:
    return book().with_moved(found.moved)


def test_a_record_gives_back_what_was_read(tmp_path: Path) -> None:
    texts = Person(Truth()).pull()
    with open_store(tmp_path) as store:
        store.add(record_of_test(checked("pull", texts, shop(), MILL), store, WHEN))
        record = store.all()[0]
        assert record.reading == {"test": "pull", **texts}
        found = answers_of(record, store)
        assert (found.texts, found.machine, found.test.name) == (texts, MILL, "pull")


def test_what_was_heard_in_a_recording_stands_in_the_record(tmp_path: Path) -> None:
    tap = write(tmp_path / "tap.wav", ring(900.0, 0.03, 44100.0), 2)
    texts = {"tool": "end_mill_6_2f", "axis": "x", "file": str(tap)}
    with open_store(tmp_path) as store:
        store.add(record_of_test(checked("tap", texts, shop(), MILL), store, WHEN))
        record = store.all()[0]
        found = answers_of(record, store)
        assert store.kept_file(record.reading["file"]) == tap.read_bytes()
    assert record.reading["recording"] == "tap.wav"
    assert found.number("frequency") == pytest.approx(2.0 * np.pi * 900.0, rel=0.02)


def test_what_scatters_is_learned_too_though_it_is_new_each_time(tmp_path: Path) -> None:
    found = learned(tmp_path, [("touch_off", Person(Truth(touch=0.05)).touch_off()),
                               ("returns", Person(Truth(repeat=0.03)).returns())])
    for parameter, true in (("touch_off", 0.05), ("positioning", 0.03)):
        before, now = (by.value(f"machine:{MILL}", parameter) for by in (book(), after(found)))
        assert abs(np.log(np.median(now) / true)) < 0.65 * abs(np.log(np.median(before) / true))
        assert np.log(now).std() < 0.6 * np.log(before).std()


def test_intervals_cover_a_machine_that_was_simulated(tmp_path: Path) -> None:
    inside, count = 0, 0
    for seed in range(16):
        truth = drawn(np.random.default_rng(seed))
        now = after(learned(tmp_path / str(seed), Person(truth, seed=seed).all()))
        for parameter, name in FIGURES.items():
            unit = 1e6 if parameter == "stiffness_x" else 1.0
            low, high = np.percentile(now.value(f"machine:{MILL}", parameter) / unit, (5.0, 95.0))
            inside += low <= getattr(truth, name) <= high
            count += 1
    assert 0.82 <= inside / count <= 0.98, f"{inside} of {count}"


def test_a_wrong_unit_is_named_with_the_one_that_was_meant() -> None:
    found = checked("pull", Person(Truth()).pull(unit="in"), shop(), MILL)
    said = strange(found, book())
    assert "read it again" in said[0] and "were they mm and not in?" in said[1]
    assert strange(checked("pull", Person(Truth()).pull(), shop(), MILL), book()) == []


def test_one_slip_in_ten_touch_offs_is_absorbed_and_named(tmp_path: Path) -> None:
    right = Person(Truth(), seed=3).touch_off()
    pieces = right["readings"].split("; ")
    wrong = {"readings": "; ".join([*pieces[:9], "13.30 mm"])}
    plain, hit = (learned(tmp_path / str(i), [("touch_off", texts)]) for i, texts in enumerate((right, wrong)))
    medians = [float(np.median(after(found).value(f"machine:{MILL}", "touch_off"))) for found in (plain, hit)]
    assert medians[1] == pytest.approx(medians[0], rel=0.35)
    assert plain.disagreeing == () and len(hit.disagreeing) == 1
    assert strange(checked("touch_off", wrong, shop(), MILL), book()) != []


def test_a_wrong_record_among_right_ones_is_absorbed_and_named(tmp_path: Path) -> None:
    person = Person(Truth(), seed=5)
    right = [("pull", person.pull()) for _ in range(3)]
    soft = Person(Truth(stiffness=0.12), seed=6).pull()
    found = learned(tmp_path, [*right, ("pull", soft)])
    assert np.median(after(found).value(f"machine:{MILL}", "stiffness_x")) == pytest.approx(2e6, rel=0.15)
    assert len(found.disagreeing) == 1
    assert any("disagrees" in text for text in found.sentences)


def test_an_indicator_that_did_not_move_at_all_is_doubted() -> None:
    still = {"swing": "150 mm", **dict.fromkeys(("left", "right", "front", "back"), "0 mm")}
    (said,) = strange(checked("circle", still, shop(), MILL), book())
    assert said.startswith("Swing a circle: all readings are the same: is the indicator free")
    pin = {"collet": "collet_6", "high": "0.01 mm", "low": "0.01 mm"}
    assert "all readings are the same" in strange(checked("runout", pin, shop(), MILL), book())[0]


def test_a_circle_with_a_wrong_sign_contradicts_itself() -> None:
    """A plane has the same mean left and right as front and back."""
    right = {"swing": "150 mm", "left": "0 mm", "right": "0.06 mm", "front": "0.01 mm", "back": "0.05 mm"}
    assert strange(checked("circle", right, shop(), MILL), book()) == []
    wrong = right | {"back": "-0.05 mm"}
    (said,) = strange(checked("circle", wrong, shop(), MILL), book())
    assert "mean of left and right is 0.03 mm, of front and back -0.02 mm" in said and "sign" in said


def test_a_machine_is_meant() -> None:
    assert machine_meant("knee", shop()) == "knee"
    with pytest.raises(NameUnknown, match="say which mill"):
        machine_meant(None, shop())
    with pytest.raises(NameUnknown, match="no mill 'drill_press'"):
        machine_meant("drill_press", shop())
