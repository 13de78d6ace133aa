"""Reading typed quantities: every accepted form, every refusal, exactness."""

from __future__ import annotations

import doctest
import importlib
import re
from fractions import Fraction
from pathlib import Path

import pytest

from roofwell.errors import QuantityError
from roofwell.units import Dimension, Quantity, parse
from roofwell.units.dimension import EXAMPLES, NOUNS

D = Dimension
F = Fraction
IN = F("0.0254")  # international yard and pound agreement 1959, from memory
FT = F("0.3048")
DOCS = Path(__file__).parents[1] / "docs" / "units.md"

ACCEPTED = [
    # (text, kind, exact value in SI, worked by hand from the definitions of the units)
    ("18 in", D.LENGTH, 18 * IN),
    ("18 in.", D.LENGTH, 18 * IN),
    ("18IN", D.LENGTH, 18 * IN),
    ("1 inch", D.LENGTH, IN),
    ('18"', D.LENGTH, 18 * IN),
    (".5 in", D.LENGTH, IN / 2),
    ("6 1/2 in", D.LENGTH, F(13, 2) * IN),
    ("6 1/2in", D.LENGTH, F(13, 2) * IN),
    ("6-1/2 in", D.LENGTH, F(13, 2) * IN),
    ("1½ in", D.LENGTH, F(3, 2) * IN),
    ("1 ½ in", D.LENGTH, F(3, 2) * IN),
    ("½ in", D.LENGTH, IN / 2),
    ('⅝"', D.LENGTH, F(5, 8) * IN),
    ("1⁄2 in", D.LENGTH, IN / 2),
    ("4' 6 1/2\"", D.LENGTH, F("1.3843")),
    ("4'6\"", D.LENGTH, F("1.3716")),
    ("4'6''", D.LENGTH, F("1.3716")),
    ("4' - 6 1/2\"", D.LENGTH, F("1.3843")),
    ("4'-6-1/2\"", D.LENGTH, F("1.3843")),
    ("4 ft 6 1/2 in", D.LENGTH, F("1.3843")),
    ("4ft6in", D.LENGTH, F("1.3716")),
    ("4 ft.6 in", D.LENGTH, F("1.3716")),
    ("4ft2in", D.LENGTH, 50 * IN),
    ("4′ 6½″", D.LENGTH, F("1.3843")),
    ("4’ 6 1/2”", D.LENGTH, F("1.3843")),
    ("4' 1/2\"", D.LENGTH, F(97, 2) * IN),
    ("0' 3/8\"", D.LENGTH, F(3, 8) * IN),
    ("6' 11.25\"", D.LENGTH, F("83.25") * IN),
    ("6.5 ft", D.LENGTH, F("1.9812")),
    ("6.5\u00a0ft", D.LENGTH, F("1.9812")),
    ("6.5\u202fft", D.LENGTH, F("1.9812")),
    ("  6.5   feet ", D.LENGTH, F("1.9812")),
    ("1,234.5 ft", D.LENGTH, F("1234.5") * FT),
    ("-2 ft", D.LENGTH, -2 * FT),
    ("−2 ft", D.LENGTH, -2 * FT),
    ("-4' 6\"", D.LENGTH, -F("1.3716")),
    ("−6 1/2 in", D.LENGTH, -F(13, 2) * IN),
    ("+2 ft", D.LENGTH, 2 * FT),
    ("1.5 m", D.LENGTH, F(3, 2)),
    ("4-inch", D.LENGTH, 4 * IN),
    ("1e-3 m", D.LENGTH, F(1, 1000)),
    ("1e5ft", D.LENGTH, 100_000 * FT),
    ("2 yd", D.LENGTH, F("1.8288")),
    ("1,000 sq ft", D.AREA, F("92.90304")),
    ("1000 sq. ft.", D.AREA, F("92.90304")),
    ("1000 square feet", D.AREA, F("92.90304")),
    ("1000 ft²", D.AREA, F("92.90304")),
    ("1000 ft^2", D.AREA, F("92.90304")),
    ("10 m²", D.AREA, F(10)),
    ("40 ft x 40 ft", D.AREA, 1600 * FT**2),
    ("40' by 12' 6\"", D.AREA, 500 * FT**2),
    ("12 m × 4.5 m", D.AREA, F(54)),
    ("1 gal", D.VOLUME, F("0.003785411784")),
    ("1 cu ft", D.VOLUME, F("0.028316846592")),
    ("1 cubic yard", D.VOLUME, F("0.764554857984")),
    ("1 cu. yd.", D.VOLUME, F("0.764554857984")),
    ("3 m³", D.VOLUME, F(3)),
    ("440 L", D.VOLUME, F("0.44")),
    ("1/4 in/ft", D.SLOPE, F(1, 48)),
    ("¼ in/ft", D.SLOPE, F(1, 48)),
    ('1/4" per ft', D.SLOPE, F(1, 48)),
    ("1/4\"/'", D.SLOPE, F(1, 48)),
    ("1/4 in. per foot", D.SLOPE, F(1, 48)),
    ("2 %", D.SLOPE, F(1, 50)),
    ("2%", D.SLOPE, F(1, 50)),
    ("1 in 50", D.SLOPE, F(1, 50)),
    ("1:50", D.SLOPE, F(1, 50)),
    ("1 : 50", D.SLOPE, F(1, 50)),
    ("1/50", D.SLOPE, F(1, 50)),
    ("-1 in 50", D.SLOPE, -F(1, 50)),
    ("0 in 12", D.SLOPE, F(0)),
    ("6 in 12", D.SLOPE, F(1, 2)),
    ("6/12", D.SLOPE, F(1, 2)),
    ("18/12", D.SLOPE, F(3, 2)),
    ("6:12", D.SLOPE, F(1, 2)),
    ("6.5/12", D.SLOPE, F(13, 24)),
    ("6 1/2 in 12", D.SLOPE, F(13, 24)),
    ("14 in 12", D.SLOPE, F(7, 6)),
    ("1 in per 8 ft", D.SLOPE, F(1, 96)),
    ("1 in in 8 ft", D.SLOPE, F(1, 96)),
    ("0.02 m/m", D.SLOPE, F(1, 50)),
    ("0.6 in/h", D.RATE, F("0.6") * IN / 3600),
    ("0.6 in/hr", D.RATE, F("0.6") * IN / 3600),
    ("0.6 in per hour", D.RATE, F("0.6") * IN / 3600),
    ("0.6 in an hour", D.RATE, F("0.6") * IN / 3600),
    ("25 min/in", D.RATE, IN / 1500),
    ("25 min per inch", D.RATE, IN / 1500),
    ("1 in per 25 min", D.RATE, IN / 1500),
    ("1 in in 25 min", D.RATE, IN / 1500),
    ("60 s/mm", D.RATE, F(1, 60_000)),
    ("15 mm/h", D.RATE, F(15, 3_600_000)),
    ("1e-5 m/s", D.RATE, F(1, 100_000)),
    ("1.2 x 10^-5 m/s", D.RATE, F(12, 1_000_000)),
    ("1.2×10⁻⁵ m/s", D.RATE, F(12, 1_000_000)),
    ("1 gal/d/sq ft", D.RATE, F("0.003785411784") / 86_400 / F("0.09290304")),
    ("77 gpm", D.FLOW, 77 * F("0.003785411784") / 60),
    ("77 gal/min", D.FLOW, 77 * F("0.003785411784") / 60),
    ("1 cfs", D.FLOW, F("0.028316846592")),
    ("4.9 L/s", D.FLOW, F("0.0049")),
    ("36 m3/h", D.FLOW, F(1, 100)),
    ("36 h", D.TIME, F(129_600)),
    ("3½ minutes", D.TIME, F(210)),
    ("1 h 30 min", D.TIME, F(5400)),
    ("2 d 12 h", D.TIME, F(216_000)),
    ("1 min 30.5 s", D.TIME, F("90.5")),
    ("10-year", D.RETURN_PERIOD, F(10)),
    ("10 yr", D.RETURN_PERIOD, F(10)),
    ("6 months", D.RETURN_PERIOD, F(1, 2)),
    ("40 %", D.RATIO, F(2, 5)),
    ("0.4", D.RATIO, F(2, 5)),
    ("2/5", D.RATIO, F(2, 5)),
    ("0.3 m3/m3", D.RATIO, F(3, 10)),
    ("1 lb/cu ft", D.DENSITY, F("0.45359237") / F("0.028316846592")),
    ("1 ton/cu yd", D.DENSITY, F("907.18474") / F("0.764554857984")),
    ("1 ton", D.MASS, F("907.18474")),
    ("1 short ton", D.MASS, F("907.18474")),
    ("1 metric ton", D.MASS, F(1000)),
    ("41 °F", D.TEMPERATURE, F(5)),
    ("-40 F", D.TEMPERATURE, F(-40)),
    ("-5 °F", D.TEMPERATURE, F(-185, 9)),
    ("32 degrees fahrenheit", D.TEMPERATURE, F(0)),
    ("-5 C", D.TEMPERATURE, F(-5)),
    ("1 a year", D.FREQUENCY, F(1)),
    ("once a year", D.FREQUENCY, F(1)),
    ("twice a month", D.FREQUENCY, F(24)),
    ("1 in 10 years", D.FREQUENCY, F(1, 10)),
    ("1 every 10 years", D.FREQUENCY, F(1, 10)),
    ("10 %/yr", D.FREQUENCY, F(1, 10)),
    ("$12.50", D.MONEY, F(25, 2)),
    ("-$1,234", D.MONEY, F(-1234)),
    ("12.50", D.MONEY, F(25, 2)),
    ("2.8 ft/s", D.SPEED, F("2.8") * FT),
    ("2 cu yd/h", D.PRODUCTIVITY, 2 * F("0.764554857984") / 3600),
    ("1.4 1/s", D.PERMITTIVITY, F(7, 5)),
    ("1.4 s⁻¹", D.PERMITTIVITY, F(7, 5)),
    ("1.4/s", D.PERMITTIVITY, F(7, 5)),
    ("60 per min", D.PERMITTIVITY, F(1)),
]


@pytest.mark.parametrize(("text", "dimension", "exact"), ACCEPTED)
def test_every_form_is_read_exactly(text: str, dimension: Dimension, exact: Fraction) -> None:
    """The value is the exact fraction, the float the nearest one, and the text is kept."""
    assert parse(text, dimension) == Quantity(text, float(exact), dimension, exact)


@pytest.mark.parametrize("denominator", [8, 16])
def test_every_eighth_and_sixteenth_up_to_twenty_feet(denominator: int) -> None:
    """Feet and inches to 1/8 and 1/16 in are exact, in three ways of writing."""
    for count in range(20 * 12 * denominator + 1):
        exact = F(count, denominator) * IN
        feet, rest = divmod(F(count, denominator), 12)
        whole, part = divmod(rest, 1)
        inches = f"{whole} {part}" if part else f"{whole}"
        all_inches, all_part = divmod(F(count, denominator), 1)
        texts = [f"{feet}' {inches}\"", f"{feet} ft {inches} in", f"{all_inches}-{all_part} in"]
        for text in texts if all_part else texts[:2]:
            assert parse(text, D.LENGTH).exact == exact, text


def test_an_angle_is_the_nearest_float() -> None:
    """180 deg is the float nearest to pi."""
    assert parse("180 deg", D.ANGLE).value_si == pytest.approx(3.141592653589793, rel=0, abs=0)
    assert parse("45°", D.ANGLE).value_si == pytest.approx(0.7853981633974483, rel=1e-15)


REFUSED = [
    # (text, kind needed, code, pieces that the message must hold)
    ("", D.LENGTH, "quantity-empty", ["nothing is written", "a length is needed", "18 in"]),
    (" \u00a0\t\n", D.LENGTH, "quantity-empty", ["nothing is written"]),
    ("9" * 201 + " in", D.LENGTH, "quantity-too-long", ["204 characters", "at most 200"]),
    (
        "18 in",
        D.SLOPE,
        "quantity-wrong-kind",
        ["“18 in” is a length; a slope is needed, such as 1/4 in/ft, 2 % or 1 in 50"],
    ),
    ("6 in 12", D.LENGTH, "quantity-wrong-kind", ["is a slope; a length is needed"]),
    ("5 m", D.TIME, "quantity-wrong-kind", ["is a length; a time is needed", "36 h"]),
    ("40 %", D.LENGTH, "quantity-wrong-kind", ["is a ratio"]),
    ("2 %", D.RATE, "quantity-wrong-kind", ["is a ratio; a rate is needed"]),
    ("$5", D.LENGTH, "quantity-wrong-kind", ["is an amount of money"]),
    ("25 min/in", D.SPEED, "quantity-wrong-kind", ["is a rate; a speed is needed"]),
    ("1/4 in/ft", D.RATIO, "quantity-wrong-kind", ["is a slope; a ratio is needed"]),
    ("45°", D.SLOPE, "quantity-wrong-kind", ["is an angle"]),
    ("10-year", D.FREQUENCY, "quantity-wrong-kind", ["is a time; a frequency is needed"]),
    ("12", D.LENGTH, "quantity-unit-missing", ["12 has no unit", "a length is needed"]),
    ("6 1/2", D.LENGTH, "quantity-unit-missing", ["6 1/2 has no unit"]),
    ("0.02", D.SLOPE, "quantity-unit-missing", ["0.02 has no unit", "2 %"]),
    ("5", D.FREQUENCY, "quantity-unit-missing", ["5 has no unit", "1 a year"]),
    ("4' 6", D.LENGTH, "quantity-unit-missing", ["6 has no unit", "write 4' 6\""]),
    ("1 h 30", D.TIME, "quantity-unit-missing", ["30 has no unit"]),
    ("2 cu", D.VOLUME, "quantity-unit-unknown", ["“cu” is no unit"]),
    ("0.6 in/", D.RATE, "quantity-unit-missing", ["ends where a unit should stand"]),
    ("12 ftt", D.LENGTH, "quantity-unit-unknown", ["“ftt” is no unit", "nearest that is one is ft"]),
    ("3 galons", D.VOLUME, "quantity-unit-unknown", ["“galons”", "gallons"]),
    ("3 metrs", D.LENGTH, "quantity-unit-unknown", ["“metrs”", "met"]),
    ("3 T", D.MASS, "quantity-unit-unknown", ["“T”", "2,000 lb", "1,000 kg"]),
    ("3 zorkmids", D.LENGTH, "quantity-unit-unknown", ["“zorkmids” is no unit"]),
    ("3 lb/ft", D.DENSITY, "quantity-unit-unknown", ["make no quantity"]),
    ("3 sq gal", D.AREA, "quantity-unit-unknown", ["cannot be squared"]),
    ("46 x 15 ft", D.AREA, "quantity-unit-missing", ["46", "each side"]),
    ("46 ft x", D.AREA, "quantity-unclear", ["missing"]),
    ("46 ft x 2 h", D.AREA, "quantity-wrong-kind", ["one side"]),
    ("46 ft x 15 ft x 2 ft", D.AREA, "quantity-unit-unknown", []),
    ("46 ft x 15 ft", D.LENGTH, "quantity-unit-unknown", ["“x”"]),
    ("3 h2", D.TIME, "quantity-unit-unknown", ["cannot be squared"]),
    ("0,6 in/h", D.RATE, "quantity-comma", ["a comma is not a decimal point", "write 0.6"]),
    ("1,5 m", D.LENGTH, "quantity-comma", ["write 1.5"]),
    ("0,600 m", D.LENGTH, "quantity-comma", ["write 0.600"]),
    ("10,00,000 m", D.LENGTH, "quantity-comma", ["not where thousands are"]),
    ("1000,000 m", D.LENGTH, "quantity-comma", ["not where thousands are", "1000000"]),
    ("1.000,5 m", D.LENGTH, "quantity-comma", ["comma"]),
    ("4 ft, 6 in", D.LENGTH, "quantity-comma", ["a comma where none belongs"]),
    ("61/2 in", D.LENGTH, "quantity-fraction", ["a space may be missing", "30 1/2 or 6 1/2"]),
    ("6 3/2 in", D.LENGTH, "quantity-fraction", ["6 3/2", "must be less than one"]),
    ("61/2 in 12", D.SLOPE, "quantity-fraction", ["6 1/2"]),
    ("4' 11/2\"", D.LENGTH, "quantity-fraction", ["1 1/2"]),
    ("1/0 in", D.LENGTH, "quantity-zero-division", ["1/0 divides by zero"]),
    ("6 1/0 in", D.LENGTH, "quantity-zero-division", ["divides by zero"]),
    ("1 in 0", D.SLOPE, "quantity-zero-division", ["divides by zero"]),
    ("1 in per 0 ft", D.SLOPE, "quantity-zero-division", ["divides by zero"]),
    ("1 in 0 years", D.FREQUENCY, "quantity-zero-division", ["divides by zero"]),
    ("0 min/in", D.RATE, "quantity-zero-division", ["no rate", "25 min/in"]),
    ("0/8 in 12 ft", D.LENGTH, "quantity-unclear", ["inches or a ratio"]),
    ("1 in 8 ft", D.SLOPE, "quantity-unclear", ["1 in per 8 ft", "1 ft 8 in"]),
    ("6 in 1/2", D.LENGTH, "quantity-unclear", ["6 1/2 in"]),
    ("1/4", D.SLOPE, "quantity-unclear", ["1/4 in/ft or 1 in 4"]),
    ("1/3", D.SLOPE, "quantity-unclear", ["1 in 3"]),
    ("1.5:1", D.SLOPE, "quantity-unclear", ["rise to run, or run to rise", "%"]),
    ("3-5 ft", D.LENGTH, "quantity-unclear", ["range"]),
    ("3 – 5 ft", D.LENGTH, "quantity-unclear", ["range"]),
    ("10 20 ft", D.LENGTH, "quantity-unclear", ["two numbers, 10 and 20"]),
    ("6.5 1/2 in", D.LENGTH, "quantity-unclear", ["two numbers"]),
    ("1 000 mm", D.LENGTH, "quantity-unclear", ["two numbers"]),
    ("4' 14\"", D.LENGTH, "quantity-unclear", ["below 12, not 14"]),
    ("4.5' 6\"", D.LENGTH, "quantity-unclear", ["must be whole"]),
    ("6\" 4'", D.LENGTH, "quantity-unclear", ["feet followed by inches"]),
    ("1 m 20 cm", D.LENGTH, "quantity-unclear", ["feet followed by inches"]),
    ("30 min 1 h", D.TIME, "quantity-unclear", ["must fall"]),
    ("1 h 90 min", D.TIME, "quantity-unclear", ["spills over"]),
    ("1.5 h 10 min", D.TIME, "quantity-unclear", ["whole"]),
    ("18 in in", D.LENGTH, "quantity-unclear", ["left over"]),
    ("1/3/2 in", D.LENGTH, "quantity-unclear", ["takes no unit"]),
    ("NaN", D.LENGTH, "quantity-number", ["“NaN” stands where a number should"]),
    ("inf ft", D.LENGTH, "quantity-number", ["“inf”"]),
    ("-inf", D.LENGTH, "quantity-number", ["“inf”"]),
    ("in", D.LENGTH, "quantity-number", ["“in” stands where a number should"]),
    ("--5 ft", D.LENGTH, "quantity-number", ["“-” stands"]),
    ("-", D.LENGTH, "quantity-number", ["the text ends"]),
    ("1..5 in", D.LENGTH, "quantity-number", ["point too many"]),
    (". in", D.LENGTH, "quantity-number", ["point stands without a figure"]),
    ("9**9**9 ft", D.LENGTH, "quantity-character", ["“*” has no meaning"]),
    ("1_000 ft", D.LENGTH, "quantity-character", ["“_”"]),
    ("€5", D.MONEY, "quantity-character", ["“€”"]),
    ("5¹ ft", D.LENGTH, "quantity-character", ["“¹”"]),
    ("4² ft", D.LENGTH, "quantity-character", ["“^”"]),
    ("5\x00 ft", D.LENGTH, "quantity-character", ["U+0000"]),
    ("٥ ft", D.LENGTH, "quantity-character", ["“٥”"]),
    ("1e999 m", D.LENGTH, "quantity-out-of-range", ["exponent 999"]),
    ("1e99999999999999999999 m", D.LENGTH, "quantity-out-of-range", ["exponent"]),
    ("1e309 m", D.LENGTH, "quantity-out-of-range", ["too large"]),
    ("1e-330 m", D.LENGTH, "quantity-out-of-range", ["too small"]),
]


@pytest.mark.parametrize(("text", "dimension", "code", "pieces"), REFUSED)
def test_every_refusal_says_what_was_read_and_what_is_right(
    text: str, dimension: Dimension, code: str, pieces: list[str]
) -> None:
    """A refusal has its code, shows the text, says what is wrong, and names the kind and examples."""
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension)
    assert caught.value.code == code
    message = caught.value.message
    for piece in [*pieces, f"{NOUNS[dimension]} is needed, such as {EXAMPLES[dimension]}"]:
        assert piece in message
    shown = " ".join(text.split())
    if shown and len(shown) <= 40 and shown.isprintable():
        assert message.startswith(f"“{shown}”")
    assert message.isprintable()
    assert len(message) < 400


BARE = [
    ("12", D.LENGTH, "ft", F(12) * FT),
    ("6 1/2", D.LENGTH, "in", F(13, 2) * IN),
    ("-12.5", D.LENGTH, "ft", F("-12.5") * FT),
    ("1,200", D.AREA, "sq ft", 1200 * FT**2),
    ("18 in", D.LENGTH, "ft", 18 * IN),
    ("25", D.RATE, "min/in", IN / 1500),
    ("0.6", D.RATE, "in/h", F("0.6") * IN / 3600),
    ("1/4", D.SLOPE, "in/ft", F(1, 48)),
    ("1 1/2", D.SLOPE, "in/ft", F(1, 8)),
    ("6/12", D.SLOPE, "in/ft", F(1, 2)),
    ("2", D.SLOPE, "%", F(1, 50)),
    ("3", D.SLOPE, "in/100 ft", F(3, 1200)),
    ("40", D.RATIO, "%", F(2, 5)),
    ("-5", D.TEMPERATURE, "°F", F(-185, 9)),
    ("12.50", D.MONEY, "$", F(25, 2)),
    ("10", D.RETURN_PERIOD, "years", F(10)),
    ("0.1", D.FREQUENCY, "per year", F(1, 10)),
]


@pytest.mark.parametrize(("text", "dimension", "bare_unit", "exact"), BARE)
def test_bare_numbers_take_the_unit_of_their_table(
    text: str, dimension: Dimension, bare_unit: str, exact: Fraction
) -> None:
    """A bare number takes ``bare_unit``; a unit that is typed wins."""
    assert parse(text, dimension, bare_unit=bare_unit).exact == exact


@pytest.mark.parametrize(
    ("text", "dimension", "bare_unit", "code", "piece"),
    [
        ("12", D.LENGTH, "ftt", "quantity-bare-unit", "“ftt”"),
        ("12", D.LENGTH, "gal", "quantity-bare-unit", "is that of a volume"),
        ("12", D.LENGTH, "", "quantity-bare-unit", "nothing is written"),
        ("12", D.LENGTH, "ft 6 in", "quantity-bare-unit", "6 stands in it"),
        ("12", D.LENGTH, "5 ft", "quantity-bare-unit", "5 stands in it"),
        ("12", D.LENGTH, "/", "quantity-bare-unit", "cannot be used"),
        ("0", D.RATE, "min/in", "quantity-bare-unit", "no rate"),
        ("1/50", D.SLOPE, "in/ft", "quantity-unclear", "1/50 in/ft or 1 in 50"),
        ("61/2", D.LENGTH, "in", "quantity-fraction", "6 1/2"),
        ("", D.LENGTH, "ft", "quantity-empty", "nothing is written"),
    ],
)
def test_bare_units_that_cannot_be_used(
    text: str, dimension: Dimension, bare_unit: str, code: str, piece: str
) -> None:
    """A wrong unit of a table is named as the table's."""
    with pytest.raises(QuantityError, match=re.escape(piece)) as caught:
        parse(text, dimension, bare_unit=bare_unit)
    assert caught.value.code == code


@pytest.mark.parametrize("dimension", list(Dimension))
def test_the_examples_in_messages_are_right(dimension: Dimension) -> None:
    """Everything that a message offers as right is read."""
    examples = re.split(r", (?=[0-9$])| or ", EXAMPLES[dimension])
    assert len(examples) >= 2
    for example in examples:
        parse(example, dimension)


def _documented_rows() -> list[tuple[Dimension, str]]:
    rows = []
    for line in DOCS.read_text(encoding="utf-8").splitlines():
        match = re.match(r"\| ([a-z][a-z ]*?)(?: \([^)]*\))? \| (`.*) \|$", line)
        if match and match[1] in set(Dimension):
            rows += [(Dimension(match[1]), form) for form in re.findall(r"`([^`]+)`", match[2])]
    return rows


def test_every_documented_form_is_read() -> None:
    """The page of accepted forms covers every kind, and each of its examples parses."""
    rows = _documented_rows()
    assert {dimension for dimension, _ in rows} == set(Dimension)
    for dimension, form in rows:
        parse(form, dimension)


def test_every_code_is_documented() -> None:
    """The page lists exactly the codes that the package raises."""
    source = Path(__file__).parents[1] / "src" / "roofwell" / "units"
    raised = {
        code
        for path in source.glob("*.py")
        for code in re.findall(r'"(quantity-[a-z-]+)"', path.read_text(encoding="utf-8"))
    }
    documented = set(re.findall(r"^\| `(quantity-[a-z-]+)` \|", DOCS.read_text(encoding="utf-8"), re.M))
    assert documented == raised


@pytest.mark.parametrize("name", ["parsing", "showing", "writing"])
def test_docstring_examples(name: str) -> None:
    """The examples in the docstrings hold."""
    result = doctest.testmod(importlib.import_module(f"roofwell.units.{name}"))
    assert result.attempted > 0
    assert result.failed == 0
