"""Write src/coutil/measure/_bodies.py from a survey of torsos.

    python tools/make_body_statistics.py tests/data/bodies.csv > src/coutil/measure/_bodies.py

Means, covariances and ranges of the measurements that `chart_from_survey_row` knows, in mm and mm^2.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path
from textwrap import fill

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

from coutil.measure import Chart, chart_from_survey_row

# The survey's high hip lies 100 mm below every waist, so its depth does not vary and can predict nothing.
LEFT_OUT = {"waist_to_high_hip"}
STEMS = ("bust", "underbust", "waist", "high_hip", "hip")


def main(path: str) -> None:
    """Print the module made from the survey at `path`."""
    with Path(path).open(newline="", encoding="utf-8") as file:
        charts = [chart_from_survey_row(row) for row in csv.DictReader(file)]
    keys = [key for key in charts[0] if key not in LEFT_OUT]
    values = np.array([[chart[key] for key in keys] for chart in charts])
    covariance = np.cov(values, rowvar=False)
    print('"""Statistics of surveyed torsos (mm, mm^2).')
    print("\nMade by tools/make_body_statistics.py and never edited.")
    print("COVARIANCE holds the lower triangle, row by row, in the order of KEYS.")
    print(f'FRONT_SHARES is the least and most of front arc over girth in {len(charts)} bodies.\n"""\n')
    print("from __future__ import annotations\n\n# fmt: off")
    print_tuple("KEYS", [f'"{key}"' for key in keys], "tuple[str, ...]")
    print_tuple("MEANS", [f"{mean:.1f}" for mean in values.mean(axis=0)], "tuple[float, ...]")
    print("COVARIANCE: tuple[tuple[float, ...], ...] = (")
    for row in range(len(keys)):
        print("    (")
        entries = [f"{entry:.0f}.0," for entry in covariance[row, : row + 1]]
        print(fill(" ".join(entries), 100, initial_indent=" " * 8, subsequent_indent=" " * 8))
        print("    ),")
    print(")")
    print("FRONT_SHARES: dict[str, tuple[float, float]] = {")
    for stem in STEMS:
        least, most = front_share_range(charts, stem)
        print(f'    "{stem}": ({least:.3f}, {most:.3f}),')
    print("}")


def print_tuple(name: str, items: list[str], kind: str) -> None:
    """Print a tuple, one item a line."""
    print(f"{name}: {kind} = (")
    for item in items:
        print(f"    {item},")
    print(")")


def front_share_range(charts: list[Chart], stem: str) -> tuple[float, float]:
    """The least and the most of front arc over girth at that level."""
    shares = [chart[f"{stem}_front"] / chart[f"{stem}_girth"] for chart in charts]
    return min(shares), max(shares)


if __name__ == "__main__":
    main(sys.argv[1])
