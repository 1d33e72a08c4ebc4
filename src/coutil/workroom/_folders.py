"""Where this system keeps what programs remember for their users."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

NAME = "coutil"


def data_folder(platform: str = sys.platform, environment: Mapping[str, str] | None = None) -> Path:
    """The folder for the records: of the local application data on Windows, of Application Support on a Mac,
    else by the XDG base directory specification.
    """
    env = os.environ if environment is None else environment
    home = Path(env.get("USERPROFILE" if platform == "win32" else "HOME", "") or Path.home())
    if platform == "win32":
        return Path(env.get("LOCALAPPDATA") or home / "AppData" / "Local") / NAME
    if platform == "darwin":
        return home / "Library" / "Application Support" / NAME
    named = env.get("XDG_DATA_HOME", "")
    # The specification says that a relative path counts for nothing.
    return (Path(named) if Path(named).is_absolute() else home / ".local" / "share") / NAME
