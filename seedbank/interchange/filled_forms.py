"""The rooms' forms filled from what was brought, so that what they refuse is refused here too."""

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from seedbank.common.errors import Refused
from seedbank.common.safe_text import FieldError, field_error

F = TypeVar("F", bound=BaseModel)


def errors_of(wrong: ValidationError) -> list[FieldError]:
    """Every field at fault, in the words the API says it."""
    return [field_error({**one, "loc": ("", *one["loc"])}) for one in wrong.errors()]


def misfit(field: str, value: object, mend: str) -> Refused:
    """A value that a form or a standard refuses, with the mend as a sentence."""
    return Refused("misfit", field, value, mend=mend)


def filled(form: type[F], given: Mapping[str, Any], names: Mapping[str, str] | None = None) -> F:
    """The form. Raises Refused: its first field at fault, called as in ``names``."""
    try:
        return form.model_validate(given)
    except ValidationError as wrong:
        one = errors_of(wrong)[0]
        name = (names or {}).get(one.field, one.field)
        raise misfit(name, one.value, one.mend) from wrong
