"""What `thenar calc declaration` promises at its door."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main
from thenar.knowledge import load

LABEL = (
    "Ingredients: Aqua/Eau, Parfum, DMDM Hydantoin, Methylchloroisothiazolinon, Glycerin 3% [+/- CI 77891]"
)


def calc(given, *options):
    return CliRunner().invoke(main, ["calc", "declaration", *options], input=json.dumps(given))


def answer(text=LABEL, **other):
    result = calc({"text": text, **other})
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def by_name(found):
    return {one["written"]: one for one in found["ingredients"]}


def test_it_reads_the_ingredients_in_order_with_their_place_in_the_text():
    found = answer()
    assert [one["position"] for one in found["ingredients"]] == [1, 2, 3, 4, 5, 6]
    for one in found["ingredients"]:
        assert LABEL[one["start"] : one["end"]].startswith(one["written"][:5])
    assert by_name(found)["Aqua/Eau"]["names"] == ["aqua/eau", "aqua", "eau"]
    assert by_name(found)["CI 77891"]["may_contain"] is True
    assert found["list_kind"] == "full ingredient list"


def test_it_names_the_allergens_with_how_each_is_known_and_its_source():
    found = answer()
    assert found["allergens"] == ["dmdm_hydantoin"]
    [match] = by_name(found)["DMDM Hydantoin"]["allergens"]
    known = load().allergens.allergens["dmdm_hydantoin"].identity
    assert (match["entry"], match["known_as"]) == ("allergen.dmdm_hydantoin", known.known_as.value)
    assert "allergen.dmdm_hydantoin" in [one["rule"] for one in found["sources"]]
    assert found["edition"] == load().edition


def test_a_collective_name_says_that_it_may_hide_others():
    hidden = {one["entry"]: one for one in by_name(answer())["Parfum"]["may_hide"]}["umbrella.parfum"]
    assert "fragrance" in " ".join(hidden["groups"])
    assert hidden["known_as"]


def test_where_a_comma_may_be_lost_an_allergen_may_be_named_and_no_more():
    found = answer("Aqua, Moonwater Propylparaben, DMDM Hydantoin")
    matches = [match for one in found["ingredients"] for match in one["allergens"]]
    assert {match["allergen"]: match["certainty"] for match in matches} == {
        "propylparaben": "may name",
        "dmdm_hydantoin": "names",
    }
    assert found["allergens"] == ["dmdm_hydantoin"]


def test_a_near_miss_is_suggested_and_is_no_match():
    found = answer()
    one = by_name(found)["Methylchloroisothiazolinon"]
    assert one["allergens"] == []
    assert one["suggestions"][0]["allergens"] == ["methylchloroisothiazolinone"]
    assert "methylchloroisothiazolinone" not in found["allergens"]


def test_what_could_not_be_read_is_said_with_its_place():
    found = answer("Aqua, \ufffd\ufffd\ufffd, Glycerin")
    assert [one["text"] for one in found["unread"]] == ["\ufffd\ufffd\ufffd"]
    assert found["unread"][0]["says"]


def test_an_empty_text_is_a_list_of_nothing_and_says_so():
    found = answer("  ")
    assert found["list_kind"] == "nothing declared"
    assert "Nothing could be read" in found["unread"][0]["says"]


FAULTS = {
    "a text left out": ({}, "text: is missing."),
    "an unknown kind of list": ({"text": "Aqua", "list_kind": "hearsay"}, "list_kind: "),
    "a text that is a number": ({"text": 5}, "text: must be text, not 5."),
    "an unknown field": ({"text": "Aqua", "brand": "x"}, "brand: is not a known field."),
    "a text longer than any label": ({"text": "Aqua, " * 40_000}, "text: "),
}


@pytest.mark.parametrize(("given", "says"), FAULTS.values(), ids=FAULTS)
def test_it_names_the_field_of(given, says):
    result = calc(given)
    assert result.exit_code == 2
    assert says in result.stderr
    assert len(result.stderr.splitlines()) == 3
