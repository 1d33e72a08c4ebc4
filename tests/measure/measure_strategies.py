"""Charts for property tests."""

from __future__ import annotations

from hypothesis import strategies as st

from coutil.measure import MEASUREMENTS, Chart, Reading

DATES = st.dates().map(lambda day: day.isoformat())
WORDS = st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=30)
SIZES = st.integers(0, 3_000_000).map(lambda thousandths: thousandths / 1000)


def readings() -> st.SearchStrategy[Reading]:
    """Single, estimated and repeated readings, to a thousandth of a millimetre."""
    single = st.builds(
        Reading, SIZES, st.sampled_from(["measured", "estimated", "repeated"]), st.none() | DATES
    )
    return single | st.builds(Reading.of_repeats, st.lists(SIZES, min_size=2, max_size=5), st.none() | DATES)


def charts() -> st.SearchStrategy[Chart]:
    """Charts of any keys, some of one side, with any notes that can be printed."""
    keys = st.builds(
        str.__add__, st.sampled_from(sorted(MEASUREMENTS)), st.sampled_from(["", "_left", "_right"])
    )
    return st.builds(
        Chart,
        name=WORDS,
        readings=st.dictionaries(keys, readings(), min_size=1, max_size=8),
        worn=WORDS,
        taken=st.just("") | DATES,
        invented=st.booleans(),
    )
