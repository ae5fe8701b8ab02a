"""Several lot codes typed into one field."""

import re

_BETWEEN = re.compile(r"[,;\s]+")


def typed_codes(text: str) -> list[str]:
    """The codes, however they are set apart."""
    return [one for one in _BETWEEN.split(text) if one]
