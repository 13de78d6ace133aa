"""Values of the monthly rain and temperature of a place that cannot be."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell import tables
from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault

MONTHS = 12
COLDEST_C, WARMEST_C = -60.0, 50.0  # no place on earth has a colder or a warmer month


def rain_faults(job: Job) -> Iterator[Fault]:
    """Find twelve months that are not twelve, and months that no place has."""
    rain = job.rain
    for name, values, what in (
        ("monthly_rain", rain.monthly_rain, "depths"),
        ("air_temperatures", rain.air_temperatures, "temperatures"),
    ):
        path: KeyPath = ("rain", name)
        if values and len(values) != MONTHS:
            message = f"{len(values)} {what}; a year has twelve months, January first"
            yield Fault(path, message, "makes-no-sense", (path,))
    most = tables.limit("rain-year-most", job.job.units or "us")
    year_m = sum(depth.value_si for depth in rain.monthly_rain)
    whole: KeyPath = ("rain", "monthly_rain")
    if len(rain.monthly_rain) == MONTHS and not 0 < year_m <= most.value_si:
        message = (
            f'a year\'s rain lies above 0 and up to {most.text}; write each month as "3.4 in" or "86 mm"'
        )
        yield Fault(whole, message, "makes-no-sense", (whole,))
    for index, temperature in enumerate(rain.air_temperatures):
        if not COLDEST_C <= temperature.value_si <= WARMEST_C:
            at: KeyPath = ("rain", "air_temperatures", index)
            message = 'no month on earth is that cold or warm; write the mean of the month, such as "28 F" or "-2 C"'
            yield Fault(at, message, "makes-no-sense", (at,))
    if rain.record_elsewhere is not None and rain.record is None:
        path = ("rain", "record_elsewhere")
        message = "this speaks of a record of your own, and rain.record names none"
        yield Fault(path, message, "contradiction", (path,))
    if rain.uplift_record and rain.uplift is None:
        path = ("rain", "uplift_record")
        message = "the record is raised by the same share as the table; write it as rain.uplift"
        yield Fault(path, message, "contradiction", (path,))
