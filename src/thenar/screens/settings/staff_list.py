"""Reading in a staff list: upload it, see what it would change, then take all of it over or throw it away."""

from collections.abc import Callable
from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.errors import BadInput, Conflict, ThenarError
from thenar.exchange.delimited import refuse_too_large
from thenar.exchange.staff_columns import CALLED, FIELDS, REQUIRED
from thenar.exchange.staff_import import file_hash, look_again, take_over
from thenar.exchange.staff_list import read_staff_list
from thenar.records.actions.staff import keep_staff_list, say_day_first, throw_away_staff_list
from thenar.records.queries.staff import staff_list_import, staff_list_imports
from thenar.records.receipts import taken_once
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.keeping import new_form_key, read_form_key, submitted_once, typed_before, typing_kept
from thenar.screens.people import for_those_who, person
from thenar.screens.settings.dry_run_page import show_dry_run

_MAY_HOLD = {
    "staff_number": "Kept as text, with leading zeros. One row for each number.",
    "given_name": "",
    "family_name": "",
    "born_on": "",
    "email": "",
    "area": "Ward, department or unit, named the same way each time.",
    "role": "What the person works as: nurse, cleaner, porter.",
    "hours_share": "Written 0.8, 0,8 or 80 %.",
    "starts_on": "First day of the present post.",
    "ends_on": "Whoever's last day has passed has left.",
}


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that makes a table."""

    name: str
    raw: bytes


class UploadForm(forms.Form):
    """The file; it is read here, so that what is no table is refused before anything is kept."""

    file = forms.FileField(
        label="Staff list",
        help_text="A CSV file of at most 20 MB.",
        error_messages={
            "required": "Choose the file first.",
            "empty": "The file is empty. Export it again, and choose the new one.",
            "max_length": "The file's name is too long. Shorten it.",
        },
        max_length=200,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
    )

    def clean_file(self) -> Upload:
        """What was sent, if it makes a table."""
        sent: UploadedFile[bytes] = self.cleaned_data["file"]
        try:
            refuse_too_large(sent.size or 0, name="The file", kind="staff list")
            raw: bytes = sent.read()
            read_staff_list(raw, name="", today=clock.today())
        except BadInput as problem:
            raise forms.ValidationError(str(problem)) from None
        return Upload(sent.name or "list.csv", raw)


@dataclass(frozen=True, slots=True)
class Column:
    """What a list may hold, for the table on the upload page."""

    name: str
    required: bool
    note: str


@for_those_who(Act.IMPORT_STAFF)
@require_http_methods(["GET", "HEAD", "POST"])
def staff_list(request: HttpRequest) -> HttpResponse:
    """Upload a list, and see those read in lately."""
    form = UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()
    if form.is_bound and form.is_valid():
        try:
            return redirect("staff_list_changes", ref=_kept_once(request, form.cleaned_data["file"]))
        except BadInput as problem:
            form.add_error(None, str(problem))
    context = {
        "form": form,
        "form_key": new_form_key(person(request)),
        "chosen_before": request.method != "POST" and typing_kept(request) is not None,
        "columns": [Column(CALLED[field], field in REQUIRED, _MAY_HOLD[field]) for field in FIELDS],
        "lists": staff_list_imports(by=person(request)),
    }
    return render(request, "staff_list/upload.html", context)


def _kept_once(request: HttpRequest, upload: Upload) -> str:
    """The reference of the uploaded list. The same page with another file is another upload."""
    fingerprint, by, now = file_hash(upload.raw), person(request), clock.now()
    return taken_once(
        key=f"{read_form_key(request)[:32]}{fingerprint[:32]}",
        form="upload staff list",
        body={"file": fingerprint},
        now=now,
        write=lambda: (
            keep_staff_list(raw=upload.raw, file_name=upload.name, file_hash=fingerprint, by=by, now=now).ref
        ),
    )


@for_those_who(Act.IMPORT_STAFF)
@require_http_methods(["GET", "HEAD", "POST"])
def staff_list_changes(request: HttpRequest, ref: str) -> HttpResponse:
    """What a list would change, and the three things to do about it; afterwards its receipt."""
    if request.method != "POST":
        return _page(request, ref)
    do = request.POST.get("do", "")
    try:
        if do not in _ACTS:
            raise BadInput(
                what="The page was sent without a choice.",
                why="Nothing was changed.",
                todo="Use one of the buttons.",
            )
        submitted_once(request, f"staff list {do}", lambda: _ACTS[do](request, ref))
    except (BadInput, Conflict) as problem:
        return _page(request, ref, problem)
    if do == "throw away":
        messages.success(request, "The list was thrown away. Nothing of it was taken over.")
        return redirect("staff_list")
    return redirect("staff_list_changes", ref=ref)


def _take(request: HttpRequest, ref: str) -> str:
    by = person(request)
    return take_over(
        waiting=staff_list_import(ref=ref, by=by),
        digest=request.POST.get("digest", ""),
        unusual_confirmed="confirmed" in request.POST,
        by=by,
        now=clock.now(),
    ).ref


def _throw_away(request: HttpRequest, ref: str) -> str:
    by = person(request)
    throw_away_staff_list(waiting=staff_list_import(ref=ref, by=by), by=by, now=clock.now())
    return ref


def _read_dates(request: HttpRequest, ref: str) -> str:
    by, first = person(request), request.POST.get("first")
    if first not in ("day", "month"):
        raise BadInput(
            what="Nobody said whether the day or the month comes first.",
            why="A wrong guess would put wrong dates into people's records.",
            todo="Choose one, then read the dates again.",
        )
    waiting = staff_list_import(ref=ref, by=by)
    say_day_first(waiting=waiting, day_first=first == "day", by=by, now=clock.now())
    return ref


_ACTS: dict[str, Callable[[HttpRequest, str], str]] = {
    "take over": _take,
    "throw away": _throw_away,
    "read dates": _read_dates,
}


_FIRST = {None: None, True: "day", False: "month"}


def _page(request: HttpRequest, ref: str, refusal: ThenarError | None = None) -> HttpResponse:
    by = person(request)
    kept = staff_list_import(ref=ref, by=by)
    if kept.applied_at is not None:
        return render(request, "staff_list/receipt.html", {"kept": kept, "refusal": refusal})
    run = look_again(kept, by=by, now=clock.now())
    typed = typed_before(request)
    context = {
        "kept": kept,
        "refusal": refusal,
        "run": run,
        "shown": show_dry_run(run, whole="all" in request.GET),
        "confirmed": typed is not None and typed.get("digest") == run.digest and "confirmed" in typed,
        "first": typed.get("first") if typed else _FIRST[kept.day_first],
        "form_key": new_form_key(by),
    }
    return render(request, "staff_list/changes.html", context)
