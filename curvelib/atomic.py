"""Writing a file so that it is either the old one or the new one, never half of each."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from pathlib import Path


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text with its newlines as they are, and put it in place in one step.

    A link is followed, so the file it points to is replaced and the link stays.
    The permissions of a file that is there are kept.

    Raises
    ------
    OSError
        If the folder cannot be written; the old file is then untouched.
    """
    target = Path(os.path.realpath(path))
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as part:
            part.write(text.encode("utf-8"))
            part.flush()
            os.fsync(part.fileno())
        if target.exists():
            shutil.copymode(target, name)
        else:
            os.chmod(name, 0o666 & ~_umask())
        os.replace(name, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise


def _umask() -> int:
    """Read the mask new files get; it can only be read by setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
