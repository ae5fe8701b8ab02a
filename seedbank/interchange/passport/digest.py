"""What tells one lot passport from another: the digest of all it says."""

import hashlib
import json
from typing import Any

from seedbank.interchange.passport.forms import Passport

_NONE = "0" * 64


def digest_of(passport: Passport) -> str:
    """SHA-256, in hexadecimal, of the passport without its digest.

    Over its JSON in UTF-8 with the names of each object in order and no blanks.
    """
    text = json.dumps(
        passport.model_dump(mode="json", exclude={"digest"}),
        ensure_ascii=False,
        sort_keys=True,
        separators=(",", ":"),
    )
    return hashlib.sha256(text.encode()).hexdigest()


def sealed(parts: dict[str, Any]) -> Passport:
    """A passport of these parts, with its digest. Raises ValidationError: one can't be told."""
    passport = Passport.model_validate(parts | {"digest": _NONE})
    return passport.model_copy(update={"digest": digest_of(passport)})
