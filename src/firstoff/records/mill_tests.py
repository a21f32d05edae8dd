"""The nine tests of an hour with your mill: how each is done, what must be minded, what is read.

One list serves the printed card, the questions in the terminal and the file of readings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from ..errors import NameUnknown

STILL: Final = ("Spindle stopped and isolated: plug pulled or main switch locked, drives alone left on. Hands come "
                "near the cutter only then.")


@dataclass(frozen=True)
class Ask:
    """One thing to read or name.

    Fields:
        key: in a file of readings, and in the record.
        question: as it is asked.
        quantity: a key of the units, or what it is: axis, collet, tool, material, instrument, pull, file.
        least: what a true reading is at least, in the kept unit of its quantity.
        most: and at most.
        many: how many readings; 0 for a single one.
        optional: whether an empty answer is allowed.
        otherwise: what an empty answer means.
    """

    key: str
    question: str
    quantity: str
    least: float = -1e9
    most: float = 1e9
    many: int = 0
    optional: bool = False
    otherwise: str = ""


@dataclass(frozen=True)
class MillTest:
    """One of the nine.

    Fields:
        name: in a file of readings.
        title: on the card.
        needs: what must be at hand.
        how: in two or three sentences.
        cautions: what must be minded.
        narrows: what it tells.
        minutes: that it takes, judged.
        asks: what is read, in order.
        again: what it may be done again for: another axis, collet, cutter; empty where once is all.
    """

    name: str
    title: str
    needs: str
    how: str
    cautions: tuple[str, ...]
    narrows: str
    minutes: float
    asks: tuple[Ask, ...]
    again: str = ""

    @property
    def number(self) -> int:
        """Its place among the nine."""
        return [test.name for test in TESTS].index(self.name) + 1

    def ask(self, key: str) -> Ask:
        """One of its questions."""
        return next(ask for ask in self.asks if ask.key == key)


def _indicator(key: str, question: str) -> Ask:
    return Ask(key, question, "length", -10.0, 10.0)


_WITH: Final = Ask("instrument", "read with which instrument", "instrument", optional=True, otherwise="indicator")
_CUT: Final = (
    Ask("tool", "which cutter", "tool"),
    Ask("material", "in which material", "material"),
    Ask("depth", "how deep along the cutter", "length", 0.01, 100.0),
    Ask("width", "how wide across it", "length", 0.01, 100.0),
    Ask("speed", "speed of the spindle", "rotation", 1.0, 1e4),
    Ask("feed", "feed of the table", "table_feed", 0.01, 1e3),
)

TESTS: Final[tuple[MillTest, ...]] = (
    MillTest(
        "pull", "Pull 100 N on the collet nut", "luggage scale, cord, indicator on the table",
        "Stand the indicator on the table against the collet nut and set it to 0. Pull with the scale to 100 N "
        "(10.2 kg, 22 lbf) along the axis, read; let go, read; pull as hard the other way, read; let go, read. "
        "For up and down lift and press by a bar under the spindle nose.",
        (STILL, "Pull slowly, stand so that you do not fall if the cord gives way."),
        "stiffness of the axis, and its lost motion", 6.0,
        (Ask("axis", "which axis, x, y or z", "axis"), Ask("force", "pulled with", "pull", 30.0, 400.0),
         _indicator("pulled", "indicator under the pull"), _indicator("released", "after letting go"),
         _indicator("pushed", "under the pull the other way"), _indicator("released_back", "after letting go again"),
         _WITH), "axis"),
    MillTest(
        "runout", "Indicator on a pin", "indicator, a ground pin or the shank of a new cutter",
        "Put the pin into the collet, indicator against it close below the nut. Turn the spindle slowly by hand "
        "through a whole turn, and read the highest and the lowest.",
        (STILL, "Turn by the nut or a strap wrench, never by the cutter's edges."),
        "runout of this collet", 3.0,
        (Ask("collet", "which collet", "collet"), _indicator("high", "highest reading"),
         _indicator("low", "lowest reading"), _WITH), "collet"),
    MillTest(
        "circle", "Swing a circle", "indicator on an arm in the spindle",
        "Hold the indicator on an arm in the collet, its tip on the bare table or a ground plate. Turn by hand; read "
        "at the left, the right, the front and the back of the circle. Lift it over slots.",
        (STILL,), "tram: how far the spindle leans", 5.0,
        (Ask("swing", "diameter of the circle", "length", 20.0, 600.0), _indicator("left", "at the left"),
         _indicator("right", "at the right"), _indicator("front", "at the front"), _indicator("back", "at the back"),
         _WITH)),
    MillTest(
        "touch_off", "Ten touch-offs", "what you always find a zero with, a block that is held fast",
        "Find the zero on one face as you always do, and note the axis position; back off, and do it again, ten "
        "times in all, looking away between. The mean does not matter, only how the ten scatter.",
        ("With paper or a feeler: spindle stopped. With a turning edge finder: at its own slow speed, hands away.",),
        "scatter of setting a zero", 8.0,
        (Ask("readings", "the ten positions, apart by ;", "length", -2000.0, 2000.0, many=10),)),
    MillTest(
        "thrust", "Stall an axis on a bathroom scale", "bathroom scale, block of wood",
        "Lay the scale on the table, wood on it beneath the stopped spindle. Feed down slowly, 50 mm/min, until the "
        "axis stalls or loses steps; note the highest reading. Three times; then set the zero anew.",
        (STILL, "A strong machine breaks the scale: stop at 100 kg, and note that it went so far (skip the test).",
         "Keep a hand on the stop button and the other one away."),
        "what stalls an axis", 5.0,
        (Ask("stall", "highest readings, apart by ;", "pull", 20.0, 20000.0, many=1),)),
    MillTest(
        "watts", "Watts of a known cut", "plug-in watt meter",
        "Let the spindle run free at the speed of the cut for a minute and read the watts. Make a straight cut of "
        "known depth and width in a known material, as heavy as is comfortable, and read again while it cuts.",
        ("Work clamped, guard closed, eyes protected, no gloves.", "The meter stays dry and in reach."),
        "cutting force, and the losses of the drive", 8.0,
        (*_CUT, Ask("idle", "watts running free", "power", 0.0, 5000.0),
         Ask("cutting", "watts while cutting", "power", 0.0, 10000.0)), "cut"),
    MillTest(
        "tap", "Tap the cutter", "phone, a small screwdriver",
        "Lay the phone beside the cutter and record; tap the tip of the cutter once with the handle, along the axis, "
        "and keep still. Phones hear above about 200 Hz; for a lower ring fix the phone to the spindle and log its "
        "accelerometer (time in the first column of a CSV).",
        (STILL, "Fans, pumps and compressor off."),
        "how the cutter rings in its collet, and how soon it stops", 4.0,
        (Ask("tool", "which cutter", "tool"),
         Ask("stickout", "how far it stands out of the collet", "length", 2.0, 200.0, optional=True),
         Ask("axis", "tapped along which axis, x or y", "axis"),
         Ask("file", "recording (.wav), or log (.csv); empty if you know the frequency", "file", optional=True),
         Ask("frequency", "frequency", "frequency", 30.0, 1e5, optional=True),
         Ask("damping", "damping ratio", "ratio", 1e-4, 0.5, optional=True)), "cutter"),
    MillTest(
        "square", "Mill a 50 mm square", "scrap of aluminium, caliper or micrometer, indicator",
        "Mill round a square of 50 mm with a light last pass, and in the same setting a step of 40 mm between two "
        "walls that face the same way. Measure; then turn the square over, set one edge along X with the indicator, "
        "and note how far it moves along the next edge.",
        ("Work clamped, guard closed, eyes protected.", "Measure and turn over with the spindle stopped."),
        "error of the scales, squareness, and how much too small or large you cut", 15.0,
        (Ask("nominal", "size in the program", "length", 10.0, 500.0, optional=True, otherwise="50 mm"),
         Ask("x", "size along X", "length", 5.0, 510.0), Ask("y", "size along Y", "length", 5.0, 510.0),
         Ask("step", "measured step of 40 mm", "length", 30.0, 50.0, optional=True),
         _indicator("turned", "travel of the indicator along the next edge, turned over"),
         Ask("over", "along how much of the edge", "length", 10.0, 500.0, optional=True, otherwise="45 mm"),
         Ask("sized_with", "sizes measured with", "instrument", optional=True, otherwise="caliper"), _WITH)),
    MillTest(
        "returns", "Go and return 50 times", "indicator, a pin or block held fast",
        "Stand the indicator against the spindle nose and read. Let the program run 50 times away at rapid and back, "
        "and stop there; note the reading about every fifth time, ten in all.",
        ("Spindle stopped; hands away while it moves: rapid is quick and does not wait.",),
        "repeat of the axes, and whether steps are lost", 8.0,
        (_indicator("start", "reading at the start"),
         Ask("readings", "readings on return, apart by ;", "length", -10.0, 10.0, many=3), _WITH)),
)


def the_test(name: str) -> MillTest:
    """The test of that name or number.

    Raises:
        NameUnknown: if there is none.
    """
    for test in TESTS:
        if name in (test.name, str(test.number)):
            return test
    raise NameUnknown(f"there is no test {name!r}", right=", ".join(t.name for t in TESTS))


def names(tests: Sequence[MillTest] = TESTS) -> str:
    """Names in order, for messages."""
    return ", ".join(test.name for test in tests)
