"""A page with one form that does one act: shown, checked, done once, or shown again as typed."""

import hashlib
import secrets

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.shortcuts import redirect, render

from studio.errors import StudioError
from studio.models import IdempotencyRecord

ONCE = "once"


class Clash(StudioError):
    """The database refused a row: it would stand twice, or break what must always hold."""

    code = "clash"


def form_page(
    request, form, *, title, act, done, template="studio/form_page.html", button="Save", **context
):
    """Show ``form``; when it comes back valid, run ``act`` on it and go on.

    Parameters
    ----------
    form : django.forms.Form
        Bound when the request is a POST.
    act : callable
        Takes the form's cleaned data, calls one service and returns its result.
    done : callable
        Takes that result and returns the message to show and where to go.
    context : dict
        More for the template: ``back`` (a URL) and ``back_label``, ``lead`` (a sentence),
        ``hazard`` (a caution), ``archive`` (where to put the row away).

    A refusal stands above the form and nothing that was typed is lost. The page carries a token, so
    that sending it twice (a double tap, a reload) acts once.
    """
    if request.method == "POST" and form.is_valid():
        try:
            message, url = _once(request, lambda: done(act(form.cleaned_data)))
        except StudioError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, message)
            return redirect(url)
    context.update(form=form, title=title, button=button, once=new_token())
    return render(request, template, context, status=422 if form.is_bound else 200)


def action(request, act, done, back):
    """Do an act that needs no form (a button): once, or refused in words on the page ``back``."""
    try:
        message, url = _once(request, lambda: done(act()))
    except StudioError as error:
        messages.error(request, str(error))
        return redirect(back)
    messages.success(request, message)
    return redirect(url)


def new_token():
    """Return what makes one showing of a page known again; it stands in a field called ``once``."""
    return secrets.token_urlsafe(16)


def _once(request, work):
    """Run ``work`` and remember where it led; for the same page sent again, only repeat that."""
    digest = _digest(request)
    key = f"page:{digest}"
    try:
        with transaction.atomic():
            record = digest and IdempotencyRecord.objects.create(
                studio=request.studio,
                user=request.user,
                key=key,
                method_and_path=f"POST {request.path}"[:300],
                body_digest=digest,
            )
            message, url = work()
            if record:
                record.status, record.answer = 302, {"message": str(message), "url": str(url)}
                record.save(update_fields=["status", "answer"])
            return message, url
    except IntegrityError as error:
        told = IdempotencyRecord.objects.filter(studio=request.studio, key=key).first()
        if told is None:
            raise Clash(
                "This clashes with something that is there already, perhaps saved a moment ago. "
                "Look at what is there, change what is the same, and save again."
            ) from error
        return told.answer["message"], told.answer["url"]


def _digest(request):
    """Return what tells one sending of a page from all others; empty for a page without a token.

    It is of the person, the address and all that was typed: the same token from somebody else, or
    with another amount after going back, is another act.
    """
    if not request.POST.get(ONCE):
        return ""
    typed = request.POST.copy()
    typed.pop("csrfmiddlewaretoken", None)
    text = f"{request.user.pk} {request.path} {typed.urlencode()}"
    return hashlib.sha256(text.encode()).hexdigest()
