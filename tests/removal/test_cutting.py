"""Cutting against closed forms: heights, volumes, engagement; nothing lost, in one go or in chunks."""

from __future__ import annotations

import math
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstoff.program.reading import read
from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import Cutting, cut
from firstoff.removal.moves import Doubt, Kind, joined, moves_of
from firstoff.removal.stock import PART, Stock
from firstoff.removal.windows import Flag, Windows
from firstoff.removal.windows import joined as joined_windows
from tests.published import agrees
from tests.removal.paths import CUTTERS, along, arc, envelope, tops

SIX = Cutter.end_mill(6.0)


def random_path(kind: str, seed: int) -> list[tuple[float, float, float]]:
    """A few lines one after the other, level, up, down, or both; or many short ones."""
    rng = np.random.default_rng(seed)
    points = [(2.5, 3.0, 4.0)]
    for _ in range(12 if kind == "short" else 3):
        length = 0.15 if kind == "short" else rng.uniform(1.0, 3.0)
        angle, (x, y, z) = rng.uniform(-0.6, 0.6), points[-1]
        up = {"level": 0.0, "up": rng.uniform(0.1, 0.8), "down": -rng.uniform(0.1, 0.8),
              "mixed": rng.uniform(-1.0, 1.0), "short": rng.uniform(-0.03, 0.02)}[kind]
        points.append((x + length * math.cos(angle), y + length * math.sin(angle), z + up))
    return points


@pytest.mark.parametrize("kind", ["level", "up", "down", "mixed", "short"])
@pytest.mark.parametrize("name", CUTTERS)
def test_heights_are_those_of_the_envelope(name: str, kind: str) -> None:
    """Each cell that the cutter covers whole: not above where it was covered whole, nor below where its middle was.
    """
    cutter, points, stock = CUTTERS[name], random_path(kind, len(name)), Stock.block((12.0, 8.0, 6.0))
    before = stock.volume
    windows = cut(stock, along(*points), cutter)
    middle, whole, near = envelope(stock, cutter, points, 60 if kind == "short" else 500)
    certain = (stock.rods[PART] == 0.0) & (tops(stock) > 0.0) & (near < cutter.radius - 0.0708)
    above = tops(stock)[certain] - np.minimum(whole, 6.0)[certain]
    below = np.minimum(middle, 6.0)[certain] - tops(stock)[certain]
    assert certain.sum() > 500
    assert (above > 0.001).mean() < 0.003 and (below > 0.002).mean() < 0.001     # the trial goes in steps
    assert windows.volume.sum() == pytest.approx(before - stock.volume, rel=1e-6)


@pytest.mark.parametrize("name", CUTTERS)
def test_engagement_sums_to_the_volume(name: str) -> None:
    """By side and by end, to half a per cent of what each window removes in all."""
    stock = Stock.block((30.0, 20.0, 6.0))
    windows = cut(stock, along((5, 5, 5.0), (25, 5, 4.5), (25, 7, 4.8), (5, 7, 4.8)), CUTTERS[name])
    assert windows.slices.volume.sum() + windows.floor.sum() == pytest.approx(windows.volume.sum(), rel=0.005)
    assert windows.slices.volume.sum() > 0.5 * windows.volume.sum()


def test_slot() -> None:
    stock = Stock.block((60.0, 30.0, 10.0))
    cut(stock, along((10, 15, 7.5), (50, 15, 7.5)), SIX)
    agrees("removal", "slot 40 × 6 × 2.5 with round ends", "own", 2.5 * (40 * 6 + math.pi * 9.0),
           60 * 30 * 10 - stock.volume, "mm3", within=0.002)


def test_ramp() -> None:
    stock = Stock.block((60.0, 30.0, 10.0))
    cut(stock, along((10, 15, 10.0), (40, 15, 7.0)), SIX)
    agrees("removal", "ramp 1 in 10 down to 3 mm, 30 mm long, 6 mm cutter", "own", ramp(30.0, 3.0, 0.1),
           60 * 30 * 10 - stock.volume, "mm3", within=0.002)


def ramp(length: float, radius: float, slope: float) -> float:
    """Volume of a flat disc swept down along a line, exactly: across the path, each strip is cut to where the chord
    leaves it."""
    across = np.linspace(-radius, radius, 20001)
    half = np.sqrt(np.maximum(radius**2 - across**2, 0.0))
    # heights along a strip: slope × (s + half) from s = -half up to length - half, then full depth over 2 × half
    strip = 0.5 * slope * length**2 + slope * length * 2.0 * half
    return float(np.trapezoid(strip, across))


def test_ball_nosed_valley() -> None:
    stock = Stock.block((60.0, 30.0, 10.0))
    cut(stock, along((-5, 15, 8.0), (65, 15, 8.0)), Cutter.ball(6.0))
    half = math.acos(1.0 / 3.0)
    section = 9.0 * (half - math.sin(half) * math.cos(half))
    agrees("removal", "valley of a 6 mm ball, 2 mm deep", "own", 60.0 * section, 60 * 30 * 10 - stock.volume, "mm3",
           within=0.002)


def test_circular_pocket() -> None:
    stock = Stock.block((40.0, 40.0, 10.0))
    rings = [arc((20 + r, 20, 6.0), (20 + r, 20, 6.0), (20, 20, 6.0)) for r in (2.5, 5.0, 7.5, 9.0)]
    cut(stock, moves_of(rings), SIX)
    agrees("removal", "round pocket 24 × 4 in rings of a 6 mm cutter", "own", math.pi * 144.0 * 4.0,
           40 * 40 * 10 - stock.volume, "mm3", within=0.002)


def test_helical_bore() -> None:
    stock = Stock.block((30.0, 30.0, 10.0))
    turns = [arc((17, 15, 10 - 0.8 * k), (17, 15, 9.2 - 0.8 * k), (15, 15, 0), line=k) for k in range(5)]
    cut(stock, moves_of([*turns, arc((17, 15, 6.0), (17, 15, 6.0), (15, 15, 0), line=9)]), SIX)
    agrees("removal", "bore 10 × 4 by a helix of a 6 mm cutter", "own", math.pi * 25.0 * 4.0,
           30 * 30 * 10 - stock.volume, "mm3", within=0.002)


@pytest.mark.parametrize("angle", [0.0, 12.0, 20.9, 37.0, 45.0, 71.0, 90.0])
@pytest.mark.parametrize("width", [0.3, 1.0, 3.0])
def test_windows_of_a_side_cut(angle: float, width: float) -> None:
    """On oblique and straight cuts at random offsets to the grid: volume to 1 %, entry to 0.3°, from 0.3 mm width."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    for seed in range(3):
        offset = np.random.default_rng(seed).uniform(-0.3, 0.3, 2)

        def pass_at(across: float, from_middle: np.ndarray = offset) -> tuple[tuple[float, ...], ...]:
            x, y = 20.0 + from_middle[0] - across * s, 20.0 + from_middle[1] + across * c
            return (x - 12 * c, y - 12 * s, 7.0), (x + 12 * c, y + 12 * s, 7.0)

        stock = Stock.block((40.0, 40.0, 10.0))
        cut(stock, along(*pass_at(0.0)), SIX)
        windows = cut(stock, along(*pass_at(-width)), SIX)
        inner = slice(4, -4)        # away from the ends of the first pass
        assert windows.volume[inner] == pytest.approx(width * 3.0 * (windows.s1 - windows.s0)[inner], rel=0.01)
        assert np.degrees(windows.entry[inner]) == pytest.approx(math.degrees(math.acos(width / 3.0 - 1.0)), abs=0.3)
        assert np.degrees(windows.exit[inner]) == pytest.approx(180.0, abs=0.3)
        assert windows.depth[inner] == pytest.approx(3.0, abs=1e-5)


@pytest.mark.parametrize("width", [0.3, 1.0])
def test_windows_along_a_face_of_the_block(width: float) -> None:
    """The vise case: the first pass along a raw side, conventional and climb."""
    for left, spindle in ((True, 1000.0), (False, 1000.0), (True, -1000.0)):
        stock = Stock.block((40.0, 20.0, 10.0))
        y = -3.0 + width if left else 23.0 - width
        windows = cut(stock, along((-5, y, 8.0), (45, y, 8.0), spindle=spindle), SIX)
        inner = slice(8, -8)
        edge = math.acos(1.0 - width / 3.0)
        entry, leave = (0.0, edge) if left == (spindle > 0) else (math.pi - edge, math.pi)
        assert windows.volume[inner] == pytest.approx(width * 2.0, rel=0.01)
        assert np.degrees(windows.entry[inner]) == pytest.approx(math.degrees(entry), abs=0.3)
        assert np.degrees(windows.exit[inner]) == pytest.approx(math.degrees(leave), abs=0.3)


def test_a_rib_between_two_slots_is_met_in_the_middle() -> None:
    stock = Stock.block((40.0, 30.0, 10.0))
    cut(stock, along((-4, 8, 7.0), (44, 8, 7.0)), SIX)
    cut(stock, along((-4, 16, 7.0), (44, 16, 7.0)), SIX)
    windows = cut(stock, along((-4, 12, 7.0), (44, 12, 7.0)), SIX)
    inner = slice(8, -8)
    assert np.degrees(windows.entry[inner]) == pytest.approx(math.degrees(math.acos(1.0 / 3.0)), abs=0.3)
    assert np.degrees(windows.exit[inner]) == pytest.approx(math.degrees(math.acos(-1.0 / 3.0)), abs=0.3)


def test_chip_and_time_follow_from_feed_and_speed() -> None:
    stock = Stock.block((40.0, 20.0, 10.0))
    windows = cut(stock, along((-4, 10, 8.0), (44, 10, 8.0), feed=5.0, spindle=2 * math.pi * 50.0), SIX)
    assert windows.feed_per_tooth == pytest.approx(5.0 / (50.0 * 2))
    inner = slice(windows.slices.offsets[10], windows.slices.offsets[-10])      # the last ones leave by the far side
    assert windows.slices.chip_max[inner] == pytest.approx(0.05)
    assert windows.seconds.sum() == pytest.approx(48.0 / 5.0)
    assert windows.direction == pytest.approx(np.tile([1.0, 0.0, 0.0], (len(windows), 1)))
    given = cut(Stock.block((40.0, 20.0, 10.0)), along((-4, 10, 8.0), (44, 10, 8.0)), SIX, seconds=np.array([7.0]))
    assert given.seconds.sum() == pytest.approx(7.0)


def test_a_ball_is_engaged_where_it_is_as_wide_as_that() -> None:
    """A ball half sunk in a slot: at each height it is engaged all along its front, with a chip as steep as it."""
    stock = Stock.block((40.0, 20.0, 10.0))
    windows = cut(stock, along((-4, 10, 7.0), (44, 10, 7.0)), Cutter.ball(6.0))
    w = len(windows) // 2
    own = slice(*windows.slices.offsets[w:w + 2])
    slices = windows.slices
    assert slices.low[own][0] == pytest.approx(0.0, abs=1e-4) and slices.high[own][-1] == pytest.approx(3.0, abs=1e-3)
    assert (slices.exit - slices.entry)[own][1:] == pytest.approx(np.pi, abs=0.6)
    middle = 0.5 * (slices.low + slices.high)[own]
    steep = np.sqrt(9.0 - (3.0 - middle) ** 2) / 3.0
    assert slices.chip_max[own] == pytest.approx(windows.feed_per_tooth[w] * steep, rel=1e-6)


def test_plunge_and_floor_are_no_engagement() -> None:
    stock = Stock.block((40.0, 20.0, 10.0))
    down = cut(stock, along((20, 10, 12.0), (20, 10, 7.0)), SIX)
    assert down.floor.sum() == pytest.approx(down.volume.sum()) == pytest.approx(math.pi * 9 * 3, rel=0.002)
    assert (down.width == 0.0).all() and len(down.slices) == 0
    assert Flag(int(down.flags[-1])) & (Flag.PLUNGE | Flag.FLOOR) == Flag.PLUNGE | Flag.FLOOR
    level = cut(stock, along((20, 10, 7.0), (40, 10, 7.0)), SIX)
    assert level.floor == pytest.approx(0.0, abs=1e-6) and (level.flags & Flag.PLUNGE == 0).all()


def test_a_ramp_down_in_its_own_slot_is_floor() -> None:
    stock = Stock.block((60.0, 20.0, 10.0))
    cut(stock, along((-5, 10, 8.0), (65, 10, 8.0)), SIX)
    windows = cut(stock, along((10, 10, 8.0), (50, 10, 6.0)), SIX)
    assert windows.floor.sum() == pytest.approx(0.05 * 40.0 * math.pi * 9.0, rel=0.01)     # as deep as it leaves
    assert windows.volume.sum() == pytest.approx(ramp(40.0, 3.0, 0.05), rel=0.002)


def test_a_rapid_in_material_is_flagged_and_stands_alone() -> None:
    stock = Stock.block((40.0, 20.0, 10.0))
    fast = along((10, 10, 8.0), (30, 10, 8.0), kind=Kind.RAPID, feed=0.0)
    moves = joined([along((-6, 10, 8.0), (10, 10, 8.0)), fast])
    windows = cut(stock, moves, SIX)
    rapid = (windows.flags & Flag.RAPID) != 0
    assert windows.volume[rapid].sum() == pytest.approx(20 * 12.0, rel=0.01)
    assert windows.volume[~rapid].sum() == pytest.approx(10 * 12.0 + 0.5 * math.pi * 9 * 2, rel=0.01)


def test_air_is_one_window_and_no_part_of_the_next() -> None:
    stock = Stock.block((40.0, 20.0, 10.0))
    windows = cut(stock, along((-40, 10, 8.0), (20, 10, 8.0)), SIX)
    assert windows.volume[0] == 0.0 and windows.s1[0] >= 36.0 and (windows.volume[1:] > 0.0).all()


def test_a_sharp_turn_begins_a_window_that_says_so() -> None:
    stock = Stock.block((40.0, 40.0, 10.0))
    windows = cut(stock, along((-5, 10, 8.0), (20.3, 10, 8.0), (20.3, 30, 8.0)), SIX)
    turn = np.flatnonzero(windows.corner)
    assert len(turn) == 1 and windows.line[turn[0]] == 2 and windows.line[turn[0] - 1] == 1


def test_a_doubtful_move_cuts_nothing() -> None:
    moves = along((-5, 10, 8.0), (20, 10, 8.0), (45, 10, 8.0))
    doubt = moves.doubt.copy()
    doubt[1] = int(Doubt.PATH)
    stock = Stock.block((40.0, 20.0, 10.0))
    assert set(cut(stock, replace(moves, doubt=doubt), SIX).line.tolist()) == {1}


def test_times_belong_to_their_moves_where_some_only_stand() -> None:
    """A line of a drilling cycle makes moves and stands: each keeps its own time."""
    moves = along((20, 10, 12), (20, 10, 9), (20, 10, 12))
    kind, line = moves.kind.copy(), np.ones(2, dtype=np.int64)
    kind[0] = Kind.STAND
    windows = cut(Stock.block((40.0, 20.0, 10.0)), replace(moves, kind=kind, line=line), SIX,
                  seconds=np.array([5.0, 0.25]))
    assert windows.seconds.sum() == pytest.approx(0.25)


def test_chunks_change_nothing() -> None:
    """In one go or move by move: the same stock, the same windows."""
    points = [(3 + 0.13 * k, 10 + 2 * math.sin(0.2 * k), 8.0 + 0.3 * math.sin(0.31 * k)) for k in range(250)]
    moves = along(*points)
    one, other = Stock.block((40.0, 20.0, 10.0)), Stock.block((40.0, 20.0, 10.0))
    whole = cut(one, moves, CUTTERS["rounded"])
    work = Cutting(other, CUTTERS["rounded"])
    parts = [w for k in range(len(moves)) for w in work.along(moves.take(slice(k, k + 1)))]
    streamed: Windows = joined_windows([*parts, work.rest()])
    assert (one.rods == other.rods).all()
    assert streamed.volume == pytest.approx(whole.volume) and streamed.entry == pytest.approx(whole.entry)
    assert streamed.slices.offsets.tolist() == whole.slices.offsets.tolist()


@pytest.mark.parametrize("cell", [0.2, 0.1, 0.05])
def test_what_is_cut_does_not_depend_on_the_cell(cell: float) -> None:
    stock = Stock.block((20.0, 20.0, 10.0), cell=cell)
    cut(stock, along((5, 5, 8.0), (15, 6, 7.5), (14, 15, 7.5)), CUTTERS["rounded"])
    fine = Stock.block((20.0, 20.0, 10.0), cell=0.04)
    cut(fine, along((5, 5, 8.0), (15, 6, 7.5), (14, 15, 7.5)), CUTTERS["rounded"])
    assert 4000.0 - stock.volume == pytest.approx(4000.0 - fine.volume, rel=0.002)


def test_against_a_boolean_of_the_solid_kernel(tmp_path: Path) -> None:
    """A flat slot with a bend, and a ball's valley across it, taken off a block by the geometry kernel."""
    from firstoff.part import build
    from tests.part import models

    solid = models.without(
        models.box(40, 30, 10), models.box(20, 6, 4, (8, 7, 7)),
        models.bar((8, 10, 7), (0, 0, 1), 6, 4), models.bar((28, 10, 7), (0, 0, 1), 6, 4),
        models.box(6, 10, 4, (25, 10, 7)), models.bar((28, 20, 7), (0, 0, 1), 6, 4),
        models.bar((18, -1, 9), (0, 1, 0), 6, 32), models.box(6, 32, 4, (15, -1, 9)))
    part = build.digest(models.write(solid, tmp_path / "cut.step"))
    stock = Stock.block((40.0, 30.0, 10.0))
    cut(stock, along((8, 10, 7), (28, 10, 7), (28, 20, 7)), SIX)
    cut(stock, along((18, -5, 6.0), (18, 35, 6.0)), Cutter.ball(6.0))
    agrees("removal", "slot with a bend and a ball's valley, against a boolean of the solid kernel", "own",
           40 * 30 * 10 - part.volume, 40 * 30 * 10 - stock.volume, "mm3", within=0.002)


def peak_of(path: Path, text: str) -> int:
    """Bytes that reading and cutting a program take at most, its windows looked at and let go."""
    path.write_text(text)
    stock = Stock.block((40.0, 20.0, 10.0), cell=0.5)
    work = Cutting(stock, SIX)
    tracemalloc.start()
    removed = 0.0
    for moves in read(path).chunks():
        for windows in work.along(moves):
            removed += float(windows.volume.sum())
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert removed > 0.0
    return peak


def test_memory_does_not_grow_with_the_program(tmp_path: Path) -> None:
    """A program thrice as long takes no more room: moves and windows are streamed, once the reader's own is full."""
    rows = [f"G1 X{x / 10:.2f} Y{4 + 0.5 * (k % 24):.2f} F600" for k in range(60) for x in range(20, 380)]
    head, tail = "G21 G90 G94 S3000 M3\nG0 X2 Y4 Z8\n", "\nM30\n"
    peak_of(tmp_path / "warm.nc", head + "\n".join(rows[:400]) + tail)
    short, long = (peak_of(tmp_path / f"{many}.nc", head + "\n".join(rows * many) + tail) for many in (6, 18))
    assert long < 1.05 * short
