"""Generated cases are judged by what they find, never by how long they take: a busy machine is no fault of the code."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
