"""What the sorts of things to do are called."""

from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import Do
from seedbank.verdicts.words import verdict_words


def headings() -> dict[Do, str]:
    """What each group of things to do is called: as the verdict, where it is one."""
    verdicts = {verdict.value: verdict_words(verdict) for verdict in Verdict}
    return {do: verdicts.get(do) or text_of(Finding("to-do-heading", {"do": do})) for do in Do}
