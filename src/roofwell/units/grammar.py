"""The grammar of a typed quantity: one pass over its tokens, so that it can say what is wrong where."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from roofwell.errors import QuantityError
from roofwell.units import factors
from roofwell.units.dimension import Dimension
from roofwell.units.factors import Unit
from roofwell.units.scanning import Token, short

UNITLESS = frozenset({Dimension.RATIO, Dimension.MONEY})
"""Kinds that a bare number can be."""

PER_WORDS = frozenset({"/", "per", "a", "an", "each", "every"})
"""What stands between what is counted and what it is counted by."""

_POWER_PREFIXES = {"sq": 2, "square": 2, "cu": 3, "cubic": 3}
_TWO_WORD_TONS = {"short": "ton", "metric": "tonne"}
_DEGREE_WORDS = {"°", "deg", "degree", "degrees"}
_TEMPERATURE_WORDS = {"f", "c", "fahrenheit", "celsius"}
_TIME_STEPS = (factors.DAY_S, factors.HOUR_S, factors.MINUTE_S, Fraction(1))
_COUNT = Unit(Fraction(1))
# A typed 1/4 or 3/8 is a carpenter's fraction of an inch, never a slope of one in four.
_HALVINGS = {2, 4, 8, 16, 32, 64}
# 1/50 can only be one in fifty; 1/3 could be a roof's rise over its span.
_LONG_RUN = 20


@dataclass(frozen=True, slots=True)
class Reading:
    """What the tokens say: ``value + offset`` in SI (time in s), and the kinds of quantity that it can be.

    ``kinds`` is empty for a bare number, which is then in ``number``. The offset (of degrees Fahrenheit)
    stands apart because a sign in front of the number does not turn it.
    """

    value: Fraction
    kinds: tuple[Dimension, ...]
    number: Token | None = None
    offset: Fraction = Fraction(0)


def improper_fraction(number: Token) -> QuantityError:
    """Return the refusal of 61/2, which is more likely 6 1/2 than 30 1/2."""
    whole, part = divmod(number.value, 1)
    better = f"{whole} {part}" if part else f"{whole}"
    guess = ""
    numerator = number.text.split("/")[0]
    if 1 < len(numerator) < 6 and Fraction(int(numerator[-1]), number.denominator) < 1:
        guess = f" or {numerator[:-1]} {numerator[-1]}/{number.denominator}"
    return QuantityError(
        f"the fraction {number.text} is one or more, so a space may be missing; write {better}{guess}",
        code="quantity-fraction",
    )


class Parser:
    """One pass over the tokens, from left to right, never back."""

    def __init__(self, tokens: list[Token], dimension: Dimension, *, has_bare_unit: bool = False) -> None:
        self._tokens = tokens
        self._at = 0
        self._dimension = dimension
        self._has_bare_unit = has_bare_unit

    # -- looking and taking

    def _peek(self, ahead: int = 0) -> Token | None:
        at = self._at + ahead
        return self._tokens[at] if at < len(self._tokens) else None

    def _take(self) -> Token:
        token = self._tokens[self._at]
        self._at += 1
        return token

    def _is_sign(self, *texts: str, ahead: int = 0) -> bool:
        token = self._peek(ahead)
        return token is not None and token.kind == "sign" and token.text in texts

    def _is_number(self, ahead: int = 0) -> bool:
        token = self._peek(ahead)
        return token is not None and token.kind == "number"

    def _is_word(self, *words: str, ahead: int = 0) -> bool:
        token = self._peek(ahead)
        return token is not None and token.kind == "unit" and token.power == 1 and token.text.lower() in words

    def _fail(self, message: str, code: str = "quantity-unclear") -> QuantityError:
        return QuantityError(message, code=code)

    # -- the grammar

    def whole(self) -> Reading:
        """Read all tokens as one quantity."""
        negative = self._is_sign("-")
        if self._is_sign("-", "+"):
            self._take()
        if self._is_sign("$"):
            self._take()
            number = self._expect_number()
            self._check_proper(number)
            self._expect_end()
            reading = Reading(number.value, (Dimension.MONEY,))
        else:
            reading = self._body()
        return replace(reading, value=-reading.value) if negative else reading

    def _body(self) -> Reading:
        number = self._expect_number()
        if self._peek() is None:
            return self._bare(number)
        ratio = self._rise_to_run(number)
        if ratio is not None:
            return ratio
        self._check_proper(number)
        if self._is_sign("-") and not self._is_number(1):
            self._take()
        if self._one_over():
            return self._counted(number)
        if self._is_sign("/") or self._is_word(*PER_WORDS):
            return self._counted(number)
        if self._is_number():
            raise self._fail(
                f"there are two numbers, {number.text} and {self._take().text}, where one is read"
            )
        if self._is_sign("-"):
            raise self._fail("this looks like a range or a subtraction; one number is read")
        unit = self._unit()
        if self._peek() is None:
            return self._of(number.value, unit)
        if self._per_follows():
            return self._ratio_of(number.value, unit)
        return self._compound(number, unit)

    def _bare(self, number: Token) -> Reading:
        """A number alone: a fraction may be a slope, as 6/12 is."""
        if self._dimension is Dimension.SLOPE and number.denominator and not number.mixed:
            if number.denominator == 12:
                return Reading(number.value, (Dimension.SLOPE,))
            clear = number.denominator >= _LONG_RUN and number.denominator not in _HALVINGS
            if clear and not self._has_bare_unit and number.value < 1:
                return Reading(number.value, (Dimension.SLOPE,))
            if not self._has_bare_unit or number.denominator not in _HALVINGS:
                rise, _, run = number.text.partition("/")
                raise self._fail(f"{number.text} is not clear; write {number.text} in/ft or {rise} in {run}")
        if self._dimension in UNITLESS and not self._has_bare_unit:
            self._check_proper(number)
        return Reading(number.value, (), number)

    def _rise_to_run(self, rise: Token) -> Reading | None:
        """``1 in 50``, ``1:50``, ``6.5/12``; and ``1 in 10 years``, a frequency."""
        if not (self._is_word("in") or self._is_sign(":", "/")) or not self._is_number(1):
            return None
        self._check_proper(rise)
        between = self._take().text
        run = self._take()
        if run.denominator:
            mixed = f"; a mixed number is written {rise.text} {run.text} in" if between == "in" else ""
            raise self._fail(f"{rise.text} {between} {run.text} is not clear{mixed}")
        if self._peek() is not None:
            return self._once_in(rise, between, run)
        if run.value == 0:
            raise self._fail(f"{rise.text} {between} 0 divides by zero", "quantity-zero-division")
        if rise.value > run.value and run.value != 12:
            raise self._fail(
                f"{rise.text} {between} {run.text} is not clear: rise to run, or run to rise? Write it in %"
            )
        return Reading(rise.value / run.value, (Dimension.SLOPE,))

    def _once_in(self, count: Token, between: str, number: Token) -> Reading:
        if between != "in":
            raise self._fail(f"{count.text}{between}{number.text} is a ratio and takes no unit")
        unit = self._unit()
        if unit.powers != (0, 0, 1) or self._peek() is not None:
            raise self._fail(
                f"“in” may be inches or a ratio here; write {count.text} in per {number.text} ft, "
                f"{count.text} in {number.text} or {count.text} ft {number.text} in, as is meant"
            )
        if number.value == 0:
            raise self._fail(f"{count.text} in 0 divides by zero", "quantity-zero-division")
        return self._of(count.value, _COUNT.per(unit, number.value))

    def _one_over(self) -> bool:
        """``1.4 1/s``: the 1 belongs to the unit."""
        token = self._peek()
        if token is not None and token.kind == "number" and token.text == "1" and self._is_sign("/", ahead=1):
            self._take()
            return True
        return False

    def _counted(self, number: Token) -> Reading:
        """A count per something: ``1 a year``, ``1.4 1/s``."""
        return self._ratio_of(number.value, _COUNT)

    def _per_follows(self) -> bool:
        if self._is_sign("/") or self._is_word(*PER_WORDS):
            return True
        return self._is_word("in") and self._peek(1) is not None and not self._is_sign("-", ahead=1)

    def _ratio_of(self, value: Fraction, unit: Unit) -> Reading:
        """``in/ft``, ``min/in``, ``in per 8 ft``, ``gal/d/sq ft``; the unit above is read already."""
        whole = unit
        slope = True
        for _ in range(2):
            if not self._per_follows():
                break
            mark = self._take().text
            amount = Fraction(1)
            if self._is_number() and (mark != "/" or unit is not _COUNT):
                token = self._take()
                self._check_proper(token)
                amount = token.value
            below = self._unit()
            if amount == 0:
                raise self._fail("this divides by zero", "quantity-zero-division")
            if whole.special not in ("", "percent") or below.special:
                raise self._fail("these units do not go together")
            slope = slope and below.powers == (1, 0, 0)
            whole = whole.per(below, amount)
        self._expect_end()
        if whole.powers == (0, 0, 0):
            return Reading(value * whole.factor, (Dimension.SLOPE if slope else Dimension.RATIO,))
        return self._of(value, whole)

    def _compound(self, first: Token, unit: Unit) -> Reading:
        """Feet and inches, or a time in falling units; each part but the last is whole."""
        if unit.powers == (1, 0, 0):
            return self._feet_inches(first, unit)
        if unit.powers != (0, 0, 1) or not self._is_number():
            raise self._left_over()
        total = first.value * unit.factor
        last, before = first, unit
        while self._peek() is not None:
            number = self._expect_number()
            self._check_proper(number)
            nxt = self._unit() if self._peek() is not None else None
            if nxt is None or nxt.powers != (0, 0, 1):
                raise self._fail(f"{number.text} has no unit of time", "quantity-unit-missing")
            if nxt.factor not in _TIME_STEPS or nxt.factor >= before.factor:
                raise self._fail("the parts of a time must fall: days, hours, minutes, seconds")
            if last.value.denominator != 1 or last.denominator or number.value * nxt.factor >= before.factor:
                raise self._fail(
                    "in a time of several parts all but the last are whole, and none spills over"
                )
            total += number.value * nxt.factor
            last, before = number, nxt
        return self._of(total, Unit(Fraction(1), time=1))

    def _feet_inches(self, feet: Token, unit: Unit) -> Reading:
        if self._is_sign("-"):
            self._take()
        if not self._is_number():
            raise self._left_over()
        inches = self._take()
        self._check_proper(inches)
        if self._peek() is None:
            if unit.factor == factors.FOOT_M:
                raise self._fail(
                    f"{inches.text} has no unit; write {feet.text}' {inches.text}\"", "quantity-unit-missing"
                )
            raise self._fail(f"{inches.text} has no unit", "quantity-unit-missing")
        below = self._unit()
        self._expect_end()
        if unit.factor != factors.FOOT_M or below.powers != (1, 0, 0) or below.factor != factors.INCH_M:
            raise self._fail("only feet followed by inches make one length of two parts")
        if feet.denominator or feet.value.denominator != 1:
            raise self._fail("feet that inches follow must be whole")
        if inches.value >= 12:
            raise self._fail(f"after feet the inches must be below 12, not {inches.text}")
        return self._of(feet.value * unit.factor + inches.value * below.factor, Unit(Fraction(1), length=1))

    # -- the pieces

    def _expect_number(self) -> Token:
        token = self._peek()
        if token is None or token.kind != "number":
            seen = f"“{short(token.text)}” stands" if token is not None else "the text ends"
            raise self._fail(f"{seen} where a number should", "quantity-number")
        return self._take()

    def _check_proper(self, number: Token) -> None:
        if number.improper:
            raise improper_fraction(number)

    def _expect_end(self) -> None:
        if self._peek() is not None:
            raise self._left_over()

    def _left_over(self) -> QuantityError:
        token = self._take()
        if token.kind == "unit" and factors.find(token.text) is None:
            return self._unknown(token.text)
        return self._fail(f"“{short(token.text)}” is left over after a whole quantity")

    def _unknown(self, word: str) -> QuantityError:
        near = factors.nearest(word)
        hint = f", the nearest that is one is {near}" if near else ""
        return self._fail(f"“{short(word)}” is no unit{hint}", "quantity-unit-unknown")

    def _unit(self) -> Unit:
        token = self._peek()
        if token is None:
            raise self._fail("the text ends where a unit should stand", "quantity-unit-missing")
        if token.kind != "unit":
            raise self._fail(f"“{short(token.text)}” stands where a unit should", "quantity-unit-unknown")
        self._take()
        word = token.text
        following = self._peek()
        if following is not None and following.kind == "unit":
            lowered = word.lower()
            if lowered in _POWER_PREFIXES and token.power == 1:
                return self._powered(_POWER_PREFIXES[lowered])
            if lowered in _TWO_WORD_TONS and following.text.lower() in ("ton", "tons"):
                self._take()
                word = _TWO_WORD_TONS[lowered]
            elif lowered in _DEGREE_WORDS and following.text.lower() in _TEMPERATURE_WORDS:
                word = self._take().text
        unit = factors.find(word)
        if unit is None:
            raise self._unknown(word)
        if token.power == 1:
            return unit
        if token.power == -1:
            return Unit(1 / unit.factor, time=-1)
        if unit.powers != (1, 0, 0):
            raise self._fail(f"{short(word)} cannot be squared or cubed", "quantity-unit-unknown")
        return unit.raised(token.power)

    def _powered(self, power: int) -> Unit:
        token = self._take()
        unit = factors.find(token.text)
        if unit is None:
            raise self._unknown(token.text)
        if unit.powers != (1, 0, 0) or token.power != 1:
            raise self._fail(f"{short(token.text)} cannot be squared or cubed", "quantity-unit-unknown")
        return unit.raised(power)

    def _of(self, value: Fraction, unit: Unit) -> Reading:
        if unit.special == "percent":
            return Reading(value * unit.factor, (Dimension.RATIO, Dimension.SLOPE))
        if unit.special == "angle":
            return Reading(value * unit.factor, (Dimension.ANGLE,))
        if unit.special == "temperature":
            return Reading(value * unit.factor, (Dimension.TEMPERATURE,), offset=unit.offset)
        if unit.powers == (-1, 0, 1):
            if value == 0:
                raise self._fail("no time at all for a depth of water is no rate", "quantity-zero-division")
            return Reading(1 / (value * unit.factor), (Dimension.RATE,))
        kinds = factors.DIMENSIONS.get(unit.powers)
        if kinds is None:
            raise self._fail("these units make no quantity that is used here", "quantity-unit-unknown")
        return Reading(value * unit.factor, kinds)
