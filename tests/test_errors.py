"""Every message says what is wrong, where, and what would be right."""

from __future__ import annotations

import pytest

from firstoff import errors
from firstoff.errors import FirstoffError, InputError, OutOfRange

ALL = [e for e in vars(errors).values() if isinstance(e, type) and issubclass(e, FirstoffError)]


@pytest.mark.parametrize("kind", ALL)
def test_a_message_has_place_fault_and_cure(kind: type[FirstoffError]) -> None:
    error = kind("there is no tool 'x'", where="job.toml, line 3", right="did you mean 'y'?")
    assert str(error) == "job.toml, line 3: there is no tool 'x' (did you mean 'y'?)"
    assert str(kind("it broke")) == "it broke"
    assert (error.what, error.where, error.right) == ("there is no tool 'x'", "job.toml, line 3", "did you mean 'y'?")


@pytest.mark.parametrize("kind", ALL)
def test_the_tree_at_the_top_of_the_file_is_whole(kind: type[FirstoffError]) -> None:
    assert errors.__doc__ is not None and kind.__name__ in errors.__doc__


def test_what_a_person_wrote_is_told_apart_from_what_physics_cannot() -> None:
    assert not issubclass(OutOfRange, InputError)
    assert issubclass(OutOfRange, ValueError)
