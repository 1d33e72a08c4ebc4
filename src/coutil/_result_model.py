"""The file model of a result: both patterns, the alteration chart, the steps between, and every check."""

from __future__ import annotations

from typing import Literal

from coutil.alter import State
from coutil.check import Verdict
from coutil.lay_file import LayFile
from coutil.pattern import FileModel, LevelModel, PieceModel, StyleModel


class MoveModel(FileModel, frozen=True):
    """One part of a row: what it does to one edge, mm; `level` is null where it moves the whole edge."""

    piece: str
    edge: str
    level: str | None
    kind: Literal["sideways", "upwards", "along", "apart"]
    amount: float


class PlanRowModel(FileModel, frozen=True):
    """One row of the alteration chart; `base`, `client` and `difference` are the measurement as taken, mm."""

    key: str
    group: Literal["length", "centre", "side", "curves", "cup", "edges"]
    title: str
    measurement: str
    base: float
    client: float
    difference: float
    wanted: float
    amount: float
    moves: tuple[MoveModel, ...]
    reason: str
    state: State
    why: str
    estimated: bool
    decision: bool
    remainder: float
    warnings: tuple[str, ...]


class GirthOrderModel(FileModel, frozen=True):
    """Ordered girths at one level, full mm: the body's, its fit, and what the pieces add up to."""

    level: str
    body: float
    ease: float
    reduction: float
    gap: float
    garment_front: float
    garment_back: float


class PlanModel(FileModel, frozen=True):
    """The alteration chart; `targets` gives what the pattern is to measure for each measured quantity, mm."""

    rows: tuple[PlanRowModel, ...]
    girths: tuple[GirthOrderModel, ...]
    targets: dict[str, float]
    reduction: float
    lacing_gap: float
    closure_gap: float
    warnings: tuple[str, ...]


class FrameModel(FileModel, frozen=True):
    """The pattern after the rows up to and including `row`."""

    row: str
    pieces: tuple[PieceModel, ...]
    levels: tuple[LevelModel, ...]


class TruingNoteModel(FileModel, frozen=True):
    """What truing moved on an edge beyond the planned amounts, mm."""

    piece: str
    edge: str
    moved: float
    sentence: str


class ConflictModel(FileModel, frozen=True):
    """Wishes that cannot both be kept: the rows, by how much (mm), and what would heal it."""

    rows: tuple[str, ...]
    gap: float
    sentence: str
    heal: str


class FindingModel(FileModel, frozen=True):
    """One check; `figure` is null where nothing was there to measure, `limit` where it is only shown."""

    name: str
    code: str
    figure: float | None
    limit: float | None
    unit: str
    verdict: Verdict
    pieces: tuple[str, ...]
    advice: str


class ResultFile(FileModel, frozen=True):
    """A result file: the base, the altered style, how one became the other, every check, in mm; kept lay plans."""

    format: Literal["coutil-result"]
    version: Literal[1]
    base: StyleModel
    style: StyleModel
    plan: PlanModel
    frames: tuple[FrameModel, ...]
    truing: tuple[TruingNoteModel, ...]
    conflicts: tuple[ConflictModel, ...]
    residual: float
    checks: tuple[FindingModel, ...]
    lays: tuple[LayFile, ...] = ()
