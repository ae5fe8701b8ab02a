"""Proving a collection: its ledger, references, rules and file, row by row, changing nothing."""

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DatabaseError, OperationalError

from seedbank.common.catalogue import text_of
from seedbank.database.engine import one_moment
from seedbank.science.quantities import Finding
from seedbank.upkeep.checks.check_rules import check_rules
from seedbank.upkeep.checks.proofs import Proof, check_file, check_links, check_schema
from seedbank.upkeep.checks.rows import check_counts, check_ledger, check_lots, check_words

_PARTS: tuple[tuple[str, Callable[[Connection], list[Proof]]], ...] = (
    ("ledger", check_ledger),
    ("counts", check_counts),
    ("lots", check_lots),
    ("references", check_links),
    ("rules", check_rules),
    ("words", check_words),
)


@dataclass(frozen=True, slots=True)
class CheckedPart:
    """One part of the proof, by its code, and its claims."""

    code: str
    proofs: tuple[Proof, ...]

    @property
    def name(self) -> str:
        """What it is of, in words."""
        return text_of(Finding("check-part", {"choice": self.code}))


@dataclass(frozen=True, slots=True)
class CheckReport:
    """What was proved of a collection as it was at one moment, and what doesn't hold."""

    parts: tuple[CheckedPart, ...]

    @property
    def holds(self) -> bool:
        return self.broken == 0

    @property
    def broken(self) -> int:
        """How many rows break a claim."""
        return sum(proof.broken for part in self.parts for proof in part.proofs)

    @property
    def claims(self) -> int:
        return sum(len(part.proofs) for part in self.parts)

    @property
    def faults(self) -> list[str]:
        """One sentence a fault; of many alike the first few, and how many more there are."""
        faults: list[str] = []
        for part in self.parts:
            for proof in part.proofs:
                faults += map(text_of, proof.faults)
                if more := proof.broken - len(proof.faults):
                    faults.append(
                        text_of(Finding("check-more", {"more": more, "claim": proof.claim}))
                    )
        return faults


def check_collection(engine: Engine) -> CheckReport:
    """Prove the collection as it is at this moment; writers need not wait.

    Memory is bounded but for lots' lines of descent, a few numbers each. Where the file is
    damaged or the schema isn't this program's, that alone is told.

    Raises OperationalError: the database is busy or away.
    """
    try:
        with one_moment(engine) as connection:
            return check_at(connection)
    except OperationalError:
        raise
    except DatabaseError as unreadable:
        fault = Finding("check-unreadable", {"why": str(unreadable.orig)})
        proof = Proof("check-unreadable", 1, {}, (fault,), 1)
        return CheckReport((CheckedPart("file", (proof,)),))


def check_at(connection: Connection) -> CheckReport:
    """The same within a transaction that is open already. Raises DatabaseError: unreadable."""
    done: list[CheckedPart] = []
    for name, check in (("file", check_file), ("schema", check_schema)):
        done.append(CheckedPart(name, tuple(check(connection))))
        if not all(proof.holds for proof in done[-1].proofs):
            return CheckReport(tuple(done))
    parts = (CheckedPart(name, tuple(check(connection))) for name, check in _PARTS)
    return CheckReport((*done, *parts))
