"""A worked example of a form or an answer, put together from its fields' own examples."""

from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo


def worked_example(model: type[BaseModel]) -> dict[str, Any]:
    """JSON of a plausible ``model``: each field's first example, or its default, or its type's.

    Fields that must not stand together leave the example out of one of them (and it is omitted).
    """
    example = {}
    for name, field in model.model_fields.items():
        found, value = _field_example(field)
        if found:
            example[name] = value
    return example


def _field_example(field: FieldInfo) -> tuple[bool, Any]:
    if field.examples:
        return True, field.examples[0]
    inner = _model_in(field.annotation)
    if inner is not None:
        one = worked_example(inner)
        return True, [one] if "list" in str(field.annotation) else one
    return False, None


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for argument in get_args(annotation):
        found = _model_in(argument)
        if found is not None:
            return found
    return None
