"""Finding the thing a request names; the error says which field named it."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlmodel import Session

from seedbank.service.errors import NotThere
from seedbank.stock.errors import MisreadCode, Missing
from seedbank.stock.germination_tests import GerminationTest, get_test
from seedbank.stock.kinds import Kind, get_kind
from seedbank.stock.lots import Lot, lot_by_code
from seedbank.stock.places import Place, get_place
from seedbank.stock.sowings import Sowing, get_sowing
from seedbank.stock.varieties import Variety, get_variety


@contextmanager
def asked_in(field: str) -> Iterator[None]:
    """Name the field that asked for what is missing, or whose lot code is misread."""
    try:
        yield
    except Missing as fault:
        raise NotThere(fault.what, fault.key, field=field) from fault
    except MisreadCode as fault:
        fault.field = field
        raise


def find_kind(session: Session, slug: str, *, field: str = "slug") -> Kind:
    """The kind with this slug. Raises NotThere."""
    with asked_in(field):
        return get_kind(session, slug)


def find_variety(session: Session, number: int, *, field: str = "id") -> Variety:
    """The variety with this number. Raises NotThere."""
    with asked_in(field):
        return get_variety(session, number)


def find_place(session: Session, number: int, *, field: str = "id") -> Place:
    """The place with this number. Raises NotThere."""
    with asked_in(field):
        return get_place(session, number)


def find_test(session: Session, number: int) -> GerminationTest:
    """The germination test with this number. Raises NotThere."""
    with asked_in("id"):
        return get_test(session, number)


def find_sowing(session: Session, number: int) -> Sowing:
    """The sowing with this number. Raises NotThere."""
    with asked_in("id"):
        return get_sowing(session, number)


def find_lot(session: Session, code: str, *, field: str = "code") -> Lot:
    """The lot with this code, however it is typed. Raises MisreadCode, NotThere."""
    with asked_in(field):
        return lot_by_code(session, code)


def row_id(number: int | None) -> int:
    """The id of a row that the database has given one."""
    assert number is not None
    return number
