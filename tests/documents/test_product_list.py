"""Product lists on paper: every name, one page while it holds, and supplies told nothing but products."""

import io
import json
import re
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date

import pypdf
import pytest

from thenar.allergy.allergies import Allergies, Delayed, Immediate
from thenar.allergy.names_to_avoid import names_to_avoid
from thenar.documents.clinical_words import clinical_words_in
from thenar.documents.letters import Contact, PersonalIdentity
from thenar.documents.product_list import (
    ListedCategory,
    ListedProduct,
    SuppliesContact,
    SuppliesContent,
    SuppliesProduct,
    WalletContent,
    Word,
    WorkerListContent,
    from_json,
    list_pdf,
    to_json,
)
from thenar.errors import BadInput
from thenar.knowledge import load
from thenar.records.actions.product_lists import SUPPLIES_KEYS
from thenar.screens.usable.list_contents import card_allergy, emergency_of, listed_allergy

TABLE = load().allergens
CONTACT = Contact("Occupational Health", "01632 960 114", "oh@saltmere.example")
WORKER = PersonalIdentity("Aleksandra Wiśniewska", date(1984, 3, 2))
PRODUCTS = tuple(
    ListedCategory(
        kind,
        (
            ListedProduct(f"{kind[0]}1", f"{kind} Tern", Word.USE),
            ListedProduct(f"{kind[0]}2", f"{kind} Knot", Word.ASK),
            ListedProduct(f"{kind[0]}3", f"{kind} Ruff", Word.DO_NOT_USE, "The maker wrote to us."),
        ),
    )
    for kind in ("Soap", "Hand rub", "Cream", "Glove")
)
SUPPLIES = SuppliesContent(
    request="7k2m9qx4tb3c",
    area="Plover Ward",
    worker=None,
    worker_agreed=False,
    issued_on=date(2026, 11, 26),
    valid_until=date(2027, 5, 26),
    contact=SuppliesContact("Occupational Health", "01632 960 114", "oh@saltmere.example"),
    products=(
        SuppliesProduct("Soap", "S-014", "Tern Mild", None, 2),
        SuppliesProduct("Gloves", "G-2", None, "7.5", None),
    ),
)
MARKUP = ('#read("/etc/passwd")', "$x$", "*bold*", "@ref", "<b>", "_it_", "// no", "\\ #panic()")
# Ten frequent sensitisations of one person: more than one page holds.
MANY = (
    *("fragrance_mix_i", "fragrance_mix_ii", "colophonium", "formaldehyde", "thiuram_mix", "carba_mix"),
    *("mercapto_mix", "paraben_mix", "mci_mi", "lanolin"),
)


def allergies(*delayed: str, at_once: tuple[str, ...] = ()) -> Allergies:
    return Allergies(frozenset(map(Delayed, delayed)), frozenset(map(Immediate, at_once)))


def list_of(known: Allergies) -> WorkerListContent:
    names = names_to_avoid(known, TABLE)
    return WorkerListContent(
        worker=WORKER,
        area="Plover Ward",
        emergency=emergency_of(names),
        allergies=tuple(map(listed_allergy, names)),
        categories=PRODUCTS,
        issued_on=date(2026, 11, 26),
        valid_until=date(2027, 5, 26),
        contact=CONTACT,
        reference="7k2m9qx4tb3c",
        edition="2026.1",
    )


def card_of(known: Allergies) -> WalletContent:
    names = names_to_avoid(known, TABLE)
    return WalletContent(
        worker=WORKER,
        emergency=emergency_of(names),
        allergies=tuple(map(card_allergy, names)),
        issued_on=date(2026, 11, 26),
        valid_until=None,
        contact=CONTACT,
        reference="7k2m9qx4tb3c",
        edition="2026.1",
    )


def plain(text: str) -> str:
    """Without spaces and break marks: paper breaks lines where it will."""
    return "".join(part for part in text.casefold() if not part.isspace() and part != "\u200b")


def paper_of(pdf: bytes) -> str:
    return plain("".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages))


def test_the_list_names_every_synonym_of_what_must_be_avoided() -> None:
    paper = paper_of(list_pdf(list_of(allergies("formaldehyde"))))
    releasers = [one for one in TABLE.allergens.values() if "formaldehyde" in one.releases]
    assert len(releasers) >= 10
    for one in (TABLE.allergens["formaldehyde"], *releasers):
        for name in (one.name, *one.inci, *one.synonyms, *one.cas):
            assert plain(name) in paper, name


def test_the_list_says_product_by_product_what_to_do_and_whose_decision_it_was(
    words_of: Callable[[bytes], list[str]],
) -> None:
    (paper,) = words_of(list_pdf(list_of(allergies("methylisothiazolinone"))))
    for words in ("Soap Tern S1", "Use", "Ask first", "Do not use", "The maker wrote to us."):
        assert words in paper
    for words in (WORKER.name, "2 March 1984", "26 May 2027", "01632 960 114", "Plover Ward"):
        assert words in paper


@pytest.mark.parametrize(
    "known",
    [
        allergies("methylisothiazolinone"),
        allergies("formaldehyde"),
        allergies("thiuram_mix", at_once=("natural_rubber_latex",)),
        allergies("chlorhexidine", "mci_mi"),
    ],
)
def test_the_list_stays_on_one_page(known: Allergies) -> None:
    reader = pypdf.PdfReader(io.BytesIO(list_pdf(list_of(known), demo=True)))
    assert len(reader.pages) == 1
    assert "Page 1 of 1" in reader.pages[0].extract_text()


def test_with_too_many_names_the_list_goes_on_and_says_so_on_its_first_page() -> None:
    reader = pypdf.PdfReader(io.BytesIO(list_pdf(list_of(allergies(*MANY)))))
    count = len(reader.pages)
    assert count > 1
    assert f"this list has {count} pages" in " ".join(reader.pages[0].extract_text().split())
    for number, page in enumerate(reader.pages, start=1):
        assert f"Page {number} of {count}" in page.extract_text()
    paper = plain("".join(page.extract_text() for page in reader.pages))
    for allergen in MANY:
        assert plain(TABLE.allergens[allergen].name) in paper


def test_an_immediate_allergy_stands_at_the_top_of_list_and_card() -> None:
    known = allergies(at_once=("natural_rubber_latex",))
    for content in (list_of(known), card_of(known)):
        paper = paper_of(list_pdf(content))
        assert plain("call the emergency number at once") in paper
    assert plain("anaphylaxis") not in paper_of(list_pdf(list_of(allergies("lanolin"))))


def test_both_sides_of_the_card_have_the_size_of_a_bank_card() -> None:
    # ISO/IEC 7810, ID-1: 85.60 by 53.98 mm.
    page = pypdf.PdfReader(io.BytesIO(list_pdf(card_of(allergies("lanolin"))))).pages[0]
    drawn = page.get_contents().get_data().decode("latin-1")
    frames = re.findall(r"0 0 m ([\d.]+) 0 l \1 ([\d.]+) l", drawn)
    assert len(frames) == 2
    for wide, high in frames:
        assert float(wide) * 25.4 / 72 == pytest.approx(85.60, abs=0.05)
        assert float(high) * 25.4 / 72 == pytest.approx(53.98, abs=0.05)


def test_a_card_that_can_not_hold_every_name_says_so() -> None:
    reader = pypdf.PdfReader(io.BytesIO(list_pdf(card_of(allergies(*MANY)))))
    assert len(reader.pages) == 1
    paper = plain(reader.pages[0].extract_text())
    assert plain("More names do not fit here: see your list.") in paper
    for allergen in MANY:
        assert plain(TABLE.allergens[allergen].name) in paper
    assert plain("More names") not in paper_of(list_pdf(card_of(allergies("methylisothiazolinone"))))


def test_the_fullest_card_still_holds_the_name_every_allergy_and_whom_to_call() -> None:
    full = replace(
        card_of(allergies(*MANY, at_once=("natural_rubber_latex", "chlorhexidine"))),
        worker=PersonalIdentity("Maximiliana Theodora Wiśniewska-Brzęczyszczykiewicz", date(1984, 3, 2)),
        valid_until=date(2027, 5, 26),
    )
    paper = paper_of(list_pdf(full))
    for words in ("Brzęczyszczykiewicz", "anaphylaxis", "01632 960 114", "Good until 26 May 2027"):
        assert plain(words) in paper
    for allergen in (*MANY, "natural_rubber_latex", "chlorhexidine"):
        assert plain(TABLE.allergens[allergen].name) in paper


def test_supplies_are_told_what_to_send_where() -> None:
    paper = paper_of(list_pdf(SUPPLIES))
    for words in ("7k2m9qx4tb3c", "Plover Ward", "S-014", "Tern Mild", "G-2", "7.5", "26 May 2027"):
        assert plain(words) in paper


def test_what_supplies_read_holds_no_allergen_no_name_of_one_and_no_clinical_word() -> None:
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(list_pdf(SUPPLIES))).pages)
    assert not clinical_words_in(text)
    said = f" {' '.join(re.findall(r'[a-z0-9]+', text.casefold()))} "
    for one in TABLE.allergens.values():
        for name in (one.name, *one.inci, *one.synonyms, *one.cas):
            assert f" {' '.join(re.findall(r'[a-z0-9]+', name.casefold()))} " not in said, name


def test_a_list_for_supplies_has_no_place_for_health() -> None:
    assert {one.name for one in fields(SuppliesContent)} <= SUPPLIES_KEYS
    assert {one.name for one in fields(SuppliesProduct)} <= SUPPLIES_KEYS
    with pytest.raises(BadInput):
        from_json({**to_json(SUPPLIES), "allergies": ["lanolin"]}, "supplies")


def test_supplies_learn_a_name_only_after_a_yes() -> None:
    assert plain("Aleksandra") not in paper_of(list_pdf(SUPPLIES))
    with pytest.raises(BadInput, match="not agreed"):
        replace(SUPPLIES, worker="Aleksandra Wiśniewska")
    agreed = replace(SUPPLIES, worker="Aleksandra Wiśniewska", worker_agreed=True)
    assert plain("Aleksandra Wiśniewska") in paper_of(list_pdf(agreed))


@pytest.mark.parametrize(
    "content", [list_of(allergies(*MANY)), card_of(allergies("lanolin")), SUPPLIES], ids=["list", "card", "s"]
)
def test_no_list_ever_calls_a_product_safe(content: WorkerListContent | WalletContent) -> None:
    assert "safe" not in paper_of(list_pdf(content))
    assert "safe" not in json.dumps(to_json(content))


@pytest.mark.parametrize(
    "content",
    [list_of(allergies("lanolin")), card_of(allergies("lanolin")), SUPPLIES],
    ids=["list", "card", "s"],
)
def test_it_is_tagged_and_the_same_content_gives_the_same_bytes(
    content: WorkerListContent | WalletContent,
) -> None:
    pdf = list_pdf(content)
    assert pdf == list_pdf(content)
    root = pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    # ISO 14289-1 section 5: the identifier that makes a file claim PDF/UA-1.
    assert re.search(rb"pdfuaid:part>\s*1\s*<", root["/Metadata"].get_data())
    assert root["/MarkInfo"]["/Marked"]


@pytest.mark.parametrize(
    ("content", "made_for"),
    [
        (list_of(allergies(*MANY)), "worker"),
        (card_of(allergies("lanolin")), "wallet"),
        (SUPPLIES, "supplies"),
    ],
)
def test_it_is_kept_as_json_and_read_back_the_same(
    content: WorkerListContent | WalletContent, made_for: str
) -> None:
    assert from_json(to_json(content), made_for) == content


def test_a_kept_list_that_can_not_be_read_names_the_field_and_not_its_content() -> None:
    with pytest.raises(BadInput) as problem:
        from_json({**to_json(SUPPLIES), "area": ["secret"]}, "supplies")
    assert "area" in problem.value.what
    assert "secret" not in str(problem.value)


@pytest.mark.parametrize("typed", MARKUP)
def test_what_is_typed_is_never_read_as_markup(typed: str) -> None:
    product = replace(PRODUCTS[0].products[0], name=f"Before {typed} after")
    content = replace(list_of(allergies("lanolin")), categories=(replace(PRODUCTS[0], products=(product,)),))
    assert plain(typed) in paper_of(list_pdf(content))


def test_a_name_too_wide_for_its_column_is_broken_and_not_cut() -> None:
    long = "Methyl" * 20
    product = replace(PRODUCTS[0].products[0], name=long)
    content = replace(list_of(allergies("lanolin")), categories=(replace(PRODUCTS[0], products=(product,)),))
    assert plain(long) in paper_of(list_pdf(content))
