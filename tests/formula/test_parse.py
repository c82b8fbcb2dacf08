"""Reading formulas: what binds how tightly, what is refused and where, and that nothing else ever happens."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.formula import FormulaError, parse_formula
from diagnose.formula.parse import DEEPEST, LARGEST
from diagnose.formula.tokens import LONGEST
from tests.formula.trees import Sample, samples


def value_of(text: str, **inputs: float) -> float:
    """The value of a formula of plain numbers."""
    return parse_formula(text).bound(dict.fromkeys(inputs, ""), "").value(inputs)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("2 + 3 * 4", 14.0),
        ("2 - 3 - 4", -5.0),
        ("24 / 3 / 2", 4.0),
        ("24 / 3 * 2", 16.0),
        ("2^3^2", 512.0),
        ("-2^2", -4.0),
        ("(-2)^2", 4.0),
        ("2^-2", 0.25),
        ("2^-1*8", 4.0),
        ("-2 * -3", 6.0),
        ("--2", 2.0),
        ("2 - -3", 5.0),
        ("1.5e-3 * 1E3", 1.5),
        (".5 + 2.", 2.5),
        ("2e3", 2000.0),
        ("pi", math.pi),
        ("max(1, 5, 3) - min(4, 2)", 3.0),
        ("sqrt(16) + abs(-3)", 7.0),
        ("log10(1000) + ln(exp(2))", 5.0),
        ("sin(pi/6) + cos(pi/3) + tan(pi/4)", 2.0),
        ("asin(1) + acos(1) + atan(1)", math.pi * 0.75),
        ("\t( 1\n+ 2 )", 3.0),
    ],
)
def test_the_rules_of_arithmetic(text: str, value: float) -> None:
    """As in print: products before sums, powers before all, from left to right, powers from right to left."""
    assert value_of(text) == pytest.approx(value, rel=1e-15)


def test_names_come_in_order_of_appearance() -> None:
    """Each once, constants and functions not among them."""
    formula = parse_formula("volts * (plate_1 - max(grid, volts)) * pi / e")
    assert formula.names == ("volts", "plate_1", "grid", "e")


REFUSED = [
    ("", 1, "the formula is empty", "write something like plate_volts * plate_current"),
    (" \n", 1, "the formula is empty", "write something like plate_volts * plate_current"),
    ("a +", 4, "the formula ends where a value is wanted", ""),
    ("a b", 3, "a sign is missing before `b`", "write * for times"),
    ("2x", 2, "a sign is missing before `x`", "write * for times"),
    ("2(a)", 2, "a sign is missing before `(`", "write * for times"),
    ("1.2.3", 4, "a sign is missing before `.3`", "write * for times"),
    ("0x1f", 2, "a sign is missing before `x1f`", "write * for times"),
    ("(a", 1, "a bracket is opened and not closed", "add the closing bracket"),
    ("sqrt(a", 5, "a bracket is opened and not closed", "add the closing bracket"),
    ("a)", 2, "a bracket is closed that was not opened", ""),
    ("()", 2, "`)` stands where a value is wanted", ""),
    ("+a", 1, "`+` stands where a value is wanted", "a value needs no plus sign before it"),
    ("a * / b", 5, "`/` stands where a value is wanted", ""),
    (
        "1,200 * a",
        2,
        "a comma stands only between the arguments of min and max",
        "a number has a decimal point, and no comma between its digits",
    ),
    ("sqrt(1,5)", 1, "`sqrt` wants one argument, not 2", "a number has a decimal point, not a comma"),
    ("max(a)", 1, "`max` wants two arguments or more", "write max(a, b)"),
    ("sqrt a", 1, "`sqrt` is a function and wants brackets", "write sqrt(...)"),
    ("2 + sqr(a)", 5, "`sqr` is no function", "did you mean sqrt?"),
    (
        "eval(a)",
        1,
        "`eval` is no function",
        "the functions are sqrt, abs, log10, ln, exp, sin, cos, tan, asin, acos, atan, min, max",
    ),
    ("pi(2)", 1, "`pi` is no function", "write * after pi"),
    ("a ** b", 3, "`**` is no sign of a formula", "write ^ for a power"),
    ("Volts * a", 1, "`Volts` is no name", "names are written with small letters: volts"),
    (
        "__import__('os')",
        1,
        "`__import__` is no name",
        "names are written with small letters, digits and underscores, a letter first",
    ),
    ("a × b", 3, "`×` has no place in a formula", "write * for times"),
    ("a − b", 3, "`−` has no place in a formula", "write - for minus"),
    ("a²", 2, "`²` has no place in a formula", "write ^2"),
    (
        "final.volts",
        6,
        "`.` has no place in a formula",
        "a name has no point in it; a number has digits beside its point",
    ),
    ("a = b", 3, "`=` has no place in a formula", "a formula is only what stands right of the equals sign"),
    ("a[0]", 2, "`[` has no place in a formula", "write round brackets"),
    ("a < b", 3, "`<` has no place in a formula", "a formula gives a number and does not compare"),
    (
        "'a'",
        1,
        "`'` has no place in a formula",
        "a formula has numbers, names, + - * / ^, brackets and functions",
    ),
    (
        "a\u202eb",
        2,
        "a character that cannot be seen has no place in a formula",
        "a formula has numbers, names, + - * / ^, brackets and functions",
    ),
    # digits and letters of other scripts look like ours and are none
    (
        "١ + 2",
        1,
        "`١` has no place in a formula",
        "a formula has numbers, names, + - * / ^, brackets and functions",
    ),
    (
        "vоlts",
        2,
        "`о` has no place in a formula",
        "a formula has numbers, names, + - * / ^, brackets and functions",
    ),
    ("1e999", 1, "`1e999` is too large to compute with", ""),
    ("1e-999", 1, "`1e-999` is too small to compute with", ""),
    ("9^9^9^9", 4, "`9^9^9` is too large to compute", ""),
    ("a + 1e308*1e308", 10, "`1e+308 * 1e+308` is too large to compute", ""),
    ("exp(710)", 1, "`exp(710)` is too large to compute", ""),
    ("1/0", 2, "division by zero in `1 / 0`", ""),
    ("a / (2 - 2)", 3, "division by zero: `2 - 2` is 0", ""),
    ("sqrt(0-3)", 1, "sqrt of a negative number (-3) in `sqrt(0 - 3)`", ""),
    ("ln(0)", 1, "ln of zero in `ln(0)`", ""),
    ("acos(1.5)", 1, "acos of a number that is not between -1 and 1 (1.5) in `acos(1.5)`", ""),
    ("0^-1", 2, "zero to the power -1 in `0^-1`", ""),
    ("(-8)^0.5", 5, "a negative number (-8) to the power 0.5 in `(-8)^0.5`", ""),
]


@pytest.mark.parametrize(("text", "column", "sentence", "hint"), REFUSED)
def test_what_is_no_formula_is_refused_with_its_place(
    text: str, column: int, sentence: str, hint: str
) -> None:
    """One sentence, one column, one suggestion."""
    with pytest.raises(FormulaError) as caught:
        parse_formula(text)
    assert (caught.value.text, caught.value.column, caught.value.hint) == (sentence, column, hint)
    assert str(caught.value) == sentence


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("(" * (DEEPEST + 1) + "1" + ")" * (DEEPEST + 1), f"the formula is nested more than {DEEPEST} deep"),
        ("-" * (DEEPEST + 1) + "1", f"the formula is nested more than {DEEPEST} deep"),
        ("abs(" * (DEEPEST + 1) + "1", f"the formula is nested more than {DEEPEST} deep"),
        ("a^" * (DEEPEST + 1) + "1", f"the formula is nested more than {DEEPEST} deep"),
        ("1+" * (LARGEST // 2) + "1", f"the formula has more than {LARGEST} numbers, names and signs"),
        (
            "1" * (LONGEST + 1),
            f"the formula is too long: {LONGEST + 1} characters, and at most {LONGEST} are read",
        ),
        ("(" * 1_000_000, f"the formula is too long: 1000000 characters, and at most {LONGEST} are read"),
    ],
)
def test_size_is_bounded(text: str, sentence: str) -> None:
    """Length, nesting and number of nodes, one beyond each limit."""
    with pytest.raises(FormulaError) as caught:
        parse_formula(text)
    assert caught.value.text == sentence


def test_the_largest_formulas_can_be_used() -> None:
    """At each limit everything still works, from reading to showing."""
    deep = "(" * DEEPEST + "a" + ")" * DEEPEST
    powers = "a^" * DEEPEST + "1"
    broad = "a+" * (LARGEST // 2 - 1) + "a"
    beside = "+".join(["(abs(a))"] * (DEEPEST + 1))  # many brackets, none of them deep
    for text, value in ((deep, 1.0), (powers, 1.0), (broad, LARGEST / 2), (beside, DEEPEST + 1.0)):
        formula = parse_formula(text)
        bound = formula.bound({"a": ""}, "")
        assert bound.value({"a": 1.0}) == value
        assert parse_formula(str(formula)) == formula
        assert bound.shown({"a": 1.0}).endswith(f" = {value:g}")


def outcome(text: str) -> tuple[str, int]:
    """The normalised formula or what is said instead, with the column; anything else goes through."""
    try:
        return str(parse_formula(text)), 1
    except FormulaError as error:
        return error.text, error.column


@given(st.text(max_size=60))
def test_any_text_gives_a_formula_or_a_formula_error(text: str) -> None:
    """No text of any script brings anything else about."""
    said, column = outcome(text)
    assert said
    assert 1 <= column <= len(text) + 1


PIECES = [
    "a",
    "b2",
    "1",
    "1e9",
    "9",
    ".5",
    "+",
    "-",
    "*",
    "/",
    "^",
    "(",
    ")",
    ",",
    " ",
    "sqrt(",
    "max(",
    "exp(",
    "pi",
    "e",
    "_",
]


@given(st.lists(st.sampled_from(PIECES), max_size=60).map("".join))
def test_any_pieces_give_a_formula_or_a_formula_error(text: str) -> None:
    """Nor does any mixture of what a formula is made of."""
    said, column = outcome(text)
    assert said
    assert 1 <= column <= len(text) + 1


@given(samples())
def test_the_normalised_text_says_the_same(sample: Sample) -> None:
    """It reads as an equal formula, and normalises to itself; blanks and needless brackets do not matter."""
    try:
        formula = parse_formula(sample.text)
    except FormulaError:
        return  # a part without names that has no value; the other tests judge those
    again = parse_formula(str(formula))
    assert again == formula
    assert str(again) == str(formula)
    assert str(formula).count("(") <= sample.text.count("(")
