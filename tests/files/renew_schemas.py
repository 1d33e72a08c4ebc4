"""Writes the published JSON Schemas anew: python tests/files/renew_schemas.py (with src on the path)."""

from __future__ import annotations

from pathlib import Path

import coutil
from coutil.files import write_text
from coutil.lay_file import LayFile
from coutil.pattern import StyleFile, schema_text
from coutil.result_file import ResultFile

FOLDER = Path(coutil.__file__).parent / "schemas"
PUBLISHED = {
    "style.schema.json": schema_text(StyleFile, "coutil style, version 1"),
    "result.schema.json": schema_text(ResultFile, "coutil result, version 1"),
    "lay.schema.json": schema_text(LayFile, "coutil lay plan, version 1"),
}

if __name__ == "__main__":
    for name, text in PUBLISHED.items():
        print(write_text(FOLDER / name, text))
