"""However a request is mangled it is answered as documented, in words a gardener can act on."""

import copy
import json
import random
from pathlib import Path
from typing import Any

import pytest

from tests.api.conftest import Hand
from tests.sizes import sized

DOCUMENT = Path(__file__).parents[2] / "api_docs/openapi.json"  # as kept, so as served
ODD: list[Any] = [
    None, 0, -1, 1, 2.5, 1e308, 10**20, 2**31, True, "", " ", "é" * 50, "x" * 5000, "\0", "%", "\n",
    "2027-02-01", "0000-00-00", "9999-12-31", [], {}, [1], [None], {"seeds": 1}, {"grams": 1e-9},
]  # fmt: skip
DAYS = ("started_on", "finished_on", "sown_on", "on_date", "first_count_due", "final_count_due")


def mangled(dice: random.Random, part: Any) -> Any:
    """A copy of a JSON value with some of it lost, odd or repeated."""
    if isinstance(part, dict):
        kept = {name: value for name, value in part.items() if dice.random() > 0.06}
        return {
            name: dice.choice(ODD) if dice.random() < 0.12 else mangled(dice, value)
            for name, value in kept.items()
        }
    if isinstance(part, list):
        return [mangled(dice, item) for item in part] * dice.choice([1, 1, 1, 2, 0])
    return part


def asked(dice: random.Random, operation: dict[str, Any], codes: list[str]) -> str | None:
    """The body of a request made from the operation's own example; None for none."""
    if "requestBody" not in operation:
        return None
    content = operation["requestBody"]["content"]["application/json"]
    example = mangled(dice, copy.deepcopy(content["examples"]["worked"]["value"]))
    if "lot" in example and dice.random() < 0.8:
        example["lot"] = dice.choice(codes)
    for day in DAYS:
        if day in example and dice.random() < 0.7:
            example[day] = f"2027-02-{dice.randint(1, 28):02}"
    return json.dumps(example)


@pytest.mark.parametrize("seed", range(sized(2, 4)))
def test_a_mangled_request_is_answered_as_documented(hand: Hand, seed: int) -> None:
    dice = random.Random(seed)
    codes = [hand.lot(1000) for _ in range(2)]
    hand.made("/places", {"name": "Shed"})
    document = json.loads(DOCUMENT.read_text("utf-8"))
    operations = [
        (method, path, operation)
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    ]
    answered: set[int] = set()
    for number in range(250):
        method, path, operation = dice.choice(operations)
        address = (
            path.replace("{code}", dice.choice([*codes, "zz", "00000"]))
            .replace("{id}", dice.choice(["1", "2", "7", "0", "x"]))
            .replace("{serial}", dice.choice("123"))
            .replace("{slug}", dice.choice(["carrot", "sea-beet", "conflict", "%00"]))
            .replace("{name}", dice.choice(["depth_cm", "half_viability_years", "x"]))
        )
        response = hand.client.request(
            method.upper(),
            address,
            content=asked(dice, operation, codes),
            headers={
                "Idempotency-Key": f"{seed}-{number}",
                "If-Match": "*",
                "Content-Type": "application/json",
            },
        )
        where = f"{method} {address}: {response.text[:300]}"
        assert response.status_code < 500, where
        assert str(response.status_code) in operation["responses"], where
        if response.status_code >= 400:
            mends = [fault["mend"] for fault in response.json()["errors"]]
            assert all(mend and "Input should" not in mend for mend in mends), where
        answered.add(response.status_code)
    assert {200, 201, 404, 422} <= answered
