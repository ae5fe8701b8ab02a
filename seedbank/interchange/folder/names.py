"""Taking in what the rest of a folder refers to: kinds, places, varieties, sites; and the names
they go by.
"""

from collections.abc import Iterable, Mapping
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
from seedbank.interchange.filled_forms import errors_of
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
from seedbank.kinds.tables import Kind, KindFact, Variety
from seedbank.lots.tables.lots import Lot, lot_by_code
from seedbank.lots.tables.places import Place
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

    def filled(
        self,
        at: Numbered[CsvRow],
        form: type[F],
        given: Mapping[str, Any],
        columns: Mapping[str, str] | None = None,
    ) -> F | None:
        """The form a line fills, its fields called by the line's ``columns``; a problem for each
        field at fault.
        """
        try:
            return form.model_validate(given)
        except ValidationError as wrong:
            for one in errors_of(wrong):
                column = one.field.partition("[")[0]
                self.complain(at, (columns or {}).get(column, column), one.mend)
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
    seen: set[str] = set()
    added = 0
    for at in rows:
        key, row = key_of(at.row.place), at.row
        if key in seen:
            desk.complain(at, "place", "keep one line for each place")
        elif key not in desk.places:
            place = Place(
                name=row.place,
                temp_winter_c=row.winter_temperature_c,
                temp_summer_c=row.summer_temperature_c,
                rh_winter_pct=row.winter_rh_pct,
                rh_summer_pct=row.summer_rh_pct,
                seed_moisture_pct=row.seed_moisture_pct,
                sealed=row.sealed,
                notes=row.notes,
            )
            desk.places[key] = place
            desk.session.add(place)
            added += 1
        seen.add(key)
    desk.session.flush()
    return added


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
            variety = Variety(
                kind_id=key[0],
                name=row.variety,
                **row.model_dump(
                    include={"breeding", "other_keepers", "plants_wanted", "reserve_seeds", "notes"}
                ),
            )
            desk.varieties[key] = variety
            desk.session.add(variety)
            added += 1
        seen.add(key)
    desk.session.flush()
    return added


def take_sites(desk: Desk, rows: list[Numbered[SiteRow]]) -> int:
    """Add sites, then their distances; a site of the same name that is there is kept as it is."""
    seen: set[str] = set()
    added = 0
    for at in rows:
        key, row = key_of(at.row.site), at.row
        if key in seen:
            desk.complain(at, "site", "keep one line for each site")
        elif key not in desk.sites:
            site = Site(name=row.site, seed_bed_m2=row.seed_bed_m2, notes=row.notes)
            desk.sites[key] = site
            desk.session.add(site)
            added += 1
        seen.add(key)
    desk.session.flush()
    said: dict[frozenset[int | None], float] = {}
    for at in rows:
        for name, metres in zip(at.row.other_sites, at.row.metres, strict=True):
            _set_distance(desk, at, name, metres, said)
    return added


def _set_distance(
    desk: Desk,
    at: Numbered[SiteRow],
    name: str,
    metres: float,
    said: dict[frozenset[int | None], float],
) -> None:
    site, other = desk.sites[key_of(at.row.site)], desk.site_at(at, name, column="other_sites")
    if other is None:
        return
    pair = frozenset({site.id, other.id})
    if said.setdefault(pair, metres) != metres:
        desk.complain(at, "metres", f"another line says {said[pair]:g} m; write one distance")
        return
    try:
        set_distance(desk.session, site.id or 0, other.id or 0, metres)
    except StockFault as fault:
        desk.complain_of(at, "other_sites", fault)


def take_gear(desk: Desk, rows: Iterable[Numbered[GearRow]]) -> int:
    """Add isolation gear; some of the same name that is there already is kept as it is."""
    seen: set[str] = set()
    added = 0
    for at in rows:
        key, row = key_of(at.row.gear), at.row
        if key in seen:
            desk.complain(at, "gear", "keep one line for each")
        elif key not in desk.gear:
            gear = IsolationGear(
                name=row.gear,
                gear=row.sort,
                **row.model_dump(include={"pieces", "covers_m2", "notes"}),
            )
            desk.gear[key] = gear
            desk.session.add(gear)
            added += 1
        seen.add(key)
    desk.session.flush()
    return added
