"""Finding the thing a request is about, or names in a field: the error tells which."""

from collections.abc import Iterator
from contextlib import contextmanager

from seedbank.common.errors import MisreadCode, Missing, NotThere, Refused


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
        raise Refused("not-there", field, fault.key, **fault.values) from fault
    except MisreadCode as fault:
        fault.field = field
        raise


def row_id(number: int | None) -> int:
    """The id of a row that the database has given one."""
    assert number is not None
    return number
