from django.apps import AppConfig


class PricingConfig(AppConfig):
    name = "pricing"

    def ready(self):
        from pricing.defaults import prepare_studio
        from studio.people import on_open

        if prepare_studio not in on_open:
            on_open.append(prepare_studio)
