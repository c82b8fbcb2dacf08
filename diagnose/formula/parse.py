"""From the pieces of a formula to its tree, by operator precedence.

    sum       first + and -, from left to right
    product   then * and /, from left to right
    minus     then the minus sign before something
    power     then ^, from right to left: -x^2 is -(x^2), 2^3^2 is 2^(3^2), x^-2 is x^(-2)

Text from a rule file may be anything: length, nesting and size are bounded before they can cost anything.
"""

from __future__ import annotations

import difflib
from typing import Final

from diagnose.formula.errors import FormulaError, short
from diagnose.formula.tokens import Token, tokenise
from diagnose.formula.tree import CONSTANTS, Binary, Call, Constant, Name, Negative, Node, Number
from diagnose.uncertain import FUNCTIONS

DEEPEST: Final = 30  # brackets, functions, minus signs and powers inside one another
LARGEST: Final = 100  # numbers, names and signs in all
OF_SEVERAL: Final = ("min", "max")
KNOWN_FUNCTIONS: Final = (*FUNCTIONS, *OF_SEVERAL)

_BINDS: Final = {"+": 1, "-": 1, "*": 2, "/": 2, "^": 4}
_MINUS: Final = 3


def parse(text: str) -> Node:
    """The tree of a formula; raises FormulaError with the place where it stops making sense."""
    reader = _Reader(tokenise(text))
    if reader.token.kind == "end":
        raise FormulaError("the formula is empty", 1, "write something like plate_volts * plate_current")
    root = reader.expression(1)
    if reader.token.kind != "end":
        raise _left_over(reader.token)
    return root


class _Reader:
    """The pieces with the place of the next one, and how much has been built."""

    def __init__(self, tokens: tuple[Token, ...]) -> None:
        self._tokens = tokens
        self._place = 0
        self._depth = 0
        self._size = 0

    @property
    def token(self) -> Token:
        return self._tokens[self._place]

    def expression(self, binding: int) -> Node:
        """What follows, as far as its signs bind at least so tightly."""
        left = self._operand()
        while _BINDS.get(self.token.kind, 0) >= binding:
            sign = self._next()
            tightness = _BINDS[sign.kind]
            right = self._nested(tightness) if sign.kind == "^" else self.expression(tightness + 1)
            left = self._built(Binary(sign.kind, left, right, sign.column))
        return left

    def _nested(self, binding: int) -> Node:
        """An expression one level further in."""
        self._depth += 1
        if self._depth > DEEPEST:
            said = f"the formula is nested more than {DEEPEST} deep"
            raise FormulaError(said, self.token.column, "cut it into quantities of their own")
        inner = self.expression(binding)
        self._depth -= 1
        return inner

    def _operand(self) -> Node:
        token = self._next()
        if token.kind == "number":
            return self._built(Number(float(token.text), token.column))
        if token.kind == "name":
            return self._named(token)
        if token.kind == "-":
            return self._built(Negative(self._nested(_MINUS), token.column))
        if token.kind == "(":
            inner = self._nested(1)
            self._close(token)
            return inner
        raise _nothing(token)

    def _named(self, token: Token) -> Node:
        called = self.token.kind == "("
        if token.text in KNOWN_FUNCTIONS:
            if not called:
                said = f"`{token.text}` is a function and wants brackets"
                raise FormulaError(said, token.column, f"write {token.text}(...)")
            return self._built(Call(token.text, self._arguments(token), token.column))
        if called:
            raise _no_function(token)
        if token.text in CONSTANTS:
            return self._built(Constant(token.text, token.column))
        return self._built(Name(token.text, token.column))

    def _arguments(self, function: Token) -> tuple[Node, ...]:
        opening = self._next()
        arguments = [self._nested(1)]
        while self.token.kind == ",":
            self._next()
            arguments.append(self._nested(1))
        self._close(opening)
        several = function.text in OF_SEVERAL
        if several and len(arguments) < 2:
            said = f"`{function.text}` wants two arguments or more"
            raise FormulaError(said, function.column, f"write {function.text}(a, b)")
        if not several and len(arguments) > 1:
            said = f"`{function.text}` wants one argument, not {len(arguments)}"
            raise FormulaError(said, function.column, "a number has a decimal point, not a comma")
        return tuple(arguments)

    def _close(self, opening: Token) -> None:
        if self.token.kind == "end":
            raise FormulaError(
                "a bracket is opened and not closed", opening.column, "add the closing bracket"
            )
        if self.token.kind != ")":
            raise _left_over(self.token)
        self._next()

    def _next(self) -> Token:
        token = self.token
        if token.kind != "end":
            self._place += 1
        return token

    def _built(self, node: Node) -> Node:
        self._size += 1
        if self._size > LARGEST:
            said = f"the formula has more than {LARGEST} numbers, names and signs"
            raise FormulaError(said, node.column, "cut it into quantities of their own")
        return node


def _left_over(token: Token) -> FormulaError:
    """What is said of a piece behind something complete."""
    if token.kind == ")":
        return FormulaError("a bracket is closed that was not opened", token.column)
    if token.kind == ",":
        hint = "a number has a decimal point, and no comma between its digits"
        return FormulaError("a comma stands only between the arguments of min and max", token.column, hint)
    said = f"a sign is missing before `{short(token.text)}`"
    return FormulaError(said, token.column, "write * for times")


def _nothing(token: Token) -> FormulaError:
    """What is said of a piece that stands where a value is wanted."""
    if token.kind == "end":
        return FormulaError("the formula ends where a value is wanted", token.column)
    hint = "a value needs no plus sign before it" if token.kind == "+" else ""
    return FormulaError(f"`{token.text}` stands where a value is wanted", token.column, hint)


def _no_function(token: Token) -> FormulaError:
    close = difflib.get_close_matches(token.text, KNOWN_FUNCTIONS, n=1)
    hint = f"did you mean {close[0]}?" if close else f"the functions are {', '.join(KNOWN_FUNCTIONS)}"
    if token.text in CONSTANTS:
        hint = f"write * after {token.text}"
    return FormulaError(f"`{short(token.text)}` is no function", token.column, hint)
