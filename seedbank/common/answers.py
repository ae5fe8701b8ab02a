"""What answers share: amounts with their unit and error, intervals, and where a figure is from."""

import json
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Annotated, Any, Self, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr

from seedbank.common.catalogue import text_of
from seedbank.common.fields import give_every
from seedbank.common.local_format import Local
from seedbank.facts.cautions import Caution
from seedbank.science.quantities import Finding, Interval


def _in_words(value: object) -> object:
    return text_of(value) if isinstance(value, Finding) else value


Sentence = Annotated[str, BeforeValidator(_in_words)]
"""A finding of which an answer carries only the sentence."""


class AnswerModel(BaseModel):
    """Output of a use case."""

    model_config = ConfigDict(frozen=True, from_attributes=True, defer_build=True)

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        super().__pydantic_init_subclass__(**kwargs)
        give_every(cls)


M = TypeVar("M", bound=AnswerModel)


class ViabilityPoint(AnswerModel):
    """Viability believed on one day: median, middle half, and 90 % band, %."""

    on: date = Field(examples=["2027-02-20"])
    median_pct: float | None = Field(description="null: planting stock", examples=[72.4])
    low_50_pct: float | None = Field(examples=[66.0])
    high_50_pct: float | None = Field(examples=[78.1])
    low_90_pct: float | None = Field(examples=[55.2])
    high_90_pct: float | None = Field(examples=[85.9])
    reckoned: bool = Field(
        default=True,
        description="false for seed that can't be stored: no equation applies to it, and the "
        "figures are a guess from its age; false too for planting stock, which has no figures",
        examples=[True],
    )
    planting_stock: bool = Field(
        default=False,
        description="tubers, cloves or the like: no germination is told of it",
        examples=[False],
    )


class SeedViabilityPoint(ViabilityPoint):
    """The same of seed, whose figures are always told."""

    median_pct: float = Field(examples=[72.4])
    low_50_pct: float = Field(examples=[66.0])
    high_50_pct: float = Field(examples=[78.1])
    low_90_pct: float = Field(examples=[55.2])
    high_90_pct: float = Field(examples=[85.9])


REASON_EXAMPLE = {
    "code": "cannot-wait",
    "text": "Don't wait a season: the chance of raising its 10 seed parents is 88 % now and 59 % "
    "next season.",
    "numbers": {"p_parents_now": 0.88, "p_parents_next": 0.59, "parents_needed": 10.0},
}


class FindingAnswer(AnswerModel):
    """One thing found, in plain words, with the numbers and names in it; chances run 0..1."""

    code: str = Field(examples=["cannot-wait"])
    text: str = Field(examples=[REASON_EXAMPLE["text"]])
    numbers: dict[str, float] = Field(examples=[REASON_EXAMPLE["numbers"]])
    names: dict[str, str] = Field(
        default_factory=dict,
        description="what has a name, a code or a day (ISO 8601) in it",
        examples=[{}],
    )
    _finding: Finding | None = PrivateAttr(default=None)

    @classmethod
    def of(cls, finding: Finding, **more: Any) -> Self:
        """Its sentence as the API writes it; ``more`` are the fields of a model that adds some."""
        numbers = {name: round(number, 4) for name, number in finding.numbers.items()}
        answer = cls(
            code=finding.code,
            text=text_of(finding),
            numbers=numbers,
            names=finding.names,
            **more,
        )
        answer._finding = finding
        return answer

    @property
    def finding(self) -> Finding:
        """What it says, as a part of another sentence; of an answer read back, its words."""
        return self._finding or Finding("as-said", {"text": self.text})

    def text_for(self, local: Local, part: str = "") -> str:
        """Its sentence, or a ``part`` of it, as this reader writes days and sizes."""
        return text_of(self.finding, local, part).replace(" %", "\u00a0%")


def stored_json(answer: AnswerModel) -> str:
    """The answer as JSON from which it can be read back with its findings."""
    findings = [one.finding for one in _findings_in(answer)]
    return json.dumps([answer.model_dump(mode="json"), findings], default=_plainly)


def read_stored(model: type[M], text: str) -> M:
    """The answer of ``stored_json``. Raises ValueError: it is none of this model."""
    data, findings = json.loads(text, object_hook=_as_it_was)
    answer = model.model_validate(data)
    for one, finding in zip(_findings_in(answer), findings, strict=True):
        one._finding = finding
    return answer


def _findings_in(answer: object) -> Iterator[FindingAnswer]:
    if isinstance(answer, FindingAnswer):
        yield answer
    if isinstance(answer, BaseModel):
        for name in type(answer).model_fields:
            yield from _findings_in(getattr(answer, name))
    elif isinstance(answer, list):
        for one in answer:
            yield from _findings_in(one)


def _plainly(value: object) -> dict[str, object]:
    if isinstance(value, Finding):
        return {"_finding": value.code, "values": dict(value.values)}
    assert isinstance(value, date)
    return {"_day": value.isoformat()}


def _as_it_was(data: dict[str, Any]) -> object:
    if data.keys() == {"_day"}:
        return date.fromisoformat(data["_day"])
    if data.keys() != {"_finding", "values"}:
        return data
    values = {n: tuple(v) if isinstance(v, list) else v for n, v in data["values"].items()}
    return Finding(data["_finding"], values)


class Source(AnswerModel):
    """Where a figure or rule is from, and how far to trust it."""

    text: str = Field(examples=["7 CFR 201.58 table 2 (2015 annual edition)"])
    confidence: str = Field(
        description="read: taken from the source itself; memory: recalled, not re-read; "
        "computed: worked out or chosen here; own: stated by you",
        examples=["read"],
    )


class VarietyBrief(AnswerModel):
    """The variety a lot is of."""

    id: int = Field(examples=[1])
    name: str = Field(examples=["Purple Lantern"])
    kind: str = Field(description="slug of its kind", examples=["carrot"])


class CautionAnswer(AnswerModel):
    """What to beware of."""

    text: str = Field(examples=["Do not eat germination-test seedlings."])
    who_decides: str = Field(description="whom to ask; may be empty", examples=[""])
    source: Source = Field(examples=[{"text": "sprout guidance, 1999", "confidence": "read"}])

    @classmethod
    def of(cls, caution: Caution) -> "CautionAnswer":
        """From the packaged table."""
        source = Source(text=caution.source, confidence=caution.confidence)
        who = text_of(Finding(caution.deference)) if caution.deference else ""
        return cls(text=caution.text, who_decides=who, source=source)


class AmountAnswer(FindingAnswer):
    """An amount of seed. ``grams`` is converted unless it was weighed; of seed that isn't counted
    what was weighed in, less what was taken by weight."""

    seeds: int | None = Field(
        description="seeds, as they are sown; null: some, not counted", examples=[120]
    )
    seeds_se: float = Field(description="standard error of that number", examples=[8.0])
    grams: float | None = Field(default=None, description="weight, g", examples=[0.4])


class PercentAnswer(AnswerModel):
    """A percentage with the interval that holds it at ``level_pct``."""

    pct: float = Field(description="the estimate, %", examples=[76.0])
    low_pct: float = Field(examples=[60.4])
    high_pct: float = Field(examples=[87.5])
    level_pct: float = Field(description="probability the interval is meant to hold", examples=[90])

    @classmethod
    def of(cls, fraction: float, interval: Interval) -> "PercentAnswer":
        """From a fraction 0..1 and its interval."""
        return cls(
            pct=round(100 * fraction, 2),
            low_pct=round(100 * interval.low, 2),
            high_pct=round(100 * interval.high, 2),
            level_pct=round(100 * interval.level, 2),
        )


def distinct(sources: list[Source]) -> list[Source]:
    """The sources without repeats, in order."""
    return list(dict.fromkeys(sources))


def finding_answers(findings: Iterable[Finding]) -> list[FindingAnswer]:
    """The findings as an answer carries them."""
    return [FindingAnswer.of(finding) for finding in findings]
