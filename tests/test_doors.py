"""The doors: every room's `__all__` is complete, sorted and holds nothing private."""

from __future__ import annotations

from importlib import import_module
from types import FunctionType, ModuleType

import pytest

from test_rooms import ROOMS


def order(name: str) -> tuple[int, str]:
    """Constants first, then classes, then functions, each by name: the order the linter keeps."""
    return (0 if name.isupper() else 1 if name[0].isupper() else 2, name)


@pytest.mark.parametrize("room", ROOMS)
def test_the_door_is_complete_and_sorted(room: str) -> None:
    door = import_module(f"coutil.{room}")
    public = [name for name, value in vars(door).items() if not name.startswith("_") and not is_module(value)]
    assert list(door.__all__) == sorted(public, key=order)
    assert len(set(door.__all__)) == len(door.__all__)


@pytest.mark.parametrize("room", ROOMS)
def test_what_a_door_names_is_explained(room: str) -> None:
    door = import_module(f"coutil.{room}")
    assert door.__doc__
    for name in door.__all__:
        value = getattr(door, name)
        if isinstance(value, type | FunctionType):
            assert value.__doc__, f"{room}.{name} has no docstring"


def is_module(value: object) -> bool:
    return isinstance(value, ModuleType)
