"""The first page, signing in and out, and the demo's doors."""

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate, login, logout
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import Resolver404, resolve
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from thenar.records.actions.sign_ins import note_signed_in, note_signed_out
from thenar.records.models import User
from thenar.records.queries.demo_people import demo_person
from thenar.screens import clock
from thenar.screens.frame import first_page
from thenar.screens.front.doors import doors_open
from thenar.screens.middleware import begin_session
from thenar.screens.people import person

NOT_KNOWN = "That name and password do not belong together. Check both, and try again."


class SignIn(forms.Form):
    """Name and password. Whatever is wrong, the answer is the same."""

    username = forms.CharField(
        label="User name",
        max_length=150,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
        error_messages={"required": "Enter your user name."},
    )
    password = forms.CharField(
        label="Password",
        max_length=256,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Enter your password."},
    )


@require_safe
def home(request: HttpRequest) -> HttpResponseBase:
    """Send everyone to the page they work from."""
    if not request.user.is_authenticated:
        return redirect("sign_in")
    return redirect(first_page(person(request)))


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponseBase:
    """Ask who someone is; then go where they were going."""
    goal = own_path(request.GET.get("next", ""))
    if request.method != "POST":
        if request.user.is_authenticated:
            return redirect(goal or "home")
        return _ask(request, SignIn(), goal)
    form = SignIn(request.POST)
    if form.is_valid():
        user = authenticate(request, **form.cleaned_data)
        if isinstance(user, User):
            return _enter(request, user, goal, how="password")
        form.add_error(None, NOT_KNOWN)
    return _ask(request, form, goal)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponseBase:
    """End the session, and everything it held."""
    if isinstance(request.user, User):
        note_signed_out(by=request.user, now=clock.now())
    logout(request)
    messages.info(request, "You are signed out.")
    return redirect("sign_in")


@require_safe
def demo_door(request: HttpRequest, who: str) -> HttpResponseBase:
    """Sign in as one of five invented people, and go where they were going: in the demo, on this machine."""
    door = next((door for door in doors_open(request) if door.who == who), None)
    user = demo_person(door.username) if door else None
    if user is None:
        raise Http404
    return _enter(request, user, own_path(request.GET.get("next", "")), how="demo door")


def own_path(text: str) -> str:
    """`text` if it is the path of one of our own pages, else nothing.

    Examples
    --------
    >>> own_path("//elsewhere.example/today/"), own_path("https://elsewhere.example/"), own_path("nowhere")
    ('', '', '')
    """
    if not text.startswith("/") or not url_has_allowed_host_and_scheme(text, allowed_hosts=None):
        return ""
    try:
        resolve(text.partition("?")[0])
    except Resolver404:
        return ""
    return text


def _ask(request: HttpRequest, form: SignIn, goal: str) -> HttpResponse:
    return render(
        request,
        "front/sign_in.html",
        {"form": form, "goal": goal, "doors": doors_open(request)},
    )


def _enter(request: HttpRequest, user: User, goal: str, *, how: str) -> HttpResponseBase:
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    begin_session(request)
    note_signed_in(by=user, now=clock.now(), how=how)
    return redirect(goal or first_page(user))
