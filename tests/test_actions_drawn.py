"""The drawings behind the card: there for what has them, told in words where there is none."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from firstoff import actions, actions_drawn
from firstoff.belief import Belief
from firstoff.dryrun.result import Result
from firstoff.errors import NameUnknown

TOP = "block-top-rough"


@pytest.fixture(scope="module")
def checked(planned_block: Path) -> Result:
    """The block, checked."""
    return actions.check(planned_block)


@pytest.fixture(scope="module")
def belief(checked: Result, planned_block: Path) -> Belief:
    """What is believed in its shop."""
    return actions_drawn.figures(checked, planned_block)


def texts(svg: str | None) -> list[str]:
    assert svg is not None
    return [element.text or "" for element in ElementTree.fromstring(svg).iter() if element.tag.endswith("text")]


def test_a_size_has_its_way(checked: Result, belief: Belief) -> None:
    assert any(text.startswith("height: ") for text in texts(actions_drawn.size_way(checked, "height", belief)))
    with pytest.raises(NameUnknown, match="no limit 'elephant'"):
        actions_drawn.size_way(checked, "elephant", belief)


def test_a_setting_has_its_contacts(checked: Result, belief: Belief, planned_block: Path) -> None:
    views = actions.draw(checked, planned_block)
    name = checked.route.operations[TOP].setting
    svg, words = actions_drawn.contacts(checked, name, views[name], belief)
    assert any("moving jaw" in text for text in texts(svg))
    assert any("pushes with up to" in text for text in words)
    with pytest.raises(NameUnknown, match="no setting"):
        actions_drawn.contacts(checked, "elephant", (), belief)


def test_an_operation_has_its_map(checked: Result, belief: Belief) -> None:
    assert any(TOP in text for text in texts(actions_drawn.singing(checked, TOP, belief)))
    with pytest.raises(NameUnknown, match="no operation"):
        actions_drawn.singing(checked, "elephant", belief)


def test_no_program_has_no_notes(checked: Result) -> None:
    assert actions_drawn.program_notes(checked, TOP) == []
