"""What `firstoff mill-test` prints of tests that were done."""

from __future__ import annotations

from firstoff.records.learn import Learned
from firstoff.records.mill_hour import Done
from firstoff.telling_mill import done_json, done_lines

LEARNED = Learned({}, (), 3, "x", 512, 20, "b", False, ())
DONE = Done("mill", ("pull",), ("stiffness: 2 N/um",), ("read it again",), LEARNED)


def test_lines_and_json_say_the_same() -> None:
    said = "\n".join(done_lines(DONE))
    assert "stiffness: 2 N/um" in said and "look again: read it again" in said and "not settled" in said
    told = done_json(DONE)
    assert told["changed"] == ["stiffness: 2 N/um"] and told["look_again"] == ["read it again"]
    assert (told["machine"], told["records"], told["settled"]) == ("mill", 3, False)
