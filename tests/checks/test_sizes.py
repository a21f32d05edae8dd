from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._makers import Broken
from firstoff.checks._sizes import Spreads, deep, sized, spreads
from firstoff.job.models import Limit
from firstoff.part.shapes import Face, Feature
from firstoff.stack.chain import worst_case
from tests.checks.builders import HEIGHT, WIDTH, belief, block, case, setting
from tests.checks.size_cases import BOTH_WALLS, TURNED, made, op
from tests.published import agrees


def together(
    ops: dict[str, dict[str, Any]], *between: str, believed: Belief | None = None, **changed: Any
) -> Spreads:
    this, limit = made(ops, *between, **changed)
    believed = believed or belief()
    found = sized(this, limit, believed)
    return spreads(found, believed, (found.middle, *found.corners))


def test_both_walls_of_one_setting_share_the_clamping() -> None:
    found = together(BOTH_WALLS, "-Y", "+Y")
    assert set(found.labels) == {"the repeat of the axes", "lost motion", "the radius of the cutter"}
    radius = found.lines[0, found.labels.index("the radius of the cutter")]
    assert radius == pytest.approx(-2.0), "a thicker cutter takes off both sides"


def test_turned_over_counts_seat_and_zero() -> None:
    found = together(TURNED, "-Z", "+Z")
    assert {"how the part sits", "setting zero in z", "lift by the jaw"} <= set(found.labels)
    assert found.lines.shape[0] == 5, "the middle and four corners"


def test_error_of_travel_grows_with_the_distance() -> None:
    believed = belief(machine_mill__axis_scale=0.0)
    scale = believed.value("machine:mill", "axis_scale")
    for pair, ops, size in ((("-Y", "+Y"), BOTH_WALLS, WIDTH), (("-Z", "+Z"), TURNED, HEIGHT)):
        with_scale = together(ops, *pair, believed=believed).offset
        without = together(ops, *pair, believed=without_scale()).offset
        assert np.abs(with_scale - without)[:, 0] == pytest.approx(np.abs(scale) * size * 1e-3)


def without_scale() -> Belief:
    full = belief()
    return replace(full, columns={key: c for key, c in full.columns.items() if key[1] != "axis_scale"})


def test_the_order_of_the_faces_does_not_matter() -> None:
    one, two = (together(BOTH_WALLS, *pair) for pair in (("-Y", "+Y"), ("+Y", "-Y")))
    assert np.allclose(one.variance[:, 0], two.variance[:, 0]) and np.allclose(one.offset[:, 0], two.offset[:, 0])


def test_material_left_on_both_sides_makes_an_outer_size_larger() -> None:
    soft, stiff = (together(BOTH_WALLS, "-Y", "+Y", believed=belief(
        machine_mill__stiffness_x=k, machine_mill__stiffness_y=k)).offset[:, 0] for k in (1e6, 1e9))
    assert np.median(soft) > np.median(stiff)


def test_what_cannot_be_followed() -> None:
    with pytest.raises(Broken, match="no operation"):
        together(TURNED, "-X", "+X")
    with pytest.raises(Broken, match="by hand"):
        together({"top": op(10, "stock-6", role="file"), "under": op(20, "stock-5", "second")}, "-Z", "+Z")


def test_links_add_with_their_gains() -> None:
    single = together(BOTH_WALLS, "-Y", "+Y")
    once = together(BOTH_WALLS, "-Y", "+Y", kind="chain", gains=[2.0])
    none = together(BOTH_WALLS, "-Y", "+Y", "-Y", "+Y", kind="chain", gains=[2.0, -2.0])
    assert np.allclose(once.variance[:, 0], 4.0 * single.variance[:, 0])
    assert np.allclose(once.offset[:, 0], 2.0 * single.offset[:, 0])
    assert np.allclose(none.variance, 0.0) and np.allclose(none.offset, 0.0), "to and fro is nothing"


def test_against_assemblies_drawn_at_random() -> None:
    """The sum of squares is what drawing every source a hundred thousand times gives."""
    found = together(TURNED, "-Z", "+Z")
    draws = np.random.default_rng(3).standard_normal((100_000, len(found.labels)))
    sizes = (draws * np.median(found.sd, axis=1)) @ found.lines.T
    expected = np.sqrt(found.lines**2 @ np.median(found.sd, axis=1) ** 2)
    assert sizes.std(axis=0) == pytest.approx(expected, rel=0.02)


def test_a_depth_is_counted_from_the_face_over_its_floor() -> None:
    floor = Face(6, 0, "plane", 600.0, (30.0, 20.0, 12.0), (0.0, 0.0, 1.0), (15.0, 10.0, 12.0), (45.0, 30.0, 12.0))
    part = block(Feature("pocket-1", "pocket", (6,), size={"depth": 8.0}), faces=(floor,))
    ops = {"top": op(10, "stock-6", role="face_finish"), "pocket": op(20, "pocket-1", role="pocket_finish")}
    this, limit = made(ops, "face 6", kind="depth", size="8 mm")
    there = replace(this, parts={"block": part})
    as_depth = deep(there, limit, belief())
    plain = limit.model_copy(update={"kind": "distance", "between": ("face 5", "face 6")})
    assert as_depth.middle == sized(there, plain, belief()).middle and as_depth.late == "pocket"
    with pytest.raises(Broken, match="nothing lies over"):
        deep(there, limit.model_copy(update={"between": ("+Z",)}), belief())


#: The slotted block of a lecture [in]: A the top, located on the raw bottom; B the slot from below, located on A; C
#: the top once more, located as A, or none of it. What remains over the slot is off at worst by so much.
SLOTTED = [("first", 0.010, True, 0.014), ("second", 0.006, True, 0.010), ("third", 0.010, False, 0.010)]


@pytest.mark.parametrize(("name", "slot", "again", "published"), SLOTTED)
def test_settings_of_a_slotted_block_make_its_chain(name: str, slot: float, again: bool, published: float) -> None:
    """Nobody writes the chain: it follows from what each setting rests on; each tolerance is its operation's."""
    floor = Face(6, 0, "plane", 600.0, (30.0, 20.0, 10.0), (0.0, 0.0, -1.0), (0.0, 10.0, 10.0), (60.0, 30.0, 10.0))
    part = block(Feature("slot-1", "slot", (6,), size={"depth": 10.0}), faces=(floor,))
    up = setting(zero={"x": "-X", "y": "-Y", "z": "-Z"})
    over = setting(up=[0, 0, -1], holding={"rest": "+Z"}, datums=["+Z", "-Y", "-X"],
                   zero={"x": "-X", "y": "-Y", "z": "+Z"})
    ops = {"A": op(10, "stock-6", "first", role="face_finish"),
           "B": op(20, "slot-1", "second", role="pocket_finish")}
    if again:
        ops["C"] = op(30, "stock-6", "third", role="face_finish")
    limit = Limit.model_validate({"kind": "distance", "part": "block", "between": ["+Z", "face 6"],
                                  "tolerance": "±0.25 mm"})
    settings = {"first": up, "second": over, **({"third": up} if again else {})}
    this = replace(case("limit", "web", ops=ops, settings=settings, limit=limit), parts={"block": part})
    line = sized(this, limit, belief()).middle
    each = {"A": 0.002, "B": slot, "C": 0.002}
    adds = [sum(abs(size) for key, size in line.items() if key.startswith(f"repeat:{one}:")) for one in each]
    off = float(worst_case([adds], np.array(list(each.values())))[0])
    assert not any(key.startswith("raw:") and abs(size) > 1e-9 for key, size in line.items()), "the bottom cancels"
    agrees("stack", f"slotted block, sequence {name}: as its settings make it, at worst", "stacklecture", published,
           off, "in", within=1e-9)


def test_a_chain_that_does_not_close_is_told() -> None:
    pair = ("-Y", "+Y", "-Y", "+Y")
    with pytest.raises(Broken, match="does not close: its links come to 0 mm in the models, and the job wants 5 mm"):
        together(BOTH_WALLS, *pair, kind="chain", gains=[1.0, -1.0], size="5 mm")
    both = together(BOTH_WALLS, *pair, kind="chain", gains=[1.0, 1.0], size=f"{2 * WIDTH} mm")
    assert both.lines.shape[0] == 1
    together(BOTH_WALLS, *pair, kind="chain", gains=[2.0, -1.0], size="5 mm")     # gains tell changes alone


def test_closed_form_against_a_million_blocks_with_their_real_angles() -> None:
    """A block on three uneven rests, faced level: exact planes against the linear form, at all four corners."""
    from firstoff.stack.chance import chance_out, joint_chance_out
    from firstoff.stack.torsor import located

    rng, count = np.random.default_rng(12), 1_000_000
    long, wide, high = 0.06, 0.04, 0.02
    rest = np.array([[0.005, 0.005, 0.0], [0.055, 0.005, 0.0], [0.03, 0.035, 0.0]])
    rise, repeat, half = 60e-6, 10e-6, 0.15e-3                  # wide, so that angles would show
    lifted = rng.normal(0.0, rise, (count, 3))
    cut = high + rng.normal(0.0, repeat, count)
    # the real plane of the rests through three points, its normal of length one: heights square to it
    a, b = rest[1] - rest[0], rest[2] - rest[0]
    first = np.stack([np.full(count, a[0]), np.full(count, a[1]), lifted[:, 1] - lifted[:, 0]], axis=1)
    second = np.stack([np.full(count, b[0]), np.full(count, b[1]), lifted[:, 2] - lifted[:, 0]], axis=1)
    normal = np.cross(first, second)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    corners = np.array([(x, y) for x in (0.0, long) for y in (0.0, wide)])
    out, thick = np.zeros(count, dtype=bool), []
    for x, y in corners:
        # thickness where the level cut meets the line square to the bottom at this corner
        bottom = lifted[:, 0] - (normal[:, 0] * (x - rest[0, 0]) + normal[:, 1] * (y - rest[0, 1])) / normal[:, 2]
        size = (cut - bottom) / normal[:, 2]
        thick.append(size)
        out |= np.abs(size - high) > half
    others = np.array([[0.01, 0.0, 0.01], [0.05, 0.0, 0.01], [0.0, 0.02, 0.01]])
    points = np.concatenate([rest, others])
    normals = np.array([[0.0, 0.0, -1.0]] * 3 + [[0.0, -1.0, 0.0]] * 2 + [[-1.0, 0.0, 0.0]])
    turn, shift = located(points, normals, np.eye(6))
    way = np.array([0.0, 0.0, 1.0])
    # a rest that stands higher lifts the part, against the outward normal: so much less comes off
    lines = np.array([[*(way @ (shift[:, k] + np.cross(turn[:, k], [x, y, 0.0])) for k in range(3)), 1.0]
                      for x, y in corners])
    sd = np.array([rise, rise, rise, repeat])
    shared = (lines * sd**2) @ lines.T
    assert np.sqrt(np.diag(shared)) == pytest.approx([float(np.std(size)) for size in thick], rel=0.005)
    ours = joint_chance_out(np.zeros((1, 4)), shared, np.full(4, -half), np.full(4, half))[0]
    assert ours == pytest.approx(float(out.mean()), rel=0.03)
    alone = chance_out(np.zeros(4), np.sqrt(np.diag(shared)), -half, half)
    assert alone == pytest.approx([float((np.abs(size - high) > half).mean()) for size in thick], rel=0.03)


def test_a_distance_that_the_model_has_otherwise_is_said() -> None:
    """A slip of the pen in the job, or another model: never told as a size that comes right."""
    this, limit = made(BOTH_WALLS, "-Y", "+Y", size="41 mm")
    with pytest.raises(Broken, match="the model has 40 mm there, and the job wants 41 mm"):
        sized(this, limit, belief())


def test_a_face_that_is_neither_flat_nor_round_has_no_one_place() -> None:
    this, limit = made(BOTH_WALLS, "-Y", "+Y")
    bent = tuple(replace(face, kind="free_form") if face.number == 3 else face for face in this.parts["block"].faces)
    loose = replace(this, parts={"block": replace(this.parts["block"], faces=bent)})
    wanted = limit.model_copy(update={"between": ("-Y", "face 3")})
    with pytest.raises(Broken, match="face 3 is neither flat nor round"):
        sized(loose, wanted, belief())
