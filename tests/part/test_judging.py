"""Each class is what its name says, by parts cut to be just that; scores count faces and parts."""

from __future__ import annotations

import importlib.util
import sys
from collections import Counter
from types import ModuleType

import pytest

from firstoff.part import features, judging
from tests.part.models import ROOT
from tests.part.test_topology import faces_and_edges


@pytest.fixture(scope="module")
def made() -> ModuleType:
    """The script that makes labelled cubes."""
    spec = importlib.util.spec_from_file_location("made_parts", ROOT / "scripts" / "made_parts.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module      # its dataclasses look themselves up
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("kind", range(11))
def test_one_feature_alone_is_of_its_class(made: ModuleType, kind: int) -> None:
    """Six draws each, whichever way they are turned."""
    import random

    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    from tests.part import models

    for seed in range(6):
        prism = made._KINDS[kind](random.Random(seed))
        shape = BRepAlgoAPI_Cut(models.box(10, 10, 10), made._solid(prism)[0]).Shape()
        faces, edges = faces_and_edges(shape)
        by_number = {face.number: face for face in faces}
        classes = {judging.class_of(f, by_number) for f in features.recognise(faces, edges)}
        assert classes == {"stock", prism.name}, (seed, prism)


def test_cubes_with_two_or_three_features_are_mostly_understood(made: ModuleType) -> None:
    scores = list(made.judged(0, 12, 3))
    assert judging.agreement(scores) > 0.9
    assert sum(there for _, there in judging.recall(scores).values()) == sum(len(s.pairs) for s in scores)


def test_scores_count_faces_and_whole_parts() -> None:
    right = judging.Score("a", (("stock", "stock"), ("chamfer", "chamfer")))
    half = judging.Score("b", (("stock", "stock"), ("chamfer", "stock")))
    assert judging.agreement([right, half]) == 0.75
    assert judging.wholly_right([right, half]) == 0.5
    assert judging.recall([right, half]) == {"chamfer": (1, 2), "stock": (2, 2)}


def test_classes_are_sixteen_and_differ() -> None:
    assert len(judging.CLASSES) == 16 and max(Counter(judging.CLASSES).values()) == 1
