"""How good the clinic's preparations are, and whom it tests: figures over all tests of a period, no names."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.allergy.clinic_profile import ClinicProfile, PersonTested, clinic_profile, positive_to_series
from thenar.allergy.patch_quality import (
    ControlUse,
    Preparation,
    PreparationQuality,
    Quality,
    control_use,
    count_reactions,
    judge_preparation,
    quality_rules,
)
from thenar.allergy.patch_rules import ReadingRules, reading_rules
from thenar.allergy.patch_test import PatchTest
from thenar.knowledge import Book
from thenar.records.queries.patch_tests import CountedTest, clinic_tests
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.reasons import reason_for
from thenar.screens.keeping import new_form_key
from thenar.screens.patch.one_test import CitedCaution, cited
from thenar.screens.patch.quality_forms import FileForm, PeriodForm
from thenar.screens.patch.wording import MINUS, allergen_name, allergen_url
from thenar.screens.people import for_those_who, person

A_YEAR = timedelta(days=365)
_RULES = ("positivity-ratio", "reaction-index", "reaction-index-formula")
_JUDGED = (Quality.PROBLEMATIC, Quality.NEITHER, Quality.ACCEPTABLE)
_ORDER = (*_JUDGED, Quality.TOO_FEW, Quality.NOT_KNOWN)


@dataclass(frozen=True, slots=True)
class ShownPreparation:
    """A preparation by name, with its figures."""

    name: str
    url: str
    preparation: Preparation
    quality: PreparationQuality

    @property
    def is_quiet(self) -> bool:
        """Whether no test with it showed a reaction on a day that counts."""
        return self.quality.reactions.all_kinds == 0

    @property
    def reaction_index(self) -> tuple[str, str, str] | None:
        """The reaction index with its lower and upper bound, in figures; None without a reaction to count."""
        index = self.quality.reaction_index
        return (_signed(index.estimate), _signed(index.lower), _signed(index.upper)) if index else None

    @property
    def may_turn(self) -> bool:
        """Whether it was judged, and more tests may turn the judgement."""
        return self.quality.quality in _JUDGED and not self.quality.settled


@dataclass(frozen=True, slots=True)
class Figures:
    """Everything counted over a number of tests. `quiet` preparations showed no reaction to judge by."""

    tests: int
    reacting: tuple[ShownPreparation, ...]
    quiet: tuple[ShownPreparation, ...]
    control: ControlUse
    judged: int


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def patch_test_quality(request: HttpRequest) -> HttpResponse:
    """Figures over the clinic's own tests."""
    known, today = book(), clock.today()
    first = {"from_on": today - A_YEAR, "until_on": today, "baseline": next(iter(known.allergens.series), "")}
    form = PeriodForm(request.GET or None, book=known, initial=first)
    period: dict[str, Any] = form.cleaned_data if form.is_valid() else {} if form.is_bound else first
    counted = _counted(request, period) if period else ()
    context = {
        "form": form,
        "period": period,
        "figures": figures_of([one.test for one in counted], known, today) if period else None,
        "profile": _profile(counted, period["baseline"], known, today) if period else None,
        "caution_list": [caution_of_quality(known, today)],
        "file_form": FileForm(),
        "reasons": reasons_of_quality(known),
        "profile_reason": reason_for("patch-test.profile", known),
        "form_key": new_form_key(person(request)),
    }
    return render(request, "patch/quality.html", context)


def _signed(figure: float) -> str:
    """Two decimals, with a minus sign that is no hyphen.

    Examples
    --------
    >>> _signed(-0.594), _signed(-0.001)
    ('−0.59', '0.00')
    """
    return f"{figure:z.2f}".replace("-", MINUS)


def figures_of(tests: Sequence[PatchTest], known: Book, on: date) -> Figures:
    """The figures of any number of tests, the preparations most in need of a look first."""
    rules = quality_rules(known, on)
    judged = [
        ShownPreparation(
            allergen_name(one.hapten, known),
            allergen_url(one.hapten, known),
            one,
            judge_preparation(reactions, rules),
        )
        for one, reactions in count_reactions(tests, reading_rules(known, on)).items()
    ]
    judged.sort(
        key=lambda one: (_ORDER.index(one.quality.quality), -(one.quality.reactions.tests or 0), one.name)
    )
    return Figures(
        tests=len(tests),
        reacting=tuple(one for one in judged if not one.is_quiet),
        quiet=tuple(one for one in judged if one.is_quiet),
        control=control_use(tests),
        judged=sum(one.quality.quality in _JUDGED for one in judged),
    )


def reasons_of_quality(known: Book) -> list[object]:
    """Where the cut-offs come from."""
    return [reason_for(f"patch-test.quality.{name}", known) for name in _RULES]


def caution_of_quality(known: Book, on: date) -> CitedCaution:
    """What both indices also measure."""
    return cited(quality_rules(known, on).caution)


def _counted(request: HttpRequest, period: dict[str, Any]) -> tuple[CountedTest, ...]:
    return clinic_tests(
        from_on=period["from_on"], until_on=period["until_on"], by=person(request), now=clock.now()
    )


def _profile(counted: Iterable[CountedTest], baseline: str, known: Book, on: date) -> ClinicProfile:
    """Each person once. What is not on record counts as not known."""
    by_person: dict[int, list[CountedTest]] = defaultdict(list)
    for one in counted:
        by_person[one.person].append(one)
    rules = reading_rules(known, on)
    return clinic_profile([_person(tests, baseline, rules) for tests in by_person.values()])


def _person(tests: Sequence[CountedTest], baseline: str, rules: ReadingRules) -> PersonTested:
    answers = [positive_to_series(one.test, baseline, rules) for one in tests]
    positive = True if True in answers else False if False in answers else None
    return PersonTested(age=tests[0].age, hand=any(one.hand for one in tests) or None, positive=positive)
