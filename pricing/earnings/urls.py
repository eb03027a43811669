"""Pages of prices, profit and what stock is worth."""

from django.urls import path

from pricing.earnings.views import closing, looking_back, price_list, producible, profit, valuation

urlpatterns = [
    path("plan/what-can-i-make/", producible.what_can_i_make, name="producible"),
    path("plan/prices/", price_list.prices_by_size, name="price-list"),
    path("plan/prices/list.pdf", price_list.price_list_paper, name="price-list-pdf"),
    path("plan/prices/list.csv", price_list.price_list_csv, name="price-list-csv"),
    path("sales/<int:number>/", profit.sale, name="sale"),
    path("profit/break-even/", looking_back.break_even_page, name="break-even"),
    path("profit/forecast/", looking_back.hindsight_page, name="hindsight"),
    path("profit/forecast/<int:number>/", looking_back.hindsight_of_one, name="hindsight-of-one"),
    path("profit/forecast/rows.csv", looking_back.hindsight_csv, name="hindsight-csv"),
    path("profit/", profit.profit, name="profit"),
    path("profit/rows.csv", profit.profit_csv, name="profit-csv"),
    *closing.urlpatterns,
    *valuation.urlpatterns,
]
