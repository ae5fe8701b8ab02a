"""What is wrong in a folder of collection files: found all together, each with its line."""

from dataclasses import dataclass, field

from seedbank.common.faults import StockFault

_SHOWN = 10


@dataclass(frozen=True, slots=True)
class ImportProblem:
    """One thing to mend. ``line`` counts from 1 (the header); ``column`` empty: the whole line."""

    file: str
    line: int
    column: str
    value: str
    mend: str

    def __str__(self) -> str:
        where = f"{self.file} line {self.line}" if self.line else self.file
        what = f", {self.column} {self.value!r}" if self.column else ""
        return f"{where}{what}: {self.mend}"


class ImportRefused(StockFault):
    """The files hold problems, so nothing was taken in. ``problems`` lists them all, in order."""

    lists = True

    def __init__(self, problems: list[ImportProblem]) -> None:
        shown = [str(problem) for problem in problems[:_SHOWN]]
        if len(problems) > _SHOWN:
            shown.append(f"and {len(problems) - _SHOWN} more")
        many = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        super().__init__(
            problems[0].file,
            problems[0].value,
            "Mend the lines named in the files and import the folder again.",
            f"Nothing was imported: {many}.\n" + "\n".join(shown),
        )
        self.problems = problems


@dataclass(slots=True)
class Problems:
    """Problems as they are found; ``refuse`` raises them together, if there are any."""

    found: list[ImportProblem] = field(default_factory=list)

    def add(self, file: str, line: int, column: str, value: object, mend: str) -> None:
        shown = "" if value is None else str(value)
        self.found.append(ImportProblem(file, line, column, shown, mend))

    def refuse(self) -> None:
        """Raises ImportRefused when a problem has been found."""
        if self.found:
            raise ImportRefused(sorted(self.found, key=lambda p: (p.file, p.line)))
