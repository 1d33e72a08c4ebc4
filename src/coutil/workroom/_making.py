"""How an order is to be made, as the fields of its page, turned into the order file's own reading of them."""

from __future__ import annotations

import json
from collections.abc import Mapping

from coutil.cut import OrderOptions
from coutil.measure import Unit
from coutil.order_file import order_from_toml

CHOICES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "construction": (
        ("", "as in the base"),
        ("single", "single layer"),
        ("mounted", "mounted: outer on strength, sewn as one"),
        ("sandwich", "sandwich: two layers, casings between"),
        ("floating_lining", "floating lining"),
    ),
    "closure": (("", "as in the base"), ("busk", "busk"), ("closed", "closed front")),
    "finish": (("", "bound"), ("turned", "turned in")),
    "casings": (
        ("", "by construction"),
        ("strips", "strips"),
        ("allowances", "in the seam allowances"),
        ("between", "between the layers"),
    ),
}
SWITCHES: Mapping[str, str] = {
    "modesty_panel": "modesty panel",
    "waist_tape": "waist tape",
    "stay_tape": "stay tape at the neckline",
    "loops": "loops",
}
LENGTHS: Mapping[str, str] = {
    "foam": "thickness of the cups' foam",
    "binding": "width of the finished binding",
    "eyelet_spacing": "eyelets apart",
}
NAMES = (*CHOICES, *SWITCHES, *LENGTHS)


def making_options(making: Mapping[str, str], reference: str, wear: str, due: str, unit: Unit) -> OrderOptions:
    """The order's options; raises BadInput for what cannot be made."""
    lines = [f"unit = {json.dumps(unit)}", f"reference = {_quoted(reference)}", f"wear = {_quoted(wear)}"]
    if due:
        lines.append(f"due = {_quoted(due)}")
    for name, value in making.items():
        if not value or name not in NAMES:
            continue
        lines.append(f"{name} = {'true' if value == 'yes' else 'false'}" if name in SWITCHES else _text(name, value))
    return order_from_toml("\n".join(lines), unit)


def _text(name: str, value: str) -> str:
    return f"{name} = {_quoted(value)}"


def _quoted(value: str) -> str:
    """A TOML string: JSON's escapes are TOML's, except for what lies beyond the first plane, which stays as it is."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
