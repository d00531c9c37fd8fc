"""A worker's own list: what to use at work, what not, and which names to look for; in plain words."""

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.allergy.names_to_avoid import names_to_avoid
from thenar.allergy.verdict_terms import Answer
from thenar.documents.product_list import ListedAllergy, Word, from_json, list_pdf
from thenar.records.judging import Judged, allergies_of
from thenar.records.models import Product
from thenar.records.models.products import CATEGORIES
from thenar.records.queries.allergies import AllergyStory, own_allergies, own_list
from thenar.records.queries.judged import judged_for
from thenar.records.queries.products import stock_in
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.papers import pdf_page
from thenar.screens.people import for_those_who, person
from thenar.screens.usable.list_contents import listed_allergy, word_for

_ORDER = tuple(Word)
PLAIN = {
    "intro": "We looked for your allergy on the labels of the products where you work.",
    "use": "We found no name on its label that you react to.",
    "ask": "Its label does not tell us enough. Ask us first.",
    "nothing_declared": "We don't know what is in it. Ask us first.",
    "named": "Its label names something you react to:",
    "made_of": "It is made of something you react to.",
    "labels": "A label can leave things out, and makers change what is in a product.",
    "worse": "If your skin gets worse, stop using it and call us.",
    "other": "Do you want to use a product that is not on this list? Ask us first.",
    "at_once": "Does your face or throat swell, is it hard to breathe, or do you feel faint? "
    "Call for help at once. Don't wait.",
    "look": "Look for these names on a label, at home too. If you find one, don't use the product.",
    "hide": "Some labels say only a word like these. It can stand for a name on your list. Ask us first.",
    "none": "We know of no allergy of yours. So we have not checked any product for you.",
    "supplies": "Supplies were told which products to send. They were not told why.",
}


@dataclass(frozen=True, slots=True)
class PlainProduct:
    """A product and what to do, with one sentence that says why."""

    product: Product
    word: Word
    why: str
    names: str
    decided: str


@dataclass(frozen=True, slots=True)
class PlainCategory:
    """The products of one kind, those to use first."""

    label: str
    products: tuple[PlainProduct, ...]

    @property
    def nothing_to_use(self) -> bool:
        """Whether no product of this kind is one to use."""
        return all(one.word is not Word.USE for one in self.products)


@require_safe
@for_those_who(Act.SEE_OWN)
def own_products(request: HttpRequest) -> HttpResponse:
    """My products: what to use, what not, and whom to ask."""
    story = own_allergies(by=person(request), now=clock.now())
    judged = _judged(story)
    return render(
        request,
        "mine/products.html",
        {
            "worker": story.worker,
            "posts": story.posts,
            "post": story.post,
            "plain": PLAIN,
            "categories": _categories(judged),
            "listed": _listed(story),
            "at_once": bool(story.immediate),
            "has_allergy": bool(story.sensitisations or story.immediate),
            "issued": [one for one in story.issued if one.made_for != "supplies"],
            "told_supplies": [one for one in story.issued if one.made_for == "supplies"],
            "today": clock.today(),
        },
    )


@require_safe
@for_those_who(Act.SEE_OWN)
def my_list_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """One of my lists on paper, as it was given out."""
    kept = own_list(ref=ref, by=person(request), now=clock.now())
    return pdf_page(list_pdf(from_json(kept.content, kept.made_for), demo=settings.DEMO), f"list-{kept.ref}")


def _judged(story: AllergyStory) -> tuple[Judged, ...]:
    """Answers for what stands where the worker works; none without an allergy to judge by."""
    if not story.areas or not (story.sensitisations or story.immediate):
        return ()
    return judged_for(story.worker, stock_in(story.areas, clock.today()), book())


def _listed(story: AllergyStory) -> tuple[ListedAllergy, ...]:
    allergies = allergies_of([story.worker.pk], book())[story.worker.pk]
    return tuple(listed_allergy(one) for one in names_to_avoid(allergies, book().allergens))


def _categories(judged: tuple[Judged, ...]) -> tuple[PlainCategory, ...]:
    made = []
    for code, label in CATEGORIES:
        rows = [_plain(one) for one in judged if one.declaration.product.category == code]
        if rows:
            ordered = sorted(rows, key=lambda one: (_ORDER.index(one.word), one.product.name.casefold()))
            made.append(PlainCategory(label, tuple(ordered)))
    return tuple(made)


def _plain(judged: Judged) -> PlainProduct:
    why, names = _why(judged)
    return PlainProduct(
        product=judged.declaration.product,
        word=word_for(judged),
        why="" if judged.overruling else why,
        names="" if judged.overruling else names,
        decided=judged.overruling.reason if judged.overruling else "",
    )


def _why(judged: Judged) -> tuple[str, str]:
    """One sentence, and the names on the label it speaks of."""
    answer = judged.verdict.answer
    if answer is not Answer.AVOID and not judged.declaration.text.strip():
        return PLAIN["nothing_declared"], ""
    if answer is not Answer.AVOID:
        return PLAIN["use" if word_for(judged) is Word.USE else "ask"], ""
    strongest = [one for one in judged.verdict.reasons if one.answer is Answer.AVOID]
    named = dict.fromkeys(one.ingredient.written for one in strongest if one.ingredient)
    return (PLAIN["named"], ", ".join(named)) if named else (PLAIN["made_of"], "")
