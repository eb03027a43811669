"""A page with one form that does one act: shown, checked, done once, or shown again as typed."""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.html import format_html

from studio import half_filled, making
from studio.closing import moves_told
from studio.errors import StudioError
from studio.once import act_once, new_token
from studio.requests import StudioRequest

Made = TypeVar("Made")


def form_page(
    request: StudioRequest,
    form: forms.BaseForm,
    *,
    title: str,
    act: Callable[[Any], Made],
    done: Callable[[Made], tuple[str, str]],
    prepare: Callable[[dict[str, Any]], AbstractContextManager[Any]] = nullcontext,
    is_valid: Callable[[], bool] | None = None,
    template: str = "studio/form_page.html",
    button: str = "Save",
    **context: Any,
) -> HttpResponse:
    """Show ``form``; when it comes back valid, run ``act`` on it and go on.

    Parameters
    ----------
    form : django.forms.Form
        Bound when the request is a POST.
    act : callable
        Takes the form's cleaned data, calls one service and returns its result.
    done : callable
        Takes that result and returns the message to show and where to go.
    prepare : callable, optional
        Takes the cleaned data and gives, as a context, what ``act`` takes in its place: for what
        takes long, since ``act`` runs in a transaction that keeps others waiting.
    is_valid : callable, optional
        Says whether all that was sent is right, where more than ``form`` was sent.
    context : dict
        More for the template: ``back`` (a URL) and ``back_label``, ``lead`` (a sentence),
        ``hazards`` (acts of `studio.cautions`), ``archive`` (where to put the row away),
        ``is_danger``, ``warning`` (a template of what to heed).

    Fields of a kind that this member does not see are left out, as the form's ``sights`` say:
    {name: kind}, see `studio.sight`.

    A refusal stands above the form, or beside the fields that it names, and nothing that was typed
    is lost; a field with a method ``show`` is out of sight until then. The page carries a token, so
    that sending it twice (a double tap, a reload) acts once, see `studio.once`. What its choices
    lack can be made in between, see `studio.making`.
    """
    if request.method == "POST" and (left := making.leave(request, title)):
        return left
    for name, sight in getattr(form, "sights", {}).items():
        if not request.membership.sees(sight):
            form.fields.pop(name, None)
    if request.method == "POST" and (is_valid or form.is_valid)():
        try:
            with prepare(form.cleaned_data) as ready:
                message, url = act_once(
                    request, lambda: _told(lambda: act(ready), _then(request, done))
                )
        except StudioError as error:
            _refuse(form, error)
        else:
            messages.success(request, message)
            return redirect(url)
    context.update(form=form, title=title, button=button, once=new_token())
    _between(request, form, context)
    is_refused = request.method == "POST" and form.is_bound
    return render(request, template, context, status=422 if is_refused else 200)


def _then(
    request: StudioRequest, done: Callable[[Made], tuple[str, str]]
) -> Callable[[Made], tuple[str, str]]:
    """Lead from ``done`` back to the form that waits for what was made, where one does."""

    def told(made: Made) -> tuple[str, str]:
        message, url = done(made)
        return message, half_filled.come_back(request, made) or url

    return told


def _between(request: StudioRequest, form: forms.BaseForm, context: dict[str, Any]) -> None:
    """Let what a form lacks be made in between, and show it as it was left when it comes back."""
    making.offer_making(request.membership, form)
    if request.method != "POST" and form.is_bound:
        half_filled.hush(*context.values(), *vars(form).values())
    if left := half_filled.waiting(request):
        context.update(back=left.url, back_label=left.title)
        if not form.is_bound:
            form.initial = {**form.initial, **left.asked}


def _refuse(form: forms.BaseForm, error: StudioError) -> None:
    """Tell a refusal beside the fields that it is about, else above the form."""
    named = {name: said for name, said in error.fields.items() if name in form.fields}
    for name, sentences in named.items():
        getattr(form.fields[name], "show", bool)()
        form[name].help_text = error.hints.get(name, form[name].help_text)
        if name in error.offers:
            sent: Any = form.data.copy()  # type: ignore[attr-defined]  # what a browser sent has it
            sent[form.add_prefix(name)] = error.offers[name]
            form.data = sent
        form.add_error(name, sentences)
    if not named:
        form.add_error(None, str(error))


def action(
    request: StudioRequest,
    act: Callable[[], Made],
    done: Callable[[Made], tuple[str, str]],
    back: str,
) -> HttpResponse:
    """Do an act that needs no form (a button): once, or refused in words on the page ``back``."""
    try:
        message, url = act_once(request, lambda: _told(act, done))
    except StudioError as error:
        messages.error(request, str(error))
        return redirect(back)
    messages.success(request, message)
    return redirect(url)


def _told(act: Callable[[], Made], done: Callable[[Made], tuple[str, str]]) -> tuple[str, str]:
    """Return the message and where to go, with what the act booked later than it is dated."""
    with moves_told() as moved:
        result = act()
    message, url = done(result)
    for sentence in moved:
        message += format_html(" {}", sentence)  # so that a message with a link in it stays one
    return message, url
