"""Ranges (mm) outside which a reading is doubted: common practice, no source.

For the two readings the survey knows too, only the question of the unit is asked here.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

USUAL_MM: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "waist_girth_compressed": (450.0, 1350.0),
        "upper_bust_girth": (650.0, 1500.0),
        "shoulder_girth": (750.0, 1900.0),
        "hem_girth": (600.0, 1500.0),
        "hem_front": (280.0, 850.0),
        "bust_point_to_centre_top": (60.0, 220.0),
        "bust_point_to_upper_corner": (45.0, 240.0),
        "bust_point_to_underbust": (35.0, 180.0),
        "underbust_to_waist": (25.0, 200.0),
        "bust_to_waist": (110.0, 330.0),
        "centre_front_height": (60.0, 400.0),
        "centre_back_height": (50.0, 420.0),
        "waist_to_high_hip": (38.0, 160.0),
        "waist_to_hip_bone": (15.0, 150.0),
        "centre_front_below_waist": (20.0, 350.0),
        "side_below_waist": (20.0, 350.0),
        "centre_back_below_waist": (20.0, 350.0),
        "waist_to_lap": (90.0, 330.0),
        "top_edge_run": (600.0, 1600.0),
    }
)
