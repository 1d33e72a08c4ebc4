"""Charts as CSV, the form a spreadsheet writes.

    # name: Contralto
    # unit: cm
    # worn: own bra
    # taken: 2026-10-01
    # invented: yes
    measurement,value,how,left,right,taken
    bust_girth,88.5,measured,,,
    waist_to_lap,,measured,21.5,22.0,

Every column but `measurement` and one of `value`, `left`, `right` may be left out.  Repeated readings stand
in one cell with bars between them: 88.0 | 88.4 | 88.1.  Semicolons may part the cells as well.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping

from coutil.errors import BadChart
from coutil.measure._chart import Chart, Reading
from coutil.measure._data import add_reading, date_of, how_of, length_of, short_text, unit_of, with_any
from coutil.measure._guard import checked_text
from coutil.measure._keys import SIDES, nearest_words
from coutil.measure._units import Unit, exact_figure

COLUMNS = ("measurement", "value", "how", "left", "right", "taken")
NOTES = ("name", "unit", "worn", "taken", "invented")
_TRUTHS = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False, "": False}
_Row = tuple[int, list[str]]


def chart_from_csv(text: str, unit: Unit | None = None) -> Chart:
    """The chart from CSV; `unit` holds where the file names none.

    Raises BadChart, naming the line, for anything that cannot be read.
    """
    notes, rows = _split(checked_text(text))
    measure_in = unit_of(notes.get("unit"), unit)
    readings: dict[str, Reading] = {}
    for line, cells in _cells(rows):
        for key, reading in _readings(cells, measure_in, f"Line {line}"):
            add_reading(readings, key, reading, f"Line {line}")
    return Chart(
        name=short_text(notes.get("name", "unnamed"), "name"),
        readings=with_any(readings),
        worn=notes.get("worn", ""),
        taken=notes.get("taken", ""),
        invented=_truth(notes.get("invented", "")),
    )


def chart_to_csv(chart: Chart, unit: Unit = "mm") -> str:
    """The chart as CSV, exact to 0.001 mm in any unit."""
    out = io.StringIO()
    notes = {"name": chart.name, "unit": unit, "worn": chart.worn, "taken": chart.taken}
    notes["invented"] = "yes" if chart.invented else "no"
    out.writelines(f"# {word}: {_quoted(note)}\n" for word, note in notes.items() if note)
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("measurement", "value", "how", "taken"))
    for key, reading in chart.readings.items():
        figures = " | ".join(exact_figure(r, unit) for r in reading.repeats or (reading.value,))
        writer.writerow((key, figures, reading.how, reading.taken or ""))
    return out.getvalue()


def _split(text: str) -> tuple[Mapping[str, str], list[_Row]]:
    """The notes of the comment lines, and the other lines' cells with their numbers."""
    lines = text.splitlines()
    notes: dict[str, str] = {}
    for number, line in enumerate(lines, start=1):
        if line.lstrip('" ').startswith("#"):
            _add_note(notes, line, number)
    table = [(n, line) for n, line in enumerate(lines, start=1) if not line.lstrip('" ').startswith("#")]
    table = [(n, line) for n, line in table if line.strip(" ,;\t")]
    if not table:
        raise BadChart("The chart holds no measurements.")
    mark = ";" if ";" in table[0][1] else ","
    return notes, [(n, _row(line, mark, n)) for n, line in table]


def _add_note(notes: dict[str, str], line: str, number: int) -> None:
    # A spreadsheet may quote the whole line, or pad it with empty cells.
    plain = next(iter(_row(line, ",", number)), "") if line.lstrip().startswith('"') else line
    word, colon, note = plain.strip().lstrip("# ").partition(":")
    word = word.strip().lower()
    if not colon or word not in NOTES:
        return
    if word in notes:
        raise BadChart(f"Line {number}: {word} is given twice; keep one of them.")
    notes[word] = _unquoted(note.strip())


def _quoted(note: str) -> str:
    """The note as it stands, or in quotation marks where its end would be taken for padding."""
    return f'"{note}"' if note[0] == '"' or note[-1] in ",;" else note


def _unquoted(note: str) -> str:
    bare = note.rstrip(",; ")
    quoted = len(bare) > 1 and bare[0] == bare[-1] == '"'
    return bare[1:-1] if quoted else bare


def _row(line: str, mark: str, number: int) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=mark, strict=True))]
    except (csv.Error, StopIteration):
        raise BadChart(f"Line {number}: a cell's quotation marks are not closed.") from None


def _cells(rows: list[_Row]) -> Iterable[tuple[int, Mapping[str, str]]]:
    """Each row below the head as column to cell, with its line number."""
    (head_line, head), *body = rows
    columns = _columns(head, head_line)
    for number, cells in body:
        if any(cells[len(columns) :]):
            raise BadChart(
                f"Line {number}: {len(cells)} cells under {len(columns)} headings; "
                "put a figure with a decimal comma in quotation marks."
            )
        yield number, dict(zip(columns, cells, strict=False))


def _columns(head: list[str], number: int) -> list[str]:
    columns = [cell.lower() for cell in head]
    while columns and not columns[-1]:
        columns.pop()
    for name in columns:
        if name not in COLUMNS:
            hint = nearest_words(name, COLUMNS) or f"; the columns are {', '.join(COLUMNS)}."
            raise BadChart(f"Line {number}: there is no column {name[:40]!r}{hint}")
    if len(set(columns)) < len(columns):
        raise BadChart(f"Line {number}: a column is named twice.")
    if "measurement" not in columns or not {"value", *SIDES} & set(columns):
        raise BadChart(f"Line {number}: the headings are to include measurement and value.")
    return columns


def _readings(cells: Mapping[str, str], unit: Unit, place: str) -> Iterable[tuple[str, Reading]]:
    key = cells.get("measurement", "")
    if _FIGURE.fullmatch(cells.get("how", "")):
        raise BadChart(f"{place}: put a figure with a decimal comma in quotation marks, or write it with a point.")
    taken = date_of(cells["taken"], place) if cells.get("taken") else None
    filled = [name for name in ("value", *SIDES) if cells.get(name)]
    if not filled or ("value" in filled and len(filled) > 1):
        raise BadChart(f"{place}: give {key[:40] or 'the measurement'} either one value, or left and right.")
    for name in filled:
        stored = key if name == "value" else f"{key}_{name}"
        figures = [length_of(part.strip(), unit, place) for part in cells[name].split("|")]
        yield stored, _reading(figures, cells.get("how", ""), taken, place)


def _reading(figures: list[float], how: str, taken: str | None, place: str) -> Reading:
    if len(figures) > 1:
        if how not in ("", "repeated"):
            raise BadChart(f"{place}: several readings in one cell are repeated, not {how[:40]}.")
        return Reading.of_repeats(figures, taken)
    return Reading(figures[0], how_of(how or "measured", place), taken)


# What stands under `how` where a decimal comma has parted a figure in two.
_FIGURE = re.compile(r"\d[\d/ ]*")


def _truth(word: str) -> bool:
    if word.lower() not in _TRUTHS:
        raise BadChart(f"invented is to be yes or no, not {word[:40]!r}.")
    return _TRUTHS[word.lower()]
