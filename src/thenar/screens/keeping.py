"""Form keys, and what happens to typing when a session ends in mid-form.

Every form carries a key that names the person it was made for. The key makes a second submit harmless,
and lets a form that arrives after the session has ended be kept for that person alone.
"""

from collections.abc import Callable
from datetime import timedelta
from urllib.parse import urlencode

from django.core import signing
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from thenar.errors import BadInput
from thenar.records.models import KeptTyping, User
from thenar.records.receipts import taken_once
from thenar.records.refs import new_token
from thenar.screens import clock

_SALT = "thenar.form"
_NEVER_KEPT = {"csrfmiddlewaretoken", "form_key"}
KEPT_FOR = timedelta(hours=12)


def new_form_key(user: User | None) -> str:
    """A key for one showing of one form."""
    return signing.dumps([user.pk if user else 0, new_token()], salt=_SALT)


def read_form_key(request: HttpRequest) -> str:
    """The inner key of a submitted form; refuse a form that carries none of ours."""
    try:
        _, key = signing.loads(request.POST.get("form_key", ""), salt=_SALT)
    except (signing.BadSignature, ValueError, TypeError):
        raise BadInput(
            what="This form has lost its key.",
            why="Without it, sending twice would make two records.",
            todo="Open the page again and send the form from there.",
        ) from None
    return str(key)


def ask_to_sign_in(request: HttpRequest) -> HttpResponseBase:
    """Send someone who is signed out to sign in, and keep what they had typed.

    A partial update is refused instead: the page it belongs to stays as it is, with all its typing, and is
    kept when it is sent whole.
    """
    if request.headers.get("HX-Request"):
        return HttpResponse(status=401)
    goal = request.get_full_path()
    if request.method == "POST" and (kept := keep_typing(request)):
        goal = f"{request.path}?{urlencode({'kept': kept})}"
    return redirect(f"{reverse('sign_in')}?{urlencode({'next': goal})}")


def keep_typing(request: HttpRequest) -> str:
    """Keep the form for the person its key names; empty when there is no such person."""
    try:
        user_id, key = signing.loads(request.POST.get("form_key", ""), salt=_SALT)
    except (signing.BadSignature, ValueError, TypeError):
        return ""
    if not user_id:
        return ""
    now = clock.now()
    KeptTyping.objects.filter(at__lt=now - KEPT_FOR).delete()
    fields = {name: values for name, values in request.POST.lists() if name not in _NEVER_KEPT}
    KeptTyping.objects.update_or_create(
        key=key, defaults={"user_id": user_id, "path": request.path, "fields": fields, "at": now}
    )
    return str(key)


def typed_before(request: HttpRequest) -> QueryDict | None:
    """What this person had typed into this form when their session ended.

    It can be read again until the form is sent (see `submitted_once`) or its time is over, so that
    reloading the page loses nothing either.
    """
    kept = _kept_for(request).first() if "kept" in request.GET else None
    if kept is None:
        return None
    typed = QueryDict(mutable=True)
    for name, values in kept.fields.items():
        typed.setlist(name, values)
    return typed


def _kept_for(request: HttpRequest) -> QuerySet[KeptTyping]:
    return KeptTyping.objects.filter(
        key=request.GET.get("kept", ""),
        user_id=request.user.pk or 0,  # nobody, when signed out
        path=request.path,
        at__gte=clock.now() - KEPT_FOR,
    )


def form_refused(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001  (Django passes it)
    """The form's cross-site key did not fit, as after signing in again elsewhere: keep it, ask to resend."""
    kept = keep_typing(request)
    again = f"{request.path}?{urlencode({'kept': kept})}" if kept else request.get_full_path()
    return render(request, "form_refused.html", {"again": again, "kept": bool(kept)}, status=403)


def submitted_once(request: HttpRequest, form: str, write: Callable[[], str]) -> str:
    """Take a form once: the reference of what `write` made, now or when the same form came before.

    Typing that had been kept for this form has served its purpose and goes.
    """
    body = {name: values for name, values in request.POST.lists() if name not in _NEVER_KEPT}
    ref = taken_once(key=read_form_key(request), form=form, body=body, now=clock.now(), write=write)
    if "kept" in request.GET:
        _kept_for(request).delete()
    return ref
