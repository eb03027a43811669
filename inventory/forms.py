"""What a person may type about stock, packs and orders."""

from decimal import Decimal

from django import forms

from inventory.models import Bottle, Material, Pack, Recipe, Supplier
from inventory.validators import validate_unit_change
from studio.formfields import amount_field, money_field
from studio.model_forms import StudioModelForm, own_choices


def date_field(**options):
    return forms.DateField(widget=forms.DateInput(attrs={"type": "date"}), **options)


class MaterialForm(StudioModelForm):
    class Meta:
        model = Material
        fields = [
            "name",
            "kind",
            "unit",
            "swatch",
            "pigments",
            "density_g_per_ml",
            "tare_g",
            "reorder_point",
            "is_stocked",
            "has_silicone",
            "shelf_life_days",
            "opened_life_days",
            "heat_limit_c",
            "notes",
        ]
        labels = {
            "swatch": "Colour",
            "pigments": "Pigments",
            "is_stocked": "Count what is on the shelf",
            "has_silicone": "Contains silicone",
            "shelf_life_days": "Keeps unopened (days)",
            "opened_life_days": "Keeps once opened (days)",
        }
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def clean_unit(self):
        unit = self.cleaned_data["unit"]
        validate_unit_change(self.instance, unit)
        return unit


class SupplierForm(StudioModelForm):
    class Meta:
        model = Supplier
        fields = [
            "name",
            "email",
            "phone",
            "lead_days",
            "lead_sd_days",
            "minimum_order",
            "shipping_fee",
            "free_shipping_over",
            "notes",
        ]
        help_texts = {"free_shipping_over": "Leave empty when shipping is never free."}
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}


class PackForm(StudioModelForm):
    """A pack of one supplier; the size is read in the material's unit."""

    class Meta:
        model = Pack
        fields = [
            "material",
            "label",
            "size",
            "price",
            "minimum_count",
            "supplier_code",
            "tare_g",
            "is_on_offer",
        ]
        labels = {"minimum_count": "Least number sold at once", "is_on_offer": "Can be bought now"}

    def __init__(self, *args, supplier, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.supplier = supplier

    def _get_validation_exclusions(self):
        return super()._get_validation_exclusions() - {"supplier"}


class BottleForm(StudioModelForm):
    """What may be changed about a bottle: never what is in it."""

    class Meta:
        model = Bottle
        fields = ["place", "opened_on", "expires_on", "tare_g", "density_g_per_ml"]
        widgets = {
            "opened_on": forms.DateInput(attrs={"type": "date"}),
            "expires_on": forms.DateInput(attrs={"type": "date"}),
        }


class ReceiveForm(forms.Form):
    """One kind of bottle bought or found, without an order."""

    def __init__(self, *args, studio, material, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["bottles"] = forms.IntegerField(
            label="How many", min_value=1, max_value=500, initial=1
        )
        self.fields["size"] = amount_field(studio, material, label="In each")
        self.fields["price"] = money_field(studio, label="Paid for each, before tax")
        self.fields["freight"] = money_field(studio, label="Shipping and duty", required=False)
        self.fields["supplier"] = forms.ModelChoiceField(
            own_choices(Supplier.objects.all(), studio), required=False
        )
        self.fields["received_on"] = date_field(label="Arrived on", initial=studio.today)
        self.fields["expires_on"] = date_field(label="Expires on", required=False)
        self.fields["place"] = forms.CharField(max_length=60, required=False)
        self.fields["opening"] = forms.BooleanField(
            label="This was on the shelf before Pourwright", required=False
        )


class TakeForm(forms.Form):
    """So much out of a bottle, and why."""

    def __init__(self, *args, studio, bottle, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = amount_field(studio, bottle.material, label="How much")
        self.fields["why"] = forms.CharField(label="Why", max_length=200, required=False)


class WeighInForm(forms.Form):
    """A bottle on the kitchen scale."""

    gross_g = forms.DecimalField(
        label="Weight of bottle and contents (g)",
        min_value=Decimal("0"),
        max_value=Decimal("50000"),
        max_digits=8,
        decimal_places=2,
        widget=forms.NumberInput(attrs={"inputmode": "decimal"}),
    )


class RecountForm(forms.Form):
    """What is really there, counted or measured by hand."""

    def __init__(self, *args, studio, bottle, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = amount_field(studio, bottle.material, label="What is left")


class WhyForm(forms.Form):
    why = forms.CharField(label="Why", max_length=200)


class OrderLineForm(forms.Form):
    """One line of a draft order."""

    count = forms.IntegerField(label="How many", min_value=0, max_value=1000)


class ReceiveOrderForm(forms.Form):
    """What came of an order: counts by line, and what it cost to get here."""

    def __init__(self, *args, studio, order, **kwargs):
        super().__init__(*args, **kwargs)
        self.lines = list(order.lines.select_related("pack__material"))
        for line in self.lines:
            left = line.count - line.received_count
            self.fields[f"count_{line.pk}"] = forms.IntegerField(
                label=f"{line.pack.material}, {line.pack}",
                help_text=f"{left} still to come.",
                min_value=0,
                max_value=left,
                initial=left,
            )
            self.fields[f"price_{line.pk}"] = money_field(
                studio, label="Paid for each", required=False
            )
        self.fields["freight"] = money_field(studio, label="Shipping", required=False)
        self.fields["duty"] = money_field(studio, label="Duty", required=False)
        self.fields["discount"] = money_field(studio, label="Discount", required=False)
        self.fields["reference"] = forms.CharField(label="Invoice", max_length=80, required=False)
        self.fields["received_on"] = date_field(label="Arrived on", initial=studio.today)

    def counts(self):
        return {line: self.cleaned_data[f"count_{line.pk}"] or 0 for line in self.lines}

    def prices(self):
        given = {line: self.cleaned_data[f"price_{line.pk}"] for line in self.lines}
        return {line: price for line, price in given.items() if price is not None}


class RecipeForm(StudioModelForm):
    class Meta:
        model = Recipe
        fields = ["name", "role", "basis", "trace_seconds", "notes"]
        labels = {"role": "Used as", "basis": "Measured in"}
        widgets = {"notes": forms.Textarea(attrs={"rows": 2})}


class RecipePartForm(forms.Form):
    """One row of a recipe: so many parts of a material or of another recipe."""

    parts = forms.DecimalField(
        min_value=Decimal("0.001"),
        max_digits=9,
        decimal_places=3,
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )
    what = forms.ChoiceField(label="Of", required=False)

    def __init__(self, *args, choices, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["what"].choices = choices

    def clean(self):
        data = super().clean()
        if bool(data.get("parts")) != bool(data.get("what")) and not self.errors:
            raise forms.ValidationError(
                "Give both the parts and what they are of, or leave both empty."
            )
        return data


class _RecipePartFormSet(forms.BaseFormSet):
    def clean(self):
        if not any(self.errors) and not self.rows():
            raise forms.ValidationError("A recipe needs at least one part.")

    def rows(self):
        """Return the filled rows as (what, parts) pairs; ``what`` is “m12” or “r3”."""
        filled = (form.cleaned_data for form in self.forms)
        return [(row["what"], row["parts"]) for row in filled if row.get("what")]


RecipePartFormSet = forms.formset_factory(RecipePartForm, formset=_RecipePartFormSet, extra=3)


def ingredient_choices(studio, besides=None):
    """Offer the studio's liquids and mixes as what a recipe may contain."""
    liquids = studio.materials.current().exclude(kind__in=["surface", "packaging"])
    mixes = studio.recipes.filter(archived_at=None).exclude(pk=besides)
    return [
        ("", "—"),
        ("Materials", [(f"m{one.pk}", one.name) for one in liquids]),
        ("Mixes", [(f"r{one.pk}", one.name) for one in mixes]),
    ]
