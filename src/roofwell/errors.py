"""Every error that Roofwell raises on purpose.

The tree::

    RoofwellError
    ├── InputError (ValueError)       a number or a file that cannot be used; says what would be right
    │   ├── QuantityError             a text that is not a quantity of the kind asked for
    │   └── DocumentError             a job document that cannot be read at all (not TOML, newer version)
    ├── ConflictError                 two people changed one job: neither is written over
    └── InternalError (RuntimeError)  our own fault: a promise between rooms was broken

A failed check is never an exception: it is a finding. Content problems of a job document are never
exceptions either: they come all at once in ``Reading.problems``.
"""

from __future__ import annotations


class RoofwellError(Exception):
    """Root of all errors raised on purpose.

    ``code`` is a stable kebab-case word for tests and for programs; the message is for the person.
    """

    def __init__(self, message: str, *, code: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


class InputError(RoofwellError, ValueError):
    """A number or a file that cannot be used. The message says what was read and what would be right."""


class QuantityError(InputError):
    """A text that is not a quantity of the kind asked for."""


class DocumentError(InputError):
    """A job document that cannot be read at all: not TOML, no version, or made by a newer Roofwell."""


class ConflictError(RoofwellError):
    """Somebody else changed the job meanwhile; nothing was written over, the person chooses."""


class InternalError(RoofwellError, RuntimeError):
    """A promise between rooms was broken: our own fault, never the user's."""
