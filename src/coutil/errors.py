"""One tree of errors, each with the exit code the command line ends with.

CoutilError
├── BadInput        2  what was given cannot be used: file, chart, style, option
│   ├── BadCurve    2  a curve that cannot exist (NaN, wrong number of points, no length)
│   ├── BadChart    2  a chart that cannot be read
│   └── BadStyle    2  a pattern with a structural fault
└── CannotDraft     2  a base cannot be drafted from this chart

Every message is one sentence that says what is wrong, where, and how to mend it.
"""

from __future__ import annotations


class CoutilError(Exception):
    """The root: anything that the program says in one sentence instead of failing."""

    exit_code = 2


class BadInput(CoutilError):
    """What was given cannot be used."""


class BadCurve(BadInput):
    """A curve that cannot exist."""


class BadChart(BadInput):
    """A chart that cannot be read."""


class BadStyle(BadInput):
    """A pattern with a structural fault."""


class CannotDraft(CoutilError):
    """A base cannot be drafted from this chart."""
