"""Finding the thing a request is about, or names in a field: the error tells which."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlmodel import Session

from seedbank.common.errors import NotThere, Refused
from seedbank.common.faults import MisreadCode, Missing
from seedbank.germination.tables.germination_tests import GerminationTest, get_test
from seedbank.kinds.tables.kinds import Kind, get_kind
from seedbank.kinds.tables.varieties import Variety, get_variety
from seedbank.lots.tables.lots import Lot, lot_by_code
from seedbank.lots.tables.places import Place, get_place
from seedbank.plan.tables.plan_pins import PlanPin, get_plan_pin
from seedbank.saving.tables.flowering import Flowering, get_flowering
from seedbank.saving.tables.isolation_gear import IsolationGear, get_gear
from seedbank.saving.tables.seed_crops import SeedCrop, get_seed_crop
from seedbank.saving.tables.sites import Site, get_site
from seedbank.sowing.tables.sowings import Sowing, get_sowing


@contextmanager
def about(key: str) -> Iterator[None]:
    """What is missing is what the request is about, known by its ``key``. Raises NotThere."""
    try:
        yield
    except Missing as fault:
        raise NotThere(fault.what, fault.key, field=key) from fault


@contextmanager
def named_in(field: str) -> Iterator[None]:
    """What is missing, or has a misread code, is named in a form. Raises Refused, MisreadCode."""
    try:
        yield
    except Missing as fault:
        raise Refused(
            field,
            fault.key,
            f"Use one that is listed, or add the {fault.what} first.",
            f"There is no {fault.what} {fault.key!r}.",
        ) from fault
    except MisreadCode as fault:
        fault.field = field
        raise


def find_kind(session: Session, slug: str) -> Kind:
    """The kind with this slug. Raises NotThere."""
    with about("slug"):
        return get_kind(session, slug)


def find_variety(session: Session, number: int) -> Variety:
    """The variety with this number. Raises NotThere."""
    with about("id"):
        return get_variety(session, number)


def find_place(session: Session, number: int) -> Place:
    """The place with this number. Raises NotThere."""
    with about("id"):
        return get_place(session, number)


def find_test(session: Session, number: int) -> GerminationTest:
    """The germination test with this number. Raises NotThere."""
    with about("id"):
        return get_test(session, number)


def find_sowing(session: Session, number: int) -> Sowing:
    """The sowing with this number. Raises NotThere."""
    with about("id"):
        return get_sowing(session, number)


def find_site(session: Session, number: int) -> Site:
    """The site with this number. Raises NotThere."""
    with about("id"):
        return get_site(session, number)


def find_gear(session: Session, number: int) -> IsolationGear:
    """The isolation gear with this number. Raises NotThere."""
    with about("id"):
        return get_gear(session, number)


def find_flowering(session: Session, number: int) -> Flowering:
    """The flowering with this number. Raises NotThere."""
    with about("id"):
        return get_flowering(session, number)


def find_seed_crop(session: Session, number: int) -> SeedCrop:
    """The seed crop with this number. Raises NotThere."""
    with about("id"):
        return get_seed_crop(session, number)


def find_plan_pin(session: Session, number: int) -> PlanPin:
    """The plan pin with this number. Raises NotThere."""
    with about("id"):
        return get_plan_pin(session, number)


def find_lot(session: Session, code: str) -> Lot:
    """The lot with this code, however it is typed. Raises MisreadCode, NotThere."""
    with about("code"):
        return lot_by_code(session, code)


def lot_named(session: Session, code: str, *, field: str) -> Lot:
    """The lot a field names, however its code is typed. Raises MisreadCode, Refused."""
    with named_in(field):
        return lot_by_code(session, code)


def row_id(number: int | None) -> int:
    """The id of a row that the database has given one."""
    assert number is not None
    return number
