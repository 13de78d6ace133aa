"""The job document: its model, how it is read and written, its starters; rule files and the price book.

Reading never raises for what a person wrote: a bad leaf becomes missing and is listed as a ``Problem``.
"""

from __future__ import annotations

from roofwell.job.described import json_schema
from roofwell.job.model import Job
from roofwell.job.problems import Problem
from roofwell.job.reading import Reading, read, read_file, read_text

__all__ = ["Job", "Problem", "Reading", "json_schema", "read", "read_file", "read_text"]
