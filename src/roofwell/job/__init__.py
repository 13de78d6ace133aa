"""The job document: its model, how it is read and written, its starters; rule files and the price book.

Reading never raises for what a person wrote: a bad leaf becomes missing and is listed as a ``Problem``.
"""

from __future__ import annotations

from roofwell.job.model import Job, json_schema
from roofwell.job.reading import Problem, Reading, read, read_file, read_text

__all__ = ["Job", "Problem", "Reading", "json_schema", "read", "read_file", "read_text"]
