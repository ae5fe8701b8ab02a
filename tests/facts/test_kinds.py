"""Facts of a kind as they are put together, against the figures the sources print."""

import math
from dataclasses import fields

import pytest

from seedbank.facts import loaders
from seedbank.facts.kinds import KindFacts, UnknownKind, find_kind, kind_facts, packaged_kinds
from seedbank.facts.sources import Basis, Confidence, Fact, Spread, sources_of


def _facts(kind: KindFacts) -> list[Fact[object]]:
    found: list[Fact[object]] = []
    for field in fields(kind):
        value = getattr(kind, field.name)
        found += [value] if isinstance(value, Fact) else []
        if isinstance(value, tuple):
            found += [item for item in value if isinstance(item, Fact)]
    return found


@pytest.mark.parametrize("slug", sorted(packaged_kinds()))
def test_every_fact_of_every_kind_has_source_confidence_and_a_word_when_borrowed(slug: str) -> None:
    for fact in _facts(kind_facts(slug)):
        assert fact.source.strip()
        assert fact.confidence in Confidence
        assert fact.basis is Basis.OWN or fact.note.startswith(fact.basis)


def test_every_kind_has_what_a_kind_of_ours_must_have() -> None:
    for kind in packaged_kinds().values():
        assert kind.storage_class.value in ("orthodox", "recalcitrant", "unlisted")
        assert kind.seed_unit.value in ("seed", "cluster")
        assert kind.crossing_group is not None
        assert kind.life_cycle is not None
        assert kind.mating is not None


def test_spreads_hold_their_typical_value() -> None:
    odd = []
    for kind in packaged_kinds().values():
        for fact in _facts(kind):
            if isinstance(fact.value, Spread):
                low = -math.inf if fact.value.low is None else fact.value.low
                high = math.inf if fact.value.high is None else fact.value.high
                if not low <= fact.value.typical <= high:
                    odd.append((kind.slug, fact.value))
    assert odd == []


def test_clusters_give_several_seedlings_and_seeds_exactly_one() -> None:
    clusters = {s for s, k in packaged_kinds().items() if k.seed_unit.value == "cluster"}
    assert clusters == {"beet", "chard", "new-zealand-spinach", "coriander"}
    for slug, kind in packaged_kinds().items():
        spread = kind.seedlings_per_unit.value
        assert (spread != Spread(1.0, 1.0, 1.0)) == (slug in clusters)
    assert kind_facts("beet").seedlings_per_unit.confidence is Confidence.MEMORY


@pytest.mark.parametrize(
    ("slug", "used", "eu", "us"),
    [
        # 7 CFR 201.31; Council Directive 2002/55/EC Annex II by way of SaatV Anlage 3
        ("carrot", 65, 65, 55),
        ("okra", 50, None, 50),
        ("squash-maxima", 80, 80, 75),
        ("squash-moschata", 75, 75, 75),
        ("fennel", 70, 70, None),
        ("aubergine", 65, 65, 60),
    ],
)
def test_the_minimum_used_is_the_eu_one_before_the_us_one(
    slug: str, used: float, eu: float | None, us: float | None
) -> None:
    kind = kind_facts(slug)
    assert kind.minimum_germination_pct is not None
    assert kind.minimum_germination_pct.value == used
    for fact, value in (
        (kind.minimum_germination_eu_pct, eu),
        (kind.minimum_germination_us_pct, us),
    ):
        assert (None if fact is None else fact.value) == value


def test_a_state_minimum_serves_where_neither_law_names_the_kind() -> None:
    basil = kind_facts("basil").minimum_germination_pct
    borage = kind_facts("borage").minimum_germination_pct
    assert basil is not None
    assert borage is not None
    # Ohio Admin. Code 901:5-27-04: basil 70, any other vegetable or herb 50
    assert (basil.value, borage.value) == (70, 50)
    assert borage.note == "any other vegetable or herb"


def test_viability_constants_say_whether_they_are_own_same_species_or_a_stand_in() -> None:
    pepper = kind_facts("pepper").viability_constants
    swede = kind_facts("swede").viability_constants
    cabbage = kind_facts("cabbage").viability_constants
    assert pepper is not None
    assert swede is not None
    assert cabbage is not None
    # Demir et al. 2009, HortScience 44:1679-1682 (abstract)
    assert (pepper.value.k_e, pepper.value.c_w) == (7.767, 4.670)
    assert (pepper.value.c_h, pepper.value.c_q) == (0.0329, 0.000478)
    assert pepper.value.fitted_moisture_pct is not None
    assert (pepper.value.fitted_moisture_pct.low, pepper.value.fitted_moisture_pct.high) == (
        7,
        12.1,
    )
    assert (pepper.basis, swede.basis, cabbage.basis) == (
        Basis.OWN,
        Basis.SAME_SPECIES,
        Basis.STAND_IN,
    )
    assert cabbage.confidence is Confidence.MEMORY
    assert kind_facts("tomato").viability_constants is None


def test_every_choice_of_constants_finds_exactly_one_complete_row() -> None:
    for choice in loaders.constants_for_kind():
        table = (
            loaders.viability_constants()
            if choice.table == "viability_constants"
            else loaders.roberts1973_constants()
        )
        found = [
            row
            for row in table
            if row.kind == choice.constants_kind
            and choice.source_contains in row.source.text
            and getattr(row, "k_e", 1.0) is not None
        ]
        assert len(found) == 1, choice


def test_an_unsure_recollection_keeps_its_mark() -> None:
    pea = kind_facts("pea")
    assert pea.viability_constants is not None
    assert pea.viability_constants.value.unsure
    assert "UNSURE" in pea.viability_constants.note
    assert [fact.value.unsure for fact in pea.half_viability] == [False, True, False]


def test_standard_errors_and_fitted_ranges_are_read_from_the_notes() -> None:
    beet = kind_facts("beet").viability_constants
    assert beet is not None
    # Ellis & Hong 2007, Seed Sci. & Technol. 35:432-444 (abstract)
    assert (beet.value.k_e_se, beet.value.c_w_se) == (0.387, 0.328)
    assert beet.value.fitted_temp_c is not None
    assert (beet.value.fitted_temp_c.low, beet.value.fitted_temp_c.high) == (0, 50)


def test_half_viability_carries_the_storage_it_was_seen_in() -> None:
    lettuce = kind_facts("lettuce").half_viability
    # Nagel & Börner 2010, Seed Science Research 20:1-12: 7 years at 20.3 C and 50.5 % RH
    assert (lettuce[0].value.p50_years, lettuce[0].value.temp_c, lettuce[0].value.rh_pct) == (
        7,
        20.3,
        50.5,
    )
    # Mira et al., PMC4783362, table 3: 27 days at 35 C and 8.2 % fresh weight
    assert (lettuce[1].value.temp_c, lettuce[1].value.moisture_pct) == (35, 8.2)
    assert lettuce[-1].value.relative_class == "short"


def test_a_moisture_isotherm_rises_with_humidity_at_25_c() -> None:
    for kind in packaged_kinds().values():
        points = [f.value for f in kind.moisture_equilibrium if f.value.temp_c == 25]
        assert [p.moisture_pct for p in points] == sorted(p.moisture_pct for p in points)


def test_oil_prefers_a_read_figure_and_spans_all() -> None:
    okra = kind_facts("okra").oil_content_pct
    onion = kind_facts("onion").oil_content_pct
    assert okra is not None
    assert onion is not None
    # Jarret, Wang & Levy 2011, J. Agric. Food Chem.: 12.36-21.56 %, highest country mean 17
    assert (okra.value.typical, okra.value.high, okra.confidence) == (17, 22, Confidence.READ)
    assert onion.confidence is Confidence.MEMORY  # read rows print no typical value


@pytest.mark.parametrize(
    ("word", "slug"),
    [
        ("Courgette", "squash-pepo"),
        ("eggplants", "aubergine"),
        ("Tomatoes", "tomato"),
        ("bean (runner)", "runner-bean"),
        ("bean (garden)", "common-bean"),
        ("rutabaga", "swede"),
        ("swede", "swede"),
        ("pak-choi", "pak-choi"),
        ("Lamb's lettuce", "corn-salad"),
        ("spinach (new zealand)", "new-zealand-spinach"),
        ("chinese chive", "garlic-chives"),
        ("collard", "collards"),
    ],
)
def test_a_gardeners_word_finds_the_kind(word: str, slug: str) -> None:
    assert find_kind(word).slug == slug


def test_a_word_for_several_kinds_is_asked_back() -> None:
    with pytest.raises(UnknownKind) as caught:
        find_kind("pumpkin")
    assert caught.value.several
    assert caught.value.close == ("squash-maxima", "squash-moschata", "squash-pepo")


def test_a_misspelt_kind_is_answered_with_close_ones() -> None:
    with pytest.raises(UnknownKind) as caught:
        kind_facts("parsnipp")
    assert caught.value.close[0] == "parsnip"
    with pytest.raises(UnknownKind) as caught:
        find_kind("qqqq")
    assert caught.value.close == ()


def test_sources_are_listed_once_with_their_confidence() -> None:
    broccoli = kind_facts("broccoli")
    listed = sources_of(broccoli.depth_cm, broccoli.soil_min_c, None, (broccoli.depth_cm,))
    # sowing.csv: spacing of broccoli is recalled, its soil temperatures were read
    assert [source.confidence for source in listed] == [Confidence.MEMORY, Confidence.READ]
    everything = sources_of(broccoli)
    assert len(everything) == len(set(everything)) > 8
    assert any(source.confidence is Confidence.MEMORY for source in everything)


def test_packaged_facts_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        packaged_kinds()["pea"] = kind_facts("pea")  # type: ignore[index]  # read-only on purpose
    with pytest.raises(AttributeError):
        kind_facts("pea").name = "other"  # type: ignore[misc]  # frozen on purpose


def test_biennials_flower_next_year_and_so_do_perennials_but_the_runner_bean() -> None:
    assert kind_facts("carrot").flowers_next_year
    assert kind_facts("asparagus").flowers_next_year
    assert not kind_facts("lettuce").flowers_next_year
    bean = kind_facts("runner-bean")
    assert bean.life_cycle is not None
    assert bean.life_cycle.value == "perennial"
    assert not bean.flowers_next_year
