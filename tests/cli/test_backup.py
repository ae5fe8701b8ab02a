"""``seedbank backup``, ``restore`` and ``check`` as they are typed."""

import json
import sqlite3
from pathlib import Path

import pytest


def test_a_collection_is_backed_up_restored_and_checked_at_the_command_line(
    type_in, demo: Path, tmp_path: Path
) -> None:
    made = type_in("backup", "--database", demo, "--to", tmp_path / "kept.sqlite")
    assert made.code == 0
    assert "Backed up to" in made.out
    assert "It is the same as the collection" in made.out
    again = type_in("backup", "--database", demo, "--to", tmp_path / "kept.sqlite")
    assert again.code == 2
    assert "there already" in again.err
    restored = type_in("restore", tmp_path / "kept.sqlite", "--database", tmp_path / "new.sqlite")
    assert restored.code == 0
    assert "the same as in the backup" in restored.out
    checked = type_in("check", "--database", tmp_path / "new.sqlite")
    assert checked.code == 0
    assert "claims hold" in checked.out
    assert checked.err == ""


def test_restoring_over_a_collection_has_to_be_asked_for(
    type_in, demo: Path, tmp_path: Path
) -> None:
    type_in("backup", "--database", demo, "--to", tmp_path / "kept.sqlite")
    refused = type_in("restore", tmp_path / "kept.sqlite", "--database", demo)
    assert refused.code == 2
    assert "--replace" in refused.err
    done = type_in("restore", tmp_path / "kept.sqlite", "--database", demo, "--replace")
    assert done.code == 0
    assert "What was there is backed up in backups/seedbank-" in done.out
    assert len(list((tmp_path / "backups").iterdir())) == 1


def test_faults_are_told_one_sentence_each_with_exit_code_1(type_in, demo: Path) -> None:
    raw = sqlite3.connect(demo)
    raw.execute("UPDATE movement SET balance_seeds = balance_seeds + 1 WHERE id = 1")
    raw.commit()
    raw.close()
    checked = type_in("check", "--database", demo)
    assert checked.code == 1
    assert "the movements add up to" in checked.err
    told = json.loads(type_in("check", "--database", demo, "--json").out)
    assert (told["holds"], told["broken"]) == (False, 1)
    made = type_in("backup", "--database", demo)
    assert made.code == 1
    assert "-faulty.sqlite" in made.out


@pytest.mark.parametrize("command", ["check", "backup"])
def test_looking_at_a_collection_that_is_not_there_makes_none(
    type_in, tmp_path: Path, command: str
) -> None:
    said = type_in(command, "--database", tmp_path / "nowhere.sqlite")
    assert said.code == 2
    assert "nowhere.sqlite" in said.err
    assert not (tmp_path / "nowhere.sqlite").exists()
