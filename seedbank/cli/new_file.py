"""A new file that a command writes: whole under its name, or not there at all."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from seedbank.common.errors import Refused


def check_new(file: Path, field: str = "out") -> None:
    """Raises Refused: a file of that name is there, or the folder isn't."""
    if file.exists():
        raise Refused("file-exists", field, str(file))
    if not file.parent.is_dir():
        raise Refused("folder-missing", field, str(file), folder=str(file.parent))


@contextmanager
def new_file(file: Path, field: str = "out") -> Iterator[IO[bytes]]:
    """Written under another name first, so that half of it never bears the name asked for.

    Raises Refused as ``check_new``.
    """
    check_new(file, field)
    number, part = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.parent)
    try:
        with os.fdopen(number, "wb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        os.link(part, file)  # unlike a rename it refuses to overwrite
    finally:
        with suppress(FileNotFoundError):
            os.unlink(part)
