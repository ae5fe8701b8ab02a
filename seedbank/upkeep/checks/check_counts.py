"""Proofs about what was counted: tests, sowings, seed that left the lot for them, lots' lines."""

from sqlalchemy import Connection, select
from sqlmodel import col

from seedbank.common.faults import MisreadCode
from seedbank.lots.tables.lot_codes import normalise_code
from seedbank.lots.tables.lots import Lot, LotParent
from seedbank.upkeep.checks.proofs import FAULTS_TOLD, Proof, Rule

_JUDGED = "c.normal + c.abnormal + c.hard + c.fresh + c.dead"
_REPLICATES = f"""
    SELECT r.id, r.test_id, r.number, r.seeds_set, t.finished_on,
        coalesce(sum({_JUDGED}), 0) AS judged,
        coalesce(sum(c.normal), 0) AS normal,
        coalesce(sum(c.normal + c.hard + c.fresh), 0) AS viable
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
    rules = (*_TESTS, *_SOWINGS, *_SEED_TAKEN, *_REQUESTS)
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
