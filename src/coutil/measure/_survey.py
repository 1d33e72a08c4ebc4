"""Charts from the rows of a survey of torsos measured as a tape would, in centimetres.

Columns used (a row may lack any of them): `body`; `LEVEL_girth` and `LEVEL_front` for the levels bust,
underbust, waist, highhip and hip; `waist_z` and `highhip_z` (heights above the floor); `apex_separation`; the
pairs ending in `_L` and `_R` of `apex_to_fold_surf`, `apex_to_armfold`, `side_height_vert` and
`apex_to_waist_vert`;
`waist_to_underbust_vert`; `waist_to_hip_vert`; `height`.
"""

from __future__ import annotations

from collections.abc import Mapping

from coutil.errors import BadChart
from coutil.measure._chart import Chart, Reading
from coutil.measure._definitions import MEASUREMENTS

_MM_PER_CM = 10.0
BELOW_ARMPIT_MM = 30.0  # The planned underarm edge lies 25 to 40 mm below the armpit (common practice).
SHARE_TO_ARMHOLE = 0.75  # The planned armhole edge lies well short of the front armpit fold.

_SINGLE = {
    "bust_girth": "bust_girth",
    "underbust_girth": "underbust_girth",
    "waist_girth": "waist_girth",
    "highhip_girth": "high_hip_girth",
    "hip_girth": "hip_girth",
    "bust_front": "bust_front",
    "underbust_front": "underbust_front",
    "waist_front": "waist_front",
    "highhip_front": "high_hip_front",
    "hip_front": "hip_front",
    "apex_separation": "bust_point_separation",
    "waist_to_underbust_vert": "underbust_to_waist",
    "waist_to_hip_vert": "waist_to_hip",
    "height": "height",
}
_PAIRS = {  # column without its side: key, share kept, mm taken off
    "apex_to_fold_surf": ("bust_point_to_underbust", 1.0, 0.0),
    "apex_to_armfold": ("bust_point_to_armhole", SHARE_TO_ARMHOLE, 0.0),
    "apex_to_waist_vert": ("bust_level_to_waist", 1.0, 0.0),
    "side_height_vert": ("side_height", 1.0, BELOW_ARMPIT_MM),
}


def chart_from_survey_row(row: Mapping[str, str]) -> Chart:
    """The chart of one row; raises BadChart where a cell is no number.

    The side height is the armpit's less 30 mm; the distance to the armhole is 0.75 of that to the fold.
    """
    found = {key: _mm(row, column) for column, key in _SINGLE.items() if row.get(column)}
    if row.get("waist_z") and row.get("highhip_z"):
        found["waist_to_high_hip"] = _mm(row, "waist_z") - _mm(row, "highhip_z")
    for column, (key, share, off) in _PAIRS.items():
        sides = [_mm(row, f"{column}_{side}") for side in "LR" if row.get(f"{column}_{side}")]
        if sides:
            found[key] = share * sum(sides) / len(sides) - off
    readings = {key: Reading(found[key]) for key in MEASUREMENTS if key in found}
    return Chart(f"survey body {row.get('body', '')}", readings, invented=True)


def _mm(row: Mapping[str, str], column: str) -> float:
    try:
        return float(row[column]) * _MM_PER_CM
    except ValueError:
        raise BadChart(f"The survey's column {column} holds {row[column][:40]!r}, no number.") from None
