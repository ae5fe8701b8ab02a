"""Taking in what the rest of a folder refers to: kinds, places, varieties, sites; and the names
they go by.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from sqlmodel import Session, col, select

from seedbank.common.errors import Refused, StockFault
from seedbank.facts.kinds import KindFacts, UnknownKind, find_kind
from seedbank.facts.names import slugify
from seedbank.facts.overrides import BadFact, with_overrides
from seedbank.germination.tables import GerminationTest
from seedbank.interchange.filled_forms import errors_of, filled
from seedbank.interchange.folder.files import Numbered, Problems
from seedbank.interchange.folder.rows import (
    CsvRow,
    GearRow,
    KindFactRow,
    PlaceRow,
    SiteRow,
    VarietyRow,
)
from seedbank.kinds.edit_kinds import merged_facts
from seedbank.kinds.edit_varieties import new_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.kinds.tables import Kind, KindFact, Variety
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import PlaceCreate
from seedbank.lots.tables.lots import Lot, lot_by_code
from seedbank.lots.tables.places import Place
from seedbank.saving.edit_sites import add_gear, add_site
from seedbank.saving.forms import DistanceStated, GearCreate, SiteCreate
from seedbank.saving.tables import IsolationGear, Site, set_distance
from seedbank.sowing.tables import Sowing

F = TypeVar("F", bound=BaseModel)


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
    places: dict[str, int] = field(default_factory=dict)
    varieties: dict[tuple[int, str], Variety] = field(default_factory=dict)
    lots: dict[str, Lot | None] = field(default_factory=dict)
    new_lots: set[int] = field(default_factory=set)
    tests: dict[str, GerminationTest | None] = field(default_factory=dict)
    sowings: dict[str, Sowing | None] = field(default_factory=dict)
    sites: dict[str, int] = field(default_factory=dict)
    gear: dict[str, int] = field(default_factory=dict)
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
        self.complain(at, column, f"{fault} {fault.mend}")

    def filled(self, at: Numbered[CsvRow], form: type[F], **more: Any) -> F | None:
        """The form a line fills, with ``more`` of its fields; a problem for each at fault."""
        columns = {field: column for column, field in at.row.fields.items()}
        try:
            return form.model_validate(at.row.told() | more)
        except ValidationError as wrong:
            for one in errors_of(wrong):
                field = one.field.partition("[")[0].rpartition(".")[2]
                self.complain(at, columns.get(field, field), one.mend)
            return None

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

    def site_at(self, at: Numbered[CsvRow], name: str, column: str = "site") -> int | None:
        """Number of the site a line names; a problem if there is none."""
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
    named: list[tuple[Any, dict[str, int]]]
    named = [(Place, desk.places), (Site, desk.sites), (IsolationGear, desk.gear)]
    for table, known in named:
        known |= {key_of(one.name): one.id or 0 for one in session.exec(select(table))}
    desk.varieties = {
        (variety.kind_id, key_of(variety.name)): variety
        for variety in session.exec(select(Variety).order_by(col(Variety.id)))
    }
    return desk


def take_kinds(desk: Desk, rows: Iterable[Numbered[KindFactRow]]) -> tuple[int, int]:
    """Add own kinds and own facts; returns how many of each are new."""
    kinds = facts = 0
    for at in rows:
        kind, is_new = _kind_for(desk, at)
        if kind is None:
            continue
        kinds += is_new
        facts += _state_fact(desk, at, kind)
    desk.session.flush()
    for at in rows:
        _check_facts(desk, at)
    return kinds, facts


def _kind_for(desk: Desk, at: Numbered[KindFactRow]) -> tuple[Kind | None, bool]:
    try:
        return desk.kind_named(at.row.kind), False
    except UnknownKind as unknown:
        if unknown.several:
            desk.complain(at, "kind", f"say which: {', '.join(unknown.close)}")
            return None, False
    slug = slugify(at.row.kind)
    if not slug:
        desk.complain(at, "kind", "name it in Latin letters or digits")
        return None, False
    kind = Kind(slug=slug, name=at.row.kind)
    desk.session.add(kind)
    desk.session.flush()
    desk.kinds[slug] = kind
    return kind, True


def _state_fact(desk: Desk, at: Numbered[KindFactRow], kind: Kind) -> bool:
    stated = desk.own_facts.setdefault(kind.id or 0, {})
    before = stated.get(at.row.fact)
    if before is None:
        fact = KindFact(
            kind_id=kind.id or 0,
            name=at.row.fact.value,
            value=at.row.value,
            source=at.row.source,
        )
        stated[fact.name] = fact
        desk.session.add(fact)
        return True
    if (before.value, before.source) != (at.row.value, at.row.source):
        desk.complain(at, "value", f"leave this line out: it is {before.value} already")
    return False


def _check_facts(desk: Desk, at: Numbered[KindFactRow]) -> None:
    """A value nobody could read, or that the kind's others rule out, is refused here already."""
    try:
        with_overrides(None, {at.row.fact.value: (at.row.value, at.row.source)})
    except BadFact as bad:
        desk.complain(at, "value", bad.mend)
        return
    try:
        desk.facts_of(desk.kind_named(at.row.kind).id or 0)
    except Refused as refusal:
        if refusal.value == at.row.value:
            desk.complain(at, "value", refusal.mend)
    except UnknownKind:
        return  # said already


def take_places(desk: Desk, rows: Iterable[Numbered[PlaceRow]]) -> int:
    """Add places; one of the same name that is there already is kept as it is."""
    return _take_named(desk, rows, "place", desk.places, PlaceCreate, add_place)


def take_gear(desk: Desk, rows: Iterable[Numbered[GearRow]]) -> int:
    """Add isolation gear; some of the same name that is there already is kept as it is."""
    return _take_named(desk, rows, "gear", desk.gear, GearCreate, add_gear)


def _take_named(
    desk: Desk,
    rows: Iterable[Numbered[CsvRow]],
    column: str,
    known: dict[str, int],
    form: type[F],
    add: Callable[[Session, F], Any],
) -> int:
    """Add what a file tells of and isn't known yet by its name; returns how many."""
    seen: set[str] = set()
    before = len(known)
    for at in rows:
        key = key_of(getattr(at.row, column))
        if key in seen:
            desk.complain(at, column, f"keep one line for each {column}")
        elif key not in known and (filled := desk.filled(at, form)) is not None:
            known[key] = add(desk.session, filled).id
        seen.add(key)
    return len(known) - before


def take_varieties(desk: Desk, rows: Iterable[Numbered[VarietyRow]]) -> int:
    """Add varieties; one of the same kind and name that is there already is kept as it is."""
    seen: set[tuple[int, str]] = set()
    added = 0
    for at in rows:
        kind, row = desk.kind_at(at, at.row.kind), at.row
        if kind is None:
            continue
        key = (kind.id or 0, key_of(row.variety))
        if key in seen:
            desk.complain(at, "variety", "keep one line for each variety of a kind")
        elif key not in desk.varieties:
            form = desk.filled(at, VarietyCreate, kind=kind.slug)
            if form is not None:
                desk.varieties[key] = new_variety(form, kind)
                desk.session.add(desk.varieties[key])
                added += 1
        seen.add(key)
    desk.session.flush()
    return added


def take_sites(desk: Desk, rows: list[Numbered[SiteRow]]) -> int:
    """Add sites, then their distances; a site of the same name that is there is kept as it is."""
    added = _take_named(desk, rows, "site", desk.sites, SiteCreate, add_site)
    said: dict[frozenset[int], float] = {}
    for at in rows:
        for name, metres in zip(at.row.other_sites, at.row.metres, strict=True):
            _set_distance(desk, at, name, metres, said)
    return added


def _set_distance(
    desk: Desk,
    at: Numbered[SiteRow],
    name: str,
    metres: float,
    said: dict[frozenset[int], float],
) -> None:
    site = desk.sites.get(key_of(at.row.site))
    other = desk.site_at(at, name, column="other_sites")
    if site is None or other is None:
        return
    pair = frozenset({site, other})
    if said.setdefault(pair, metres) != metres:
        desk.complain(at, "metres", f"another line says {said[pair]:g} m; write one distance")
        return
    try:
        filled(DistanceStated, {"metres": metres})
        set_distance(desk.session, site, other, metres)
    except Refused as fault:
        desk.complain_of(at, "metres", fault)
    except StockFault as fault:
        desk.complain_of(at, "other_sites", fault)
