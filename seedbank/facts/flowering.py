"""When kinds flower, which species cross in part, and the wild and field plants that join in."""

from dataclasses import dataclass

from seedbank.facts import loaders
from seedbank.facts.sources import Fact
from seedbank.science.crossing.crossing_risk import PartialCross, Relation
from seedbank.science.crossing.flowering_days import DayWindow


@dataclass(frozen=True, slots=True)
class Relative:
    """A plant no one sowed for seed, or a field crop, that belongs to a crossing group.

    ``grows`` wild | field | garden; days as in a cool temperate northern garden.
    """

    name: str
    botanical: str
    crossing_group: str
    grows: str
    flowering: DayWindow


def flowering(slug: str) -> Fact[DayWindow] | None:
    """Days of the year in which a kind grown for seed flowers; None where the table has no row."""
    for row in loaders.flowering():
        if row.slug == slug:
            window = DayWindow(row.from_day, row.to_day)
            return Fact(window, row.source.text, row.source.confidence, row.notes)
    return None


def partial_crosses() -> tuple[Fact[PartialCross], ...]:
    """Pairs of crossing groups that cross in part; a pair that does both ways gives two facts."""
    found = []
    for row in loaders.crossing_pairs():
        ways = [(row.seed_group, row.pollen_group)]
        if row.both_ways:
            ways.append((row.pollen_group, row.seed_group))
        for seed, pollen in ways:
            cross = PartialCross(seed, pollen, Relation(row.likelihood))
            found.append(Fact(cross, row.source.text, row.source.confidence, row.notes))
    return tuple(found)


def relatives(groups: frozenset[str]) -> tuple[Fact[Relative], ...]:
    """Wild plants and field crops of any of these crossing groups, to ask the gardener about."""
    return tuple(
        Fact(
            Relative(
                row.name,
                row.botanical,
                row.crossing_group,
                row.grows,
                DayWindow(row.from_day, row.to_day),
            ),
            row.source.text,
            row.source.confidence,
            row.notes,
        )
        for row in loaders.wild_and_field_relatives()
        if row.crossing_group in groups
    )
