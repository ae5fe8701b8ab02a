"""The JSON Schema of the lot passport: ``python -m seedbank.interchange.passport.schema FILE``."""

import json
import sys
from pathlib import Path
from typing import Any

from seedbank.interchange.passport.forms import Passport

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def passport_schema() -> dict[str, Any]:
    """The schema (draft 2020-12) that every passport of version 1 meets."""
    return {
        "$schema": _DIALECT,
        "$id": "lot-passport-1.schema.json",
        **Passport.model_json_schema(),
    }


def write_schema(path: Path) -> None:
    """Write the schema as it is kept in ``api_docs``."""
    path.write_text(json.dumps(passport_schema(), indent=2, ensure_ascii=False) + "\n", "utf-8")


if __name__ == "__main__":
    write_schema(Path(sys.argv[1]))
