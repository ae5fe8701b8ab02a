"""Every way leads somewhere, and everything a gardener comes for lies within three taps."""

import re
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from urllib.parse import urldefrag, urlsplit

from bs4 import BeautifulSoup

from tests.pages.conftest import Visitor

OF_EACH_SHAPE = 3  # pages looked at of each sort of address
_PART = re.compile(r"(?<=/)([0-9A-Z]{5}|\d+)(?=/|$|\.)")
TAPS = 3
# What a gardener comes for, by the sort of page that does it, and the form sent there (empty:
# it is there to be read). A form costs one tap more.
TASKS = {
    "see what needs doing": ("/", ""),
    "find a lot": ("/", "/find"),
    "see what to grow for seed": ("/season/grow-for-seed", ""),
    "see the season": ("/season", ""),
    "open a lot": ("/lot/#", ""),
    "take in a packet": ("/take-in", "/take-in"),
    "move a lot": ("/lot/#/move", "/lot/#/move"),
    "take stock": ("/lot/#/count", "/lot/#/count"),
    "sow from a lot": ("/lot/#/sow", "/lot/#/sow"),
    "start a test": ("/lot/#/test", "/lot/#/test"),
    "enter a count": ("/test/#", "/test/#"),
    "ask how thickly to sow": ("/variety/#/sow", ""),
    "record what came up": ("/sowing", ""),
    "see the plan": ("/plan", "/plan"),
    "see a variety": ("/variety/#", ""),
    "begin a seed crop": ("/variety/#/grow", "/variety/#/grow"),
    "record a seed crop": ("/crop/#", "/crop/#/plants"),
    "say that something is cut": ("/flowering", "/flowering/#/cut"),
    "see how well I judge": ("/record", ""),
    "print labels": ("/labels", ""),
    "print lists": ("/lists", ""),
    "subscribe to dates": ("/dates", ""),
    "see what to buy or give": ("/supply", ""),
    "undo the last change": ("/changes", ""),
    "choose units": ("/settings", "/settings"),
}


@dataclass
class Walk:
    """What a walk from the front page met: taps to each sort of page, and what broke."""

    taps: dict[str, int] = field(default_factory=dict)
    forms: dict[str, set[str]] = field(default_factory=dict)
    broken: list[str] = field(default_factory=list)
    looked_at: int = 0


def shape(address: str) -> str:
    """The sort of page an address is of: codes and numbers as #, without what is asked."""
    return _PART.sub("#", urlsplit(address).path)


def ways_on(soup: BeautifulSoup) -> Iterator[str]:
    for link in soup.select("a[href]"):
        address = urldefrag(str(link["href"])).url
        if address.startswith("/") and not address.startswith("//"):
            yield address
    for picture in soup.select("img[src]"):
        yield str(picture["src"])


def walk(visitor: Visitor) -> Walk:
    """Nearest first, at most ``OF_EACH_SHAPE`` pages of a sort."""
    met, seen = Walk(), {"/"}
    line = deque([("/", 0)])
    looked: dict[str, int] = {}
    while line:
        address, taps = line.popleft()
        sort = shape(address)
        if looked.get(sort, 0) >= OF_EACH_SHAPE:
            continue
        looked[sort] = looked.get(sort, 0) + 1
        met.looked_at += 1
        answer = visitor.client.get(address, headers={"Accept": "text/html"})
        if answer.status_code != 200:
            met.broken.append(f"{address}: {answer.status_code}")
            continue
        kind = answer.headers["content-type"]
        if kind.startswith("application/json") and address != "/openapi.json":
            met.broken.append(f"{address}: an answer for programs")
        met.taps.setdefault(sort, taps)
        if "text/html" not in kind:
            continue
        soup = BeautifulSoup(answer.text, "html.parser")
        sent = {shape(str(form.get("action", ""))) for form in soup.select("form")}
        met.forms.setdefault(sort, set()).update(sent)
        for onward in ways_on(soup):
            if onward not in seen:
                seen.add(onward)
                line.append((onward, taps + 1))
    return met


def test_every_way_leads_somewhere_and_every_task_is_within_three_taps(visitor: Visitor) -> None:
    met = walk(visitor)
    assert met.broken == []
    assert met.looked_at > 40  # it did walk
    far = {}
    for task, (page, form) in TASKS.items():
        taps = met.taps.get(page, 99) + (1 if form else 0)
        there = not form or form in met.forms.get(page, set())
        if taps > TAPS or not there:
            far[task] = (page, form, taps, sorted(met.forms.get(page, set())))
    assert far == {}
