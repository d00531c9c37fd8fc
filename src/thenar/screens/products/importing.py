"""Reading in a list of products: send it, see what it would change, then take it over or throw it away."""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.errors import BadInput, Conflict, ThenarError
from thenar.exchange.delimited import MAX_BYTES, tidy
from thenar.exchange.problems import Problem
from thenar.exchange.product_columns import CALLED, NEEDED
from thenar.exchange.products_import import DryRun, ProductChange, dry_run, take_over
from thenar.records.models import ProductDeclaration
from thenar.records.models.products import CATEGORIES, LIST_KINDS
from thenar.records.queries.products import products
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.keeping import new_form_key, submitted_once
from thenar.screens.people import for_those_who, person
from thenar.screens.products.differences import Difference, as_declared, difference
from thenar.screens.products.kept_file import KeptFile, forget_file, keep_file, kept_file

SHOWN_AT_FIRST = 50
Kept = dict[int, ProductDeclaration]
_MAY_HOLD = {
    "code": "Kept as text, with leading zeros. One row for each product.",
    "category": f"One of: {', '.join(key for key, _ in CATEGORIES)}.",
    "list_kind": f"Wherever there are ingredients. One of: {'; '.join(key for key, _ in LIST_KINDS)}.",
    "text": "The whole text as it stands on the label.",
    "from_on": "The first day with this label, price and stock. Empty: today.",
    "areas": "Named as in the staff list, with semicolons between. An area left out stays as it is.",
    "per_worker_year": "A year, for each worker who uses it. Figures without a currency.",
    "per_year": "A year, whoever uses it.",
    "material": "Of gloves only, as are sterile, sizes, coloured and powdered.",
}


class UploadForm(forms.Form):
    """The file. Whether it makes a table is said by reading it."""

    file = forms.FileField(
        label="List of products",
        help_text="A CSV file or a workbook (.xlsx), of at most 20 MB.",
        error_messages={
            "required": "Choose the file first.",
            "empty": "The file is empty. Export it again, and choose the new one.",
            "max_length": "The file's name is too long. Shorten it.",
        },
        max_length=200,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.xlsx,text/csv,text/plain"}),
    )

    def clean_file(self) -> KeptFile:
        """What was sent."""
        sent: UploadedFile[bytes] = self.cleaned_data["file"]
        if (sent.size or 0) > MAX_BYTES:
            raise forms.ValidationError(
                f"The file has {(sent.size or 0) / 1_000_000:.1f} MB; at most {MAX_BYTES // 1_000_000} MB "
                "are read. Export only the list of products, without pictures or other sheets."
            )
        return KeptFile(tidy(sent.name or "") or "list.csv", sent.read())


@dataclass(frozen=True, slots=True)
class Column:
    """What a list may hold, for the table on the page."""

    name: str
    needed: bool
    note: str


@dataclass(frozen=True, slots=True)
class ShownChange:
    """A product and what the list changes of it; of a new one nothing was declared before."""

    change: ProductChange
    difference: Difference | None


@dataclass(frozen=True, slots=True)
class ShownRun:
    """A dry run, ready to be looked at: the first of each kind, or all."""

    added: tuple[ProductChange, ...]
    declared: tuple[ShownChange, ...]
    priced: tuple[ProductChange, ...]
    stocked: tuple[ProductChange, ...]
    to_put_right: tuple[Problem, ...]
    to_look_at: tuple[Problem, ...]
    changes: int
    is_cut: bool


@for_those_who(Act.WRITE_PRODUCTS)
@require_http_methods(["GET", "HEAD", "POST"])
def product_import(request: HttpRequest) -> HttpResponse:
    """Send a list. It is read at once, and nothing is changed."""
    by, now = person(request), clock.now()
    form = UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()
    if form.is_bound and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            _read(request, file, now)
            return redirect("product_import_changes", key=keep_file(file, by=by, now=now))
        except BadInput as problem:
            form.add_error("file", str(problem))
    context = {
        "form": form,
        "form_key": new_form_key(by),
        "columns": tuple(Column(CALLED[one], one in NEEDED, _MAY_HOLD.get(one, "")) for one in CALLED),
    }
    return render(request, "products/import.html", context)


@for_those_who(Act.WRITE_PRODUCTS)
@require_http_methods(["GET", "HEAD", "POST"])
def product_import_changes(request: HttpRequest, key: str) -> HttpResponse:
    """What a list would change; keep all of it, or throw it away."""
    if request.method != "POST":
        return _page(request, key)
    by = person(request)
    try:
        do = request.POST.get("do")
        if do == "take over":
            submitted_once(request, "products from a file", lambda: _taken_over(request, key))
            messages.success(request, "The list was taken over.")
        elif do == "throw away":
            messages.success(request, "The list was thrown away. Nothing of it was taken over.")
        else:
            raise BadInput(
                what="The page was sent without a choice.",
                why="Nothing was changed.",
                todo="Use one of the buttons.",
            )
    except (BadInput, Conflict) as problem:
        return _page(request, key, problem)
    forget_file(key, by=by)
    return redirect("products")


def _read(request: HttpRequest, file: KeptFile, now: datetime) -> DryRun:
    return dry_run(raw=file.raw, name="The file", by=person(request), now=now, book=book())


def _taken_over(request: HttpRequest, key: str) -> str:
    by, now = person(request), clock.now()
    run = _read(request, kept_file(key, by=by, now=now), now)
    if _digest(run, _kept(request)) != request.POST.get("digest"):
        raise Conflict(
            what="Products have changed since this was shown to you.",
            why="What you looked through is no longer what would happen.",
            todo="Look through it again, then decide.",
        )
    return str(take_over(run=run, by=by, now=now, book=book()))


def _digest(run: DryRun, kept: Kept) -> str:
    """The same as long as the list would change the same of the same."""
    before = [kept.get(one.entry.product.pk) if one.entry.product else None for one in run.changes]
    return hashlib.sha256(repr((run.changes, before)).encode()).hexdigest()


def _kept(request: HttpRequest) -> Kept:
    """Product's id → what it declares now."""
    records = products(by=person(request), on=clock.today())
    return {one.product.pk: one.declaration for one in records if one.declaration}


def _page(request: HttpRequest, key: str, refusal: ThenarError | None = None) -> HttpResponse:
    by, now = person(request), clock.now()
    file = kept_file(key, by=by, now=now)
    run, kept = _read(request, file, now), _kept(request)
    context = {
        "file_name": file.name,
        "refusal": refusal,
        "run": run,
        "shown": _shown(run, kept, whole="all" in request.GET),
        "columns": tuple((CALLED[field], header) for field, header in run.listed.columns.items()),
        "digest": _digest(run, kept),
        "form_key": new_form_key(by),
    }
    return render(request, "products/import_changes.html", context)


def _shown(run: DryRun, kept: Kept, *, whole: bool) -> ShownRun:
    most = None if whole else SHOWN_AT_FIRST
    stocked = tuple(one for one in run.changes if one.entry.product and one.entry.areas)
    kinds = (run.added, run.declared, run.priced, stocked)
    return ShownRun(
        added=run.added[:most],
        declared=tuple(
            ShownChange(one, _difference(one, kept.get(one.entry.product.pk if one.entry.product else 0)))
            for one in run.declared[:most]
        ),
        priced=run.priced[:most],
        stocked=stocked[:most],
        to_put_right=tuple(one for one in run.problems if one.serious),
        to_look_at=tuple(one for one in run.problems if not one.serious),
        changes=sum(not one.is_empty for one in run.changes),
        is_cut=most is not None and any(len(kind) > most for kind in kinds),
    )


def _difference(change: ProductChange, kept: ProductDeclaration | None) -> Difference | None:
    if kept is None or change.entry.declared is None:
        return None
    return difference(as_declared(kept), change.entry.declared)
