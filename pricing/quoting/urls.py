"""Pages of quotes, invoices and the commission they are for."""

from django.urls import path

from pricing.quoting.views import commission, from_plan, invoices, quote_links, quotes, tiles

urlpatterns = [
    path("commissions/of-plan/", from_plan.commission_of_plan, name="commission-of-plan"),
    path("commissions/<int:number>/", commission.commission, name="commission"),
    path("commissions/<int:number>/price/", quotes.quote_new, name="quote-new"),
    path("quotes/<int:pk>/", quotes.quote, name="quote"),
    path("quotes/<int:pk>/send/", quotes.quote_send, name="quote-send"),
    path("quotes/<int:pk>/accept/", quotes.quote_accept, name="quote-accept"),
    path("quotes/<int:pk>/decline/", quotes.quote_decline, name="quote-decline"),
    path("quotes/<int:pk>/quote.pdf", quotes.quote_pdf, name="quote-pdf"),
    path("quotes/<int:pk>/cost-sheet.pdf", quotes.cost_sheet_pdf, name="cost-sheet-pdf"),
    path("quotes/<int:pk>/link/", quote_links.link_new, name="quote-link"),
    path("quotes/<int:pk>/link/revoke/", quote_links.link_revoke, name="quote-link-revoke"),
    path("q/<str:secret>/", quote_links.customer_quote, name="customer-quote"),
    path("q/<str:secret>/seen/", quote_links.customer_seen, name="customer-seen"),
    path("q/<str:secret>/accept/", quote_links.customer_accept, name="customer-accept"),
    path("q/<str:secret>/decline/", quote_links.customer_decline, name="customer-decline"),
    path("q/<str:secret>/quote.pdf", quote_links.customer_pdf, name="customer-quote-pdf"),
    path("q/<str:secret>/tiles/<int:number>/", tiles.customer_tile, name="customer-tile"),
    path(
        "q/<str:secret>/pictures/<int:pk>/<slug:size>.jpg",
        tiles.customer_picture,
        name="customer-picture",
    ),
    path("pours/<int:number>/answer/", tiles.tile_answer, name="tile-answer"),
    path("commissions/<int:number>/invoice/", invoices.invoice_new, name="invoice-new"),
    path("invoices/", invoices.invoice_list, name="invoices"),
    path("invoices/<int:number>/invoice.pdf", invoices.invoice_pdf, name="invoice-pdf"),
    path("invoices/<int:number>/credit/", invoices.invoice_credit, name="invoice-credit"),
]
