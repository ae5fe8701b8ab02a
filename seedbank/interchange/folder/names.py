"""Taking in what the rest of a folder refers to: kinds, places, varieties, sites; and the names
they go by.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from sqlmodel import Session, col, select

from seedbank.common.errors import StockFault
from seedbank.emergence.tables import Sowing
from seedbank.facts.kinds import KindFacts, UnknownKind, find_kind
from seedbank.facts.names import slugify
from seedbank.facts.overrides import BadFact, with_overrides
from seedbank.germination.tables import GerminationTest
from seedbank.interchange.filled_forms import errors_of, filled
from seedbank.interchange.folder.files import Numbered, Problems, Why
from seedbank.interchange.folder.rows import (
    CsvRow,
    GearRow,
    KindFactRow,
    LotRow,
    PlaceRow,
    SiteRow,
    SowingRow,
    VarietyRow,
)
from seedbank.kinds.edit_kinds import add_kind, facts_for, state_facts
from seedbank.kinds.edit_varieties import new_variety
from seedbank.kinds.forms import FactStated, KindCreate, VarietyCreate
from seedbank.kinds.tables import FactName, Kind, KindFact, Variety, facts_of, get_kind
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import PlaceCreate
from seedbank.lots.tables.lots import Lot, lot_by_code
from seedbank.lots.tables.places import Place
from seedbank.saving.edit_sites import add_gear, add_site, state_distance
from seedbank.saving.forms import DistanceStated, GearCreate, SiteCreate
from seedbank.saving.tables import IsolationGear, Site, all_distances
from seedbank.science.quantities import Finding

_COLUMNS = {"amount": "seeds", "slug": "kind"}  # what a form calls otherwise
F = TypeVar("F", bound=BaseModel)
T = TypeVar("T")


def key_of(name: str) -> str:
    """Names match whatever their case and spacing."""
    return " ".join(name.casefold().split())


@dataclass(slots=True)
class Importer:
    """The session, the day, the problems so far, and everything found or made, by its name.

    A value None stands for a thing whose own line has a problem: lines that mention it are let be.
    """

    session: Session
    now: datetime
    problems: Problems
    kinds: dict[str, Kind] = field(default_factory=dict)
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

    def complain(self, at: Numbered[CsvRow], column: str, mend: Why) -> None:
        """Note a problem with one cell of a line (``column`` empty: with the whole line)."""
        value = getattr(at.row, column, "")
        shown = ";".join(map(str, value)) if isinstance(value, list) else value
        self.problems.add(at.file, at.line, at.called.get(column, column), shown, mend)

    def complain_of(self, at: Numbered[CsvRow], fault: StockFault, column: str = "") -> None:
        """Note what was refused about a line, at the column at fault, if the line has it."""
        named = fault.field.partition("[")[0].rpartition(".")[2].removesuffix("_id")
        column = named if named in type(at.row).model_fields else column
        self.complain(at, column, f"{fault} {fault.mend}")

    @contextmanager
    def noting_refusals(self, at: Numbered[CsvRow], column: str = "") -> Iterator[None]:
        """Note what is refused within, as ``complain_of`` does."""
        try:
            yield
        except StockFault as fault:
            self.complain_of(at, fault, column)

    def filled(self, at: Numbered[CsvRow], form: type[F], **given: Any) -> F | None:
        """The form a line fills; a problem for each field at fault."""
        try:
            return form.model_validate(given)
        except ValidationError as wrong:
            for one in errors_of(wrong):
                name = one.field.partition("[")[0].rpartition(".")[2]
                self.complain(at, _COLUMNS.get(name, name), one.mend)
            return None

    def named(self, at: Numbered[CsvRow], column: str, name: str, known: dict[str, T]) -> T | None:
        """What a cell names; a problem if there is no such thing."""
        if key_of(name) not in known:
            values = {"choice": column, "file": _file(at, _HOLDS[column])}
            self.complain(at, column, Finding("folder-add-this", values))
        return known.get(key_of(name))

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
            close = ", ".join(unknown.close)
            values = {"close": close or None, "file": _file(at, KindFactRow)}
            self.complain(at, "kind", Finding("folder-kind-unknown", values))
            return None

    def lot_at(self, at: Numbered[CsvRow], name: str, column: str = "lot") -> Lot | None:
        """The lot a line names, by its label or by its code."""
        key = key_of(name)
        if key not in self.lots:
            try:
                self.lots[key] = lot_by_code(self.session, name)
            except StockFault:
                mend = Finding("folder-lot-unknown", {"file": _file(at, LotRow)})
                self.complain(at, column, mend)
                return None
        return self.lots[key]

    def variety_at(self, at: Numbered[CsvRow], kind: str, name: str) -> Variety | None:
        """The variety of a kind that a line names; a problem if there is none."""
        found = self.kind_at(at, kind)
        if found is None:
            return None
        variety = self.varieties.get((found.id or 0, key_of(name)))
        if variety is None:
            values = {"kind": found.name, "file": _file(at, VarietyRow)}
            self.complain(at, "variety", Finding("folder-variety-unknown", values))
        return variety

    def facts_of(self, kind_id: int) -> KindFacts:
        """What is known of a kind, the keeper's own values over the packaged ones.

        Raises Refused: values that can't be, or can't be together.
        """
        if kind_id not in self._facts:
            self._facts[kind_id] = facts_for(self.session, self.session.get_one(Kind, kind_id))
        return self._facts[kind_id]


_HOLDS: dict[str, type[CsvRow]] = {
    "place": PlaceRow, "site": SiteRow, "gear": GearRow, "sowing": SowingRow,
}  # fmt: skip


def _file(at: Numbered[CsvRow], row: type[CsvRow]) -> str:
    """What a file is called, in a folder where the line's own file is called as it is."""
    return f"{row.was if at.file == f'{type(at.row).was}.csv' else row.table}.csv"


def set_up_importer(session: Session, now: datetime, problems: Problems) -> Importer:
    """An importer that knows the kinds, places, varieties, sites and gear already in the stock."""
    importer = Importer(session, now, problems)
    importer.kinds = {kind.slug: kind for kind in session.exec(select(Kind))}
    named: list[tuple[Any, dict[str, int]]]
    named = [(Place, importer.places), (Site, importer.sites), (IsolationGear, importer.gear)]
    for table, known in named:
        known |= {key_of(one.name): one.id or 0 for one in session.exec(select(table))}
    importer.varieties = {
        (variety.kind_id, key_of(variety.name)): variety
        for variety in session.exec(select(Variety).order_by(col(Variety.id)))
    }
    return importer


def take_kinds(importer: Importer, rows: Iterable[Numbered[KindFactRow]]) -> tuple[int, int]:
    """Add own kinds and own facts; returns how many of each are new."""
    before = len(importer.kinds)
    own = facts_of(importer.session, (kind.id or 0 for kind in importer.kinds.values()))
    known: dict[tuple[int, str], KindFactRow | KindFact]
    known = {(number, fact.name): fact for number, facts in own.items() for fact in facts}
    stated: dict[int, dict[FactName, Numbered[KindFactRow]]] = {}
    for at in rows:
        kind = _kind_for(importer, at)
        if kind is not None and _is_new(importer, at, known, kind.id or 0):
            stated.setdefault(kind.id or 0, {})[at.row.name] = at
    for number, facts in stated.items():
        _state_facts(importer, importer.session.get_one(Kind, number), dict(facts))
    return len(importer.kinds) - before, sum(map(len, stated.values()))


def _kind_for(importer: Importer, at: Numbered[KindFactRow]) -> Kind | None:
    try:
        return importer.kind_named(at.row.kind)
    except UnknownKind as unknown:
        if unknown.several:
            kinds = Finding("folder-kind-of-several", {"kinds": ", ".join(unknown.close)})
            importer.complain(at, "kind", kinds)
            return None
    slug = slugify(at.row.kind)
    if not slug:
        importer.complain(at, "kind", Finding("folder-kind-no-letters"))
        return None
    form = importer.filled(at, KindCreate, slug=slug, name=at.row.kind)
    if form is None:
        return None
    add_kind(importer.session, form)
    importer.kinds[slug] = get_kind(importer.session, slug)
    return importer.kinds[slug]


def _is_new(
    importer: Importer,
    at: Numbered[KindFactRow],
    known: dict[tuple[int, str], KindFactRow | KindFact],
    kind_id: int,
) -> bool:
    """Whether nothing, or nothing else, was stated of it before; complains if something was."""
    before = known.setdefault((kind_id, at.row.name.value), at.row)
    if (before.value, before.source) != (at.row.value, at.row.source):
        already = Finding("folder-fact-twice", {"fact": before.value})
        importer.complain(at, "value", already)
    return before is at.row


def _state_facts(
    importer: Importer, kind: Kind, stated: dict[FactName, Numbered[KindFactRow]]
) -> None:
    """State what fits together; a value nobody could read, or the others rule out, is told."""
    forms = {}
    for name, at in stated.items():
        form = importer.filled(at, FactStated, **at.row.filled_cells())
        try:
            with_overrides(None, {name.value: (at.row.value, at.row.source)})
        except BadFact as bad:
            importer.complain(at, "value", bad.mend)
            continue
        if form is not None:
            forms[name] = form
    try:
        state_facts(importer.session, kind, forms)
    except StockFault as fault:
        name = next((one for one in forms if forms[one].value == fault.value), [*forms][-1])
        importer.complain(stated[name], "value", fault.mend)


def take_places(importer: Importer, rows: Iterable[Numbered[PlaceRow]]) -> int:
    """Add places; one of the same name that is there already is kept as it is."""
    return _take_named(importer, rows, "place", importer.places, PlaceCreate, add_place)


def take_gear(importer: Importer, rows: Iterable[Numbered[GearRow]]) -> int:
    """Add isolation gear; some of the same name that is there already is kept as it is."""
    return _take_named(importer, rows, "gear", importer.gear, GearCreate, add_gear)


def _take_named(
    importer: Importer,
    rows: Iterable[Numbered[Any]],
    what: str,
    known: dict[str, int],
    form: type[F],
    add: Callable[[Session, F], Any],
) -> int:
    """Add what a file tells of and isn't known yet by its name; returns how many."""
    seen: set[str] = set()
    before = len(known)
    for at in rows:
        key = key_of(at.row.name)
        if key in seen:
            importer.complain(at, "name", Finding("folder-line-twice", {"choice": what}))
        elif (
            key not in known
            and (named := importer.filled(at, form, **at.row.filled_cells())) is not None
        ):
            known[key] = add(importer.session, named).id
        seen.add(key)
    return len(known) - before


def take_varieties(importer: Importer, rows: Iterable[Numbered[VarietyRow]]) -> int:
    """Add varieties; one of the same kind and name that is there already is kept as it is."""
    seen: set[tuple[int, str]] = set()
    before = len(importer.varieties)
    for at in rows:
        kind = importer.kind_at(at, at.row.kind)
        if kind is None:
            continue
        key = (kind.id or 0, key_of(at.row.name))
        if key in seen:
            importer.complain(at, "name", Finding("folder-line-twice", {"choice": "variety"}))
        elif key not in importer.varieties:
            form = importer.filled(at, VarietyCreate, **at.row.filled_cells(), kind=kind.slug)
            if form is not None:
                importer.varieties[key] = new_variety(form, kind)
                importer.session.add(importer.varieties[key])
        seen.add(key)
    importer.session.flush()
    return len(importer.varieties) - before


def take_sites(importer: Importer, rows: list[Numbered[SiteRow]]) -> int:
    """Add sites, then their distances; a site of the same name that is there is kept as it is."""
    added = _take_named(importer, rows, "site", importer.sites, SiteCreate, add_site)
    known = {frozenset(pair): metres for pair, metres in all_distances(importer.session).items()}
    stated: dict[frozenset[int], float] = {}
    for at in rows:
        for name, metres in zip(at.row.other_sites, at.row.metres, strict=True):
            other = importer.sites.get(key_of(name))
            site = importer.sites.get(key_of(at.row.name))
            if other is None:
                values = {"choice": "site", "file": at.file}
                importer.complain(at, "other_sites", Finding("folder-add-this", values))
            if site is None or other is None:
                continue
            pair = frozenset({site, other})
            if stated.setdefault(pair, metres) != metres:
                other_line = Finding("folder-distance-twice", {"distance_m": stated[pair]})
                importer.complain(at, "metres", other_line)
            elif known.get(pair) != metres:
                with importer.noting_refusals(at, "other_sites"):
                    form = filled(DistanceStated, {"metres": metres})
                    state_distance(importer.session, site, other, form, expected=None)
                    known[pair] = metres
    return added
