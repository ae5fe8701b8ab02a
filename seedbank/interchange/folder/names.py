"""Taking in what the rest refers to: kinds and their facts, places, varieties."""

from collections.abc import Iterable

from seedbank.common.errors import Refused
from seedbank.facts.kinds import UnknownKind
from seedbank.facts.names import slugify
from seedbank.facts.overrides import BadFact, with_overrides
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.name_lookup import Desk, key_of
from seedbank.interchange.folder.rows import KindFactRow, PlaceRow, VarietyRow
from seedbank.kinds.tables.kinds import Kind, KindFact
from seedbank.kinds.tables.varieties import Variety
from seedbank.lots.tables.places import Place


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
