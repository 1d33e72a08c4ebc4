"""Charts of the panelled bases and the waist corsets: plain proportions, invented, close to ordinary bodies."""

from __future__ import annotations

from coutil.draft._charts import base_chart
from coutil.measure import Chart, Reading

PANELLED_UNDERBUSTS_CM = (65, 75, 85, 95, 105)
PANELLED_CUPS_CM = (2, 10, 18)
WAISTS_CM = (56, 64, 72, 80, 88, 96)

# Readings over the breast and of a cup's edges that a panelled front is not drawn to.
OF_CUP = ("bust_point_to_underbust", "bust_point_to_upper_corner", "bust_point_to_armhole")
# Part of the cup difference that lies in front: on a chest without breasts it is small and mostly in front as well.
FRONT_OF_CUP = 0.72
# A waist corset's body is that of a base with this cup, which only shares the girths between front and back.
MIDDLE_CUP_CM = 12.0


def panelled_chart(underbust_cm: float, cup_cm: float) -> Chart:
    """The chart of a panelled base, mm; underbust 62 to 108 cm, bust less underbust 0 to 20 cm.

    The bust stands 28 mm above the underbust, plumb, and 0.16 of the cup difference more: on surveyed torsos 50 mm at
    14 cm.
    """
    plain = base_chart(underbust_cm, cup_cm)
    under = plain["underbust_to_waist"]
    bust = round(under + 28.0 + 0.16 * 10.0 * cup_cm)
    own = {
        "bust_front": float(round(plain["underbust_front"] + FRONT_OF_CUP * 10.0 * cup_cm)),
        "bust_level_to_waist": float(bust),
        "side_height": bust + 32.0,
        "centre_front_height": bust + 40.0,
        "centre_back_height": bust + 32.0,
    }
    kept = {key: reading for key, reading in plain.readings.items() if key not in OF_CUP}
    name = f"panelled base underbust {underbust_cm:g} cup {cup_cm:g} cm"
    return Chart(name, {**kept, **{key: Reading(mm) for key, mm in own.items()}}, invented=True)


def waist_chart(waist_cm: float) -> Chart:
    """The chart of a waist corset, mm; waist 52 to 104 cm."""
    plain = base_chart(waist_cm + 4.0, MIDDLE_CUP_CM)
    waist = 10.0 * waist_cm
    under = plain["underbust_to_waist"]
    readings = {
        "underbust_girth": waist + 40.0,
        "underbust_front": plain["underbust_front"],
        "waist_girth": waist,
        "waist_front": plain["waist_front"],
        "high_hip_girth": waist + 75.0,
        "high_hip_front": round(0.49 * (waist + 75.0) + 8.0),
        "waist_to_high_hip": 60.0,
        "underbust_to_waist": under,
        "side_height": under + 14.0,
        "centre_front_height": under + 20.0,
        "centre_back_height": under + 24.0,
        "centre_front_below_waist": 92.0,
        "side_below_waist": 76.0,
        "centre_back_below_waist": 82.0,
    }
    name = f"waist corset waist {waist_cm:g} cm"
    return Chart(name, {key: Reading(float(mm)) for key, mm in readings.items()}, invented=True)
