"""A packet at the bench: taken in, or put elsewhere, and what isn't listed yet added."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlmodel import Session

from seedbank.common.errors import Refused, StockFault
from seedbank.database.find import row_id
from seedbank.database.transaction import transaction
from seedbank.facts.names import kind_by_variety, kinds_near
from seedbank.kinds.edit_varieties import add_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.kinds.tables import Kind, get_kind, kind_named, kinds_named, varieties_named
from seedbank.lots.answers import LotAnswer, StayAnswer
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import LotCreate, PacketCreate, PacketMove, PlaceCreate, StayCreate
from seedbank.lots.take_in_lots import move_lot_to, take_in_lot

MOST_NEAR: Final = 4  # kinds offered
_NOT_OF_LOT = {"kind", "kind_as_named", "variety", "variety_id", "new_place", "place_id"}


def take_in_packet(
    session: Session, form: PacketCreate, *, today: date, now: datetime
) -> LotAnswer:
    """Take a packet in, with its variety and place if they are new, all of it or nothing.

    Raises Refused: no such kind, or the variety doesn't tell which; otherwise as ``take_in_lot``,
    ``add_variety`` and ``add_place``.
    """
    with transaction(session):
        lot = form.model_dump(exclude=_NOT_OF_LOT, exclude_unset=True)
        lot["variety_id"] = _variety(session, form)
        if (place := _place(session, form.place_id, form.new_place)) is not None:
            lot["place_id"] = place
        return take_in_lot(session, LotCreate.model_validate(lot), today=today, now=now)


def move_packet(session: Session, code: str, form: PacketMove, *, today: date) -> StayAnswer:
    """Put a lot in a place, added first if it is new. Raises as ``move_lot_to``, ``add_place``."""
    with transaction(session):
        place = _place(session, form.place_id, form.new_place)
        assert place is not None  # the form sees to it
        stay = StayCreate(place_id=place, from_date=form.from_date, sealed_anew=form.sealed_anew)
        return move_lot_to(session, code, stay, today=today)


def _variety(session: Session, form: PacketCreate) -> int:
    """Number of the variety, added if the kind has none of that name."""
    kind = None if form.kind is None else _kind(session, form)
    known = varieties_named(session, form.variety, kind_id=kind.id if kind else None)
    if len(known) == 1:
        return row_id(known[0].variety.id)
    if kind is None:
        if not known:
            raise Refused("variety-new-of-what-kind", "kind", None, variety=form.variety)
        kinds = " or ".join(entry.kind.name for entry in known)
        raise Refused("variety-of-several-kinds", "kind", None, variety=form.variety, kinds=kinds)
    exact = [entry for entry in known if entry.variety.name == form.variety]
    if exact:
        return row_id(exact[0].variety.id)
    return add_variety(session, VarietyCreate(kind=kind.slug, name=form.variety)).id


def _kind(session: Session, form: PacketCreate) -> Kind:
    """The kind a packet names, as ``kind_taken`` says; Refused where it says none."""
    assert form.kind is not None
    taken = kind_taken(session, form.kind, form.variety, form.notes, as_named=form.kind_as_named)
    return taken.kind or kind_named(session, form.kind, form.variety, form.notes)


@dataclass(frozen=True, slots=True)
class KindTaken:
    """What a packet's kind is taken for: the one, or those it may be, or those it comes near.

    ``plain`` is the kind named, where a word of the variety's made it another.
    """

    kind: Kind | None = None
    plain: Kind | None = None
    perhaps: tuple[Kind, ...] = ()


def kind_taken(
    session: Session, name: str, variety: str = "", notes: str = "", *, as_named: bool = False
) -> KindTaken:
    """What a kind's name is taken for, together with what else is said; see ``take_in_packet``."""
    plain = kinds_named(session, name)
    if not plain:
        near = kinds_near(name)[:MOST_NEAR]
        found = [one for slug in near for one in kinds_named(session, slug)]
        return KindTaken(perhaps=tuple(found))
    known = len(plain) == 1 and (
        as_named or bool(variety and varieties_named(session, variety, kind_id=plain[0].id))
    )
    narrowed = None if known else kind_by_variety(name, variety, notes)
    if narrowed is not None and narrowed not in {one.slug for one in plain}:
        return KindTaken(get_kind(session, narrowed), plain=plain[0])
    if narrowed is not None or len(plain) == 1:
        return KindTaken(next((one for one in plain if one.slug == narrowed), plain[0]))
    return KindTaken(perhaps=tuple(plain[:MOST_NEAR]))


def _place(session: Session, place_id: int | None, new: PlaceCreate | None) -> int | None:
    if new is None:
        return place_id
    try:
        return add_place(session, new).id
    except StockFault as fault:
        fault.field = f"new_place.{fault.field}"
        raise
