"""Puts answers and names into the contents of a list; the one for supplies is given nothing but products."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import groupby

from thenar.allergy.names_to_avoid import NamesOfOne, NamesToAvoid
from thenar.allergy.verdict_terms import Answer, Link
from thenar.documents.clinical_words import clinical_words_in_name
from thenar.documents.letters import Contact, PersonalIdentity
from thenar.documents.product_list import (
    WORD_FOR,
    CardAllergy,
    ListedAllergy,
    ListedCategory,
    ListedGroup,
    ListedNames,
    ListedProduct,
    SuppliesContact,
    SuppliesContent,
    SuppliesProduct,
    WalletContent,
    Word,
    WorkerListContent,
)
from thenar.errors import BadInput
from thenar.knowledge.allergens import AllergenTable
from thenar.records.judging import Judged
from thenar.records.models import Product, Worker
from thenar.records.models.products import CATEGORIES

EMERGENCY = (
    "Immediate allergy: a reaction of the whole body (anaphylaxis) is possible. Swelling of face or throat, "
    "trouble breathing, or feeling faint: call the emergency number at once."
)
_AVOID_HEADINGS = {
    Link.RELEASES: "Also avoid, gives it off",
    Link.PART_OF: "Also avoid, part of it or holds it",
    Link.CROSS_REACTS: "Also avoid, so alike that the skin can take it for this",
}
_ASK_HEADINGS = {
    Link.RELEASES: "Ask first, gives it off",
    Link.COMES_WITH: "Ask first, may come along with it",
}
_ALSO_AVOID, _ASK_FIRST = "Also avoid", "Ask first, like it"
# Words for kinds of product that tell nothing about a body, unlike “cream” or “hand rub”.
_NEUTRAL = {
    "soap": "Soap",
    "rub": "Rub",
    "cream": "Care product",
    "glove": "Gloves",
    "wipe": "Wipes",
    "disinfectant": "Disinfectant",
}


def worker_list(
    *,
    worker: Worker,
    area: str | None,
    names: Sequence[NamesToAvoid],
    judged: Iterable[Judged],
    valid_until: date | None,
    contact: Contact,
    reference: str,
    edition: str,
    on: date,
) -> WorkerListContent:
    """All that the worker's list says."""
    return WorkerListContent(
        worker=_identity(worker),
        area=area,
        emergency=emergency_of(names),
        allergies=tuple(listed_allergy(one) for one in names),
        categories=listed_categories(judged),
        issued_on=on,
        valid_until=valid_until,
        contact=contact,
        reference=reference,
        edition=edition,
    )


def wallet_card(
    *,
    worker: Worker,
    names: Sequence[NamesToAvoid],
    valid_until: date | None,
    contact: Contact,
    reference: str,
    edition: str,
    on: date,
) -> WalletContent:
    """All that the card for the wallet says."""
    return WalletContent(
        worker=_identity(worker),
        emergency=emergency_of(names),
        allergies=tuple(card_allergy(one) for one in names),
        issued_on=on,
        valid_until=valid_until,
        contact=contact,
        reference=reference,
        edition=edition,
    )


def supplies_list(
    *,
    request: str,
    area: str,
    worker: Worker | None,
    products: Mapping[Product, int | None],
    glove_size: str,
    valid_until: date | None,
    contact: Contact,
    table: AllergenTable,
    on: date,
) -> SuppliesContent:
    """All that supplies are told. `worker` is given only where they agreed to be named."""
    return SuppliesContent(
        request=request,
        area=area,
        worker=worker.called if worker else None,
        worker_agreed=worker is not None,
        issued_on=on,
        valid_until=valid_until,
        contact=SuppliesContact(contact.service, contact.telephone, contact.email),
        products=tuple(
            SuppliesProduct(
                category=_NEUTRAL[one.category],
                code=one.code,
                name=None if name_tells(one.name, table) else one.name,
                size=(glove_size or None) if one.category == "glove" else None,
                amount=amount,
            )
            for one, amount in sorted(products.items(), key=_by_kind)
        ),
    )


def name_tells(name: str, table: AllergenTable) -> bool:
    """Whether a product's own name could tell why it is asked for: then its code stands alone.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> names = "Tern Mild", "Hand cream", "Formalin-free wash", "Cream for eczema"
    >>> [name_tells(name, load().allergens) for name in names]
    [False, False, True, True]
    """
    if clinical_words_in_name(name):
        return True
    said = f" {_spaced(name)} "
    return any(
        f" {_spaced(known)} " in said
        for allergen in table.allergens.values()
        for known in (allergen.name, *allergen.inci, *allergen.synonyms, *allergen.cas)
    )


def emergency_of(names: Iterable[NamesToAvoid]) -> str | None:
    """What stands at the top where an allergy acts at once; None without one."""
    return EMERGENCY if any(one.immediate for one in names) else None


def listed_allergy(one: NamesToAvoid) -> ListedAllergy:
    """One allergy as the list says it."""
    avoid = [each for each in one.along if each.answer is Answer.AVOID]
    ask = [each for each in one.along if each.answer is Answer.CANNOT_EXCLUDE]
    return ListedAllergy(
        itself=_listed(one.itself),
        at_once=one.immediate,
        to_confirm=bool(one.confirm),
        avoid=_groups(avoid, _AVOID_HEADINGS, _ALSO_AVOID),
        ask=_groups(ask, _ASK_HEADINGS, _ASK_FIRST),
        may_hide=one.may_hide,
        materials=one.materials,
    )


def card_allergy(one: NamesToAvoid) -> CardAllergy:
    """One allergy as the card says it: its own names, then first names of what is avoided along, then all."""
    avoid = [each for each in one.along if each.answer is Answer.AVOID]
    names = (
        *one.itself.others,
        *(each.name for each in avoid),
        *one.materials,
        *(f"CAS {number}" for number in one.itself.numbers),
        *(other for each in avoid for other in each.others),
    )
    return CardAllergy(one.itself.name, one.immediate, tuple(dict.fromkeys(names)))


def word_for(judged: Judged) -> Word:
    """What a list says of a product. Of one that declares nothing, it never says to use it unasked."""
    word = WORD_FOR[judged.answer_in_use]
    silent = judged.overruling is None and not judged.declaration.text.strip()
    return Word.ASK if word is Word.USE and silent else word


def listed_categories(judged: Iterable[Judged]) -> tuple[ListedCategory, ...]:
    """Product by product, by kind, those to use first."""
    words = list(WORD_FOR.values())
    kept = tuple(judged)
    made = []
    for code, label in CATEGORIES:
        rows = [_product(one) for one in kept if one.declaration.product.category == code]
        if rows:
            made.append(
                ListedCategory(label, tuple(sorted(rows, key=lambda row: (words.index(row.word), row.name))))
            )
    return tuple(made)


def _by_kind(wanted: tuple[Product, int | None]) -> tuple[int, str]:
    product, _ = wanted
    return list(_NEUTRAL).index(product.category), product.code


def _product(judged: Judged) -> ListedProduct:
    product, overruling = judged.declaration.product, judged.overruling
    return ListedProduct(
        code=product.code,
        name=product.name,
        word=word_for(judged),
        decided=" ".join(overruling.reason.split()) if overruling else None,
    )


def _listed(one: NamesOfOne) -> ListedNames:
    return ListedNames(one.name, one.others, one.numbers)


def _groups(names: Iterable[NamesOfOne], headings: Mapping[Link, str], else_: str) -> tuple[ListedGroup, ...]:
    order = [*headings.values(), else_]

    def heading(one: NamesOfOne) -> str:
        return headings.get(one.link, else_) if one.link else else_

    ordered = sorted(names, key=lambda one: order.index(heading(one)))
    return tuple(
        ListedGroup(words, tuple(_listed(one) for one in entries))
        for words, entries in groupby(ordered, key=heading)
    )


def _identity(worker: Worker) -> PersonalIdentity:
    if worker.born_on is None:
        raise BadInput(
            what="The worker's date of birth is not known.",
            why="A list carries two identifiers, so that nobody takes home another's.",
            todo="Have it added to the staff list, then make the list.",
        )
    return PersonalIdentity(worker.called, worker.born_on)


def _spaced(text: str) -> str:
    """Lower case, with single spaces for whatever is no letter or figure."""
    return " ".join("".join(each if each.isalnum() else " " for each in text.casefold()).split())
