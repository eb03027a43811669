from django.apps import AppConfig


class PricingConfig(AppConfig):
    name = "pricing"
