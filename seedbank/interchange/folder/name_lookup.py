"""The importer's desk: what the names in the files stand for, while they are taken in."""

from dataclasses import dataclass, field
from datetime import date, datetime

from sqlmodel import Session, col, select

from seedbank.common.faults import StockFault
from seedbank.facts.kinds import KindFacts, UnknownKind, find_kind
from seedbank.facts.names import slugify
from seedbank.germination.tables.germination_tests import GerminationTest
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.problems import Problems
from seedbank.interchange.folder.rows import CsvRow
from seedbank.kinds.kind_facts import merged_facts
from seedbank.kinds.tables.kinds import Kind, KindFact
from seedbank.kinds.tables.varieties import Variety
from seedbank.lots.tables.lots import Lot, lot_by_code
from seedbank.lots.tables.places import Place
from seedbank.saving.tables.isolation_gear import IsolationGear
from seedbank.saving.tables.sites import Site
from seedbank.sowing.tables.sowings import Sowing


def key_of(name: str) -> str:
    """Names match whatever their case and spacing."""
    return " ".join(name.casefold().split())


@dataclass(slots=True)
class Desk:
    """The session, the day, the problems so far, and everything found or made, by its name.

    A value None stands for a thing whose own line has a problem: lines that mention it are let be.
    """

    session: Session
    now: datetime
    problems: Problems
    kinds: dict[str, Kind] = field(default_factory=dict)
    own_facts: dict[int, dict[str, KindFact]] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    varieties: dict[tuple[int, str], Variety] = field(default_factory=dict)
    lots: dict[str, Lot | None] = field(default_factory=dict)
    new_lots: set[int] = field(default_factory=set)
    tests: dict[str, GerminationTest | None] = field(default_factory=dict)
    sowings: dict[str, Sowing | None] = field(default_factory=dict)
    sites: dict[str, Site] = field(default_factory=dict)
    gear: dict[str, IsolationGear] = field(default_factory=dict)
    _facts: dict[int, KindFacts] = field(default_factory=dict)

    @property
    def today(self) -> date:
        return self.now.date()

    def complain(self, at: Numbered[CsvRow], column: str, mend: str) -> None:
        """Note a problem with one cell of a line (``column`` empty: with the whole line)."""
        value = getattr(at.row, column, "")
        shown = ";".join(map(str, value)) if isinstance(value, list) else value
        self.problems.add(at.file, at.line, column, shown, mend)

    def complain_of(self, at: Numbered[CsvRow], column: str, fault: StockFault) -> None:
        """Note what the stock refused about a line."""
        self.complain(at, column, f"{fault}; {fault.mend}")

    def kind_named(self, name: str) -> Kind:
        """A kind in the stock by its own or any garden name. Raises UnknownKind."""
        own = self.kinds.get(slugify(name))
        if own is not None:
            return own
        slug = find_kind(name).slug
        if slug not in self.kinds:
            raise UnknownKind(name, ())
        return self.kinds[slug]

    def kind_at(self, at: Numbered[CsvRow], name: str) -> Kind | None:
        """The kind a line names; a problem if there is none such, or several."""
        try:
            return self.kind_named(name)
        except UnknownKind as unknown:
            hint = f"write one of {', '.join(unknown.close)}, or " if unknown.close else ""
            self.complain(at, "kind", f"{hint}add the kind in kinds.csv")
            return None

    def lot_at(self, at: Numbered[CsvRow], name: str, column: str = "lot") -> Lot | None:
        """The lot a line names, by its label in lots.csv or by its code."""
        key = key_of(name)
        if key not in self.lots:
            try:
                self.lots[key] = lot_by_code(self.session, name)
            except StockFault:
                self.complain(at, column, "name a lot by its label in lots.csv or by its code")
                return None
        return self.lots[key]

    def variety_at(self, at: Numbered[CsvRow], kind: Kind, name: str) -> Variety | None:
        """The variety of a kind that a line names; a problem if there is none."""
        variety = self.varieties.get((kind.id or 0, key_of(name)))
        if variety is None:
            self.complain(at, "variety", f"add this variety of {kind.name} to varieties.csv")
        return variety

    def site_at(self, at: Numbered[CsvRow], name: str, column: str = "site") -> Site | None:
        """The site a line names; a problem if there is none."""
        site = self.sites.get(key_of(name))
        if site is None:
            self.complain(at, column, "add this site to sites.csv")
        return site

    def facts_of(self, kind_id: int) -> KindFacts:
        """What is known of a kind, the keeper's own values over the packaged ones.

        Raises Refused: values that can't be, or can't be together.
        """
        if kind_id not in self._facts:
            kind = next(kind for kind in self.kinds.values() if kind.id == kind_id)
            self._facts[kind_id] = merged_facts(kind, self.own_facts.get(kind_id, {}).values())
        return self._facts[kind_id]


def set_up_desk(session: Session, now: datetime, problems: Problems) -> Desk:
    """A desk that knows the kinds, places, varieties, sites and gear already in the stock."""
    desk = Desk(session, now, problems)
    desk.kinds = {kind.slug: kind for kind in session.exec(select(Kind))}
    for fact in session.exec(select(KindFact)):
        desk.own_facts.setdefault(fact.kind_id, {})[fact.name] = fact
    desk.places = {key_of(place.name): place for place in session.exec(select(Place))}
    desk.sites = {key_of(site.name): site for site in session.exec(select(Site))}
    desk.gear = {key_of(gear.name): gear for gear in session.exec(select(IsolationGear))}
    desk.varieties = {
        (variety.kind_id, key_of(variety.name)): variety
        for variety in session.exec(select(Variety).order_by(col(Variety.id)))
    }
    return desk
