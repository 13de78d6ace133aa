"""The kinds of leaves that a job document is made of, and the table that holds them.

A leaf with a unit is a text as the trade writes it (``"18 in"``); it becomes a ``units.Quantity``, which
keeps the text. A bare number is refused unless its table names the unit that serves every bare length in it
(``unit = "ft"``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import Annotated, Any, Literal, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    model_validator,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from roofwell import units
from roofwell.errors import QuantityError
from roofwell.units import Dimension, Quantity

Sign = Literal["any", "not negative", "positive"]

_STEEPEST_RAD = math.radians(80)  # a steeper roof is a wall
_FARTHEST_FROM_SEA_M = 10_000  # above every mountain, whatever datum a job chooses
# finer than clay, smaller than a seed, longer than any lot: nothing of a job is measured so
_LEAST_SI = {Dimension.LENGTH: 1e-7, Dimension.AREA: 1e-6}
_LONGEST_M = 2_000

EXAMPLES: dict[Dimension, list[str]] = {
    Dimension.LENGTH: ["18 in", "4' 6 1/2\"", "6.5 ft", "1.5 m"],
    Dimension.AREA: ["640 sq ft", "59.5 m2"],
    Dimension.SLOPE: ["1/4 in/ft", "2 %", "1 in 50", "6 in 12"],
    Dimension.RATE: ["0.6 in/h", "25 min/in", "15 mm/h"],
    Dimension.TIME: ["10 min", "48 h"],
    Dimension.RETURN_PERIOD: ["10 yr"],
    Dimension.RATIO: ["40 %"],
    Dimension.ANGLE: ["30 deg"],
    Dimension.FREQUENCY: ["1 a year"],
    Dimension.MONEY: ["$12,000"],
    Dimension.DENSITY: ["1.35 ton/cu yd"],
    Dimension.FLOW: ["20 gpm"],
    Dimension.VOLUME: ["5 gal", "2 L"],
    Dimension.TEMPERATURE: ["50 F"],
    Dimension.MASS: ["20 lb", "9 kg"],
}


@dataclass(frozen=True, slots=True)
class QuantityOf:
    """Marks a leaf as a quantity of one dimension and sign; reads it from text."""

    dimension: Dimension
    sign: Sign = "any"
    degrees: bool = False  # whether an angle from the level serves as well

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self.read,
            serialization=core_schema.plain_serializer_function_ser_schema(lambda q: getattr(q, "text", q)),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        examples = EXAMPLES.get(self.dimension, [])
        sign = "" if self.sign == "any" else f", {self.sign}"
        return {
            "type": ["string", "number"] if self.dimension is Dimension.LENGTH else "string",
            "description": f"a {self.dimension.value.replace('_', ' ')}{sign}",
            "examples": examples,
        }

    def read(self, value: Any) -> Quantity:
        """Read one leaf; every refusal is a ``PydanticCustomError`` whose message is for the person."""
        if isinstance(value, Quantity):
            return value
        return _read_before(self, value) if value.__class__ is str else self._read(value)

    def _read(self, value: Any) -> Quantity:
        """``read`` without looking for what was read before."""
        examples = " or ".join(f'"{text}"' for text in EXAMPLES.get(self.dimension, [])[:2])
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise PydanticCustomError(
                "not-a-quantity", "{reason}", {"reason": f"a text with a unit is needed, such as {examples}"}
            )
        if isinstance(value, float) and not math.isfinite(value):
            raise PydanticCustomError(
                "not-finite", "{reason}", {"reason": f"nan and inf are no measurement; write {examples}"}
            )
        if not isinstance(value, str):
            if self.dimension in (Dimension.RATIO, Dimension.MONEY):
                value = repr(value)
            else:
                lengths = self.dimension is Dimension.LENGTH
                once = ', or unit = "ft" on a line of its own in this table' if lengths else ""
                raise PydanticCustomError(
                    "bare-number",
                    "{reason}",
                    {
                        "reason": f"a bare number has no unit, and a guess may be far off; write {examples}{once}"
                    },
                )
        try:
            quantity = self._parse(value)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{reason}", {"reason": error.message}) from None
        if self.sign == "positive" and quantity.exact <= 0:
            raise PydanticCustomError(
                "not-positive", "{reason}", {"reason": f"must be above zero, such as {examples}"}
            )
        if self.sign == "positive" and quantity.value_si < _LEAST_SI.get(self.dimension, 0.0):
            raise PydanticCustomError(
                "too-small",
                "{reason}",
                {"reason": f"nothing is as small as that; write for instance {examples}"},
            )
        if self.sign != "any" and self.dimension is Dimension.LENGTH and quantity.exact > _LONGEST_M:
            raise PydanticCustomError(
                "too-large",
                "{reason}",
                {"reason": f"nothing at a house is as long as that; write for instance {examples}"},
            )
        if self.sign == "not negative" and quantity.exact < 0:
            raise PydanticCustomError(
                "negative", "{reason}", {"reason": f"cannot be below zero; write for instance {examples}"}
            )
        return quantity

    def _parse(self, text: str) -> Quantity:
        """Read a text; where degrees serve, an angle gives the slope of a plane at that angle to the level."""
        if not self.degrees:
            return units.parse(text, self.dimension)
        try:
            return units.parse(text, self.dimension)
        except QuantityError:
            try:
                angle = units.parse(text, Dimension.ANGLE).value_si
            except QuantityError:
                angle = math.inf
            if not 0.0 <= angle <= _STEEPEST_RAD:
                raise
        exact = Fraction(math.tan(angle))
        return Quantity(text, float(exact), self.dimension, exact)


@lru_cache(maxsize=4096)
def _read_before(of: QuantityOf, text: str) -> Quantity:
    """Read a text that the edits before had too: most of a document stays as it was."""
    return of._read(text)


def _on_earth(quantity: Quantity) -> Quantity:
    if abs(quantity.exact) > _FARTHEST_FROM_SEA_M:
        raise PydanticCustomError(
            "not-on-earth",
            "{reason}",
            {"reason": 'no ground lies there; write an elevation such as "98.1 ft"'},
        )
    return quantity


Elevation = Annotated[Quantity, QuantityOf(Dimension.LENGTH), AfterValidator(_on_earth)]
Coordinate = Annotated[Quantity, QuantityOf(Dimension.LENGTH)]
Length = Annotated[Quantity, QuantityOf(Dimension.LENGTH, "positive")]
Height = Annotated[Quantity, QuantityOf(Dimension.LENGTH, "not negative")]
Area = Annotated[Quantity, QuantityOf(Dimension.AREA, "positive")]
Slope = Annotated[Quantity, QuantityOf(Dimension.SLOPE, "not negative")]
Pitch = Annotated[Quantity, QuantityOf(Dimension.SLOPE, "not negative", degrees=True)]
Rate = Annotated[Quantity, QuantityOf(Dimension.RATE, "positive")]
Time = Annotated[Quantity, QuantityOf(Dimension.TIME, "positive")]
ReturnPeriod = Annotated[Quantity, QuantityOf(Dimension.RETURN_PERIOD, "positive")]
Angle = Annotated[Quantity, QuantityOf(Dimension.ANGLE)]
Frequency = Annotated[Quantity, QuantityOf(Dimension.FREQUENCY, "not negative")]
Money = Annotated[Quantity, QuantityOf(Dimension.MONEY, "not negative")]
Density = Annotated[Quantity, QuantityOf(Dimension.DENSITY, "positive")]
Flow = Annotated[Quantity, QuantityOf(Dimension.FLOW, "positive")]
Volume = Annotated[Quantity, QuantityOf(Dimension.VOLUME, "positive")]
Temperature = Annotated[Quantity, QuantityOf(Dimension.TEMPERATURE)]
Mass = Annotated[Quantity, QuantityOf(Dimension.MASS, "positive")]
Permittivity = Annotated[Quantity, QuantityOf(Dimension.PERMITTIVITY, "positive")]


def _share(quantity: Quantity) -> Quantity:
    if not 0 <= quantity.exact <= 1:
        raise PydanticCustomError(
            "not-a-share", "{reason}", {"reason": 'must lie between 0 % and 100 %, such as "40 %"'}
        )
    return quantity


Share = Annotated[Quantity, QuantityOf(Dimension.RATIO, "not negative"), AfterValidator(_share)]
PositiveShare = Annotated[Quantity, QuantityOf(Dimension.RATIO, "positive"), AfterValidator(_share)]
Ratio = Annotated[Quantity, QuantityOf(Dimension.RATIO, "not negative")]


Point = Annotated[tuple[Coordinate, Coordinate], "east and north in the job's own frame"]
Path = Annotated[tuple[Point, ...], "points in order"]
Outline = Annotated[tuple[Point, ...], "corners in order, not closed"]

Id = str
State = Literal["existing", "proposed", "abandoned"]
LengthUnit = Literal["in", "ft", "mm", "cm", "m"]


def _has_length(annotation: Any, metadata: tuple[Any, ...] = ()) -> bool:
    if any(isinstance(mark, QuantityOf) and mark.dimension is Dimension.LENGTH for mark in metadata):
        return True
    if getattr(annotation, "__metadata__", None) and _has_length(None, annotation.__metadata__):
        return True
    return any(_has_length(part) for part in get_args(annotation))


def _with_unit(value: Any, unit: str) -> Any:
    if isinstance(value, bool) or (isinstance(value, int) and abs(value) >= 10**15):
        return value  # no lot is that wide, and such a number may have too many digits to be written
    if isinstance(value, (int, float)):
        return f"{value!r} {unit}"
    if isinstance(value, (list, tuple)):
        return [_with_unit(item, unit) for item in value]
    return value


class Table(BaseModel):
    """One table of the document. Every leaf but those named as required may be left out (``None``)."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    unit: LengthUnit | None = None
    note: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _serve_unit(cls, data: Any) -> Any:
        """Give every bare length of the table, and of the list entries in it, the table's own unit."""
        unit = data.get("unit") if isinstance(data, Mapping) else None
        if not isinstance(unit, str) or unit not in get_args(LengthUnit):
            return data
        out = dict(data)
        for key, is_length in _keys(cls).items():
            if key in out and is_length:
                out[key] = _with_unit(out[key], unit)
            elif isinstance(out.get(key), (list, tuple)):
                out[key] = [{"unit": unit, **v} if isinstance(v, Mapping) else v for v in out[key]]
        return out


@cache
def _keys(table: type[Table]) -> dict[str, bool]:
    """Return every key of a table, and whether a length stands there."""
    return {
        key: _has_length(field.annotation, tuple(field.metadata))
        for name, field in table.model_fields.items()
        for key in (name, field.alias)
        if key
    }
