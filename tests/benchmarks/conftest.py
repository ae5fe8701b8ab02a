"""Databases to measure on."""

import os
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import make_url

from seedbank.database.engine import open_engine


@pytest.fixture
def two_databases(request: Any, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """URLs of two empty databases of the engine asked for; skips where there is no server."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path}/one.sqlite", f"sqlite:///{tmp_path}/other.sqlite"
        return
    server = os.environ.get("SEEDBANK_TEST_DATABASE_URL")
    if server is None:
        pytest.skip("SEEDBANK_TEST_DATABASE_URL names no PostgreSQL server")
    schemas = [f"bench_{uuid.uuid4().hex}" for _ in range(2)]
    admin = open_engine(server)
    with admin.begin() as connection:
        for schema in schemas:
            connection.exec_driver_sql(f"CREATE SCHEMA {schema}")
    one, other = (
        make_url(server)
        .update_query_dict({"options": f"-csearch_path={schema}"})
        .render_as_string(hide_password=False)
        for schema in schemas
    )
    yield one, other
    with admin.begin() as connection:
        for schema in schemas:
            connection.exec_driver_sql(f"DROP SCHEMA {schema} CASCADE")
    admin.dispose()
