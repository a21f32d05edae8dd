"""ISO 286: published fits, the standard's own formulas, refusals."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.stack import _iso286 as tables
from firstoff.stack.fits import clearance, fit_of, limits_of
from tests.published import agrees


def width(grade: int, size: float) -> float:
    """Width of a grade: a hole H has all of it above nominal."""
    return limits_of(f"H{grade}", size).upper


BANDS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)

# ISO 286-2: least and greatest clearance [um].
FITS = [
    (10, "H7", "g6", 5, 29), (10, "H7", "h6", 0, 24), (10, "H7", "k6", -10, 14), (10, "H7", "p6", -24, 0),
    (10, "H8", "f7", 13, 50), (25, "H7", "g6", 7, 41), (25, "H7", "k6", -15, 19), (25, "H7", "p6", -35, -1),
    (25, "H8", "f7", 20, 74), (60, "H7", "g6", 10, 59), (60, "H7", "k6", -21, 28), (60, "H7", "p6", -51, -2),
    (60, "H8", "f7", 30, 106),
]


@pytest.mark.parametrize(("size", "hole", "shaft", "least", "most"), FITS)
def test_published_fits(size: int, hole: str, shaft: str, least: int, most: int) -> None:
    got = fit_of(hole, shaft, size / 1000)
    for word, published, ours in (("least", least, got[0]), ("greatest", most, got[1])):
        agrees("fits", f"{size} {hole}/{shaft}, {word} clearance", "iso286", published, ours * 1e6, "um", within=1e-6,
               absolute=True)


def test_sixty_h8_f7() -> None:
    hole, shaft = limits_of("H8", 0.060), limits_of("f7", 0.060)
    assert hole.lower == 0.0
    for what, published, ours in (("grade 8", 46.0, hole.upper), ("grade 7", 30.0, shaft.upper - shaft.lower),
                                  ("upper deviation of f", -30.0, shaft.upper)):
        agrees("fits", f"60 mm, {what}, from the formulas (ex. 9.4)", "sharma", published, ours * 1e6, "um",
               within=1.0, absolute=True)


def test_fit_arithmetic() -> None:
    fit = clearance(30.00e-3, 30.02e-3, 29.982e-3, 29.995e-3)
    for word, published, ours in (("least", 0.005, fit[0]), ("greatest", 0.038, fit[1])):
        agrees("fits", f"hole 30.00 to 30.02, shaft 29.982 to 29.995: {word} clearance (ex. 9.5)", "sharma",
               published, ours * 1e3, "mm", within=1e-6)


def test_a_bush_in_its_housing_and_on_its_shaft() -> None:
    # 100 H7/p6 and 50 H7/f7; printed as limits: 100.000 to 100.035, 100.037 to 100.059, 50.000 to 50.025
    for size, hole, shaft, least, most in ((100, "H7", "p6", -59, -2), (50, "H7", "f7", 25, 75)):
        fit = fit_of(hole, shaft, size / 1000)
        for word, published, ours in (("least", least, fit.least), ("greatest", most, fit.most)):
            agrees("fits", f"bush of {size} mm, {hole}/{shaft}: {word} clearance", "narayana2006", published,
                   ours * 1e6, "um", within=1e-6, absolute=True)


@pytest.mark.parametrize(("size", "code", "lower", "upper"), [
    (25, "H7", 0, 21), (10, "H10", 0, 58), (40, "C11", 120, 280), (10, "h9", -36, 0), (25, "h9", -52, 0),
    (40, "h11", -160, 0)])
def test_codes_of_a_book_of_machine_drawing(size: int, code: str, lower: int, upper: int) -> None:
    got = limits_of(code, size / 1000)
    for word, published, ours in (("lower", lower, got.lower), ("upper", upper, got.upper)):
        agrees("fits", f"{size} {code}, {word} deviation", "narayana2006", published, ours * 1e6, "um", within=1e-6,
               absolute=True)


def test_grade_14() -> None:
    # as printed in public tables
    for size, published in ((10, 0.36), (100, 0.87)):
        agrees("fits", f"grade 14 at {size} mm (table 1)", "iso286", published, width(14, size / 1000) * 1e3, "mm",
               within=1e-6)


@pytest.mark.parametrize(("grade", "units"), [(5, 7), (6, 10), (7, 16), (8, 25), (9, 40), (10, 64), (11, 100),
                                              (12, 160), (13, 250), (14, 400)])
def test_table_follows_the_formula_of_the_standard(grade: int, units: int) -> None:
    # i = 0.45 D^(1/3) + 0.001 D [um, mm], D the geometric mean of the band; the standard then rounds.
    # The first band (to 3 mm) is printed some 10 to 15 % wider than the formula, so it is not judged here.
    for low, high in itertools.pairwise(BANDS):
        d = (low * high) ** 0.5
        formula = units * (0.45 * d ** (1 / 3) + 0.001 * d)
        table = width(grade, high / 1000) * 1e6
        assert abs(table - formula) <= max(1.0, 0.05 * formula), (grade, high)


def test_the_two_finest_grades() -> None:
    """IT01 = 0.3 + 0.008 D, IT0 = 0.5 + 0.012 D [um, mm], rounded up; H01 is no H1."""
    for low, high in itertools.pairwise(BANDS):
        d = (low * high) ** 0.5
        for code, formula in (("01", 0.3 + 0.008 * d), ("0", 0.5 + 0.012 * d)):
            table = limits_of(f"H{code}", high / 1000).upper * 1e6
            assert abs(table - formula) <= max(0.25, 0.2 * formula), (code, high)
    assert limits_of("js0", 0.05) == pytest.approx((-0.5e-6, 0.5e-6)) and limits_of("h01", 0.05).lower == -0.6e-6
    assert limits_of("H01", 0.05).upper < limits_of("H0", 0.05).upper < limits_of("H1", 0.05).upper


@given(st.sampled_from(BANDS), st.integers(5, 14))
def test_the_upper_end_belongs_to_its_band(end: int, grade: int) -> None:
    # 10 mm is of the band 6 to 10, whichever way its metres were rounded.
    inside = width(grade, 0.999 * end / 1000)
    assert width(grade, end * 0.001) == width(grade, end / 1000) == inside
    if end < 500:
        assert width(grade, 1.001 * end / 1000) > inside


def test_k_has_no_deviation_from_grade_8_on() -> None:
    # ISO 286-1: the lower deviation of k is nil outside IT4 to IT7.
    assert limits_of("k8", 0.010) == pytest.approx((0.0, 22e-6))
    assert limits_of("k7", 0.010) == pytest.approx((1e-6, 16e-6))


#: classes as printed in tables that handbooks share: size [mm], class, lower and upper deviation [um]
PRINTED = [
    (10, "N7", -19, -4), (25, "P7", -35, -14), (25, "K7", -15, 6), (25, "M7", -21, 0), (25, "S7", -48, -27),
    (60, "R7", -60, -30), (10, "N9", -36, 0), (40, "E9", 50, 112), (20, "D10", 65, 149), (50, "C11", 130, 290),
    (20, "m6", 8, 21), (20, "n6", 15, 28), (20, "r6", 28, 41), (20, "s6", 35, 48), (20, "u6", 41, 54),
    (25, "t6", 41, 54), (20, "js6", -6.5, 6.5), (20, "j6", -4, 9), (20, "J7", -9, 12), (2.5, "H6", 0, 6),
    (300, "M6", -41, -9), (20, "e8", -73, -40), (20, "c11", -240, -110), (8, "fg6", -17, -8), (700, "H7", 0, 80),
    (700, "g6", -74, -24), (150, "x6", 280, 305), (100, "zc8", 585, 639), (15, "v6", 39, 50), (5, "K7", -9, 3),
]


@pytest.mark.parametrize(("size", "code", "lower", "upper"), PRINTED)
def test_printed_classes(size: float, code: str, lower: float, upper: float) -> None:
    got = limits_of(code, size / 1000)
    for word, published, ours in (("lower", lower, got.lower), ("upper", upper, got.upper)):
        agrees("fits", f"{code} at {size} mm, {word} deviation (recalled)", "iso286", published, ours * 1e6, "um",
               within=0.01, absolute=True)


#: ISO 286-1, fundamental deviation of holes in grades above IT7: upper deviation [um], by the upper end of the band
ENDS = (3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225)
HOLES = {
    "P": (6, 12, 15, 18, 18, 22, 22, 26, 26, 32, 32, 37, 37, 43, 43, 43, 50, 50),
    "R": (10, 15, 19, 23, 23, 28, 28, 34, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80),
    "S": (14, 19, 23, 28, 28, 35, 35, 43, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130),
    "T": (41, 48, 54, 66, 75, 91, 104, 122, 134, 146, 166, 180),
    "U": (18, 23, 28, 33, 33, 41, 48, 60, 70, 87, 102, 124, 144, 170, 190, 210, 236, 258),
    "V": (39, 47, 55, 68, 81, 102, 120, 146, 172, 202, 228, 252, 284, 310),
    "X": (20, 28, 34, 40, 45, 54, 64, 80, 97, 122, 146, 178, 210, 248, 280, 310, 350, 385),
    "Y": (63, 75, 94, 114, 144, 174, 214, 254, 300, 340, 380, 425, 470),
    "Z": (26, 35, 42, 50, 60, 73, 88, 112, 136, 172, 210, 258, 310, 365, 415, 465, 520, 575),
    "ZA": (32, 42, 52, 64, 77, 98, 118, 148, 180, 226, 274, 335, 400, 470, 535, 600, 670, 740),
    "ZB": (40, 50, 67, 90, 108, 136, 160, 200, 242, 300, 360, 445, 525, 620, 700, 780, 880, 960),
    "ZC": (60, 80, 97, 130, 150, 188, 218, 274, 325, 405, 480, 585, 690, 800, 900, 1000, 1150, 1250),
}


@pytest.mark.parametrize("letter", sorted(HOLES))
def test_holes_of_the_standard(letter: str) -> None:
    """Read from the standard's table, all of it up to 225 mm; the row is that of 40 to 50 mm."""
    for end, below in zip(ENDS[-len(HOLES[letter]):], HOLES[letter], strict=True):
        upper = limits_of(f"{letter}9", end / 1000).upper * 1e6
        assert upper == pytest.approx(-below, abs=1e-6), (letter, end)
        if end == 50:
            agrees("fits", f"{letter}9 over 40 up to 50 mm, upper deviation (table of holes)", "iso286", -below,
                   upper, "um", within=0.01, absolute=True)


@pytest.mark.parametrize(("code", "size", "published"), [
    ("A13", 340, 2090), ("E8", 100, 126), ("R10", 25, -28), ("f9", 300, -186)])
def test_what_the_standard_had_to_correct(code: str, size: int, published: int) -> None:
    """Four misprints of the tables of 1988: who copied them has them still."""
    found = limits_of(code, size / 1000)
    agrees("fits", f"{code} at {size} mm, as corrected in 2006", "iso286cor", published,
           (found.upper if code[0].isupper() else found.lower) * 1e6, "um", within=0.01, absolute=True)


#: bore of a bearing of normal class up to its band [mm, um]; and what is left of it by class of shaft: least, most
BEARINGS = [
    (25, 10, "h6", -10, 13), (25, 10, "h8", -10, 33), (25, 10, "j6", -19, 4), (25, 10, "g6", -3, 20),
    (40, 12, "h6", -12, 16), (40, 12, "j5", -18, 5), (40, 12, "js6", -20, 8), (40, 12, "g5", -3, 20),
    (60, 15, "h9", -15, 74), (60, 15, "j6", -27, 7), (100, 20, "g6", -8, 34), (100, 20, "j6", -33, 9),
]


@pytest.mark.parametrize(("size", "bore", "shaft", "least", "most"), BEARINGS)
def test_a_bearing_on_its_shaft(size: int, bore: int, shaft: str, least: int, most: int) -> None:
    """The bore lies below nominal, unlike a hole H: the fit is by its own limits."""
    nominal, on = size / 1000, limits_of(shaft, size / 1000)
    fit = clearance(nominal - bore * 1e-6, nominal, nominal + on.lower, nominal + on.upper)
    for word, published, ours in (("least", least, fit.least), ("greatest", most, fit.most)):
        agrees("fits", f"bearing of {size} mm on {shaft}, {word} clearance", "bearingfits", published, ours * 1e6,
               "um", within=0.01, absolute=True)


@given(st.sampled_from(sorted(tables.BELOW)), st.integers(5, 11), st.floats(3.1, 9.9))
def test_holes_below_mirror_shafts(letter: str, grade: int, size: float) -> None:
    hole, shaft = limits_of(f"{letter.upper()}{grade}", size / 1000), limits_of(f"{letter}{grade}", size / 1000)
    assert hole == pytest.approx((-shaft.upper, -shaft.lower))


@given(st.sampled_from(["K", "M", "N", "P", "R", "S", "U", "X", "Z"]), st.sampled_from([3, 10, 30, 100, 400]))
def test_hole_and_shaft_basis_give_the_same_fit(letter: str, size: int) -> None:
    """The rule of the delta: H7/p6 and P7/h6 are as tight as each other."""
    if size <= 3:
        return
    one = fit_of("H7", f"{letter.lower()}6", size / 1000)
    other = fit_of(f"{letter}7", "h6", size / 1000)
    assert one == pytest.approx(other, abs=1e-9)


@pytest.mark.parametrize(("code", "size", "word"), [
    ("Q7", 0.01, "not in the tables"), ("h", 0.01, "not in the tables"), ("H19", 0.01, "IT19"),
    ("H7", 4.0, "4000 mm"), ("H7", 0.0, "0 mm"), ("H14", 0.0008, "0.8 mm"), ("t6", 0.02, "only above 24 up to"),
    ("fg6", 0.02, "up to 10 mm"), ("a9", 0.0008, "only above 1 mm"), ("K9", 0.02, "K9"), ("j9", 0.02, "JS or js"),
    ("H01", 0.7, "IT01 at 700 mm"), ("f0", 0.01, "class f0"), ("H07", 0.01, "not in the tables"),
    ("a9", 0.7, "up to 500 mm"), ("N10", 0.0008, "above 1 mm"),
])
def test_refuses_what_the_tables_do_not_hold(code: str, size: float, word: str) -> None:
    with pytest.raises(OutOfRange, match=word) as refused:
        limits_of(code, size)
    assert refused.value.right


def test_refuses_a_fit_the_wrong_way_round() -> None:
    with pytest.raises(OutOfRange, match="hole"):
        fit_of("g6", "H7", 0.01)
    with pytest.raises(OutOfRange, match="smaller limit first"):
        clearance(2.0, 1.0, 0.0, 0.5)
