"""Taking in a whole collection written down in CSV files, all of it or nothing."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from pathlib import Path

from sqlmodel import Session

from seedbank.database.transaction import transaction
from seedbank.interchange.folder.amounts import book_amounts
from seedbank.interchange.folder.climates import take_climates
from seedbank.interchange.folder.files import (
    CollectionFiles,
    ImportProblem,
    ImportRefused,
    Problems,
    read_collection_files,
)
from seedbank.interchange.folder.lots import take_lots, take_mixtures, take_stays
from seedbank.interchange.folder.names import (
    Importer,
    set_up_importer,
    take_gear,
    take_kinds,
    take_places,
    take_sites,
    take_varieties,
)
from seedbank.interchange.folder.outcomes import (
    take_counts,
    take_emergence,
    take_losses,
    take_sowings,
    take_tests,
)
from seedbank.interchange.folder.rows import (
    ClimateRow,
    CountRow,
    EmergenceRow,
    FloweringRow,
    GearRow,
    KindFactRow,
    LossRow,
    LotRow,
    MixturePartRow,
    MovementRow,
    PlaceRow,
    SeedCropRow,
    SiteRow,
    SowingRow,
    StayRow,
    TestRow,
    VarietyRow,
)
from seedbank.interchange.folder.seed_crops import take_flowering, take_seed_crops
from seedbank.science.quantities import Finding

__all__ = [
    "CollectionFiles",
    "ImportProblem",
    "ImportRefused",
    "ImportReport",
    "import_collection",
    "read_collection_files",
]

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class ImportReport:
    """How many of each were added; ``movements`` are the lines of movements.csv alone."""

    kinds: int
    facts: int
    places: int
    varieties: int
    lots: int
    mixtures: int
    stays: int
    movements: int
    tests: int
    counts: int
    sowings: int
    emergence: int
    losses: int
    sites: int
    climates: int
    gear: int
    flowering: int
    seed_crops: int


def import_collection(
    session: Session, folder: Path, now: datetime, on_progress: Progress | None = None
) -> ImportReport:
    """Read the collection files in ``folder`` and add everything to the stock in one commit.

    Every amount goes through the ledger in date order. Kinds, places, varieties, sites and gear
    that are in the stock already are used as they are, and flowerings and seed crops aren't noted
    twice; lots are refused (see ``take_lots``), so that a folder imported twice books nothing
    twice. ``on_progress`` is told lines done and lines in all.

    Raises ImportRefused with every problem found, each with its file and line; the stock is then
    as it was. Problems within cells are told first, those between lines once the cells are right.
    """
    files = read_collection_files(folder)
    problems = Problems()
    ticker = _Ticker(_lines(files), on_progress)
    with transaction(session):
        importer = set_up_importer(session, now, problems)
        _check_days(importer, files)
        report = _take_in(importer, files, ticker)
        problems.refuse()
    ticker.finish()
    return report


def _take_in(importer: Importer, files: CollectionFiles, ticker: "_Ticker") -> ImportReport:
    kinds, facts = take_kinds(importer, files.of(KindFactRow))
    return ImportReport(  # in this order, for each refers to what is before it
        kinds=kinds,
        facts=facts,
        places=take_places(importer, files.of(PlaceRow)),
        varieties=take_varieties(importer, files.of(VarietyRow)),
        lots=take_lots(importer, files.of(LotRow)),
        mixtures=take_mixtures(importer, files.of(MixturePartRow)),
        stays=take_stays(importer, files.of(StayRow)),
        tests=take_tests(importer, files.of(TestRow)),
        sowings=take_sowings(importer, files.of(SowingRow)),
        movements=book_amounts(importer, files, ticker.tick),
        counts=take_counts(importer, files.of(TestRow), files.of(CountRow), ticker.tick),
        emergence=take_emergence(importer, files.of(EmergenceRow), ticker.tick),
        losses=take_losses(importer, files.of(LossRow), ticker.tick),
        sites=take_sites(importer, files.of(SiteRow)),
        climates=take_climates(importer, files.of(ClimateRow)),
        gear=take_gear(importer, files.of(GearRow)),
        flowering=take_flowering(importer, files.of(FloweringRow)),
        seed_crops=take_seed_crops(importer, files.of(SeedCropRow)),
    )


def _lines(files: CollectionFiles) -> int:
    """Lines that are booked or recorded one by one, which is where the time goes."""
    counted = (CountRow, EmergenceRow, LossRow, MovementRow, SowingRow, TestRow, TestRow)
    return sum(len(files.lines[row]) for row in counted)


def _check_days(importer: Importer, files: CollectionFiles) -> None:
    """Nothing can have been written down of a day still to come."""
    for line in chain.from_iterable(files.lines.values()):
        for column, day in line.row.days().items():
            if day > importer.today:
                to_come = Finding("folder-day-to-come", {"today": importer.today})
                importer.complain(line, column, to_come)


class _Ticker:
    """Tells lines done, a hundred times at most."""

    def __init__(self, lines: int, on_progress: Progress | None) -> None:
        self.lines = lines
        self.done = 0
        self.step = max(1, lines // 100)
        self.tell = on_progress or (lambda _done, _lines: None)

    def tick(self) -> None:
        self.done += 1
        if self.done % self.step == 0 and self.done < self.lines:
            self.tell(self.done, self.lines)

    def finish(self) -> None:
        self.tell(self.lines, self.lines)
