"""Whose check this is: a worker who signed in, or one who followed a personal link."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render

from thenar.records.actions.check_drafts import DraftOwner
from thenar.records.models import CheckLink, SkinCheck, User, Worker
from thenar.records.queries.links import can_be_used, followed_link, sent_check
from thenar.records.queries.mine import own_worker
from thenar.records.rights import Act, require
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.keeping import ask_to_sign_in
from thenar.screens.people import person
from thenar.skin.triage import red_flag_advice

_LINK, _SENT = "check_link", "check_sent"
RESULT_STAYS = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class Visitor:
    """Someone with a check to give."""

    worker: Worker
    by: User | None
    link: CheckLink | None

    @property
    def owner(self) -> DraftOwner:
        """As the owner of the answers on their way."""
        return DraftOwner(self.worker, self.by, self.link)

    def may_answer(self, now: datetime) -> bool:
        """A spent or expired link takes no more answers."""
        return self.link is None or can_be_used(self.link, now=now)


def for_visitors(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Only for someone whose check it is. A link that ran out meanwhile gets the page for such links.

    A form that is sent goes through to the view even so: the same check sent twice must find its receipt.
    """

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        visitor = visitor_of(request)
        if visitor is not None and request.method != "POST" and not visitor.may_answer(clock.now()):
            del request.session[_LINK]
            visitor = visitor_of(request)  # who is signed in goes on with their own check
            if visitor is None:
                return link_not_usable(request)
        if visitor is None:
            return ask_to_sign_in(request)
        return view(request, visitor, *args, **kwargs)

    guarded.act = Act.SEE_OWN  # type: ignore[attr-defined]
    return guarded


def visitor_of(request: HttpRequest) -> Visitor | None:
    """The visitor of this session: by the link followed in it, else by the account."""
    link = _link_in(request)
    if link is not None:
        signed_in = request.user.is_authenticated and link.worker.user_id == request.user.pk
        return Visitor(link.worker, person(request) if signed_in else None, link)
    if not request.user.is_authenticated:
        return None
    require(person(request), Act.SEE_OWN)
    return Visitor(own_worker(person(request)), person(request), None)


def follow(request: HttpRequest, link: CheckLink) -> None:
    """Remember in the session which link was followed: its hash, never its secret."""
    request.session.cycle_key()
    request.session.pop(_SENT, None)
    request.session[_LINK] = [link.token_hash, _account(request)]


def remember_sent(request: HttpRequest, visitor: Visitor, ref: str) -> None:
    """Let this session show the result for a while."""
    until = (clock.now() + RESULT_STAYS).timestamp()
    request.session[_SENT] = [_account(request), until, ref, visitor.by is None]


def result_in(request: HttpRequest) -> SkinCheck | None:
    """The check sent in this session; none for someone else at the same computer, or after a while."""
    if not has_result(request):
        return None
    _, _, ref, by_link = request.session[_SENT]
    return sent_check(ref=ref, by=None if by_link else person(request), now=clock.now())


def has_result(request: HttpRequest) -> bool:
    """Whether a check was sent in this session, a short while ago, by whoever is here now."""
    account, until, *_ = request.session.get(_SENT, (None, 0))
    return bool(account == _account(request) and clock.now().timestamp() <= until)


def leave(request: HttpRequest) -> None:
    """Forget link and result, so that the next person at this device finds nothing."""
    for name in (_LINK, _SENT):
        request.session.pop(name, None)


def link_not_usable(request: HttpRequest) -> HttpResponse:
    """One answer for links that were used, expired or never existed."""
    context = {"red_flags": red_flag_advice(book()), "has_result": has_result(request)}
    return render(request, "check/link_not_usable.html", context, status=404)


def _link_in(request: HttpRequest) -> CheckLink | None:
    """The link this very person followed: what an earlier person left in the session counts for nothing."""
    hashed, account = request.session.get(_LINK, ("", None))
    return followed_link(hashed=hashed) if hashed and account == _account(request) else None


def _account(request: HttpRequest) -> int:
    return request.user.pk or 0
