"""Files in and out: written whole or not at all, no waiting without end, and a record opens only what is its own."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import select
import stat
import sys
import tempfile
import time
from pathlib import Path

# what a spreadsheet may take for a formula; the wide forms too, which those set for East Asian languages read as the
# narrow ones (common practice)
FORMULA = re.compile(r"\s*[=+\-@|＝＋－＠]|[\t\r]")
STANDARD = "-"  # the standard input or output
PIPE_PATIENCE_S = 20.0  # of a pipe that says nothing: longer than any program of ours takes to write a record


def storable(content: str) -> str:
    """The text with halves of characters, which no file or record takes, written as JSON writes them.

    A file's name of bytes that are no UTF-8 is told with such.

    Parameters
    ----------
    content : as the system gave it
    """
    return content.encode("utf-8", "backslashreplace").decode("utf-8")


def write_whole(content: str | bytes, path: str | Path) -> Path:
    """Replace a file in one step: a temporary file beside it, forced to the disk, then renamed.

    Parameters
    ----------
    content : bytes, or text to be written as UTF-8 with its line ends as they are; halves of characters, which a file's
        name may hold, are written as JSON writes them
    path : file to write; through a link, so that the link stays one; a pipe or device is written to as it stands, and
        "-" is the standard output

    Returns
    -------
    The path as given.

    Raises
    ------
    OSError : named by the file asked for; IsADirectoryError of a folder; what stood there is untouched.
    """
    data = storable(content).encode("utf-8") if isinstance(content, str) else content
    if str(path) == STANDARD:
        sys.stdout.buffer.write(data)
        sys.stdout.flush()
        return Path(path)
    target = _links_followed(Path(path))
    temporary = None
    try:
        if target.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        if os.path.exists(path) and not stat.S_ISREG(os.stat(path).st_mode):
            Path(path).write_bytes(data)  # a pipe or a device, as /dev/stdout: nothing stands there to be replaced
            return Path(path)
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".part", dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, _mode_for(target))
        os.replace(temporary, target)
    except OSError as error:
        # named by the file the caller asked for, not by the temporary one
        raise type(error)(error.errno, error.strerror, str(path)) from None
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)  # gone already where all went well
    _force_folder(target.parent)
    return Path(path)


def _mode_for(target: Path) -> int:
    """Rights of the file being replaced, else those a new file here would get."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _force_folder(folder: Path) -> None:
    # the new name itself must reach the disk; some systems cannot open a folder, and have no need to
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def read_at_most(path: str | Path, most: int, patience_s: float = PIPE_PATIENCE_S) -> bytes:
    """Up to `most` bytes of a file; a named pipe nobody writes to is given up after a while [s].

    Parameters
    ----------
    path : of the file; "-" is the standard input
    most : bytes
    patience_s : how long a pipe may say nothing [s]

    Raises
    ------
    TimeoutError : the pipe said nothing for `patience_s`.
    OSError : as `open`.
    """
    if str(path) == STANDARD:
        return sys.stdin.buffer.read(most)
    if not stat.S_ISFIFO(os.stat(path).st_mode) or not hasattr(os, "O_NONBLOCK"):
        with open(path, "rb") as file:
            return file.read(most)
    handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    try:
        return _from_pipe(handle, most, patience_s)
    finally:
        os.close(handle)


def _from_pipe(handle: int, most: int, patience_s: float) -> bytes:
    data, until = b"", time.monotonic() + patience_s
    while len(data) < most:
        try:
            ready = select.select([handle], [], [], max(0.0, until - time.monotonic()))[0]
            block = os.read(handle, min(most - len(data), 1 << 16)) if ready else None
        except BlockingIOError:
            block = None
        if block:
            data, until = data + block, time.monotonic() + patience_s
        elif data and block == b"":
            return data  # whoever wrote has closed it
        elif time.monotonic() >= until:
            raise TimeoutError(errno.ETIMEDOUT, "a pipe that says nothing")
        else:
            time.sleep(0.02)  # no writer yet: the pipe reads as ended until one comes
    return data


def _links_followed(path: Path) -> Path:
    """The place a path leads to.

    Raises
    ------
    OSError : of a ring of links, named by the path: RuntimeError before Python 3.13, and left as it stands since.
    """
    with contextlib.suppress(RuntimeError):
        place = path.resolve()
        if not any(part.is_symlink() for part in (place, *place.parents)):
            return place
    raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(path))


def beside(folder: Path, named: str) -> Path | None:
    """The file a record names; None where that is not within the record's own folder, links followed.

    Parameters
    ----------
    folder : of the record
    named : path in the record, from its folder
    """
    home = folder.resolve()
    try:
        file = _links_followed(home / named)
    except OSError:  # a ring of links
        return None
    return file if file.is_relative_to(home) and file != home else None
