"""Proofs about rows: the ledger, what was counted, lots' lines, and the index of words.

SQLite's own check of that index (FTS5's ``integrity-check``) counts as a write, which a backup
that is only read, or a collection that others write to, can't have. So the texts are indexed a
second time in a temporary table, and the two compared letters by letters. PostgreSQL guards its
own indexes.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, select, text
from sqlmodel import col

from seedbank.common.errors import MisreadCode
from seedbank.database import word_index
from seedbank.lots.tables.ledger import _MISTOLD
from seedbank.lots.tables.lot_codes import normalise_code
from seedbank.lots.tables.lots import Lot, LotParent
from seedbank.science.germination.germination import VIABLE, SeedClass
from seedbank.science.quantities import Finding
from seedbank.upkeep.checks.proofs import FAULTS_TOLD, Proof, Rule, count_rows, prove

_JUDGED = " + ".join(f"c.{one}" for one in SeedClass)
_VIABLE = " + ".join(f"c.{one}" for one in VIABLE)
_REPLICATES = f"""
    SELECT r.id, r.test_id, r.number, r.seeds_set, t.finished_on,
        coalesce(sum({_JUDGED}), 0) AS judged,
        coalesce(sum(c.normal), 0) AS normal,
        coalesce(sum({_VIABLE}), 0) AS viable
    FROM replicate r
    LEFT JOIN germination_count c ON c.replicate_id = r.id AND c.current
    LEFT JOIN germination_test t ON t.id = r.test_id
    GROUP BY r.id, r.test_id, r.number, r.seeds_set, t.finished_on
"""

_TESTS = (
    Rule(
        code="check-judged-over-set",
        of="replicate",
        breaking=f"SELECT * FROM ({_REPLICATES}) AS totals WHERE judged > seeds_set",
    ),
    Rule(
        code="check-finished-unjudged",
        of="replicate",
        breaking=f"SELECT * FROM ({_REPLICATES}) AS totals "
        "WHERE finished_on IS NOT NULL AND judged < seeds_set",
    ),
    Rule(
        code="check-test-totals",
        of="germination_test",
        breaking=f"""
            SELECT t.id, t.judged_seeds, t.normal_seeds, t.viable_seeds,
                sum(s.judged) AS judged, sum(s.normal) AS normal, sum(s.viable) AS viable
            FROM germination_test t LEFT JOIN ({_REPLICATES}) AS s ON s.test_id = t.id
            WHERE t.finished_on IS NOT NULL
            GROUP BY t.id, t.judged_seeds, t.normal_seeds, t.viable_seeds
            HAVING coalesce(sum(s.judged), -1) <> coalesce(t.judged_seeds, -2)
                OR coalesce(sum(s.normal), -1) <> coalesce(t.normal_seeds, -2)
                OR coalesce(sum(s.viable), -1) <> coalesce(t.viable_seeds, -2)
        """,
    ),
    Rule(
        code="check-count-stands",
        of="germination_count",
        breaking="SELECT replicate_id, on_date, sum(CASE WHEN current THEN 1 ELSE 0 END) AS stand "
        "FROM germination_count GROUP BY replicate_id, on_date "
        "HAVING sum(CASE WHEN current THEN 1 ELSE 0 END) <> 1 "
        "OR max(revision) <> max(CASE WHEN current THEN revision ELSE 0 END)",
    ),
)

_SOWINGS = (
    Rule(
        code="check-emerged-over-sown",
        of="sowing",
        breaking="""
            SELECT * FROM (
                SELECT s.id, s.seeds_sown,
                    coalesce((SELECT e.units_emerged FROM emergence e WHERE e.sowing_id = s.id
                        ORDER BY e.on_date DESC LIMIT 1), 0) AS up,
                    coalesce((SELECT sum(l.units_lost) FROM sowing_loss l
                        WHERE l.sowing_id = s.id AND NOT l.after_emergence), 0) AS lost,
                    coalesce((SELECT sum(l.units_lost) FROM sowing_loss l
                        WHERE l.sowing_id = s.id AND l.after_emergence), 0) AS eaten
                FROM sowing s) AS outcome
            WHERE up + lost > seeds_sown OR eaten + lost > seeds_sown
        """,
    ),
)


def _taken(code: str, table: str, reason: str, used: str) -> Rule:
    return Rule(
        code=code,
        of=table,
        breaking=f"""
            SELECT x.id, x.movement_id, m.seeds, m.reason, {used} AS used, l.code
            FROM {table} x JOIN movement m ON m.id = x.movement_id
            LEFT JOIN lot l ON l.id = x.lot_id
            WHERE m.lot_id <> x.lot_id OR m.reason <> '{reason}' OR m.seeds <> -({used})
        """,
    )


_SEED_TAKEN = (
    _taken("check-seed-sown", "sowing", "sown", "x.seeds_sown"),
    _taken(
        "check-seed-tested",
        "germination_test",
        "tested",
        "(SELECT coalesce(sum(r.seeds_set), 0) FROM replicate r WHERE r.test_id = x.id)",
    ),
)

_LOTS = (
    Rule(
        code="check-harvest-year",
        of="lot",
        breaking="""
            SELECT id, code FROM lot
            WHERE CAST(substr(CAST(harvest_date AS TEXT), 1, 4) AS INTEGER) <> harvest_year
            OR (thousand_seed_weight_g IS NULL AND thousand_seed_weight_se_g IS NOT NULL)
        """,
    ),
    Rule(
        code="check-came-after-harvest",
        of="lot",
        breaking="""
            SELECT id, code, acquired_on, coalesce(CAST(harvest_date AS TEXT),
                CAST(harvest_year AS TEXT)) AS harvested FROM lot
            WHERE acquired_on < harvest_date OR (harvest_date IS NULL AND NOT harvest_estimated
                AND CAST(substr(CAST(acquired_on AS TEXT), 1, 4) AS INTEGER) < harvest_year)
        """,
    ),
)

_REQUESTS = (
    Rule(
        code="check-answer-whole",
        of="answered_request",
        # A page answers with 303 and where to look.
        breaking="SELECT key, status FROM answered_request WHERE NOT (status BETWEEN 200 AND 299 "
        "OR status = 303 AND location <> '') OR length(fingerprint) <> 64 OR key = ''",
    ),
)


def check_counts(connection: Connection) -> list[Proof]:
    """What must hold of tests, sowings, the seed they took, and answers kept."""
    rules = (*_LOTS, *_TESTS, *_SOWINGS, *_SEED_TAKEN, *_REQUESTS)
    return [rule.prove(connection) for rule in rules]


def check_lots(connection: Connection) -> list[Proof]:
    """That lots can be found by their codes, and none descends from itself."""
    return [_codes(connection), _lines(connection)]


def _codes(connection: Connection) -> Proof:
    number, faults, broken = 0, [], 0
    query = select(col(Lot.id), col(Lot.code)).order_by(col(Lot.id))
    for lot_id, code in connection.execute(query, execution_options={"yield_per": 1000}):
        number += 1
        if not _readable(code):
            broken += 1
            if broken <= FAULTS_TOLD:
                faults.append(Finding("check-lot-code", {"id": lot_id, "code": code}))
    return Proof("check-lot-code", number, {}, tuple(faults), broken)


def _readable(code: str) -> bool:
    try:
        return normalise_code(code) == code
    except MisreadCode:
        return False


def _lines(connection: Connection) -> Proof:
    """Takes away lots whose parents are all taken away already; what is left goes in circles."""
    left: dict[int, set[int]] = {}
    children: dict[int, list[int]] = {}
    query = select(col(LotParent.lot_id), col(LotParent.parent_id))
    for lot_id, parent_id in connection.execute(query, execution_options={"yield_per": 1000}):
        left.setdefault(lot_id, set()).add(parent_id)
        children.setdefault(parent_id, []).append(lot_id)
    number = sum(len(parents) for parents in left.values())
    ready = [lot_id for lot_id in children if lot_id not in left]
    while ready:
        parent = ready.pop()
        for child in children.get(parent, ()):
            left[child].discard(parent)
            if not left[child]:
                del left[child]
                ready.append(child)
    shown = sorted(left)[:FAULTS_TOLD]
    faults = tuple(Finding("check-descent", {"id": lot_id}) for lot_id in shown)
    return Proof("check-descent", number, {}, faults, len(left))


_RUNNING = """
    SELECT m.*, l.code,
        coalesce(sum(m.seeds) OVER (PARTITION BY m.lot_id ORDER BY m.serial, m.id), 0) AS summed,
        row_number() OVER (PARTITION BY m.lot_id ORDER BY m.serial, m.id) AS place
    FROM movement m LEFT JOIN lot l ON l.id = m.lot_id
"""


_LEDGER = (
    Rule(
        code="check-balance",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running WHERE summed <> balance_seeds",
    ),
    Rule(
        code="check-balance-known",
        of="movement",
        breaking=_MISTOLD,
    ),
    Rule(
        code="check-movements-numbered",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running WHERE serial <> place",
    ),
    Rule(
        code="check-never-below-nothing",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running "
        "WHERE (balance_seeds IS NOT NULL AND summed < 0) OR balance_seeds < 0",
    ),
    Rule(
        code="check-seed-direction",
        of="movement",
        breaking="SELECT m.*, l.code FROM movement m LEFT JOIN lot l ON l.id = m.lot_id WHERE "
        "(m.reason IN ('acquired', 'harvested') AND m.seeds <= 0) "
        "OR (m.reason IN ('tested', 'sown', 'given', 'discarded') AND m.seeds >= 0)",
    ),
)

_UNDOING = """
    SELECT u.id, u.lot_id, u.serial, u.seeds, u.reason, u.reverses_id, l.code, u.lot_id AS lot,
        o.id AS undone, o.lot_id AS other_lot, o.serial AS other_serial,
        o.seeds AS other_seeds, o.reverses_id AS undoes_too
    FROM movement u
    LEFT JOIN movement o ON o.id = u.reverses_id
    LEFT JOIN lot l ON l.id = u.lot_id
    WHERE u.reverses_id IS NOT NULL
"""

_UNDOINGS = (
    Rule(
        code="check-undoing-earlier",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking=f"SELECT * FROM ({_UNDOING}) AS undoing WHERE undone IS NULL "
        "OR other_lot <> lot OR other_serial >= serial OR undoes_too IS NOT NULL "
        "OR reason <> 'stock-take'",
    ),
    Rule(
        code="check-undoing-cancels",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking=f"SELECT * FROM ({_UNDOING}) AS undoing "
        "WHERE coalesce(seeds, 0) <> -coalesce(other_seeds, 0) "
        "OR (seeds IS NULL) <> (other_seeds IS NULL)",
    ),
    Rule(
        code="check-undone-once",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking="SELECT reverses_id, count(*) AS times FROM movement "
        "WHERE reverses_id IS NOT NULL GROUP BY reverses_id HAVING count(*) > 1",
    ),
)


def check_ledger(connection: Connection) -> list[Proof]:
    """What must hold of every movement. The database does the sums, in its own bounded memory."""
    return [rule.prove(connection) for rule in (*_LEDGER, *_UNDOINGS)]


_NAMED = {"lot": "code", "variety": "name"}


def check_words(connection: Connection) -> list[Proof]:
    """That each index holds all words of its rows and no others; nothing where there are none."""
    if connection.dialect.name != "sqlite" or not word_index.is_there(connection):
        return []
    return [_agrees(connection, table) for table in word_index.INDEXED]


def _agrees(connection: Connection, table: str) -> Proof:
    with _indexed_again(connection, table):
        return prove(
            connection,
            Proof("check-words", count_rows(connection, text(table)), {"table": table}),
            text(
                "SELECT DISTINCT doc, named FROM (SELECT * FROM temp.kept UNION ALL "
                "SELECT * FROM temp.again) LEFT JOIN "
                f"(SELECT id, {_NAMED[table]} AS named FROM {table}) ON id = doc "
                "GROUP BY term, doc, col, offset HAVING count(*) <> 2"
            ),
        )


@contextmanager
def _indexed_again(connection: Connection, table: str) -> Iterator[None]:
    """Every three letters of the index of ``table``, as kept and as made again."""
    names = ", ".join(word_index.INDEXED[table])
    reads_only = connection.exec_driver_sql("PRAGMA query_only").scalar()
    # What is temporary is no part of the collection, and no writer waits for it.
    connection.exec_driver_sql("PRAGMA query_only = 0")
    try:
        for statement in (
            f"CREATE VIRTUAL TABLE temp.anew USING fts5({names}, content='', tokenize='trigram')",
            f"INSERT INTO temp.anew (rowid, {names}) SELECT id, {names} FROM main.{table}",
            "CREATE VIRTUAL TABLE temp.again USING fts5vocab('temp', 'anew', 'instance')",
            f"CREATE VIRTUAL TABLE temp.kept USING fts5vocab('main', '{table}_words', 'instance')",
        ):
            connection.exec_driver_sql(statement)
        yield
    finally:
        for name in ("kept", "again", "anew"):
            connection.exec_driver_sql(f"DROP TABLE IF EXISTS temp.{name}")
        connection.exec_driver_sql(f"PRAGMA query_only = {reads_only}")
