"""The form in which the pieces of a pour are judged."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django import forms

from pricing.bench.judging import Seen
from pricing.models import FinishedPiece, Judgement
from pricing.models.judgement import LEAST, MOST, faults_of
from studio.formfields import PastMomentField, PicturesField

Verdict = FinishedPiece.Verdict
NOT_YET = ("", "Not judged")
SHORT = {Verdict.GOOD: "Good", Verdict.SECOND: "Second", Verdict.FAILED: "Failed"}
# So many pictures of a piece at once.
AT_ONCE = 3


def _rating(label: str) -> forms.TypedChoiceField:
    numbers = [(number, str(number)) for number in range(LEAST, MOST + 1)]
    return forms.TypedChoiceField(
        label=label,
        choices=[("", "–"), *numbers],
        coerce=int,
        empty_value=None,
        required=False,
    )


class PieceForm(forms.Form):
    """How one piece came out; what is left alone is not known."""

    cells = _rating("Cells, 1 to 5")
    composition = _rating("Composition, 1 to 5")
    note = forms.CharField(max_length=1000, required=False)
    pictures = PicturesField(most=AT_ONCE, label="Picture", required=False, help_text="")

    def __init__(
        self, *sent: Any, piece: FinishedPiece, stage: str, judged: Judgement | None
    ) -> None:
        self.piece, self.judged = piece, judged
        initial: dict[str, Any] = {"verdict": ""}
        if judged:
            initial = {name: getattr(judged, name) for name in ("verdict", "cells", "composition")}
            initial |= {"note": judged.note, "faults": list(judged.fault_codes)}
        data, files = sent or (None, None)
        super().__init__(data, files, prefix=f"piece{piece.number}", initial=initial)
        choices = [(one.value, SHORT[one]) for one in Verdict]
        self.fields["verdict"] = forms.ChoiceField(
            label="How it came out",
            choices=[*choices, NOT_YET],
            required=False,
            widget=forms.RadioSelect,
        )
        known = [(one.value, str(one.label)) for one in faults_of(stage)]
        others = set(judged.fault_codes if judged else ()) - dict(known).keys()
        more = [(code, str(Judgement.Fault(code).label)) for code in sorted(others)]
        self.fields["faults"] = forms.MultipleChoiceField(
            label="Faults",
            choices=[*known, *more],
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        told = any(data.get(name) for name in self.fields if name != "verdict")
        if told and not data.get("verdict") and not self.judged and not self.errors:
            self.add_error("verdict", f"Say how piece {self.piece.number} came out.")
        return data

    def seen(self) -> Seen:
        """Return what was seen of the piece."""
        return Seen(piece=self.piece.number, **self.cleaned_data)


class JudgingForm(forms.Form):
    """When pieces were judged, and each of them."""

    rest = forms.BooleanField(
        label="All pieces left open came out well",
        required=False,
        help_text="Of this pour, on other pages of it too.",
    )
    judged_at = PastMomentField(label="Judged", required=False, help_text="Now, if left empty.")

    def __init__(
        self,
        *args: Any,
        stage: str,
        shown: Iterable[FinishedPiece],
        left: Iterable[int],
        judged: Mapping[int, Judgement],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.left = tuple(left)
        sent = (self.data, self.files) if self.is_bound else ()
        self.pieces = [
            PieceForm(*sent, piece=piece, stage=stage, judged=judged.get(piece.pk))
            for piece in shown
        ]

    def all_valid(self) -> bool:
        """Tell whether everything that was sent is right."""
        valid = [self.is_valid(), *(one.is_valid() for one in self.pieces)]
        for one in self.pieces:
            if one.errors:
                self.add_error(None, f"Please look at piece {one.piece.number} again.")
        if all(valid) and not self.seen():
            self.add_error(None, "Say how at least one piece came out.")
            return False
        return all(valid)

    def seen(self) -> list[Seen]:
        """Return what was seen of the pieces of which something new is said."""
        told = [one.seen() for one in self.pieces if one.has_changed()]
        if not self.cleaned_data["rest"]:
            return told
        open_ones = set(self.left) - {one.piece for one in told if one.verdict}
        told = [one for one in told if one.verdict or one.piece not in open_ones]
        return [*told, *(Seen(number, Verdict.GOOD) for number in sorted(open_ones))]

    def moment(self) -> datetime | None:
        """Return when they were judged, or None for now."""
        found: datetime | None = self.cleaned_data["judged_at"]
        return found
