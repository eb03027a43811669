"""A page with one form that does one act: shown, checked, done once, or shown again as typed."""

import secrets

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.shortcuts import redirect, render

from studio.errors import StudioError
from studio.models import IdempotencyRecord

ONCE = "once"


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
        More for the template: ``back`` (a URL), ``lead`` (a sentence), ``caution`` (a template).

    A refusal stands above the form and nothing that was typed is lost. The page carries a token, so
    that sending it twice (a double tap, a reload) acts once.
    """
    if request.method == "POST" and form.is_valid():
        token = request.POST.get(ONCE, "")
        try:
            message, url = _once(request, token, lambda: done(act(form.cleaned_data)))
        except StudioError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, message)
            return redirect(url)
    context.update(form=form, title=title, button=button, once=secrets.token_urlsafe(16))
    return render(request, template, context, status=422 if form.is_bound else 200)


def _once(request, token, work):
    """Run ``work`` and remember where it led; for a token seen before, only repeat that."""
    key = f"page:{token}"[:80]
    told = {"user": request.user, "method_and_path": f"POST {request.path}"[:300]}
    try:
        with transaction.atomic():
            record = None
            if token:
                record = IdempotencyRecord.objects.create(
                    studio=request.studio, key=key, body_digest="", **told
                )
            message, url = work()
            if record:
                record.status, record.answer = 302, {"message": str(message), "url": str(url)}
                record.save(update_fields=["status", "answer"])
            return message, url
    except IntegrityError:
        record = IdempotencyRecord.objects.filter(studio=request.studio, key=key).first()
        if record is None:
            raise
        return record.answer["message"], record.answer["url"]


def action(request, act, done, back):
    """Do an act that needs no form (a button): once, or refused in words on the page ``back``."""
    try:
        message, url = _once(request, request.POST.get(ONCE, ""), lambda: done(act()))
    except StudioError as error:
        messages.error(request, str(error))
        return redirect(back)
    messages.success(request, message)
    return redirect(url)
