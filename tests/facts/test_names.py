"""Every name in the reference leads to a canonical kind, or is left out for a stated reason."""

from collections.abc import Callable
from typing import Any

import pytest

from seedbank.facts import loaders
from seedbank.facts.amendments import all_amendments
from seedbank.facts.loaders import LOADERS
from seedbank.facts.names import (
    canonical_slugs,
    kind_by_variety,
    kinds_beginning,
    kinds_meant,
    kinds_near,
    matches,
    nearest,
    resolve,
    slugify,
)
from seedbank.facts.sources import Basis
from seedbank.facts.tables import read_table

FIELD_CROP = "a field crop no kitchen gardener keeps as seed"
GENERAL = "speaks of many kinds at once; read by its own function"
LEFT_OUT = {
    "african rice": FIELD_CROP,
    "barley": FIELD_CROP,
    "cereals": FIELD_CROP,
    "chicory (industrial root)": "root chicory for factories; the garden row is used",
    "common constants of 12 crops": GENERAL,
    "crops in general": GENERAL,
    "finger millet": FIELD_CROP,
    "formula (general)": "a formula, not a kind",
    "formula (pulses)": "a formula, not a kind",
    "foxtail millet": FIELD_CROP,
    "kodo millet": FIELD_CROP,
    "lowest of 12 species: niger": FIELD_CROP,
    "mean of 12 species": GENERAL,
    "pearl millet": FIELD_CROP,
    "potato (true seed)": "grown from tubers; too short-lived to stand in for tomato",
    "red clover, alfalfa": FIELD_CROP,
    "rice": FIELD_CROP,
    "small grains (e.g. wheat)": FIELD_CROP,
    "sorghum": FIELD_CROP,
    "spider plant": "not grown in kitchen gardens here",
    "sugarcane": FIELD_CROP,
    "(25 kinds of the isotherm table)": "what is missing, not a figure",
    "(all orthodox)": GENERAL,
    "(all)": GENERAL,
    "(any other vegetable)": GENERAL,
    "(most seeds)": GENERAL,
    "(selfers)": GENERAL,
    "any other vegetable or herb": GENERAL,
    "universal temperature constants": GENERAL,
    "vegetable seed in Colorado air": GENERAL,
    "vegetables (any)": GENERAL,
    "wheat": FIELD_CROP,
    "wheat (soft red winter)": FIELD_CROP,
    "winter barley": FIELD_CROP,
}
LEFT_OUT_IN_ONE_TABLE = {
    ("growing_calendar", "pumpkin"): "any of three species, each with a row of its own",
    ("seed_weight", "pumpkin"): "the species has a row of its own; C. pepo pumpkins run larger",
    ("seed_weight", "squash"): "one figure for species that differ widely",
    ("sowing", "pumpkin"): "the three species have rows of their own",
    ("viability_constants", "oilseed rape"): "served through constants_for_kind",
}
KIND_TABLES = sorted(
    name for name, load in LOADERS.items() if hasattr(load()[0], "kind") and "kind_" not in name
)


def _rows(table: str) -> tuple[Any, ...]:
    return LOADERS[table]()


@pytest.mark.parametrize("table", KIND_TABLES)
def test_no_reference_kind_is_orphaned(table: str) -> None:
    orphans = {row.kind for row in _rows(table) if not resolve(table, row.kind)}
    allowed = set(LEFT_OUT) | {name for where, name in LEFT_OUT_IN_ONE_TABLE if where == table}
    assert orphans <= allowed


def test_nothing_is_listed_as_left_out_that_is_in_use_or_gone() -> None:
    printed = {(table, row.kind) for table in KIND_TABLES for row in _rows(table)}
    for name in LEFT_OUT:
        uses = [table for table, kind in printed if kind == name]
        assert uses, name
        assert not any(resolve(table, name) for table in uses), name
    for table, name in LEFT_OUT_IN_ONE_TABLE:
        assert (table, name) in printed
        assert not resolve(table, name)


def test_every_alias_points_to_a_canonical_kind_and_a_name_that_is_printed() -> None:
    for row in loaders.kind_aliases():
        assert row.slug in canonical_slugs()
        tables = KIND_TABLES if row.table == "any" else [row.table]
        assert any(row.name == printed.kind for t in tables for printed in _rows(t)), row


def test_every_own_table_speaks_of_canonical_kinds() -> None:
    tables: tuple[Callable[[], tuple[Any, ...]], ...] = (
        loaders.seed_units,
        loaders.kind_habits,
        loaders.kind_names,
        loaders.constants_for_kind,
    )
    for load in tables:
        assert {row.slug for row in load()} <= canonical_slugs()


def test_slugs_are_unique_and_clean() -> None:
    slugs = [row.slug for row in loaders.kinds()]
    assert len(slugs) == len(set(slugs)) >= 90
    assert all(slug == slugify(slug) for slug in slugs)


@pytest.mark.parametrize("table", KIND_TABLES)
def test_rows_serve_each_canonical_kind_only_with_the_same_genus_or_a_stated_stand_in(
    table: str,
) -> None:
    botanical = {row.slug: row.botanical.split()[0] for row in loaders.kinds()}
    for slug in canonical_slugs():
        for match in matches(LOADERS[table], slug):
            genus = getattr(match.row, "botanical", "")
            if match.basis is Basis.STAND_IN:
                assert match.note.startswith("stand-in: ")
            elif genus:
                assert botanical[slug] in genus, (table, slug, genus)


def test_every_kind_printed_in_the_main_tables_has_its_own_row_there() -> None:
    tables: tuple[Callable[[], tuple[Any, ...]], ...] = (
        loaders.reproduction,
        loaders.sowing,
        loaders.seed_weight,
    )
    for load in tables:
        named = {row.kind for row in load()}
        reached = {
            match.name
            for slug in canonical_slugs()
            for match in nearest(load, slug)
            if match.basis is Basis.OWN
        }
        skipped = {name for table, name in LEFT_OUT_IN_ONE_TABLE if table == load.__name__}
        assert named - reached == skipped


def test_an_amendment_changes_a_printed_cell_and_says_why() -> None:
    for fix in all_amendments():
        rows = [row for row in read_table(fix.table) if next(iter(row.values())) == fix.key]
        held = {row[fix.column] if fix.column else row["source"] for row in rows}
        assert any(fix.printed == cell if fix.column else fix.printed in cell for cell in held), fix
        assert fix.column == "" or fix.used != fix.printed or fix.reason or fix.source.text
        used = [row for row in LOADERS[fix.table]() if row[0] == fix.key]
        if fix.column:
            assert any(str(getattr(row, fix.column) or "") in _forms(fix.used) for row in used), fix
        else:
            assert any(row.source == fix.source for row in used), fix


def _forms(cell: str) -> set[str]:
    """A cell as text, and as a float prints it."""
    try:
        return {cell, str(float(cell))}
    except ValueError:
        return {cell}


@pytest.mark.parametrize(
    ("word", "slug"),
    [
        ("courgette", "squash-pepo"),
        ("Zucchini", "squash-pepo"),
        ("sweetcorn", "sweet-corn"),
        ("chili", "pepper"),
        ("French beans", "common-bean"),
        ("green bean", "common-bean"),
        ("bell peppers", "pepper"),
        ("Phaseolus vulgaris", "common-bean"),
        ("snow peas", "pea"),
        ("sweet peas", "sweet-pea"),
        ("Möhre", "carrot"),
        ("mohre", "carrot"),
        ("épinard", "spinach"),
        ("chirivía", "parsnip"),
        ("Rote Bete", "beet"),
        ("melanzana", "aubergine"),
        ("wortel", "carrot"),
        ("zucchini", "squash-pepo"),
        ("scallions", "welsh-onion"),
        ("onion (spring)", "welsh-onion"),
        ("silverbeet", "chard"),
        ("bush beans", "common-bean"),
        ("Hamburg parsley", "parsley"),
        ("tatsoi", "pak-choi"),
        ("Lycopersicon esculentum", "tomato"),
    ],
)
def test_an_everyday_name_in_any_language_or_the_latin_one_means_its_kind(
    word: str, slug: str
) -> None:
    assert kinds_meant(word) == {slug}


@pytest.mark.parametrize(
    ("name", "variety", "notes", "slug"),
    [
        ("onion", "White bunching", "", "welsh-onion"),
        ("Onions", "Spring, green", "", "welsh-onion"),
        ("onion", "Red Globe", "a bunching onion", "welsh-onion"),
        ("onion", "Red Globe", "sown in spring", None),
        ("onion", "Springtime", "", None),
        ("bean", "Runner, tall", "", "runner-bean"),
        ("bean", "Tall", "", None),
        ("pea", "Sweet green", "", None),
        ("carrot", "Spring", "", None),
    ],
)
def test_a_word_of_the_variety_or_the_notes_may_make_another_kind_of_a_name(
    name: str, variety: str, notes: str, slug: str | None
) -> None:
    assert kind_by_variety(name, variety, notes) == slug


def test_a_name_of_several_kinds_means_them_all_and_no_name_none() -> None:
    assert kinds_meant("Kürbis") == {"squash-pepo", "squash-maxima", "squash-moschata"}
    assert kinds_meant("Beta vulgaris") == {"beet", "chard"}
    assert kinds_meant("tractor") == frozenset()


@pytest.mark.parametrize(
    "word", ["snow peaz", "sugar peaa", "sweat corn", "swet peper", "gren peas"]
)
def test_no_poisonous_kind_is_proposed_for_an_edible_one(word: str) -> None:
    poisonous = {kind.slug for kind in loaders.kinds() if kind.poisonous}
    assert kinds_near(word)
    assert not poisonous & set(kinds_near(word))


def test_a_poisonous_kind_is_proposed_for_its_own_name_misspelt() -> None:
    assert kinds_near("foxglov") == ("foxglove",)


def test_a_search_as_it_is_typed_finds_kinds_by_any_of_their_names() -> None:
    assert "squash-pepo" in kinds_beginning("cour")
    assert kinds_beginning("snow") == {"pea"}
    assert kinds_beginning("zu") == frozenset()  # too short to say anything
    assert "sweet-pea" not in kinds_beginning("mangetouts")


def test_everyday_names_are_in_six_languages_and_latin_ones_of_before_in_latin() -> None:
    languages = {row.language for row in loaders.kind_names()}
    assert languages == {"en", "de", "fr", "es", "it", "nl", "la"}


@pytest.mark.parametrize(
    ("word", "slug"),
    [
        ("Tomaten", "tomato"),
        ("Möhren", "carrot"),
        ("haricots verts", "common-bean"),
        ("judías verdes", "common-bean"),
        ("pomodori", "tomato"),
        ("radijzen", "radish"),
        ("tomaten", "tomato"),
        ("P. vulgaris", "common-bean"),
        ("Phaseolus vulgaris L.", "common-bean"),
        ("Brassica oleracea var. gongylodes", "kohlrabi"),
    ],
)
def test_plurals_and_botanical_names_with_their_authors_mean_their_kind(
    word: str, slug: str
) -> None:
    assert kinds_meant(word) == {slug}


def test_a_short_plural_that_is_another_plant_elsewhere_means_nothing() -> None:
    assert kinds_meant("rape") == frozenset()
