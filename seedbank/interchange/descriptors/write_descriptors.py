"""A lot told in the genebanks' passport descriptors: only what is on record, nothing guessed."""

from collections.abc import Iterator
from datetime import date

from sqlmodel import Session

from seedbank.common.answers import Source, distinct, finding_answers
from seedbank.common.catalogue import text_of
from seedbank.common.errors import Conflict
from seedbank.database.find import row_id
from seedbank.facts.cautions import Situation
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Confidence
from seedbank.interchange.descriptors.answers import DescriptorsAnswer
from seedbank.interchange.descriptors.rules import (
    STANDARD,
    check_value,
    date_text,
    descriptors,
    one_piece,
)
from seedbank.interchange.filled_forms import misfit
from seedbank.interchange.passport.queries import finished_tests
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Breeding
from seedbank.lots.show_lots import lot_cautions, lot_entries, lot_entry
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import Isolation, Lot, Origin, Purity, SeedForm, find_lot, parents
from seedbank.lots.tables.mixtures import parts_of
from seedbank.science.quantities import Finding

SEED_COLLECTION = "10"
LANDRACE, IMPROVED, HOME_GARDEN = "300", "500", "23"
_SAVED = (Origin.SELF_SAVED, Origin.COLLECTED)
_RANKS = ("subsp.", "convar.", "var.", "f.", "Group")


def write_descriptors(
    session: Session, code: str, *, institute: str = "", today: date
) -> DescriptorsAnswer:
    """A lot as one record. ``institute`` is the WIEWS code of who keeps it; it isn't made up.

    Raises MisreadCode, NotThere. Refused: the institute's code is no such code. Conflict: a
    mixture.
    """
    lot = find_lot(session, code)
    if parts_of(session, [row_id(lot.id)]):
        raise Conflict("mixture-no-passport", "code", lot.code)
    entry = lot_entry(session, lot)
    facts = facts_for(session, entry.kind)
    cells = {
        "INSTCODE": _institute(institute),
        "ACCENUMB": lot.code,
        **_taxon(facts.botanical.value if facts.botanical else ""),
        "CROPNAME": one_piece(entry.kind.name),
        "ACCENAME": _capital(one_piece(entry.variety.name)),
        "ACQDATE": date_text(lot.acquired_on) if lot.acquired_on else "",
        "COLLDATE": _collected(lot),
        "SAMPSTAT": _status(entry),
        "ANCEST": _ancestry(session, lot),
        "COLLSRC": HOME_GARDEN if lot.origin is Origin.SELF_SAVED else "",
        "DONORNAME": "" if lot.origin in _SAVED else one_piece(lot.donor),
        "STORAGE": SEED_COLLECTION,
        "REMARKS": ";".join(one_piece(text_of(one)) for one in _remarks(session, entry, today)),
    }
    record = {field: cells[field] for field in descriptors() if cells.get(field)}
    cautions = lot_cautions(lot, facts, (Situation.MOVING, Situation.SELLING))
    source = descriptors()["ACCENUMB"].source
    standard = Source(text=source.text, confidence=source.confidence)
    reading = Source(
        text="which code a garden's own words come under: our reading of the standard",
        confidence=Confidence.COMPUTED,
    )
    return DescriptorsAnswer(
        standard=STANDARD,
        record=record,
        notes=finding_answers(_notes(record, entry, facts)),
        cautions=cautions,
        sources=distinct([standard, reading, *(one.source for one in cautions)]),
    )


def _institute(code: str) -> str:
    try:
        if code:
            check_value("INSTCODE", code)
    except ValueError as wrong:
        raise misfit("institute", code, str(wrong)) from wrong
    return code


def _taxon(botanical: str) -> dict[str, str]:
    """Genus, epithet and what is below, from a botanical name without authorities."""
    words = botanical.split()
    if len(words) < 2:
        return {"GENUS": _capital(botanical)}
    hybrid = words[1] in ("x", "×") and len(words) > 2
    species = " ".join(words[1:3]) if hybrid else words[1]
    rest = words[3:] if hybrid else words[2:]
    below = " ".join(rest) if rest and (rest[0] in _RANKS or rest[-1] == "Group") else ""
    return {
        "GENUS": words[0],
        "SPECIES": "sp." if species in ("sp.", "spp.") else species,
        "SUBTAXA": below,
    }


def _status(entry: LotEntry) -> str:
    """Landraces are traditional cultivars; bought F1 seed is bred. Of the rest nothing is known."""
    if entry.variety.breeding is Breeding.LANDRACE:
        return LANDRACE
    bought = entry.lot.origin is Origin.BOUGHT
    return IMPROVED if bought and entry.variety.breeding is Breeding.F1 else ""


def _collected(lot: Lot) -> str:
    if lot.origin is not Origin.COLLECTED:
        return ""
    if lot.harvest_date is not None:
        return date_text(lot.harvest_date)
    return "" if lot.harvest_year is None else f"{lot.harvest_year:04}----"


def _ancestry(session: Session, lot: Lot) -> str:
    line = parents(session, [row_id(lot.id)])[row_id(lot.id)]
    named = [f"{one.lot.code} {one.variety.name}" for one in lot_entries(session, line).values()]
    if not named:
        return ""
    return one_piece(text_of(Finding("descriptors-ancestry", {"lots": ", ".join(sorted(named))})))


def _remarks(session: Session, entry: LotEntry, today: date) -> Iterator[Finding]:
    """Remarks in the standard's way: the field they are about, a colon, the note."""
    lot = entry.lot
    harvest = lot.harvest_date or lot.harvest_year
    if harvest is not None:
        sure = "estimated" if lot.harvest_estimated else "sure"
        yield Finding("remark-harvest", {"harvest": harvest, "sure": sure})
    if entry.variety.breeding is Breeding.F1 and lot.origin is not Origin.BOUGHT:
        yield Finding("remark-f1")
    if lot.purity is Purity.RISK:
        yield Finding("remark-may-have-crossed", {"note": lot.purity_note})
    if lot.seed_parents is not None:
        yield Finding("remark-seed-parents", {"plants": lot.seed_parents})
    if lot.isolation is not Isolation.UNKNOWN:
        yield Finding("remark-isolation", {"way": lot.isolation.value})
    if lot.treated:
        yield Finding("remark-treated")
    if lot.seed_form in (SeedForm.PELLETED, SeedForm.PRIMED):
        yield Finding("remark-seed-form", {"choice": lot.seed_form.value})
    if lot.printed_germination_pct is not None:
        printed = {"printed_pct": lot.printed_germination_pct, "rough_day": lot.printed_test_on}
        yield Finding("remark-printed", printed)
    tests = finished_tests(session, row_id(lot.id), until=today)
    if tests and (last := tests[-1]).judged_seeds:
        seeds = {"normal": last.normal_seeds, "judged": last.judged_seeds}
        yield Finding("remark-tested", {**seeds, "begun": last.started_on})


def _notes(record: dict[str, str], entry: LotEntry, facts: KindFacts) -> Iterator[Finding]:
    if "INSTCODE" not in record:
        yield Finding("institute-left-out")
    if facts.botanical is None:
        yield Finding("species-left-out")
    if "SAMPSTAT" not in record:
        yield Finding("status-left-out")
    yield Finding("country-left-out")
    if "DONORNAME" in record:
        yield Finding("donor-may-be-person")
    if record["ACCENAME"] != entry.variety.name:
        yield Finding("name-written-otherwise", {"variety": entry.variety.name})


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
