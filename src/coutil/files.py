"""Files on the disk: read whole up to a limit, written whole or not at all, every trouble in one sentence."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from coutil.errors import BadInput

LARGEST_BYTES = 20_000_000

_REASONS = {
    errno.ENOENT: "there is no such file",
    errno.ENOTDIR: "a part of its path is not a folder",
    errno.EISDIR: "it is a folder, and a file is needed",
    errno.EACCES: "it may not be opened; look at its permissions",
    errno.EPERM: "it may not be changed; look at its permissions",
    errno.EROFS: "the disk is read-only",
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk is full",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ELOOP: "its links lead in a circle",
    errno.EEXIST: "there is a file of that name, and a folder is needed",
}


def read_bytes(path: str | Path, limit: int = LARGEST_BYTES) -> bytes:
    """The whole file; raises BadInput where it cannot be read or has more than `limit` bytes."""
    try:
        with Path(path).open("rb") as file:
            data = file.read(limit + 1)
    except (OSError, ValueError) as error:
        raise BadInput(f"The file {path} cannot be read: {reason_of(error)}.") from error
    if len(data) > limit:
        raise BadInput(f"The file {path} cannot be read: it has more than {limit / 1e6:g} MB.")
    return data


def read_text(path: str | Path, limit: int = LARGEST_BYTES) -> str:
    """The whole file as UTF-8 text, its byte order mark dropped; raises BadInput like `read_bytes`."""
    data = read_bytes(path, limit)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        trouble = f"line {line} is not UTF-8 text; save the file as UTF-8"
        raise BadInput(f"The file {path} cannot be read: {trouble}.") from error


def write_bytes(path: str | Path, data: bytes) -> Path:
    """Puts the data under that name, making its folder, and gives the path.

    The old content stays until the new one is complete on the disk.  Raises BadInput where that cannot be done.
    """
    try:
        # A link stays a link: the file it leads to is replaced.
        target = Path(os.path.realpath(path))
        make_folder(target.parent)
        _replace(target, data)
    except (OSError, ValueError) as error:
        raise BadInput(f"The file {path} cannot be written: {reason_of(error)}.") from error
    return Path(path)


def write_text(path: str | Path, text: str) -> Path:
    """As `write_bytes`, for text as UTF-8 with the line ends it has."""
    return write_bytes(path, text.encode("utf-8"))


def write_texts(folder: str | Path, texts: Mapping[str, str]) -> None:
    """Puts every text under its name in the folder, which is made where missing.

    Raises BadInput, before anything is written, where one of the names is taken by a folder.
    """
    for name in texts:
        target = Path(folder) / name
        if os.path.isdir(target):
            raise BadInput(f"The file {target} cannot be written: {_REASONS[errno.EISDIR]}.")
    for name, text in texts.items():
        write_text(Path(folder) / name, text)


def make_folder(path: str | Path) -> Path:
    """The folder, made with those above it where missing; raises BadInput where it cannot be."""
    try:
        Path(path).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise BadInput(f"The folder {path} cannot be made: {reason_of(error)}.") from error
    return Path(path)


def reason_of(error: OSError | ValueError) -> str:
    """Why the disk refused, in words."""
    if isinstance(error, OSError):
        return _REASONS.get(error.errno or 0, (error.strerror or "the disk refused").lower())
    return "that is no name for a file"


def _replace(target: Path, data: bytes) -> None:
    """Writes a file beside the target and moves it into its place; leaves nothing behind where that fails."""
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, "")
    beside = target.parent / f".coutil-{secrets.token_hex(8)}.part"
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, target)
    finally:
        beside.unlink(missing_ok=True)
