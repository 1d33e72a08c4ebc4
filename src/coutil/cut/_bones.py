"""Bones: which steel goes into a channel and how long it is cut; the busk and its place.  Millimetres."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coutil.cut._channels import Channel
from coutil.cut._order import BoneKind, OrderOptions
from coutil.cut._ordered import opens_in_front
from coutil.cut._widths import OUTER_ROLES
from coutil.pattern import Edge, Piece, Role, Style

# A flat steel does not bend in its own plane: its channel may leave the straight by no more, mm per 100 mm.
FLAT_WITHIN = 2.0

# A piece of steel shorter than this holds nothing and turns in its channel.
SHORTEST_BONE_MM = 50.0


@dataclass(frozen=True, slots=True)
class Bone:
    """One kind of bone in one channel; `off_lower` and `off_upper` is what the channel's ends keep free."""

    channel: Channel
    kind: BoneKind
    off_lower: float
    off_upper: float
    length: float

    @property
    def count(self) -> int:
        """How many of it the garment has."""
        return self.channel.count

    @property
    def tips(self) -> int:
        """Caps to crimp on: two for every bone cut from a coil."""
        return 2 * self.count if self.kind.tipped else 0


@dataclass(frozen=True, slots=True)
class Busk:
    """The busk: `front` is the finished centre front, `room` what is left for a busk, `length` the one to buy.

    `length` is 0 where none is short enough.  Studs go on the wearer's left, loops on the right.
    """

    front: float
    room: float
    length: float
    below_top: float
    above_hem: float
    gap: float


def bone_for(channel: Channel, options: OrderOptions) -> Bone:
    """The steel for a channel, cut from the finished channel.

    Length = channel - (binding depth + play) at each finished edge, a fixed clearance at the cradle, rounded
    down to a sold length.  Example: 281.4 from hem to top less 2 x (8 + 4) is 257.4, sold 255.
    """
    kind = options.flat if channel.off_straight <= FLAT_WITHIN else options.spiral
    lower, upper = (_kept_free(role, options) for role in (channel.lower, channel.upper))
    return Bone(channel, kind, lower, upper, kind.next_below(channel.length - lower - upper))


def bones_for(channels: Iterable[Channel], options: OrderOptions) -> tuple[Bone, ...]:
    """The bones of all channels; a channel too short for one has none."""
    found = (bone_for(channel, options) for channel in channels)
    return tuple(bone for bone in found if bone.length >= SHORTEST_BONE_MM)


def find_busk(style: Style, options: OrderOptions) -> Busk | None:
    """The next sold length below the room at the centre front; None where the front does not open with one.

    Room = centre front less the clearances at top and hem.  Example: 282 less 19 and 20 is 243, sold 230.
    """
    front = _front_closure(style)
    if front is None or options.closure == "closed":
        return None
    room = front - options.busk_top - options.busk_bottom
    length = BoneKind("busk", sold=options.busk_lengths).next_below(room)
    gap = style.base_fit.closure_gap or options.closure_gap
    return Busk(front, room, length, options.busk_top, front - options.busk_top - length, gap)


def _kept_free(role: Role, options: OrderOptions) -> float:
    if role is Role.CRADLE:
        return options.cradle_clear
    return options.edge_depth + options.play if role in OUTER_ROLES else options.play


def _front_closure(style: Style) -> float | None:
    """Length of one side of the front closure: all its edges, over the number of sides; None without one.

    A front that is laced, with eyelets, takes no busk.
    """
    if not opens_in_front(style):
        return None
    pieces = [p for p in style.pieces if p.part == "front" and not p.eyelets]
    lengths = [edge.curve.length for p in pieces for edge in _closures(p)]
    sides = sum("waist" in p.levels and bool(_closures(p)) for p in pieces)
    return sum(lengths) / sides if sides else None


def _closures(piece: Piece) -> list[Edge]:
    return [edge for edge in piece.edges if edge.role is Role.CLOSURE]
