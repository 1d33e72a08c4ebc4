"""Made-to-measure corset patterns: chart in, altered, checked and printed pattern out."""

__version__ = "0.1.0"
