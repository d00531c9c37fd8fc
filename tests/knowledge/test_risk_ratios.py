"""Risk ratios are kept with the contrast they were found in, and a slip in one is refused."""

from decimal import Decimal

import pytest

from thenar.knowledge import KnowledgeError, RiskRatio, book, load
from thenar.knowledge.files import read_file
from thenar.knowledge.risk_ratios import unfit

BOOK = load()
SHIPPED = book.FOLDER / "exposure/risk_ratios.toml"


@pytest.mark.parametrize(
    ("ratio_id", "figures", "contrast"),
    [
        # Loh and Yew 2022, doi 10.1111/cod.14133, abstract
        ("washes-15-20", ("1.66", "1.51", "1.83"), (15, 20)),
        ("washes-8-10", ("1.51", "1.35", "1.68"), (8, 10)),
        # Zhang 2018, doi 10.1111/ajd.12672, abstract: more than 20 times a day
        ("washes-over-20", ("1.6", "1.1", "2.4"), (21, 21)),
        # the same, turned round: 1/0.5, 1/0.7 and 1/0.3
        ("impervious-gloves", ("2.0", "1.43", "3.33"), (1, 1)),
        # Danish hospital staff, doi 10.1111/cod.13990, abstract
        ("gloves-on-wet-skin", ("1.99", "1.27", "3.12"), (1, 1)),
    ],
)
def test_figures_are_those_of_the_source(ratio_id, figures, contrast):
    ratio = BOOK.risk_ratios[f"risk-ratio.{ratio_id}"]
    assert (ratio.estimate, ratio.lower, ratio.upper) == tuple(map(Decimal, figures))
    assert (ratio.below, ratio.from_on) == contrast
    assert not ratio.randomised


def test_every_odds_ratio_says_that_its_risk_is_a_stand_in():
    for ratio in BOOK.risk_ratios.values():
        if ratio.measure == "odds ratio":
            assert ratio.unexposed_risk is not None
            assert "stand-in" in ratio.note, ratio.id


def test_every_ratio_has_a_page_with_its_interval():
    for ratio in BOOK.risk_ratios.values():
        entry = BOOK.entry(ratio.id)
        assert entry.kind == "risk ratio"
        assert str(ratio.lower) in entry.history[-1].says


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"lower": "1.7"}, "outside its interval"),
        ({"upper": "1.6"}, "outside its interval"),
        ({"from_on": "14"}, "starts before it ends"),
        ({"measure": "odds ratio"}, "without unexposed_risk"),
    ],
)
def test_a_ratio_that_does_not_fit_together_is_found(wrong, says):
    ratio = BOOK.risk_ratios["risk-ratio.washes-15-20"]
    given = {field: getattr(ratio, field) for field in RiskRatio.__dataclass_fields__}
    fitted = {name: Decimal(value) if name != "measure" else value for name, value in wrong.items()}
    assert [fault for fault, _ in unfit(RiskRatio(**{**given, **fitted})) if says in fault]
    assert not unfit(ratio)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('factor = "washes"', 'factor = "waves"', "risk-ratio.washes-15-20].factor"),
        ("confidence = 0.95", "confidence = 95", "risk-ratio.washes-15-20].confidence"),
        ("lower = 1.51", "lower = 0", "risk-ratio.washes-15-20].lower"),
        ("randomised = false", "", "risk-ratio.washes-15-20].randomised"),
    ],
)
def test_a_slip_in_the_file_is_named(tmp_path, old, new, says):
    spoiled = tmp_path / "ratios.toml"
    spoiled.write_text(SHIPPED.read_text("utf-8").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(KnowledgeError) as refusal:
        read_file(spoiled, "ratios.toml")
    assert says in refusal.value.what
