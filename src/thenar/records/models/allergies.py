"""Patch tests and what came of them: sensitisations, immediate allergies, product lists. Written once."""

from django.db import models
from django.db.models import F, Q

from thenar.records.models.cases import Case
from thenar.records.models.checks import one_of
from thenar.records.models.people import User, Worker
from thenar.records.models.places import Area
from thenar.records.models.products import Product, ProductDeclaration
from thenar.records.refs import new_ref

RELEVANCES = [
    ("current", "Explains the trouble now"),
    ("past", "Explains earlier trouble"),
    ("exposed", "Met at work, without trouble"),
    ("cross_reaction", "A cross-reaction to another allergen"),
    ("sensitised_by_test", "Came from the test itself"),
    ("unknown", "Not known"),
]
TEST_ENDS = [
    ("complete", "All readings taken"),
    ("not_back", "The worker did not come back"),
    ("stopped", "Stopped early"),
]
STRENGTHS = [
    ("?+", "?+ doubtful"),
    ("+", "+ weak"),
    ("++", "++ strong"),
    ("+++", "+++ extreme"),
    ("not known", "Strength not known"),
]
DELAYED_BASES = [
    ("patch_test", "A patch test here"),
    ("letter", "A letter from another clinic"),
    ("worker", "What the worker tells, no test seen"),
]
IMMEDIATE_BASES = [
    ("blood", "Specific IgE in blood"),
    ("prick", "A prick test"),
    ("reaction", "A witnessed reaction"),
    ("letter", "A letter from another clinic"),
    ("worker", "What the worker tells, no test seen"),
]
ANSWERS = [
    ("avoid", "Avoid"),
    ("cannot exclude", "Cannot exclude"),
    ("no match found", "No match found"),
]


class PatchTest(models.Model):
    """Preparations put on a worker's back. `positions` lists them: allergen or own product, how prepared."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="patch_tests")
    case = models.ForeignKey(
        Case, null=True, blank=True, on_delete=models.PROTECT, related_name="patch_tests"
    )
    applied_on = models.DateField()
    series = models.JSONField(default=list)
    positions = models.JSONField()
    note = models.TextField(blank=True)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")


class PatchReading(models.Model):
    """The grades of one day, by position. A mistake is corrected by a new reading naming this one.

    `patches_off_on` is the day the patches came off, where someone wrote it down.
    """

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    test = models.ForeignKey(PatchTest, on_delete=models.PROTECT, related_name="readings")
    read_on = models.DateField()
    grades = models.JSONField()
    patches_off_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    correction_reason = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(corrects__isnull=True) | ~Q(correction_reason=""),
                name="patch_reading_correction_has_reason",
            ),
        ]


class PatchRelevance(models.Model):
    """What a reaction has to do with the worker's life. The newest for a position holds."""

    test = models.ForeignKey(PatchTest, on_delete=models.PROTECT, related_name="relevances")
    position = models.PositiveSmallIntegerField()
    relevance = models.CharField(max_length=20, choices=RELEVANCES)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [one_of("relevance", RELEVANCES, "patch_relevance_known")]


class PatchTestEnd(models.Model):
    """Nothing more is waited for; a late reaction can still be read. Without one, a test waits."""

    test = models.OneToOneField(PatchTest, on_delete=models.PROTECT, related_name="end")
    ended_on = models.DateField()
    how = models.CharField(max_length=12, choices=TEST_ENDS)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [one_of("how", TEST_ENDS, "patch_test_end_known")]


class Sensitisation(models.Model):
    """A delayed contact allergy of a worker, set down by the clinician."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="sensitisations")
    allergen = models.CharField(max_length=80)
    strength = models.CharField(max_length=10, choices=STRENGTHS, default="not known")
    confirmed = models.BooleanField(default=False)
    basis = models.CharField(max_length=12, choices=DELAYED_BASES)
    test = models.ForeignKey(
        PatchTest, null=True, blank=True, on_delete=models.PROTECT, related_name="sensitisations"
    )
    found_on = models.DateField()
    note = models.TextField(blank=True)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            one_of("strength", STRENGTHS, "sensitisation_strength_known"),
            one_of("basis", DELAYED_BASES, "sensitisation_basis_known"),
            models.CheckConstraint(
                condition=~Q(basis="patch_test") | Q(test__isnull=False),
                name="sensitisation_names_its_test",
            ),
        ]
        indexes = [models.Index(fields=["worker", "allergen"], name="sensitisation_by_worker")]


class ImmediateAllergy(models.Model):
    """An immediate allergy of a worker. `severe`: a reaction of the whole body is on record."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="immediate_allergies")
    allergen = models.CharField(max_length=80)
    severe = models.BooleanField(default=False)
    basis = models.CharField(max_length=12, choices=IMMEDIATE_BASES)
    found_on = models.DateField()
    note = models.TextField(blank=True)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [one_of("basis", IMMEDIATE_BASES, "immediate_basis_known")]


class AllergyWithdrawal(models.Model):
    """A sensitisation or immediate allergy that no longer stands, and why."""

    sensitisation = models.OneToOneField(
        Sensitisation, null=True, blank=True, on_delete=models.PROTECT, related_name="withdrawal"
    )
    immediate = models.OneToOneField(
        ImmediateAllergy, null=True, blank=True, on_delete=models.PROTECT, related_name="withdrawal"
    )
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(sensitisation__isnull=True, immediate__isnull=False)
                | Q(sensitisation__isnull=False, immediate__isnull=True),
                name="withdrawal_names_one_allergy",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="withdrawal_has_reason"),
        ]


class GloveSize(models.Model):
    """The glove size a worker wears. The newest holds."""

    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="glove_sizes")
    size = models.CharField(max_length=6)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")


class Overruling(models.Model):
    """The practitioner's own answer for a worker and one declaration of a product, with the reason.

    The newest holds; it lapses with the declaration. Taken back by one that sets the answer the rules gave.
    """

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="overrulings")
    declaration = models.ForeignKey(ProductDeclaration, on_delete=models.PROTECT, related_name="overrulings")
    rules_say = models.CharField(max_length=16, choices=ANSWERS)
    answer = models.CharField(max_length=16, choices=ANSWERS)
    reason = models.CharField(max_length=400)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            one_of("rules_say", ANSWERS, "overruling_rules_say_known"),
            one_of("answer", ANSWERS, "overruling_answer_known"),
            models.CheckConstraint(condition=~Q(reason=""), name="overruling_has_reason"),
        ]


CONCERN_BECAUSE = [
    ("declaration", "Its declaration changed"),
    ("stock", "It is newly stocked"),
    ("allergy", "The allergy is newly known"),
    ("post", "The worker's post changed"),
    ("patch_test", "A patch test clears less than before"),
]
CONCERN_OUTCOMES = [
    ("told", "The worker was told and has something else to use"),
    ("taken_away", "The product was taken away"),
    ("not_used", "The worker does not use it"),
    ("overruled", "The practitioner overruled the answer"),
]


class ProductConcern(models.Model):
    """A worker meets a product in their area that they should avoid or that can't be excluded."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="product_concerns")
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="concerns")
    declaration = models.ForeignKey(
        ProductDeclaration, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="+")
    because = models.CharField(max_length=12, choices=CONCERN_BECAUSE)
    answer = models.CharField(max_length=16, choices=ANSWERS)
    answer_before = models.CharField(max_length=16, choices=[("", "None before"), *ANSWERS], blank=True)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            one_of("because", CONCERN_BECAUSE, "concern_because_known"),
            one_of("answer", ANSWERS, "concern_answer_known"),
        ]
        indexes = [models.Index(fields=["worker", "product"], name="concern_by_worker")]


class ConcernOutcome(models.Model):
    """What was done about a concern. One without waits on Today."""

    concern = models.OneToOneField(ProductConcern, on_delete=models.PROTECT, related_name="outcome")
    outcome = models.CharField(max_length=12, choices=CONCERN_OUTCOMES)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [one_of("outcome", CONCERN_OUTCOMES, "concern_outcome_known")]


LIST_FOR = [("worker", "The worker"), ("wallet", "The worker's wallet"), ("supplies", "Supplies")]


class IssuedList(models.Model):
    """A product list as it was given out. `from_on` is its day; `content` what it printed."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="issued_lists")
    made_for = models.CharField(max_length=10, choices=LIST_FOR)
    from_on = models.DateField()
    valid_until = models.DateField(null=True, blank=True)
    content = models.JSONField()
    content_hash = models.CharField(max_length=64)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            one_of("made_for", LIST_FOR, "issued_list_for_known"),
            models.CheckConstraint(
                condition=Q(valid_until__isnull=True) | Q(valid_until__gte=F("from_on")),
                name="issued_list_ends_after_start",
            ),
        ]
