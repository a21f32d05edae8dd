from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._hands import GRIP, PINCH
from firstoff.checks._tightened import HAND_SD, KNOB, MALLET, PULL, book_force, squeeze, turning
from firstoff.checks.base import Case
from tests.checks.builders import ROWS, case, column, columns, fig, setting, shop


def vise(tightness: str, **device: object) -> Case:
    there = shop()
    own = there.devices["vise"].model_dump(exclude_unset=True)
    model = type(there.devices["vise"]).model_validate(
        {**own, "squeeze": {}, "width": "100 mm", "jaw_height": "30 mm", "friction": fig(0.15, 1.2), "lead": "4 mm",
         "efficiency": fig(0.2, 1.5), "hand": fig(1.0, 2.0), **device})
    changed = there.model_copy(update={"devices": {**there.devices, "vise": model}})
    return replace(case(place=setting(holding={"tightness": tightness})), shop=changed)


def believed(hand: float = 1.5) -> Belief:
    return Belief.of([*columns(), column("device:vise", "efficiency", 0.2, 1.01),
                      column("device:vise", "hand", 1.0, hand)], rows=ROWS)


@pytest.mark.parametrize(("text", "torque"), [
    ("arm on a 150 mm handle", PULL * 0.15), ("mallet on a 150 mm handle", MALLET * PULL * 0.15),
    ("arm on a 6 in handle", PULL * 0.1524), ("torque wrench at 20 N m", 20.0), ("torque wrench 20 N m", 20.0),
    ("fingers", GRIP * PINCH * KNOB * 1e-3), ("arm on an 80 mm spanner", PULL * 0.08),
])
def test_words_are_a_torque(text: str, torque: float) -> None:
    found = turning(text)
    assert found is not None and found.torque == pytest.approx(torque)


@pytest.mark.parametrize("text", ["", "as tight as it goes", "arm on a long handle", "torque wrench at 20 mm"])
def test_other_words_are_none(text: str) -> None:
    assert turning(text) is None
    assert squeeze(vise(text), believed()) is None


def test_work_at_the_handle_is_work_at_the_jaw() -> None:
    force = squeeze(vise("torque wrench at 20 N m"), believed())
    assert force is not None
    # one turn: 2 pi T in, F lead out, a fifth of it
    assert float(np.median(force)) == pytest.approx(0.2 * 2.0 * np.pi * 20.0 / 0.004, rel=0.01)


def test_a_wrench_is_truer_than_an_arm_and_a_mallet_presses_more() -> None:
    wrench, arm, mallet = (np.log(np.asarray(squeeze(vise(text), believed(2.0)))) for text in (
        "torque wrench at 30 N m", "arm on a 150 mm handle", "mallet on a 150 mm handle"))
    assert wrench.std() < 0.2 * arm.std() and arm.std() == pytest.approx(np.log(2.0), rel=0.15)
    assert np.median(mallet) - np.median(arm) == pytest.approx(np.log(MALLET))


def test_a_word_of_the_device_is_its_own_figure() -> None:
    plain = case(place=setting(holding={"tightness": "fingers"}))
    force = squeeze(plain, believed())
    assert force is not None and float(np.median(force)) == pytest.approx(200.0, rel=0.1)
    assert squeeze(case(place=setting(holding={"tightness": "arm on a 150 mm handle"})),
                   Belief.of(columns(), rows=ROWS)) is None, "nobody says how its screw is"


def test_a_mallet_is_less_sure_than_an_arm_of_the_library() -> None:
    arm, mallet = (np.log(np.asarray(squeeze(vise(text), believed(np.exp(HAND_SD))))) for text in (
        "arm on a 150 mm handle", "mallet on a 150 mm handle"))
    assert arm.std() == pytest.approx(HAND_SD, rel=0.1) and mallet.std() == pytest.approx(np.log(2.0), rel=0.1)


def test_the_force_that_a_sheet_tells() -> None:
    device = vise("torque wrench at 20 N m").shop.devices["vise"]
    # 20 N m, 2 pi of it a turn, a fifth of that at the jaw over 4 mm
    assert book_force(device, "torque wrench at 20 N m") == pytest.approx(20.0 * 2.0 * np.pi * 0.2 / 0.004)
    assert book_force(shop().devices["vise"], "arm") == 8000.0
    assert book_force(shop().devices["vise"], "torque wrench at 20 N m") is None
    assert book_force(device, "a good heave") is None
