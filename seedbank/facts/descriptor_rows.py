"""Rows of the tables about passport descriptors, the genebanks' standard for an accession."""

from dataclasses import dataclass

from seedbank.facts.sources import Source


@dataclass(frozen=True, slots=True)
class DescriptorRow:
    """``passport_descriptors.csv``: one field of the standard, in its published order.

    ``format`` says how a value is written; ``several`` values are parted by semicolons.
    """

    number: str
    field: str
    title: str
    meaning: str
    format: str
    several: bool
    source: Source


@dataclass(frozen=True, slots=True)
class DescriptorCodeRow:
    """``passport_codes.csv``: a code a coded field may hold; ``within`` is the general code."""

    field: str
    code: str
    within: str
    meaning: str
    source: Source
