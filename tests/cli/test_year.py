"""A year from the terminal alone: by codes as labels print them, no SQL, no HTTP, no page."""

import json
from pathlib import Path

import pytest
from pypdfium2 import PdfDocument

from tests.cli.conftest import Type


class Terminal:
    """Commands typed one day after another."""

    def __init__(self, type_in: Type, monkeypatch: pytest.MonkeyPatch) -> None:
        self._type_in, self._monkeypatch = type_in, monkeypatch

    def on(self, day: str) -> None:
        self._monkeypatch.setenv("SEEDBANK_TODAY", day)

    def type(self, *words: str | Path) -> str:
        said = self._type_in(*words)
        assert said.code == 0, (words, said.err)
        return said.out

    def ask(self, *words: str) -> dict:
        return json.loads(self.type(*words, "--json"))


def test_a_year_from_the_terminal_alone(
    type_in: Type, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = Terminal(type_in, monkeypatch)

    at.on("2027-02-01")
    at.type("place", "add", "Tin 3", "--sealed", "--temp-winter-c", "8", "--temp-summer-c", "18")
    at.type("site", "add", "Long garden")
    taken = at.ask(
        *("lot", "add", "Purple Lantern", "--kind", "lettuce", "--origin", "swapped"),
        *("--harvest-year", "2025", "--seeds", "400", "--donor", "neighbour", "--place", "Tin 3"),
    )
    code = taken["code"]
    other = at.ask(
        *("lot", "add", "Amber Row", "--kind", "carrot", "--origin", "bought"),
        *("--harvest-year", "2026", "--seeds", "900", "--new-place", "Drawer"),
    )["code"]
    at.type("lot", "keepers", code, "--others", "few")
    at.type("lot", "change", code, "--notes", "from the seed swap", "--harvest-estimated")
    assert show(at, code)["notes"] == "from the seed swap"
    assert show(at, code)["donor"] == "neighbour"  # what isn't named stays
    assert code in at.type("lot", "find", "lantern")
    at.type("lot", "move", code, other, "--place", "tin 3")
    assert {row["place"]["name"] for row in (show(at, one) for one in (code, other))} == {"Tin 3"}

    spoken = code.lower()  # as it is read from a label, in small letters
    at.type("test", "start", spoken, other, "--set", "25", "--set", "25")
    at.on("2027-02-08")
    at.type("test", "count", spoken, "--rep", "18,0,0,0,1", "--rep", "17")
    assert code in at.type("list", "dates")  # the last count
    at.on("2027-02-15")
    told = at.type("test", "finish", spoken, "--rest-dead")
    assert "70 %" in told  # 35 of 50
    at.type("test", "count", other, "--rep", "20", "--rep", "21", "--finish", "--rest-dead")
    assert [one["finished_on"] for one in at.ask("test", "list")["items"]] == ["2027-02-15"] * 2

    at.on("2027-04-05")
    assert code in at.type("sowing", "advise", "lettuce")
    advice = at.ask("sowing", "advise", spoken, "--plants", "20", "--method", "row")
    seeds = advice["seeds"]
    at.type("sowing", "record", f"{spoken}:{seeds}", f"{other}:200", "--method", "row")
    at.on("2027-04-25")
    at.type("sowing", "emerged", spoken, str(seeds // 2))
    at.type("sowing", "lost", spoken, "3", "eaten", "--after-emergence")
    at.type("sowing", "finish", spoken)

    begun = at.ask(
        *("crop", "begin", spoken, "--purpose", "keep", "--isolation", "distance"),
        *("--parents-started", "12"),
    )
    assert begun["site"]["name"] == "Long garden"
    at.type("crop", "sow", spoken, "--seeds-sown", "30", "--method", "module")
    at.on("2027-09-20")
    at.type("crop", "change", spoken, "--parents-rogued", "1")
    harvested = at.ask(
        *("crop", "harvest", spoken, "--seeds", "3000", "--parents-kept", "10"),
        *("--place", "Tin 3", "--yes"),
    )
    saved = harvested["lot"]["code"]
    assert harvested["lot"]["parents"] == [code]

    at.on("2027-11-01")
    at.type("lot", "give", saved, "--seeds", "200", "--to", "the swap")
    at.type("lot", "count", f"{code}:250", f"{saved}:2790")
    assert [show(at, one)["amount"]["seeds"] for one in (code, saved)] == [250, 2790]
    at.type("lot", "discard", other, "--share", "0.5", "--why", "too much")
    history = at.ask("lot", "history", saved)["items"]
    assert [one["reason"] for one in history] == ["harvested", "given", "stock-take"]

    at.type("lot", "label", code, saved, "--out", tmp_path / "labels.pdf")
    printed = PdfDocument(tmp_path / "labels.pdf")
    text = printed[0].get_textpage().get_text_range()
    printed.close()
    assert code in text
    assert saved in text

    at.type("plan", "make", "--keep", "--time-limit-s", "1")
    assert at.ask("plan", "show")["plan"]["id"] == 1
    at.type("list", "season", "save", "--out", tmp_path / "to-save.pdf")
    at.type("export", tmp_path / "all.zip")
    at.type("check")


def show(at: Terminal, code: str) -> dict:
    return at.ask("lot", "show", code)["items"][0]["lot"]
