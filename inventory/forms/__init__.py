"""What a person may type about stock, packs, orders and recipes."""

from inventory.forms.bottles import (
    BottleForm,
    DecantForm,
    ReceiveForm,
    RecountForm,
    TakeForm,
    WeighInForm,
    WhyForm,
)
from inventory.forms.buying import (
    NewOrderLineForm,
    OrderLineForm,
    PackForm,
    ReceiveOrderForm,
    SupplierForm,
)
from inventory.forms.costing import CostingForm
from inventory.forms.materials import MaterialForm
from inventory.forms.recipes import RecipeForm

__all__ = [
    "BottleForm",
    "CostingForm",
    "DecantForm",
    "MaterialForm",
    "NewOrderLineForm",
    "OrderLineForm",
    "PackForm",
    "ReceiveForm",
    "ReceiveOrderForm",
    "RecipeForm",
    "RecountForm",
    "SupplierForm",
    "TakeForm",
    "WeighInForm",
    "WhyForm",
]
