"""What `thenar calc verdict` and `thenar calc gloves` promise at their doors."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main
from thenar.cli.calc import DOORS
from thenar.knowledge import load

FULL = "full ingredient list"
SOAPS = [
    {"product": "S1", "category": "soap", "list_kind": FULL, "text": "Aqua, Quaternium-15, Glycerin"},
    {"product": "S2", "category": "soap", "list_kind": FULL, "text": "Aqua, Glycerin"},
    {"product": "S3", "category": "soap", "list_kind": "nothing declared", "text": ""},
]
FORMALDEHYDE = {"delayed": [{"allergen": "formaldehyde", "strength": "++"}]}
GLOVES = [
    {
        "product": "G1",
        "category": "glove",
        "list_kind": "glove chemicals declared",
        "text": "Tetramethylthiuram Disulfide",
        "glove": {"material": "nitrile", "sterile": False},
    },
    {"product": "G2", "category": "glove", "list_kind": "nothing declared", "text": ""},
    {
        "product": "G3",
        "category": "glove",
        "list_kind": "accelerator-free claim",
        "text": "",
        "glove": {"material": "nitrile", "sterile": True, "sizes": ["7"]},
    },
]
THIURAM = {"delayed": [{"allergen": "thiuram_mix"}]}
TASK = {"tier": "sterile", "contacts": [{"chemical": "moonwater", "minutes": 5}]}


def calc(name, given, *options):
    return CliRunner().invoke(main, ["calc", name, *options], input=json.dumps(given))


def answer(name, given):
    result = calc(name, given)
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def judged(products=SOAPS, allergies=FORMALDEHYDE):
    return {"products": products, "allergies": allergies}


# ---- verdict


def test_each_product_gets_its_answer_in_the_order_given():
    # Quaternium-15 gives off formaldehyde (worked case of the verdict); nothing declared excludes nothing.
    found = answer("verdict", judged())
    assert [(one["product"], one["answer"]) for one in found["answers"]] == [
        ("S1", "avoid"),
        ("S2", "no match found"),
        ("S3", "cannot exclude"),
    ]
    assert found["edition"] == load().edition


def test_a_near_miss_stands_beside_the_answer_and_says_that_it_is_not_settled():
    text = "Aqua, Methylisothiazolinome"
    soaps = [{"product": "S1", "category": "soap", "list_kind": FULL, "text": text}, SOAPS[1]]
    misprinted, plain = answer("verdict", judged(soaps, {"delayed": [{"allergen": "formaldehyde"}]}))[
        "answers"
    ]
    near = misprinted["not_settled"]
    assert [(one["ingredient"], one["position"], one["allergen"]) for one in near] == [
        ("Methylisothiazolinome", 2, "methylisothiazolinone")
    ]
    assert "not settled" in near[0]["says"]
    assert plain["not_settled"] == []


def test_every_reason_is_a_chain_from_the_label_to_the_allergy_with_how_it_is_known():
    found = answer("verdict", judged())
    reason = found["answers"][0]["reasons"][0]
    assert (reason["ingredient"], reason["position"], reason["allergen"]) == (
        "Quaternium-15",
        2,
        "formaldehyde",
    )
    assert reason["chain"][0]["link"] == "declared"
    assert "releases" in [step["link"] for step in reason["chain"]]
    entries = [step["entry"] for step in reason["chain"] if step["entry"]]
    assert all(step["known_as"] for step in reason["chain"] if step["entry"])
    assert set(entries) <= {one["rule"] for one in found["sources"]}


def test_an_immediate_allergy_brings_the_emergency_note():
    found = answer("verdict", judged(allergies={"immediate": [{"allergen": "natural_rubber_latex"}]}))
    assert "emergency plan" in found["emergency"]
    assert answer("verdict", judged())["emergency"] == ""


def test_the_schema_names_every_allergen_that_can_be_given():
    schema = json.loads(calc("verdict", {}, "--schema").stdout)["input"]
    ids = schema["$defs"]["DelayedGiven"]["properties"]["allergen"]["enum"]
    assert ids == list(load().allergens.allergens)


def one_changed(products, **entries):
    return [{**products[0], **entries}, *products[1:]]


FAULTS = {
    "no products": (judged(products=[]), "products: is empty."),
    "no allergies": (judged(allergies={}), "allergies: neither a delayed nor an immediate one is given."),
    "an allergen nobody knows": (
        judged(allergies={"delayed": [{"allergen": "formaldehyde"}, {"allergen": "moonshine"}]}),
        "allergies.delayed.1.allergen: 'moonshine' is no allergen of this edition.",
    ),
    "a negative test nobody knows": (
        judged(allergies={**FORMALDEHYDE, "tested_negative": ["moonshine"]}),
        "allergies.tested_negative.0: 'moonshine'",
    ),
    "a product twice": (judged(products=[*SOAPS, SOAPS[0]]), "products.3.product: stands earlier"),
    "an unknown category": (judged(products=one_changed(SOAPS, category="hat")), "products.0.category: "),
    "an unknown strength": (
        judged(allergies={"delayed": [{"allergen": "formaldehyde", "strength": "strong"}]}),
        "allergies.delayed.0.strength: ",
    ),
    "glove facts of a soap": (
        judged(products=one_changed(SOAPS, glove={"sterile": True})),
        "products.0.glove: is given for a soap.",
    ),
    "an unknown material": (
        judged(products=one_changed(GLOVES, glove={"material": "moonstone"})),
        "products.0.glove.material: 'moonstone' is not known.",
    ),
    "a text longer than any label": (
        judged(products=one_changed(SOAPS, text="Aqua, " * 40_000)),
        "products.0.text: ",
    ),
    "a list kind left out": (
        judged(products=[{"product": "S1", "category": "soap", "text": "Aqua"}]),
        "products.0.list_kind: is missing.",
    ),
    "an unknown field": ({**judged(), "worker": "x"}, "worker: is not a known field."),
}


@pytest.mark.parametrize(("given", "says"), FAULTS.values(), ids=FAULTS)
def test_it_names_the_field_of(given, says):
    result = calc("verdict", given)
    assert result.exit_code == 2
    assert says in result.stderr
    assert len(result.stderr.splitlines()) == 3


# ---- gloves


def test_gloves_come_with_answer_tier_and_notes_the_best_fit_first():
    found = answer("gloves", {"task": TASK, "gloves": GLOVES, "allergies": THIURAM})
    assert [(one["product"], one["tier_met"], one["answer"]) for one in found["gloves"]] == [
        ("G3", True, "cannot exclude"),  # a claim is no proof
        ("G2", None, "cannot exclude"),
        ("G1", False, "avoid"),
    ]
    notes = {note["topic"] for one in found["gloves"] for note in one["notes"]}
    assert {"tier", "material", "declaration"} <= notes
    assert found["sources"]


def test_a_chemical_of_which_nothing_is_published_is_said_to_be_not_known():
    found = answer("gloves", {"task": TASK, "gloves": GLOVES, "allergies": THIURAM})
    assert {each["passing"] for one in found["gloves"] for each in one["passages"]} == {"not known"}


def test_without_allergies_no_glove_gets_an_answer():
    found = answer("gloves", {"task": TASK, "gloves": GLOVES})
    assert [one["answer"] for one in found["gloves"]] == [None, None, None]


GLOVE_FAULTS = {
    "no gloves": ({"task": TASK, "gloves": []}, "gloves: is empty."),
    "a soap among them": ({"task": TASK, "gloves": SOAPS}, "'S1' is a soap, not a glove."),
    "no time at all": (
        {"task": {**TASK, "contacts": [{"chemical": "ethanol", "minutes": 0}]}, "gloves": GLOVES},
        "task.contacts.0.minutes: ",
    ),
    "no pairs": ({"task": {**TASK, "pairs_per_shift": 0}, "gloves": GLOVES}, "task.pairs_per_shift: "),
    "a day to come": ({"task": TASK, "gloves": GLOVES, "on": "2999-01-01"}, "on: 2999-01-01 is later"),
    "an unknown tier": ({"task": {"tier": "thick"}, "gloves": GLOVES}, "task.tier: "),
}


@pytest.mark.parametrize(("given", "says"), GLOVE_FAULTS.values(), ids=GLOVE_FAULTS)
def test_gloves_name_the_field_of(given, says):
    result = calc("gloves", given)
    assert result.exit_code == 2
    assert says in result.stderr
    assert len(result.stderr.splitlines()) == 3


def test_every_door_of_allergy_is_listed():
    assert {"declaration", "formulary", "gloves", "patch-test-quality", "verdict"} <= set(DOORS)
    assert list(DOORS) == sorted(DOORS)
