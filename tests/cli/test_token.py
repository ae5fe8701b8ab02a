"""``seedbank token``: made, shown once, listed without its secret, revoked; serving needs one."""

import re
from pathlib import Path

import pytest
from sqlmodel import select

from seedbank.access.tables import Rights
from seedbank.access.tokens_and_trail import holder_of, make_token
from seedbank.database.audit import AuditEntry
from seedbank.database.engine import open_engine, session_factory
from seedbank.main import app
from seedbank.upkeep.open_collection import open_collection
from tests.server.conftest import NOW


def run(capsys: pytest.CaptureFixture[str], *typed: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        app(list(typed))
    out, err = capsys.readouterr()
    return int(str(left.value.code)), out, err


def test_a_token_is_shown_once_listed_without_its_secret_and_revoked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(tmp_path / "c.sqlite")
    code, shown, told = run(capsys, "token", "add", "bench phone", "--database", file)
    assert code == 0
    assert re.fullmatch(r"1-[\w-]{43}\n", shown)
    assert "never again" in " ".join(told.split())
    _, listed, _ = run(capsys, "token", "list", "--database", file)
    assert "bench phone  keeper" in listed
    assert shown.strip()[2:] not in listed
    engine = open_engine(f"sqlite:///{file}")
    with session_factory(engine)() as session:
        assert holder_of(session, shown.strip()) is not None
        session.rollback()
        assert run(capsys, "token", "revoke", "1", "--database", file)[0] == 0
        session.expire_all()
        assert holder_of(session, shown.strip()) is None
        entered = [(e.who, e.asked) for e in session.exec(select(AuditEntry))]
    engine.dispose()
    assert entered == [
        ("command line", "seedbank token add"),
        ("command line", "seedbank token revoke"),
    ]


def test_a_token_nobody_has_can_not_be_revoked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(tmp_path / "c.sqlite")
    run(capsys, "token", "add", "bench phone", "--database", file)
    code, _, told = run(capsys, "token", "revoke", "7", "--database", file)
    assert (code, "There is no token 7" in told) == (2, True)


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "x" * 121])
def test_a_token_needs_a_holder_with_a_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    code, shown, _ = run(capsys, "token", "add", name, "--database", str(tmp_path / "c.sqlite"))
    assert (code, shown) == (2, "")


@pytest.mark.parametrize("rights", [None, Rights.KEEPER])
def test_serving_to_others_waits_for_an_owners_token(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], rights: Rights | None
) -> None:
    file = tmp_path / "c.sqlite"
    open_collection(f"sqlite:///{file}", now=NOW).dispose()
    if rights:
        engine = open_engine(f"sqlite:///{file}")
        with session_factory(engine)() as session:
            make_token(session, "phone", rights, now=NOW)
        engine.dispose()
    code, _, told = run(
        capsys, "serve", "--host", "0.0.0.0", "--port", "0", "--database", str(file)
    )
    assert code == 2
    assert "seedbank token add" in " ".join(told.split())
    assert "0.0.0.0" in told
