from tests.api.conftest import Hand


def test_a_misspelt_query_parameter_is_refused_with_the_right_name(hand: Hand) -> None:
    answer = hand.get("/lots?vareity=3")
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    (error,) = answer.json()["errors"]
    assert error == {"field": "vareity", "value": "3", "mend": "Did you mean variety?"}


def test_an_address_without_query_parameters_says_so(hand: Hand) -> None:
    code = hand.lot()
    answer = hand.get(f"/lots/{code}?x=1")
    assert answer.status_code == 422
    assert "no query parameters" in answer.json()["errors"][0]["mend"]


def test_every_known_name_is_still_taken(hand: Hand) -> None:
    for path in ("/lots?limit=5&verdict=sow-as-usual", "/verdicts?other_keepers=none"):
        assert hand.get(path).status_code == 200
    assert hand.get("/seed-to-save?other_keepers=none&other_keepers=few").status_code == 200


def test_a_nul_character_in_an_address_is_refused_by_every_database(hand: Hand) -> None:
    for path in ("/kinds/%00", "/lots?q=a%00b", "/varieties?kind=%00"):
        answer = hand.get(path)
        assert answer.status_code == 422
        assert "NUL" in answer.json()["errors"][0]["mend"]


def test_a_single_value_given_twice_is_refused_rather_than_halved(hand: Hand) -> None:
    answer = hand.get("/lots?kind=beet&kind=carrot")
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["field"] == "kind"
    assert error["value"] == "beet, carrot"
