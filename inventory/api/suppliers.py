"""Suppliers, their terms, and the packs they sell."""

from rest_framework import serializers

from inventory.api.materials import MaterialName
from inventory.models import Material, Pack, Supplier
from studio.api.fields import AmountField, MoneyField, read_amount
from studio.api.registers import Register
from studio.api.rows import OwnId, RowIn


class SupplierName(serializers.ModelSerializer):
    class Meta:
        model = Supplier
        fields = ["id", "name"]
        read_only_fields = fields


class SupplierOut(serializers.ModelSerializer):
    class Meta:
        model = Supplier
        exclude = ["studio"]
        read_only_fields = [field.name for field in Supplier._meta.fields]


class SupplierIn(RowIn):
    minimum_order = MoneyField(required=False)
    shipping_fee = MoneyField(required=False)
    free_shipping_over = MoneyField(required=False, allow_null=True)

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


class PackOut(serializers.ModelSerializer):
    material, supplier = MaterialName(), SupplierName()

    class Meta:
        model = Pack
        exclude = ["studio"]
        read_only_fields = [field.name for field in Pack._meta.fields]


class PackIn(RowIn):
    """A pack; ``size`` is in the material's unit unless it names another."""

    supplier = OwnId(queryset=Supplier.objects)
    material = OwnId(queryset=Material.objects)
    size = AmountField()
    price = MoneyField()
    minimum_count = serializers.IntegerField(min_value=1, max_value=1000, required=False)

    class Meta:
        model = Pack
        fields = [
            "supplier",
            "material",
            "label",
            "size",
            "price",
            "minimum_count",
            "supplier_code",
            "tare_g",
            "is_on_offer",
        ]
        # The serializer looks for a second one itself, once the size is read.
        validators = []

    def validate(self, data):
        material = data.get("material") or self.instance.material
        if "size" in data:
            data["size"] = read_amount(data["size"], material, self.studio, "size")
        return super().validate(data)


suppliers = Register(
    name="supplier",
    plural="suppliers",
    word="supplier",
    rows=lambda studio: studio.suppliers,
    out=SupplierOut,
    takes=SupplierIn,
    filters={"q": lambda rows, text: rows.filter(name__icontains=text)},
)

packs = Register(
    name="pack",
    plural="packs",
    word="pack",
    rows=lambda studio: studio.packs.select_related("material", "supplier"),
    out=PackOut,
    takes=PackIn,
    ids=("material", "supplier"),
)
