"""Cutting and making: cut lines, layers, small parts, bones, busk, eyelets, lace, seams in order, toile."""

from coutil.cut._bones import Bone, Busk, bone_for, bones_for, find_busk
from coutil.cut._channels import Channel, ChannelRules, bend_per_100, channel_rules, find_channels, panel_middles
from coutil.cut._corners import CutCorner
from coutil.cut._cut_set import CutItem, cut_set
from coutil.cut._cutting_list import ClothNeed, CuttingRow, EdgeAllowance, cloth_needs, cutting_rows
from coutil.cut._lacing import (
    EyeletLine,
    Lace,
    Opening,
    eyelet_lines,
    find_lace,
    find_opening,
    lace_length,
    narrowest_net,
    spaced,
)
from coutil.cut._making import Foam, GirthRow, Hardware, Making, finished_girths, plan_making
from coutil.cut._order import BUSK_LENGTHS, BoneKind, Cloth, OrderOptions
from coutil.cut._ordered import order_allowances, ordered_style
from coutil.cut._outline import CutPiece, cut_outline, layer_stitching
from coutil.cut._sewing import MatchPoint, SeamRow, SewingStep, seam_rows, sewing_order
from coutil.cut._small_parts import SmallPart, casings_of, small_parts, waist_tapes
from coutil.cut._toile import MarkedLine, MarkedPoint, Toile, make_toile, toile_style
from coutil.cut._widths import FOAM_TRIM_MM, SEWN_ORDER, USUAL, Allowances, edge_width, is_fold

__all__ = [
    "BUSK_LENGTHS",
    "FOAM_TRIM_MM",
    "SEWN_ORDER",
    "USUAL",
    "Allowances",
    "Bone",
    "BoneKind",
    "Busk",
    "Channel",
    "ChannelRules",
    "Cloth",
    "ClothNeed",
    "CutCorner",
    "CutItem",
    "CutPiece",
    "CuttingRow",
    "EdgeAllowance",
    "EyeletLine",
    "Foam",
    "GirthRow",
    "Hardware",
    "Lace",
    "Making",
    "MarkedLine",
    "MarkedPoint",
    "MatchPoint",
    "Opening",
    "OrderOptions",
    "SeamRow",
    "SewingStep",
    "SmallPart",
    "Toile",
    "bend_per_100",
    "bone_for",
    "bones_for",
    "casings_of",
    "channel_rules",
    "cloth_needs",
    "cut_outline",
    "cut_set",
    "cutting_rows",
    "edge_width",
    "eyelet_lines",
    "find_busk",
    "find_channels",
    "find_lace",
    "find_opening",
    "finished_girths",
    "is_fold",
    "lace_length",
    "layer_stitching",
    "make_toile",
    "narrowest_net",
    "order_allowances",
    "ordered_style",
    "panel_middles",
    "plan_making",
    "seam_rows",
    "sewing_order",
    "small_parts",
    "spaced",
    "toile_style",
    "waist_tapes",
]
