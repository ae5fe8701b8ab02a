"""Amounts of seed as people write them, read into a number and how far off it may be.

What the words are worth is the table ``written_amounts``; a printed range is taken to hold about
95 %, four standard errors from end to end. ``settle`` makes seeds of what is read: by packets'
sizes and by the seed's weight.
"""

import math
import re
from dataclasses import dataclass, replace
from typing import Any, Final

from seedbank.common.forms import MOST
from seedbank.facts.descriptor_rows import WrittenAmountRow
from seedbank.facts.growing import packet_row, row_for
from seedbank.interchange.spreadsheet.answers import Sure
from seedbank.interchange.spreadsheet.cells import NUMBER, cannot_be, number_in, plain_form, quoted
from seedbank.interchange.spreadsheet.words import amount_in_english
from seedbank.science.quantities import Finding

MOST_GRAMS: Final = 1_000_000
_RANGE_IN_SE: Final = 4.0
_ABOUT = re.compile(
    r"^(?:(?:approx(?:imately|\.)?|about|around|roughly|circa|ca\.?|c\.|est(?:imated|\.)?|maybe"
    r"|perhaps|say|nearly|almost)\s*(?=[\d.]|a |an |one |half|three|two)|[~≈±]\s*)+"
)
_OVER = re.compile(r"^(?:at least|more than|over|min\.?|>=?|≥)\s*(?=\d)")
_UNDER = re.compile(r"^(?:at most|less than|fewer than|under|up to|max\.?|<=?|≤)\s*(?=\d)")
_DOUBT = re.compile(r"\s*(?:\(\?+\)|\?+)$|\s+(?:or so|ish|approx\.?|est\.?)$|(?<=\d)ish$")
_SEEDS = r"seeds?|pcs|pieces|grains|beans|peas|clusters"
_PACKETS = r"packets?|packs?|pkts?|sachets?|pk|pckts?"
_GRAMS = {
    "g": r"g|gr|gms?|grams?|grammes?",
    "kg": r"kg|kilos?|kilograms?",
    "mg": r"mg|milligrams?",
    "oz": r"oz|ounces?",
    "lb": r"lbs?|pounds?",
}
_UNIT = re.compile(
    rf"(?P<seeds>{_SEEDS})|(?P<packets>{_PACKETS})|"
    + "|".join(f"(?P<{name}>{words})" for name, words in _GRAMS.items())
)
_LEFT = re.compile(r" (?:left|remaining|in total|only)$")
_REMARK = re.compile(r"\s*\(([^()]*)\)$")
_PARTLY = re.compile(r"\b(?:used|open(?:ed)?|started|empty|full|half|most|sown|left|gone|some)\b")
_PART_ALONE = re.compile(
    r"(?:nearly |almost |half |mostly |partly |part )?"
    r"(?:full|used|empty|opened|open|started|half|most|part|partial)"
)
_DOTTED = re.compile(r"[1-9]\d{0,2}(?:\.\d{3})+")
_NUMBER_WORDS = {
    "half a dozen": "6", "a dozen": "12", "dozen": "12", "a hundred": "100", "two": "2",
    "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
    "ten": "10", "twenty": "20", "thirty": "30", "forty": "40", "fifty": "50",
}  # fmt: skip
_SPELT = re.compile(rf"^({'|'.join(_NUMBER_WORDS)})(?= (?:{_SEEDS}|{_PACKETS})$|$)")
_VESSEL = re.compile(
    r"\b(jar|tin|box|tub|bag|envelope|bottle|handful|pinch|spoon|teaspoon|tsp|cup)"
)
_AMOUNT = re.compile(
    rf"(?P<low>{NUMBER})(?:\s*(?:-|to|or)\s*(?P<high>{NUMBER}))?\s*(?P<more>\+)?\s*[x×]?\s*"
    rf"(?P<unit>[a-z]+)?\.?(?:\s*(?:of|@|x|\()\s*(?P<size>{NUMBER})\)?"
    r"(?: seeds?)?(?: each)?)?"
)
_PARTS = re.compile(
    r"(?:a |an |one |the )?(?P<part>nearly full|full|whole|most|three[- ]quarters?|two[- ]thirds?"
    r"|half|third|quarter|nearly empty|almost empty|opened|open|part|partial|started)"
    rf"(?: of)?(?: an?| the)? (?P<what>{_PACKETS})(?: of (?P<size>\d{{1,6}}))?"
)
_PART_ROWS = {
    "whole": "full", "most": "most of", "almost empty": "nearly empty", "open": "opened",
    "part": "opened", "partial": "opened", "started": "opened",
}  # fmt: skip
_WORDS = re.compile(
    r"(?:only |just )?(?:an? |the )?(?P<word>few|several|couple|some|lots?|loads|plenty|many)"
    rf"(?: of)?(?: them)?(?: (?:{_SEEDS}))?"
)
_WORD_ROWS = {"lot": "lots", "loads": "lots", "plenty": "lots", "many": "lots"}
_ONE = re.compile(rf"(?:an?|one) (?P<unit>{_PACKETS})(?: of (?P<size>\d{{1,6}}))?")
_NONE = frozenset(
    ("0", "none", "nil", "no", "empty", "gone", "finished", "used up", "-", "none left", "all gone",
     "all used")
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class AmountRead:
    """What an amount says: seeds, grams or packets, each with its standard error, or nothing.

    ``packet_size`` is the seeds of one packet where the cell tells; ``sources`` what it rests on.
    """

    said: Finding
    sure: Sure
    seeds: float | None = None
    grams: float | None = None
    packets: float | None = None
    se: float = 0.0
    packet_size: float | None = None
    sources: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()  # what it may be, where its writer is asked


def read_amount(text: str, unit: str = "") -> AmountRead:
    """What ``text`` says, in ``unit`` (``seeds``, ``g``, ``oz`` …) where it names none itself."""
    written = plain_form(text)
    if not written or not written.strip("?. "):
        return AmountRead(Finding("sheet-amount-not-known"), Sure.KEPT)
    if cannot_be(written):
        return AmountRead(Finding("sheet-amount-impossible"), Sure.WRONG)
    english = amount_in_english(written)
    read = _with_remark(written, unit)
    if read is None and english != written:
        read = _with_remark(english, unit)
    if read is None:
        open_ended = _VESSEL.search(written) or _PART_ALONE.fullmatch(english)
        code = "sheet-any-amount" if open_ended else "sheet-amount-misread"
        return AmountRead(Finding(code, {"text": quoted(text)}), Sure.KEPT)
    return read


def _with_remark(written: str, unit: str) -> AmountRead | None:
    """The amount, more in doubt where ``about`` or a remark in brackets puts it so."""
    if written in _NONE:
        return AmountRead(Finding("sheet-none-left"), Sure.WRITTEN, seeds=0.0)
    bare, doubtful = _without_doubt(written)
    read, remark = _understood(bare, unit), None
    if read is None:
        remark = _REMARK.search(bare)
        if remark is None:
            return None
        read = _understood(_without_doubt(_REMARK.sub("", bare))[0], unit)
    if read is None or read.sure is not Sure.WRITTEN:
        return read
    if remark is not None and _PARTLY.search(amount_in_english(remark[1])):
        return _blurred(read, row_for("partly used"))
    return _blurred(read, row_for("about")) if doubtful else read


def _understood(bare: str, unit: str) -> AmountRead | None:
    return _word(bare) or _part(bare) or _numbered(bare, unit)


def _without_doubt(written: str) -> tuple[str, bool]:
    bare = _DOUBT.sub("", written)
    bare = _ABOUT.sub("", bare).strip()
    doubtful = bare != written
    bare = _LEFT.sub("", bare)
    return _SPELT.sub(lambda found: _NUMBER_WORDS[found[0]], bare), doubtful


def _word(written: str) -> AmountRead | None:
    found = _WORDS.fullmatch(written)
    if found is None:
        return None
    row = row_for(_WORD_ROWS.get(found["word"], found["word"]))
    noted, error = Finding("as-said", {"text": row.note}), error_of(row)
    return AmountRead(noted, Sure.ESTIMATED, seeds=row.typical, se=error, sources=rests_on(row))


def _part(written: str) -> AmountRead | None:
    one = _ONE.fullmatch(written)
    if one is not None:
        return _packets(1.0, 0.0, Sure.WRITTEN, one["size"])
    found = _PARTS.fullmatch(written)
    if found is None:
        return None
    named = re.sub(r"^(three|two)-", r"\1 ", found["part"])
    named = {"three quarter": "three quarters", "two third": "two thirds"}.get(named, named)
    row = row_for(_PART_ROWS.get(named, named))
    read = _packets(row.typical, error_of(row), Sure.ESTIMATED, found["size"])
    return replace(read, said=Finding("as-said", {"text": row.note}), sources=rests_on(row))


def _packets(number: float, se: float, sure: Sure, size: str | None) -> AmountRead:
    part = "part" if number < 1 else "packets"
    said = Finding("sheet-packets", {"packets": float(f"{number:.4g}"), "of": part})
    return AmountRead(
        said, sure, packets=number, se=se, packet_size=None if size is None else number_in(size)
    )


def _numbered(written: str, unit: str) -> AmountRead | None:
    over, under = _OVER.match(written), _UNDER.match(written)
    bound = over or under
    found = _AMOUNT.fullmatch(written[bound.end() :] if bound else written)
    if found is None:
        return None
    named = _unit(found["unit"]) if found["unit"] else unit or "seeds"
    low, high = (_number(found[end] or found["low"], named) for end in ("low", "high"))
    if named is None or low is None or high is None:
        return None
    size = found["size"]
    if size is not None and named != "packets":
        return None
    if named in _GRAMS and _is_thousand(found["low"]):
        return _ask_which(found["low"], found["unit"] or unit)
    if "/" in found["low"] and named == "seeds":
        of_packet = (f"{found['low']} packet",)
        return AmountRead(Finding("sheet-part-of-what"), Sure.ASKED, choices=of_packet)
    if named == "packets" and size is None and not found["high"]:
        return _some_packets(low, bool(bound or found["more"]))
    read = _in_unit(min(low, high), max(low, high), named, size)
    if under is not None:
        return _anything_up_to(read)
    return _blurred(read, row_for("at least")) if over or found["more"] else read


def _number(text: str, unit: str | None) -> float | None:
    """The number; of seeds, which are whole, a point before three figures parts thousands."""
    dotted = unit == "seeds" and _DOTTED.fullmatch(text)
    return number_in(text.replace(".", "") if dotted else text)


def _is_thousand(text: str) -> bool:
    return re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", text) is not None


def _ask_which(number: str, unit: str) -> AmountRead:
    """Asks whether a comma or point parts thousands or decimals."""
    first, rest = re.split("[.,]", number)
    decimal = f"{first}.{rest}".rstrip("0").rstrip(".")
    either = (f"{decimal} {unit}", f"{first}{rest} {unit}")
    return AmountRead(Finding("sheet-comma-open"), Sure.ASKED, choices=either)


def _some_packets(number: float, bounded: bool) -> AmountRead:
    """Packets, or a part of one, which nobody measures but by eye."""
    read = _packets(number, 0.0, Sure.WRITTEN, None)
    if bounded:
        return _blurred(read, row_for("at least"))
    return read if number == int(number) else _blurred(read, row_for("about"))


def _in_unit(low: float, high: float, unit: str, size: str | None) -> AmountRead:
    middle, se = (low + high) / 2, (high - low) / _RANGE_IN_SE
    sure = Sure.WRITTEN if low == high else Sure.ESTIMATED
    between = {"low": low, "high": high}
    if unit == "seeds":
        if low == high and not middle.is_integer():
            weighed = (f"{middle:g} g",)
            return AmountRead(Finding("sheet-seeds-not-whole"), Sure.ASKED, choices=weighed)
        said = Finding("sheet-counted") if low == high else Finding("sheet-between", between)
        return AmountRead(said, sure, seeds=middle, se=se)
    if unit == "packets":
        read = _packets(middle, se, sure, size)
    else:
        row = row_for(unit)
        grams = middle * row.typical
        if grams > MOST_GRAMS:
            return AmountRead(Finding("sheet-too-heavy", {"most_g": MOST_GRAMS}), Sure.WRONG)
        weight_g = float(f"{grams:.4g}")
        said = Finding("sheet-weight", {"weight": middle, "unit": unit, "weight_g": weight_g})
        read = AmountRead(said, sure, grams=grams, se=se * row.typical, sources=rests_on(row))
    if low == high:
        return read
    return replace(read, said=Finding("sheet-amount-between", {"amount": read.said, **between}))


def _anything_up_to(read: AmountRead) -> AmountRead:
    """Any amount from none to the one written: the middle, with the spread of an even chance."""
    most = next(v for v in (read.seeds, read.grams, read.packets) if v is not None)
    named: dict[str, Any] = {
        name: most / 2 for name in ("seeds", "grams", "packets") if getattr(read, name) is not None
    }
    said = Finding("sheet-up-to", {"most": most})
    return replace(read, said=said, sure=Sure.ESTIMATED, se=most / math.sqrt(12), **named)


def _blurred(read: AmountRead, row: WrittenAmountRow) -> AmountRead:
    """The same, off by what the row says such words may be."""
    scaled: dict[str, Any] = {}
    error = read.se
    for name in ("seeds", "grams", "packets"):
        value = getattr(read, name)
        if value is not None:
            scaled[name] = value * row.typical
            error = math.hypot(read.se * row.typical, value * error_of(row))
    codes = {"at least": "sheet-or-more", "partly used": "sheet-partly-used"}
    code = codes.get(row.words, "sheet-by-estimate")
    return replace(
        read, said=Finding(code, {"amount": read.said}), sure=Sure.ESTIMATED, se=error,
        sources=(*read.sources, *rests_on(row)), **scaled,
    )  # fmt: skip


def _unit(text: str) -> str | None:
    found = _UNIT.fullmatch(text)
    return None if found is None else found.lastgroup


def error_of(row: WrittenAmountRow) -> float:
    low, high = row.low, row.high
    return 0.0 if low is None or high is None else (high - low) / _RANGE_IN_SE


def rests_on(row: WrittenAmountRow) -> tuple[str, ...]:
    return (f"{row.note}: {row.source.text}",)


@dataclass(frozen=True, slots=True)
class Settled:
    """An amount as it is to be booked: seeds with their error (0: none is left), or grams weighed.

    Neither: some, not counted.
    """

    said: Finding
    sure: Sure
    seeds: int | None = None
    seeds_se: float = 0.0
    grams: float | None = None
    sources: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()


def settle(
    read: AmountRead, *, tsw_g: float | None, tsw_se_g: float, packet_size: float | None
) -> Settled:
    """The amount in seeds (or grams as weighed), by the kind's thousand-seed weight in g.

    ``packet_size`` is how many seeds a packet holds, where the sheet or its owner says so.
    """
    if read.sure not in (Sure.WRITTEN, Sure.ESTIMATED):
        return Settled(read.said, read.sure, choices=read.choices)
    if read.packets is not None:
        read = _unpacked(read, tsw_g, packet_size)
    if read.grams is not None:
        return _weighed(read, tsw_g, tsw_se_g)
    if read.seeds is None:
        return Settled(read.said, read.sure)
    seeds = round(read.seeds)
    if seeds > MOST:
        return Settled(Finding("sheet-too-many", {"most": MOST}), Sure.WRONG)
    if read.seeds == 0:
        return Settled(read.said, read.sure, 0)
    if seeds == 0:
        return Settled(Finding("sheet-under-a-seed"), Sure.KEPT)
    return Settled(_in_seeds(read, seeds, read.se), read.sure, seeds, read.se, None, read.sources)


def _in_seeds(read: AmountRead, seeds: int, se: float) -> Finding:
    rounded = float(f"{se:.2g}") if se else None
    return Finding("sheet-seeds", {"amount": read.said, "seeds": seeds, "seeds_se": rounded})


def _unpacked(read: AmountRead, tsw_g: float | None, stated: float | None) -> AmountRead:
    """Packets as seeds: by the size stated, else by what packets of such seed may hold."""
    assert read.packets is not None
    size = read.packet_size or stated
    if size:
        row = row_for("packet of known size")
        each, each_se = size, size * error_of(row)
        said = Finding("sheet-packets-of", {"amount": read.said, "packet_seeds": size})
    else:
        row = packet_row(tsw_g)
        each, each_se = row.typical, error_of(row)
        assumed = {"low": row.low, "high": row.high, "note": row.note}
        said = Finding("sheet-packets-of-perhaps", {"amount": read.said, **assumed})
    seeds = read.packets * each
    se = math.hypot(read.packets * each_se, read.se * each)
    return replace(
        read, said=said, sure=Sure.ESTIMATED, seeds=seeds, se=se, packets=None,
        sources=(*read.sources, *rests_on(row)),
    )  # fmt: skip


def _weighed(read: AmountRead, tsw_g: float | None, tsw_se_g: float) -> Settled:
    assert read.grams is not None
    if tsw_g is None:
        return Settled(Finding("sheet-weight-untold", {"amount": read.said}), Sure.KEPT)
    seeds = 1000 * read.grams / tsw_g
    if round(seeds) == 0:
        return Settled(Finding("sheet-weight-under-a-seed", {"amount": read.said}), Sure.KEPT)
    if round(seeds) > MOST:
        return Settled(Finding("sheet-too-many", {"most": MOST}), Sure.WRONG)
    if read.se == 0:  # weighed: the ledger converts it, by the lot's own weight once that is known
        said = Finding("sheet-about-seeds", {"amount": read.said, "seeds": round(seeds)})
        return Settled(said, read.sure, grams=read.grams, sources=read.sources)
    se = seeds * math.hypot(read.se / read.grams, tsw_se_g / tsw_g)
    said = _in_seeds(read, round(seeds), se)
    return Settled(said, read.sure, round(seeds), se, None, read.sources)
