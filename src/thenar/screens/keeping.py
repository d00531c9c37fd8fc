"""Form keys, and what happens to typing when a session ends in mid-form.

Every form carries a key that names the person it was made for. The key makes a second submit harmless,
and lets a form that arrives after the session has ended be kept for that person alone.
"""

from collections.abc import Callable
from urllib.parse import urlencode

from django.contrib import messages
from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from thenar.errors import BadInput
from thenar.records.kept_typing import forget, keep, kept_fields
from thenar.records.models import User
from thenar.records.receipts import taken_once
from thenar.records.refs import new_token
from thenar.screens import clock

_SALT = "thenar.form"
_NEVER_KEPT = {"csrfmiddlewaretoken", "form_key"}
_NOBODY = 0  # a form opened by a personal link, without an account


def new_form_key(user: User | None) -> str:
    """A key for one showing of one form."""
    return signing.dumps([user.pk if user else _NOBODY, new_token()], salt=_SALT)


def read_form_key(request: HttpRequest) -> str:
    """The inner key of a submitted form; refuse a form that carries none of ours, or another person's."""
    made_for, key = _opened(request)
    if not key or made_for not in (_NOBODY, request.user.pk):
        raise BadInput(
            what="This form has lost its key.",
            why="Without it, sending twice would make two records.",
            todo="Open the page again and send the form from there.",
        )
    return key


def _opened(request: HttpRequest) -> tuple[int, str]:
    """Whom a form's key was made for, and the key itself; empty when it is none of ours."""
    try:
        made_for, key = signing.loads(request.POST.get("form_key", ""), salt=_SALT)
    except (signing.BadSignature, ValueError, TypeError):
        return _NOBODY, ""
    return made_for, key


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
    made_for, key = _opened(request)
    if made_for == _NOBODY:
        return ""
    keep(key=key, user_id=made_for, path=request.path, fields=_typed(request), now=clock.now())
    return key


def _typed(request: HttpRequest) -> dict[str, list[str]]:
    return {name: values for name, values in request.POST.lists() if name not in _NEVER_KEPT}


def typed_before(request: HttpRequest) -> QueryDict | None:
    """What this person had typed into this form when their session ended; the page tells them it is back.

    It can be read again until the form is sent (see `submitted_once`) or its time is over, so that
    reloading the page loses nothing either.
    """
    typed = typing_kept(request)
    if typed and not hasattr(request, "told_of_typing"):  # however often the page asks
        messages.info(request, "Your typing is back; nothing is recorded yet.")
        request.told_of_typing = True  # type: ignore[attr-defined]
    return typed


def typing_kept(request: HttpRequest) -> QueryDict | None:
    """What is kept of this form for this person, without a word about it."""
    key, user_id = request.GET.get("kept"), request.user.pk
    if not key or user_id is None:
        return None
    fields = kept_fields(key=key, user_id=user_id, path=request.path, now=clock.now())
    if fields is None:
        return None
    typed = QueryDict(mutable=True)
    for name, values in fields.items():
        typed.setlist(name, values)
    return typed


def form_refused(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001  (Django passes it)
    """The form's cross-site key did not fit, as after signing in again elsewhere: keep it, ask to resend."""
    kept = keep_typing(request)
    again = f"{request.path}?{urlencode({'kept': kept})}" if kept else request.get_full_path()
    return render(request, "form_refused.html", {"again": again, "kept": bool(kept)}, status=403)


def submitted_once(request: HttpRequest, form: str, write: Callable[[], str]) -> str:
    """Take a form once: the reference of what `write` made, now or when the same form came before.

    Typing that had been kept for this form has served its purpose and goes.
    """
    ref = taken_once(
        key=read_form_key(request), form=form, body=_typed(request), now=clock.now(), write=write
    )
    if "kept" in request.GET and request.user.pk is not None:
        forget(key=request.GET["kept"], user_id=request.user.pk)
    return ref
