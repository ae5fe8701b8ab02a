"""The house's shape, read from its source: who imports whom, who commits, who reads the clock."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[1] / "seedbank"
MODULES = sorted(HOUSE.rglob("*.py"))
LONGEST_MODULE = 300
LONGEST_FUNCTION = 60  # the aim is 40

MAY_IMPORT = {
    "science": {"science"},
    "facts": {"facts", "science"},
    "stock": {"stock", "facts", "science"},
    "service": {"service", "stock", "facts", "science"},
    "wiring": {"service", "settings"},
    "api": {"api", "service", "settings", "wiring"},
    "pages": {"pages", "service", "settings", "wiring"},
    "server": {"server", "api", "pages", "service", "settings", "wiring"},
    "cli": {"cli", "server", "service", "settings"},
}
SCIENCE_OUTSIDE = {
    "collections",
    "dataclasses",
    "enum",
    "functools",
    "itertools",
    "math",
    "numpy",
    "scipy",
    "string",
    "typing",
}
CARRIERS = {"fastapi", "starlette", "uvicorn", "typer", "rich", "click"}
OUTER = {"api", "pages", "server", "cli"}
# The words a request may use and the ways it may be wrong; nothing here reads or writes rows.
VOCABULARY = {
    "seedbank.stock.database_faults": None,  # what ails a database that fails
    "seedbank.stock.errors": None,  # all of it: faults, told as problems or on stderr
    "seedbank.stock.queries": None,  # what a page of rows is, and where the next begins
    "seedbank.stock.access_tokens": {"Holder", "Rights"},
    "seedbank.stock.flowering": {"FloweringFilter"},
    "seedbank.stock.germination_tests": {"Pretreatment", "Substratum", "TestFilter"},
    "seedbank.stock.isolation_gear": {"GearKind"},
    "seedbank.stock.kinds": {"FactName"},
    "seedbank.stock.ledger": {"MovementReason"},
    "seedbank.stock.lot_search": {"LotFilter"},
    "seedbank.stock.lots": {"Isolation", "Origin"},
    "seedbank.stock.plan_pins": {"PlanPinFilter"},
    "seedbank.stock.seed_crops": {"SeedCropFilter"},
    "seedbank.stock.sowings": {"LossCause", "Protection", "SowingFilter", "SowingMethod"},
    "seedbank.stock.varieties": {"Breeding", "OtherKeepers", "VarietyFilter"},
    "seedbank.stock.engine": {"session_factory"},  # for the wiring alone
    "seedbank.science.crossing_risk": {"Purpose"},
    "seedbank.science.crossing_stands": {"StandIs"},
    "seedbank.science.verdict": {"Verdict"},
}
WIRING = {"api/app.py", "cli/collection.py"}
CLOCK_READERS = {"wiring.py", "api/app.py", "cli/collection.py"}


def name_of(path: Path) -> str:
    return path.relative_to(HOUSE).as_posix()


def layer_of(path: Path) -> str:
    return path.relative_to(HOUSE).parts[0].removesuffix(".py")


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"))


@cache
def nodes_of(path: Path) -> list[ast.AST]:
    return list(ast.walk(tree_of(path)))


def in_layer(*layers: str) -> list[Path]:
    return [path for path in MODULES if layer_of(path) in layers]


@cache
def imports(path: Path) -> list[tuple[str, str | None]]:
    """(module, name) of each import; the name is None for a plain ``import module``."""
    found: list[tuple[str, str | None]] = []
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            found += [(alias.name, None) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name_of(path)} imports relatively"
            assert node.module is not None
            found += [whole(node.module, alias.name) for alias in node.names]
    return found


def whole(module: str, name: str) -> tuple[str, str | None]:
    """``from seedbank.stock import errors`` brings in a module, not a name."""
    path = HOUSE.parent / module.replace(".", "/") / name
    if path.is_dir() or path.with_suffix(".py").is_file():
        return f"{module}.{name}", None
    return module, name


def ours(path: Path) -> Iterator[tuple[str, str, str | None]]:
    """(layer, module, name) of each import from our own house."""
    for module, name in imports(path):
        if module.startswith("seedbank."):
            yield module.split(".")[1], module, name


@cache
def calls(path: Path) -> list[str]:
    """Dotted names of everything called, as ``date.today`` or ``session.commit``."""
    return [ast.unparse(node.func) for node in nodes_of(path) if isinstance(node, ast.Call)]


def is_vocabulary(module: str, name: str | None) -> bool:
    if module not in VOCABULARY:
        return False
    names = VOCABULARY[module]
    return names is None or name in names


def test_there_is_a_house_to_look_at() -> None:
    assert {"science", "facts", "stock", "service", "api", "cli"} <= {*map(layer_of, MODULES)}


@pytest.mark.parametrize("path", in_layer(*MAY_IMPORT), ids=name_of)
def test_imports_go_inward_only(path: Path) -> None:
    layer = layer_of(path)
    strays = {
        (module, name)
        for other, module, name in ours(path)
        if other not in MAY_IMPORT[layer] and not (layer in OUTER and is_vocabulary(module, name))
    }
    assert strays == set()


@pytest.mark.parametrize("path", in_layer("science"), ids=name_of)
def test_science_needs_numbers_only(path: Path) -> None:
    outside = {module for module, _ in imports(path) if not module.startswith("seedbank.")}
    assert {module.split(".")[0] for module in outside} <= SCIENCE_OUTSIDE
    randomness = {module for module in outside if module.startswith("numpy.random")}
    assert randomness | {call for call in calls(path) if "random." in call} == set()
    assert {call for call in calls(path) if call in ("open", "print", "input")} == set()


@pytest.mark.parametrize("path", in_layer("science", "facts", "stock", "service"), ids=name_of)
def test_the_inner_house_knows_neither_http_nor_terminals(path: Path) -> None:
    assert {module.split(".")[0] for module, _ in imports(path)} & CARRIERS == set()


def test_only_the_wiring_opens_sessions_outside_the_service() -> None:
    openers = {
        name_of(path)
        for path in in_layer(*OUTER)
        if any(module == "seedbank.stock.engine" for module, _ in imports(path))
    }
    assert openers <= WIRING


def test_one_module_commits() -> None:
    committing = {name_of(p) for p in MODULES if any(c.endswith(".commit") for c in calls(p))}
    assert committing == {"service/transaction.py"}


def test_the_day_and_the_hour_are_handed_in() -> None:
    clocks = ("datetime.now", "datetime.utcnow", "date.today", "time.time", "datetime.today")
    readers = {name_of(path) for path in MODULES if any(call in clocks for call in calls(path))}
    assert readers <= CLOCK_READERS
    assert "wiring.py" in readers  # the search finds what there is to find


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_modules_and_functions_stay_short(path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) < LONGEST_MODULE
    functions = (ast.FunctionDef, ast.AsyncFunctionDef)
    long = {
        node.name: lines
        for node in nodes_of(path)
        if isinstance(node, functions)
        and (lines := (node.end_lineno or node.lineno) - node.lineno + 1) > LONGEST_FUNCTION
    }
    assert long == {}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_a_type_is_set_aside_only_with_its_code_and_a_reason(path: Path) -> None:
    aside = re.findall(r"# type: " + "ignore.*", path.read_text("utf-8"))
    assert [one for one in aside if not re.fullmatch(r"# type: \w+\[[a-z-]+\]  # .+", one)] == []


@pytest.mark.parametrize("path", sorted(HOUSE.rglob("__init__.py")), ids=name_of)
def test_packages_only_name_what_they_hold(path: Path) -> None:
    plain = ast.Import | ast.ImportFrom | ast.Assign | ast.Expr
    assert all(isinstance(node, plain) for node in tree_of(path).body)
