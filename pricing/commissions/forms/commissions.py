"""Forms for commissions, their lines and their quotes."""

from typing import Any, ClassVar

from django import forms
from django.utils import timezone

from inventory.models import Material
from pricing.commissions.likeness import pours_to_like
from pricing.commissions.orders import tile_problem
from pricing.costing.asking import usual_channel
from pricing.estimating.bases import base_problem
from pricing.estimating.forms.bases import base_choice
from pricing.estimating.forms.uses import use_choice
from pricing.estimating.kits import topcoat_problem
from pricing.estimating.sizes import get_or_make_surface
from pricing.models import (
    Channel,
    Commission,
    CommissionLine,
    Customer,
    Palette,
    Pour,
    ResinKit,
    SavedSurface,
    Technique,
)
from pricing.readiness.forms import add_reason
from studio.dates import in_full
from studio.formfields import DayField, PercentField, money_field, size_field
from studio.model_forms import make_none, own_choices, start_new
from studio.models import Studio
from studio.money import ZERO
from studio.sight import ADDRESSES


class PourChoice(forms.ModelChoiceField):
    """A pour, told by what came of it and when."""

    def label_from_instance(self, obj: Any) -> str:
        pour: Pour = obj
        what = f"{pour.count} × {pour.surface.name}, {pour.technique.name.lower()}, {pour.palette}"
        return f"{what}, {in_full(timezone.localtime(pour.poured_at).date())} ({pour})"


class CommissionForm(forms.Form):
    """Who asks for what, and by when."""

    sights: ClassVar = {"new_email": ADDRESSES}

    def __init__(self, *args: Any, studio: Studio, with_like: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        self.fields["customer"] = forms.ModelChoiceField(
            own_choices(Customer.objects.all(), studio),
            required=False,
            empty_label="Somebody new",
        )
        make_none(self, "customer")
        self.fields["new_customer"] = forms.CharField(
            max_length=120, required=False, label="Or a new customer's name"
        )
        self.fields["new_email"] = forms.EmailField(required=False, label="Their e-mail")
        self.fields["title"] = forms.CharField(
            max_length=120, label="What it is", help_text="Such as “Coasters and a canvas”."
        )
        if with_like:
            self.fields["like"] = PourChoice(
                pours_to_like(studio),
                to_field_name="number",
                required=False,
                label="Like one you made",
                empty_label="No, something new",
                help_text="What was poured then is filled in on the next page.",
            )
        self.fields["due_on"] = DayField(label="Wanted by", required=False)
        self.fields["notes"] = forms.CharField(
            required=False, widget=forms.Textarea(attrs={"rows": 3})
        )

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if not data.get("customer") and not data.get("new_customer"):
            raise forms.ValidationError("Choose a customer, or give a new one's name.")
        return data


class LineForm(forms.Form):
    """So many pieces or sets, by size, technique and palette."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        self.fields["surface"] = forms.ModelChoiceField(
            own_choices(SavedSurface.objects.all(), studio),
            required=False,
            label="A size you keep",
            empty_label="Another size",
        )
        make_none(self, "surface")
        self.fields["size"] = size_field(studio, required=False, label="Or another size")
        techniques = own_choices(Technique.objects.filter(is_offered=True), studio)
        self.fields["technique"] = forms.ModelChoiceField(techniques, empty_label="Choose")
        self.fields["base"] = base_choice()
        self.fields["palette"] = forms.ModelChoiceField(
            own_choices(Palette.objects.all(), studio), empty_label="Choose"
        )
        self.fields["topcoat"] = forms.ModelChoiceField(
            own_choices(ResinKit.objects.all(), studio),
            required=False,
            label="Resin topcoat",
            empty_label="None",
        )
        self.fields["quantity"] = forms.IntegerField(
            label="How many", min_value=1, max_value=500, initial=1
        )
        self.fields["pieces_each"] = forms.IntegerField(
            label="Pieces in each",
            min_value=1,
            max_value=24,
            initial=1,
            help_text="4 for a set of four coasters, 1 for a canvas.",
        )
        self.fields["packaging"] = forms.ModelChoiceField(
            own_choices(Material.objects.filter(kind="packaging"), studio),
            required=False,
            label="Packed in",
            empty_label="Nothing",
        )
        start_new(self, "packaging", kind="packaging", unit="each")
        self.fields["use"] = use_choice()
        self.fields["is_test"] = forms.BooleanField(
            required=False,
            label="A test tile",
            help_text="One, poured first, for the customer to say whether the colours are right. "
            "It is not packed or handed over.",
        )
        self.fields["is_free"] = forms.BooleanField(
            required=False,
            label="Free: not in the price",
            help_text="Of a test tile. It stands on the quote as free, and you earn less.",
        )
        add_reason(self)

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if bool(data.get("surface")) == bool(data.get("size")) and not self.errors.get("size"):
            raise forms.ValidationError("Choose a size you keep, or type another one.")
        technique = data.get("technique")
        if technique and (problem := base_problem(technique, data.get("base", ""))):
            self.add_error("base", problem)
        if problem := topcoat_problem(data.get("topcoat")):
            self.add_error("topcoat", problem)
        asked = (data["is_test"], data["is_free"], data.get("quantity"), data.get("packaging"))
        if "quantity" in data and (wrong := tile_problem(*asked)):
            self.add_error(*wrong)
        return data

    def line(self) -> dict[str, Any]:
        """Return what the line is, its surface saved if the size is new."""
        data = dict(self.cleaned_data)
        size = data.pop("size")
        data["surface"] = data["surface"] or get_or_make_surface(self.studio, size)
        return data


def line_initial(line: CommissionLine) -> dict[str, object]:
    """Return what a line's form starts from."""
    names: tuple[str, ...] = ("surface", "technique", "base", "palette", "topcoat")
    names += ("quantity", "pieces_each")
    names += ("packaging", "use", "is_test", "is_free")
    return {name: getattr(line, name) for name in names}


class QuoteForm(forms.Form):
    """What may differ from the studio's own terms for one quote."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if studio.price_by == Studio.PriceBy.MARKUP:
            self.fields["markup"] = PercentField(
                label="Markup on the cost (%)", max_value=1000, initial=studio.markup
            )
        else:
            self.fields["margin"] = PercentField(
                label="Margin (%)", max_value=95, initial=studio.margin
            )
        self.fields["rush"] = PercentField(label="Rush charge (%)", max_value=200, initial=ZERO)
        self.fields["discount"] = PercentField(label="Discount (%)", max_value=90, initial=ZERO)
        self.fields["shipping"] = money_field(
            studio,
            label="Shipping, before tax",
            required=False,
            hint="What it costs you. The quote asks for it with the tax on it, and no margin.",
        )
        self.fields["channel"] = forms.ModelChoiceField(
            own_choices(Channel.objects.all(), studio),
            required=False,
            label="Paid through",
            initial=usual_channel(studio),
            empty_label="Straight to the studio",
            help_text="Its fees are earned back in the price.",
        )
        self.fields["deposit"] = PercentField(label="Deposit (%)", initial=studio.deposit)

    def terms(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {**data, "shipping": data["shipping"] or ZERO}


class AnswerForm(forms.Form):
    """The customer's answer, taken down by the studio."""

    name = forms.CharField(label="Answered by", max_length=120)
    note = forms.CharField(label="Note", max_length=300, required=False)


class CustomerAcceptForm(forms.Form):
    """The customer's acceptance, given by the customer."""

    name = forms.CharField(
        label="Your name",
        min_length=2,
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )


class CustomerDeclineForm(CustomerAcceptForm):
    """The customer's refusal with a reason, given by the customer."""

    note = forms.CharField(
        label="Why not?",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="A few words are enough, such as “too late for the wedding”.",
    )


class StepForm(forms.Form):
    """A step taken by hand."""

    status = forms.ChoiceField(choices=Commission.Status.choices, widget=forms.HiddenInput)
    note = forms.CharField(max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        add_reason(self)
