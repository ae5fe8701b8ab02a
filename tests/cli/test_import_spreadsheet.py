"""``seedbank import MY.csv``: shown as read, taken in only with --yes."""

import json
from pathlib import Path

import pytest

from tests.use_cases.interchange.messy_lists import all_lists

LIST = """Crop,Variety,How many,Year,Bought
carrot,Purple Lantern,approx 50,2019?,2/3/2020
neep,Grey Moor,1/4 packet,'19,
"""


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    file = tmp_path / "mine.csv"
    file.write_text(LIST, "utf-8")
    return file


def lots(type_in, own: Path, tmp_path: Path) -> int:
    archive = tmp_path / f"{len(list(tmp_path.iterdir()))}.zip"
    assert type_in("export", archive, "--database", own).code == 0
    import zipfile

    with zipfile.ZipFile(archive) as packed:
        return packed.read("lot.csv").count(b"\r\n") - 1


def test_a_list_is_shown_and_asked_about_and_nothing_is_kept(
    type_in, mine: Path, tmp_path: Path
) -> None:
    said = type_in("import", mine, "--database", tmp_path / "own.sqlite")
    assert said.code == 0, said.err
    assert "Nothing is taken in yet." in said.out
    assert (
        "Line 2: Purple Lantern (carrot), 50 seeds (give or take 10), harvest of 2019?" in said.out
    )
    assert "How many “approx 50”: counted, by estimate" in said.out
    assert "“2/3/2020” may be either; say which comes first" in said.out
    assert "no kind is called “neep”" in said.out
    assert "2 rows have to be answered, mended or left out first." in said.out
    assert not (tmp_path / "own.sqlite").exists()


def test_yes_takes_it_in_once_with_what_is_said_of_it(type_in, mine: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.sqlite"
    words = ("import", mine, "--database", own, "--kind", "neep=turnip", "--dates", "day-first",
             "--packet", "200", "--map", "Bought=acquired_on", "--yes")  # fmt: skip
    done = type_in(*words)
    assert done.code == 0, done.err
    assert "line 3: Grey Moor (turnip), 50 seeds (give or take 11), harvest of 2019" in done.out
    assert "Taken in: 2 lots." in done.out
    again = type_in(*words)
    assert "Line 2 was taken in before, as lot" in again.out
    assert "Taken in: 0 lots." in again.out
    assert lots(type_in, own, tmp_path) == 2


def test_what_is_in_the_way_is_refused_by_line(type_in, mine: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.sqlite"
    said = type_in("import", mine, "--database", own, "--yes")
    assert said.code == 2
    assert "mine.csv line 2, Bought '2/3/2020': day or month first? Say which" in said.err
    assert "mine.csv line 3, Crop 'neep'" in said.err
    assert said.out == ""
    assert lots(type_in, own, tmp_path) == 0


def test_a_date_that_may_be_two_things_is_asked_with_the_words_that_answer_it(
    type_in, tmp_path: Path
) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text("Crop,Variety,Year\ncarrot,Purple Lantern,2009-10\n", "utf-8")
    words = ("import", mine, "--database", tmp_path / "own.sqlite")
    said = type_in(*words).out
    assert "may be October 2009 or 2009 to 2010; say which" in said
    assert "--short-dates month or --short-dates years" in " ".join(said.split())
    assert "harvest of 2009?" in type_in(*words, "--short-dates", "years", "--yes").out
    mine.write_text("Crop,Variety,Year\ncarrot,Purple Lantern,11/12\n", "utf-8")
    asked = " ".join(type_in(*words).out.split())
    assert "--meant '11/12=November 2012'" in asked
    done = type_in(*words, "--meant", "11/12=2011 to 2012", "--yes")
    assert "harvest of 2011?" in done.out
    wrong = type_in(*words, "--meant", "11/12=whenever")
    assert wrong.code == 2
    assert "Write it like October 2009" in wrong.err


def test_as_json_it_is_the_preview_the_api_gives(type_in, mine: Path, tmp_path: Path) -> None:
    own = ("--database", tmp_path / "own.sqlite", "--json")
    shown = json.loads(type_in("import", mine, "--leave-out", "3", *own).out)
    assert [row["takes_in"] for row in shown["rows"]] == [False, False]
    assert len(shown["digest"]) == 64


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--map", "Bought"), "NAME=VALUE"),
        (("--map", "Nowhere=kind"), "No such column"),
        (("--map", "Bought=nothing"), "columns"),
        (("--leave-out", "77"), "No row is there"),
    ],
)
def test_a_word_that_does_not_fit_the_sheet_is_told(
    type_in, mine: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    done = type_in("import", mine, "--database", tmp_path / "own.sqlite", *words)
    assert done.code == 2
    assert said in done.err


def test_a_workbook_is_read_with_its_questions_and_the_options_that_answer_them(
    type_in, tmp_path: Path
) -> None:
    book = tmp_path / "Meine Samenliste.xlsx"
    german = next(one for one in all_lists() if one.name == "de-dreissig")
    book.write_bytes(german.content())
    words = ("import", book, "--database", tmp_path / "own.sqlite")
    said = " ".join(type_in(*words).out.split())
    assert "30 rows: 28 lots would be made, 2 to be answered or mended first." in said
    assert "--kind 'Kürbis=squash-maxima'" in said
    answers = ("--kind", "Kürbis=squash-maxima", "--kind", "Bohne=common-bean")
    assert "Taken in: 30 lots." in type_in(*words, *answers, "--yes").out


def test_what_is_no_workbook_is_told(type_in, tmp_path: Path) -> None:
    book = tmp_path / "mine.xlsx"
    book.write_bytes(b"PK\x03\x04 and so on")
    said = type_in("import", book, "--database", tmp_path / "own.sqlite")
    assert said.code == 2
    assert "can’t be read as a workbook" in said.err
