"""Reading story/collection.txt: what is kept at Overwenna, as written down by hand."""

import re
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

DONORS = {
    "orla": "Orla Fenwythe, the Old Mill",
    "jobe": "Jobe Quillam, Nether Overwenna",
    "nessa": "Nessa Harkmoor, Crakemoor Farm",
    "pell": "Pell Durrow, Loftcott",
    "grindlewick": "Grindlewick Seeds",
    "lantrake": "Lantrake Seed Merchants",
    "quernhollow": "Quernhollow Garden Seed",
    "beckside-wall": "wall at Beckside",
    "top-garth": "self-sown at Top Garth",
    "lane": "hedge bank above Overwenna",
    "ford": "the hollow tree by the ford",
    "-": "",
}


@dataclass(frozen=True)
class LotStory:
    """One indented line: see the head of the file for the letters."""

    label: str
    year: int | None
    estimated: bool
    origin: str
    donor: str
    seeds: int | None
    grams: float | None
    weight_measured: bool
    stays: tuple[tuple[str, date | None], ...]
    parents: tuple[str, ...] = ()
    tests: tuple[tuple[int, str], ...] = ()
    sowings: tuple[tuple[int, str], ...] = ()
    gifts: tuple[tuple[int, str], ...] = ()
    discard_on: date | None = None
    count_on: date | None = None
    treated: bool = False
    stock_take_only: bool = False


@dataclass(frozen=True)
class VarietyStory:
    kind: str
    name: str
    breeding: str
    other_keepers: str
    plants_wanted: int
    reserve_seeds: int
    notes: str
    lots: list[LotStory] = field(default_factory=list)


def read_story(path: Path) -> list[VarietyStory]:
    """Every variety with its lots, in the order written."""
    varieties: list[VarietyStory] = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        if line.startswith("  "):
            varieties[-1].lots.append(_lot(line.split(), varieties[-1].name))
        else:
            kind, name, breeding, keepers, wanted, reserve, notes = (
                cell.strip() for cell in line.split("|")
            )
            varieties.append(
                VarietyStory(kind, name, breeding, keepers, int(wanted), int(reserve), notes)
            )
    return varieties


def _lot(words: list[str], variety: str) -> LotStory:
    written_year, origin, donor, amount, stays, *options = words
    year = None if written_year == "?" else int(written_year.lstrip("~"))
    grams = re.match(r"([\d.]+)g", amount)
    return LotStory(
        label=f"{variety} {year}" if year else variety,
        year=year,
        estimated=written_year.startswith("~"),
        origin=origin,
        donor=DONORS[donor],
        seeds=None if grams else int(amount),
        grams=float(grams[1]) if grams else None,
        weight_measured=amount.endswith(",m"),
        stays=_stays(stays),
        **_options(options, variety),
    )


def _stays(written: str) -> tuple[tuple[str, date | None], ...]:
    if written == "stocktake-only" or written == "-":
        return ()
    pairs = (stay.partition("@") for stay in written.split(","))
    return tuple((place, date.fromisoformat(day) if day else None) for place, _, day in pairs)


def _options(options: list[str], variety: str) -> dict[str, object]:
    found: dict[str, object] = {}
    several: dict[str, list[tuple[int, str]]] = {"t": [], "s": [], "g": []}
    for option in options:
        if option == "treated":
            found["treated"] = True
        elif option == "stocktake-only":
            found["stock_take_only"] = True
        elif option.startswith("<"):
            years = [year for year in option[1:].split("/") if year != "-"]
            found["parents"] = tuple(f"{variety} {year}" for year in years)
        elif option.startswith("discard@"):
            found["discard_on"] = date.fromisoformat(option[8:])
        elif option.startswith("count@"):
            found["count_on"] = date.fromisoformat(option[6:])
        else:
            several[option[0]].append((int(option[1:5]), option[5:].lstrip("=")))
    names = {"t": "tests", "s": "sowings", "g": "gifts"}
    return found | {names[letter]: tuple(items) for letter, items in several.items()}
