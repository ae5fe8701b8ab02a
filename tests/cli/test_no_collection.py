"""A database that isn't there: commands that need a collection refuse it, and make nothing."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
import uvicorn

from tests.cli.conftest import EVERY, OWN_ALIASES, Type

RECORDS = "ACCENUMB,GENUS,SPECIES,ACCENAME\nQ 1,Daucus,carota,Invented Amber\n"
SHEET = "Name,Kind,Seeds\nInvented Amber,carrot,50\n"


def a_small_folder(folder: Path) -> str:
    (folder / "varieties.csv").write_text("kind,variety\ncarrot,Invented Amber\n")
    return str(folder)


def written(name: str, text: str) -> Callable[[Path], str]:
    def write(folder: Path) -> str:
        (folder / name).write_text(text)
        return str(folder / name)

    return write


# What is typed after each command's name; a function makes a file to name.
NEEDS_ONE = {
    "backup": [[]],
    "batch": [["throw-out", "YMY4K"], ["--undo", "1"]],
    "check": [[], ["--json"]],
    "climate show": [[]],
    "climate state": [[], ["--last-frost", "2027-05-01"]],
    "lot descriptors": [["YMY4K"]],
    "lot doubts": [[], ["--amount", "some"]],
    "export": [["all.zip"]],
    "kind add": [["skirret", "--kept-as", "tubers"]],
    "kind season": [["carrot"]],
    "lot mix": [["Salad", "YMY4K:5", "26YPM:5"]],
    "plan make": [[], ["--keep"]],
    "variety keepers": [[], ["--few", "1"]],
    "crop advise": [[], ["--json"]],
    "lot list": [[], ["--words", "carrot", "--json"]],
    "sowing advise": [["YMY4K", "--plants", "5"]],
    "plan orders": [[], ["--json"]],
    "plan supplies": [[], ["--json"]],
    "test record": [["YMY4K", "--started-on", "2027-02-06", "--set", "50", "--normal", "41"]],
    "test advise": [[], ["--evenings", "2", "--json"]],
    "test fault": [["1", "mould"]],
    "lot find": [["carrot"], ["carrot", "--json-lines"]],
    "lot show": [["YMY4K"], ["YMY4K", "--json"]],
    "lot history": [["YMY4K"]],
    "lot label": [["YMY4K", "--out", "labels.pdf"]],
    "lot move": [["YMY4K", "26YPM", "--place", "cellar"]],
    "lot count": [["YMY4K:180"]],
    "lot change": [["YMY4K", "--notes", "small"]],
    "lot give": [["YMY4K", "--seeds", "5"]],
    "lot discard": [["YMY4K"]],
    "lot keepers": [["YMY4K", "--others", "few"]],
    "lot undo": [["1"], ["YMY4K", "2"]],
    "test list": [[], ["--open", "--json"]],
    "test show": [["136"]],
    "test start": [["YMY4K", "--set", "25"]],
    "test count": [["136", "--rep", "5"]],
    "test finish": [["136", "--rest-dead"]],
    "test undo": [["136"]],
    "sowing list": [[], ["--json-lines"]],
    "sowing show": [["133"]],
    "sowing record": [["YMY4K:120", "--method", "row"]],
    "sowing emerged": [["133", "90"]],
    "sowing lost": [["133", "5", "eaten"]],
    "sowing finish": [["133"]],
    "sowing undo": [["133"]],
    "crop list": [[]],
    "crop show": [["58"]],
    "crop check": [["58"]],
    "crop begin": [["YMY4K", "--purpose", "keep"]],
    "crop sow": [["58"]],
    "crop change": [["58", "--parents-kept", "8"]],
    "crop harvest": [["58", "--seeds", "900"]],
    "crop fail": [["58", "--why", "voles took it"]],
    "crop undo": [["58"]],
    "plan show": [[]],
    "list week": [[]],
    "list to-do": [[], ["--json"]],
    "list dates": [[]],
    "list season": [["test"], ["save", "--out", "save.pdf"]],
    "place list": [[]],
    "place change": [["cellar", "--temp-winter-c", "5"]],
    "site list": [[]],
    "kind list": [[]],
    "kind show": [["carrot"]],
    "variety list": [[]],
    "variety show": [["1"]],
    "variety add": [["Invented Amber", "--kind", "carrot"]],
    "variety change": [["1", "--plants-wanted", "5"]],
    "token list": [[]],
    "token revoke": [["1"]],
}
BEGINS_ONE = {
    "demo": [["--no-serve"]],
    "import": [
        [a_small_folder],
        [written("records.csv", RECORDS)],
        [written("mine.csv", SHEET), "--yes"],
    ],
    "serve": [["--port", "0"]],
    "lot add": [["Invented Amber", "--kind", "carrot", "--origin", "gift"]],
    "place add": [["Tin 3"]],
    "site add": [["Long garden"]],
    "token add": [["bench phone"]],
}
KEEPS_NOTHING = [
    [a_small_folder, "--dry-run"],
    [written("records.csv", RECORDS), "--dry-run"],
    [written("mine.csv", SHEET)],
]
MAKES_ANEW = {"restore"}  # from a backup: held by tests/use_cases/upkeep/test_restore.py


def test_every_command_says_whether_it_needs_a_collection() -> None:
    every = {*EVERY, *OWN_ALIASES}
    classes = [set(NEEDS_ONE), set(BEGINS_ONE), MAKES_ANEW]
    assert every == set().union(*classes)
    assert sum(map(len, classes)) == len(every)


def typed(commands: dict[str, list[list[object]]]) -> list[object]:
    return [
        pytest.param(name.split(), words, id=f"{name} {index}")
        for name, ways in commands.items()
        for index, words in enumerate(ways)
    ]


@pytest.fixture
def elsewhere(tmp_path_factory: pytest.TempPathFactory, monkeypatch) -> Path:
    """A folder beside the one worked in, for what a command line names."""
    monkeypatch.setattr(uvicorn.Server, "run", lambda *_, **__: None)  # it would serve for ever
    monkeypatch.setenv("TMPDIR", str(tmp_path_factory.mktemp("scratch")))
    return tmp_path_factory.mktemp("elsewhere")


def filled(words: list[object], folder: Path) -> list[str]:
    return [str(word(folder)) if callable(word) else str(word) for word in words]


def all_in(folder: Path) -> dict[Path, bytes | None]:
    return {at: at.read_bytes() if at.is_file() else None for at in folder.rglob("*")}


def a_plain_file(folder: Path) -> Path:
    (folder / "empty.sqlite").touch()
    return folder / "empty.sqlite"


def anothers(folder: Path) -> Path:
    with sqlite3.connect(folder / "bookmarks.sqlite") as other:
        other.execute("CREATE TABLE bookmark (address TEXT)")
    other.close()
    return folder / "bookmarks.sqlite"


@pytest.mark.parametrize(
    "place",
    [
        lambda at: at / "no" / "such" / "x.sqlite",
        lambda at: at / "x.sqlite",
        a_plain_file,
        anothers,
    ],
    ids=["no folder", "no file", "empty file", "another program's file"],
)
@pytest.mark.parametrize(("command", "words"), typed(NEEDS_ONE))
def test_a_command_that_needs_a_collection_refuses_and_makes_nothing(
    type_in: Type, tmp_path: Path, elsewhere: Path, place, command, words, monkeypatch
) -> None:
    file = place(tmp_path)
    before = all_in(tmp_path)
    monkeypatch.setenv("SEEDBANK_DATABASE_URL", f"sqlite:///{file}")
    said = type_in(*command, *filled(words, elsewhere))
    assert (said.code, said.out) == (2, "")
    assert f"database '{file}': there is no collection there" in said.err
    assert said.err.count("\n") == 1
    assert all_in(tmp_path) == before


def test_the_usual_file_is_named_in_full(type_in: Type, tmp_path: Path) -> None:
    said = type_in("save")
    assert said.code == 2
    assert str(tmp_path / "seedbank.sqlite") in said.err
    assert all_in(tmp_path) == {}


@pytest.mark.parametrize("url", ["sqlite://", "sqlite:///:memory:"])
def test_a_collection_in_memory_is_never_there_to_be_read(type_in: Type, url: str) -> None:
    said = type_in("save", "--database", url)
    assert said.code == 2
    assert url in said.err


def database(command: list[str], file: Path) -> list[str]:
    return ["--file" if command == ["demo"] else "--database", str(file)]


@pytest.mark.parametrize(("command", "words"), typed(BEGINS_ONE))
def test_a_command_that_begins_a_collection_makes_its_file_but_no_folder(
    type_in: Type, tmp_path: Path, elsewhere: Path, command, words
) -> None:
    words = filled(words, elsewhere)
    said = type_in(*command, *words, *database(command, tmp_path / "new" / "x.sqlite"))
    assert (said.code, said.out) == (2, "")
    assert f"Make the folder {tmp_path / 'new'} first" in said.err
    assert all_in(tmp_path) == {}
    file = tmp_path / "x.sqlite"
    said = type_in(*command, *words, *database(command, file))
    assert said.code == 0, said.err
    assert file.is_file()
    assert type_in("check", "--database", file).code == 0


@pytest.mark.parametrize("words", KEEPS_NOTHING, ids=["folder", "records", "sheet"])
def test_an_import_only_tried_makes_no_file(
    type_in: Type, tmp_path: Path, elsewhere: Path, words
) -> None:
    words = filled(words, elsewhere)
    said = type_in("import", *words, "--database", tmp_path / "x.sqlite")
    assert said.code == 0, said.err
    assert type_in("import", *words, "--database", tmp_path / "new" / "x.sqlite").code == 2
    assert all_in(tmp_path) == {}


def test_serving_that_is_refused_makes_no_file(type_in: Type, tmp_path: Path) -> None:
    said = type_in("serve", "--host", "0.0.0.0", "--port", 0, "--database", tmp_path / "x.sqlite")
    assert said.code == 2
    assert "owner's token" in said.err
    assert all_in(tmp_path) == {}


def test_restoring_from_a_backup_that_is_not_there_makes_no_file(
    type_in: Type, tmp_path: Path
) -> None:
    said = type_in("restore", "nowhere.sqlite", "--database", tmp_path / "new" / "x.sqlite")
    assert said.code == 2
    assert "Name a backup that is there" in said.err
    assert all_in(tmp_path) == {}
