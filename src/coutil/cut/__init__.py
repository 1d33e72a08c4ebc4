"""Cut lines: stitching line, turn of cloth and allowance, for every piece and layer."""

from coutil.cut._corners import CutCorner
from coutil.cut._cut_set import CutItem, cut_set
from coutil.cut._outline import CutPiece, cut_outline, layer_stitching
from coutil.cut._widths import FOAM_TRIM_MM, SEWN_ORDER, USUAL, Allowances, edge_width, is_fold

__all__ = [
    "FOAM_TRIM_MM",
    "SEWN_ORDER",
    "USUAL",
    "Allowances",
    "CutCorner",
    "CutItem",
    "CutPiece",
    "cut_outline",
    "cut_set",
    "edge_width",
    "is_fold",
    "layer_stitching",
]
