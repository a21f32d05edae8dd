"""What is said at the bench becomes a record, or is refused with a reason; nothing is half-kept."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from firstoff.errors import FirstoffError, NameUnknown, RecordError, UnitError
from firstoff.job.nominal import nominal_size
from firstoff.records.logging import WORDS, force_of, record_of
from firstoff.records.reading import Reading
from firstoff.records.snapshot import read_snapshot
from firstoff.records.store import Record, open_store, record_line

from ..checks import builders
from . import made
from .made import BEGAN, ROUGH


def record(folder: Path, said: Reading, place: made.Place | None = None, when: datetime = BEGAN) -> Record:
    at = place or made.place()
    with open_store(folder) as store:
        return record_of(said, at.job, at.shop, at.route, at.parts, store, when)


@pytest.mark.parametrize("word", WORDS)
def test_a_word_of_an_operation(tmp_path: Path, word: str) -> None:
    found = record(tmp_path, Reading(ROUGH, word=word, note="second tool"))
    assert (found.kind, found.subject, found.reading) == ("word", ROUGH, {"word": word})
    assert found.conditions == {"note": "second tool"} and found.job == "tiny job"


def test_watts_and_sizes_are_kept_as_they_were_read(tmp_path: Path) -> None:
    watts = record(tmp_path, Reading(ROUGH, watts="0,31 kW", idle="190 W"))
    assert watts.reading == {"value": "0,31 kW", "idle": "190 W"}
    size = record(tmp_path, Reading("height", size="0.7882 in"))
    assert size.reading == {"value": "0.7882 in", "instrument": "mic"}


def test_the_record_holds_all_that_it_was_made_of(tmp_path: Path) -> None:
    place = made.place()
    with open_store(tmp_path) as store:
        (kept,) = place.log(store, Reading(ROUGH, word="ok"))
    with open_store(tmp_path) as store:
        found = read_snapshot(store, kept.snapshot)
    assert (found.job, found.shop, found.route, found.parts) == (place.job, place.shop, place.route, place.parts)


def test_a_test_of_the_hold_is_kept_as_it_was_read(tmp_path: Path) -> None:
    held = record(tmp_path, Reading(ROUGH, pull="12 kg"))
    moved = record(tmp_path, Reading(ROUGH, word="moved", pull="80 N"))
    lift = record(tmp_path, Reading(ROUGH, lift="0.02 mm"))
    assert (held.kind, held.reading) == ("pull", {"value": "12 kg", "word": "held"})
    assert (moved.kind, moved.reading) == ("pull", {"value": "80 N", "word": "moved"})
    assert (lift.kind, lift.reading) == ("lift", {"value": "0.02 mm"})
    felt = record(tmp_path, Reading(ROUGH, parallels="loose"))
    assert (felt.kind, felt.reading) == ("lift", {"word": "loose"})
    assert force_of("12 kg") == pytest.approx(117.7, abs=0.1) and force_of("80 N") == 80.0
    assert "held at 12 kg" in record_line(held) and "0.02 mm" in record_line(lift)


@pytest.mark.parametrize(("said", "error", "message"), [
    (Reading(ROUGH, pull="12 mm"), UnitError, "not a mass"),
    (Reading(ROUGH, pull="500 kg"), RecordError, "no pull of a hand"),
    (Reading(ROUGH, pull="12 kg", word="sang"), RecordError, "does not go with a pull"),
    (Reading(ROUGH, parallels="so so"), RecordError, "tight or loose"),
    (Reading(ROUGH, lift="2 mm"), RecordError, "more than any jaw lifts"),
    (Reading(ROUGH, pull="12 kg", lift="0.01 mm"), RecordError, "give one of"),
    (Reading(ROUGH), RecordError, "give one of"),
    (Reading(ROUGH, word="ok", size="20 mm"), RecordError, "give one of"),
    (Reading(ROUGH, word="fine"), RecordError, "not a word that is kept"),
    (Reading("nothing", word="ok"), NameUnknown, "no operation 'nothing'"),
    (Reading(ROUGH, size="20 mm"), NameUnknown, "no limit"),
    (Reading("heigth", word="ok"), NameUnknown, "no operation 'heigth'"),
    (Reading(ROUGH, watts="300 W"), RecordError, "running free"),
    (Reading(ROUGH, watts="100 W", idle="120 W"), RecordError, "less than"),
    (Reading(ROUGH, watts="300", idle="120 W"), UnitError, "no unit"),
    (Reading(ROUGH, watts="300 mm", idle="120 W"), UnitError, "not a power"),
    (Reading(ROUGH, watts="9 kW", idle="120 W"), RecordError, "ten times"),
    (Reading("height", size="20"), UnitError, "no unit"),
    (Reading("height", size="2.002 mm"), RecordError, "18.0 mm from the nominal 20 mm"),
    (Reading("height", size="20 in"), RecordError, "from the nominal"),
    (Reading("height", size="20 mm", instrument="ruler"), NameUnknown, "no instrument 'ruler'"),
    (Reading("flat", size="0.01 mm"), NameUnknown, "--with one of mic"),
    (Reading(ROUGH, word="ok", replaces="abc"), RecordError, "'abc' names 0 records"),
])
def test_what_cannot_be_is_refused(tmp_path: Path, said: Reading, error: type[FirstoffError], message: str) -> None:
    with pytest.raises(error) as caught:
        record(tmp_path, said)
    assert message in str(caught.value)
    with open_store(tmp_path) as store:
        assert store.all() == ()


def test_the_future_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="not come yet"):
        record(tmp_path, Reading(ROUGH, word="ok"), when=datetime.now(UTC) + timedelta(days=1))


def test_a_correction_may_name_the_first_letters(tmp_path: Path) -> None:
    place = made.place()
    with open_store(tmp_path) as store:
        first, = place.log(store, Reading(ROUGH, word="sang"))
        second, = place.log(store, Reading(ROUGH, word="ok", replaces=first.id[:8]))
        assert second.replaces == first.id
        assert store.valid() == (second,)


def test_what_was_corrected_is_not_corrected_once_more(tmp_path: Path) -> None:
    """Two corrections of one record would be two records of one cut; sent again under its own id it is the same."""
    place, own = made.place(), "0123456789abcdef0123456789abcdef"
    with open_store(tmp_path) as store:
        first, = place.log(store, Reading(ROUGH, word="sang"))
        said = Reading(ROUGH, word="ok", replaces=first.id[:8].upper(), id=own)
        place.log(store, said)
        place.log(store, said)
        with pytest.raises(RecordError, match="was corrected already") as caught:
            place.log(store, Reading(ROUGH, word="slowed", replaces=first.id))
        assert caught.value.right.endswith("--replaces 01234567")
        place.log(store, Reading(ROUGH, word="slowed", replaces="01234567"))
        assert [r.reading["word"] for r in store.valid()] == ["slowed"]
        with pytest.raises(RecordError, match="names 0 records"):
            place.log(store, Reading(ROUGH, word="ok", replaces=" "))


def test_a_size_without_nominal_is_taken_from_the_model(tmp_path: Path) -> None:
    place = made.place(job={"limits": made.limits(size=None)})
    assert nominal_size("height", place.job, place.parts) == builders.HEIGHT
    assert record(tmp_path, Reading("height", size="20.01 mm"), place).kind == "size"
    with pytest.raises(RecordError, match="from the nominal 20 mm"):
        record(tmp_path, Reading("height", size="12 mm"), place)


def test_flatness_is_measured_from_nothing() -> None:
    place = made.place()
    assert nominal_size("flat", place.job, place.parts) == 0.0


def test_a_size_that_nobody_knows_is_refused(tmp_path: Path) -> None:
    across = {"kind": "distance", "part": "block", "between": ["-X", "+Y"], "tolerance": "±0.1 mm"}
    place = made.place(job={"limits": {"odd": across}})
    with pytest.raises(RecordError, match="does not say what it should measure") as caught:
        record(tmp_path, Reading("odd", size="5 mm", instrument="mic"), place)
    assert "[limits.odd]" in str(caught.value)


def test_the_number_on_the_card_names_the_operation(tmp_path: Path) -> None:
    at = made.place()
    key, operation = next(iter(at.route.operations.items()))
    assert record(tmp_path, Reading(str(operation.number), word="ok"), at).subject == key
    with pytest.raises(NameUnknown, match="999999"):
        record(tmp_path, Reading("999999", word="ok"), at)


@pytest.mark.parametrize(("said", "kind", "reading", "conditions"), [
    (Reading(ROUGH, word="ok", chip_colour="blue", chip_form="commas", burr="none", finish="good", feed="80 %"),
     "word", {"word": "ok", "chip_colour": "blue", "chip_form": "commas", "burr": "none", "finish": "good"},
     {"feed": "80 %"}),
    (Reading(ROUGH, word="OK", chip_colour="Straw "), "word", {"word": "ok", "chip_colour": "straw"}, {}),
    (Reading(ROUGH, burr="heavy", note="exit side"), "seen", {"burr": "heavy"}, {"note": "exit side"}),
    (Reading("", note="new belt"), "note", {}, {"note": "new belt"}),
    (Reading(ROUGH, note="new belt"), "note", {}, {"note": "new belt"}),
    (Reading(ROUGH, watts="310 W", idle="190 W", feed="120 %"), "watts", {"value": "310 W", "idle": "190 W"},
     {"feed": "120 %"}),
    (Reading(ROUGH, word="sang", depth="0.5 mm"), "word", {"word": "sang"}, {"depth": "0.5 mm"}),
    (Reading(ROUGH, word="sang", depth="1/8 in", scrap=True), "word", {"word": "sang"},
     {"depth": "1/8 in", "scrap": "yes"}),
    (Reading(ROUGH, burr="heavy", depth="0.5 mm", scrap=True), "seen", {"burr": "heavy"},
     {"depth": "0.5 mm", "scrap": "yes"}),
])
def test_what_was_seen(
    tmp_path: Path, said: Reading, kind: str, reading: dict[str, str], conditions: dict[str, str]
) -> None:
    found = record(tmp_path, said)
    assert (found.kind, found.reading, found.conditions) == (kind, reading, conditions)


def test_a_picture_is_kept_beside_the_database(tmp_path: Path) -> None:
    picture = tmp_path / "Top Side.JPG"
    picture.write_bytes(b"light")
    found = record(tmp_path, Reading(ROUGH, file=str(picture)))
    assert found.kind == "file" and found.reading["picture"] == "Top Side.JPG"
    picture.unlink()
    with open_store(tmp_path) as store:
        assert store.kept_file(found.reading["file"]) == b"light"


@pytest.mark.parametrize(("said", "message"), [
    (Reading(ROUGH, word="ok", burr="huge"), "'huge' is not a word that is kept for burr"),
    (Reading("height", size="20 mm", burr="none"), "give one of"),
    (Reading(ROUGH, word="ok", watts="310 W", idle="190 W"), "give one of"),
    (Reading(ROUGH, word="ok", feed="0 %"), "no override"),
    (Reading(ROUGH, word="ok", feed="400 %"), "no override"),
    (Reading(ROUGH, word="ok", feed="80 mm"), "not a ratio"),
    (Reading(ROUGH, burr="none", feed="80 %"), "the feed belongs to"),
    (Reading(ROUGH, word="ok", depth="0.5"), "has no unit"),
    (Reading(ROUGH, word="ok", depth="0 mm", scrap=True), "is no depth that the"),
    (Reading(ROUGH, word="ok", depth="500 mm", scrap=True), "flutes are"),
    (Reading(ROUGH, word="ok", depth="1.5 mm"), "only 1 mm to take off (in scrap, add --scrap)"),
    (Reading(ROUGH, note="new belt", depth="0.5 mm"), "the depth belongs to"),
    (Reading(ROUGH, note="new belt", scrap=True), "a trial in scrap is told by"),
    (Reading(ROUGH, word="ok", pull="12 kg", scrap=True), "a trial in scrap is told by"),
    (Reading("height", size="20 mm", scrap=True), "a trial in scrap is told by"),
    (Reading("height", word="ok"), "this is a limit, not an operation (what was measured: --size"),
    (Reading("", burr="none"), "no operation ''"),
    (Reading(ROUGH, file="letter.doc"), "neither a recording nor a picture"),
    (Reading(ROUGH, file="nothing.png"), "no such file"),
    (Reading(ROUGH, word="ok", when="2026-02-30 10:00"), "is no date"),
    (Reading(ROUGH, word="ok", when="yesterday"), "is no date"),
    (Reading(ROUGH, word="ok", when="1066-10-14 09:00"), "too long ago"),
    (Reading(ROUGH, word="ok", when="2999-01-01"), "not come yet"),
    (Reading(ROUGH, word="ok", id="7"), "is no id"),
    (Reading(ROUGH, word="ok", by="x" * 101), "are more than the 100"),
    (Reading(ROUGH, word="ok", note="a\x00b"), "no text"),
    (Reading("flat", size="0.01 mm", instrument="outside"), "no instrument 'outside'"),
])
def test_what_cannot_have_been_seen_is_refused(tmp_path: Path, said: Reading, message: str) -> None:
    with pytest.raises(FirstoffError) as caught:
        record(tmp_path, said)
    assert message in str(caught.value)


def test_a_size_outside_the_range_of_the_instrument_is_refused(tmp_path: Path) -> None:
    place = made.place()
    _, most = place.shop.instruments["mic"].range
    far = most + 5.0
    wide = made.place(job={"limits": made.limits(size=f"{far} mm")})
    with pytest.raises(RecordError, match="not within the range"):
        record(tmp_path, Reading("height", size=f"{far} mm"), wide)


def test_sent_twice_is_kept_once(tmp_path: Path) -> None:
    """The page beside the machine sends again what was not confirmed."""
    said = Reading(ROUGH, word="ok", id="123E4567-e89b-42d3-a456-426614174000")
    place = made.place()
    with open_store(tmp_path) as store:
        place.log(store, said, said)
        (kept,) = store.all()
    assert kept.id == "123e4567e89b42d3a456426614174000"


def test_the_day_may_be_told(tmp_path: Path) -> None:
    found = record(tmp_path, Reading(ROUGH, word="ok", when="2026-03-01T14:30+01:00"))
    assert found.when == datetime(2026, 3, 1, 13, 30, tzinfo=UTC)
