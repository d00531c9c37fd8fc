"""Products: what they declare, what they cost here, where they stand. All but the stock is written once."""

from django.db import models
from django.db.models import Q

from thenar.records.models.checks import one_of
from thenar.records.models.people import User
from thenar.records.models.places import Area, PeriodQuerySet, ends_after_start
from thenar.records.refs import new_ref

CATEGORIES = [
    ("soap", "Soap"),
    ("rub", "Hand rub"),
    ("cream", "Cream"),
    ("glove", "Glove"),
    ("wipe", "Wipe"),
    ("disinfectant", "Disinfectant"),
]
LIST_KINDS = [
    ("full ingredient list", "Full ingredient list"),
    ("partial list of a medicine or biocide", "Partial list of a medicine or biocide"),
    ("safety data sheet", "Safety data sheet"),
    ("glove chemicals declared", "Glove chemicals declared"),
    ("accelerator-free claim", "A claim of being accelerator-free, no more"),
    ("nothing declared", "Nothing declared"),
]


class Product(models.Model):
    """A soap, rub, cream, glove, wipe or disinfectant, by the site's own code."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=160)
    category = models.CharField(max_length=16, choices=CATEGORIES)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("category", "name")
        constraints = [one_of("category", CATEGORIES, "product_category_known")]

    def __str__(self) -> str:
        return self.name


class ProductDeclaration(models.Model):
    """What a product declares from a day on. The newest that has begun is in force; the last written wins.

    `glove` holds material, sterile, sizes, coloured, powdered. Nulls mean that nobody knows.
    """

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="declarations")
    from_on = models.DateField()
    list_kind = models.CharField(max_length=40, choices=LIST_KINDS)
    text = models.TextField(blank=True)
    glove = models.JSONField(default=dict)
    virucidal = models.BooleanField(null=True)
    leave_on = models.BooleanField(null=True)
    read_from = models.CharField(max_length=200, blank=True)
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [one_of("list_kind", LIST_KINDS, "declaration_list_kind_known")]
        indexes = [models.Index(fields=["product", "from_on"], name="declaration_by_product")]


class ReadingAccepted(models.Model):
    """Someone settled what an ingredient of a declaration, as written, means: an allergen.

    Without an allergen: by these words none is meant, however alike a name may be. What is accepted of the
    same words counts all the same, so accepting takes a refusal back.
    """

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    declaration = models.ForeignKey(
        ProductDeclaration, on_delete=models.PROTECT, related_name="accepted_readings"
    )
    written = models.CharField(max_length=300)
    allergen = models.CharField(max_length=80, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["declaration", "written", "allergen"], name="reading_accepted_once"
            )
        ]


class ProductPrice(models.Model):
    """What a product costs here from a day on: a year for each worker who uses it, and a year to keep it."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="prices")
    from_on = models.DateField()
    per_worker_year = models.DecimalField(max_digits=9, decimal_places=2)
    per_year = models.DecimalField(max_digits=9, decimal_places=2, default=0)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(per_worker_year__gte=0, per_year__gte=0), name="price_not_negative"
            )
        ]


class Stock(models.Model):
    """A product present in an area over a period; it also serves every area beneath."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="stock")
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="stock")
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)

    objects = PeriodQuerySet["Stock"].as_manager()

    class Meta:
        constraints = [
            ends_after_start("stock"),
            models.UniqueConstraint(
                fields=["product", "area"], condition=Q(until_on__isnull=True), name="stock_open_once"
            ),
            models.UniqueConstraint(fields=["product", "area", "from_on"], name="stock_begins_once"),
        ]
        indexes = [models.Index(fields=["area", "from_on"], name="stock_by_area")]


class FormularyProposal(models.Model):
    """A set of products proposed for some areas: question, answer, what it costs and whom it serves."""

    ref = models.CharField(max_length=12, unique=True, default=new_ref, editable=False)
    areas = models.JSONField()
    question = models.JSONField()
    answer = models.JSONField()
    found = models.BooleanField()
    edition = models.CharField(max_length=60)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
