"""What a studio works with, as others refer to it."""

from rest_framework import serializers

from pricing.models import Channel, Customer, Palette, Product, ResinKit, SavedSurface


class CustomerName(serializers.ModelSerializer):
    class Meta:
        model = Customer
        fields = read_only_fields = ("id", "name")


class ChannelName(serializers.ModelSerializer):
    class Meta:
        model = Channel
        fields = read_only_fields = ("id", "name")


class ResinKitName(serializers.ModelSerializer):
    class Meta:
        model = ResinKit
        fields = read_only_fields = ("id", "name")


class SurfaceName(serializers.ModelSerializer):
    class Meta:
        model = SavedSurface
        fields = read_only_fields = ("id", "name")


class PaletteName(serializers.ModelSerializer):
    class Meta:
        model = Palette
        fields = read_only_fields = ("id", "name")


class ProductName(serializers.ModelSerializer):
    class Meta:
        model = Product
        fields = read_only_fields = ("id", "name")
