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
from inventory.forms.counts import CountedForm, LeaveOutForm, PutBackForm, StartCountForm
from inventory.forms.labels import LabelsForm
from inventory.forms.materials import MaterialForm
from inventory.forms.recipes import RecipeForm

__all__ = [
    "BottleForm",
    "CostingForm",
    "CountedForm",
    "DecantForm",
    "LabelsForm",
    "LeaveOutForm",
    "MaterialForm",
    "NewOrderLineForm",
    "OrderLineForm",
    "PackForm",
    "PutBackForm",
    "ReceiveForm",
    "ReceiveOrderForm",
    "RecipeForm",
    "RecountForm",
    "StartCountForm",
    "SupplierForm",
    "TakeForm",
    "WeighInForm",
    "WhyForm",
]
