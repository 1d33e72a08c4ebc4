"""Files on the disk: read whole up to a limit, written whole or not at all, every trouble in one sentence."""

from __future__ import annotations

import errno
import os
import secrets
import stat
from collections.abc import Mapping
from pathlib import Path

from coutil.errors import BadInput
from coutil.file_names import plain_name

LARGEST_BYTES = 20_000_000

NO_FILE = "it is a pipe or a device, and a file is needed"

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

_LINK = "it is a link to another place; remove the link, or choose another folder or name"
_NO_FILE = "it is a device or a pipe, and a file is needed"


def read_bytes(path: str | Path, limit: int = LARGEST_BYTES) -> bytes:
    """The whole file; raises BadInput where it cannot be read or has more than `limit` bytes."""
    try:
        data = _read(path, limit)
    except (OSError, ValueError) as error:
        raise BadInput(f"The file {path} cannot be read: {reason_of(error)}.") from error
    if len(data) > limit:
        raise BadInput(f"The file {path} cannot be read: it has more than {limit / 1e6:g} MB.")
    return data


def _read(path: str | Path, limit: int) -> bytes:
    """The file's bytes, one more than `limit` at most; a pipe or a device is not waited for."""
    # Where the system knows it: to open a pipe that nobody writes to would wait for ever.
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb") as file:
        mode = os.fstat(handle).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, "")
        if not stat.S_ISREG(mode):
            raise ValueError(NO_FILE)
        return file.read(limit + 1)


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

    The old content stays until the new one is complete on the disk, and who may read the file stays as it is.
    Raises BadInput where that cannot be done, and for links and devices, which are neither followed nor replaced.
    """
    try:
        make_folder(Path(path).parent)
        _require_free(Path(path))
        _replace(Path(path), data)
    except (OSError, ValueError) as error:
        raise BadInput(f"The file {path} cannot be written: {reason_of(error)}.") from error
    return Path(path)


def write_text(path: str | Path, text: str) -> Path:
    """As `write_bytes`, for text as UTF-8 with the line ends it has."""
    return write_bytes(path, text.encode("utf-8"))


def write_files(folder: str | Path, contents: Mapping[str, str | bytes]) -> None:
    """Puts every content under its name in the folder, which is made where missing.

    Raises BadInput, before anything is written, where a name is not plain or is taken by a folder, link or device.
    """
    write_together({Path(folder) / plain_name(name): content for name, content in contents.items()})


def write_together(contents: Mapping[Path, str | bytes]) -> None:
    """Writes several files; raises BadInput, before the first is written, where the place of one is not free."""
    for target in contents:
        try:
            _require_free(target)
        except (OSError, ValueError) as error:
            raise BadInput(f"The file {target} cannot be written: {reason_of(error)}.") from error
    for target, content in contents.items():
        write_bytes(target, content.encode("utf-8") if isinstance(content, str) else content)


def make_folder(path: str | Path) -> Path:
    """The folder, made with those above it where missing; raises BadInput where it cannot be."""
    try:
        Path(path).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise BadInput(f"The folder {path} cannot be made: {reason_of(error)}.") from error
    return Path(path)


def reason_of(error: OSError | ValueError) -> str:
    """Why the disk refused, in words."""
    if str(error) == NO_FILE:
        return NO_FILE
    if isinstance(error, OSError):
        return _REASONS.get(error.errno or 0, (error.strerror or "the disk refused").lower())
    return "that is no name for a file"


def _require_free(target: Path) -> None:
    """Raises BadInput or OSError where the place is taken by anything but a file."""
    try:
        mode = target.lstat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, "")
    if not stat.S_ISREG(mode):
        raise BadInput(f"The file {target} cannot be written: {_LINK if stat.S_ISLNK(mode) else _NO_FILE}.")


def _replace(target: Path, data: bytes) -> None:
    """Writes a file beside the target and moves it into its place; leaves nothing behind where that fails."""
    beside = target.parent / f".coutil-{secrets.token_hex(8)}.part"
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else None
    try:
        with open(beside, "xb", opener=None if mode is None else _open_private) as file:
            if mode is not None:
                os.chmod(beside, mode)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, target)
    finally:
        beside.unlink(missing_ok=True)


def _open_private(path: str, flags: int) -> int:
    """For the owner alone, until it is known who else may read it."""
    return os.open(path, flags, 0o600)
