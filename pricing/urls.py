"""Pages of planning, commissions, the bench, selling and profit."""

from django.urls import path

from pricing.views import catalogue, commissions, home, planner, pours, quotes, selling

urlpatterns = [
    path("", home.home, name="home"),
    path("plan/", planner.planner, name="planner"),
    path("commissions/", commissions.commissions, name="commissions"),
    path("commissions/new/", commissions.commission_new, name="commission-new"),
    path("commissions/<int:number>/", commissions.commission, name="commission"),
    path("commissions/<int:number>/edit/", commissions.commission_edit, name="commission-edit"),
    path("commissions/<int:number>/step/", commissions.commission_step, name="commission-step"),
    path("commissions/<int:number>/pieces/new/", commissions.line_new, name="line-new"),
    path("commissions/<int:number>/pieces/<int:pk>/", commissions.line_edit, name="line-edit"),
    path(
        "commissions/<int:number>/pieces/<int:pk>/remove/",
        commissions.line_remove,
        name="line-remove",
    ),
    path("commissions/<int:number>/price/", quotes.quote_new, name="quote-new"),
    path("quotes/<int:pk>/", quotes.quote, name="quote"),
    path("quotes/<int:pk>/send/", quotes.quote_send, name="quote-send"),
    path("quotes/<int:pk>/accept/", quotes.quote_accept, name="quote-accept"),
    path("quotes/<int:pk>/decline/", quotes.quote_decline, name="quote-decline"),
    path("quotes/<int:pk>/quote.pdf", quotes.quote_pdf, name="quote-pdf"),
    path("quotes/<int:pk>/cost-sheet.pdf", quotes.cost_sheet_pdf, name="cost-sheet-pdf"),
    path("pours/", pours.pours, name="pours"),
    path("pours/new/", pours.pour_new, name="pour-new"),
    path("pours/<int:number>/", pours.pour, name="pour"),
    path("pours/<int:number>/set-aside/", pours.pour_set_aside, name="pour-set-aside"),
    path("pours/<int:number>/undo/", pours.pour_undo, name="pour-undo"),
    path("pours/<int:number>/topcoat/", pours.topcoat_new, name="topcoat-new"),
    path("pours/<int:number>/topcoat/<int:pk>/undo/", pours.topcoat_undo, name="topcoat-undo"),
    path("sets/", selling.sets, name="sets"),
    path("sets/new/", selling.set_new, name="set-new"),
    path("sets/<int:number>/", selling.piece_set, name="set"),
    path("sets/<int:number>/unpack/", selling.set_unpack, name="set-unpack"),
    path("sales/", selling.sales, name="sales"),
    path("sales/new/", selling.sale_new, name="sale-new"),
    path("sales/<int:number>/", selling.sale, name="sale"),
    path("sales/<int:number>/refund/", selling.sale_refund, name="sale-refund"),
    path("profit/", selling.profit, name="profit"),
    path("profit/rows.csv", selling.profit_csv, name="profit-csv"),
    *catalogue.urlpatterns,
]
