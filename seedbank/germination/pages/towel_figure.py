"""The seeds of a towel as they lie there, for its picture."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from seedbank.germination.answers import ReplicateAnswer
from seedbank.germination.tables import Judged
from seedbank.science.germination.germination import SeedClass

_MOST_BEANS: Final = 50
_A_BEAN: Final = 10  # seeds, where there are more


@dataclass(frozen=True, slots=True)
class Towel:
    """Seeds by what became of them; ``beans`` says it of each one drawn, in the order drawn."""

    beans: tuple[str, ...]
    seeds_a_bean: int
    seeds: int
    sprouted: int
    sprouted_now: int
    badly: int
    rotten: int

    @property
    def waiting(self) -> int:
        """Seeds that nothing has become of yet; firm and hard ones too."""
        return self.seeds - self.sprouted - self.badly - self.rotten


def towel_of(replicates: Sequence[ReplicateAnswer], before: Iterable[Judged]) -> Towel:
    """The towel with what was judged; ``before`` are the counts of other days."""
    earlier = sum(one.normal for one in before)
    sprouted = sum(one.normal for one in replicates)
    seeds = sum(one.seeds_set for one in replicates)
    badly = sum(one.abnormal for one in replicates)
    rotten = sum(one.dead for one in replicates)
    a_bean = 1 if seeds <= _MOST_BEANS else _A_BEAN
    drawn = -(-seeds // a_bean)
    beans = [
        *_beans("before", min(earlier, sprouted), a_bean),
        *_beans("now", max(sprouted - earlier, 0), a_bean),
        *_beans(SeedClass.ABNORMAL, badly, a_bean),
        *_beans(SeedClass.DEAD, rotten, a_bean),
    ][:drawn]
    beans += ["waiting"] * (drawn - len(beans))
    now = max(sprouted - earlier, 0)
    return Towel(tuple(beans), a_bean, seeds, sprouted, now, badly, rotten)


def _beans(what: str, seeds: int, a_bean: int) -> list[str]:
    return [str(what)] * round(seeds / a_bean)
