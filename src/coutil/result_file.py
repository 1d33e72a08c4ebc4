"""Results as text: what an alteration made and what the checks said, written and read back exactly."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from coutil._result_model import (
    ConflictModel,
    FindingModel,
    FrameModel,
    PlanModel,
    ResultFile,
    TruingNoteModel,
)
from coutil.alter import Alteration, Conflict, Frame, Plan, TruingNote
from coutil.check import Finding
from coutil.cut import LayPlan
from coutil.errors import BadInput
from coutil.lay_file import lay_from_model, lay_to_model
from coutil.pattern import (
    Level,
    LevelModel,
    Style,
    find_number_faults,
    model_from_json,
    model_to_json,
    piece_from_model,
    piece_to_model,
    require_format,
    sound,
    style_from_model,
    style_to_model,
    value_as,
    wired,
)

RESULT_FORMAT = "coutil-result"
RESULT_VERSION = 1


@dataclass(frozen=True, slots=True)
class Result:
    """An alteration with its checks, and the lay plans chosen for it."""

    alteration: Alteration
    findings: tuple[Finding, ...]
    lays: tuple[LayPlan, ...] = ()


def result_to_json(alteration: Alteration, findings: tuple[Finding, ...], lays: tuple[LayPlan, ...] = ()) -> str:
    """The text of a result file.  Raises BadInput for a number no pattern can have.

    A figure that is not finite (nothing was there to measure) is written as null.
    """
    _require_numbers(alteration, "The result cannot be written")
    return model_to_json(
        ResultFile(
            "coutil-result",
            1,
            style_to_model(alteration.base),
            style_to_model(alteration.style),
            value_as(alteration.plan, PlanModel),
            tuple(_frame_to_model(frame) for frame in alteration.frames),
            value_as(alteration.truing, tuple[TruingNoteModel, ...]),
            value_as(alteration.conflicts, tuple[ConflictModel, ...]),
            alteration.residual,
            tuple(_finding_to_model(finding) for finding in findings),
            tuple(lay_to_model(plan) for plan in lays),
        )
    )


def result_from_json(text: str | bytes) -> Result:
    """The result in the text of a result file; raises BadInput for anything else.

    The base must be sound and every amount one that a pattern can have; what became of the altered pattern's
    shape is left to the checks.
    """
    require_format(text, RESULT_FORMAT, RESULT_VERSION, "result")
    model = model_from_json(text, ResultFile, "result")
    base = sound(style_from_model(model.base))
    alteration = Alteration(
        base,
        wired(style_from_model(model.style)),
        value_as(model.plan, Plan),
        tuple(_frame_from_model(frame, base) for frame in model.frames),
        value_as(model.truing, tuple[TruingNote, ...]),
        value_as(model.conflicts, tuple[Conflict, ...]),
        model.residual,
    )
    _require_numbers(alteration, "The result cannot be used")
    findings = tuple(_finding_from_model(check) for check in model.checks)
    return Result(alteration, findings, tuple(lay_from_model(plan) for plan in model.lays))


def _require_numbers(alteration: Alteration, refusal: str) -> None:
    """Raises BadInput for a number no pattern can have, beside those of the patterns themselves."""
    faults = find_number_faults(
        {
            "plan": alteration.plan,
            "truing": alteration.truing,
            "conflicts": alteration.conflicts,
            "residual": alteration.residual,
        }
    )
    if faults:
        raise BadInput(f"{refusal}: {faults[0]}.")


def _frame_to_model(frame: Frame) -> FrameModel:
    pieces = tuple(piece_to_model(piece) for piece in frame.style.pieces)
    return FrameModel(frame.row, pieces, value_as(frame.style.levels, tuple[LevelModel, ...]))


def _frame_from_model(model: FrameModel, base: Style) -> Frame:
    """A step differs from the base in its pieces and in where its levels lie."""
    pieces = tuple(piece_from_model(piece) for piece in model.pieces)
    levels = value_as(model.levels, tuple[Level, ...])
    return Frame(model.row, wired(replace(base, pieces=pieces, levels=levels)))


def _finding_to_model(finding: Finding) -> FindingModel:
    measured = finding.figure if math.isfinite(finding.figure) else None
    return value_as({**_fields(finding), "figure": measured}, FindingModel)


def _finding_from_model(model: FindingModel) -> Finding:
    figure = math.inf if model.figure is None else model.figure
    return value_as({**{name: getattr(model, name) for name in model.__struct_fields__}, "figure": figure}, Finding)


def _fields(finding: Finding) -> dict[str, object]:
    return {name: getattr(finding, name) for name in Finding.__slots__}
