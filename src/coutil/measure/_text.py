"""Charts as TOML and JSON text, and the choice of a reader by the file's suffix."""

from __future__ import annotations

import json
import tomllib
from typing import Any

from coutil.errors import BadChart
from coutil.measure._chart import Chart
from coutil.measure._csv_text import chart_from_csv
from coutil.measure._data import chart_from_data, chart_to_data
from coutil.measure._guard import checked_text, decoded
from coutil.measure._units import Unit


def chart_from_text(content: str | bytes, suffix: str, unit: Unit | None = None) -> Chart:
    """The chart from a file's content; `suffix` is .csv, .toml or .json, `unit` holds where none is named.

    Raises BadChart for any other suffix and for content that cannot be read.
    """
    readers = {"csv": chart_from_csv, "toml": chart_from_toml, "json": chart_from_json}
    reader = readers.get(suffix.lower().lstrip("."))
    if reader is None:
        raise BadChart(f"A chart is a .csv, .toml or .json file, not {suffix[:40]!r}.")
    return reader(decoded(content), unit)


def chart_from_json(text: str, unit: Unit | None = None) -> Chart:
    """The chart from JSON; raises BadChart, naming the line or key, for anything that cannot be read."""
    try:
        data = json.loads(checked_text(text), object_pairs_hook=_without_doubles)
    except json.JSONDecodeError as error:
        raise BadChart(f"The chart is not JSON: {error.msg.lower()} in line {error.lineno}.") from None
    except (ValueError, RecursionError):
        raise BadChart("The file is no chart: its JSON is nested too deep, or a number too long.") from None
    return chart_from_data(data, unit)


def chart_from_toml(text: str, unit: Unit | None = None) -> Chart:
    """The chart from TOML; raises BadChart, naming the line or key, for anything that cannot be read."""
    try:
        data = tomllib.loads(checked_text(text))
    except tomllib.TOMLDecodeError as error:
        raise BadChart(f"The chart is not TOML: {str(error)[:120].rstrip('.')}.") from None
    except (ValueError, RecursionError):
        raise BadChart("The file is no chart: its TOML is nested too deep, or a number too long.") from None
    return chart_from_data(data, unit)


def chart_to_json(chart: Chart, unit: Unit = "mm") -> str:
    """The chart as JSON, exact to 0.001 mm in any unit."""
    return json.dumps(chart_to_data(chart, unit), indent=2, ensure_ascii=False) + "\n"


def chart_to_toml(chart: Chart, unit: Unit = "mm") -> str:
    """The chart as TOML, exact to 0.001 mm in any unit."""
    data = chart_to_data(chart, unit)
    measurements = data.pop("measurements")
    head = [f"{key} = {_toml_value(value)}" for key, value in data.items()]
    body = [f"{key} = {_toml_value(value)}" for key, value in measurements.items()]
    return "\n".join([*head, "", "[measurements]", *body]) + "\n"


def _toml_value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml_value(item)}" for key, item in value.items()) + " }"
    # Text, truths, lists and numbers of a chart are written alike in JSON and TOML.
    return json.dumps(value, ensure_ascii=False)


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise BadChart(f"{key[:40]!r} is given twice; keep one of them.")
        found[key] = value
    return found
