"""Warnings reach the kinds, lots and jobs they concern."""

import pytest

from seedbank.facts import loaders
from seedbank.facts.cautions import (
    LOCAL_RULES,
    QUALIFIED_PEOPLE,
    Situation,
    all_cautions,
    cautions_for,
)
from seedbank.facts.kinds import packaged_kinds
from seedbank.facts.sources import Confidence


def _topics(slug: str, **how: bool) -> list[str]:
    treated, saved = how.get("treated", False), how.get("saved_here", False)
    return [c.topic for c in cautions_for(slug, treated=treated, saved_here=saved)]


@pytest.mark.parametrize("slug", sorted(packaged_kinds()))
@pytest.mark.parametrize("treated", [False, True])
@pytest.mark.parametrize("saved_here", [False, True])
def test_every_topic_named_is_in_the_table(slug: str, treated: bool, saved_here: bool) -> None:
    found = cautions_for(
        slug, treated=treated, saved_here=saved_here, situations=tuple(Situation), poisonous=True
    )
    topics = [caution.topic for caution in found]
    assert len(topics) == len(set(topics))
    assert {row.topic for row in loaders.cautions()} >= set(topics)


def test_every_poisonous_kind_carries_a_caution_that_defers_to_a_doctor() -> None:
    poisonous = [k for k in packaged_kinds().values() if k.poisonous and k.poisonous.value]
    assert {kind.slug for kind in poisonous} >= {"foxglove", "sweet-pea", "castor-bean"}
    for kind in poisonous:
        found = cautions_for(kind.slug, treated=False, saved_here=False)
        assert found
        assert found[0].deference == QUALIFIED_PEOPLE


def test_raw_beans_are_warned_of_as_the_table_words_it() -> None:
    (caution,) = cautions_for("runner-bean", treated=False, saved_here=False)
    # US Food and Drug Administration, Bad Bug Book, 2012
    assert "boil 30 min" in caution.text
    assert caution.confidence is Confidence.READ


def test_treated_seed_comes_first() -> None:
    assert _topics("broad-bean", treated=True)[0] == "treated seed"
    assert "treated seed" not in _topics("broad-bean")


def test_bitter_fruit_is_warned_of_only_for_seed_saved_here() -> None:
    assert "cucurbit bitterness" in _topics("squash-pepo", saved_here=True)
    assert "cucurbit bitterness" not in _topics("squash-pepo")
    assert "cucurbit bitterness" not in _topics("carrot", saved_here=True)


def test_moving_and_selling_defer_to_local_rules() -> None:
    for situation in (Situation.MOVING, Situation.SELLING):
        found = cautions_for("pea", treated=False, saved_here=False, situations=(situation,))
        assert found
        assert all(caution.deference == LOCAL_RULES for caution in found)


def test_an_own_kind_said_to_be_poisonous_is_warned_of() -> None:
    found = cautions_for("my-own", treated=False, saved_here=False, poisonous=True)
    assert [caution.topic for caution in found] == ["other poisonous garden seed"]
    assert cautions_for("my-own", treated=False, saved_here=False) == ()


def test_every_caution_keeps_its_source_and_confidence() -> None:
    table = all_cautions()
    assert len(table) == len(loaders.cautions()) + 1  # ours, of pelleted and primed seed
    for row in loaders.cautions():
        assert (table[row.topic].source, table[row.topic].confidence) == (
            row.source.text,
            row.source.confidence,
        )


def test_only_dried_legumes_or_kinds_of_no_known_family_are_warned_of_over_drying() -> None:
    warned = {
        slug: "desiccant over-drying"
        in [
            one.topic
            for one in cautions_for(
                slug, treated=False, saved_here=False, situations=(Situation.DRYING,)
            )
        ]
        for slug in ("carrot", "common-bean", "a-kind-of-ones-own")
    }
    assert warned == {"carrot": False, "common-bean": True, "a-kind-of-ones-own": True}
