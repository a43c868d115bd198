"""Printed barbed connectors for pressurised trunk watering: sized, checked, drawn, verified."""

__version__ = "0.1.0"
