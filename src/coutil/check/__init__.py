"""Checks: what the assembled pattern measures against what was ordered, every figure with its limit and verdict."""

from coutil.check._cautions import CAUTIONS
from coutil.check._check import check_style, what_makes_no_sense
from coutil.check._findings import Finding, Verdict

__all__ = ["CAUTIONS", "Finding", "Verdict", "check_style", "what_makes_no_sense"]
