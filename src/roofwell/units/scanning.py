"""Cut a typed quantity into numbers, unit words and signs. Linear in the length of the text."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from roofwell.errors import QuantityError

LONGEST_TEXT = 200
LONGEST_SHOWN = 40
LARGEST_EXPONENT = 330

_SAME = str.maketrans(
    {
        **dict.fromkeys("−‐‑‒–—", "-"),
        **dict.fromkeys("′’‘´ʹ", "'"),
        **dict.fromkeys("″”“ʺ", '"'),
        **dict.fromkeys("⁄∕", "/"),
        "×": "x",
        "℃": "°C",
        "℉": "°F",
        "º": "°",
        "²": "^2",
        "³": "^3",
        "½": " 1/2 ",
        "⅓": " 1/3 ",
        "⅔": " 2/3 ",
        "¼": " 1/4 ",
        "¾": " 3/4 ",
        "⅕": " 1/5 ",
        "⅖": " 2/5 ",
        "⅗": " 3/5 ",
        "⅘": " 4/5 ",
        "⅙": " 1/6 ",
        "⅚": " 5/6 ",
        "⅛": " 1/8 ",
        "⅜": " 3/8 ",
        "⅝": " 5/8 ",
        "⅞": " 7/8 ",
    }
)
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_TEN_TO_THE = re.compile("([x×] ?10)([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)")

_FRACTION = re.compile(
    r"(?:(?P<whole>[0-9][0-9,]*)(?: |-))?(?P<numerator>[0-9]+)/(?P<denominator>[0-9]+)(?![0-9.,])"
)
_DECIMAL = re.compile(
    r"(?P<digits>[0-9][0-9,]*)?(?P<decimals>\.[0-9]+)?"
    r"(?:[eE](?P<e>[+-]?[0-9]+)| ?[x*] ?10\^(?P<ten>[+-]?[0-9]+))?"
)
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+")
_INVERSE_SECOND = re.compile(r"(?:secs?|seconds?|s)(?:\^?-1)(?![0-9A-Za-z.,'\"])")
_WORD = re.compile(r"(?P<word>[A-Za-z]+)(?:(?P<power>\^?[23])(?![0-9A-Za-z.,'\"]))?\.?")
_DEGREES = re.compile(r"° ?([CF])(?![A-Za-z])")
_COUNTS = {"once": Fraction(1), "twice": Fraction(2)}


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of the text.

    ``kind`` is ``number``, ``unit`` (a word, or ``'``, ``"``, ``%``, ``°``) or ``sign`` (anything else that
    has a meaning here). ``denominator`` is the one of a typed fraction, 0 for a decimal; ``improper`` marks a
    fraction with no whole part that is one or more.
    """

    kind: Literal["number", "unit", "sign"]
    text: str
    value: Fraction = Fraction(0)
    power: int = 1
    denominator: int = 0
    mixed: bool = False
    improper: bool = False


def short(text: str) -> str:
    """Return ``text`` as a message may quote it: on one line, printable, and not long."""
    line = " ".join(text[: 5 * LONGEST_SHOWN].split())
    line = "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in line)
    return line if len(line) <= LONGEST_SHOWN else line[:LONGEST_SHOWN] + "…"


def scan(text: str) -> list[Token]:
    """Cut ``text`` into tokens.

    Raises
    ------
    QuantityError
        ``quantity-empty``, ``quantity-too-long``, ``quantity-comma``, ``quantity-number``,
        ``quantity-zero-division``, ``quantity-out-of-range``, ``quantity-character``: the message is only the
        reason; the caller says what was read and what would be right.
    """
    if len(text) > LONGEST_TEXT:
        raise QuantityError(
            f"{len(text)} characters are too many for one quantity (at most {LONGEST_TEXT})",
            code="quantity-too-long",
        )
    plain = _plain(text)
    if not plain:
        raise QuantityError("nothing is written", code="quantity-empty")
    tokens: list[Token] = []
    at = 0
    while at < len(plain):
        if plain[at] == " ":
            at += 1
            continue
        token, at = _next(plain, at)
        tokens.append(token)
    return tokens


def _plain(text: str) -> str:
    text = _TEN_TO_THE.sub(lambda m: f"{m[1]}^{m[2].translate(_SUPERSCRIPTS)}", text)
    return " ".join(text.replace("⁻¹", "^-1").translate(_SAME).replace("''", '"').split())


def _next(plain: str, at: int) -> tuple[Token, int]:
    if plain[at] in "0123456789.":
        return _number(plain, at)
    match = _INVERSE_SECOND.match(plain, at)
    if match:
        return Token("unit", "s", power=-1), match.end()
    match = _WORD.match(plain, at)
    if match:
        word = match["word"]
        if word.lower() in _COUNTS:
            return Token("number", word, _COUNTS[word.lower()]), match.end()
        return Token("unit", word, power=int((match["power"] or "1")[-1])), match.end()
    if plain[at] == "°" and (match := _DEGREES.match(plain, at)):
        return Token("unit", match[1]), match.end()
    if plain[at] in "%°":
        return Token("unit", plain[at]), at + 1
    if plain[at] in "'\"":
        return Token("unit", "ft" if plain[at] == "'" else '"'), at + 1
    if plain[at] in "+-/:$":
        return Token("sign", plain[at]), at + 1
    if plain[at] == ",":
        raise QuantityError("there is a comma where none belongs", code="quantity-comma")
    shown = plain[at] if plain[at].isprintable() else f"U+{ord(plain[at]):04X}"
    raise QuantityError(f"“{shown}” has no meaning here", code="quantity-character")


def _number(plain: str, at: int) -> tuple[Token, int]:
    match = _FRACTION.match(plain, at)
    if match:
        return _fraction(match), match.end()
    match = _DECIMAL.match(plain, at)
    if not match or match.end() == at:
        raise QuantityError("a point stands without a figure after it", code="quantity-number")
    end = match.end()
    if plain[end : end + 1] == ".":
        raise QuantityError("a number has a point too many", code="quantity-number")
    value = Fraction(_ungroup(match["digits"] or "0") + (match["decimals"] or ""))
    exponent = match["e"] or match["ten"]
    if exponent:
        if len(exponent) > 4 or abs(int(exponent)) > LARGEST_EXPONENT:
            raise QuantityError(f"the exponent {exponent[:12]} is out of range", code="quantity-out-of-range")
        value *= Fraction(10) ** int(exponent)
    return Token("number", short(match[0]), value), end


def _fraction(match: re.Match[str]) -> Token:
    numerator, denominator = int(match["numerator"]), int(match["denominator"])
    if denominator == 0:
        raise QuantityError(f"{short(match[0])} divides by zero", code="quantity-zero-division")
    part = Fraction(numerator, denominator)
    text = short(match[0])
    if match["whole"] is None:
        return Token("number", text, part, denominator=denominator, improper=part >= 1)
    if part >= 1:
        raise QuantityError(
            f"the fraction in {text} is one or more; after a whole number it must be less than one",
            code="quantity-fraction",
        )
    return Token(
        "number", match[0], int(_ungroup(match["whole"])) + part, denominator=denominator, mixed=True
    )


def _ungroup(digits: str) -> str:
    if "," not in digits:
        return digits
    plain = digits.replace(",", "")
    if _GROUPED.fullmatch(digits):
        return plain
    if digits.count(",") == 1:
        whole, _, rest = digits.partition(",")
        if rest and (len(rest) != 3 or whole.startswith("0")):
            right = short(f"{whole}.{rest}")
            raise QuantityError(
                f"a comma is not a decimal point here; write {right} instead of {short(digits)}",
                code="quantity-comma",
            )
    raise QuantityError(
        f"the commas in {short(digits)} are not where thousands are; write {short(plain)}",
        code="quantity-comma",
    )
