"""The workroom sheet: everything the maker needs at the table, as sections for any printed form."""

from __future__ import annotations

from collections.abc import Sequence

from coutil.alter import Alteration
from coutil.check import Finding
from coutil.cut import Making
from coutil.measure import Unit
from coutil.pattern import revision_mark
from coutil.sheet._workroom_making import (
    bone_section,
    closure_section,
    cutting_section,
    hardware_section,
    parts_section,
    sewing_section,
    toile_section,
)
from coutil.sheet._workroom_pattern import (
    caution_section,
    chart_section,
    check_section,
    girth_section,
    order_section,
    remark_section,
    seam_section,
)
from coutil.sheet._workroom_words import Section, SheetHead, joined


def workroom_sections(
    alteration: Alteration, findings: Sequence[Finding], making: Making, cautions: Sequence[str], unit: Unit
) -> tuple[Section, ...]:
    """The sheet's sections in the order of work, without those that have nothing to say."""
    revision = revision_mark(alteration.style)
    found = (
        order_section(alteration, making, revision, unit),
        remark_section(alteration, making, unit),
        girth_section(alteration, making, unit),
        cutting_section(making, unit),
        parts_section(making, unit),
        bone_section(making, unit),
        closure_section(making, unit),
        hardware_section(making, unit),
        sewing_section(making, unit),
        seam_section(making, unit),
        toile_section(making, unit),
        chart_section(alteration, unit),
        caution_section(cautions),
        check_section(findings, unit),
    )
    return tuple(section for section in found if section.notes or section.grids or section.steps)


def sheet_head(alteration: Alteration, making: Making) -> SheetHead:
    """Style, client, order, revision and date for head and foot."""
    style = alteration.style
    revision = revision_mark(style)
    words = (
        style.base_chart.name,
        making.options.reference,
        f"revision {revision}" if revision else "",
        style.base_chart.taken,
    )
    return SheetHead(f"Workroom sheet · {style.title}", joined(words))
