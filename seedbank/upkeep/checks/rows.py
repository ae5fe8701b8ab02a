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
        claim="no more seeds are judged in a replicate than were set",
        things="replicates",
        of="replicate",
        breaking=f"SELECT * FROM ({_REPLICATES}) AS totals WHERE judged > seeds_set",
        sentence="Test {test_id}, replicate {number}: {judged} seeds are judged, {seeds_set} "
        "were set.",
    ),
    Rule(
        claim="every seed of a finished test is judged",
        things="replicates",
        of="replicate",
        breaking=f"SELECT * FROM ({_REPLICATES}) AS totals "
        "WHERE finished_on IS NOT NULL AND judged < seeds_set",
        sentence="Test {test_id} is finished, but in replicate {number} only {judged} of "
        "{seeds_set} seeds are judged.",
    ),
    Rule(
        claim="what a finished test says of its seeds is what was counted",
        things="tests",
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
        sentence="Test {id} says {normal_seeds} normal and {viable_seeds} viable of "
        "{judged_seeds}; {normal} and {viable} of {judged} were counted.",
    ),
    Rule(
        claim="of each day's counts the last correction stands, and it alone",
        things="counts",
        of="germination_count",
        breaking="SELECT replicate_id, on_date, sum(CASE WHEN current THEN 1 ELSE 0 END) AS stand "
        "FROM germination_count GROUP BY replicate_id, on_date "
        "HAVING sum(CASE WHEN current THEN 1 ELSE 0 END) <> 1 "
        "OR max(revision) <> max(CASE WHEN current THEN revision ELSE 0 END)",
        sentence="Replicate id {replicate_id}, {on_date}: {stand} counts stand, or not the last.",
    ),
)

_SOWINGS = (
    Rule(
        claim="no more seeds came up or were lost than were sown",
        things="sowings",
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
        sentence="Sowing {id}: {up} came up, {lost} were lost before and {eaten} after, but "
        "{seeds_sown} were sown.",
    ),
)


def _taken(table: str, reason: str, used: str) -> Rule:
    name = "test" if reason == "tested" else "sowing"
    return Rule(
        claim=f"the seed of each {name} left its own lot, and as much of it",
        things=f"{name}s",
        of=table,
        breaking=f"""
            SELECT x.id, x.movement_id, m.seeds, m.reason, {used} AS used, l.code
            FROM {table} x JOIN movement m ON m.id = x.movement_id
            LEFT JOIN lot l ON l.id = x.lot_id
            WHERE m.lot_id <> x.lot_id OR m.reason <> '{reason}' OR m.seeds <> -({used})
        """,
        sentence=name.capitalize() + " {id} of lot {code} used {used} seeds; its movement (id "
        "{movement_id}) books {seeds} as {reason}, or of another lot.",
    )


_SEED_TAKEN = (
    _taken("sowing", "sown", "x.seeds_sown"),
    _taken(
        "germination_test",
        "tested",
        "(SELECT coalesce(sum(r.seeds_set), 0) FROM replicate r WHERE r.test_id = x.id)",
    ),
)

_LOTS = (
    Rule(
        claim="each lot's harvest is of one year, and an error goes with a weight",
        things="lots",
        of="lot",
        breaking="""
            SELECT id, code FROM lot
            WHERE CAST(substr(CAST(harvest_date AS TEXT), 1, 4) AS INTEGER) <> harvest_year
            OR (thousand_seed_weight_g IS NULL AND thousand_seed_weight_se_g IS NOT NULL)
        """,
        sentence="Lot {code} was harvested in two years, or its weight has an error and no value.",
    ),
    Rule(
        claim="no lot came here before it was harvested",
        things="lots",
        of="lot",
        breaking="""
            SELECT id, code, acquired_on, coalesce(CAST(harvest_date AS TEXT),
                CAST(harvest_year AS TEXT)) AS harvested FROM lot
            WHERE acquired_on < harvest_date OR (harvest_date IS NULL AND NOT harvest_estimated
                AND CAST(substr(CAST(acquired_on AS TEXT), 1, 4) AS INTEGER) < harvest_year)
        """,
        sentence="Lot {code} came here on {acquired_on} and was harvested later, {harvested}.",
    ),
)

_REQUESTS = (
    Rule(
        claim="every answer kept for a repeated request is whole",
        things="answers",
        of="answered_request",
        # A page answers with 303 and where to look.
        breaking="SELECT key, status FROM answered_request WHERE NOT (status BETWEEN 200 AND 299 "
        "OR status = 303 AND location <> '') OR length(fingerprint) <> 64 OR key = ''",
        sentence="The answer kept under the key {key!r} is not whole (status {status}).",
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
            faults.append(f"Lot id {lot_id} has the code {code!r}, which no label can be read as.")
            del faults[FAULTS_TOLD:]
    return Proof(
        "every lot's code is right by its check character", number, "lots", tuple(faults), broken
    )


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
    faults = tuple(
        f"Lot id {lot_id} descends from itself, or from a lot that does."
        for lot_id in sorted(left)[:FAULTS_TOLD]
    )
    return Proof("no lot descends from itself", number, "parents", faults, len(left))


_RUNNING = """
    SELECT m.*, l.code,
        coalesce(sum(m.seeds) OVER (PARTITION BY m.lot_id ORDER BY m.serial, m.id), 0) AS summed,
        row_number() OVER (PARTITION BY m.lot_id ORDER BY m.serial, m.id) AS place
    FROM movement m LEFT JOIN lot l ON l.id = m.lot_id
"""


_LEDGER = (
    Rule(
        claim="every balance is the sum of the lot's movements up to it",
        things="movements",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running WHERE summed <> balance_seeds",
        sentence="Lot {code}, movement {serial} (id {id}) says {balance_seeds} seeds are left; "
        "the movements add up to {summed}.",
    ),
    Rule(
        claim="an amount isn't known while uncounted seed is there, and is known else",
        things="movements",
        of="movement",
        breaking=_MISTOLD,
        sentence="Lot {code}, movement {serial} (id {id}) says what is left is {told}, which "
        "doesn't follow from what came in and was counted.",
    ),
    Rule(
        claim="each lot's movements are numbered 1, 2, 3 and so on, none missing",
        things="movements",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running WHERE serial <> place",
        sentence="Lot {code}: its movement in place {place} (id {id}) bears the number {serial}.",
    ),
    Rule(
        claim="no lot ever held less than nothing",
        things="movements",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running "
        "WHERE (balance_seeds IS NOT NULL AND summed < 0) OR balance_seeds < 0",
        sentence="Lot {code} falls to {summed} seeds with its movement {serial} (id {id}).",
    ),
    Rule(
        claim="seed acquired or harvested comes in, seed used goes out",
        things="movements",
        of="movement",
        breaking="SELECT m.*, l.code FROM movement m LEFT JOIN lot l ON l.id = m.lot_id WHERE "
        "(m.reason IN ('acquired', 'harvested') AND m.seeds <= 0) "
        "OR (m.reason IN ('tested', 'sown', 'given', 'discarded') AND m.seeds >= 0)",
        sentence="Lot {code}, movement {serial} (id {id}): {seeds} seeds are booked as {reason}.",
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
        claim="each undoing undoes an earlier movement of its own lot",
        things="undoings",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking=f"SELECT * FROM ({_UNDOING}) AS undoing WHERE undone IS NULL "
        "OR other_lot <> lot OR other_serial >= serial OR undoes_too IS NOT NULL "
        "OR reason <> 'stock-take'",
        sentence="Lot {code}, movement {serial} (id {id}) undoes movement id {reverses_id}, which "
        "isn't an earlier movement of that lot that can be undone.",
    ),
    Rule(
        claim="each undoing cancels the seeds of what it undoes",
        things="undoings",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking=f"SELECT * FROM ({_UNDOING}) AS undoing "
        "WHERE coalesce(seeds, 0) <> -coalesce(other_seeds, 0) "
        "OR (seeds IS NULL) <> (other_seeds IS NULL)",
        sentence="Lot {code}, movement {serial} (id {id}) moves {seeds} seeds to undo a movement "
        "of {other_seeds} seeds.",
    ),
    Rule(
        claim="no movement is undone twice",
        things="undoings",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking="SELECT reverses_id, count(*) AS times FROM movement "
        "WHERE reverses_id IS NOT NULL GROUP BY reverses_id HAVING count(*) > 1",
        sentence="The movement with id {reverses_id} is undone {times} times.",
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
            Proof(
                f"each {table} is found by its words as they are",
                count_rows(connection, text(table)),
                f"rows of {table}",
            ),
            breaking=text(
                "SELECT DISTINCT doc, named FROM (SELECT * FROM temp.kept UNION ALL "
                "SELECT * FROM temp.again) LEFT JOIN "
                f"(SELECT id, {_NAMED[table]} AS named FROM {table}) ON id = doc "
                "GROUP BY term, doc, col, offset HAVING count(*) <> 2"
            ),
            sentence="{table} {doc} ({named}) isn't found by its words as they are: drop the table "
            "{table}_words and start seedbank, which makes it anew.",
            shown={"table": table},
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
