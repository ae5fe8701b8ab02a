"""A garden played month by month by somebody who does what the API says is to be done.

The collection is invented and its luck is seeded: how alive each lot is, what sprouts on a towel,
how a seed crop ends. The player knows none of it. Every lot loses a probit in so many years, which
differ by kind and lot; harvests begin at 1.6 probits, bought seed at 1.4 (our choice).
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
from scipy.special import ndtr

from tests.api.conftest import Hand

MONTHLY_C = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
FROSTS = {"last_frost_day": 121, "first_frost_day": 298}
YEARS_A_PROBIT = {
    "parsnip": 1.5, "onion": 1.8, "leek": 2.2, "carrot": 2.5, "parsley": 2.0, "lettuce": 2.8,
    "pea": 3.0, "common-bean": 3.2, "beet": 4.0, "radish": 3.5, "squash-pepo": 3.5, "tomato": 4.5,
    "kale": 3.5, "cucumber": 4.5, "spinach": 3.0, "broad-bean": 3.2,
}  # fmt: skip
FAILS = 0.15
SOWN = frozenset({"last-chance", "grow-for-seed"})
YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Garden:
    """How many varieties there are, how many lots of each, and who else keeps them."""

    name: str
    varieties: int
    lots_each: int
    keepers: tuple[float, float, float]
    start: date = date(2027, 2, 15)


GARDENER = Garden("gardener", 35, 2, (0.2, 0.4, 0.4))
LIBRARY = Garden("library", 100, 3, (0.1, 0.5, 0.4))
GROWER = Garden("grower", 18, 2, (0.2, 0.4, 0.4))


@dataclass(slots=True)
class Truth:
    """How alive a lot was on a day, in probits, and the years in which it loses one."""

    born: date
    probit: float
    years: float

    def alive(self, on: date) -> float:
        return float(ndtr(self.probit - max((on - self.born) / YEAR, 0.0) / self.years))


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that the list had on a day."""

    on: date
    do: str
    name: str
    kind: str
    text: str
    lot: str | None
    variety_id: int | None
    seed_crop: int | None
    sowing: int | None
    soon: bool

    @property
    def task(self) -> tuple[int | None, str]:
        return self.variety_id, self.do


@dataclass(slots=True)
class Play:
    """Who plays, what was told month by month, and what was done."""

    hand: Hand
    garden: Garden
    luck: np.random.Generator
    today: date
    told: list[list[Told]] = field(default_factory=list)
    done: list[tuple[Told, date | None]] = field(default_factory=list)
    harvested: list[tuple[date, int, str, date | None]] = field(default_factory=list)
    truth: dict[str, Truth] = field(default_factory=dict)
    kinds: dict[int, str] = field(default_factory=dict)
    keepers: dict[int, str] = field(default_factory=dict)
    wanted: dict[int, int] = field(default_factory=dict)
    crops: dict[int, tuple[int, int, str, date]] = field(default_factory=dict)
    stood: list[tuple[date, date, int]] = field(default_factory=list)
    hopeless: set[int] = field(default_factory=set)
    site: int = 0

    # -- how it begins -----------------------------------------------------------------------

    def begin(self) -> None:
        self.day(self.today)
        blank = self.hand.get("/climate")
        told = self.hand.put(
            "/climate", {"monthly_c": MONTHLY_C, **FROSTS}, if_match=blank.headers["ETag"]
        )
        assert told.status_code == 200, told.text
        self.site = self.hand.made("/sites", {"name": "Long garden", "seed_bed_m2": 200.0})["id"]
        kinds = sorted(YEARS_A_PROBIT)
        for number in range(self.garden.varieties):
            kind = kinds[number % len(kinds)]
            keepers = str(self.luck.choice(["none", "few", "many"], p=self.garden.keepers))
            plants = int(self.luck.integers(5, 60))
            variety = self.hand.variety(
                kind, f"Invented {number}", other_keepers=keepers, breeding="open-pollinated",
                plants_wanted=plants,
            )  # fmt: skip
            self.kinds[variety], self.keepers[variety] = kind, keepers
            self.wanted[variety] = plants
            for _ in range(self.garden.lots_each):
                age = int(self.luck.integers(0, 6))
                self._take_in(
                    variety, date(self.today.year - 1 - age, 9, 15), mine=self.luck.random() < 0.6
                )

        self.hopeless = self.lost()

    def _take_in(self, variety: int, born: date, *, mine: bool, least: int = 0) -> str:
        seeds = max(int(np.exp(self.luck.uniform(np.log(20), np.log(600)))), least)
        code = self.hand.lot(
            seeds,
            variety_id=variety,
            origin="self-saved" if mine else "bought",
            harvest_date=born.isoformat(),
            acquired_on=max(born, min(self.today, born + timedelta(days=60))).isoformat(),
        )
        self._bear(code, variety, born, 1.6 if mine else 1.4)
        return code

    def _bear(self, code: str, variety: int, born: date, probit: float) -> None:
        years = YEARS_A_PROBIT[self.kinds[variety]] * float(np.exp(self.luck.normal(0.0, 0.25)))
        self.truth[code] = Truth(born, probit + float(self.luck.normal(0.0, 0.3)), years)

    def day(self, today: date) -> None:
        """Make it another day for the application."""
        self.today = today
        wiring = self.hand.app.state.wiring
        settings = wiring.settings.model_copy(update={"today": today})
        self.hand.app.state.wiring = replace(wiring, settings=settings)

    # -- a month -----------------------------------------------------------------------------

    def month(self) -> list[Told]:
        """Harvest what is ripe, read what is to be done, and do it."""
        self._harvest()
        told = list(self._listed())
        self.told.append(told)
        for one in told:
            self._do(one)
        return told

    def _listed(self) -> Iterator[Told]:
        answer = self.hand.get("/to-do").json()
        for group in answer["groups"]:
            assert group["total"] == len(group["items"])
            for item in group["items"]:
                yield Told(
                    self.today, group["do"], item["name"], item["kind"], item["why"]["text"],
                    item["lot"], item["variety_id"], item["seed_crop"], item["sowing"],
                    self._soon(item),
                )  # fmt: skip

    def _soon(self, item: dict[str, Any]) -> bool:
        """Whether its seed can be sown within eight weeks."""
        opens = item["opens_on"] and date.fromisoformat(item["opens_on"])
        return item["when"] == "now" or bool(opens and opens <= self.today + timedelta(days=56))

    def _do(self, one: Told) -> None:
        if one.do in SOWN:
            assert one.lot is not None
            self._grow(one, one.lot)
        elif one.do == "towel-first":
            assert one.lot is not None
            if one.soon:
                self._towel(one, one.lot)
        elif one.do == "emergence":
            self._count(one)
        elif one.do in ("get-fresh", "running-out"):
            assert one.variety_id is not None
            born = date(self.today.year - 1, 9, 15)
            least = 5 * self.wanted[one.variety_id]
            code = self._take_in(one.variety_id, born, mine=False, least=least)
            self.done.append((one, self._next_on(code)))

    def _count(self, one: Told) -> None:
        assert one.lot is not None
        sown = self.hand.get(f"/sowings/{one.sowing}").json()["seeds_sown"]
        up = int(self.luck.binomial(sown, 0.8 * self.truth[one.lot].alive(self.today)))
        told = {"units_emerged": up, "confirmed": True}
        self.hand.made(f"/sowings/{one.sowing}/emergence", told)
        self.hand.made(f"/sowings/{one.sowing}/finish", {})

    def verdict(self, lot: str) -> dict[str, Any]:
        answer = self.hand.get(f"/lots/{lot}/verdict")
        assert answer.status_code == 200, answer.text
        found: dict[str, Any] = answer.json()
        return found

    def _next_on(self, lot: str) -> date | None:
        day = self.verdict(lot)["next_on"]
        return None if day is None else date.fromisoformat(day)

    def _grow(self, one: Told, lot: str) -> None:
        said = self.verdict(lot)
        if said["verdict"] not in SOWN:
            return  # another packet of it, or what was sown meanwhile, has settled it
        assert said["when"] in ("now", "not-known")
        body = {
            "lot": lot,
            "site_id": self.site,
            "purpose": "rare",
            "isolation": "hand-pollination",
            "sow": {
                "seeds_sown": said["sow_seeds"],
                "sown_on": self.today.isoformat(),
                "confirmed": True,
            },
        }
        crop = self.hand.made("/seed-crops", body)
        plants = self.luck.binomial(said["sow_seeds"], 0.8 * self.truth[lot].alive(self.today))
        self.crops[crop["id"]] = (int(crop["flower_year"]), int(plants), lot, self.today)
        self.done.append((one, None))

    def _towel(self, one: Told, lot: str) -> None:
        seeds = int(self.hand.get(f"/lots/{lot}/test-advice").json()["seeds"]) or 10
        sprouted = int(self.luck.binomial(seeds, self.truth[lot].alive(self.today)))
        body = {
            "lot": lot,
            "started_on": max(self.truth[lot].born, self.today - timedelta(days=14)).isoformat(),
            "finished_on": self.today.isoformat(),
            "replicates": [{"seeds_set": seeds, "normal": sprouted}],
            "confirmed": True,
        }
        self.hand.made("/germination-tests/finished", body)
        self.done.append((one, self.today + timedelta(days=180)))

    def _harvest(self) -> None:
        if self.today.month != 10:
            return
        for number, (year, plants, lot, begun) in list(self.crops.items()):
            if year != self.today.year:
                continue
            del self.crops[number]
            self.stood.append((begun, self.today, self._variety(lot)))
            if plants < 1 or self.luck.random() < FAILS:
                self.hand.made(f"/seed-crops/{number}/fail", {"why": "slugs"})
                continue
            body = {"amount": {"seeds": 60 * plants}, "parents_kept": plants, "confirmed": True}
            answer = self.hand.made(f"/seed-crops/{number}/harvest", body)
            new = answer["lot"]["code"]
            variety = self._variety(lot)
            self._bear(new, variety, self.today, 1.6)
            self.harvested.append((self.today, variety, new, self._next_on(new)))

    def _variety(self, lot: str) -> int:
        return int(self.hand.get(f"/lots/{lot}").json()["variety"]["id"])

    # -- how it ends -------------------------------------------------------------------------

    def lost(self) -> set[int]:
        """Rare varieties of which no lot could raise two plants any more, nor any crop stands."""
        gone = {number for number, keepers in self.keepers.items() if keepers != "many"}
        for code, truth in self.truth.items():
            answer = self.hand.get(f"/lots/{code}").json()
            if answer["amount"]["seeds"] * truth.alive(self.today) >= 2.0:
                gone.discard(int(answer["variety"]["id"]))
        for _, _, lot, _ in self.crops.values():
            gone.discard(self._variety(lot))
        return gone


def played(hand: Hand, garden: Garden, *, months: int, luck: int) -> Play:
    """A garden after so many months, the 15th of each."""
    play = Play(hand, garden, np.random.default_rng(luck), garden.start)
    play.begin()
    for number in range(months):
        month = garden.start.month - 1 + number
        play.day(date(garden.start.year + month // 12, month % 12 + 1, 15))
        play.month()
    return play
