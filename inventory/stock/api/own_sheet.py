"""A sheet of any layout: shown as it is understood or, with ``apply``, its good rows brought in."""

import base64
from collections.abc import Mapping
from contextlib import AbstractContextManager, nullcontext
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.urls import path
from rest_framework import serializers

from inventory.stock.imports import own
from inventory.stock.imports.own.looking import OUTCOMES
from inventory.stock.imports.own.planning import SHELF, SHELF_QUESTION
from inventory.stock.sheets import QUESTIONS, ROLES, SKIPPED, Told
from studio.api.acts import act
from studio.api.parsers import CleanMultiPartParser
from studio.api.rows import checked_serializer
from studio.api.viewsets import StudioViewSet
from studio.requests import ApiRequest
from studio.sight import COSTS
from studio.tables import Limits

ASKED = {**QUESTIONS, SHELF: SHELF_QUESTION}


def _answer(key: str) -> serializers.ChoiceField:
    sentence, options = ASKED[key]
    return serializers.ChoiceField(options, required=False, help_text=sentence)


class OwnSheetIn(serializers.Serializer):
    """A CSV or XLSX file of up to 2 MB and 2,000 rows, and what is said of it.

    What is not said is guessed, or is as it was for the same headings before.
    """

    file = serializers.FileField(max_length=200)
    apply = serializers.BooleanField(
        default=False, help_text="Bring the good rows in; without this they are only shown."
    )
    columns = serializers.CharField(
        required=False,
        max_length=2_000,
        help_text="What each column holds, from the first on, parted by commas: "
        f"{', '.join(ROLES)}, or {SKIPPED}.",
    )
    heading_row = serializers.IntegerField(
        required=False, min_value=0, max_value=100_000, help_text="0 where there are no headings."
    )
    ounces, days, decimals = (_answer(key) for key in ("ounces", "days", "decimals"))
    priced, unpriced, shelf = (_answer(key) for key in ("priced", "unpriced", SHELF))

    def validate_columns(self, text: str) -> dict[int, str]:
        """Return {place: role}."""
        roles = [role.strip() for role in text.split(",")]
        unknown = [role for role in roles if role not in ROLES and role != SKIPPED]
        chosen = [role for role in roles if role != SKIPPED]
        if unknown:
            raise serializers.ValidationError(f"There is no column “{unknown[0]}”.")
        if len(set(chosen)) < len(chosen):
            raise serializers.ValidationError("Name each kind of column once.")
        return dict(enumerate(roles))


class OutcomeCountsOut(serializers.Serializer):
    good, same, ask, wrong = (serializers.IntegerField() for _ in range(4))


class SheetOptionOut(serializers.Serializer):
    value, words = serializers.CharField(), serializers.CharField()


class SheetQuestionOut(serializers.Serializer):
    """A question for the whole sheet; ``answer`` is empty while it waits for one."""

    key, sentence, answer = (serializers.CharField() for _ in range(3))
    options = SheetOptionOut(many=True)


class SheetColumnOut(serializers.Serializer):
    """What a column was taken for, by its place from 0 on."""

    place = serializers.IntegerField()
    heading, role = serializers.CharField(), serializers.CharField()


class RowRemarkOut(serializers.Serializer):
    """A question or a reason, of a cell or, where the heading is empty, of the row."""

    heading, sentence = serializers.CharField(), serializers.CharField()
    is_wrong = serializers.BooleanField()


class SheetRowOut(serializers.Serializer):
    """One row that stands for a thing, by its number in the sheet."""

    row = serializers.IntegerField()
    name = serializers.CharField()
    outcome = serializers.ChoiceField(OUTCOMES)
    brings = serializers.ListField(child=serializers.CharField())
    remarks = RowRemarkOut(many=True)


class OwnSheetOut(serializers.Serializer):
    """How a sheet was understood, and what becomes, or became, of every row."""

    applied = serializers.BooleanField()
    heading_row = serializers.IntegerField()
    columns = SheetColumnOut(many=True)
    questions = SheetQuestionOut(many=True)
    counts = OutcomeCountsOut()
    notices = serializers.ListField(child=serializers.CharField())
    rows = SheetRowOut(many=True)
    to_mend = serializers.CharField(
        allow_null=True, help_text="The rows left out, as an XLSX file in base64, once applied."
    )


class OwnSheets(StudioViewSet):
    """A list that a studio keeps already, as it is laid out."""

    parser_classes = (CleanMultiPartParser,)
    sights = (COSTS,)

    def prepare(self, request: ApiRequest) -> AbstractContextManager[own.SheetReady]:
        sent = checked_serializer(request, OwnSheetIn).validated_data
        answers = {key: sent[key] for key in ASKED if key in sent}
        told = Told(sent.get("columns"), sent.get("heading_row"), answers)
        body = sent["file"].read(Limits().body + 1)
        return nullcontext(own.look(studio=self.studio, body=body, told=told))

    @act(OwnSheetIn, gives=OwnSheetOut, on_row=False)
    def bring_in(self, file: UploadedFile, apply: bool, **said: Any) -> dict[str, Any]:
        """See how a sheet of any layout is understood, or bring its good rows in.

        The good rows come in together or not at all; those in doubt and the wrong ones are given
        back as a sheet that says what to mend.
        """
        ready: own.SheetReady = self.ready
        to_mend = None
        if apply:
            result = own.bring_in_good(
                studio=self.studio, by=self.request.user, ready=ready, file_name=file.name or ""
            )
            to_mend = result.to_mend and base64.b64encode(result.to_mend).decode()
        return {"applied": apply, "to_mend": to_mend, **_shown(ready)}


def _shown(ready: own.SheetReady) -> Mapping[str, Any]:
    layout = ready.reading.layout
    places = range(max(len(layout.headings), *(place + 1 for place in layout.columns), 0))
    headings = [*layout.headings, *[""] * len(places)]
    return {
        "heading_row": layout.heading_row,
        "columns": [
            {
                "place": place,
                "heading": headings[place],
                "role": layout.columns.get(place, SKIPPED),
            }
            for place in places
        ],
        "questions": [
            {
                "key": one.key,
                "sentence": one.sentence,
                "answer": one.answer,
                "options": [{"value": value, "words": words} for value, words in one.options],
            }
            for one in ready.plan.questions
        ],
        "counts": ready.counts,
        "notices": ready.notices,
        "rows": [
            {
                "row": one.row.number,
                "name": one.row.name,
                "outcome": one.outcome,
                "brings": one.brings,
                "remarks": one.remarks,
            }
            for one in ready.plan.rows
        ],
    }


urlpatterns = [
    path(
        "imports/own-sheet/",
        OwnSheets.as_view({"post": "bring_in"}, basename="api-own-sheet"),
        name="api-own-sheet",
    )
]
