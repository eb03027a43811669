"""API addresses of commissions, what is owed, paid and promised."""

from rest_framework.routers import SimpleRouter

from pricing.commissions.api.accepted_work import Promised
from pricing.commissions.api.commissions import Commissions
from pricing.commissions.api.lines import CommissionLines
from pricing.commissions.api.payments import Owed, Payments

router = SimpleRouter(use_regex_path=False)
router.register("commissions", Commissions, "api-commissions")
router.register("commissions/<int:number>/lines", CommissionLines, "api-commission-lines")
router.register("owed", Owed, "api-owed")
router.register("payments", Payments, "api-payments")
router.register("promised", Promised, "api-promised")

urlpatterns = router.urls
