"""What to print for those who take care of a piece."""

from django import forms

WHAT = [("cards", "Care cards, 8 on a sheet"), ("tags", "Tags, 32 on a sheet")]
MOST_COPIES = 50


class CareForm(forms.Form):
    """Cards or tags, and how many of each, as the address asks, to be printed again."""

    what = forms.ChoiceField(label="Print", choices=WHAT, initial="cards")
    copies = forms.IntegerField(
        label="How many of each", min_value=1, max_value=MOST_COPIES, initial=1
    )
    each = forms.BooleanField(
        label="One for each piece", required=False, help_text="Else one for the whole set."
    )
