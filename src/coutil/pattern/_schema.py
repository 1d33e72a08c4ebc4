"""The published JSON Schema of a file model, made from the model itself so that the two cannot differ."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from coutil.pattern._model import StyleFile

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema_of(model: type[msgspec.Struct], title: str) -> dict[str, Any]:
    """The JSON Schema of a file whose root is `model`."""
    (root,), parts = msgspec.json.schema_components([model], ref_template="#/$defs/{name}")
    schema = {"$schema": DIALECT, "title": title, **root, "$defs": parts}
    plain: dict[str, Any] = msgspec.to_builtins(schema)
    return plain


def schema_text(model: type[msgspec.Struct], title: str) -> str:
    """The schema as it is committed: sorted and indented, so that a change reads well."""
    return json.dumps(schema_of(model, title), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def style_schema() -> dict[str, Any]:
    """The JSON Schema of a style file."""
    return schema_of(StyleFile, "coutil style, version 1")
