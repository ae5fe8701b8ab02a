"""Lines of CSV (RFC 4180, in UTF-8) as they come, none longer than there is room for."""

import csv
import io
from collections.abc import Iterator
from typing import IO, Self

from seedbank.science.quantities import Finding

_BOM = b"\xef\xbb\xbf"


class LineRefused(Exception):  # noqa: N818 - told to the gardener with its file, as others are
    """A line at which a file can't be read on, and the mend."""

    def __init__(self, line: int, mend: Finding) -> None:
        super().__init__(line, mend)
        self.line = line
        self.mend = mend


class CsvLines:
    """Each row's cells with the number of the physical line it begins on. Raises LineRefused.

    A row is bounded, however many lines it spans: else one without an end would fill the memory.
    """

    def __init__(self, source: IO[bytes], longest: int, most: int | None = None) -> None:
        """``longest``: bytes of a row; ``most``: lines of the file."""
        self.source, self.longest, self.most = source, longest, most
        self.taken = 0  # bytes of the row
        self.begins = 1
        csv.field_size_limit(longest)
        self.reader = csv.reader(self._physical(), strict=True)

    def __iter__(self) -> Self:
        return self

    def __next__(self) -> tuple[int, list[str]]:
        self.begins, self.taken = self.reader.line_num + 1, 0
        try:
            return self.begins, next(self.reader)
        except csv.Error as wrong:
            mend = Finding("folder-quotes-open", {"fault": str(wrong)})
            raise LineRefused(self.begins, mend) from wrong

    def _physical(self) -> Iterator[str]:
        number = 0
        while raw := self.source.readline(self.longest + 1):
            self.taken += len(raw)
            if self.taken > self.longest:
                mend = Finding("folder-line-too-long", {"most": self.longest})
                raise LineRefused(self.begins, mend)
            if number == 0:
                raw = raw.removeprefix(_BOM)
            for line in _decoded(raw, number + 1):
                number += 1
                if self.most is not None and number > self.most:
                    raise LineRefused(number, Finding("folder-lines-too-many", {"most": self.most}))
                yield line


def _decoded(raw: bytes, number: int) -> Iterator[str]:
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as wrong:
        raise LineRefused(number, Finding("folder-no-utf-8")) from wrong
    if "\0" in text:
        raise LineRefused(number, Finding("folder-nul"))
    return iter(io.StringIO(text, newline="")) if "\r" in text else iter((text,))
