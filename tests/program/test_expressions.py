"""Expressions as NISTIR 6556 has them: order, functions in degrees, what has no value, what nobody knows."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.program.expressions import DEPTH, Scanner, Variables, applied, believed, function
from firstoff.program.words import NotUnderstood

NUMBERS = st.floats(-1e3, 1e3).map(lambda x: round(x, 4))


def value(text: str, **kept: float) -> float:
    variables = Variables()
    for name, number in kept.items():
        variables[int(name[1:])] = number
    scanner = Scanner(text, variables)
    found = scanner.value()
    assert scanner.done, scanner.text[scanner.at:]
    return found


@pytest.mark.parametrize(("text", "wanted"), [
    ("1.5", 1.5), ("-.5", -0.5), ("+2.", 2.0), ("007", 7.0), ("[1+2*3]", 7.0), ("[2**3*2]", 16.0),
    ("[2*3**2]", 18.0), ("[8/2/2]", 2.0), ("[7MOD4]", 3.0), ("[-1MOD4]", 3.0), ("[1-2-3]", -4.0), ("[[1+2]*3]", 9.0),
    ("[2--3]", 5.0), ("[-2**2]", 4.0), ("[1AND0]", 0.0), ("[1OR0]", 1.0), ("[1XOR1]", 0.0), ("[2LT3]", 1.0),
    ("[2GE3]", 0.0), ("[1+1EQ2]", 1.0), ("[[1LT2]AND[3NE3]]", 0.0), ("[3GT2]", 1.0), ("[3LE3]", 1.0),
    ("SIN[30]", 0.5), ("COS[60]", 0.5), ("TAN[45]", 1.0), ("ATAN[1]/[-1]", 135.0), ("ATAN[-1]/[0]", -90.0),
    ("ASIN[1]", 90.0), ("ACOS[0]", 90.0), ("SQRT[9]", 3.0), ("ABS[-3]", 3.0), ("FIX[-2.8]", -3.0),
    ("FUP[-2.8]", -2.0), ("FIX[2.8]", 2.0), ("FUP[2.1]", 3.0), ("ROUND[2.5]", 3.0), ("ROUND[-2.5]", -3.0),
    ("EXP[0]", 1.0), ("LN[1]", 0.0),
    ("-[1+2]", -3.0), ("-SQRT[4]", -2.0),
])
def test_values(text: str, wanted: float) -> None:
    assert value(text) == pytest.approx(wanted, abs=1e-12)


def test_variables_and_variables_of_variables() -> None:
    assert value("#1", _1=4.0) == 4.0
    assert value("##1", _1=2.0, _2=7.0) == 7.0
    assert value("#[#1+1]", _1=1.0, _2=7.0) == 7.0
    assert value("-#1", _1=4.0) == -4.0


def test_a_variable_that_was_never_set_makes_all_unknown_that_uses_it() -> None:
    variables = Variables()
    assert math.isnan(Scanner("[1+SIN[#5]*2]", variables).value())
    assert variables.asked == {5}
    assert math.isnan(Scanner("[#5LT2]", variables).value())


@pytest.mark.parametrize(("text", "piece"), [
    ("[1/0]", "divides by zero"), ("[1MOD0]", "divides by zero"), ("SQRT[-1]", "SQRT[-1] has no value"),
    ("LN[0]", "has no value"), ("ACOS[2]", "has no value"), ("EXP[1000]", "has no value"),
    ("[10**300]", "too large"), ("[-8**.5]", "has no value"), ("[0**-1]", "divides by zero"), ("[1+2", "not closed"),
    ("[1+]", "no number"), ("", "no number"), ("X", "no number"), ("--5", "no number"), ("SIN30", "no number"),
    ("ATAN[1]", "two values"), ("[1LT2AND3]", "brackets of its own"), ("[1LT2LT3]", "brackets of its own"),
    ("#0", "whole number"), ("#1.5", "whole number"), ("#-1", "whole number"), ("##1", "is not known"),
    ("9999999999999", "too large"), ("[" * 60 + "1" + "]" * 60, "brackets"), ("#" * 60 + "1", "brackets"),
])
def test_what_has_no_value_says_why(text: str, piece: str) -> None:
    with pytest.raises(NotUnderstood, match=piece.replace("[", r"\[").replace("]", r"\]")):
        value(text)


def test_brackets_may_be_as_deep_as_told() -> None:
    assert value("[" * DEPTH + "1" + "]" * DEPTH) == 1.0


@given(NUMBERS, NUMBERS, NUMBERS)
def test_arithmetic_is_that_of_the_language_it_is_written_in(a: float, b: float, c: float) -> None:
    text = f"[{a:.4f}+{b:.4f}*{c:.4f}-[{a:.4f}-{c:.4f}]]"
    assert value(text) == pytest.approx(a + b * c - (a - c), abs=1e-6)


@given(NUMBERS, NUMBERS.filter(lambda x: abs(x) > 1e-3))
def test_mod_lies_between_nothing_and_its_divisor(a: float, b: float) -> None:
    rest = applied("MOD", a, b)
    assert 0.0 <= rest <= abs(b)
    assert math.remainder(a - rest, b) == pytest.approx(0.0, abs=1e-6)


@given(st.floats(-1.0, 1.0))
def test_functions_undo_each_other(x: float) -> None:
    assert function("SIN", function("ASIN", x)) == pytest.approx(x, abs=1e-9)
    assert function("COS", function("ACOS", x)) == pytest.approx(x, abs=1e-9)
    assert function("LN", function("EXP", x)) == pytest.approx(x, abs=1e-9)


@given(st.text("0123456789[]#+-*/.ABCDEGINOQRSTUX", max_size=40))
def test_any_text_has_a_value_or_a_reason(text: str) -> None:
    try:
        found = Scanner(text, Variables()).value()
    except NotUnderstood as wrong:
        assert wrong.what
    else:
        assert not math.isinf(found)


def test_numbers_that_nobody_means_are_not_believed() -> None:
    assert believed(3.0, "3") == 3.0
    with pytest.raises(NotUnderstood, match="too large"):
        believed(-1e13, "X")


def test_a_formula_is_worked_out_again_with_other_variables() -> None:
    variables = Variables()
    formula = Scanner("[SQRT[#1]+2**#1]", variables).formula()
    for number in (4.0, 9.0):
        variables[1] = number
        assert formula(variables) == pytest.approx(math.sqrt(number) + 2.0**number)
    variables[1] = -1.0
    with pytest.raises(NotUnderstood, match="SQRT"):
        formula(variables)
    assert math.isnan(formula(Variables()))


@pytest.mark.parametrize("text", ["[#1**0]", "[1**#1]", "[#1OR1]", "[0AND#1]", "[#1XOR#1]", "FIX[#1]", "ROUND[#1]",
                                  "[#1MOD2]", "[5MOD#1]", "ATAN[#1]/[1]", "-#1", "[#1EQ#1]"])
def test_what_nobody_knows_stays_unknown_in_every_operator(text: str) -> None:
    assert math.isnan(value(text))
