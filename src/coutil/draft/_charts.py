"""Charts of the project's own bases: one figure for each underbust and cup difference, in plain proportions.

Invented proportions, close to those of ordinary bodies; a base is only as good as its chart is known, and this is it.
"""

from __future__ import annotations

from coutil.measure import Chart, Reading

UNDERBUSTS_CM = (65, 70, 75, 80, 85, 90, 95, 100, 105)
CUPS_CM = (10, 14, 18, 22)
# On a broad frame a cup under 10 cm lies in front altogether, or its lower dart would open by less than 25 degrees: so
# much more front bust for every mm of underbust over 900 and of cup difference under 100.
SHALLOW = 0.003


def base_chart(underbust_cm: float, cup_cm: float) -> Chart:
    """The chart of a base, mm; underbust 62 to 108 cm, bust less underbust 8 to 26 cm."""
    under, cup = 10.0 * underbust_cm, 10.0 * cup_cm
    in_front = SHALLOW * max(under - 900.0, 0.0) * max(100.0 - cup, 0.0)
    depth = round(15.0 + 0.45 * cup)
    rise = round(150.0 - 0.04 * under - 0.12 * cup)
    waist = under - 40.0
    readings = {
        "bust_girth": under + cup,
        "bust_front": round(0.44 * under + 1.03 * cup + in_front),
        "underbust_girth": under,
        "underbust_front": round(0.475 * under + 0.16 * cup),
        "waist_girth": waist,
        "waist_front": round(0.50 * waist + 0.08 * cup),
        "high_hip_girth": waist + 45.0,
        "high_hip_front": round(0.50 * (waist + 45.0) + 0.08 * cup),
        "hem_girth": waist + 105.0,
        "hem_front": round(0.49 * (waist + 105.0) + 0.08 * cup),
        "waist_to_high_hip": 40.0,
        "bust_point_separation": round(0.15 * under + 0.30 * cup + 22.0),
        "bust_point_to_underbust": depth,
        "bust_point_to_upper_corner": round(70.0 + 0.20 * cup + 0.02 * under),
        "bust_point_to_armhole": round(60.0 + 0.18 * cup + 0.02 * under),
        "underbust_to_waist": rise,
        "side_height": round(rise + 0.62 * depth + 42.0),
        "centre_back_height": round(rise + 0.62 * depth + 42.0),
        "centre_front_height": round(rise + 0.60 * depth + 48.0),
        "centre_front_below_waist": 90.0,
        "side_below_waist": 90.0,
        "centre_back_below_waist": 90.0,
    }
    name = f"base underbust {underbust_cm:g} cup {cup_cm:g} cm"
    return Chart(name, {key: Reading(float(mm)) for key, mm in readings.items()}, invented=True)
