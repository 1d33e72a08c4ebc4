"""Shapes to lay, made by chance, and searches that misbehave."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from coutil.cut.lay import LayPart, Offer, SearchFailed, SearchTask, Spot, rectangle


def part(name, corners, drawn=1, mirrored=0, **more):
    return LayPart(name, name, "outer", np.array(corners, dtype=float), drawn, mirrored, **more)


def box(name, along, across, count=1):
    return rectangle(name, "outer", along, across, count)


@st.composite
def star_shapes(draw):
    """Simple polygons, often with hollows: corners at rising angles around a middle, each at its own distance."""
    n = draw(st.integers(3, 9))
    distances = draw(st.lists(st.floats(15, 120), min_size=n, max_size=n))
    turn = draw(st.floats(0, 6))
    angles = turn + 2 * np.pi * np.arange(n) / n
    return np.stack((np.cos(angles), np.sin(angles)), axis=1) * np.array(distances)[:, None]


@st.composite
def part_lists(draw, most=6):
    outlines = draw(st.lists(star_shapes(), min_size=1, max_size=most))
    counts = [(draw(st.integers(1, 2)), draw(st.integers(0, 1))) for _ in outlines]
    return tuple(part(f"p{i}", o, *c) for i, (o, c) in enumerate(zip(outlines, counts, strict=True)))


def panel(name, along, across, drawn=1, mirrored=1):
    """A panel with a waist: narrower by a quarter in the middle."""
    nip = across / 8
    return part(
        name,
        [(0, 0), (along / 2, nip), (along, 0), (along, across), (along / 2, across - nip), (0, across)],
        drawn,
        mirrored,
    )


def failing_search(task: SearchTask, offer: Offer) -> None:
    raise SearchFailed("The search for a shorter lay broke off.")


def heaping_search(task: SearchTask, offer: Offer) -> None:
    """Offers everything on one heap."""
    offer([Spot(i, 0.0, 0.0, 0) for i, shape in enumerate(task.shapes) for _ in range(shape.count)])


def forgetful_search(task: SearchTask, offer: Offer) -> None:
    offer([Spot(0, 0.0, 0.0, 0)])


def turning_search(task: SearchTask, offer: Offer) -> None:
    offer([Spot(i, 0.0, 0.0, 90) for i, shape in enumerate(task.shapes) for _ in range(shape.count)])
